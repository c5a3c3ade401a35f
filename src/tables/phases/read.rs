//! Reads the files below `tables/phases/`.

use super::{
    Affinity, AtmosphereLimits, DopantNote, Note, Outcome, Phases, Ranking, RefusedFuels, Rival,
    Scales, Search, Side, TargetPhase, TimeModel, Trial, Weights,
};
use crate::formula::{Element, Formula};
use crate::quantity::{MolarEnergy, ThermodynamicTemperature, Time};
use crate::source::{Bibliography, Seen, SourceId, Sourced};
use crate::tables::TableError;
use crate::tables::value::{RawValue, Reading};
use serde::Deserialize;
use std::collections::BTreeMap;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::time::second;

/// Temperatures that a row may give, °C.
const RANGE: (f64, f64) = (20.0, 3000.0);

const TARGET_FILES: [(&str, &str); 3] = [
    (
        "phases/aluminates.toml",
        include_str!("../../../tables/phases/aluminates.toml"),
    ),
    (
        "phases/mixed_oxides.toml",
        include_str!("../../../tables/phases/mixed_oxides.toml"),
    ),
    (
        "phases/oxides_and_others.toml",
        include_str!("../../../tables/phases/oxides_and_others.toml"),
    ),
];
const RIVALS_FILE: (&str, &str) = (
    "phases/rivals.toml",
    include_str!("../../../tables/phases/rivals.toml"),
);
const DOPANTS_FILE: (&str, &str) = (
    "phases/dopants.toml",
    include_str!("../../../tables/phases/dopants.toml"),
);
const RANKING_FILE: (&str, &str) = (
    "phases/ranking.toml",
    include_str!("../../../tables/phases/ranking.toml"),
);

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TargetsFile {
    units: BTreeMap<String, String>,
    #[serde(default)]
    phase: Vec<RawTarget>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTarget {
    name: String,
    formula: String,
    lower: Option<RawValue>,
    #[serde(default)]
    typical: Vec<RawValue>,
    upper: Option<RawValue>,
    melting: Option<RawValue>,
    #[serde(default)]
    anneal: Vec<RawNote>,
    #[serde(default)]
    competing: Vec<RawNote>,
    #[serde(default)]
    polymorph: Vec<RawNote>,
    #[serde(default)]
    burnt: Vec<RawNote>,
    #[serde(default)]
    caution: Vec<RawNote>,
    #[serde(default)]
    proportion: Vec<RawNote>,
    #[serde(default)]
    flux: Vec<RawNote>,
    #[serde(default)]
    fuel_note: Vec<RawNote>,
    #[serde(default)]
    fuels: Vec<RawTrial>,
    #[serde(default)]
    rivals: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawNote {
    text: String,
    source: SourceId,
    seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTrial {
    fuels: Vec<String>,
    outcome: Outcome,
    mixture: Option<Side>,
    text: String,
    source: SourceId,
    seen: Seen,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RivalsFile {
    rival: Vec<Rival>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct DopantsFile {
    dopant: Vec<DopantNote>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RankingFile {
    #[serde(rename = "kind")]
    _kind: Assumed,
    time: RawTime,
    search: Search,
    weights: Weights,
    scales: Scales,
    atmosphere: AtmosphereLimits,
    affinity: Vec<RawAffinity>,
    refused: RefusedFuels,
}

#[derive(Deserialize)]
enum Assumed {
    #[serde(rename = "assumed")]
    Assumed,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTime {
    hold_s: f64,
    burn_s: f64,
    activation_energy_low_kj_per_mol: f64,
    activation_energy_high_kj_per_mol: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAffinity {
    cation: String,
    fuel: String,
    source: SourceId,
    seen: Seen,
}

impl Phases {
    /// The tables that come with the program.
    ///
    /// # Errors
    /// [`TableError`] if a row is wrong or cites a source that `sources` lacks.
    pub(in crate::tables) fn built_in(sources: &Bibliography) -> Result<Self, TableError> {
        let (file, text) = RIVALS_FILE;
        let rivals = crate::tables::parse_toml::<RivalsFile>(text, file)?.rival;
        let (file, text) = DOPANTS_FILE;
        let dopants = crate::tables::parse_toml::<DopantsFile>(text, file)?.dopant;
        let reading = Reading {
            file,
            text,
            sources,
        };
        for (row, line) in dopants.iter().zip(reading.row_lines("[[dopant]]")) {
            reading.check_source(&row.host, line, &row.source)?;
        }
        let (file, text) = RANKING_FILE;
        let ranking = ranking(file, text, sources)?;
        let mut phases = Self {
            targets: Vec::new(),
            rivals,
            dopants,
            ranking,
        };
        for (file, text) in TARGET_FILES {
            phases.add_targets(file, text, sources)?;
        }
        Ok(phases)
    }

    /// Adds target phases; a row of the same name takes the place of an earlier one.
    ///
    /// # Errors
    /// [`TableError`] if the text or a row of it is wrong.
    pub(in crate::tables) fn add_targets(
        &mut self,
        file: &str,
        text: &str,
        sources: &Bibliography,
    ) -> Result<(), TableError> {
        let raw: TargetsFile = crate::tables::parse_toml(text, file)?;
        let reading = Reading {
            file,
            text,
            sources,
        };
        reading.check_units(&raw.units, &[("temperature", "degC")])?;
        for (row, line) in raw.phase.into_iter().zip(reading.row_lines("[[phase]]")) {
            let target = target(&reading, line, row)?;
            if let Some(name) = target.rivals.iter().find(|r| self.rival(r).is_none()) {
                return Err(TableError::Reference {
                    file: file.to_owned(),
                    line,
                    id: target.name,
                    other: name.clone(),
                });
            }
            match self.targets.iter_mut().find(|old| old.name == target.name) {
                Some(old) => *old = target,
                None => self.targets.push(target),
            }
        }
        Ok(())
    }
}

fn target(reading: &Reading<'_>, line: usize, raw: RawTarget) -> Result<TargetPhase, TableError> {
    let name = raw.name;
    let formula = Formula::parse(&raw.formula).map_err(|source| TableError::Formula {
        file: reading.file.to_owned(),
        line,
        id: name.clone(),
        source,
    })?;
    let temperature = |raw: RawValue| -> Result<Sourced<ThermodynamicTemperature>, TableError> {
        let value = reading.value(&name, line, &raw, RANGE)?;
        Ok(value.map(ThermodynamicTemperature::new::<degree_celsius>))
    };
    let notes = |raw: Vec<RawNote>| -> Result<Vec<Note>, TableError> {
        raw.into_iter()
            .map(|note| {
                reading.check_source(&name, line, &note.source)?;
                Ok(Note {
                    text: note.text,
                    source: note.source,
                    seen: note.seen,
                })
            })
            .collect()
    };
    let trial = |raw: RawTrial| -> Result<Trial, TableError> {
        reading.check_source(&name, line, &raw.source)?;
        Ok(Trial {
            fuels: raw.fuels,
            outcome: raw.outcome,
            side: raw.mixture,
            note: Note {
                text: raw.text,
                source: raw.source,
                seen: raw.seen,
            },
        })
    };
    Ok(TargetPhase {
        formula,
        lower: raw.lower.map(temperature).transpose()?,
        typical: raw
            .typical
            .into_iter()
            .map(temperature)
            .collect::<Result<_, _>>()?,
        upper: raw.upper.map(temperature).transpose()?,
        melting: raw.melting.map(temperature).transpose()?,
        anneal: notes(raw.anneal)?,
        competing: notes(raw.competing)?,
        polymorph: notes(raw.polymorph)?,
        burnt: notes(raw.burnt)?,
        caution: notes(raw.caution)?,
        proportion: notes(raw.proportion)?,
        flux: notes(raw.flux)?,
        fuel_note: notes(raw.fuel_note)?,
        fuels: raw.fuels.into_iter().map(trial).collect::<Result<_, _>>()?,
        rivals: raw.rivals,
        name,
    })
}

fn ranking(file: &str, text: &str, sources: &Bibliography) -> Result<Ranking, TableError> {
    let raw: RankingFile = crate::tables::parse_toml(text, file)?;
    let reading = Reading {
        file,
        text,
        sources,
    };
    let check = |key: &str, value: f64, low: f64, high: f64| {
        if value >= low && value <= high {
            return Ok(());
        }
        Err(TableError::Value {
            file: file.to_owned(),
            line: reading.line_of(key),
            id: key.to_owned(),
            quantity: "value".to_owned(),
            found: value,
            expected: format!("but should be from {low} to {high}"),
        })
    };
    let search = &raw.search;
    // The search never leaves the range of the cautions, whatever a table says.
    check("ratio_from", search.ratio_from, 0.5, 1.0)?;
    check("ratio_to", search.ratio_to, 1.0, 4.0)?;
    check("steps", search.steps as f64, 4.0, 200.0)?;
    for loss in &search.heat_losses {
        check("heat_losses", *loss, 0.0, 0.95)?;
    }
    for share in &search.mix_shares {
        check("mix_shares", *share, 0.01, 0.99)?;
    }
    check("burn_s", raw.time.burn_s, 0.1, 600.0)?;
    check("hold_s", raw.time.hold_s, 600.0, 1e5)?;
    let energies = (
        raw.time.activation_energy_low_kj_per_mol,
        raw.time.activation_energy_high_kj_per_mol,
    );
    check("activation_energy_low_kj_per_mol", energies.0, 50.0, 2000.0)?;
    check(
        "activation_energy_high_kj_per_mol",
        energies.1,
        energies.0,
        2000.0,
    )?;
    let mut affinities = Vec::new();
    for (row, line) in raw
        .affinity
        .into_iter()
        .zip(reading.row_lines("[[affinity]]"))
    {
        reading.check_source(&row.fuel, line, &row.source)?;
        let cation = Element::from_symbol(&row.cation).ok_or_else(|| TableError::Reference {
            file: file.to_owned(),
            line,
            id: row.fuel.clone(),
            other: row.cation.clone(),
        })?;
        affinities.push(Affinity {
            cation,
            fuel: row.fuel,
            source: row.source,
            seen: row.seen,
        });
    }
    Ok(Ranking {
        time: TimeModel {
            hold: Time::new::<second>(raw.time.hold_s),
            burn: Time::new::<second>(raw.time.burn_s),
            activation_low: MolarEnergy::new::<kilojoule_per_mole>(energies.0),
            activation_high: MolarEnergy::new::<kilojoule_per_mole>(energies.1),
        },
        search: raw.search,
        weights: raw.weights,
        scales: raw.scales,
        atmosphere: raw.atmosphere,
        affinities,
        refused: raw.refused,
    })
}
