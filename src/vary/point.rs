//! What a sweep keeps of one burn.

use crate::advice::{BurnFacts, BurnState, Violence, Warning, advice, stops};
use crate::batch::Batch;
use crate::burn::StateResult;
use crate::equilibrium::{Equilibrium, EquilibriumError};
use crate::flame::Flame;
use crate::formula::Element;
use crate::fumes::Fumes;
use crate::product::ExpectedProduct;
use crate::quantity::SpecificVolume;
use crate::quantity::units::{joule_per_kelvin, kelvins, mole, ratio};
use crate::quantity::{
    AmountFraction, AmountOfSubstance, Band, EquivalenceRatio, Mass, Ratio, TemperatureInterval,
    ThermodynamicTemperature,
};
use crate::redox::Redox;
use crate::tables::Tables;

/// Gases above this share of the gas are kept by name.
const MAIN_SHARE: f64 = 1e-3;
/// Metals count as evaporated above this share.
const WORTH_A_WORD: f64 = 0.01;

/// One burn of a sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// φ of this batch.
    pub equivalence_ratio: EquivalenceRatio,
    /// Share of all water that is there.
    pub water_left: Ratio,
    /// Expected mass of powder.
    pub product_mass: Mass,
    /// Flame temperature with fixed products; `None` if the heat does not dry the batch.
    pub complete: Option<ThermodynamicTemperature>,
    /// Half width of its band from the data.
    pub half_width: TemperatureInterval,
    /// Whether it lies on a melting point or another transition of the powder.
    pub on_transition: bool,
    /// Flame temperature in equilibrium.
    pub equilibrium: ThermodynamicTemperature,
    /// Half width of its band: that of the fixed products, by the ratio of the heat capacities.
    pub equilibrium_half_width: TemperatureInterval,
    /// Gas of the fixed products.
    pub gas: AmountOfSubstance,
    /// Its volume at 25 °C per mass of powder.
    pub gas_per_product: SpecificVolume,
    /// log10(p(O2)/bar) in equilibrium at the flame.
    pub log10_oxygen_pressure: Option<f64>,
    /// Gases in equilibrium above a thousandth of the gas, most abundant first.
    pub main_gases: Vec<(String, AmountFraction)>,
    /// Condensed phases in equilibrium, most abundant first.
    pub condensed: Vec<(String, AmountOfSubstance)>,
    /// Metals of which more than a hundredth is in the gas in equilibrium, with that share.
    pub evaporated: Vec<(Element, Ratio)>,
    /// Share of the condensed mass that is molten.
    pub molten: Option<Ratio>,
    /// NO and NO2 together, share of the gas in equilibrium at the flame.
    pub nitrogen_oxides: AmountFraction,
    /// CO, share of the gas in equilibrium at the flame.
    pub carbon_monoxide: AmountFraction,
    /// NO and NO2 together that may come off: bracket of the fumes of this burn.
    pub nitrogen_oxides_released: Band<AmountOfSubstance>,
    /// CO that may come off.
    pub carbon_monoxide_released: Band<AmountOfSubstance>,
    /// How violently it burns in this one state of the water.
    pub violence: Violence,
    /// Why this member of the sweep is refused; empty if it is not.
    pub stops: Vec<Warning>,
}

impl Point {
    /// Takes from `result` what a sweep shows.
    ///
    /// # Errors
    /// [`EquilibriumError`] if the burn has no equilibrium.
    pub fn of(
        batch: &Batch,
        redox: &Redox,
        product: &ExpectedProduct,
        result: &StateResult,
        tables: &Tables,
    ) -> Result<Self, EquilibriumError> {
        let burnt = result.equilibrium.as_ref().map_err(Clone::clone)?;
        let equilibrium = &burnt.equilibrium;
        let burns = [BurnState::of(result)];
        let facts = BurnFacts::new(batch, redox, product, &burns, tables);
        let found = advice(&facts, &tables.safety);
        Ok(Self {
            equivalence_ratio: redox.equivalence_ratio,
            water_left: result.state.share_left(batch),
            product_mass: product.mass,
            complete: result.complete.flame.temperature(),
            half_width: result.band.half_width,
            on_transition: matches!(result.complete.flame, Flame::OnTransition { .. }),
            equilibrium: equilibrium.temperature,
            equilibrium_half_width: equilibrium_half_width(result, equilibrium),
            gas: result.gas.amount,
            gas_per_product: result.gas.per_product,
            log10_oxygen_pressure: equilibrium.log10_oxygen_pressure,
            main_gases: equilibrium
                .gases()
                .filter_map(|s| Some((s.id.clone(), s.amount_fraction?)))
                .take_while(|(_, fraction)| fraction.get::<ratio>() >= MAIN_SHARE)
                .collect(),
            condensed: equilibrium
                .condensed()
                .map(|s| (s.id.clone(), s.amount))
                .collect(),
            evaporated: evaporated(batch, equilibrium, tables),
            molten: equilibrium.molten_fraction,
            nitrogen_oxides: fraction(equilibrium, "NO") + fraction(equilibrium, "NO2"),
            carbon_monoxide: fraction(equilibrium, "CO"),
            nitrogen_oxides_released: released(&found.fumes, &["NO", "NO2"]),
            carbon_monoxide_released: released(&found.fumes, &["CO"]),
            stops: stops(&found.warnings),
            violence: found.violence,
        })
    }
}

/// Metals of the batch that are not all in the condensed phases.
fn evaporated(batch: &Batch, equilibrium: &Equilibrium, tables: &Tables) -> Vec<(Element, Ratio)> {
    let mut left = batch.dry_elements();
    left.retain(|element, n| element.is_metal() && n.get::<mole>() > 0.0);
    let all = left.clone();
    for phase in equilibrium.condensed() {
        let Some(species) = tables.species_by_id(&phase.id) else {
            continue;
        };
        for (element, n) in &mut left {
            *n -= species.formula.amount_of(*element) * phase.amount;
        }
    }
    left.into_iter()
        .filter_map(|(element, n)| {
            let share: Ratio = n / all[&element];
            (share.get::<ratio>() > WORTH_A_WORD).then_some((element, share))
        })
        .collect()
}

/// Sum of the brackets of several gases.
fn released(off: &Fumes, gases: &[&str]) -> Band<AmountOfSubstance> {
    let mut sum = Band::exactly(AmountOfSubstance::default());
    for band in gases.iter().filter_map(|gas| off.amount(gas)) {
        sum.low += band.low;
        sum.high += band.high;
    }
    sum
}

fn fraction(equilibrium: &Equilibrium, id: &str) -> AmountFraction {
    equilibrium
        .gases()
        .find(|s| s.id == id)
        .and_then(|s| s.amount_fraction)
        .unwrap_or_else(|| Ratio::new::<ratio>(0.0))
}

/// The same uncertain heat warms the equilibrium by less where it also drives a reaction. On a
/// transition, where its heat capacity has no value, the band of the fixed products is kept.
fn equilibrium_half_width(result: &StateResult, equilibrium: &Equilibrium) -> TemperatureInterval {
    let fixed = result.complete.heat_capacity;
    let width = result.band.half_width.get::<kelvins>();
    match equilibrium.heat_capacity {
        Some(own) if own.get::<joule_per_kelvin>() > 0.0 => {
            let ratio_of_both: Ratio = fixed / own;
            TemperatureInterval::new::<kelvins>(width * ratio_of_both.get::<ratio>())
        }
        _ => result.band.half_width,
    }
}
