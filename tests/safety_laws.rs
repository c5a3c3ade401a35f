//! Laws of the safety side over random batches: more gas is never taken more lightly, bands keep
//! their order, more air clears sooner, and nothing ever proposes to confine or to enlarge.

use approx::assert_relative_eq;
use emberpot::batch::{BurnPlace, Cover, Room, VesselChoice};
use emberpot::internal::advice::{
    BurnFacts, BurnState, Change, MixtureFacts, Violence, advice, violence, worst,
};
use emberpot::internal::burn::{BatchAtIgnition, Burner, Heating};
use emberpot::internal::enthalpy::water_states;
use emberpot::internal::fumes::FumeLoad;
use emberpot::internal::tables::SafetyTables;
use emberpot::internal::vessel::{Load, behaviour, open_vessel};
use emberpot::internal::vessel::{Medium, terminal_velocity};
use emberpot::quantity::{
    AmountOfSubstance, Band, Energy, Length, Mass, MassDensity, Ratio, ThermodynamicTemperature,
    Volume, standard_pressure,
};
use emberpot::{Advice, Batch, Tables, WaterStateName};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};
use uom::si::amount_of_substance::mole;
use uom::si::dynamic_viscosity::pascal_second;
use uom::si::energy::kilojoule;
use uom::si::f64::{DynamicViscosity, Frequency};
use uom::si::frequency::cycle_per_hour;
use uom::si::length::micrometer;
use uom::si::mass::gram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::pascal;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::time::second;
use uom::si::volume::{cubic_meter, liter, milliliter};

fn all_tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

fn tables() -> &'static SafetyTables {
    &all_tables().safety
}

const FUELS: [&str; 6] = [
    "urea",
    "glycine",
    "citric_acid",
    "carbohydrazide",
    "sucrose",
    "unheard_of",
];

/// The numbers that a random batch is made of.
#[derive(Debug, Clone, Copy)]
struct Draw {
    dry_g: f64,
    water_ml: f64,
    gas_per_g: f64,
    cold_k: f64,
    hotter_k: f64,
    phi: f64,
    fuel: usize,
    vessel: usize,
    cover: usize,
}

fn draws() -> impl Strategy<Value = Draw> {
    (
        (0.1..150.0_f64, 0.0..200.0_f64, 0.01..0.08_f64),
        (380.0..1800.0_f64, 0.0..1500.0_f64, 0.2..6.0_f64),
        (0..FUELS.len(), 0..1000_usize, 0..7_usize),
    )
        .prop_map(
            |((dry_g, water_ml, gas_per_g), (cold_k, hotter_k, phi), (fuel, vessel, cover))| Draw {
                dry_g,
                water_ml,
                gas_per_g,
                cold_k,
                hotter_k,
                phi,
                fuel,
                vessel,
                cover,
            },
        )
}

fn mol(n: f64) -> AmountOfSubstance {
    AmountOfSubstance::new::<mole>(n)
}

impl Draw {
    fn facts(self, gas_factor: f64) -> BurnFacts {
        let grams = Mass::new::<gram>;
        let temperature = ThermodynamicTemperature::new::<kelvin>;
        let gas = self.dry_g * self.gas_per_g * gas_factor;
        let nitrate = 0.01 * self.dry_g;
        let covers = [
            Cover::Open,
            Cover::Mesh,
            Cover::LooseDish,
            Cover::Lid,
            Cover::Stopper,
            Cover::Plug,
            Cover::Foil,
        ];
        let all = &tables().vessels.vessels;
        let vessel = VesselChoice {
            cover: covers[self.cover],
            ..open_vessel(&all[self.vessel % all.len()])
        };
        let fuel = FUELS[self.fuel].to_owned();
        BurnFacts {
            vapour: None,
            load: Load {
                solution_volume: Volume::new::<milliliter>(self.water_ml + 0.6 * self.dry_g),
                dry_mass: grams(self.dry_g),
                product_mass: grams(0.2 * self.dry_g),
                gas_amount: mol(gas),
                gas_mass: grams(0.8 * self.dry_g),
                heat: Energy::new::<kilojoule>(3.0 * self.dry_g),
                burns: [self.cold_k, self.cold_k + self.hotter_k]
                    .map(|t| (Some(temperature(t)), mol(gas)))
                    .to_vec(),
                flame: Band {
                    low: temperature(self.cold_k),
                    high: temperature(self.cold_k + self.hotter_k),
                },
                pressure: standard_pressure(),
                fuels: vec![(fuel.clone(), Ratio::new::<ratio>(1.0))],
                heating: None,
                set_temperature: None,
            },
            fumes: FumeLoad {
                equivalence_ratio: Band::exactly(Ratio::new::<ratio>(self.phi)),
                nitrate_nitrogen: mol(nitrate),
                hydrolysing_nitrate: mol(0.5 * nitrate),
                free_acid: mol(0.0),
                fuel_nitrogen: mol(nitrate * self.phi),
                fuel_carbon: mol(nitrate * self.phi),
                urea: mol(if fuel == "urea" {
                    nitrate * self.phi
                } else {
                    0.0
                }),
                ammonium: mol(0.0),
                sulfur: mol(0.0),
                chlorine: mol(0.0),
                fuels: BTreeSet::from([fuel]),
                slow: None,
                equilibrium: BTreeMap::new(),
                product_mass: grams(0.2 * self.dry_g),
                product_elements: BTreeMap::new(),
                carried_off: None,
            },
            gas_volume_25c: Volume::new::<liter>(24.5 * gas),
            mixture: MixtureFacts {
                dry_mass: grams(self.dry_g),
                powder_share: Ratio::new::<ratio>(1.0),
                ..MixtureFacts::default()
            },
            fast_fuels: Vec::new(),
            vessel: Some(vessel),
            room: None,
        }
    }
}

/// The most serious first: the warnings' severities by code.
fn severities(advice: &Advice) -> BTreeMap<String, emberpot::Severity> {
    advice
        .warnings
        .iter()
        .map(|w| (w.code.clone(), w.severity))
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn more_gas_never_lowers_a_warning(draw in draws(), factor in 1.0..20.0_f64) {
        let less = advice(&draw.facts(1.0), tables());
        let more = advice(&draw.facts(factor), tables());
        prop_assert!(worst(&more.warnings) <= worst(&less.warnings));
        prop_assert!(more.violence.level.high >= less.violence.level.high);
        prop_assert!(more.violence.level.low >= less.violence.level.low);
        // a warning that was there is there still, or its group shows a more serious one
        let after = severities(&more);
        for warning in less.warnings {
            let rule = tables().rules.iter().find(|rule| rule.id == warning.code).unwrap();
            let kept = after.contains_key(&warning.code);
            let raised = more.warnings.iter().any(|other| {
                let own = tables().rules.iter().find(|rule| rule.id == other.code).unwrap();
                rule.group.is_some() && own.group == rule.group && own.severity <= rule.severity
            });
            prop_assert!(kept || raised, "{} is gone", warning.code);
        }
    }

    #[test]
    fn nothing_proposes_to_confine_or_to_enlarge(draw in draws()) {
        let found = advice(&draw.facts(1.0), tables());
        for change in &found.calming {
            if let Change::SmallerBatch { now, to } = change {
                prop_assert!(to < now);
            }
            let text = change.to_string().to_lowercase();
            for words in ["larger batch", "lid", "close", "stopper", "tamp", "press"] {
                prop_assert!(!text.contains(words), "{}", text);
            }
        }
        if let Some(vessel) = &found.smallest_vessel {
            let checked = emberpot::internal::vessel::check(
                &open_vessel(vessel),
                &draw.facts(1.0).load,
                &tables().vessels,
            );
            prop_assert!(checked.refusals.is_empty());
            let share = &tables().vessels.assumed.froth_share;
            prop_assert!(checked.froth_fill.high <= share.value);
        }
    }

    #[test]
    fn the_ends_of_the_violence_are_those_of_its_index(draw in draws()) {
        // As much more gas as the band is wide: what was the violent end is the calm one.
        let at = |factor: f64| {
            let mut facts = draw.facts(factor);
            facts.load.burns.truncate(1);
            advice(&facts, tables()).violence
        };
        let one = at(1.0);
        let factor = one.index_l_per_g_s.high / one.index_l_per_g_s.low;
        prop_assert!(at(factor * (1.0 + 1e-9)).level.low >= one.level.high);
        prop_assert!(at(factor * (1.0 - 1e-9)).level.low <= one.level.high);
    }

    #[test]
    fn gas_and_heat_follow_their_closed_forms(draw in draws()) {
        const R: f64 = 8.314_462_618;
        let mut facts = draw.facts(1.0);
        facts.load.burns.truncate(1);
        facts.load.product_mass *= 2.0;
        let (load, found) = (facts.load.clone(), advice(&facts, tables()));
        let n = load.gas_amount.get::<mole>();
        // litres at the flame, over grams and seconds
        let litres = 1e3 * n * R * draw.cold_k / load.pressure.get::<pascal>();
        let time = found.violence.burn_time;
        let index = found.violence.index_l_per_g_s;
        assert_relative_eq!(index.low * time.high.get::<second>() * draw.dry_g, litres, max_relative = 1e-6);
        assert_relative_eq!(index.high * time.low.get::<second>() * draw.dry_g, litres, max_relative = 1e-6);
        // p0 + n R T / V
        let check = found.vessel.unwrap();
        let volume = check.brimful.get::<cubic_meter>();
        let closed = load.pressure.get::<pascal>() + n * R * load.flame.high.get::<kelvin>() / volume;
        assert_relative_eq!(check.pressure_if_closed.get::<pascal>(), closed, max_relative = 1e-6);
        // no less froth than the syrup of the dry mass makes, however little water there is
        let thick = Draw { water_ml: 0.0, ..draw }.facts(1.0);
        let syrup: Volume = thick.load.dry_mass / tables().vessels.assumed.syrup_density.value;
        let froth = behaviour(&thick.load.fuels, &tables().vessels).froth;
        let thick = advice(&thick, tables()).vessel.unwrap();
        prop_assert!(thick.froth.high >= froth.high * syrup * (1.0 - 1e-12));
        // the vessel warms with its powder: 0.2 g more of it for each gram
        let lighter = advice(&draw.facts(1.0), tables()).vessel.unwrap();
        let more = check.heat_capacity - lighter.heat_capacity;
        let material = &check.choice.vessel.material;
        let powder = Mass::new::<gram>(0.2 * draw.dry_g) * material.heat_capacity.value;
        assert_relative_eq!(more.value, powder.value, max_relative = 1e-6);
    }

    #[test]
    fn methane_comes_from_the_fuel_that_finds_no_nitrate(draw in draws(), phi in 2.0..6.0_f64) {
        // The carbon is φ times a fixed amount here, so its surplus part goes with φ − 1.
        let methane = |phi: f64| {
            let facts = Draw { phi, ..draw }.facts(1.0);
            advice(&facts, tables()).fumes.amount("CH4").unwrap().high.get::<mole>()
        };
        assert_relative_eq!(methane(phi) / methane(2.0), phi - 1.0, max_relative = 1e-9);
    }

    #[test]
    fn a_closing_cover_always_stops(draw in draws()) {
        let found = advice(&draw.facts(1.0), tables());
        let closed = draw.facts(1.0).vessel.unwrap().cover.closes();
        let stopped = found.warnings.iter().any(|warning| warning.code == "closed-vessel");
        prop_assert!(!closed || stopped);
    }

    #[test]
    fn bands_are_finite_and_in_order(draw in draws()) {
        let found = advice(&draw.facts(1.0), tables());
        let checked = found.vessel.unwrap();
        for (low, high) in [
            (checked.froth.low.value, checked.froth.high.value),
            (checked.mean_flow.low.value, checked.mean_flow.high.value),
            (checked.peak_flow.low.value, checked.peak_flow.high.value),
            (checked.mouth_speed.low.value, checked.mouth_speed.high.value),
            (checked.fall_speed.low.value, checked.fall_speed.high.value),
            (checked.carry_over.low.value, checked.carry_over.high.value),
            (checked.carried_below.low.value, checked.carried_below.high.value),
            (checked.wall.low.value, checked.wall.high.value),
            (checked.wall_rise.low.value, checked.wall_rise.high.value),
        ] {
            prop_assert!(low.is_finite() && high.is_finite() && low <= high && low >= 0.0);
        }
        // no hotter than the flame, or than the wall was before it
        let before = tables().vessels.assumed.wall_at_ignition.value.high;
        let flame = draw.facts(1.0).load.flame.high;
        let hottest = if flame > before { flame } else { before };
        prop_assert!(checked.wall.high.value <= hottest.value * (1.0 + 1e-12));
        for fume in &found.fumes.gases {
            prop_assert!(fume.amount.low.value >= 0.0 && fume.amount.low <= fume.amount.high);
        }
        for exposure in &found.exposures {
            prop_assert!(exposure.times_limit.low <= exposure.times_limit.high);
            prop_assert!(exposure.times_limit.high.value.is_finite());
        }
    }

    #[test]
    fn more_air_clears_sooner_and_lowers_means(
        draw in draws(),
        changes in 0.1..20.0_f64,
        factor in 1.0..10.0_f64,
    ) {
        let with = |changes: f64| {
            let mut facts = draw.facts(1.0);
            facts.room = Some(Room {
                place: BurnPlace::Room,
                volume: Some(Volume::new::<cubic_meter>(60.0)),
                air_changes: Some(Frequency::new::<cycle_per_hour>(changes)),
                exhaust: None,
                opening: None,
                face_velocity: None,
            });
            advice(&facts, tables())
        };
        let (slow, quick) = (with(changes), with(changes * factor));
        prop_assert!(quick.clear_after.unwrap().high <= slow.clear_after.unwrap().high);
        prop_assert!(worst(&quick.warnings) >= worst(&slow.warnings));
        for exposure in &quick.exposures {
            let before = slow.exposures.iter().find(|e| e.name == exposure.name).unwrap();
            prop_assert!(exposure.times_limit.high <= before.times_limit.high * (1.0 + 1e-12));
        }
    }

    #[test]
    fn a_wider_vessel_holds_more_froth_and_slows_the_gas(draw in draws(), wider in 1.0..4.0_f64) {
        let with = |factor: f64| {
            let mut facts = draw.facts(1.0);
            let mut vessel = emberpot::internal::tables::Vessel::clone(&facts.vessel.unwrap().vessel);
            let mm = Length::new::<uom::si::length::millimeter>;
            vessel.shape = emberpot::internal::tables::Shape::Cylinder {
                mouth: mm(80.0 * factor),
                depth: mm(60.0),
            };
            facts.vessel = Some(open_vessel(&Arc::new(vessel)));
            advice(&facts, tables()).vessel.unwrap()
        };
        let (narrow, wide) = (with(1.0), with(wider));
        prop_assert!(wide.froth_fill.high <= narrow.froth_fill.high);
        prop_assert!(wide.mouth_speed.high <= narrow.mouth_speed.high);
        prop_assert!(wide.depth <= narrow.depth);
    }

    #[test]
    fn coarser_and_denser_powder_falls_faster(
        um in 0.5..3000.0_f64,
        times in 1.0..5.0_f64,
        density in 5.0..3000.0_f64,
        viscosity in 1.5e-5..6e-5_f64,
    ) {
        let medium = Medium {
            density: MassDensity::new::<kilogram_per_cubic_meter>(0.3),
            viscosity: DynamicViscosity::new::<pascal_second>(viscosity),
        };
        let falls = |um: f64, density: f64| {
            let density = MassDensity::new::<kilogram_per_cubic_meter>(density);
            terminal_velocity(Length::new::<micrometer>(um), density, &medium)
        };
        let v = falls(um, density);
        // where the correlation hands over at Re 1000 the drag falls by 0.4 %
        prop_assert!(falls(um * times, density) >= v * 0.995);
        prop_assert!(falls(um, density * times) >= v * 0.995);
        // Stokes is the fastest
        let d = um * 1e-6;
        let stokes = 9.806_65 * d * d * (density - 0.3) / (18.0 * viscosity);
        prop_assert!(v.value <= stokes * (1.0 + 1e-9));
    }
}

/// Nickel nitrate with `fuel` at φ = `phi`, `water` g of it added, `left` of all at ignition.
fn nickel(fuel: &str, phi: f64, water: f64, left: &str) -> Violence {
    let text = format!(
        "[[ingredient]]\nsubstance = \"Ni(NO3)2·6H2O\"\nmass = \"5.82 g\"\n\
         [[ingredient]]\nsubstance = \"{fuel}\"\nmass = \"2 g\"\n\
         [[ingredient]]\nsubstance = \"water\"\nmass = \"{water} g\"\n\
         [water]\nleft_at_ignition = \"{left}\"\n"
    );
    let tables = all_tables();
    let batch = Batch::parse(&text, "test", tables).unwrap();
    let batch = batch
        .with_equivalence_ratio(Ratio::new::<ratio>(phi))
        .unwrap();
    let mut burner = Burner::new(&batch, tables).unwrap();
    let mut states = water_states(&batch, None);
    states.retain(|state| state.name != WaterStateName::AtIgnition);
    states.push(
        BatchAtIgnition::of(&batch, &Heating::NotStated)
            .unwrap()
            .state,
    );
    let burns: Vec<_> = states
        .iter()
        .map(|state| burner.burn(state).unwrap())
        .collect();
    let (redox, product) = (burner.redox().clone(), burner.product().clone());
    // The burn at ignition alone: the dried one beside it does not know of added water.
    let at_ignition = BurnState::of(burns.last().unwrap());
    let facts = BurnFacts::new(&batch, &redox, &product, &[at_ignition], tables);
    violence(&facts.load, None, &tables.safety.vessels)
}

#[test]
fn added_water_never_raises_the_word_of_violence() {
    let mut words = BTreeSet::new();
    for fuel in [
        "urea",
        "glycine",
        "citric acid",
        "carbohydrazide",
        "sucrose",
        "hexamine",
    ] {
        for phi in [0.6, 0.9, 1.0, 1.3, 2.0, 3.0] {
            for left in ["10 %", "40 %"] {
                let all: Vec<Violence> = [0.5, 2.0, 5.0, 10.0, 20.0, 40.0]
                    .map(|water| nickel(fuel, phi, water, left))
                    .to_vec();
                words.extend(all.iter().map(Violence::words));
                for pair in all.windows(2) {
                    let (dry, wet) = (&pair[0], &pair[1]);
                    let whole = format!("{fuel}, φ {phi}, {left}: {dry:?} {wet:?}");
                    assert!(wet.level.high <= dry.level.high, "{whole}");
                    assert!(wet.level.low <= dry.level.low, "{whole}");
                    // Heat that the powder held goes into the steam, so the hot volume n·T itself can
                    // grow by the powder's small share of the heat while the flame gets colder.
                    let index = wet.index_l_per_g_s.high / dry.index_l_per_g_s.high;
                    assert!(index <= 1.02 || wet.index_l_per_g_s.high <= 0.0, "{whole}");
                }
            }
        }
    }
    // The law is not empty: from eruptive to none.
    assert!(words.len() >= 4, "{words:?}");
}

#[test]
fn a_colder_flame_burns_longer_within_the_band_of_its_fuel() {
    let vessels = &tables().vessels;
    for fuel in FUELS {
        let own = behaviour(&[(fuel.to_owned(), Ratio::new::<ratio>(1.0))], vessels);
        let at =
            |k: f64| own.burn_time_at(ThermodynamicTemperature::new::<kelvin>(k), &vessels.assumed);
        for k in 0..20 {
            let k = 500.0 + 100.0 * f64::from(k);
            let (cold, hot) = (at(k), at(k + 100.0));
            assert!(cold.low > hot.low && cold.high > hot.high, "{fuel} {k}");
        }
        // 700 to 1700 °C are the flames that the band was seen with: it is met at both ends.
        let (slow, fast) = (at(973.15).high, at(1973.15).low);
        assert!(
            (slow / own.burn_time.high).get::<ratio>() - 1.0 < 1e-9,
            "{fuel}"
        );
        assert!(
            (fast / own.burn_time.low).get::<ratio>() - 1.0 < 1e-9,
            "{fuel}"
        );
        let middle = at(1400.0);
        assert!(
            middle.high < own.burn_time.high && middle.low > own.burn_time.low,
            "{fuel}"
        );
    }
}
