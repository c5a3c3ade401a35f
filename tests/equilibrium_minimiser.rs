//! Random mixtures against an independent minimiser (tests/reference/minimiser.py): same phases,
//! same Gibbs energy, same amounts.

use crate::common::{Amounts, at};
use emberpot::equilibrium::{SpeciesSet, System};
use emberpot::quantity::{AmountOfSubstance, Pressure};
use emberpot::{Element, Formula, Tables};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::time::Instant;
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::molar_energy::joule_per_mole;
use uom::si::pressure::bar;

#[derive(Deserialize)]
struct Reference {
    left_out: usize,
    milliseconds_per_case: f64,
    case: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    temperature_k: f64,
    pressure_bar: f64,
    species: usize,
    data_fingerprint_j: f64,
    elements: BTreeMap<String, f64>,
    gibbs_energy_j: f64,
    balance_miss: f64,
    condensed: BTreeMap<String, f64>,
    gas: BTreeMap<String, f64>,
}

fn element(symbol: &str) -> Element {
    *Formula::parse(symbol)
        .unwrap()
        .amounts()
        .keys()
        .next()
        .unwrap()
}

#[test]
fn an_independent_minimiser_finds_the_same_equilibria() {
    let text = include_str!("reference/minimiser.toml");
    let reference: Reference = toml::from_str(text).unwrap();
    assert!(reference.case.len() >= 200);
    assert_eq!(reference.left_out, 0);
    let tables = Tables::built_in().unwrap();
    let (mut worst_g, mut worst_n, mut seconds) = (0.0_f64, 0.0_f64, 0.0);
    for (number, case) in reference.case.iter().enumerate() {
        let amounts: Amounts = case
            .elements
            .iter()
            .map(|(symbol, n)| (element(symbol), AmountOfSubstance::new::<mole>(*n)))
            .collect();
        let elements: Vec<Element> = amounts.keys().copied().collect();
        let mut system = System::new(&tables, &elements, SpeciesSet::Full, false);
        let data: Vec<f64> = system
            .species()
            .iter()
            .filter_map(|s| s.gibbs_energy(at(case.temperature_k)).ok())
            .map(|g| g.get::<joule_per_mole>())
            .collect();
        let sum: f64 = data.iter().sum();
        let same = (sum / case.data_fingerprint_j - 1.0).abs() <= 1e-10;
        assert!(
            data.len() == case.species && same,
            "case {number}: the tables have changed, write tests/reference/minimiser.toml anew"
        );
        let p = Pressure::new::<bar>(case.pressure_bar);
        let answer = system
            .equilibrium(&amounts, at(case.temperature_k), p)
            .unwrap();
        let began = Instant::now();
        system
            .equilibrium(&amounts, at(case.temperature_k), p)
            .unwrap();
        seconds += began.elapsed().as_secs_f64();

        let g = answer.gibbs_energy.get::<joule>();
        let miss = (g / case.gibbs_energy_j - 1.0).abs();
        worst_g = worst_g.max(miss);
        assert!(
            miss < 1e-8,
            "case {number}: G {g} J, reference {} J",
            case.gibbs_energy_j
        );
        let condensed: BTreeMap<&str, f64> = answer
            .condensed()
            .filter(|s| s.amount.get::<mole>() > 1e-8)
            .map(|s| (s.id.as_str(), s.amount.get::<mole>()))
            .collect();
        let expected: Vec<&str> = case.condensed.keys().map(String::as_str).collect();
        let found: Vec<&str> = condensed.keys().copied().collect();
        assert_eq!(found, expected, "case {number}");
        assert!(case.balance_miss < 1e-9);
        for (id, n) in case.condensed.iter().chain(&case.gas) {
            let found = answer.amount_of(id).get::<mole>();
            // Condensed amounts below 1e-6 mol are differences of larger numbers.
            let miss = (found - n).abs() / n.max(1e-6);
            worst_n = worst_n.max(miss);
            assert!(
                miss < 1e-5,
                "case {number}: {id} {found} mol, reference {n} mol"
            );
        }
    }
    let compared = reference.case.len();
    let ours = 1e3 * seconds / compared as f64;
    println!(
        "{compared} cases: largest difference {worst_g:.1e} in G, {worst_n:.1e} in amounts; \
         {ours:.3} ms a case here, {:.1} ms for the other minimiser when it wrote the file",
        reference.milliseconds_per_case
    );
}
