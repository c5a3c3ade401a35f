//! Target phases: at which temperature they have been made, what competes with them, what burns
//! with which fuel gave, cheap tests, dopants; and how a choice of fuel weighs all that.

mod read;

use crate::formula::{Element, Formula};
use crate::quantity::units::{joule_per_mole, kelvin, ratio, second};
use crate::quantity::{GAS_CONSTANT, MolarEnergy, Ratio, ThermodynamicTemperature, Time};
use crate::source::{Seen, SourceId};
use crate::tables::cited::{Cited, quantity};
use crate::tables::solutions::Assumed;
use crate::tables::unit::{DegreeCelsius, KilojoulePerMole, Second};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

/// Farthest row, by the share of cations that differ, that still speaks for a target.
const FARTHEST: f64 = 0.2;

/// A published remark.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// In words.
    pub text: String,
    /// Where it was read.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
}

/// What a burn gave.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
pub enum TrialOutcome {
    /// The phase, as burnt.
    #[serde(rename = "formed")]
    Formed,
    /// Recommended in print without this very burn.
    #[serde(rename = "advised")]
    Advised,
    /// The phase after an anneal, or beside others.
    #[serde(rename = "partly")]
    Partly,
    /// Another phase, glass, or no ignition.
    #[serde(rename = "failed")]
    Failed,
}

impl fmt::Display for TrialOutcome {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Formed => "formed",
            Self::Advised => "advised",
            Self::Partly => "partly formed",
            Self::Failed => "failed",
        })
    }
}

/// On which side of φ = 1 a burn was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Side {
    /// φ below 1.
    #[serde(rename = "lean")]
    Lean,
    /// φ above 1.
    #[serde(rename = "rich")]
    Rich,
}

/// A burn that somebody made and what came out.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trial {
    /// Ids of the fuels; "any one" stands for each single fuel.
    pub fuels: Vec<String>,
    /// What it gave.
    pub outcome: TrialOutcome,
    /// Fuel-lean or fuel-rich, if that was stated.
    #[serde(rename = "mixture")]
    pub side: Option<Side>,
    /// In words.
    pub text: String,
    /// Where it was read.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
}

impl Trial {
    /// Whether it was made with just these fuels (ids without their hydrate, any order).
    pub fn is_of(&self, fuels: &[&str]) -> bool {
        if self.fuels == ["any one"] {
            return fuels.len() == 1;
        }
        self.fuels.len() == fuels.len()
            && self.fuels.iter().all(|own| fuels.contains(&own.as_str()))
    }
}

/// A phase that can be wanted.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TargetPhase {
    /// Name, polymorph included.
    pub name: String,
    /// Formula; of a solid solution that of one member.
    pub formula: Formula,
    /// Lowest temperature at which it was seen to form in hours.
    pub lower: Option<Cited<DegreeCelsius>>,
    /// Usual temperatures, rising.
    #[serde(default)]
    pub typical: Vec<Cited<DegreeCelsius>>,
    /// Above this it turns into something else.
    pub upper: Option<Cited<DegreeCelsius>>,
    /// Where it melts.
    pub melting: Option<Cited<DegreeCelsius>>,
    /// Anneals that are usual after the burn.
    #[serde(default)]
    pub anneal: Vec<Note>,
    /// Phases that form instead or beside it.
    #[serde(default)]
    pub competing: Vec<Note>,
    #[serde(default)]
    pub polymorph: Vec<Note>,
    /// What burns gave.
    #[serde(default)]
    pub burnt: Vec<Note>,
    /// What to mind.
    #[serde(default)]
    pub caution: Vec<Note>,
    /// Proportions of the cations that gave it pure.
    #[serde(default)]
    pub proportion: Vec<Note>,
    /// Fluxes that help.
    #[serde(default)]
    pub flux: Vec<Note>,
    /// What is said of fuels.
    #[serde(default)]
    pub fuel_note: Vec<Note>,
    /// Burns with their outcome.
    #[serde(default)]
    pub fuels: Vec<Trial>,
    /// Names of what it is mistaken for, keys of [`Phases::rival`].
    #[serde(default)]
    pub rivals: Vec<String>,
}

/// A cheap test that tells a rival.
#[derive(serde::Serialize, Debug, Clone, PartialEq, Eq, Deserialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields)]
pub struct Rival {
    /// What may be there instead.
    #[serde(rename(serialize = "rival"))]
    pub name: String,
    /// How to tell. Common practice.
    pub test: String,
    /// What removes it. Common practice.
    pub cure: String,
}

/// A published level of a dopant or a flux.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DopantNote {
    /// Host, or hosts in words.
    pub host: String,
    /// The dopant or additive.
    pub additive: String,
    /// Oxidation state aimed at, in words.
    #[serde(default)]
    pub state: String,
    /// Lowest useful level.
    pub low: Option<f64>,
    /// Best level, or the one used.
    pub best: Option<f64>,
    /// Highest level.
    pub high: Option<f64>,
    /// Unit of the levels, such as "mol %".
    #[serde(default)]
    pub unit: String,
    /// What the level counts.
    #[serde(default)]
    pub basis: String,
    /// What it is for.
    #[serde(default)]
    pub role: String,
    /// Atmosphere or fuel.
    #[serde(default)]
    pub atmosphere: String,
    /// What was found.
    #[serde(default)]
    pub finding: String,
    /// Where it was read.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
}

/// A fuel that suits the nitrate of a cation.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Affinity {
    pub cation: Element,
    /// Id of the fuel.
    pub fuel: String,
    /// Where it was read.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
}

/// How the criteria of a choice count against each other. Assumed.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Weights {
    /// The flame reaches what the phase needs.
    pub reach: f64,
    /// This fuel has given this phase.
    pub evidence: f64,
    /// The gas is as wanted.
    pub atmosphere: f64,
    /// Hazard class of the fuel.
    pub hazard: f64,
    /// Little gas.
    pub gentle: f64,
    /// Dissolves well.
    pub solubility: f64,
    /// Little fuel for the powder.
    pub heat: f64,
    /// One fuel.
    pub simple: f64,
}

/// Where a criterion has lost half of its points. Assumed; units as in the names.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scales {
    /// Gas at 25 °C per powder.
    pub gas_l_per_g: f64,
    /// Fuel per powder.
    pub fuel_g_per_g: f64,
    /// Solubility of the fuel in water.
    pub solubility_g_per_100_g: f64,
    /// Kelvin below what the phase needs.
    pub deficit_k: f64,
}

/// Fuel ratios and losses that a choice looks at. Assumed.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Search {
    /// Least φ.
    pub ratio_from: f64,
    /// Largest φ.
    pub ratio_to: f64,
    /// The same for an oxide where no reducing gas is wanted.
    pub ratio_to_of_oxides: f64,
    /// Steps of the scan that brackets the roots.
    pub steps: usize,
    /// Shares of the heat that are lost.
    pub heat_losses: Vec<f64>,
    /// Shares of valence tried for two fuels.
    pub mix_shares: Vec<f64>,
}

/// What counts as an oxidising or a reducing gas, log10(p(O2)/bar). Assumed.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AtmosphereLimits {
    pub oxidising_above: f64,
    pub reducing_below: f64,
}

/// Fuels left out of a choice.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RefusedFuels {
    /// Hazard statements that rule a fuel out.
    pub statements: Vec<String>,
    /// Solubility below which it is ruled out, g per 100 g water.
    pub insoluble_below_g_per_100_g: f64,
}

/// Hold, burn and activation energies of the time correction. Assumed.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TimeModel {
    /// Hold of the published anneals.
    #[serde(rename = "hold_s", deserialize_with = "quantity::<Second, _>")]
    pub hold: Time,
    /// Bright part of a burn.
    #[serde(rename = "burn_s", deserialize_with = "quantity::<Second, _>")]
    pub burn: Time,
    /// Activation energy, lower end.
    #[serde(
        rename = "activation_energy_low_kj_per_mol",
        deserialize_with = "quantity::<KilojoulePerMole, _>"
    )]
    pub activation_low: MolarEnergy,
    /// Activation energy, upper end.
    #[serde(
        rename = "activation_energy_high_kj_per_mol",
        deserialize_with = "quantity::<KilojoulePerMole, _>"
    )]
    pub activation_high: MolarEnergy,
}

impl TimeModel {
    /// Temperature that gives in `burn` the conversion of a hold at `lower`, one thermally
    /// activated step: 1/T = 1/T_lower − R ln(t_hold/t_burn)/E_a. `None` if no temperature does.
    pub fn floor(
        &self,
        lower: ThermodynamicTemperature,
        burn: Time,
        activation: MolarEnergy,
    ) -> Option<ThermodynamicTemperature> {
        let decades = (self.hold.get::<second>() / burn.get::<second>()).ln();
        let shift = GAS_CONSTANT * decades / activation.get::<joule_per_mole>();
        let inverse = 1.0 / lower.get::<kelvin>() - shift;
        (inverse > 0.0).then(|| ThermodynamicTemperature::new::<kelvin>(1.0 / inverse))
    }
}

/// Everything assumed about how a choice is made.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ranking {
    #[serde(rename = "kind")]
    _kind: Assumed,
    /// Time correction.
    pub time: TimeModel,
    pub search: Search,
    /// Weights of the criteria.
    pub weights: Weights,
    /// Scales of the criteria.
    pub scales: Scales,
    /// Oxidising and reducing gas.
    pub atmosphere: AtmosphereLimits,
    /// Fuels that suit a cation.
    #[serde(rename = "affinity")]
    pub affinities: Vec<Affinity>,
    /// Fuels left out.
    pub refused: RefusedFuels,
}

/// The tables of phases.
#[derive(Debug, Clone)]
pub struct Phases {
    /// Target phases in the order of the files.
    pub targets: Vec<TargetPhase>,
    /// Cheap tests.
    pub rivals: Vec<Rival>,
    /// Dopants and fluxes.
    pub dopants: Vec<DopantNote>,
    /// How a choice is made.
    pub ranking: Ranking,
}

/// A row that speaks for a target.
#[derive(Debug, Clone, Copy)]
pub struct NearestPhase<'a> {
    /// The row.
    pub phase: &'a TargetPhase,
    /// Share of the cations that differ from it; 0 if the formula is the same.
    pub differing: Ratio,
}

impl Phases {
    /// The row of this name.
    pub fn by_name(&self, name: &str) -> Option<&TargetPhase> {
        self.targets.iter().find(|phase| phase.name == name)
    }

    /// Whether any published burn of the tables used this fuel.
    pub fn has_trial_with(&self, fuel: &str) -> bool {
        let trials = self.targets.iter().flat_map(|phase| &phase.fuels);
        trials.flat_map(|trial| &trial.fuels).any(|id| id == fuel)
    }

    /// The test for a rival.
    pub fn rival(&self, name: &str) -> Option<&Rival> {
        self.rivals.iter().find(|rival| rival.name == name)
    }

    /// The row nearest to a composition: the same formula, or the host whose cations differ least,
    /// by at most a fifth; of equals the one that needs the higher temperature.
    pub fn nearest(&self, formula: &Formula) -> Option<NearestPhase<'_>> {
        let wanted = cations(formula)?;
        let mut best: Option<NearestPhase<'_>> = None;
        for phase in &self.targets {
            let Some(own) = cations(&phase.formula) else {
                continue;
            };
            let Some(differing) = difference(&wanted, &own, formula, &phase.formula) else {
                continue;
            };
            let floor = |p: &TargetPhase| {
                let lower = p.lower.as_ref();
                lower.map_or(0.0, |floor| floor.value.get::<kelvin>())
            };
            let better = best.as_ref().is_none_or(|found| {
                let so_far = found.differing.get::<ratio>();
                differing < so_far - 1e-6
                    || ((differing - so_far).abs() <= 1e-6 && floor(phase) > floor(found.phase))
            });
            if differing <= FARTHEST && better {
                best = Some(NearestPhase {
                    phase,
                    differing: Ratio::new::<ratio>(differing),
                });
            }
        }
        best
    }

    /// Notes on dopants for a host: its name stands in theirs.
    pub fn dopants_of<'a>(&'a self, host: &'a str) -> impl Iterator<Item = &'a DopantNote> {
        self.dopants.iter().filter(move |note| {
            note.host
                .split([',', '/', ':', ' '])
                .any(|word| word == host)
        })
    }
}

/// Fractions of the cations and the oxygen per cation, under the key of oxygen.
fn cations(formula: &Formula) -> Option<BTreeMap<Element, f64>> {
    let is_cation = |element: &Element| !matches!(element.symbol(), "O" | "H" | "N" | "C");
    let total: f64 = formula
        .amounts()
        .iter()
        .filter(|(element, _)| is_cation(element))
        .map(|(_, n)| n)
        .sum();
    (total > 0.0).then(|| {
        formula
            .amounts()
            .iter()
            .filter(|(element, _)| is_cation(element))
            .map(|(element, n)| (*element, n / total))
            .collect()
    })
}

/// Share of the cations that differ; `None` if the oxygen per cation says another compound.
fn difference(
    wanted: &BTreeMap<Element, f64>,
    own: &BTreeMap<Element, f64>,
    wanted_formula: &Formula,
    own_formula: &Formula,
) -> Option<f64> {
    let oxygen = |formula: &Formula, fractions: &BTreeMap<Element, f64>| {
        let (element, fraction) = fractions.iter().next()?;
        let total = formula.amount_of(*element) / fraction;
        Some(formula.amount_of(Element::OXYGEN) / total)
    };
    let (a, b) = (oxygen(wanted_formula, wanted)?, oxygen(own_formula, own)?);
    // Oxygen of a doped formula differs by a few percent; CuO and Cu2O differ by a half.
    if (a - b).abs() > 0.06 * a.max(b).max(0.1) {
        return None;
    }
    let elements = wanted.keys().chain(own.keys());
    let mut sum = 0.0;
    let mut seen = Vec::new();
    for element in elements {
        if seen.contains(element) {
            continue;
        }
        seen.push(*element);
        let of = |map: &BTreeMap<Element, f64>| map.get(element).copied().unwrap_or(0.0);
        sum += (of(wanted) - of(own)).abs();
    }
    Some(sum / 2.0)
}
