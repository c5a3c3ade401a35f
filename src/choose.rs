//! The choice of fuel and fuel ratio for a wanted phase.
//!
//! The goal is a temperature for a time: what the table of phases says, corrected for a burn of
//! seconds, or what the user gives. For each fuel and each mix of two, the fuel ratios that reach
//! it are found for every state of the water and every loss, and the fuels are ranked with the
//! reason. That none reaches it is an answer too, with what would help. The search stays between
//! φ 0.5 and 4, leaves out dangerous fuels, and of equals takes the gentler one.

mod candidate;
mod goal;
mod judge;
mod reach;

pub use candidate::{Fuels, HazardClass, LeftOut};
pub use goal::{Goal, GoalOrigin, Verdict};
pub use judge::{Criterion, CriterionKind};
pub use reach::{Probe, RatioRange, Reach};

use crate::batch::{Atmosphere, Batch, WaterAtIgnition};
use crate::enthalpy::{WaterStateName, water_states};
use crate::formula::{Element, Formula};
use crate::quantity::{EquivalenceRatio, Ratio, ThermodynamicTemperature};
use crate::redox::RedoxError;
use crate::tables::phases::{DopantNote, Note, Rival, Search};
use crate::tables::{Reactant, Tables};
use crate::vary::{Point, VaryError};
use rayon::prelude::*;
use thiserror::Error;
use uom::si::amount_of_substance::mole;
use uom::si::ratio::ratio;
use uom::si::specific_volume::cubic_meter_per_kilogram;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};

/// Single fuels that are paired with each other.
const PAIRED: usize = 5;
/// Candidates that are worked out for every state of the water and every loss.
const DETAILED: usize = 8;
/// Scores nearer than this count as a tie: the gentler one goes first.
const TIE: f64 = 0.01;
/// Least φ that counts as fuel-rich enough to reduce.
const RICH: f64 = 1.05;
/// Hottest start that is offered as a help, °C: as the batch file allows.
const HOTTEST_START: f64 = 300.0;

/// Why no choice can be made.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ChooseError {
    /// No temperature to aim at.
    #[error("{}", nothing_wanted(.target.as_deref()))]
    NothingWanted {
        /// The target, if there is one.
        target: Option<String>,
    },
    /// The batch has no fuel to choose in place of.
    #[error(
        "the file has no fuel that reduces: add one, such as urea; others are tried in its place"
    )]
    NoFuel,
    /// Nothing burns.
    #[error("the batch burns at no fuel ratio of the search: {reason}")]
    NoBurn {
        /// The first reason.
        reason: String,
    },
    /// The redox sum fails.
    #[error(transparent)]
    Redox(#[from] RedoxError),
    /// A burn of the file's own batch fails.
    #[error(transparent)]
    Burn(#[from] VaryError),
}

fn nothing_wanted(target: Option<&str>) -> String {
    let what = match target {
        Some(target) => format!("the tables know no temperature at which {target} forms"),
        None => "the file names no target".to_owned(),
    };
    format!(
        "{what}; say what is wanted: add [wanted] with a line such as `temperature = \"900 °C\"`"
    )
}

/// The suggestion of a candidate: one φ, with the burn there.
#[derive(Debug, Clone)]
pub struct Suggestion {
    /// The fuel ratio.
    pub ratio: EquivalenceRatio,
    /// Why this one of those that reach the goal.
    pub why: RatioReason,
    /// The batch with these fuels at this ratio.
    pub batch: Batch,
    /// The burn, in the main state of the water at the main loss.
    pub point: Point,
}

/// How the fuel ratio was picked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RatioReason {
    /// Middle of the fuel-rich ratios that are hot enough: reducing, not the hottest.
    MiddleOfRich,
    /// Middle of the fuel-lean ratios that are hot enough: oxidising, not the hottest.
    MiddleOfLean,
    /// Hot enough, yet not with the gas that is wanted: the ratio nearest to it.
    NearestToWantedGas,
    /// None is hot enough: the hottest.
    Hottest,
}

/// Fuels with what they reach and how they are judged.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The fuels.
    pub fuels: Fuels,
    /// What is suggested.
    pub suggestion: Suggestion,
    /// Verdict on the suggestion.
    pub verdict: Verdict,
    /// Ratios that reach the goal in the main state at the main loss; then, for the first in the
    /// ranking, in every state at every loss.
    pub reach: Vec<Reach>,
    /// The criteria.
    pub criteria: Vec<Criterion>,
    /// Weighted mean of the criteria, 0 to 1.
    pub score: f64,
}

/// The batch of the file as it stands, in one state of the water at one loss.
#[derive(Debug, Clone)]
pub struct OwnBurn {
    /// State of the water.
    pub state: WaterStateName,
    /// Share of the heat that is lost.
    pub loss: Ratio,
    /// The burn.
    pub point: Point,
    /// How it stands to the goal.
    pub verdict: Verdict,
}

/// What else helps to get the phase, gentlest first.
#[derive(Debug, Clone, PartialEq)]
pub enum Help {
    /// Heat the powder afterwards.
    Anneal {
        /// Temperature of hours, if the tables give one.
        temperature: Option<ThermodynamicTemperature>,
        /// What is usual.
        notes: Vec<Note>,
    },
    /// A flux.
    Flux {
        /// What is published.
        notes: Vec<Note>,
    },
    /// The same batch with other fuels.
    OtherFuel {
        /// Their name.
        name: String,
        /// The ratio.
        ratio: EquivalenceRatio,
        /// The flame.
        temperature: ThermodynamicTemperature,
    },
    /// Less water at ignition: where the batch of the file then stands.
    LessWater {
        /// The drier state.
        state: WaterStateName,
        /// Its verdict.
        verdict: Verdict,
    },
    /// A hotter start.
    Preheat {
        /// The start temperature from which the least temperature is reached.
        start: ThermodynamicTemperature,
    },
}

/// A choice of fuels.
#[derive(Debug, Clone)]
pub struct Choice {
    /// Name of the batch.
    pub name: String,
    /// What is wanted.
    pub goal: Goal,
    /// State of the water by which the fuels are ranked.
    pub state: WaterStateName,
    /// Loss by which they are ranked.
    pub loss: Ratio,
    /// The batch of the file as it stands.
    pub own: Vec<OwnBurn>,
    /// The candidates, best first.
    pub candidates: Vec<Candidate>,
    /// Fuels that were not looked at.
    pub left_out: Vec<LeftOut>,
    /// Fuels that were looked at and did not burn, with the reason.
    pub failed: Vec<LeftOut>,
    /// What else helps; empty if the best candidate is hot enough by the time model.
    pub help: Vec<Help>,
    /// What may be there instead and how to tell, for the elements of the batch.
    pub tests: Vec<Rival>,
    /// Published levels of the dopants of the batch.
    pub dopants: Vec<DopantNote>,
}

impl Choice {
    /// Whether any candidate reaches the least temperature that may do.
    #[must_use]
    pub fn reached(&self) -> bool {
        self.candidates
            .iter()
            .any(|c| matches!(c.verdict, Verdict::Forms | Verdict::MayForm))
    }
}

/// Chooses fuels and ratio for the goal of `batch`.
///
/// # Errors
/// [`ChooseError`] if there is no goal, no fuel, or the batch of the file does not burn.
pub fn choose(batch: &Batch, tables: &Tables) -> Result<Choice, ChooseError> {
    let goal = Goal::of(batch, tables)?;
    let own_fuels = candidate::fuels_of(batch).ok_or(ChooseError::NoFuel)?;
    let states = states_of(batch);
    let losses = losses_of(batch, &tables.phases.ranking.search);
    let state = main_state(&states);
    let loss = losses[losses.len() / 2];
    let look = Look {
        batch,
        goal: &goal,
        state,
        loss,
        tables,
    };
    let own = own_burns(batch, &goal, &states, &losses, tables)?;
    let (singles, left_out) = candidate::singles(batch, tables);
    let mut failed = Vec::new();
    let mut list = vec![own_fuels];
    list.extend(singles.iter().map(Fuels::single));
    let mut candidates = look.all(list, &mut failed);
    rank(&mut candidates);
    let best: Vec<Reactant> = candidates
        .iter()
        .filter(|c| c.fuels.parts.len() == 1 && !c.fuels.of_the_file)
        .filter(|c| HazardClass::of(&c.fuels.parts[0].0) < HazardClass::Ammonium)
        .take(PAIRED)
        .map(|c| c.fuels.parts[0].0.clone())
        .collect();
    let pairs = candidate::pairs(&best, goal.phase.as_ref(), batch, tables);
    candidates.extend(look.all(pairs, &mut failed));
    drop_own_twin(&mut candidates);
    rank(&mut candidates);
    keep_best_mix(&mut candidates);
    detail(&mut candidates, &look, &states, &losses);
    let help = help(batch, &goal, &candidates, &own, &look);
    Ok(Choice {
        name: batch.name.clone(),
        state,
        loss,
        own,
        candidates,
        left_out,
        failed,
        help,
        tests: tests(&goal, batch, tables),
        dopants: dopants(&goal, batch, tables),
        goal,
    })
}

/// States of the water that are looked at: all but as mixed, which hardly ever burns.
fn states_of(batch: &Batch) -> Vec<WaterStateName> {
    water_states(batch, None)
        .into_iter()
        .map(|state| state.name)
        .filter(|name| *name != WaterStateName::AsMixed)
        .collect()
}

fn main_state(states: &[WaterStateName]) -> WaterStateName {
    if states.contains(&WaterStateName::AtIgnition) {
        WaterStateName::AtIgnition
    } else {
        WaterStateName::BoiledDown
    }
}

/// The loss that the file states, else the assumed band.
fn losses_of(batch: &Batch, search: &Search) -> Vec<Ratio> {
    let stated = batch.conditions.heat_loss;
    if stated.get::<ratio>() > 0.0 || search.heat_losses.is_empty() {
        return vec![stated];
    }
    let losses = search.heat_losses.iter();
    losses.map(|loss| Ratio::new::<ratio>(*loss)).collect()
}

fn own_burns(
    batch: &Batch,
    goal: &Goal,
    states: &[WaterStateName],
    losses: &[Ratio],
    tables: &Tables,
) -> Result<Vec<OwnBurn>, ChooseError> {
    let mut burns = Vec::new();
    for state in states {
        for loss in losses {
            let mut lossy = batch.clone();
            lossy.conditions.heat_loss = *loss;
            let point = Probe::new(batch, *state, *loss, tables).burn(&lossy)?;
            burns.push(OwnBurn {
                state: *state,
                loss: *loss,
                verdict: goal.verdict(&point),
                point,
            });
        }
    }
    Ok(burns)
}

/// What is the same for every candidate.
struct Look<'a> {
    batch: &'a Batch,
    goal: &'a Goal,
    state: WaterStateName,
    loss: Ratio,
    tables: &'a Tables,
}

impl Look<'_> {
    /// The candidates of a list, in its order; those that do not burn go to `failed`.
    fn all(&self, list: Vec<Fuels>, failed: &mut Vec<LeftOut>) -> Vec<Candidate> {
        let results: Vec<_> = list
            .into_par_iter()
            .map(|fuels| {
                let name = fuels.name();
                self.candidate(fuels).map_err(|error| LeftOut {
                    fuel: name,
                    reason: error.to_string(),
                })
            })
            .collect();
        let mut candidates = Vec::new();
        for result in results {
            match result {
                Ok(candidate) => candidates.push(candidate),
                Err(reason) => failed.push(reason),
            }
        }
        candidates
    }

    /// The batch with other fuels, at φ = 1.
    fn with(&self, fuels: &Fuels) -> Result<Batch, ChooseError> {
        if fuels.of_the_file {
            return Ok(self.batch.clone());
        }
        let parts: Vec<(&Reactant, f64)> = fuels
            .parts
            .iter()
            .map(|(fuel, share)| (fuel, *share))
            .collect();
        let one = Ratio::new::<ratio>(1.0);
        let changed = self.batch.with_fuels(&parts, one);
        Ok(changed.map_err(VaryError::from)?)
    }

    fn candidate(&self, fuels: Fuels) -> Result<Candidate, ChooseError> {
        let batch = self.with(&fuels)?;
        let search = &self.tables.phases.ranking.search;
        let mut probe = Probe::new(&batch, self.state, self.loss, self.tables);
        let reach = reach::reach(&mut probe, self.goal.least, self.goal.safe, search)?;
        let (phi, why) = suggested(&reach, self.goal);
        let batch = probe.batch_at(phi)?;
        let point = probe.burn(&batch)?;
        let phases = &self.tables.phases;
        let criteria = judge::judge(self.goal, &fuels, &batch, &point, phases);
        Ok(Candidate {
            score: judge::score(&criteria),
            verdict: self.goal.verdict(&point),
            suggestion: Suggestion {
                ratio: Ratio::new::<ratio>(phi),
                why,
                batch,
                point,
            },
            reach: vec![reach],
            criteria,
            fuels,
        })
    }
}

/// A ratio that reaches the goal, on the side of the wanted gas, and not the hottest.
fn suggested(reach: &Reach, goal: &Goal) -> (f64, RatioReason) {
    let ranges = if reach.safe.is_empty() {
        &reach.least
    } else {
        &reach.safe
    };
    let on_side = |low: f64, high: f64| {
        ranges
            .iter()
            .map(|r| {
                (
                    r.from.get::<ratio>().max(low),
                    r.to.get::<ratio>().min(high),
                )
            })
            .filter(|(from, to)| from < to)
            .max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
    };
    let middle = |(from, to): (f64, f64)| 0.5 * (from + to);
    let rich = on_side(RICH, f64::INFINITY);
    let lean = on_side(0.0, 1.0);
    let (first, second) = match goal.atmosphere {
        Some(Atmosphere::Oxidising) => ((lean, RatioReason::MiddleOfLean), None),
        Some(Atmosphere::Reducing) => ((rich, RatioReason::MiddleOfRich), None),
        Some(Atmosphere::Neutral) | None => (
            (rich, RatioReason::MiddleOfRich),
            lean.map(|range| (range, RatioReason::MiddleOfLean)),
        ),
    };
    if let (Some(range), why) = first {
        return (middle(range), why);
    }
    if let Some((range, why)) = second {
        return (middle(range), why);
    }
    let nearest = ranges.iter().flat_map(|r| [r.from, r.to]).max_by(|a, b| {
        let (a, b) = (a.get::<ratio>(), b.get::<ratio>());
        match goal.atmosphere {
            Some(Atmosphere::Oxidising) => b.total_cmp(&a),
            _ => a.total_cmp(&b),
        }
    });
    match nearest {
        Some(phi) => (phi.get::<ratio>(), RatioReason::NearestToWantedGas),
        None => (reach.hottest_ratio.get::<ratio>(), RatioReason::Hottest),
    }
}

/// Best first; scores within [`TIE`] go by less gas.
fn rank(candidates: &mut [Candidate]) {
    let steps = |c: &Candidate| (c.score / TIE).round();
    let gas = |c: &Candidate| {
        let point = &c.suggestion.point;
        point.gas_per_product.get::<cubic_meter_per_kilogram>()
    };
    candidates.sort_by(|a, b| {
        steps(b)
            .total_cmp(&steps(a))
            .then(gas(a).total_cmp(&gas(b)))
            .then_with(|| a.fuels.name().cmp(&b.fuels.name()))
    });
}

/// The file's own single fuel stands in the list once, marked as the file's.
fn drop_own_twin(candidates: &mut Vec<Candidate>) {
    let own = candidates
        .iter()
        .find(|c| c.fuels.of_the_file && c.fuels.parts.len() == 1)
        .map(|c| c.fuels.parts[0].0.id.clone());
    if let Some(own) = own {
        candidates.retain(|c| {
            c.fuels.of_the_file || c.fuels.parts.len() != 1 || c.fuels.parts[0].0.id != own
        });
    }
}

/// Of each pair of fuels the best share stays. The list is ranked.
fn keep_best_mix(candidates: &mut Vec<Candidate>) {
    let mut seen: Vec<Vec<String>> = Vec::new();
    candidates.retain(|c| {
        if c.fuels.of_the_file || c.fuels.parts.len() < 2 {
            return true;
        }
        let mut ids: Vec<String> = c.fuels.parts.iter().map(|(f, _)| f.id.clone()).collect();
        ids.sort_unstable();
        if seen.contains(&ids) {
            return false;
        }
        seen.push(ids);
        true
    });
}

/// Works out the first candidates and the file's own for every state and loss.
fn detail(
    candidates: &mut [Candidate],
    look: &Look<'_>,
    states: &[WaterStateName],
    losses: &[Ratio],
) {
    let search = &look.tables.phases.ranking.search;
    candidates.par_iter_mut().enumerate().for_each(|(at, c)| {
        if at >= DETAILED && !c.fuels.of_the_file {
            return;
        }
        let Ok(batch) = look.with(&c.fuels) else {
            return;
        };
        let mut all = Vec::new();
        for state in states {
            for loss in losses {
                let mut probe = Probe::new(&batch, *state, *loss, look.tables);
                all.extend(reach::reach(
                    &mut probe,
                    look.goal.least,
                    look.goal.safe,
                    search,
                ));
            }
        }
        c.reach = all;
    });
}

fn help(
    batch: &Batch,
    goal: &Goal,
    candidates: &[Candidate],
    own: &[OwnBurn],
    look: &Look<'_>,
) -> Vec<Help> {
    let mine = candidates.iter().find(|c| c.fuels.of_the_file);
    if mine.is_some_and(|c| c.verdict == Verdict::Forms) {
        return Vec::new();
    }
    let mut help = Vec::new();
    let notes = goal.phase.as_ref().map(|p| p.anneal.clone());
    let notes = notes.unwrap_or_default();
    let typical = goal.phase.as_ref().and_then(|p| p.typical.first());
    if !notes.is_empty() || goal.held.is_some() {
        help.push(Help::Anneal {
            temperature: typical.map(|t| t.value).or(goal.held),
            notes,
        });
    }
    let flux = goal.phase.as_ref().map(|p| p.flux.clone());
    if let Some(notes) = flux.filter(|notes| !notes.is_empty()) {
        help.push(Help::Flux { notes });
    }
    let better = candidates
        .iter()
        .find(|c| !c.fuels.of_the_file && c.verdict == Verdict::Forms)
        .or_else(|| {
            candidates
                .iter()
                .find(|c| !c.fuels.of_the_file && c.verdict == Verdict::MayForm)
        });
    if let Some(candidate) = better {
        help.push(Help::OtherFuel {
            name: candidate.fuels.name(),
            ratio: candidate.suggestion.ratio,
            temperature: candidate.suggestion.point.equilibrium,
        });
    }
    let dried = own
        .iter()
        .find(|o| o.state == WaterStateName::Dried && o.loss == look.loss);
    if let Some(dried) = dried.filter(|o| matches!(o.verdict, Verdict::Forms | Verdict::MayForm)) {
        help.push(Help::LessWater {
            state: dried.state,
            verdict: dried.verdict,
        });
    }
    help.extend(preheat(batch, goal, look));
    help
}

/// The start temperature that brings the file's batch to the least temperature, if there is one.
fn preheat(batch: &Batch, goal: &Goal, look: &Look<'_>) -> Option<Help> {
    let wet = matches!(batch.water_at_ignition, WaterAtIgnition::Fraction(_))
        && water_states(batch, None)
            .iter()
            .any(|s| s.name == look.state && s.solvent.get::<mole>() > 0.0);
    if wet {
        // Solvent holds the start at its boiling point.
        return None;
    }
    let mut probe = Probe::new(batch, look.state, look.loss, look.tables);
    let mut missing = |start_celsius: f64| {
        let mut warm = batch.clone();
        warm.conditions.heat_loss = look.loss;
        warm.conditions.start = ThermodynamicTemperature::new::<degree_celsius>(start_celsius);
        let point = probe.burn(&warm).ok()?;
        Some(point.equilibrium.get::<kelvin>() - goal.least.get::<kelvin>())
    };
    let from = batch.conditions.start.get::<degree_celsius>();
    let (cold, hot) = (missing(from)?, missing(HOTTEST_START)?);
    if cold >= 0.0 || hot < 0.0 {
        return None;
    }
    let mut tolerance = roots::SimpleConvergency {
        eps: 0.1,
        max_iter: 40,
    };
    let start = roots::find_root_brent(
        from,
        HOTTEST_START,
        |start| missing(start).unwrap_or(f64::NAN),
        &mut tolerance,
    );
    start.ok().map(|start| Help::Preheat {
        start: ThermodynamicTemperature::new::<degree_celsius>(start),
    })
}

/// Tests for the rivals that the elements of the batch can form.
fn tests(goal: &Goal, batch: &Batch, tables: &Tables) -> Vec<Rival> {
    let Some(phase) = &goal.phase else {
        return Vec::new();
    };
    let here: Vec<Element> = batch.dry_elements().into_keys().collect();
    phase
        .rivals
        .iter()
        .filter_map(|name| tables.phases.rival(name))
        .filter(|rival| rival_elements(&rival.name).iter().all(|e| here.contains(e)))
        .cloned()
        .collect()
}

/// Metals in the name of a rival: "alpha-Fe2O3", "Eu3+"; none for "carbon" or "nitrate".
fn rival_elements(name: &str) -> Vec<Element> {
    let word = name.split(' ').next().unwrap_or(name);
    let word = word.rsplit('-').next().unwrap_or(word);
    let word = word.trim_end_matches('+');
    Formula::parse(word).map_or_else(
        |_| Vec::new(),
        |formula| {
            let elements = formula.amounts().keys().copied();
            elements.filter(|e| e.is_metal()).collect()
        },
    )
}

/// Published levels of dopants and fluxes of the batch in the host.
fn dopants(goal: &Goal, batch: &Batch, tables: &Tables) -> Vec<DopantNote> {
    let Some(phase) = &goal.phase else {
        return Vec::new();
    };
    let elements = batch.dry_elements();
    let host = phase.formula.amounts();
    let extra: Vec<&str> = elements
        .keys()
        .filter(|e| e.is_metal() && !host.contains_key(e))
        .map(|e| e.symbol())
        .collect();
    tables
        .phases
        .dopants_of(&phase.name)
        .filter(|note| {
            let mut words = note.additive.split([' ', ',', '+', '(']);
            words.any(|word| extra.contains(&word))
        })
        .cloned()
        .collect()
}
