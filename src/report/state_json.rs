//! The burn in one state of the water, and equilibria, as JSON.

use super::view::{Named, list, view};
use crate::burn::{OtherBurns, SurplusResult};
use crate::equilibrium::{AdiabaticEquilibrium, Equilibrium, SpeciesAmount};
use crate::flame::{CompleteCombustion, Flame, ProductAmount};
use crate::flame_band::Contribution;
use crate::gas::GasRelease;
use crate::plan::{Plan, StateResult, SurplusFuel};
use crate::quantity::Ratio;
use crate::quantity::units::{
    bar, cubic_meter_per_kilogram, gram, joule, joule_per_kelvin, kelvin, kelvins, liter, mole,
    ratio,
};
use crate::tables::species::Phase;

/// Amounts fainter than this share of all are left out of `amounts_mol`.
const FAINT: f64 = 1e-15;

view! {
    /// The burn in one state of the water.
    WaterStateBurn((plan, result, other): (&Plan<'_>, &StateResult, &OtherBurns)) {
        /// "as mixed", "boiled down", "dried" or "at ignition".
        name: String = result.state.name.to_string(),
        /// Solvent water left.
        solvent_mol: f64 = result.state.solvent.get::<mole>(),
        /// Crystal water left.
        crystal_water_mol: f64 = result.state.crystal_water(&plan.batch).get::<mole>(),
        /// Share of all water that is left.
        water_left_fraction: f64 = result.state.share_left(&plan.batch).get::<ratio>(),
        /// Temperature at which the burn starts.
        start_temperature_k: f64 = result.reactants.start.get::<kelvin>(),
        /// Enthalpy of the reactants, from the elements at 298.15 K.
        reactant_enthalpy_j: f64 = result.reactants.total().get::<joule>(),
        /// The burn to fixed products: N2, CO2, H2O and the powder.
        complete_combustion: CompleteBurn = CompleteBurn::from(&result.complete),
        /// About two standard deviations of the temperature from the tabulated data.
        temperature_half_width_k: f64 = result.band.half_width.get::<kelvins>(),
        /// The three largest causes of it.
        largest_uncertainties: Vec<BandCause> = list(result.band.contributions.iter().take(3)),
        /// Gas given off.
        gas: GasGivenOff = GasGivenOff::from((plan, result, &result.gas)),
        /// Gas at 25 °C per gram of powder.
        gas_per_product_l_per_g: f64 = result.gas.per_product.get::<cubic_meter_per_kilogram>(),
        /// The burn with every tabulated species in equilibrium; null where there is none.
        equilibrium: Option<EquilibriumBurn> =
            result.equilibrium.as_ref().ok().map(EquilibriumBurn::from),
        /// The same with the other set of species (full or fast).
        equilibrium_other_species_set: OtherSetBurn = OtherSetBurn::from(other),
        /// What becomes of surplus fuel: three ways.
        surplus_fuel_fates: Vec<SurplusBurn> = list(&other.surplus),
    }
}

view! {
    /// The burn with the other set of species.
    OtherSetBurn(other: &OtherBurns) {
        /// Temperature; null if there is none.
        temperature_k: Option<f64> = {
            let burn = other.other_set.as_ref().ok();
            burn.and_then(StateResult::equilibrium_temperature).map(|t| t.get::<kelvin>())
        },
    }
}

view! {
    /// A tabulated value and what its band does to the temperature.
    BandCause(cause: &Contribution) {
        /// Value that is uncertain.
        what: String = cause.what.clone(),
        /// By how much it moves the temperature.
        temperature_k: f64 = cause.temperature.get::<kelvins>(),
    }
}

view! {
    /// The gas of the burn to fixed products.
    GasGivenOff((plan, result, gas): (&Plan<'_>, &StateResult, &GasRelease)) {
        /// Amount.
        amount_mol: f64 = gas.amount.get::<mole>(),
        /// Amounts by species.
        by_species_mol: Named<f64> = by_species(&gas.by_species),
        /// Volume at 25 °C, steam counted as gas.
        volume_25c_l: f64 = gas.volume_25c.get::<liter>(),
        /// Volume at 25 °C without steam.
        volume_25c_dry_l: f64 = gas.volume_25c_dry.get::<liter>(),
        /// Volume at the flame; null without flame.
        volume_flame_l: Option<f64> = gas.volume_flame.map(|v| v.get::<liter>()),
        /// What the temperature's uncertainty adds to it.
        volume_flame_half_width_l: Option<f64> = flame_volume_half_width(result),
        /// Volume at the flame over that of the solution; null without flame or solvent.
        expansion: Option<f64> = optional(gas.expansion),
        /// Steam that left before the burn.
        steam_before_mol: f64 = gas.steam_before.get::<mole>(),
        /// Gas per gram of powder; null without powder.
        mol_per_g: Option<f64> = {
            let product = plan.product.mass.get::<gram>();
            (product > 0.0).then(|| gas.amount.get::<mole>() / product)
        },
    }
}

/// The volume at the flame is as uncertain as its temperature: ΔV = V ΔT/T.
fn flame_volume_half_width(result: &StateResult) -> Option<f64> {
    let hot = result.complete.flame.temperature()?.get::<kelvin>();
    let volume = result.gas.volume_flame?.get::<liter>();
    Some(volume * result.band.half_width.get::<kelvins>() / hot)
}

fn by_species(list: &[ProductAmount]) -> Named<f64> {
    list.iter()
        .map(|p| (p.id.clone(), p.amount.get::<mole>()))
        .collect()
}

fn optional(value: Option<Ratio>) -> Option<f64> {
    value.map(|value| value.get::<ratio>())
}

view! {
    /// The burn to fixed products.
    CompleteBurn(burn: &CompleteCombustion) {
        /// Temperature; null without flame.
        temperature_k: Option<f64> = burn.flame.temperature().map(|t| t.get::<kelvin>()),
        /// The transition on which the balance ends; null off one.
        transition: Option<FlameTransition> = match &burn.flame {
            Flame::OnTransition { from, to, fraction, .. } => {
                Some((from.as_str(), to.as_str(), *fraction).into())
            }
            Flame::At(_) | Flame::TooWet { .. } => None,
        },
        /// Heat that is lacking if it is too wet to burn; null else.
        short_by_j: Option<f64> = match &burn.flame {
            Flame::TooWet { short_by } => Some(short_by.get::<joule>()),
            Flame::At(_) | Flame::OnTransition { .. } => None,
        },
        /// Heat of the burn at 298.15 K.
        heat_released_j: f64 = burn.heat_released.get::<joule>(),
        /// Heat capacity of the products at the flame.
        heat_capacity_j_per_k: f64 = burn.heat_capacity.get::<joule_per_kelvin>(),
        /// Condensed products.
        condensed_mol: Named<f64> = by_species(&burn.condensed),
        /// True if surplus fuel was shared out by the water-gas equilibrium.
        water_gas_shift: bool = burn.shifted,
        /// Oxygen drawn in from the air.
        air_oxygen_mol: f64 = burn.air_oxygen.get::<mole>(),
    }
}

view! {
    /// A transition of the powder on which a balance ends.
    FlameTransition((from, to, fraction): (&str, &str, Ratio)) {
        /// Phase below it.
        from: String = from.to_owned(),
        /// Phase above it.
        to: String = to.to_owned(),
        /// Share that is transformed.
        fraction: f64 = fraction.get::<ratio>(),
    }
}

view! {
    /// A way that surplus fuel may go.
    SurplusBurn(way: &SurplusResult) {
        /// "leaves", "own gas" or "air".
        fate: &'static str = match way.way {
            SurplusFuel::Leaves => "leaves",
            SurplusFuel::OwnGas => "own gas",
            SurplusFuel::Air(_) => "air",
        },
        /// Share of the air that the surplus needs; null where none counts.
        air_share: Option<f64> = match way.way {
            SurplusFuel::Leaves => None,
            SurplusFuel::OwnGas => Some(0.0),
            SurplusFuel::Air(share) => Some(share.get::<ratio>()),
        },
        /// Temperature with fixed products; null without flame.
        complete_combustion_temperature_k: Option<f64> = {
            let burn = way.burn.as_ref().ok();
            burn.and_then(|burn| burn.complete.flame.temperature()).map(|t| t.get::<kelvin>())
        },
        /// Temperature in equilibrium; null without flame.
        equilibrium_temperature_k: Option<f64> =
            way.equilibrium_temperature().map(|t| t.get::<kelvin>()),
        /// Logarithm of the oxygen pressure over 1 bar; null without gas.
        log10_oxygen_pressure_bar: Option<f64> =
            way.burn.as_ref().ok()
                .and_then(StateResult::settled)
                .and_then(|settled| settled.log10_oxygen_pressure),
    }
}

view! {
    /// A burn with every tabulated species in equilibrium.
    EquilibriumBurn(adiabatic: &AdiabaticEquilibrium) {
        /// Temperature.
        temperature_k: f64 = adiabatic.equilibrium.temperature.get::<kelvin>(),
        /// Pressure.
        pressure_bar: f64 = adiabatic.equilibrium.pressure.get::<bar>(),
        /// Logarithm of the oxygen pressure over 1 bar; null without gas.
        log10_oxygen_pressure_bar: Option<f64> = adiabatic.equilibrium.log10_oxygen_pressure,
        /// Amounts of the species.
        amounts_mol: Named<f64> = listed(&adiabatic.equilibrium)
            .map(|s| (s.id.clone(), s.amount.get::<mole>()))
            .collect(),
        /// Amount fractions in the gas.
        amount_fractions: Named<Option<f64>> = listed(&adiabatic.equilibrium)
            .filter(|s| s.phase == Phase::Gas)
            .map(|s| (s.id.clone(), optional(s.amount_fraction)))
            .collect(),
        /// Condensed species.
        condensed: Vec<CondensedSpecies> = list(adiabatic.equilibrium.condensed()),
        /// Share of the condensed matter that is molten; null without any.
        molten_fraction: Option<f64> = optional(adiabatic.equilibrium.molten_fraction),
        /// CO over CO2 in the gas.
        carbon_monoxide_to_dioxide: Option<f64> = optional(adiabatic.equilibrium.carbon_monoxide_ratio),
        /// H2 over H2O in the gas.
        hydrogen_to_steam: Option<f64> = optional(adiabatic.equilibrium.hydrogen_ratio),
        /// Activity of carbon; 1 where soot forms.
        carbon_activity: Option<f64> = optional(adiabatic.equilibrium.carbon_activity),
        /// Enthalpy, from the elements at 298.15 K.
        enthalpy_j: f64 = adiabatic.equilibrium.enthalpy.get::<joule>(),
        /// Species used beyond the range of their data.
        extrapolated: Vec<String> = adiabatic.equilibrium.extrapolated.clone(),
        /// Newton steps of all minimisations.
        iterations: usize = adiabatic.iterations,
        /// Relative residual of the element balance.
        residual: f64 = adiabatic.equilibrium.evidence.balance_residual.get::<ratio>(),
        /// Residual of the equilibrium conditions over RT.
        potential_residual: f64 =
            adiabatic.equilibrium.evidence.potential_residual.get::<ratio>(),
        /// Minimisations at given temperature.
        minimisations: usize = adiabatic.solves,
        /// Share transformed if the balance ends on a transition; null else.
        transition_share: Option<f64> = adiabatic.transition.as_ref().map(|t| t.share.get::<ratio>()),
    }
}

view! {
    /// A condensed species.
    CondensedSpecies(species: &SpeciesAmount) {
        /// Name in the tables.
        id: String = species.id.clone(),
        /// Phase: "cr" or "l".
        phase: String = species.phase.to_string(),
        /// Amount.
        amount_mol: f64 = species.amount.get::<mole>(),
    }
}

/// The species that are not too faint to be written.
fn listed(equilibrium: &Equilibrium) -> impl Iterator<Item = &SpeciesAmount> {
    let all: f64 = equilibrium
        .amounts
        .iter()
        .map(|s| s.amount.get::<mole>())
        .sum();
    equilibrium
        .amounts
        .iter()
        .filter(move |s| s.amount.get::<mole>() > FAINT * all)
}
