//! Carbonates, oxides and hydroxides beside nitric acid are nitrates in the pot.

use approx::assert_relative_eq;
use emberpot::batch::Ingredient;
use emberpot::internal::enthalpy::{reactant_enthalpy, water_states};
use emberpot::internal::tables::Role;
use emberpot::{Batch, BatchError, Element, Tables, WaterStateName};
use std::collections::BTreeMap;
use std::sync::LazyLock;
use uom::si::amount_of_substance::{millimole, mole};
use uom::si::energy::joule;
use uom::si::mass::gram;
use uom::si::ratio::ratio;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

fn line(substance: &str, rest: &str) -> String {
    format!("[[ingredient]]\nsubstance = \"{substance}\"\n{rest}\n")
}

fn read(text: &str) -> Result<Batch, BatchError> {
    Batch::parse(text, "test", &TABLES)
}

/// Atoms in a list of ingredients, all water included.
fn atoms(list: &[Ingredient]) -> BTreeMap<Element, f64> {
    let mut sum = BTreeMap::new();
    for ingredient in list {
        for (element, n) in ingredient.reactant.formula.amounts() {
            *sum.entry(*element).or_insert(0.0) += n * ingredient.amount.get::<mole>();
        }
        let carried = ingredient.carried_water.get::<mole>();
        *sum.entry(Element::HYDROGEN).or_insert(0.0) += 2.0 * carried;
        *sum.entry(Element::OXYGEN).or_insert(0.0) += carried;
    }
    sum
}

#[test]
fn a_source_in_acid_is_the_nitrate_in_water() {
    let mut pairs = 0;
    for row in TABLES
        .reactants
        .iter()
        .filter(|r| r.role == Role::MetalSource)
    {
        let amounts = "amount = \"2 mmol\"\ndissolves = true\n";
        let text = |acid: f64, water: &str| {
            line(&row.id, amounts)
                + &line("nitric acid 65 %", &format!("amount = \"{acid} mmol\""))
                + &line("urea", "amount = \"7 mmol\"")
                + &line("water", &format!("volume = \"{water}\""))
        };
        let Ok(plenty) = read(&text(400.0, "20 mL")) else {
            continue;
        };
        let Some(found) = plenty.dissolution() else {
            continue;
        };
        let needed = found.needed.get::<millimole>();
        let one = read(&text(needed, "20 mL")).unwrap_or_else(|e| panic!("{}: {e}", row.id));
        let salts: String = one
            .ingredients
            .iter()
            .filter(|i| i.reactant.role == Role::Oxidiser)
            .map(|i| {
                let amount = format!("amount = \"{:.9} mmol\"", i.amount.get::<millimole>());
                line(&i.reactant.id, &amount)
            })
            .collect();
        let water = format!("amount = \"{:.9} mol\"", one.solvent_water().get::<mole>());
        let two = salts + &line("urea", "amount = \"7 mmol\"") + &line("water", &water);
        let two = read(&two).unwrap_or_else(|e| panic!("{}: {e}", row.id));
        // Carbon dioxide has left; no other atom has.
        let carbon_dioxide = found.carbon_dioxide.get::<mole>();
        let mut gone = atoms(&one.ingredients);
        *gone.entry(Element::CARBON).or_insert(0.0) += carbon_dioxide;
        *gone.entry(Element::OXYGEN).or_insert(0.0) += 2.0 * carbon_dioxide;
        for (element, n) in atoms(&one.weighed) {
            let there = gone.get(&element).copied().unwrap_or(0.0);
            assert!((there - n).abs() < 1e-9 + 1e-9 * n, "{}: {element}", row.id);
        }
        for name in [
            WaterStateName::AsMixed,
            WaterStateName::BoiledDown,
            WaterStateName::Dried,
        ] {
            let h = |batch: &Batch| {
                let states = water_states(batch, None);
                let state = states.iter().find(|s| s.name == name).unwrap();
                reactant_enthalpy(batch, state, &TABLES)
                    .unwrap()
                    .total()
                    .get::<joule>()
            };
            assert_relative_eq!(h(&one), h(&two), max_relative = 1e-8);
        }
        let phi = |batch: &Batch| batch.redox().unwrap().equivalence_ratio.get::<ratio>();
        assert_relative_eq!(phi(&one), phi(&two), max_relative = 1e-8);
        pairs += 1;
    }
    assert!(pairs > 25, "only {pairs} sources dissolve");
}

#[test]
fn acid_left_over_is_told_and_oxidises() {
    // 1.4763 g SrCO3 (147.63 g/mol) are 10 mmol and use up 20 mmol of HNO3; 25 mmol are there.
    let text = line("SrCO3", "mass = \"1.4763 g\"")
        + &line("nitric acid 65 %", "amount = \"25 mmol\"")
        + &line("Al(NO3)3·9H2O", "mass = \"7.5 g\"")
        + &line("urea", "mass = \"3 g\"");
    let batch = read(&text).unwrap();
    let found = batch.dissolution().unwrap();
    assert_relative_eq!(found.needed.get::<millimole>(), 20.0, max_relative = 1e-4);
    assert_relative_eq!(
        found.left_over().get::<millimole>(),
        5.0,
        max_relative = 1e-3
    );
    assert_relative_eq!(
        found.carbon_dioxide.get::<millimole>(),
        10.0,
        max_relative = 1e-4
    );
    let free: f64 = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Acid)
        .map(|i| i.amount.get::<millimole>())
        .sum();
    assert_relative_eq!(free, 5.0, max_relative = 1e-3);
}

#[test]
fn too_little_acid_is_an_error_that_says_how_much() {
    let text = line("SrCO3", "mass = \"1.4763 g\"")
        + &line("nitric acid 65 %", "amount = \"15 mmol\"")
        + &line("Al(NO3)3·9H2O", "mass = \"7.5 g\"")
        + &line("urea", "mass = \"3 g\"");
    let error = read(&text).unwrap_err().to_string();
    // 20 mmol × 63.012 g/mol / 0.65 = 1.939 g
    assert!(
        error.contains("too little nitric acid for SrCO3"),
        "{error}"
    );
    assert!(
        error.contains("5.000 mmol") && error.contains("1.939 g"),
        "{error}"
    );
    // Kept as powder it is no mistake, and stays what it is.
    let kept = text.replacen(
        "mass = \"1.4763 g\"",
        "mass = \"1.4763 g\"\ndissolves = false",
        1,
    );
    let batch = read(&kept).unwrap();
    assert!(batch.dissolution().is_none());
    assert_eq!(batch.ingredients.len(), batch.weighed.len());
}

#[test]
fn acid_without_an_amount_is_worked_out_from_a_target() {
    let text = "[target]\nformula = \"SrAl2O4\"\nproduct_mass = \"2 g\"\nequivalence_ratio = 1\n"
        .to_owned()
        + &line("SrCO3", "")
        + &line("Al(NO3)3·9H2O", "")
        + &line("nitric acid 65 %", "")
        + &line("urea", "");
    let batch = read(&text).unwrap();
    // 2 g / 205.58 g/mol = 9.729 mmol; 2 HNO3 each, 19.46 mmol × 63.012 / 0.65 = 1.886 g of acid.
    let acid = batch
        .weighed
        .iter()
        .find(|i| i.reactant.role == Role::Acid)
        .unwrap();
    assert_relative_eq!(acid.mass.get::<gram>(), 1.886, max_relative = 1e-3);
    // φ = 1 with Sr(NO3)2 and 2 Al(NO3)3: 40 mol of valence per mol of target, urea 6.
    let urea = batch
        .weighed
        .iter()
        .find(|i| i.reactant.id == "urea")
        .unwrap();
    let per_target =
        urea.amount.get::<mole>() / batch.target.as_ref().unwrap().amount.get::<mole>();
    assert_relative_eq!(per_target, 40.0 / 6.0, max_relative = 1e-6);
    let half = batch.scaled(0.5);
    assert_relative_eq!(
        half.dissolution().unwrap().needed.get::<mole>(),
        0.5 * batch.dissolution().unwrap().needed.get::<mole>(),
        max_relative = 1e-12
    );
    let without = text.replace("SrCO3", "Sr(NO3)2");
    let error = read(&without).unwrap_err().to_string();
    assert!(
        error.contains("nothing in the list uses up this acid"),
        "{error}"
    );
}

#[test]
fn what_hardly_dissolves_stays_unless_the_file_says_otherwise() {
    let text = line("ZrO2", "mass = \"0.2 g\"")
        + &line("nitric acid 65 %", "mass = \"1 g\"")
        + &line("Y(NO3)3·6H2O", "mass = \"4 g\"")
        + &line("glycine", "mass = \"1 g\"");
    let batch = read(&text).unwrap();
    assert!(batch.dissolution().is_none());
    assert!(batch.ingredients.iter().any(|i| i.reactant.id == "zro2"));
    let titania = text.replacen("ZrO2\"\n", "TiO2\"\ndissolves = true\n", 1);
    let error = read(&titania).unwrap_err().to_string();
    assert!(error.contains("makes no nitrate"), "{error}");
}
