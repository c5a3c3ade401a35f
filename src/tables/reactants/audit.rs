//! The weakest values among the reactants, and what they would change.
//!
//! Yardstick: one mole of the reactant in a balanced burn, dried, with urea (for oxidisers, and
//! for carbonates after they were turned into nitrates) or with aluminium nitrate (for everything
//! that reduces). A band u of its enthalpy then moves the
//! adiabatic temperature by about u / ΣC_p, with the heat capacities of the product gases at
//! 1500 K and 3R for each atom of the oxide. It ranks values; it is no substitute for the spread
//! that a batch's own report gives.

use super::reactant::{Reactant, Role};
use crate::formula::Element;
use crate::quantity::units::{joule_per_kelvin_mole, joule_per_mole, kelvin, kelvins};
use crate::quantity::{GAS_CONSTANT, MolarEnergy, TemperatureInterval, ThermodynamicTemperature};
use crate::source::{Seen, SourceId};
use crate::tables::cited::Cited;
use crate::tables::unit::Unit;
use crate::tables::{Tables, species::SpeciesError};

/// Temperature of the product gas for the yardstick, K: the middle of usual burns.
const YARDSTICK_TEMPERATURE: f64 = 1500.0;
/// Reducing valence of urea, CO(NH2)2: 4 + 4 − 2.
const UREA_VALENCE: f64 = 6.0;
/// Oxidising valence of Al(NO3)3: 3 − 18.
const ALUMINIUM_NITRATE_VALENCE: f64 = 15.0;
/// Oxidising valence that one nitrate ion brings: 5, as 2 NO3⁻ → N2.
const NITRATE_ION_VALENCE: f64 = 5.0;
/// Warm start for the heat capacities: 95 °C, 70 K above the reference.
const WARM_START: f64 = 70.0;

/// One weak value.
#[derive(Debug, Clone, PartialEq)]
pub struct AuditLine {
    /// Name of the reactant.
    pub name: String,
    /// "formation enthalpy" or "heat capacity, start at 95 °C".
    pub quantity: &'static str,
    /// Band of the enthalpy per mole of the reactant.
    pub band: MolarEnergy,
    /// What it would move the adiabatic temperature of the yardstick burn by.
    pub temperature_effect: TemperatureInterval,
    /// Where the value comes from.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
    /// Method or entry.
    pub locator: String,
}

impl Tables {
    /// Values of the reactants that come from memory or an estimate, or whose band moves the
    /// yardstick burn by 10 K or more; those that matter most first.
    ///
    /// # Errors
    /// `SpeciesError` if a product gas has no data at 1500 K.
    pub fn audit_reactants(&self) -> Result<Vec<AuditLine>, SpeciesError> {
        let mut lines = Vec::new();
        for reactant in self.reactants.iter().filter(|r| r.role != Role::Solvent) {
            // A row of one's own may leave its valence out: then there is no yardstick burn.
            let Some(valence) = reactant.redox_valence else {
                continue;
            };
            let sum = self.yardstick_heat_capacity(reactant, valence)?;
            let joule = |q: MolarEnergy| q.get::<joule_per_mole>();
            if let Some(h) = &reactant.formation_enthalpy {
                let band = h.uncertainty.map_or(0.0, joule);
                lines.push(line(reactant, "formation enthalpy", h, band, sum));
            }
            if let Some(cp) = &reactant.heat_capacity {
                let unit = |q: crate::quantity::MolarHeatCapacity| q.get::<joule_per_kelvin_mole>();
                let band = WARM_START * cp.uncertainty.map_or(0.0, unit);
                let quantity = "heat capacity, start at 95 °C";
                lines.push(line(reactant, quantity, cp, band, sum));
            }
        }
        let effect = |l: &AuditLine| l.temperature_effect.get::<kelvins>();
        lines.retain(|l| {
            let weak = l.seen >= Seen::FromMemory && effect(l) > 0.0;
            weak || effect(l) >= 10.0
        });
        lines.sort_by(|a, b| effect(b).total_cmp(&effect(a)).then(a.name.cmp(&b.name)));
        Ok(lines)
    }

    /// ΣC_p in J/K of the products of one mole of `reactant`, of this valence, burnt with its
    /// partner.
    fn yardstick_heat_capacity(
        &self,
        reactant: &Reactant,
        mut valence: f64,
    ) -> Result<f64, SpeciesError> {
        let dry = reactant.formula.anhydrous();
        let count = |symbol: &str| {
            Element::from_symbol(symbol).map_or(0.0, |element| dry.amount_of(element))
        };
        let (mut carbon, mut hydrogen, mut nitrogen) = (count("C"), count("H"), count("N"));
        let gas_formers = ["C", "H", "N", "O"];
        let metals: f64 = dry
            .amounts()
            .iter()
            .filter(|(element, _)| !gas_formers.contains(&element.symbol()))
            .map(|(_, n)| n)
            .sum();
        let state = reactant
            .metal
            .as_ref()
            .map_or(0.0, |m| f64::from(m.oxidation_state));
        let mut oxide_atoms = metals * (1.0 + 0.5 * state);
        if valence.abs() < 1e-9 && metals > 0.0 {
            // dissolved in nitric acid: the carbonate leaves, a nitrate ion comes for each charge
            valence = -NITRATE_ION_VALENCE * state * metals;
            carbon = 0.0;
            nitrogen += state * metals;
        }
        if valence < 0.0 {
            let urea = -valence / UREA_VALENCE;
            carbon += urea;
            hydrogen += 4.0 * urea;
            nitrogen += 2.0 * urea;
        } else {
            let nitrate = valence / ALUMINIUM_NITRATE_VALENCE;
            nitrogen += 3.0 * nitrate;
            oxide_atoms += 2.5 * nitrate;
        }
        let mut sum = 3.0 * GAS_CONSTANT * oxide_atoms;
        let t = ThermodynamicTemperature::new::<kelvin>(YARDSTICK_TEMPERATURE);
        for (gas, amount) in [
            ("CO2", carbon),
            ("H2O", hydrogen / 2.0),
            ("N2", nitrogen / 2.0),
        ] {
            if let Some(species) = self.species_by_id(gas) {
                sum += amount
                    * species
                        .molar_heat_capacity(t)?
                        .get::<joule_per_kelvin_mole>();
            }
        }
        Ok(sum)
    }
}

fn line<U: Unit>(
    reactant: &Reactant,
    quantity: &'static str,
    value: &Cited<U>,
    band: f64,
    heat_capacity: f64,
) -> AuditLine {
    AuditLine {
        name: reactant.name.clone(),
        quantity,
        band: MolarEnergy::new::<joule_per_mole>(band),
        temperature_effect: TemperatureInterval::new::<kelvins>(band / heat_capacity),
        source: value.source.clone(),
        seen: value.seen,
        locator: value.locator.clone(),
    }
}
