//! Reads the files below `tables/phases/`.

use super::{Affinity, DopantNote, Phases, Ranking, Rival, TargetPhase};
use crate::quantity::units::{degree_celsius, second};
use crate::tables::error::{Fault, TableError};
use crate::tables::read::{Row, TableFile};
use crate::tables::unit::{KilojoulePerMole, Unit};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Temperatures that a row may give, °C.
const RANGE: std::ops::RangeInclusive<f64> = 20.0..=3000.0;

const TARGETS: [&str; 4] = [
    "phases/aluminates.toml",
    "phases/mixed_oxides.toml",
    "phases/oxides_and_others.toml",
    "phases/functional.toml",
];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TargetsFile {
    units: BTreeMap<String, String>,
    #[serde(default)]
    phase: Vec<TargetPhase>,
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

impl Row for TargetPhase {
    const ARRAY: &'static str = "phase";

    fn id(&self) -> String {
        self.name.clone()
    }

    fn check(&self) -> Result<(), Fault> {
        let stated = [&self.lower, &self.upper, &self.melting];
        let stated = stated.into_iter().flatten().chain(&self.typical);
        for temperature in stated.map(|stated| stated.value.get::<degree_celsius>()) {
            if !RANGE.contains(&temperature) {
                let expected = "it should be from 20 to 3000";
                return Err(Fault::value("temperature in °C", temperature, expected));
            }
        }
        Ok(())
    }
}

impl Row for Rival {
    const ARRAY: &'static str = "rival";

    fn id(&self) -> String {
        self.name.clone()
    }
}

impl Row for Affinity {
    const ARRAY: &'static str = "affinity";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.fuel.clone()
    }
}

impl Phases {
    pub(in crate::tables) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("phases/rivals.toml");
        let rivals = file.parse::<RivalsFile>()?.rival;
        file.check(&rivals)?;
        let dopants = TableFile::built_in("phases/dopants.toml");
        let file = TableFile::built_in("phases/ranking.toml");
        let ranking: Ranking = file.parse()?;
        ranking
            .check()
            .map_err(|(key, fault)| file.error(key, fault))?;
        let mut phases = Self {
            targets: Vec::new(),
            rivals,
            dopants: dopants.parse::<DopantsFile>()?.dopant,
            ranking,
        };
        for name in TARGETS {
            phases.add_targets(&TableFile::built_in(name))?;
        }
        Ok(phases)
    }

    /// Adds target phases; a row of the same name takes the place of an earlier one.
    pub(in crate::tables) fn add_targets(&mut self, file: &TableFile) -> Result<(), TableError> {
        let rows: TargetsFile = file.parse()?;
        file.check_units(&rows.units, &[("temperature", "degC")])?;
        file.check(&rows.phase)?;
        for (at, target) in rows.phase.iter().enumerate() {
            if let Some(name) = target.rivals.iter().find(|r| self.rival(r).is_none()) {
                let fault = Fault::Reference(name.clone());
                return Err(file.row_error(&rows.phase, at, fault));
            }
        }
        for target in rows.phase {
            match self.targets.iter_mut().find(|old| old.name == target.name) {
                Some(old) => *old = target,
                None => self.targets.push(target),
            }
        }
        Ok(())
    }
}

impl Ranking {
    /// The search never leaves the range of the cautions, whatever a table says.
    fn check(&self) -> Result<(), (&'static str, Fault)> {
        let search = &self.search;
        let low = KilojoulePerMole::number(self.time.activation_low);
        let high = KilojoulePerMole::number(self.time.activation_high);
        let mut checks = vec![
            ("ratio_from", search.ratio_from, 0.5..=1.0),
            ("ratio_to", search.ratio_to, 1.0..=4.0),
            (
                "ratio_to_of_oxides",
                search.ratio_to_of_oxides,
                1.0..=search.ratio_to,
            ),
            ("steps", search.steps as f64, 4.0..=200.0),
            ("burn_s", self.time.burn.get::<second>(), 0.1..=600.0),
            ("hold_s", self.time.hold.get::<second>(), 600.0..=1e5),
            ("activation_energy_low_kj_per_mol", low, 50.0..=2000.0),
            ("activation_energy_high_kj_per_mol", high, low..=2000.0),
        ];
        let losses = search.heat_losses.iter();
        checks.extend(losses.map(|loss| ("heat_losses", *loss, 0.0..=0.95)));
        let shares = search.mix_shares.iter();
        checks.extend(shares.map(|share| ("mix_shares", *share, 0.01..=0.99)));
        for (key, value, range) in checks {
            if !range.contains(&value) {
                let expected = format!("it should be from {} to {}", range.start(), range.end());
                return Err((key, Fault::value("value", value, expected)));
            }
        }
        Ok(())
    }
}
