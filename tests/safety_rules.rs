//! The cautions as a table: each can hold, none is shown twice, and the order is that of severity.

use emberpot::Tables;
use emberpot::internal::advice::{Observed, warnings};
use emberpot::internal::tables::HazardGroup;
use emberpot::internal::tables::cautions::{Condition, Measure, Rule};
use std::collections::BTreeSet;

/// What makes all conditions of a rule hold.
fn fulfilled(rule: &Rule, tables: &Tables) -> Observed {
    let mut observed = Observed::default();
    for condition in &rule.when {
        match condition {
            Condition::Always => {}
            Condition::Above(measure, limit) => {
                observed.measures.insert(*measure, limit + 1.0);
                observed.about.insert(*measure, "an agent".to_owned());
            }
            Condition::Below(measure, limit) => {
                observed.measures.insert(*measure, limit - 0.1);
            }
            Condition::Flag(flag) => {
                observed.flags.insert(*flag, "a detail".to_owned());
            }
            Condition::ProductHas(elements) => observed.product.extend(elements),
            Condition::Toxic(class) => {
                let row = tables
                    .safety
                    .toxic
                    .iter()
                    .find(|row| &row.class == class)
                    .unwrap();
                observed.product.insert(row.element);
            }
            Condition::Reactant(ids) => {
                observed
                    .reactants
                    .insert(ids[0].clone(), format!("name of {}", ids[0]));
            }
            Condition::HazardGroup(groups) => {
                let name = format!("a reactant of the group {}", groups[0]);
                observed.groups.insert(groups[0], vec![name]);
            }
            Condition::HeatedBy(ways) => observed.heated_by = Some(ways[0]),
        }
    }
    observed
}

#[test]
fn every_rule_can_hold_and_fills_its_text() {
    let tables = Tables::built_in().unwrap();
    for rule in &tables.safety.rules {
        let observed = fulfilled(rule, &tables);
        let alone = std::slice::from_ref(rule);
        let found = warnings(&observed, alone, &tables.safety.toxic);
        assert_eq!(found.len(), 1, "{}", rule.id);
        assert!(
            !found[0].text.contains(['{', '}']),
            "{}: {}",
            rule.id,
            found[0].text
        );
        assert_eq!(found[0].code, rule.id);
    }
}

#[test]
fn no_conditional_rule_holds_when_nothing_is_known() {
    let tables = Tables::built_in().unwrap();
    let found = warnings(
        &Observed::default(),
        &tables.safety.rules,
        &tables.safety.toxic,
    );
    for warning in &found {
        let rule = tables
            .safety
            .rules
            .iter()
            .find(|rule| rule.id == warning.code)
            .unwrap();
        assert_eq!(rule.when, [Condition::Always], "{}", rule.id);
    }
    assert!(found.iter().any(|warning| warning.code == "local-rules"));
}

#[test]
fn groups_and_reactants_that_rules_name_are_in_the_tables() {
    let tables = Tables::built_in().unwrap();
    let known: BTreeSet<&str> = tables.reactants.iter().map(|r| r.id.as_str()).collect();
    for rule in &tables.safety.rules {
        for condition in &rule.when {
            let Condition::HazardGroup(groups) = condition else {
                continue;
            };
            for group in groups {
                let acid = *group == HazardGroup::NitricAcid;
                let any = tables.reactants.iter().any(|r| r.is_in(*group));
                assert!(acid || any, "{}: no reactant is in {group}", rule.id);
            }
        }
    }
    for row in &tables.safety.vessels.fuels {
        for id in &row.ids {
            assert!(
                id == "*" || known.contains(id.as_str()),
                "vessels.toml: {id}"
            );
        }
    }
    for bracket in &tables.safety.fumes.brackets {
        for id in &bracket.fuels {
            assert!(known.contains(id.as_str()), "fumes.toml: {id}");
        }
    }
}

#[test]
fn warnings_come_by_severity_and_a_group_shows_only_its_worst() {
    let tables = Tables::built_in().unwrap();
    let mut everything = Observed::default();
    for rule in &tables.safety.rules {
        let own = fulfilled(rule, &tables);
        everything.measures.extend(own.measures);
        everything.about.extend(own.about);
        everything.flags.extend(own.flags);
        everything.product.extend(own.product);
        everything.groups.extend(own.groups);
    }
    everything.measures.insert(Measure::DryMass, 1000.0);
    let found = warnings(&everything, &tables.safety.rules, &tables.safety.toxic);
    assert!(
        found
            .windows(2)
            .all(|pair| pair[0].severity <= pair[1].severity)
    );
    let codes: BTreeSet<&str> = found.iter().map(|w| w.code.as_str()).collect();
    assert_eq!(codes.len(), found.len(), "a code comes twice");
    let mut groups = BTreeSet::new();
    for warning in &found {
        let rule = tables
            .safety
            .rules
            .iter()
            .find(|rule| rule.id == warning.code)
            .unwrap();
        if let Some(group) = &rule.group {
            assert!(groups.insert(group.clone()), "{group} comes twice");
        }
    }
    assert!(codes.contains("batch-refused-size") && !codes.contains("batch-large"));
}

#[test]
fn the_usual_cautions_are_in_every_report() {
    // issue of the fumes and cautions: nanopowder, fire, hot vessel, waste, storing the gel, and
    // the deference to those in charge
    let tables = Tables::built_in().unwrap();
    for id in [
        "nanopowder",
        "fire-and-splash",
        "hot-vessel",
        "waste",
        "never-store-gel",
        "local-rules",
    ] {
        let rule = tables
            .safety
            .rules
            .iter()
            .find(|rule| rule.id == id)
            .unwrap();
        assert_eq!(rule.when, [Condition::Always], "{id}");
    }
    for symbol in ["Ni", "Co", "Cr", "Pb", "Cd", "Ba", "V", "Mn"] {
        let known = tables
            .safety
            .toxic
            .iter()
            .any(|row| row.element.symbol() == symbol);
        assert!(known, "{symbol}");
    }
}

#[test]
fn no_caution_tells_anyone_to_close_a_vessel_or_to_take_a_larger_batch() {
    let tables = Tables::built_in().unwrap();
    for rule in &tables.safety.rules {
        let text = rule.text.to_lowercase();
        for words in [
            "larger batch",
            "bigger batch",
            "more batch",
            "close the",
            "seal the",
            "cap it",
        ] {
            assert!(!text.contains(words), "{}: {words}", rule.id);
        }
    }
}
