//! Every row of the tables of product species against rules that a slipped digit breaks.

use crate::common::species::{at, formation_enthalpy, g, refuse, tables};
use emberpot::Element;
use emberpot::internal::source::Seen;
use emberpot::internal::tables::{HeatCapacityKind, Phase};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use uom::si::molar_mass::gram_per_mole;
use uom::si::thermodynamic_temperature::kelvin;

/// Stoichiometric iron(II) oxide is a component of sums and not used hot by itself: wüstite is
/// Fe0.947O. Its crystal ends at 298.15 K, so it has neither a transition nor a form at 800 K.
const COMPONENT_ONLY: &str = "FeO";

#[test]
fn the_tables_are_as_wide_as_they_claim() {
    let tables = tables();
    let gases = tables
        .species
        .iter()
        .filter(|s| !s.phase.is_condensed())
        .count();
    assert!(gases >= 160, "{gases} gases");
    assert!(tables.species.len() - gases >= 500);
    for id in [
        "SrAl2O4(cr)",
        "Sr3Al2O6(cr)",
        "SrAl12O19(cr)",
        "Sr4Al14O25(cr)",
        "CaAl2O4(cr)",
        "CaAl4O7(cr)",
        "Ca3Al2O6(cr)",
        "CaAl12O19(cr)",
        "BaAl2O4(cr)",
        "MgAl2O4(cr)",
        "ZnAl2O4(cr)",
        "NiAl2O4(cr)",
        "CoAl2O4(cr)",
        "Y3Al5O12(cr)",
        "YAlO3(cr,perovskite)",
        "LaAlO3(cr)",
        "LaMnO3(cr)",
        "LaFeO3(cr)",
        "LaCoO3(cr)",
        "LaCrO3(cr)",
        "MgFe2O4(cr)",
        "ZnFe2O4(cr)",
        "NiFe2O4(cr)",
        "CoFe2O4(cr)",
        "MnFe2O4(cr)",
        "CuFe2O4(cr)",
        "CaTiO3(cr)",
        "SrTiO3(cr)",
        "BaTiO3(cr)",
        "Mg2SiO4(cr)",
        "Zn2SiO4(cr)",
        "ZrSiO4(cr)",
        "CaZrO3(cr)",
        "BaZrO3(cr)",
        "MgCr2O4(cr)",
        "CuCr2O4(cr)",
        "BaFe12O19(cr)",
        "SrB2O4(cr)",
        "CaB2O4(cr)",
        "YBO3(cr)",
        "La2O3(cr,A)",
        "CeO2(cr)",
        "Ce2O3(cr,A)",
        "Pr2O3(cr,A)",
        "PrO2(cr)",
        "Pr6O11(cr)",
        "Nd2O3(cr,A)",
        "Sm2O3(cr,B)",
        "EuO(cr)",
        "Eu2O3(cr,C)",
        "Gd2O3(cr,C)",
        "Tb2O3(cr,C)",
        "TbO2(cr)",
        "Tb4O7(cr)",
        "Dy2O3(cr,C)",
        "Ho2O3(cr,C)",
        "Er2O3(cr,C)",
        "Tm2O3(cr,C)",
        "Yb2O3(cr,C)",
        "Lu2O3(cr,C)",
        "Y2O3(cr,C)",
        "ZrO2(cr,monoclinic)",
        "HfO2(cr)",
        "Bi2O3(cr)",
        "Ag(cr)",
        "H2O(l)",
    ] {
        assert!(tables.species_by_id(id).is_some(), "{id} is missing");
    }
}

#[test]
fn every_value_names_a_source_and_a_place_in_it() {
    let tables = tables();
    let mut wrong = Vec::new();
    for s in tables.species.iter() {
        let mut cited = vec![(
            &s.heat_capacity_origin.source,
            &s.heat_capacity_origin.locator,
        )];
        cited.extend(s.formation_enthalpy.iter().map(|v| (&v.source, &v.locator)));
        cited.extend(s.entropy.iter().map(|v| (&v.source, &v.locator)));
        cited.extend(s.melting_point.iter().map(|v| (&v.source, &v.locator)));
        for (source, locator) in cited {
            if tables.sources.get(source).is_none() || locator.trim().is_empty() {
                wrong.push(format!("{}: `{source}`, `{locator}`", s.id));
            }
        }
        let reference_element = formation_enthalpy(s) == Some(0.0);
        let has_band = s
            .formation_enthalpy
            .as_ref()
            .is_none_or(|v| v.uncertainty.is_some());
        if !has_band && !reference_element {
            wrong.push(format!("{}: no band on the formation enthalpy", s.id));
        }
    }
    refuse(&wrong);
}

#[derive(Deserialize)]
struct MolarMasses {
    tolerance: f64,
    mass: BTreeMap<String, f64>,
}

#[test]
fn molar_masses_follow_from_the_formulas() {
    let reference: MolarMasses =
        toml::from_str(include_str!("reference/molar_masses.toml")).unwrap();
    let tables = tables();
    let mut wrong = Vec::new();
    let mut compared = 0;
    for (id, mass) in &reference.mass {
        let Some(species) = tables.species_by_id(id) else {
            wrong.push(format!("{id} is gone"));
            continue;
        };
        compared += 1;
        let own = species.formula.molar_mass().get::<gram_per_mole>();
        if (own / mass - 1.0).abs() > reference.tolerance {
            wrong.push(format!("{id}: {own:.4} g/mol, {mass} in the reference"));
        }
    }
    assert!(compared > 430, "{compared}");
    refuse(&wrong);
}

#[test]
fn column_sums_are_those_of_the_checked_tables() {
    let reference: toml::Table = toml::from_str(include_str!("reference/digests.toml")).unwrap();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tables/species");
    let files = reference["file"].as_array().unwrap();
    let number = |v: &toml::Value| v.as_float().or(v.as_integer().map(|i| i as f64)).unwrap();
    let mut wrong = Vec::new();
    for file in files {
        let name = file["name"].as_str().unwrap();
        let text = std::fs::read_to_string(folder.join(name)).unwrap();
        let table: toml::Table = toml::from_str(&text).unwrap();
        let rows = table["species"].as_array().unwrap();
        let mut compare = |what: String, found: f64, expected: f64, size: f64| {
            // the order of summation: one part in 1e12 of the sum of the absolute values
            if (found - expected).abs() > 1e-12 * size.max(1.0) {
                wrong.push(format!("{name}: {what}: {found} instead of {expected}"));
            }
        };
        compare("rows".into(), rows.len() as f64, number(&file["rows"]), 0.0);
        for key in [
            "formation_enthalpy",
            "enthalpy_from_components",
            "entropy",
            "fusion_enthalpy",
            "melting_point",
        ] {
            let values: Vec<f64> = rows
                .iter()
                .filter_map(|row| Some(number(&row.get(key)?["value"])))
                .collect();
            let size = values.iter().map(|v| v.abs()).sum();
            compare(key.into(), values.iter().sum(), number(&file[key]), size);
        }
        let pieces: Vec<&toml::Value> = rows
            .iter()
            .filter_map(|row| row.get("cp")?.as_array())
            .flatten()
            .collect();
        let edges = pieces
            .iter()
            .map(|p| number(&p["from"]) + number(&p["to"]))
            .sum();
        compare(
            "temperatures".into(),
            edges,
            number(&file["temperatures"]),
            edges,
        );
        for form in ["nine_term", "six_term"] {
            for (i, expected) in file[form].as_array().unwrap().iter().enumerate() {
                let column: Vec<f64> = pieces
                    .iter()
                    .filter(|p| p["form"].as_str() == Some(form))
                    .map(|p| number(&p["c"].as_array().unwrap()[i]))
                    .collect();
                let size = column.iter().map(|v| v.abs()).sum();
                compare(
                    format!("{form} c{}", i + 1),
                    column.iter().sum(),
                    number(expected),
                    size,
                );
            }
        }
    }
    let on_disk = std::fs::read_dir(folder).unwrap().count();
    assert_eq!(on_disk, files.len(), "a file has no digest");
    refuse(&wrong);
}

#[test]
fn phases_cross_where_they_turn_into_each_other() {
    let tables = tables();
    let mut wrong = Vec::new();
    for species in tables.species.iter() {
        let Some(next) = &species.next else { continue };
        if species.formula.to_string() == COMPONENT_ONLY {
            continue;
        }
        let above = tables.species_by_id(&next.id).unwrap();
        let t = next.temperature.get::<kelvin>();
        let gap = |t: f64| g(above, t) - g(species, t);
        // 0.1 kJ/mol: sources round transition temperatures to 1 K and enthalpies to 0.1 kJ/mol
        if gap(t).abs() > 0.1 || gap(t - 40.0) < 0.0 || gap(t + 40.0) > 0.0 {
            wrong.push(format!(
                "{} -> {} at {t} K: {:.3} {:.3} {:.3} kJ/mol",
                species.id,
                next.id,
                gap(t - 40.0),
                gap(t),
                gap(t + 40.0)
            ));
        }
    }
    refuse(&wrong);
}

#[test]
fn some_condensed_phase_of_every_compound_is_usable_at_any_temperature() {
    let tables = tables();
    let mut wrong = Vec::new();
    let condensed = tables.species.iter().filter(|s| s.phase.is_condensed());
    for species in condensed.filter(|s| s.formula.to_string() != COMPONENT_ONLY) {
        for t in [250.0, 298.15, 800.0, 1500.0, 2500.0, 4000.0, 5999.0] {
            if tables.stable_condensed(&species.formula, at(t)).is_none() {
                wrong.push(format!("{} at {t} K", species.formula));
            }
        }
    }
    refuse(&wrong);
}

#[test]
fn the_stable_form_is_the_known_one() {
    let tables = tables();
    // polymorphism as the handbooks have it, common practice
    for (formula, t, id) in [
        ("Al2O3", 298.15, "Al2O3(cr,alpha)"),
        ("Al2O3", 2200.0, "Al2O3(cr,alpha)"),
        ("Al2O3", 2400.0, "Al2O3(l)"),
        ("TiO2", 1000.0, "TiO2(cr,rutile)"),
        ("ZrO2", 1000.0, "ZrO2(cr,monoclinic)"),
        ("ZrO2", 2000.0, "ZrO2(cr,tetragonal)"),
        ("CaCO3", 1000.0, "CaCO3(cr)"),
        ("SiO2", 298.15, "SiO2(cr,quartz)"),
        ("Fe2O3", 1500.0, "Fe2O3(cr,hematite)"),
        ("CaSiO3", 1000.0, "CaSiO3(cr)"),
        ("PbO", 900.0, "PbO(cr,yellow)"),
        ("B2O3", 1000.0, "B2O3(l)"),
        ("Eu2O3", 1000.0, "Eu2O3(cr,C)"),
        ("Fe", 1500.0, "Fe(cr,gamma)"),
    ] {
        let formula = emberpot::Formula::parse(formula).unwrap();
        assert_eq!(
            tables.stable_condensed(&formula, at(t)).unwrap().id,
            id,
            "at {t} K"
        );
    }
}

#[test]
fn sums_of_components_are_flagged_and_elements_add_up() {
    let tables = tables();
    let mut estimated = 0;
    for species in tables.species.iter() {
        if species.heat_capacity_kind == HeatCapacityKind::SumOfComponents {
            estimated += 1;
            assert_eq!(species.reliability(), Seen::Estimated, "{}", species.id);
        }
        let mut left = species.formula.amounts().clone();
        for (id, n) in &species.components {
            for (element, amount) in tables.species_by_id(id).unwrap().formula.amounts() {
                *left.entry(*element).or_insert(0.0) -= n * amount;
            }
        }
        if !species.components.is_empty() {
            assert!(
                left.values().all(|rest| rest.abs() < 1e-4),
                "{}: {left:?}",
                species.id
            );
        }
    }
    assert!(estimated > 80, "{estimated}");
}

#[test]
fn a_missing_melt_and_extrapolation_are_told() {
    let tables = tables();
    let species = |id: &str| tables.species_by_id(id).unwrap();
    assert!(species("CaAl12O19(cr)").no_liquid_data);
    assert!(!species("Al2O3(cr,alpha)").no_liquid_data);
    assert!(species("SrZrO3(cr)").is_extrapolated(at(2100.0)));
    assert!(!species("Al2O3(cr,alpha)").is_extrapolated(at(2000.0)));
    // beyond the overlap with the melt the crystal is not there any more
    assert!(
        species("Al2O3(cr,alpha)")
            .molar_enthalpy(at(2400.0))
            .is_err()
    );
    assert!(species("Al2O3(l)").molar_enthalpy(at(2200.0)).is_err());
}

#[test]
fn species_are_found_by_id_formula_or_name() {
    let tables = tables();
    let ids = |name: &str| -> Vec<String> {
        tables
            .find_species(name)
            .iter()
            .map(|s| s.id.clone())
            .collect()
    };
    assert_eq!(ids("Al2O3(l)"), ["Al2O3(l)"]);
    assert_eq!(ids("corundum"), ["Al2O3(cr,alpha)"]);
    assert!(ids("H2O").contains(&"H2O(l)".to_owned()));
    assert!(ids("Al2O3").len() >= 5);
    assert!(ids("AlMgO").is_empty());
    assert!(
        tables
            .close_species_names("corundun", 3)
            .contains(&"corundum")
    );
    assert!(tables.alternatives_of("MgO(cr)").count() >= 2);
}

#[test]
fn phases_without_data_are_listed_apart_from_the_others() {
    let tables = tables();
    assert!(tables.known_phases.len() > 60);
    for phase in &tables.known_phases {
        let same = tables.phases_of(&phase.formula);
        assert!(same.is_empty(), "{} has data", phase.formula);
    }
}

#[test]
fn every_built_in_table_can_be_read_and_names_only_species_of_the_tables() {
    let tables = tables();
    let crystal = |id: &String| {
        let species = tables.species_by_id(id);
        species.is_some_and(|s| s.phase == Phase::Crystal)
    };
    for solution in tables.solutions.iter() {
        let unknown = solution
            .members
            .iter()
            .chain(&solution.guests)
            .find(|id| !crystal(id));
        assert_eq!(unknown, None, "{}", solution.name);
    }
    for row in tables.alternatives.iter() {
        assert!(tables.species_by_id(&row.of).is_some(), "{}", row.of);
    }
    // Printing asks for every table, also those that no other test of this file looks at.
    assert!(format!("{tables:?}").len() > 1_000_000);
}

#[test]
fn what_a_species_is_found_by_before_its_row_is_read_is_what_the_row_says() {
    let tables = tables();
    let mut ids = BTreeSet::new();
    for species in tables.species.iter() {
        assert!(ids.insert(species.id.clone()), "{} twice", species.id);
        assert_eq!(tables.species_by_id(&species.id).unwrap().id, species.id);
        let elements: Vec<Element> = species.formula.amounts().keys().copied().collect();
        let mut of_these = tables.species.of_elements(&elements);
        assert!(of_these.any(|other| other.id == species.id));
        let without = tables.species.of_elements(&elements[1..]);
        assert!(without.into_iter().all(|other| other.id != species.id));
        let same = tables.phases_of(&species.formula);
        assert!(same.iter().any(|other| other.id == species.id));
        for name in &species.names {
            let found = tables.find_species(name);
            assert!(found.iter().any(|other| other.id == species.id), "{name}");
        }
    }
}
