//! Values of product species in other compilations than the preferred one.

use super::error::TableError;
use super::species::Species;
use super::{Place, parse_toml, row_lines};
use crate::quantity::{MolarEnergy, MolarEntropy};
use crate::source::{Bibliography, Seen, SourceId};
use serde::Deserialize;
use std::collections::BTreeMap;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;

/// The same species as another source has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// The [`Species::id`].
    pub of: String,
    /// Formation enthalpy from the elements at 298.15 K.
    pub formation_enthalpy: Option<MolarEnergy>,
    /// Entropy at 298.15 K.
    pub entropy: Option<MolarEntropy>,
    /// Key of the source in the bibliography.
    pub source: SourceId,
    /// Name of the entry there.
    pub locator: String,
    /// How it was come by.
    pub seen: Seen,
    /// Why it was not taken, where it differs by more than 3 kJ/mol or 2 J/(mol K).
    pub reason: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFile {
    units: BTreeMap<String, String>,
    #[serde(default)]
    alternative: Vec<RawAlternative>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAlternative {
    of: String,
    formation_enthalpy: Option<f64>,
    entropy: Option<f64>,
    source: SourceId,
    at: String,
    seen: Seen,
    reason: Option<String>,
}

/// Reads the file; each row has to name a species and a source that are there.
pub(super) fn read(
    text: &str,
    file: &str,
    species: &BTreeMap<String, usize>,
    sources: &Bibliography,
) -> Result<Vec<Alternative>, TableError> {
    let parsed: RawFile = parse_toml(text, file)?;
    for (key, expected) in [("formation_enthalpy", "kJ/mol"), ("entropy", "J/(mol K)")] {
        let found = parsed.units.get(key).cloned().unwrap_or_default();
        if found != expected {
            let (file, key) = (file.to_owned(), key.to_owned());
            return Err(TableError::Unit {
                file,
                key,
                found,
                expected,
            });
        }
    }
    let lines = row_lines(text, "[[alternative]]");
    let mut rows = Vec::with_capacity(parsed.alternative.len());
    for (raw, line) in parsed.alternative.into_iter().zip(lines) {
        let place = Place {
            file: file.to_owned(),
            line,
        };
        place.check_source(&raw.of, &raw.source, sources)?;
        if !species.contains_key(&raw.of) {
            return Err(place.reference("an alternative", &raw.of));
        }
        rows.push(Alternative {
            of: raw.of,
            formation_enthalpy: raw
                .formation_enthalpy
                .map(MolarEnergy::new::<kilojoule_per_mole>),
            entropy: raw.entropy.map(MolarEntropy::new::<joule_per_kelvin_mole>),
            source: raw.source,
            locator: raw.at,
            seen: raw.seen,
            reason: raw.reason,
        });
    }
    Ok(rows)
}

impl Alternative {
    /// How far the formation enthalpy and the entropy lie from those of `species`; nothing for a
    /// property that one of the two does not give.
    #[must_use]
    pub fn difference(&self, species: &Species) -> (Option<MolarEnergy>, Option<MolarEntropy>) {
        let h = species.formation_enthalpy.as_ref().map(|v| v.value);
        let s = species.entropy.as_ref().map(|v| v.value);
        (
            self.formation_enthalpy
                .zip(h)
                .map(|(other, own)| other - own),
            self.entropy.zip(s).map(|(other, own)| other - own),
        )
    }
}
