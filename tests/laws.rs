//! What must hold for every batch, whatever its numbers.

use crate::common::elements_kept;
use emberpot::{Batch, Flame, Plan, Tables, WaterStateName, plan};
use proptest::prelude::*;
use std::sync::OnceLock;
use uom::si::amount_of_substance::mole;
use uom::si::thermodynamic_temperature::kelvin;

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

const SALTS: [&str; 6] = [
    "Al(NO3)3·9H2O",
    "Zn(NO3)2·6H2O",
    "Mg(NO3)2·6H2O",
    "Ce(NO3)3·6H2O",
    "Fe(NO3)3·9H2O",
    "Ni(NO3)2·6H2O",
];
const FUELS: [&str; 4] = ["urea", "glycine", "citric acid", "sucrose"];

/// Ingredients in mmol: two salts, a fuel, water.
#[derive(Debug, Clone)]
struct Recipe {
    list: Vec<(String, f64)>,
    conditions: String,
}

impl Recipe {
    fn text(&self) -> String {
        let mut text = String::new();
        for (substance, n) in &self.list {
            text +=
                &format!("[[ingredient]]\nsubstance = \"{substance}\"\namount = \"{n} mmol\"\n");
        }
        text + &self.conditions
    }

    fn plan(&self) -> Plan<'static> {
        let batch = Batch::parse(&self.text(), "recipe", tables());
        plan(&batch.unwrap_or_else(|e| panic!("{e}")), tables()).unwrap()
    }
}

fn recipe() -> impl Strategy<Value = Recipe> {
    let salt = || (0..SALTS.len(), 1.0..30.0_f64);
    (salt(), salt(), 0..FUELS.len(), 0.4..3.0_f64, 0.0..600.0_f64).prop_map(
        |(one, two, fuel, phi, water)| {
            let mut list = vec![
                (SALTS[one.0].to_owned(), one.1),
                (SALTS[two.0].to_owned(), two.1),
            ];
            // Roughly φ: 10 to 15 valences a salt, 6 to 48 a fuel.
            let per_fuel = [6.0, 9.0, 18.0, 48.0][fuel];
            list.push((
                FUELS[fuel].to_owned(),
                phi * 12.0 * (one.1 + two.1) / per_fuel,
            ));
            list.push(("water".to_owned(), water + 1.0));
            Recipe {
                list,
                conditions: String::new(),
            }
        },
    )
}

/// Flame temperature, K; 0 where the heat falls short of any flame.
fn kelvins(flame: &Flame) -> f64 {
    flame.temperature().map_or(0.0, |t| t.get::<kelvin>())
}

fn dry_flame<'a>(plan: &'a Plan<'_>) -> &'a Flame {
    &plan.state(WaterStateName::Dried).unwrap().complete.flame
}

fn dry_temperature(plan: &Plan) -> f64 {
    kelvins(dry_flame(plan))
}

/// Whether less heat gave less flame: colder, or on the same transition with less of the powder
/// turned, or short of any flame by more.
fn is_less(less: &Flame, more: &Flame) -> bool {
    match (less, more) {
        (Flame::TooWet { short_by: less }, Flame::TooWet { short_by: more }) => less > more,
        (
            Flame::OnTransition {
                to: a,
                fraction: less,
                ..
            },
            Flame::OnTransition {
                to: b,
                fraction: more,
                ..
            },
        ) if a == b => less < more,
        _ => kelvins(less) < kelvins(more),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn elements_are_kept(recipe in recipe()) {
        let plan = recipe.plan();
        for result in &plan.states {
            let kept = elements_kept(&plan.batch, result);
            prop_assert!(kept.is_ok(), "{kept:?}");
        }
    }

    #[test]
    fn the_order_of_the_ingredients_is_nothing(recipe in recipe()) {
        let mut turned = recipe.clone();
        turned.list.reverse();
        let (a, b) = (dry_temperature(&recipe.plan()), dry_temperature(&turned.plan()));
        prop_assert!((a - b).abs() < 1e-6, "{a} {b}");
    }

    #[test]
    fn twice_the_batch_is_as_hot_and_gives_twice_the_gas(recipe in recipe()) {
        // Halved, not doubled: twice the largest recipe is refused for its size.
        let mut half = recipe.clone();
        half.list.iter_mut().for_each(|(_, n)| *n *= 0.5);
        let (one, two) = (half.plan(), recipe.plan());
        prop_assert!((dry_temperature(&one) - dry_temperature(&two)).abs() < 1e-6);
        for (a, b) in one.states.iter().zip(&two.states) {
            let (a, b) = (a.gas.amount.get::<mole>(), b.gas.amount.get::<mole>());
            prop_assert!((2.0 * a - b).abs() < 1e-9 * b);
        }
    }

    #[test]
    fn more_loss_is_colder(recipe in recipe(), less in 0.0..0.4_f64, more in 0.05..0.4_f64) {
        let with = |loss: f64| {
            let conditions = format!("[conditions]\nheat_loss = {loss}\n");
            dry_flame(&Recipe { conditions, ..recipe.clone() }.plan()).clone()
        };
        let (warm, cold) = (with(less), with(less + more));
        // Without a flame there is no heat to lose.
        let burns = warm.temperature().is_some();
        prop_assert!(is_less(&cold, &warm) || !burns, "{cold:?} with more loss, {warm:?} with less");
    }

    #[test]
    fn more_water_kept_is_colder(recipe in recipe(), some in 0.0..0.2_f64, more in 0.02..0.2_f64) {
        let with = |share: f64| {
            let conditions = format!("[water]\nleft_at_ignition = {share}\n");
            let plan = Recipe { conditions, ..recipe.clone() }.plan();
            let state = plan.state(WaterStateName::AtIgnition).unwrap();
            state.complete.flame.clone()
        };
        let (dry, wet) = (with(some), with(some + more));
        prop_assert!(is_less(&wet, &dry), "{wet:?} wetter, {dry:?} drier");
    }
}
