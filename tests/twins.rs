//! The same atoms in the same state give the same burn, however they are written.

use approx::assert_relative_eq;
use emberpot::internal::burn::Burner;
use emberpot::internal::enthalpy::{reactant_enthalpy, water_states};
use emberpot::internal::product::expected_product;
use emberpot::internal::tables::Role;
use emberpot::quantity::{Ratio, reference_temperature};
use emberpot::{Batch, Formula, Tables, WaterStateName};
use uom::si::energy::joule;
use uom::si::mass::gram;
use uom::si::molar_mass::gram_per_mole;
use uom::si::ratio::percent;
use uom::si::thermodynamic_temperature::kelvin;

fn batch(ingredients: &[(String, f64)], tables: &Tables) -> Batch {
    let text: String = ingredients
        .iter()
        .map(|(name, mass)| {
            format!("[[ingredient]]\nsubstance = \"{name}\"\nmass = \"{mass:.12} g\"\n")
        })
        .collect();
    Batch::parse(&text, "twin", tables).unwrap()
}

/// Enthalpy of the reactants in J, in one state of the water.
fn enthalpy(batch: &Batch, name: WaterStateName, tables: &Tables) -> f64 {
    let states = water_states(batch, None);
    let state = states.iter().find(|state| state.name == name).unwrap();
    let total = reactant_enthalpy(batch, state, tables).unwrap().total();
    total.get::<joule>()
}

fn molar_mass(formula: &Formula) -> f64 {
    formula.molar_mass().get::<gram_per_mole>()
}

#[test]
fn dilute_acid_is_acid_and_water() {
    let tables = Tables::built_in().unwrap();
    let acid = tables.reactants.nitric_acid().unwrap();
    let salt = [
        ("Mg(NO3)2·6H2O".to_owned(), 2.564),
        ("urea".to_owned(), 1.2011),
    ];
    for strength in [5.0, 20.0, 40.0, 53.0, 65.0, 68.0, 70.0, 86.0, 99.0] {
        let mass = 0.3878;
        // The water that the formula of the acid holds, to four decimals a molecule.
        let row = acid.solution(Ratio::new::<percent>(strength)).unwrap();
        let n = mass / molar_mass(&row.formula);
        let water = n * row.formula.crystal_water();
        let dry = n * molar_mass(&row.formula.anhydrous());
        let one = [(format!("nitric acid {strength} %"), mass)];
        let two = [
            ("nitric acid 100 %".to_owned(), dry),
            ("water".to_owned(), mass - dry),
        ];
        let one = batch(&[&salt[..], &one].concat(), &tables);
        let two = batch(&[&salt[..], &two].concat(), &tables);
        assert!(water > 0.0);
        for name in [
            WaterStateName::AsMixed,
            WaterStateName::BoiledDown,
            WaterStateName::Dried,
        ] {
            let (a, b) = (enthalpy(&one, name, &tables), enthalpy(&two, name, &tables));
            assert_relative_eq!(a, b, max_relative = 1e-6);
        }
        // Strong acid with urea is refused as a batch; its burn is computed all the same.
        let flames = |batch: &Batch| -> Vec<Option<f64>> {
            let mut burner = Burner::new(batch, &tables).unwrap();
            let states = water_states(batch, None);
            let results = states.iter().map(|state| burner.burn(state).unwrap());
            let flames = results.map(|result| result.complete.flame.temperature());
            flames.map(|t| t.map(|t| t.get::<kelvin>())).collect()
        };
        for pair in flames(&one).into_iter().zip(flames(&two)) {
            match pair {
                (Some(a), Some(b)) => assert!((a - b).abs() < 0.01, "{strength} %: {a} K, {b} K"),
                (a, b) => assert_eq!(a, b),
            }
        }
    }
}

#[test]
fn a_hydrate_once_dissolved_is_salt_and_water() {
    let tables = Tables::built_in().unwrap();
    let mut pairs = 0;
    for row in tables.reactants.iter() {
        if row.formula.crystal_water() <= 0.0 || matches!(row.role, Role::Acid | Role::Fuel) {
            continue;
        }
        let family = tables.reactants.family(row);
        let Some(dry) = family
            .members()
            .first()
            .filter(|r| r.formula.crystal_water() <= 0.0)
        else {
            continue;
        };
        if dry.formation_enthalpy.is_none() || row.formation_enthalpy.is_none() {
            continue;
        }
        let fuel = [("urea".to_owned(), 0.5)];
        let n = 2.0 / molar_mass(&row.formula);
        let salt = n * molar_mass(&dry.formula);
        let one = [(row.id.clone(), 2.0), ("water".to_owned(), 20.0)];
        let two = [(dry.id.clone(), salt), ("water".to_owned(), 22.0 - salt)];
        let parse = |list: &[(String, f64)]| {
            let text: String = [&fuel[..], list]
                .concat()
                .iter()
                .map(|(name, mass)| {
                    format!("[[ingredient]]\nsubstance = \"{name}\"\nmass = \"{mass:.12} g\"\n")
                })
                .collect();
            Batch::parse(&text, "twin", &tables)
        };
        // Salts that are refused or oxidise nothing have no batch.
        let (Ok(one), Ok(two)) = (parse(&one), parse(&two)) else {
            continue;
        };
        let name = WaterStateName::AsMixed;
        let (a, b) = (enthalpy(&one, name, &tables), enthalpy(&two, name, &tables));
        assert!((a - b).abs() < 1e-6 * a.abs(), "{}: {a} J, {b} J", row.id);
        pairs += 1;
    }
    assert!(pairs > 10, "only {pairs} pairs");
}

#[test]
fn a_sold_solution_is_the_hydrate_and_water() {
    let tables = Tables::built_in().unwrap();
    for (solution, hydrate, dry) in [
        ("Mn(NO3)2 50 %", "Mn(NO3)2·4H2O", 178.947),
        ("magnesium nitrate solution, 40 %", "Mg(NO3)2·6H2O", 148.313),
        ("Al(NO3)3 30 %", "Al(NO3)3·9H2O", 212.994),
        ("AgNO3 60 %", "AgNO3", 169.872),
    ] {
        let strength: f64 = solution.rsplit(' ').nth(1).unwrap().parse().unwrap();
        // 10 mmol of the salt in the strength of the label
        let mass = 0.01 * dry / (strength / 100.0);
        let row = tables.reactants.find(hydrate).unwrap();
        let crystals = 0.01 * molar_mass(&row.formula);
        let fuel = ("urea".to_owned(), 0.9);
        let one = [(solution.to_owned(), mass), fuel.clone()];
        let water = ("water".to_owned(), mass - crystals);
        let two = [(hydrate.to_owned(), crystals), water, fuel];
        let (one, two) = (batch(&one, &tables), batch(&two, &tables));
        for name in [
            WaterStateName::AsMixed,
            WaterStateName::BoiledDown,
            WaterStateName::Dried,
        ] {
            let (a, b) = (enthalpy(&one, name, &tables), enthalpy(&two, name, &tables));
            // The water of the formula is kept to four decimals a molecule, molar masses to six
            // digits here.
            assert_relative_eq!(a, b, max_relative = 2e-5);
        }
        let redox = |batch: &Batch| batch.redox().unwrap().equivalence_ratio;
        let ratio = (redox(&one) / redox(&two)).get::<uom::si::ratio::ratio>();
        assert_relative_eq!(ratio, 1.0, max_relative = 2e-5);
    }
}

#[test]
fn a_formula_in_any_multiple_is_the_same_compound() {
    let tables = Tables::built_in().unwrap();
    let reference = reference_temperature();
    for species in tables.species.iter().filter(|s| s.phase.is_condensed()) {
        let stable = tables.stable_condensed(&species.formula, reference);
        for factor in [0.5, 2.0, 3.0] {
            let text: String = species
                .formula
                .amounts()
                .iter()
                .map(|(element, n)| format!("{element}{}", n * factor))
                .collect();
            let multiple = Formula::parse(&text).unwrap();
            let found = tables.stable_condensed(&multiple, reference);
            assert_eq!(found.map(|s| &s.id), stable.map(|s| &s.id), "{text}");
            assert!(found.is_some(), "{text}");
        }
    }
}

#[test]
fn apatite_written_with_ten_calcium_weighs_the_same() {
    let tables = Tables::built_in().unwrap();
    let product = |formula: &str| {
        let text = format!(
            "[target]\nformula = \"{formula}\"\nproduct_mass = \"1 g\"\nequivalence_ratio = 1\n\
             [[ingredient]]\nsubstance = \"Ca(NO3)2·4H2O\"\n\
             [[ingredient]]\nsubstance = \"diammonium hydrogen phosphate\"\n\
             [[ingredient]]\nsubstance = \"urea\"\n"
        );
        let batch = Batch::parse(&text, formula, &tables).unwrap_or_else(|e| panic!("{e}"));
        expected_product(&batch, &tables).unwrap()
    };
    let (five, ten) = (product("Ca5(PO4)3OH"), product("Ca10(PO4)6(OH)2"));
    assert_eq!(five.model, ten.model);
    assert_relative_eq!(
        five.mass.get::<gram>(),
        ten.mass.get::<gram>(),
        max_relative = 1e-9
    );
    assert_eq!(five.phases.len(), ten.phases.len());
}
