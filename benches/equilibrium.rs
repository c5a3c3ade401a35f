//! Speed of the equilibrium: one minimisation at T, p and one balance at H, p, each from nothing.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use emberpot::equilibrium::{SpeciesSet, System, element_amounts};
use emberpot::quantity::{AmountOfSubstance, Energy, ThermodynamicTemperature, standard_pressure};
use emberpot::{Formula, Tables};
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;
use uom::si::amount_of_substance::mole;
use uom::si::energy::kilojoule;
use uom::si::thermodynamic_temperature::kelvin;

/// Zinc aluminate with urea at φ = 1, hydrate water boiled off or kept. The enthalpies of the
/// salts are close to the tables' and only set the scale here.
fn spinel_and_urea(c: &mut Criterion) {
    let tables = Tables::built_in().unwrap();
    let pressure = standard_pressure();
    let urea = 20.0 / 3.0;
    for (name, water, start_kj) in [
        ("dried", 0.0, -483.7 - 2.0 * 1050.0 - 333.1 * urea),
        ("hydrated", 24.0, -2306.6 - 2.0 * 3757.06 - 333.1 * urea),
    ] {
        let mix = [
            ("Zn(NO3)2", 1.0),
            ("Al(NO3)3", 2.0),
            ("CO(NH2)2", urea),
            ("H2O", water),
        ];
        let formulas = mix.map(|(text, n)| (Formula::parse(text).unwrap(), n));
        let amounts = element_amounts(
            formulas
                .iter()
                .map(|(f, n)| (f, AmountOfSubstance::new::<mole>(*n))),
        );
        let elements: Vec<_> = amounts.keys().copied().collect();
        let mut system = System::new(&tables, &elements, SpeciesSet::Full, false);
        println!(
            "{} species of {} elements",
            system.species().len(),
            elements.len()
        );
        for t in [600.0, 1500.0, 2500.0] {
            let temperature = ThermodynamicTemperature::new::<kelvin>(t);
            c.bench_function(&format!("T,p {name} {t} K"), |bench| {
                bench.iter(|| {
                    system
                        .equilibrium(black_box(&amounts), temperature, pressure)
                        .unwrap()
                });
            });
        }
        let enthalpy = Energy::new::<kilojoule>(start_kj);
        let answer = system.adiabatic(&amounts, enthalpy, pressure).unwrap();
        println!(
            "{name}: {:.1} K, {} minimisations, {} iterations",
            answer.equilibrium.temperature.get::<kelvin>(),
            answer.solves,
            answer.iterations
        );
        c.bench_function(&format!("H,p {name}"), |bench| {
            bench.iter(|| {
                system
                    .adiabatic(black_box(&amounts), enthalpy, pressure)
                    .unwrap()
            });
        });
    }
}

/// The same minimisation in the independent scipy program, if EMBERPOT_PYTHON names an
/// interpreter that has scipy; both are timed here, one after the other, best of twenty.
fn against_scipy(_: &mut Criterion) {
    let Ok(python) = std::env::var("EMBERPOT_PYTHON") else {
        println!("set EMBERPOT_PYTHON to compare with the scipy minimiser");
        return;
    };
    let tables = Tables::built_in().unwrap();
    let urea = 20.0 / 3.0;
    let formulas = [("Zn(NO3)2", 1.0), ("Al(NO3)3", 2.0), ("CO(NH2)2", urea)]
        .map(|(text, n)| (Formula::parse(text).unwrap(), n));
    let amounts = element_amounts(
        formulas
            .iter()
            .map(|(f, n)| (f, AmountOfSubstance::new::<mole>(*n))),
    );
    let elements: Vec<_> = amounts.keys().copied().collect();
    let mut system = System::new(&tables, &elements, SpeciesSet::Full, false);
    let temperature = ThermodynamicTemperature::new::<kelvin>(1500.0);
    let mut ours = f64::INFINITY;
    for _ in 0..20 {
        let began = Instant::now();
        black_box(
            system
                .equilibrium(&amounts, temperature, standard_pressure())
                .unwrap(),
        );
        ours = ours.min(1e3 * began.elapsed().as_secs_f64());
    }
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/minimiser.py");
    let output = Command::new(python)
        .args([script, "spinel"])
        .output()
        .unwrap();
    let theirs: f64 = String::from_utf8(output.stdout)
        .unwrap()
        .trim()
        .parse()
        .unwrap();
    println!(
        "T,p at 1500 K: {ours:.4} ms here, {theirs:.3} ms with scipy: {:.0} times",
        theirs / ours
    );
}

criterion_group!(benches, spinel_and_urea, against_scipy);
criterion_main!(benches);
