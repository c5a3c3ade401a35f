//! Whether a burn leaves the wanted phases: in equilibrium at its peak and on cooling.

use crate::cooling::FROZEN;
use crate::equilibrium::Equilibrium;
use crate::expected::{Draw, Expectation};
use crate::formula::{Element, Formula};
use crate::product::ExpectedProduct;
use crate::quantity::units::{kelvin, mole, ratio};
use crate::quantity::{Ratio, ThermodynamicTemperature};
use crate::tables::{Solution, Species, Tables};

/// Other phases count from this share of the metal on.
const WORTH_A_VETO: f64 = 0.02;

/// Phases that are there instead of the wanted ones.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OtherPhases {
    /// Their share of the metal (carbon counted as one), at the peak or on cooling, the larger.
    pub share: Ratio,
    /// Their ids, the most abundant first.
    pub phases: Vec<String>,
    /// Whether that is on cooling.
    pub on_cooling: bool,
}

impl OtherPhases {
    /// Whether there is more of them than a trace.
    pub fn counts(&self) -> bool {
        self.share.get::<ratio>() > WORTH_A_VETO
    }
}

/// What a burn leaves besides the expected powder.
pub(super) fn other_phases(
    expectation: &mut Expectation<'_>,
    fuel: f64,
    draw: &Draw,
    product: &ExpectedProduct,
    tables: &Tables,
) -> OtherPhases {
    let Some(peak) = draw.peak else {
        return OtherPhases::default();
    };
    let wanted: Vec<&Formula> = product.phases.iter().map(|phase| &phase.formula).collect();
    let frozen = ThermodynamicTemperature::new::<kelvin>(FROZEN);
    // Without an equilibrium there is nothing to hold against the burn.
    let Ok([hot, cold]) = expectation.middle_phases(fuel, peak, frozen, tables) else {
        return OtherPhases::default();
    };
    let hot = among(&hot, &wanted, tables);
    let cold = among(&cold, &wanted, tables);
    if cold.share > hot.share {
        OtherPhases {
            on_cooling: true,
            ..cold
        }
    } else {
        hot
    }
}

/// What of `found` is neither a wanted phase nor dissolved in one: a solid solution with a wanted
/// end member is that phase, such as ceria that holds gadolinia and has given off oxygen. What
/// such a crystal takes up too much lacks elsewhere and counts there.
fn among(found: &Equilibrium, wanted: &[&Formula], tables: &Tables) -> OtherPhases {
    let is_wanted = |species: &Species| {
        let amounts = species.formula.amounts();
        wanted.iter().any(|formula| formula.amounts() == amounts)
    };
    let members_wanted = |solution: &Solution| {
        let members = solution.members.iter().chain(&solution.guests);
        let mut members = members.filter_map(|id| tables.species_by_id(id));
        members.any(is_wanted)
    };
    let solutions = tables.solutions.iter().filter(|s| members_wanted(s));
    let solutions: Vec<&str> = solutions.map(|s| s.name.as_str()).collect();
    let metal = |formula: &Formula| {
        let atoms = formula.amounts().iter();
        let metals: f64 = atoms.filter(|(e, _)| e.is_metal()).map(|(_, n)| n).sum();
        let only_carbon = formula.amounts().keys().all(|e| *e == Element::CARBON);
        if only_carbon { 1.0 } else { metals }
    };
    let (mut all, mut others) = (0.0, Vec::new());
    for phase in found.condensed() {
        let Some(species) = tables.species_by_id(&phase.id) else {
            continue;
        };
        let n = metal(&species.formula) * phase.amount.get::<mole>();
        all += n;
        let dissolved = phase.solution.as_deref();
        let dissolved = dissolved.is_some_and(|name| solutions.contains(&name));
        if !is_wanted(species) && !dissolved && n > 0.0 {
            others.push((n, phase.id.clone()));
        }
    }
    others.sort_by(|a, b| b.0.total_cmp(&a.0));
    let sum: f64 = others.iter().map(|(n, _)| n).sum();
    OtherPhases {
        share: Ratio::new::<ratio>(if all > 0.0 { sum / all } else { 0.0 }),
        phases: others.into_iter().map(|(_, id)| id).collect(),
        on_cooling: false,
    }
}
