//! Reaction of nitrate–fuel gels and loss of fuel before it: `tables/kinetics.toml`.

use super::cited::Cited;
use super::error::{Fault, TableError};
use super::read::{Row, TableFile};
use super::unit::{
    DegreeCelsius, JoulePerKilogramKelvin, KelvinPerMinute, KelvinStep, KilogramPerCubicMetre,
    KilojoulePerKilogram, KilojoulePerMole, MillimetrePerSecond, Number, PerSecond, Percent,
    WattPerMetreKelvin,
};
use crate::formula::{Element, Formula};
use serde::Deserialize;
use std::collections::BTreeMap;

/// How a gel with one of some fuels reacts.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FuelKinetics {
    /// Ids of the reactants it holds for; empty for every fuel without a row of its own.
    pub reactants: Vec<String>,
    /// Peak of the thermal analysis of a nitrate with this fuel.
    pub peak: Cited<DegreeCelsius>,
    pub activation_energy: Cited<KilojoulePerMole>,
    /// Volume of the set gel over its compact volume.
    pub froth: Cited<Number>,
    /// Speed of the front through dried gel, slow end.
    pub front_low: Cited<MillimetrePerSecond>,
    /// Fast end.
    pub front_high: Cited<MillimetrePerSecond>,
}

/// A step in which some fuels decompose before they burn.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FuelStep {
    /// Ids of the reactants it holds for; their steps follow each other as the rows do.
    pub reactants: Vec<String>,
    pub activation_energy: Cited<KilojoulePerMole>,
    /// Pre-exponential factor.
    pub pre_exponential: Cited<PerSecond>,
    /// Temperature below which it does not go.
    pub onset: Cited<DegreeCelsius>,
    /// Heat taken up per mass of the fuel as it was at first.
    pub heat: Cited<KilojoulePerKilogram>,
    /// What leaves.
    pub gases: Vec<StepGas>,
}

/// A gas that leaves in such a step.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepGas {
    pub formula: Formula,
    /// Molecules of it per molecule of the fuel.
    pub number: Cited<Number>,
    /// Formation enthalpy as a gas, of one that is no species of the products.
    pub formation_enthalpy: Option<Cited<KilojoulePerMole>>,
}

/// Most steps of a fuel.
pub const FUEL_STEPS: usize = 2;

/// How some metals shift the peak.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MetalShift {
    /// The metals.
    pub elements: Vec<Element>,
    /// By how much.
    pub shift: Cited<KelvinStep>,
}

/// The analyses that gave the peaks.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scan {
    /// Their heating rate.
    pub rate: Cited<KelvinPerMinute>,
}

/// What holds water in solution and gel.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SorptionProperties {
    /// Sites per unit of charge of the metal ion.
    pub sites_per_charge: Cited<Number>,
    pub binding_energy: Cited<KilojoulePerMole>,
    /// Share of the water of crystallisation at which the syrup sets.
    pub set_share: Cited<Percent>,
    /// Water per dry mass at which a charge without water of crystallisation sets.
    pub set_floor: Cited<Number>,
}

/// The dry gel as a material.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GelProperties {
    pub density: Cited<KilogramPerCubicMetre>,
    /// Thermal conductivity.
    pub conductivity: Cited<WattPerMetreKelvin>,
    /// Thermal conductivity of the syrup before it.
    pub syrup_conductivity: Cited<WattPerMetreKelvin>,
    pub heat_capacity: Cited<JoulePerKilogramKelvin>,
    /// Heat capacity of the gas that it gives.
    pub gas_heat_capacity: Cited<JoulePerKilogramKelvin>,
    /// Heat capacity of the powder that it leaves.
    pub product_heat_capacity: Cited<JoulePerKilogramKelvin>,
}

/// All of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Kinetics {
    pub fuels: Vec<FuelKinetics>,
    /// Steps of fuels before they burn.
    pub steps: Vec<FuelStep>,
    pub metals: Vec<MetalShift>,
    /// The analyses.
    pub scan: Scan,
    /// What holds water.
    pub sorption: SorptionProperties,
    /// The dry gel as a material.
    pub gel: GelProperties,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    units: BTreeMap<String, String>,
    #[serde(default)]
    fuel: Vec<FuelKinetics>,
    #[serde(default)]
    step: Vec<FuelStep>,
    #[serde(default)]
    metal: Vec<MetalShift>,
    scan: Option<Scan>,
    sorption: Option<SorptionProperties>,
    gel: Option<GelProperties>,
}

const UNITS: [(&str, &str); 14] = [
    ("formation_enthalpy", "kJ/mol"),
    ("binding_energy", "kJ/mol"),
    ("temperature", "degC"),
    ("interval", "K"),
    ("rate", "K/min"),
    ("activation_energy", "kJ/mol"),
    ("pre_exponential", "1/s"),
    ("heat", "kJ/kg"),
    ("share", "%"),
    ("speed", "mm/s"),
    ("density", "kg/m3"),
    ("conductivity", "W/(m K)"),
    ("heat_capacity", "J/(kg K)"),
    ("number", "1"),
];

fn check_energy(energy: &Cited<KilojoulePerMole>) -> Result<(), Fault> {
    if (20.0..=400.0).contains(&energy.written()) {
        return Ok(());
    }
    let expected = "it should be from 20 to 400";
    Err(Fault::value(
        "activation energy in kJ/mol",
        energy.written(),
        expected,
    ))
}

impl Row for FuelStep {
    const ARRAY: &'static str = "step";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        self.reactants.join(", ")
    }

    fn check(&self) -> Result<(), Fault> {
        check_energy(&self.activation_energy)
    }
}

impl Row for FuelKinetics {
    const ARRAY: &'static str = "fuel";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        let first = self.reactants.first();
        first.map_or("any fuel", String::as_str).to_owned()
    }

    fn check(&self) -> Result<(), Fault> {
        check_energy(&self.activation_energy)?;
        if self.front_low.value > self.front_high.value {
            return Err(Fault::value(
                "front_low",
                self.front_low.written(),
                "it should not be above front_high",
            ));
        }
        Ok(())
    }
}

impl Row for MetalShift {
    const ARRAY: &'static str = "metal";
    const REPEATS: bool = true;

    fn id(&self) -> String {
        let names: Vec<String> = self.elements.iter().map(Element::to_string).collect();
        names.join(", ")
    }
}

impl File {
    fn read(file: &TableFile) -> Result<Self, TableError> {
        let rows: Self = file.parse()?;
        file.check_units(&rows.units, &UNITS)?;
        file.check(&rows.fuel)?;
        file.check(&rows.step)?;
        file.check(&rows.metal)?;
        Ok(rows)
    }
}

impl Kinetics {
    pub(super) fn built_in() -> Result<Self, TableError> {
        let file = TableFile::built_in("kinetics.toml");
        let rows = File::read(&file)?;
        let missing = || {
            file.error(
                "[scan], [sorption] or [gel]",
                Fault::incomplete("is missing"),
            )
        };
        let mut kinetics = Self {
            scan: rows.scan.ok_or_else(missing)?,
            sorption: rows.sorption.ok_or_else(missing)?,
            gel: rows.gel.ok_or_else(missing)?,
            fuels: rows.fuel,
            steps: rows.step,
            metals: rows.metal,
        };
        kinetics.put_any_fuel_last();
        Ok(kinetics)
    }

    /// Adds the rows of a file; they come before the ones already there and so win over them.
    pub(super) fn add(&mut self, file: &TableFile) -> Result<(), TableError> {
        let rows = File::read(file)?;
        self.fuels.splice(0..0, rows.fuel);
        // Own steps of a fuel take the place of all of its steps.
        for row in &mut self.steps {
            let own = |id: &String| rows.step.iter().any(|step| step.reactants.contains(id));
            row.reactants.retain(|id| !own(id));
        }
        self.steps.extend(rows.step);
        self.metals.splice(0..0, rows.metal);
        self.scan = rows.scan.unwrap_or_else(|| self.scan.clone());
        self.sorption = rows.sorption.unwrap_or_else(|| self.sorption.clone());
        self.gel = rows.gel.unwrap_or_else(|| self.gel.clone());
        self.put_any_fuel_last();
        Ok(())
    }

    fn put_any_fuel_last(&mut self) {
        self.fuels.sort_by_key(|row| row.reactants.is_empty());
    }

    /// The row for a reactant, else the one for any fuel.
    pub fn fuel(&self, reactant: &str) -> Option<&FuelKinetics> {
        self.fuels
            .iter()
            .find(|row| row.reactants.is_empty() || row.reactants.iter().any(|id| id == reactant))
    }

    /// The steps in which a reactant decomposes before it burns, in their order.
    pub fn steps_of<'a>(&'a self, reactant: &'a str) -> impl Iterator<Item = &'a FuelStep> {
        let own = move |step: &&FuelStep| step.reactants.iter().any(|id| id == reactant);
        self.steps.iter().filter(own)
    }

    /// Shift of the peak (K) by one metal; zero for a metal without a row.
    pub(crate) fn shift(&self, element: Element) -> f64 {
        self.metals
            .iter()
            .find(|row| row.elements.contains(&element))
            .map_or(0.0, |row| row.shift.si())
    }
}

#[cfg(test)]
mod tests {
    use crate::tables::Tables;

    #[test]
    fn every_row_names_reactants_that_exist() {
        let tables = Tables::built_in().unwrap();
        for row in &tables.kinetics.fuels {
            for id in &row.reactants {
                assert!(tables.reactants.iter().any(|r| r.id == *id), "{id}");
            }
        }
    }

    #[test]
    fn no_fuel_gives_off_more_atoms_than_it_has() {
        let tables = Tables::built_in().unwrap();
        for reactant in tables.reactants.iter() {
            let steps: Vec<_> = tables.kinetics.steps_of(&reactant.id).collect();
            assert!(steps.len() <= super::FUEL_STEPS, "{}", reactant.id);
            let fuel = reactant.formula.anhydrous();
            for (element, there) in fuel.amounts() {
                let gone: f64 = steps
                    .iter()
                    .flat_map(|step| &step.gases)
                    .map(|gas| gas.number.si() * gas.formula.amount_of(*element))
                    .sum();
                assert!(gone <= *there, "{} {element}", reactant.id);
            }
            for gas in steps.iter().flat_map(|step| &step.gases) {
                let species = tables.species_by_id(&gas.formula.to_string());
                let known = gas.formation_enthalpy.is_some() || species.is_some();
                assert!(known, "{}: enthalpy of {}", reactant.id, gas.formula);
                let known = |e: &&crate::formula::Element| fuel.amount_of(**e) <= 0.0;
                assert!(gas.formula.amounts().keys().find(known).is_none());
            }
        }
        for id in tables.kinetics.steps.iter().flat_map(|s| &s.reactants) {
            assert!(tables.reactants.iter().any(|r| r.id == *id), "{id}");
        }
    }

    #[test]
    fn a_fuel_without_a_row_gets_the_row_for_any_fuel() {
        let kinetics = Tables::built_in().unwrap().kinetics;
        assert!((kinetics.fuel("urea").unwrap().peak.si() - 548.15).abs() < 1e-9);
        assert!(kinetics.fuel("hexamine").unwrap().reactants.is_empty());
    }
}
