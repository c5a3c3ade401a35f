//! Judges one choice of fuels: criteria from 0 to 1, their weights, and the words for each.

use super::candidate::{Dissolves, Fuels, HazardClass, plain_id, solubility};
use super::choice::{Criterion, CriterionKind, Suggestion};
use super::goal::{Goal, Verdict};
use crate::batch::{Atmosphere, Batch};
use crate::quantity::temperature_difference;
use crate::quantity::units::{
    cubic_meter_per_kilogram, degree_celsius, gram, kelvins, percent, ratio,
};
use crate::redox::valence;
use crate::tables::phases::{Phases, Ranking, Side, Trial, TrialOutcome};
use crate::vary::Point;

/// Share of the points without any published burn of these fuels for this phase.
const NO_EVIDENCE: f64 = 0.4;
/// The same if one of them is in no published burn of the tables at all.
const NEVER_SEEN: f64 = 0.15;
/// Added if every cation with a suited fuel has it among these.
const SUITED: f64 = 0.2;

/// Judges `fuels` burnt as `suggestion` says.
pub fn judge(
    goal: &Goal,
    fuels: &Fuels,
    suggestion: &Suggestion,
    phases: &Phases,
) -> Vec<Criterion> {
    let (batch, point) = (&suggestion.batch, &suggestion.point);
    let ranking = &phases.ranking;
    let weights = &ranking.weights;
    let one = |kind, weight, (score, words): (f64, String)| Criterion {
        kind,
        score: score.clamp(0.0, 1.0),
        weight,
        words,
    };
    vec![
        one(
            CriterionKind::Reach,
            weights.reach,
            reach(goal, suggestion, ranking),
        ),
        one(
            CriterionKind::Evidence,
            weights.evidence,
            evidence(goal, fuels, batch, point, phases),
        ),
        one(
            CriterionKind::Atmosphere,
            weights.atmosphere,
            atmosphere(goal, point, ranking),
        ),
        one(CriterionKind::Hazard, weights.hazard, hazard(fuels)),
        one(
            CriterionKind::Gentle,
            weights.gentle,
            gentle(point, ranking),
        ),
        one(
            CriterionKind::Solubility,
            weights.solubility,
            dissolves(fuels, ranking),
        ),
        one(
            CriterionKind::Heat,
            weights.heat,
            fuel_needed(fuels, batch, point, ranking),
        ),
        one(CriterionKind::Simple, weights.simple, simple(fuels)),
    ]
}

fn simple(fuels: &Fuels) -> (f64, String) {
    match fuels.parts.len() {
        0 | 1 => (1.0, "one fuel".to_owned()),
        more => (0.0, format!("{more} fuels to weigh")),
    }
}

/// Weighted mean of the criteria, 0 to 1.
pub fn score(criteria: &[Criterion]) -> f64 {
    let total: f64 = criteria.iter().map(|c| c.weight).sum();
    let sum: f64 = criteria.iter().map(|c| c.weight * c.score).sum();
    if total > 0.0 { sum / total } else { 0.0 }
}

fn reach(goal: &Goal, suggestion: &Suggestion, ranking: &Ranking) -> (f64, String) {
    let Some(t) = suggestion.temperature else {
        return (0.0, "rather no flame".to_owned());
    };
    let above = |from| temperature_difference(t, from).get::<kelvins>();
    let celsius = t.get::<degree_celsius>();
    let others = &suggestion.other_phases;
    match goal.verdict(Some(t), &suggestion.point, others) {
        Verdict::Forms => (
            1.0,
            format!("{celsius:.0} °C, {:.0} K above the floor", above(goal.safe)),
        ),
        Verdict::MayForm => {
            let width = temperature_difference(goal.safe, goal.least).get::<kelvins>();
            let score = 0.7 + 0.3 * above(goal.least) / width.max(1.0);
            (
                score,
                format!("{celsius:.0} °C, inside the band of the floor"),
            )
        }
        Verdict::TooCold => {
            let deficit = -above(goal.least);
            let score = 0.6 * 0.5_f64.powf(deficit / ranking.scales.deficit_k);
            (score, format!("{celsius:.0} °C, {deficit:.0} K too cold"))
        }
        Verdict::LosesMetal => {
            let evaporated = &suggestion.point.evaporated;
            let metals: Vec<String> = evaporated
                .iter()
                .map(|(element, share)| format!("{:.0} % of {element}", share.get::<percent>()))
                .collect();
            let list = metals.join(", ");
            (0.3, format!("{celsius:.0} °C, but {list} is in the gas"))
        }
        Verdict::OtherPhases => {
            let when = if others.on_cooling {
                "on cooling"
            } else {
                "then"
            };
            let words = format!(
                "{celsius:.0} °C, but {:.0} % of the metal is {} {when}",
                others.share.get::<percent>(),
                others.phases.join(", "),
            );
            (0.1, words)
        }
        Verdict::TooHot => (0.3, format!("{celsius:.0} °C, so hot that it is lost")),
    }
}

/// Published burns with just these fuels, on the side of φ = 1 of `point`.
pub fn trials<'g>(goal: &'g Goal, fuels: &Fuels, point: &Point) -> Vec<&'g Trial> {
    let phi = point.equivalence_ratio.get::<ratio>();
    let Some(phase) = &goal.phase else {
        return Vec::new();
    };
    let ids = fuels.ids();
    phase
        .fuels
        .iter()
        .filter(|trial| trial.is_of(&ids))
        .filter(|trial| match trial.side {
            None => true,
            Some(Side::Lean) => phi <= 1.0,
            Some(Side::Rich) => phi > 1.0,
        })
        .collect()
}

fn evidence(
    goal: &Goal,
    fuels: &Fuels,
    batch: &Batch,
    point: &Point,
    phases: &Phases,
) -> (f64, String) {
    let ranking = &phases.ranking;
    let found = trials(goal, fuels, point);
    // A row of its own speaks louder than "any one fuel".
    let best = found
        .iter()
        .min_by_key(|trial| (trial.fuels == ["any one"], trial.outcome));
    if let Some(trial) = best {
        let score = match trial.outcome {
            TrialOutcome::Formed => 1.0,
            TrialOutcome::Advised => 0.8,
            TrialOutcome::Partly => 0.6,
            TrialOutcome::Failed => 0.0,
        };
        let words = format!("{}: {} [{}]", trial.outcome, trial.text, trial.source);
        return (score, words);
    }
    let unseen: Vec<&str> = fuels
        .parts
        .iter()
        .filter(|(fuel, _)| !phases.has_trial_with(plain_id(fuel)))
        .map(|(fuel, _)| fuel.name.as_str())
        .collect();
    if !unseen.is_empty() {
        let list = unseen.join(", ");
        return (
            NEVER_SEEN,
            format!("no published burn of anything with {list} in the tables"),
        );
    }
    let suited = suited(fuels, batch, ranking);
    if suited.is_empty() {
        return (
            NO_EVIDENCE,
            "no published burn of this phase in the tables".to_owned(),
        );
    }
    (
        NO_EVIDENCE + SUITED,
        format!(
            "no published burn of this phase; suits {}",
            suited.join(", ")
        ),
    )
}

/// "urea for Al", where the tables say so.
fn suited(fuels: &Fuels, batch: &Batch, ranking: &Ranking) -> Vec<String> {
    let elements = batch.dry_elements();
    ranking
        .affinities
        .iter()
        .filter(|x| elements.contains_key(&x.cation))
        .filter_map(|x| {
            let fuel = fuels
                .parts
                .iter()
                .find(|(fuel, _)| plain_id(fuel) == x.fuel)?;
            Some(format!("{} for {}", fuel.0.name, x.cation))
        })
        .collect()
}

fn atmosphere(goal: &Goal, point: &Point, ranking: &Ranking) -> (f64, String) {
    let Some(log) = point.log10_oxygen_pressure else {
        return (0.5, "oxygen pressure not set by anything".to_owned());
    };
    let limits = &ranking.atmosphere;
    let kind = if log > limits.oxidising_above {
        Atmosphere::Oxidising
    } else if log < limits.reducing_below {
        Atmosphere::Reducing
    } else {
        Atmosphere::Neutral
    };
    let number = format!("{log:.1}").replace('-', "−");
    let words = format!("{kind} gas, log10(pO2/bar) {number}");
    let score = match goal.atmosphere {
        None => 1.0,
        Some(wanted) if wanted == kind => 1.0,
        Some(_) if kind == Atmosphere::Neutral => 0.5,
        Some(Atmosphere::Neutral) => 0.5,
        Some(_) => 0.0,
    };
    (score, words)
}

fn hazard(fuels: &Fuels) -> (f64, String) {
    let class = fuels
        .parts
        .iter()
        .map(|(fuel, _)| HazardClass::of(fuel))
        .max()
        .unwrap_or(HazardClass::None);
    let words = match class {
        HazardClass::None => "no hazard class in the tables".to_owned(),
        HazardClass::Hydrazide => {
            "hydrazide: can explode on heating, irritant, may sensitise; take another fuel if you can"
                .to_owned()
        }
        HazardClass::Ammonium => {
            "ammonium salt: leaves ammonium nitrate in the drying gel".to_owned()
        }
        HazardClass::Warning | HazardClass::Danger => {
            let list: Vec<&str> = fuels
                .parts
                .iter()
                .flat_map(|(fuel, _)| fuel.hazards.statements.iter().map(String::as_str))
                .collect();
            let special: Vec<&str> = fuels
                .parts
                .iter()
                .map(|(fuel, _)| fuel.toxicity.as_str())
                .filter(|words| !words.is_empty())
                .collect();
            let words = [list.join(", "), special.join("; ")];
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            let words: Vec<&str> = words.into_iter().filter(|w| !w.is_empty()).collect();
            format!("{} (check the supplier's sheet)", words.join("; "))
        }
    };
    (class.score(), words)
}

/// Half of the points at `half`, all at 0.
fn falling(value: f64, half: f64) -> f64 {
    1.0 / (1.0 + value / half)
}

fn gentle(point: &Point, ranking: &Ranking) -> (f64, String) {
    let gas = point.gas_per_product.get::<cubic_meter_per_kilogram>();
    (
        falling(gas, ranking.scales.gas_l_per_g),
        format!("{gas:.1} L gas per g of powder"),
    )
}

fn dissolves(fuels: &Fuels, ranking: &Ranking) -> (f64, String) {
    let mut worst = (1.0, String::new());
    for (fuel, _) in &fuels.parts {
        let (score, words) = match solubility(fuel) {
            Dissolves::Freely => (1.0, format!("{} dissolves freely", fuel.name)),
            Dissolves::Grams(grams) => (
                grams / (grams + ranking.scales.solubility_g_per_100_g),
                format!("{} {grams:.0} g in 100 g water", fuel.name),
            ),
            Dissolves::Unknown => (0.5, format!("{}: solubility not tabulated", fuel.name)),
        };
        if worst.1.is_empty() || score < worst.0 {
            worst = (score, words);
        }
    }
    worst
}

fn fuel_needed(fuels: &Fuels, batch: &Batch, point: &Point, ranking: &Ranking) -> (f64, String) {
    let of = |id: &str| {
        batch
            .ingredients
            .iter()
            .filter(|i| i.reactant.id == id)
            .filter(|i| valence(&i.reactant.formula, &batch.states).is_ok_and(|v| v > 0.0))
            .map(|i| i.mass.get::<gram>())
            .sum::<f64>()
    };
    let mass: f64 = fuels.parts.iter().map(|(fuel, _)| of(&fuel.id)).sum();
    let per_gram = mass / point.product_mass.get::<gram>();
    (
        falling(per_gram, ranking.scales.fuel_g_per_g),
        format!("{per_gram:.2} g fuel per g of powder"),
    )
}
