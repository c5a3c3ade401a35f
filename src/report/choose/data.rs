//! A choice of fuels as CSV and JSON.

use super::further::remedy_text;
use crate::choose::{
    Candidate, Choice, Criterion, Goal, GoalOrigin, LeftOut, OtherPhases, OwnBatch, OwnBurn,
    RatioRange, RatioReason, Reach, Verdict,
};
use crate::quantity::units::{cubic_meter_per_kilogram, kelvin, ratio, second};
use crate::report::document::{Cell, Table};
use crate::report::expected::ExpectedBurn;
use crate::report::vary::BurnPoint;
use crate::report::view::{NamedMass, json_of, list, view};
use crate::tables::phases::Rival;
use crate::tables::reactants::Reactant;
use serde_json::Value;

/// Heads of the choice's CSV.
const CSV_HEAD: [&str; 9] = [
    "place",
    "fuels",
    "of_the_file",
    "equivalence_ratio",
    "expected_temperature_k",
    "verdict",
    "gas_per_product_l_per_g",
    "log10_oxygen_pressure_bar",
    "points",
];

/// The ranked candidates as CSV.
pub fn choice_csv(choice: &Choice) -> String {
    let mut table = Table::new("Fuels", CSV_HEAD);
    let or_absent = |value: Option<f64>| value.map_or(Cell::Absent, Cell::plain);
    for (at, candidate) in choice.candidates.iter().enumerate() {
        let (point, suggestion) = (&candidate.suggestion.point, &candidate.suggestion);
        let gas = point.gas_per_product.get::<cubic_meter_per_kilogram>();
        table.row([
            (at + 1).to_string().into(),
            candidate.fuels.name().into(),
            candidate.fuels.of_the_file.to_string().into(),
            Cell::plain(suggestion.ratio.get::<ratio>()),
            or_absent(suggestion.temperature.map(|t| t.get::<kelvin>())),
            candidate.verdict.to_string().into(),
            Cell::plain(gas),
            or_absent(point.log10_oxygen_pressure),
            Cell::plain(candidate.score),
        ]);
    }
    table.csv()
}

/// The choice as a JSON value.
pub fn choice_json(choice: &Choice) -> Value {
    json_of(ChosenFuels::from(choice))
}

view! {
    /// Fuels for the batch of a file.
    result ChosenFuels(choice: &Choice) {
        /// Name of the batch.
        name: String = choice.name.clone(),
        /// What is wanted.
        wanted: WantedHeat = WantedHeat::from(&choice.goal),
        /// True if a candidate reaches it.
        reached: bool = choice.reached(),
        /// The batch of the file itself.
        own_batch: OwnAnswer = OwnAnswer::from(&choice.own),
        /// Fuels that answer it, the best first.
        candidates: Vec<FuelCandidate> = list(&choice.candidates),
        /// What would help.
        help: Vec<String> = choice.remedies.iter().map(remedy_text).collect(),
        /// Cheap tests for rivals.
        tests: Vec<Rival> = choice.tests.clone(),
        /// Fuels that were left out.
        left_out: Vec<LeftOut> = choice.left_out.iter().chain(&choice.failed).cloned().collect(),
    }
}

view! {
    /// The powder and the temperature that are wanted.
    WantedHeat(goal: &Goal) {
        /// The phase; null if the tables have none.
        phase: Option<String> = goal.phase.as_ref().map(|p| p.name.clone()),
        /// Share of cations in which the phase differs from the target.
        differing_cation_fraction: f64 = goal.differing.get::<ratio>(),
        /// Where the temperature comes from: "stated", "lowest published" or "usual anneal".
        origin: &'static str = match goal.origin {
            GoalOrigin::Stated => "stated",
            GoalOrigin::Lower => "lowest published",
            GoalOrigin::Typical => "usual anneal",
        },
        /// Temperature of the published hold; null if stated.
        held_temperature_k: Option<f64> = goal.held.map(|t| t.get::<kelvin>()),
        /// Least temperature that may do.
        least_temperature_k: f64 = goal.least.get::<kelvin>(),
        /// Temperature that does surely.
        safe_temperature_k: f64 = goal.safe.get::<kelvin>(),
        /// Temperature above which it is lost; null if none is known.
        upper_temperature_k: Option<f64> = goal.upper.map(|t| t.get::<kelvin>()),
        /// Time at that temperature.
        time_s: f64 = goal.time.get::<second>(),
        /// True if the time was assumed.
        time_assumed: bool = !goal.time_stated,
        /// Gas that is wanted.
        atmosphere: Option<String> = goal.atmosphere.map(|a| a.to_string()),
    }
}

view! {
    /// The batch of the file itself.
    OwnAnswer(own: &OwnBatch) {
        /// The expected burn.
        expected: ExpectedBurn = ExpectedBurn::from(&own.expected),
        /// Verdict.
        verdict: String = own.verdict.to_string(),
        /// Other phases in the powder.
        other_phases: PhasesBeside = PhasesBeside::from(&own.other_phases),
        /// The states of the water as limits.
        limits: Vec<OwnLimit> = list(&own.limits),
    }
}

view! {
    /// The batch of the file in one state of the water.
    OwnLimit(burn: &OwnBurn) {
        /// "as mixed", "boiled down", "dried" or "at ignition".
        water_state: String = burn.state.to_string(),
        /// Verdict.
        verdict: String = burn.verdict.to_string(),
        /// The burn.
        burn: BurnPoint = BurnPoint::from(&burn.point),
    }
}

view! {
    /// Fuels and the ratio suggested for them.
    FuelCandidate(candidate: &Candidate) {
        /// The fuels.
        fuels: Vec<FuelPart> = list(&candidate.fuels.parts),
        /// True if they are those of the file.
        of_the_file: bool = candidate.fuels.of_the_file,
        /// Fuel ratio φ: total reducing valence over total oxidising valence.
        equivalence_ratio: f64 = candidate.suggestion.ratio.get::<ratio>(),
        /// Why this ratio.
        ratio_reason: &'static str = ratio_reason(candidate.suggestion.why),
        /// Verdict.
        verdict: String = candidate.verdict.to_string(),
        /// True if it is hot enough.
        hot_enough: bool = candidate.verdict == Verdict::Forms,
        /// Weighted mean of the criteria, from 0 to 1.
        points: f64 = candidate.score,
        /// The criteria.
        criteria: Vec<CriterionPoints> = list(&candidate.criteria),
        /// The burn in equilibrium.
        burn: BurnPoint = BurnPoint::from(&candidate.suggestion.point),
        /// What to weigh.
        weigh: Vec<NamedMass> = candidate.suggestion.batch.weighed.iter()
            .map(|i| NamedMass::from((i.reactant.name.as_str(), i.mass)))
            .collect(),
        /// The expected burn; null if it was not sampled.
        expected: Option<ExpectedBurn> =
            candidate.suggestion.expected.as_ref().map(ExpectedBurn::from),
        /// Expected temperature; null without flame.
        expected_temperature_k: Option<f64> =
            candidate.suggestion.temperature.map(|t| t.get::<kelvin>()),
        /// Other phases in the powder.
        other_phases: PhasesBeside = PhasesBeside::from(&candidate.suggestion.other_phases),
        /// Which ratios reach it.
        reach: RatiosReached = RatiosReached::from(&candidate.reach),
    }
}

view! {
    /// A fuel of a candidate.
    FuelPart((fuel, share): &(Reactant, f64)) {
        /// Name.
        name: String = fuel.name.clone(),
        /// Formula, crystal water last.
        formula: String = fuel.formula.to_string(),
        /// Share of the reducing valence.
        valence_fraction: f64 = *share,
    }
}

view! {
    /// A criterion of the choice.
    CriterionPoints(criterion: &Criterion) {
        /// Name.
        name: String = criterion.kind.to_string(),
        /// From 0 to 1.
        score: f64 = criterion.score,
        /// Weight.
        weight: f64 = criterion.weight,
        /// In words.
        words: String = criterion.words.clone(),
    }
}

view! {
    /// The ratios that reach what is wanted.
    RatiosReached(reach: &Reach) {
        /// Ratios at which it may form.
        equivalence_ratios_may_form: Vec<RatiosFromTo> = list(&reach.least),
        /// Ratios that are hot enough.
        equivalence_ratios_hot_enough: Vec<RatiosFromTo> = list(&reach.safe),
        /// Hottest temperature.
        hottest_temperature_k: f64 = reach.hottest.get::<kelvin>(),
        /// The hottest ratio.
        hottest_equivalence_ratio: f64 = reach.hottest_ratio.get::<ratio>(),
    }
}

view! {
    /// A range of ratios.
    RatiosFromTo(range: &RatioRange) {
        /// Lower end.
        from: f64 = range.from.get::<ratio>(),
        /// Upper end.
        to: f64 = range.to.get::<ratio>(),
        /// True if it begins there, not the scan.
        from_is_root: bool = range.from_is_root,
        /// True if it ends there, not the scan.
        to_is_root: bool = range.to_is_root,
    }
}

view! {
    /// Other phases in the powder.
    PhasesBeside(others: &OtherPhases) {
        /// Share of the metals in them.
        metal_fraction: f64 = others.share.get::<ratio>(),
        /// The phases.
        phases: Vec<String> = others.phases.clone(),
        /// True if they form on cooling.
        on_cooling: bool = others.on_cooling,
    }
}

pub(super) fn ratio_reason(reason: RatioReason) -> &'static str {
    match reason {
        RatioReason::NearestToOne => "nearest to φ = 1 of the ratios that do the job",
        RatioReason::MiddleOfRich => "middle of the rich ratios that are hot enough",
        RatioReason::MiddleOfLean => "middle of the lean ratios that are hot enough",
        RatioReason::NearestToWantedGas => "hot enough only with another gas than wanted",
        RatioReason::NearestToGoal => "the nearest to the temperature that does",
    }
}
