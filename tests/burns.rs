//! Published burns beside this program, hits and misses: measured peaks, and what came out.

use emberpot::batch::starting_file;
use emberpot::internal::source::Seen;
use emberpot::internal::tables::phases::{Side, TrialOutcome};
use emberpot::{Batch, Prepared, Tables, WaterStateName};
use serde::Deserialize;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;

#[derive(Deserialize)]
struct Burns {
    burn: Vec<Burn>,
    order: Vec<Order>,
    products: Products,
}

/// Two fuels for one powder of which one was measured to burn hotter.
#[derive(Deserialize)]
struct Order {
    formula: String,
    hotter: String,
    cooler: String,
    source: String,
    seen: String,
    hit: bool,
}

#[derive(Deserialize)]
struct Products {
    hits: usize,
    /// Phase, fuel and what was published.
    misses: Vec<[String; 3]>,
}

#[derive(Deserialize)]
struct Burn {
    system: String,
    /// substance, amount in mol per formula unit of the product
    ingredients: Vec<(String, f64)>,
    /// What the batch file says beside.
    #[serde(default)]
    more: String,
    phi: f64,
    band_c: [f64; 2],
    product: String,
    source: String,
    seen: String,
    /// Whether the peak lies between the flames boiled down and dried.
    hit: bool,
    /// Whether the middle of the peak lies in the band that holds 8 of 10 expected burns.
    expected: bool,
}

/// The band that holds 8 of 10 expected peaks, °C; a burn without flame stays at 25 °C.
fn expected_band(prepared: &Prepared<'_>) -> (f64, f64) {
    let end = |t: Option<emberpot::quantity::ThermodynamicTemperature>| {
        t.map_or(25.0, |t| t.get::<degree_celsius>())
    };
    (end(prepared.expected.low), end(prepared.expected.high))
}

#[test]
fn published_peaks_are_hits_or_misses_as_listed() {
    let burns: Burns = toml::from_str(include_str!("reference/burns.toml")).unwrap();
    let tables = Tables::built_in().unwrap();
    for burn in &burns.burn {
        let mut text = String::new();
        for (substance, amount) in &burn.ingredients {
            let amount = 0.01 * amount;
            text += &format!("[[ingredient]]\nsubstance = \"{substance}\"\n");
            text += &format!("amount = \"{amount} mol\"\n");
        }
        text += &burn.more;
        let batch = Batch::parse(&text, &burn.system, &tables)
            .unwrap_or_else(|error| panic!("{}: {error}", burn.system));
        let phi = batch.redox().unwrap().equivalence_ratio.get::<ratio>();
        assert!((phi - burn.phi).abs() < 0.01, "{}: φ {phi}", burn.system);
        let prepared = Prepared::new(&batch, &tables).unwrap();
        let flame = |name| {
            let state = prepared.state(name).unwrap();
            let settled = state.settled();
            settled.map_or(25.0, |s| s.temperature.get::<degree_celsius>())
        };
        let limits = (
            flame(WaterStateName::BoiledDown),
            flame(WaterStateName::Dried),
        );
        let [low, high] = burn.band_c;
        let within = low >= limits.0 && high <= limits.1;
        let band = expected_band(&prepared);
        let middle = 0.5 * (low + high);
        let expected = (band.0..=band.1).contains(&middle);
        let word = |hit: bool| if hit { "hit" } else { "miss" };
        println!(
            "{}: {low:.0} to {high:.0} °C published ({}); flames boiled down and dried {:.0} to \
             {:.0} °C: {}; expected, 8 of 10, {:.0} to {:.0} °C: {}; {}; {}",
            burn.system,
            burn.seen,
            limits.0,
            limits.1,
            word(within),
            band.0,
            band.1,
            word(expected),
            burn.product,
            burn.source
        );
        assert_eq!(within, burn.hit, "{}: {limits:?}", burn.system);
        assert_eq!(expected, burn.expected, "{}: {band:?}", burn.system);
    }
}

#[test]
fn published_orders_of_fuels_are_hits_or_misses_as_listed() {
    let burns: Burns = toml::from_str(include_str!("reference/burns.toml")).unwrap();
    let tables = Tables::built_in().unwrap();
    for order in &burns.order {
        let peak = |fuel: &str| {
            let text = starting_file(&order.formula, fuel, "1 g", 1.0, &tables).unwrap();
            let batch = Batch::parse(&text, fuel, &tables).unwrap();
            let middle = Prepared::new(&batch, &tables).unwrap().expected.temperature;
            middle.map_or(25.0, |t| t.get::<degree_celsius>())
        };
        let (hotter, cooler) = (peak(&order.hotter), peak(&order.cooler));
        println!(
            "{}: {} measured hotter than {} ({}, {}); expected {hotter:.0} and {cooler:.0} °C",
            order.formula, order.hotter, order.cooler, order.source, order.seen
        );
        assert_eq!(hotter > cooler, order.hit, "{hotter} {cooler}");
    }
}

#[test]
fn published_products_are_hits_or_misses_as_listed() {
    // Every burn with one fuel in the tables of target phases that was read in print: "formed" asks
    // for a middle of the expected peaks above the floor of the phase, "failed" for one below. What
    // formed in part is neither.
    let burns: Burns = toml::from_str(include_str!("reference/burns.toml")).unwrap();
    let tables = Tables::built_in().unwrap();
    let (mut hits, mut misses) = (0, Vec::new());
    for phase in &tables.phases.targets {
        let Some(floor) = &phase.lower else { continue };
        for trial in &phase.fuels {
            let [fuel] = &trial.fuels[..] else { continue };
            let told = matches!(trial.outcome, TrialOutcome::Formed | TrialOutcome::Failed);
            if trial.seen != Seen::Document || !told || fuel == "any one" {
                continue;
            }
            let phi = match trial.side {
                Some(Side::Lean) => 0.7,
                Some(Side::Rich) => 2.0,
                None => 1.0,
            };
            let formula = phase.formula.to_string();
            let text = starting_file(&formula, fuel, "1 g", phi, &tables).unwrap();
            let batch = Batch::parse(&text, &formula, &tables).unwrap();
            let prepared = Prepared::new(&batch, &tables).unwrap();
            let middle = prepared.expected.temperature;
            let reached = middle
                .is_some_and(|t| t.get::<degree_celsius>() >= floor.value.get::<degree_celsius>());
            println!(
                "{} with {fuel}, φ {phi}: {} ({}, {}); expected {:.0} °C, floor {:.0} °C",
                phase.name,
                trial.outcome,
                trial.text,
                trial.source,
                middle.map_or(25.0, |t| t.get::<degree_celsius>()),
                floor.value.get::<degree_celsius>(),
            );
            if reached == (trial.outcome == TrialOutcome::Formed) {
                hits += 1;
            } else {
                let outcome = trial.outcome.to_string();
                misses.push([phase.name.clone(), fuel.clone(), outcome]);
            }
        }
    }
    assert_eq!(misses, burns.products.misses);
    assert_eq!(hits, burns.products.hits);
}
