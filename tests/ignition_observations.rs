//! What was seen when such batches were heated: a table "published, ours, within", and tests of
//! what does not fit into it.
//!
//! Not testable with this model, and so left out: particle size and agglomerates by heating way
//! (Cordeiro et al., Mater. Sci. Forum 660-661 (2010) 58), phase purity without calcination
//! (Nd:YAG in a microwave oven), metal foams by the fuel ratio (Adv. Mater. 2007), reduction of
//! NiO in the front within 0.2 s (Manukyan et al., J. Phys. Chem. C 117 (2013)), milligram
//! samples in thermal analysis (Khot et al., Mater. Chem. Phys. 132 (2012) 782).

use emberpot::internal::ignition::{
    Chance, Ending, Judged, NoIgnition, StageName, course, model_inputs,
};
use emberpot::quantity::ThermodynamicTemperature;
use emberpot::{Batch, Course, Prepared, Tables};
use serde::Deserialize;
use std::fmt;
use std::sync::LazyLock;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};
use uom::si::time::{minute, second};

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

/// Ingredients as (substance, mass in g), the `[heating]` lines, and the way.
fn heated(ingredients: &[(&str, f64)], heating: &str, way: &str) -> Course {
    course(&batch(ingredients, heating, way), &TABLES, None).unwrap()
}

fn batch(ingredients: &[(impl fmt::Display, f64)], heating: &str, way: &str) -> Batch {
    let mut text = String::new();
    for (substance, grams) in ingredients {
        text += &format!("[[ingredient]]\nsubstance = \"{substance}\"\nmass = \"{grams} g\"\n");
    }
    text += &format!("[heating]\nway = \"{way}\"\n{heating}\n");
    Batch::parse(&text, "test", &TABLES).unwrap_or_else(|error| panic!("{error}"))
}

fn seconds(course: &Course) -> f64 {
    course
        .time_to_ignition()
        .map_or(f64::INFINITY, |t| t.get::<second>())
}

/// 20 g of aluminium nitrate and 8 g of urea in about 15 mL, dish of 300 mL.
const ALUMINA: [(&str, f64); 3] = [("Al(NO3)3·9H2O", 20.0), ("urea", 8.0), ("water", 15.0)];

const FERRITE: [(&str, f64); 4] = [
    ("Ni(NO3)2·6H2O", 1.45),
    ("Zn(NO3)2·6H2O", 1.49),
    ("Fe(NO3)3·9H2O", 8.08),
    ("water", 10.0),
];

#[test]
fn ferrite_burns_longer_with_more_urea_at_700_c() {
    // Effect of urea on Ni-Zn ferrite (abstract): ignites in a furnace of 700 °C, the flame lasts
    // longer with more urea.
    let run = |urea: f64| {
        let mut batch = FERRITE.to_vec();
        batch.push(("urea", urea));
        heated(
            &batch,
            "temperature = \"700 °C\"\ndiameter = \"60 mm\"",
            "furnace",
        )
    };
    let (balanced, rich) = (run(4.0), run(8.0));
    assert!(seconds(&balanced).is_finite() && seconds(&rich).is_finite());
    assert!(rich.burn.duration.0 > balanced.burn.duration.0);
}

#[test]
fn too_cold_a_furnace_fails() {
    // Parametric effects of low-temperature combustion synthesis of alumina, J. Mater. Res. 2005
    // (abstract): below a furnace temperature the mixture does not ignite.
    let course = heated(
        &ALUMINA,
        "diameter = \"90 mm\"\ntemperature = \"180 °C\"",
        "furnace",
    );
    assert!(
        matches!(
            course.no_ignition(),
            Some(NoIgnition::TooCold { .. } | NoIgnition::FuelGone { .. })
        ),
        "{:?}",
        course.ending
    );
}

#[test]
fn too_little_in_the_vessel_fails() {
    // Same abstract: below a threshold of reactant in the vessel it does not ignite.
    let film = [("Al(NO3)3·9H2O", 0.02), ("urea", 0.008), ("water", 0.1)];
    let course = heated(&film, "diameter = \"90 mm\"", "furnace");
    assert!(course.no_ignition().is_some(), "{:?}", course.ending);
    let deep = heated(&ALUMINA, "diameter = \"90 mm\"", "furnace");
    assert!(deep.no_ignition().is_none());
}

#[test]
fn cobalt_ferrite_goes_on_heating_in_a_microwave_oven() {
    // Javadi et al., J. Sol-Gel Sci. Technol. 2016 (abstract): larger particles from microwaves,
    // because the product absorbs.
    let batch = [
        ("Co(NO3)2·6H2O", 2.91),
        ("Fe(NO3)3·9H2O", 8.08),
        ("citric acid monohydrate", 4.7),
        ("water", 15.0),
    ];
    let course = heated(&batch, "", "microwave");
    assert!(seconds(&course).is_finite());
    assert_eq!(course.microwave.unwrap().product_goes_on, Some(true));
    let alumina = heated(&ALUMINA, "", "microwave");
    assert_eq!(alumina.microwave.unwrap().product_goes_on, Some(false));
}

#[test]
fn glycine_on_a_hot_plate_gels_in_ten_to_thirty_minutes_and_then_burns_in_seconds() {
    // Usual report of the glycine-nitrate process (from memory; Chick et al., Mater. Lett. 10
    // (1990) 6): plate 250 to 350 °C, 20 to 100 mL.
    for (plate, water) in [("350 °C", 20.0), ("300 °C", 40.0)] {
        let batch = [("Ni(NO3)2·6H2O", 5.82), ("glycine", 1.67), ("water", water)];
        let course = heated(
            &batch,
            &format!("temperature = \"{plate}\"\ndiameter = \"70 mm\""),
            "plate",
        );
        let gel = course
            .stages
            .iter()
            .find(|s| s.name == StageName::Gel)
            .unwrap();
        let minutes = gel.start.get::<minute>();
        assert!(minutes > 10.0 && minutes < 30.0, "{plate}: {minutes}");
        let after = seconds(&course) - gel.start.get::<second>();
        assert!(after < 180.0, "{after}");
        assert!(course.burn.duration.0.get::<second>() < 10.0);
        // Seen: 900 to 1450 °C. The bound without losses must not lie below that.
        assert!(course.burn.flame.unwrap().get::<degree_celsius>() > 1450.0);
    }
}

#[test]
fn a_front_crosses_a_citrate_gel_in_ten_to_sixty_seconds() {
    // Usual report (from memory): 5 to 20 g of gel, lit at one point.
    let batch = [
        ("Fe(NO3)3·9H2O", 8.08),
        ("citric acid monohydrate", 4.2),
        ("water", 15.0),
    ];
    let course = heated(&batch, "diameter = \"80 mm\"", "plate");
    let (short, long) = course.burn.duration;
    assert!(short.get::<second>() < 60.0 && long.get::<second>() > 10.0);
}

#[test]
fn nickel_nitrate_hexahydrate_boils_where_the_handbook_says() {
    // 136.7 °C (CRC Handbook, from memory). The binding sites are set to it, so this guards the
    // set value. Aluminium nitrate nonahydrate, 135 to 150 °C, is the check that is not fitted;
    // iron nitrate nonahydrate, decomposes from 125 °C, is missed by some 12 K.
    let boils = |salt: &str, grams: f64| {
        // A trace of fuel, because a batch needs one.
        let text = format!(
            "[[ingredient]]\nsubstance = \"{salt}\"\nmass = \"{grams} g\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"2 mg\"\n\
             [conditions]\npressure = \"1.01325 bar\"\n"
        );
        let batch = Batch::parse(&text, "test", &TABLES).unwrap();
        let charge = model_inputs(&batch, &TABLES, Some("plate")).unwrap().charge;
        let kelvins = charge
            .boiling_curve()
            .boiling_temperature(charge.initial_water());
        ThermodynamicTemperature::new::<kelvin>(kelvins).get::<degree_celsius>()
    };
    assert!((boils("Ni(NO3)2·6H2O", 10.0) - 136.7).abs() < 1.0);
    let aluminium = boils("Al(NO3)3·9H2O", 10.0);
    assert!(aluminium > 133.0 && aluminium < 150.0, "{aluminium}");
    let iron = boils("Fe(NO3)3·9H2O", 10.0);
    assert!(iron > 125.0 && iron < 150.0, "{iron}");
}

#[test]
fn urea_is_lost_on_slow_heating() {
    // Schaber et al., Thermochim. Acta 424 (2004) 131: decomposes from 152 °C on. A slower way
    // costs more fuel.
    let slow = heated(
        &ALUMINA,
        "diameter = \"90 mm\"\ntemperature = \"250 °C\"",
        "plate",
    );
    let fast = heated(&ALUMINA, "diameter = \"90 mm\"", "furnace");
    assert!(slow.fuel_lost > fast.fuel_lost);
    assert!(fast.fuel_lost.get::<ratio>() > 0.01);
    let glycine = [("Ni(NO3)2·6H2O", 5.82), ("glycine", 1.67), ("water", 20.0)];
    // Glycine decomposes from 233 °C on, above the temperature at which this gel lights.
    assert!(heated(&glycine, "", "plate").fuel_lost.get::<ratio>() < 0.05);
}

/// What was published.
#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Seen {
    /// It burns.
    Lights,
    /// It burns within these minutes of heating.
    LightsWithin(f64, f64),
    /// It burns with a flame of about this temperature, °C.
    Flame(f64, f64),
    /// It lights when the gel has about this temperature, °C.
    LightsAt(f64, f64),
    /// Nothing burns.
    Nothing,
    /// It smoulders: it reacts without a flame.
    Smoulders,
}

#[derive(Deserialize)]
struct Observation {
    what: String,
    source: String,
    batch: Vec<(String, f64)>,
    way: String,
    heating: String,
    seen: Seen,
}

impl Seen {
    fn words(&self) -> String {
        match self {
            Self::Lights => "burns".to_owned(),
            Self::LightsWithin(a, b) => format!("burns after {a} to {b} min"),
            Self::Flame(a, b) => format!("flame {a} to {b} °C"),
            Self::LightsAt(a, b) => format!("lights at {a} to {b} °C"),
            Self::Nothing => "nothing burns".to_owned(),
            Self::Smoulders => "smoulders".to_owned(),
        }
    }

    /// Our words, and whether they fit.
    fn ours(&self, batch: &Batch) -> (String, bool) {
        let course = course(batch, &TABLES, None).unwrap();
        let Judged { course, verdict } = Judged::new(course).unwrap();
        // A single report is met if what was seen is the likelier end of our courses.
        let lights = 2 * verdict.lit >= verdict.of;
        let minutes = |t: uom::si::f64::Time| t.get::<minute>();
        match self {
            Self::Lights => (verdict.to_string(), lights),
            Self::LightsWithin(low, high) => {
                let overlap = verdict
                    .time
                    .is_some_and(|t| minutes(t.low) <= *high && minutes(t.high) >= *low);
                (verdict.to_string(), lights && overlap)
            }
            Self::Flame(low, high) => {
                let expected = Prepared::new(batch, &TABLES).unwrap().expected;
                let end = |t: Option<ThermodynamicTemperature>| {
                    t.map_or(f64::NAN, |t| t.get::<degree_celsius>())
                };
                let (from, to) = (end(expected.low), end(expected.high));
                (
                    format!("{from:.0} to {to:.0} °C"),
                    from <= *high && to >= *low,
                )
            }
            Self::LightsAt(low, high) => match &course.ending {
                Ending::Ignites { .. } => {
                    // The reaction runs away from the temperature of the stage before.
                    let before = course.stages.iter().rev().nth(1);
                    let at = before.map_or(f64::NAN, |s| s.temperature.get::<degree_celsius>());
                    (format!("{at:.0} °C"), at >= *low && at <= *high)
                }
                Ending::Fails { .. } => (verdict.to_string(), false),
            },
            Self::Nothing => (verdict.to_string(), !lights),
            Self::Smoulders => {
                let reacts = matches!(
                    course.no_ignition(),
                    Some(NoIgnition::Smoulders { .. } | NoIgnition::FuelGone { .. })
                );
                let words = course
                    .no_ignition()
                    .map_or(verdict.to_string(), |r| r.code().to_owned());
                (words, reacts || verdict.chance() == Chance::MayLight)
            }
        }
    }
}

fn observations() -> Vec<Observation> {
    #[derive(Deserialize)]
    struct File {
        observation: Vec<Observation>,
    }
    let text = include_str!("reference/observations.toml");
    toml::from_str::<File>(text).unwrap().observation
}

#[test]
fn published_observations_are_met_or_missed_as_listed() {
    let mut misses = Vec::new();
    let all = observations();
    println!(
        "{:<36}{:<26}{:<46}within",
        "observation", "published", "ours"
    );
    for o in &all {
        let (ours, fits) = o.seen.ours(&batch(&o.batch, &o.heating, &o.way));
        let yes = if fits { "yes" } else { "no" };
        println!(
            "{:<36}{:<26}{ours:<46}{yes}   {}",
            o.what,
            o.seen.words(),
            o.source
        );
        if !fits {
            misses.push(o.what.as_str());
        }
    }
    assert_eq!(misses, MISSES);
}

/// What the model misses; why stands in DEVELOPERS.md.
const MISSES: [&str; 6] = [
    "Ni + glycine, 50 mL, 800 W",
    "Ni + glycine, plate 300 °C, flame",
    "Ba-Al + hexamine, plate",
    "Ba-Al + glycine, plate",
    "Ba-Al + beta-alanine, plate",
    "NiCuZn citrate gel dried at 135 °C",
];
