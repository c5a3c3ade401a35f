//! Laws that every equilibrium obeys, on random mixtures.

use crate::common::{Amounts, amounts, at};
use emberpot::equilibrium::{Equilibrium, SpeciesSet, System};
use emberpot::quantity::{AmountOfSubstance, Energy, GAS_CONSTANT, Pressure};
use emberpot::{Element, Tables};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::molar_energy::joule_per_mole;
use uom::si::pressure::bar;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

/// Zinc, magnesium and aluminium nitrate, urea, water, in mol.
type Batch = (f64, f64, f64, f64, f64);

fn batches() -> impl Strategy<Value = Batch> {
    (
        0.01..1.0_f64,
        0.01..1.0_f64,
        0.01..2.0_f64,
        0.5..15.0_f64,
        0.0..20.0_f64,
    )
}

fn elements_of((zinc, magnesium, aluminium, urea, water): Batch) -> Amounts {
    amounts(&[
        ("Zn(NO3)2", zinc),
        ("Mg(NO3)2", magnesium),
        ("Al(NO3)3", aluminium),
        ("CO(NH2)2", urea),
        ("H2O", water),
    ])
}

fn solve(amounts: &Amounts, t: f64, p: f64) -> Equilibrium {
    let elements: Vec<Element> = amounts.keys().copied().collect();
    System::new(&TABLES, &elements, SpeciesSet::Full, false)
        .equilibrium(amounts, at(t), Pressure::new::<bar>(p))
        .unwrap()
}

/// G/J of any amounts of species: ideal gas, pure condensed phases.
fn gibbs(composition: &BTreeMap<String, f64>, t: f64, p: f64) -> f64 {
    let gas: f64 = composition
        .iter()
        .filter(|(id, _)| !TABLES.species_by_id(id).unwrap().phase.is_condensed())
        .map(|(_, n)| n)
        .sum();
    composition
        .iter()
        .filter(|(_, n)| **n > 0.0)
        .map(|(id, n)| {
            let species = TABLES.species_by_id(id).unwrap();
            let standard = species.gibbs_energy(at(t)).unwrap().get::<joule_per_mole>();
            let mixing = if species.phase.is_condensed() {
                0.0
            } else {
                (n / gas * p).ln()
            };
            n * (standard + GAS_CONSTANT * t * mixing)
        })
        .sum()
}

fn composition(answer: &Equilibrium) -> BTreeMap<String, f64> {
    answer
        .amounts
        .iter()
        .map(|s| (s.id.clone(), s.amount.get::<mole>()))
        .collect()
}

/// Reactions among abundant species; moving along one keeps the elements.
const REACTIONS: [&[(&str, f64)]; 7] = [
    &[("CO", -1.0), ("H2O", -1.0), ("CO2", 1.0), ("H2", 1.0)],
    &[("H2O", -2.0), ("H2", 2.0), ("O2", 1.0)],
    &[("CO", -1.0), ("H2", -3.0), ("CH4", 1.0), ("H2O", 1.0)],
    &[("N2", -1.0), ("H2", -3.0), ("NH3", 2.0)],
    &[
        ("ZnAl2O4(cr)", -1.0),
        ("ZnO(cr)", 1.0),
        ("Al2O3(cr,alpha)", 1.0),
    ],
    &[
        ("MgAl2O4(cr)", -1.0),
        ("MgO(cr)", 1.0),
        ("Al2O3(cr,alpha)", 1.0),
    ],
    &[("MgO(cr)", -1.0), ("CO2", -1.0), ("MgCO3(cr)", 1.0)],
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_other_mixture_of_the_same_elements_has_less_gibbs_energy(
        batch in batches(),
        t in 400.0..1750.0_f64,
        log_p in -2.0..2.0_f64,
        extents in prop::array::uniform7(-1.0..1.0_f64),
    ) {
        let p = 10.0_f64.powf(log_p);
        let answer = solve(&elements_of(batch), t, p);
        let least = composition(&answer);
        let g = gibbs(&least, t, p);
        prop_assert!((g - answer.gibbs_energy.get::<joule>()).abs() < 1e-9 * g.abs());
        let mut moved = least.clone();
        for (reaction, extent) in REACTIONS.iter().zip(extents) {
            // as far as the scarcest species allows, times `extent`
            let room = |sign: f64| {
                reaction
                    .iter()
                    .filter(|(_, n)| n * sign < 0.0)
                    .map(|(id, n)| moved.get(*id).copied().unwrap_or(0.0) / n.abs())
                    .fold(f64::INFINITY, f64::min)
            };
            let xi = extent.signum() * room(extent.signum()) * extent.abs();
            for (id, n) in *reaction {
                *moved.entry((*id).to_owned()).or_insert(0.0) += n * xi;
            }
        }
        let rounding = 1e-13 * g.abs();
        prop_assert!(gibbs(&moved, t, p) >= g - rounding);
    }

    #[test]
    fn a_scaled_batch_has_the_same_equilibrium_scaled(
        batch in batches(),
        t in 400.0..3000.0_f64,
        log_scale in -4.0..4.0_f64,
    ) {
        let scale = 10.0_f64.powf(log_scale);
        let elements = elements_of(batch);
        let scaled: Amounts = elements.iter().map(|(e, n)| (*e, *n * scale)).collect();
        let (one, other) = (solve(&elements, t, 1.0), solve(&scaled, t, 1.0));
        let miss = other.gibbs_energy / (one.gibbs_energy * scale);
        prop_assert!((miss.get::<ratio>() - 1.0).abs() < 1e-12);
        prop_assert_eq!(one.amounts.len(), other.amounts.len());
        for species in &one.amounts {
            let n = species.amount.get::<mole>() * scale;
            let found = other.amount_of(&species.id).get::<mole>();
            // condensed amounts far below the rest are differences
            prop_assert!((found - n).abs() < 1e-9 * n + 1e-13 * scale, "{}", species.id);
        }
    }

    #[test]
    fn the_order_of_species_and_elements_is_nothing(batch in batches(), t in 400.0..3000.0_f64) {
        let elements = elements_of(batch);
        let one = solve(&elements, t, 1.0);
        let mut turned = TABLES.clone();
        turned.species = turned.species.reversed();
        let mut backwards: Vec<Element> = elements.keys().copied().collect();
        backwards.reverse();
        let other = System::new(&turned, &backwards, SpeciesSet::Full, false)
            .equilibrium(&elements, at(t), Pressure::new::<bar>(1.0))
            .unwrap();
        for species in &one.amounts {
            let n = species.amount.get::<mole>();
            let found = other.amount_of(&species.id).get::<mole>();
            prop_assert!((found - n).abs() < 1e-9 * n + 1e-12, "{}: {n}, {found}", species.id);
        }
    }

    #[test]
    fn species_of_an_absent_element_change_nothing(batch in batches(), t in 400.0..3000.0_f64) {
        let elements = elements_of(batch);
        let one = solve(&elements, t, 1.0);
        let mut more: Vec<Element> = elements.keys().copied().collect();
        more.extend(amounts(&[("NiFe2O4", 1.0), ("SrCO3", 1.0)]).keys());
        let mut with_none = elements.clone();
        for element in &more {
            with_none.entry(*element).or_insert_with(|| AmountOfSubstance::new::<mole>(0.0));
        }
        let other = System::new(&TABLES, &more, SpeciesSet::Full, false)
            .equilibrium(&with_none, at(t), Pressure::new::<bar>(1.0))
            .unwrap();
        prop_assert_eq!(one.amounts, other.amounts);
    }

    #[test]
    fn more_enthalpy_is_never_colder(
        batch in batches(),
        t in 300.0..4000.0_f64,
        extra in 1.0..1.0e6_f64,
    ) {
        let elements = elements_of(batch);
        let start = solve(&elements, t, 1.0);
        let list: Vec<Element> = elements.keys().copied().collect();
        let mut system = System::new(&TABLES, &list, SpeciesSet::Full, false);
        let mut hot = |h: Energy| {
            let answer = system.adiabatic(&elements, h, Pressure::new::<bar>(1.0)).unwrap();
            let on_transition = answer.transition.is_some();
            (answer.equilibrium.temperature.get::<kelvin>(), on_transition)
        };
        let (low, _) = hot(start.enthalpy);
        let (high, on_transition) = hot(start.enthalpy + Energy::new::<joule>(extra));
        prop_assert!(high > low || (on_transition && high > low * (1.0 - 1e-7)), "{low} {high}");
    }
}
