//! Published burns with a measured peak beside the flames of this program: hits and misses.

use emberpot::batch::Batch;
use emberpot::enthalpy::WaterStateName;
use emberpot::prepared::Prepared;
use emberpot::tables::Tables;
use serde::Deserialize;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;

#[derive(Deserialize)]
struct Burns {
    burn: Vec<Burn>,
}

#[derive(Deserialize)]
struct Burn {
    system: String,
    /// substance, amount in mol per formula unit of the product
    ingredients: Vec<(String, f64)>,
    phi: f64,
    band_c: [f64; 2],
    product: String,
    source: String,
    seen: String,
    hit: bool,
}

#[test]
fn published_peaks_lie_between_the_flames_boiled_down_and_dried_or_are_misses() {
    let burns: Burns = toml::from_str(include_str!("reference/burns.toml")).unwrap();
    let tables = Tables::built_in().unwrap();
    for burn in &burns.burn {
        let mut text = String::new();
        for (substance, amount) in &burn.ingredients {
            let amount = 0.01 * amount;
            text += &format!("[[ingredient]]\nsubstance = \"{substance}\"\n");
            text += &format!("amount = \"{amount} mol\"\n");
        }
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
        println!(
            "{}: {low:.0} to {high:.0} °C published ({}), {:.0} to {:.0} °C here: {}; {}; {}",
            burn.system,
            burn.seen,
            limits.0,
            limits.1,
            if within { "hit" } else { "miss" },
            burn.product,
            burn.source
        );
        assert_eq!(within, burn.hit, "{}: {limits:?}", burn.system);
    }
}
