//! The tables beside the NBS tables of 1982, and one value for a substance on both sides.

use approx::assert_relative_eq;
use emberpot::Tables;
use emberpot::internal::tables::Phase;
use emberpot::internal::tables::{Role, State};
use emberpot::quantity::MolarEnergy;
use serde::Deserialize;
use std::collections::BTreeSet;
use uom::si::molar_energy::kilojoule_per_mole;

fn kj(q: MolarEnergy) -> f64 {
    q.get::<kilojoule_per_mole>()
}

#[derive(Deserialize)]
struct Published {
    rows: Vec<(String, String, f64)>,
    count: usize,
    sum: f64,
}

#[derive(Deserialize)]
struct Differences {
    difference: Vec<Difference>,
}

#[derive(Deserialize)]
struct Difference {
    reason: String,
    of: BTreeSet<String>,
}

/// Above this a difference needs a reason, kJ/mol: the bands that most rows of both have.
const LARGE: f64 = 3.0;

#[test]
fn what_differs_from_the_nbs_tables_has_a_reason() {
    let published: Published = toml::from_str(include_str!("reference/nbs_1982.toml")).unwrap();
    let differences: Differences =
        toml::from_str(include_str!("reference/nbs_differences.toml")).unwrap();
    assert!(differences.difference.iter().all(|d| d.reason.len() > 20));
    let explained: BTreeSet<&String> = differences.difference.iter().flat_map(|d| &d.of).collect();
    assert_eq!(published.rows.len(), published.count);
    let sum: f64 = published.rows.iter().map(|r| r.2).sum();
    assert_relative_eq!(sum, published.sum, epsilon = 1e-3);
    let tables = Tables::built_in().unwrap();
    let mut large = BTreeSet::new();
    for (kind, id, value) in &published.rows {
        let ours = if kind == "reactant" {
            let row = tables.reactants.iter().find(|r| &r.id == id).unwrap();
            kj(row.formation_enthalpy.as_ref().unwrap().value)
        } else {
            let row = tables.species_by_id(id).unwrap();
            kj(row.formation_enthalpy.as_ref().unwrap().value)
        };
        if (ours - value).abs() > LARGE {
            large.insert(id);
        }
    }
    let unexplained: Vec<_> = large.difference(&explained).collect();
    let idle: Vec<_> = explained.difference(&large).collect();
    assert!(unexplained.is_empty(), "no reason for {unexplained:?}");
    assert!(idle.is_empty(), "a reason without a difference: {idle:?}");
}

#[test]
fn a_substance_that_is_burnt_and_formed_has_one_enthalpy() {
    let tables = Tables::built_in().unwrap();
    let mut both = 0;
    for row in tables.reactants.iter() {
        let phase = match row.state {
            State::Solid => Phase::Crystal,
            State::Liquid => Phase::Liquid,
            State::Solution => continue,
        };
        // amorphous silica is another form than any product of the tables
        if row.role == Role::Fuel || row.id == "fumed_silica" {
            continue;
        }
        // the form that is stable at 298 K is the one on the bottle; boehmite turns into diaspore
        // only in hot water under pressure
        let sold = |id: &str| row.id != "boehmite" || id == "AlOOH(cr,boehmite)";
        let formed = tables
            .species
            .iter()
            .filter(|s| sold(&s.id))
            .filter(|s| s.phase == phase && s.formula.amounts() == row.formula.amounts())
            .filter_map(|s| s.formation_enthalpy.as_ref())
            .map(|h| kj(h.value))
            .min_by(f64::total_cmp);
        if let Some(formed) = formed {
            both += 1;
            let burnt = kj(row.formation_enthalpy.as_ref().unwrap().value);
            assert_relative_eq!(burnt, formed, epsilon = 1e-6);
        }
    }
    assert!(both >= 50, "{both}");
}
