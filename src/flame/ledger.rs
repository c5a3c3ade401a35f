//! The energy ledger: where every kilojoule comes from and where it goes.

use super::balance::Balance;
use super::error::FlameError;
use super::products::Products;
use super::start::Start;
use crate::enthalpy::vaporisation_enthalpy;
use crate::quantity::units::{joule, joule_per_mole, mole};
use crate::quantity::{Energy, REFERENCE_TEMPERATURE};
use crate::tables::Tables;
use std::fmt;

/// A line of the ledger.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LedgerItem {
    /// Heat of burning the dried batch at 25 °C, water leaving as vapour.
    Burning,
    /// Heat that dissolving took from the surroundings.
    Dissolving,
    /// Heat in the batch above 25 °C at the start.
    WarmStart,
    /// Heat from outside during the burn.
    External,
    /// Boiling off the solvent.
    BoilingSolvent,
    /// Driving off the crystal water.
    DrivingCrystalWater,
    /// Lost before the products are hot.
    Loss,
    /// Heating the steam of the batch's own water.
    HeatingWater,
    /// Heating the other gases.
    HeatingGas,
    HeatingPowder,
    /// Melting and other transitions of the powder.
    Transitions,
    /// Heat that is lacking even for products at 25 °C, all water as vapour.
    Lacking,
}

impl LedgerItem {
    /// A short code for files.
    pub fn code(self) -> &'static str {
        match self {
            Self::Burning => "burning",
            Self::Dissolving => "dissolving",
            Self::WarmStart => "warm_start",
            Self::External => "external_heat",
            Self::BoilingSolvent => "boiling_solvent",
            Self::DrivingCrystalWater => "driving_crystal_water",
            Self::Loss => "loss",
            Self::HeatingWater => "heating_water_vapour",
            Self::HeatingGas => "heating_other_gas",
            Self::HeatingPowder => "heating_powder",
            Self::Transitions => "transitions",
            Self::Lacking => "lacking",
        }
    }
}

impl fmt::Display for LedgerItem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Burning => "burning the dry batch (at 25 °C)",
            Self::Dissolving => "heat taken up on dissolving",
            Self::WarmStart => "warm start",
            Self::External => "heat from outside, or stored on heating",
            Self::BoilingSolvent => "turning the added water to steam",
            Self::DrivingCrystalWater => "driving off the crystal water",
            Self::Loss => "lost to the surroundings",
            Self::HeatingWater => "heating that steam",
            Self::HeatingGas => "heating the other gases",
            Self::HeatingPowder => "heating the powder",
            Self::Transitions => "melting and transitions",
            Self::Lacking => "heat that is lacking",
        })
    }
}

/// One line: heat that comes in is positive, heat that goes into something negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LedgerEntry {
    /// What it is.
    pub item: LedgerItem,
    /// How much, for the whole batch.
    pub energy: Energy,
}

/// All lines of one water state; they add up to nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// The lines that are not zero.
    pub entries: Vec<LedgerEntry>,
}

impl Ledger {
    /// Energy of one item; 0 if it has no line.
    pub fn energy(&self, item: LedgerItem) -> Energy {
        self.entries
            .iter()
            .find(|entry| entry.item == item)
            .map_or(Energy::new::<joule>(0.0), |entry| entry.energy)
    }
}

/// What the ledger is drawn up from.
pub(super) struct Inputs<'a> {
    pub products: &'a Products<'a>,
    pub balance: &'a Balance,
    pub t: f64,
    pub start: &'a Start<'a>,
    pub loss: f64,
    pub tables: &'a Tables,
}

pub(super) fn ledger(inputs: &Inputs<'_>) -> Result<Ledger, FlameError> {
    let Inputs { products, t, .. } = *inputs;
    let Start {
        batch,
        state,
        reactants,
        dried,
        ..
    } = *inputs.start;
    let cold = REFERENCE_TEMPERATURE;
    let steam = inputs
        .tables
        .species_by_id("H2O")
        .ok_or_else(|| FlameError::missing("H2O"))?;
    let solvent = state.solvent.get::<mole>();
    let crystal = state.crystal_water(batch).get::<mole>();
    let vaporising = solvent * vaporisation_enthalpy(inputs.tables)?.get::<joule_per_mole>();
    // Composition at the end, brought to 25 °C: the heat of burning is what the dried batch has
    // more than these products without the batch's own water.
    let gas = products.gas(t);
    let gas_cold: f64 = gas.iter().map(|(species, n)| n * species.h(cold)).sum();
    let gas_rise: f64 = gas
        .iter()
        .map(|(species, n)| n * (species.h(t) - species.h(cold)))
        .sum();
    let powder_cold: f64 = products
        .stacks()
        .iter()
        .map(|stack| stack.amount * stack.stable(cold).h(cold))
        .sum();
    let water_cold = (solvent + crystal) * steam.h(cold);
    let water_rise = (solvent + crystal) * (steam.h(t) - steam.h(cold));
    let dried_formation = dried.formation.get::<joule>();
    let burning = dried_formation - (gas_cold + powder_cold - water_cold);
    let wet_formation = reactants.formation.get::<joule>();
    // What the wet batch lacks against the dried one plus free steam.
    let all_water = dried_formation + water_cold - wet_formation;
    let (powder_rise, transitions) = powder(products, inputs.balance, t);
    let lacking = match inputs.balance {
        Balance::Short { by } => *by,
        _ => 0.0,
    };
    let lines = [
        (LedgerItem::Burning, burning),
        (LedgerItem::Dissolving, reactants.solution.get::<joule>()),
        (LedgerItem::WarmStart, reactants.sensible.get::<joule>()),
        (
            LedgerItem::External,
            batch.conditions.external_heat.get::<joule>(),
        ),
        (LedgerItem::Lacking, lacking),
        (LedgerItem::BoilingSolvent, -vaporising),
        (LedgerItem::DrivingCrystalWater, -(all_water - vaporising)),
        (LedgerItem::Loss, -inputs.loss),
        (LedgerItem::HeatingWater, -water_rise),
        (LedgerItem::HeatingGas, -(gas_rise - water_rise)),
        (LedgerItem::HeatingPowder, -powder_rise),
        (LedgerItem::Transitions, -transitions),
    ];
    let entries = lines
        .into_iter()
        .filter(|(_, joules)| joules.abs() > 1e-6)
        .map(|(item, joules)| LedgerEntry {
            item,
            energy: Energy::new::<joule>(joules),
        })
        .collect();
    Ok(Ledger { entries })
}

/// Heat taken up by the powder from 25 °C to `t`, and that of its transitions, in J.
fn powder(products: &Products<'_>, balance: &Balance, t: f64) -> (f64, f64) {
    let cold = REFERENCE_TEMPERATURE;
    let mut powder_rise = 0.0;
    let mut transitions = 0.0;
    for (at, stack) in products.stacks().iter().enumerate() {
        let passed = stack.transition_heat_below(t);
        let on_it = matches!(balance, Balance::OnTransition { phase, .. } if *phase == at);
        let end = if on_it {
            stack.below(t)
        } else {
            stack.stable(t)
        };
        let rise = stack.amount * (end.h(t) - stack.stable(cold).h(cold));
        powder_rise += rise - passed;
        transitions += passed;
        if let (true, Balance::OnTransition { fraction, .. }) = (on_it, balance) {
            transitions += fraction * stack.amount * (stack.above(t).h(t) - stack.below(t).h(t));
        }
    }
    (powder_rise, transitions)
}
