//! What changes in the set gel before it lights: `tables/gel.toml`.

use super::cited::Cited;
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::unit::{DegreeCelsius, KilojoulePerMole, Number, Percent};
use crate::formula::Element;
use serde::Deserialize;
use std::collections::BTreeMap;

/// Loss of water from the set gel.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GelDrying {
    /// Temperature of the peak.
    pub peak: Cited<DegreeCelsius>,
    pub activation_energy: Cited<KilojoulePerMole>,
}

/// Loss of nitrate, what holds for all metals.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NitrateLossRow {
    pub activation_energy: Cited<KilojoulePerMole>,
    /// Heat that it takes, per mole of nitrate.
    pub heat: Cited<KilojoulePerMole>,
    /// Part of the nitrate in a gel that behaves as the free salt.
    pub in_gel: Cited<Percent>,
}

/// How nitrates of some metals lose gas.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NitrateStep {
    /// The metals.
    pub elements: Vec<Element>,
    /// Temperature of the peak.
    pub peak: Cited<DegreeCelsius>,
    /// Part of the nitrate that goes in this step where nothing holds it.
    pub share: Cited<Percent>,
}

/// Metals that hold a fuel, and with it their own nitrate.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hold {
    /// Id of the fuel.
    pub fuel: String,
    /// The metals.
    pub elements: Vec<Element>,
    /// Molecules of fuel that one metal ion holds.
    pub per_metal: Cited<Number>,
    /// Temperature up to which it holds them.
    pub until: Cited<DegreeCelsius>,
}

/// Half widths, relative, of what is not well known about a set-up.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bands {
    /// Absorbed power of an oven, power of a burner or lamp.
    pub power: Cited<Percent>,
    /// Heat transfer to plate, furnace or hot gas.
    pub contact: Cited<Percent>,
    /// Excess of the source's temperature over the room.
    pub source_temperature: Cited<Percent>,
    /// Depth of the layer in a named vessel.
    pub depth: Cited<Percent>,
    /// Depth of the layer without one.
    pub depth_assumed: Cited<Percent>,
    /// Volume of the gel.
    pub froth: Cited<Percent>,
    /// Water at which the gel sets.
    pub set_water: Cited<Percent>,
}

/// All of it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GelTable {
    units: BTreeMap<String, String>,
    /// Loss of water.
    pub drying: GelDrying,
    pub nitrate_loss: NitrateLossRow,
    /// Nitrates by metal.
    #[serde(rename = "nitrate")]
    pub nitrates: Vec<NitrateStep>,
    /// Held fuels.
    #[serde(rename = "hold")]
    pub holds: Vec<Hold>,
    /// Bands of a set-up.
    pub bands: Bands,
}

const UNITS: [(&str, &str); 4] = [
    ("temperature", "degC"),
    ("energy", "kJ/mol"),
    ("share", "%"),
    ("number", "1"),
];

fn symbols(elements: &[Element]) -> String {
    let names: Vec<String> = elements.iter().map(Element::to_string).collect();
    names.join(", ")
}

impl Row for NitrateStep {
    const ARRAY: &'static str = "nitrate";

    fn id(&self) -> String {
        symbols(&self.elements)
    }
}

impl Row for Hold {
    const ARRAY: &'static str = "hold";

    fn id(&self) -> String {
        format!("{} {}", self.fuel, symbols(&self.elements))
    }

    fn check(&self) -> Result<(), Fault> {
        if self.per_metal.written() > 0.0 {
            return Ok(());
        }
        let expected = "it should be above zero";
        Err(Fault::value(
            "per_metal",
            self.per_metal.written(),
            expected,
        ))
    }
}

impl GelTable {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("gel.toml");
        let table: Self = file.parse()?;
        file.check_units(&table.units, &UNITS)?;
        file.check(&table.nitrates)?;
        file.check(&table.holds)?;
        Ok(table)
    }

    /// How the nitrate of a metal goes; `None` for a metal without a row.
    pub fn nitrate(&self, element: Element) -> Option<&NitrateStep> {
        self.nitrates
            .iter()
            .find(|step| step.elements.contains(&element))
    }

    /// How a metal holds a fuel, if it does.
    pub fn hold(&self, fuel: &str, element: Element) -> Option<&Hold> {
        self.holds
            .iter()
            .find(|hold| hold.fuel == fuel && hold.elements.contains(&element))
    }
}

#[cfg(test)]
mod tests {
    use crate::tables::{Role, Tables};

    #[test]
    fn every_metal_of_the_oxidisers_has_one_row_of_nitrate() {
        let tables = Tables::built_in().unwrap();
        for row in tables.reactants.iter() {
            let Some(metal) = &row.metal else { continue };
            if row.role == Role::Oxidiser {
                let rows = tables.gel.nitrates.iter();
                let found = rows.filter(|r| r.elements.contains(&metal.element)).count();
                assert_eq!(found, 1, "{}", row.id);
            }
        }
        for hold in &tables.gel.holds {
            assert!(tables.reactants.iter().any(|r| r.id == hold.fuel));
        }
    }
}
