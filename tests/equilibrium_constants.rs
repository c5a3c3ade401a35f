//! Equilibrium constants, read off the composition that the minimiser finds, against log Kf of
//! the NIST-JANAF tables (tests/reference/janaf_constants.toml, with its generator beside it).

use crate::common::species::{at, g, refuse, tables};
use crate::common::{amounts, system};
use emberpot::equilibrium::SpeciesSet;
use emberpot::internal::tables::{Phase, Species};
use emberpot::quantity::{GAS_CONSTANT, REFERENCE_TEMPERATURE, standard_pressure};
use emberpot::{Formula, Tables};
use serde::Deserialize;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::ratio::ratio;

#[derive(Deserialize)]
struct Reference {
    reaction: Vec<Reaction>,
}

#[derive(Deserialize)]
struct Reaction {
    equation: String,
    temperature_k: Vec<f64>,
    log10_k: Vec<f64>,
    reaction_enthalpy_298_kj: f64,
}

/// What is equilibrated, and the gases of the reaction with their stoichiometric numbers.
type Case = (
    &'static [(&'static str, f64)],
    &'static [(&'static str, f64)],
);

fn case(equation: &str) -> Case {
    match equation {
        "CO + H2O = CO2 + H2" => (
            &[("CO", 1.0), ("H2O", 1.2)],
            &[("CO", -1.0), ("H2O", -1.0), ("CO2", 1.0), ("H2", 1.0)],
        ),
        "C + CO2 = 2 CO" => (&[("C", 3.0), ("O2", 1.0)], &[("CO2", -1.0), ("CO", 2.0)]),
        "N2 + O2 = 2 NO" => (
            &[("N2", 3.76), ("O2", 1.0)],
            &[("N2", -1.0), ("O2", -1.0), ("NO", 2.0)],
        ),
        "CO2 = CO + 1/2 O2" => (&[("CO2", 1.0)], &[("CO2", -1.0), ("CO", 1.0), ("O2", 0.5)]),
        "H2O = H2 + 1/2 O2" => (&[("H2O", 1.0)], &[("H2O", -1.0), ("H2", 1.0), ("O2", 0.5)]),
        "1/2 N2 + 3/2 H2 = NH3" => (
            &[("N2", 1.0), ("H2", 3.0)],
            &[("N2", -0.5), ("H2", -1.5), ("NH3", 1.0)],
        ),
        "N2O4 = 2 NO2" => (&[("N2", 1.0), ("O2", 2.0)], &[("N2O4", -1.0), ("NO2", 2.0)]),
        other => panic!("no case for {other}"),
    }
}

#[test]
fn constants_agree_with_janaf() {
    let text = include_str!("reference/janaf_constants.toml");
    let reference: Reference = toml::from_str(text).unwrap();
    let tables = Tables::built_in().unwrap();
    let mut compared = 0;
    for reaction in &reference.reaction {
        let (mix, gases) = case(&reaction.equation);
        let amounts = amounts(mix);
        let mut system = system(&tables, &amounts, SpeciesSet::Full);
        let enthalpy_kj: f64 = gases
            .iter()
            .map(|(id, number)| {
                let species = tables.species_by_id(id).unwrap();
                let molar = species.molar_enthalpy(at(REFERENCE_TEMPERATURE)).unwrap();
                number * molar.get::<kilojoule_per_mole>()
            })
            .sum();
        for (t, log10_k) in reaction.temperature_k.iter().zip(&reaction.log10_k) {
            let answer = system
                .equilibrium(&amounts, at(*t), standard_pressure())
                .unwrap();
            let found: f64 = gases
                .iter()
                .map(|(id, number)| {
                    let species = answer.amounts.iter().find(|s| s.id == *id).unwrap();
                    number * species.amount_fraction.unwrap().get::<ratio>().log10()
                })
                .sum();
            // The two data sets differ in formation enthalpies (NO: 91.271 against 90.291 kJ/mol),
            // which the constant feels as exp(−ΔH/RT); that part is known and taken out.
            let shift = -1e3 * (enthalpy_kj - reaction.reaction_enthalpy_298_kj)
                / (GAS_CONSTANT * t * std::f64::consts::LN_10);
            let factor = 10.0_f64.powf(found - log10_k - shift);
            println!(
                "{:24} {t:6.0} K log10 K {found:9.4}, JANAF {log10_k:9.4}, ratio {:.4}, with \
                 JANAF's enthalpies {factor:.4}",
                reaction.equation,
                10.0_f64.powf(found - log10_k),
            );
            // Left over: log Kf is printed to 0.001 a species, which is up to 1 % in K with
            // three species. Above 2500 K the newer fit of steam has a larger heat capacity
            // (58.3 against 57.1 J/(mol K) at 3500 K), worth 2 % in K.
            // 2 S°(NO2) − S°(N2O4) at 298.15 K is 0.20 J/(mol K) larger here, worth 2.4 %.
            let tolerance = match reaction.equation.as_str() {
                "N2O4 = 2 NO2" => 0.03,
                _ if *t > 2500.0 => 0.025,
                _ => 0.015,
            };
            assert!(
                (factor - 1.0).abs() < tolerance,
                "{} at {t} K: {factor}",
                reaction.equation
            );
            compared += 1;
        }
    }
    println!("{compared} constants compared");
    assert!(compared >= 35);
}

#[derive(Deserialize)]
struct Measured {
    reaction: Vec<MeasuredReaction>,
}

/// A reaction whose Gibbs energy was measured, as an equation over a range or at single points.
#[derive(Deserialize)]
struct MeasuredReaction {
    equation: String,
    /// Formula and its stoichiometric number.
    terms: Vec<(String, f64)>,
    /// a, b, c of a + b T + c T ln T, J.
    gibbs_j: Option<[f64; 3]>,
    from_k: Option<f64>,
    to_k: Option<f64>,
    /// T in K, ΔG in J.
    #[serde(default)]
    points: Vec<(f64, f64)>,
    uncertainty_kj: f64,
    source: String,
    /// Why the tables keep to other values, where they lie farther away than the bands allow.
    miss: Option<String>,
}

impl MeasuredReaction {
    fn points(&self) -> Vec<(f64, f64)> {
        let Some([a, b, c]) = self.gibbs_j else {
            return self.points.clone();
        };
        let (low, high) = (self.from_k.unwrap(), self.to_k.unwrap());
        [low, 0.5 * (low + high), high]
            .map(|t| (t, a + b * t + c * t * t.ln()))
            .to_vec()
    }
}

/// Half width of the band of the formation enthalpy, kJ/mol: that of the crystal form that has one.
fn enthalpy_band(tables: &Tables, formula: &Formula) -> f64 {
    let of = |s: &Species| s.formation_enthalpy.as_ref()?.written_uncertainty();
    let mut forms = tables.species.iter().filter(|s| s.formula == *formula);
    forms
        .find_map(|s| of(s).filter(|_| s.phase != Phase::Gas))
        .unwrap_or(0.0)
}

#[test]
fn measured_equilibria_are_met() {
    let text = include_str!("reference/measured_equilibria.toml");
    let measured: Measured = toml::from_str(text).unwrap();
    let tables = tables();
    let mut wrong = Vec::new();
    for reaction in &measured.reaction {
        for (t, expected) in reaction.points() {
            let (mut found, mut band) = (0.0, 0.0);
            for (text, number) in &reaction.terms {
                let formula = Formula::parse(text).unwrap();
                let gas = tables.species_by_id(text).filter(|_| text == "O2");
                let species = gas
                    .or_else(|| tables.stable_condensed(&formula, at(t)))
                    .unwrap_or_else(|| panic!("{text} at {t} K"));
                found += number * g(species, t);
                // the product comes last: its band is that of the reaction, from its own sources
                band = reaction
                    .uncertainty_kj
                    .hypot(number * enthalpy_band(&tables, &formula));
            }
            let expected = expected / 1e3;
            let line = format!(
                "{} at {t:.0} K: {found:.1} kJ, {expected:.1} measured ± {}, band {band:.1} ({})",
                reaction.equation, reaction.uncertainty_kj, reaction.source
            );
            println!("{line}");
            if ((found - expected).abs() > band) != reaction.miss.is_some() {
                wrong.push(line);
            }
        }
    }
    assert!(measured.reaction.len() >= 35);
    refuse(&wrong);
}
