//! Every metal source of the tables burnt with glycine and with urea at φ = 1: a nitrate alone, any
//! other source beside magnesium nitrate.

use crate::common::elements_kept;
use crate::common::species::refuse;
use emberpot::internal::tables::{Reactant, Role};
use emberpot::{Batch, PrepareError, Prepared, Tables};
use rayon::prelude::*;
use uom::si::f64::Ratio;
use uom::si::ratio::ratio;

/// Millimoles of the source.
const AMOUNT: f64 = 5.0;

/// Whether one burn settles, closes its balance and leaves the metal in the powder; else what is wrong.
fn walk(row: &Reactant, fuel: &str, tables: &Tables) -> Result<(), String> {
    let mut text = format!(
        "[[ingredient]]\nsubstance = \"{}\"\namount = \"{AMOUNT} mmol\"\n\
         [[ingredient]]\nsubstance = \"{fuel}\"\namount = \"1 mmol\"\n",
        row.id
    );
    if row.role != Role::Oxidiser {
        // 10 electrons a formula unit: what the source reduces, and some more
        let valence = row.redox_valence.unwrap_or(0.0).max(0.0);
        let partner = AMOUNT * (1.0 + valence / 8.0);
        text += &format!(
            "[[ingredient]]\nsubstance = \"Mg(NO3)2·6H2O\"\namount = \"{partner} mmol\"\n"
        );
    }
    let batch = Batch::parse(&text, "walk", tables).map_err(|e| format!("batch: {e}"))?;
    let balanced = Ratio::new::<ratio>(1.0);
    let batch = batch
        .with_equivalence_ratio(balanced)
        .map_err(|e| format!("ratio: {e}"))?;
    let ready = Prepared::new(&batch, tables).map_err(|e| match e {
        PrepareError::Refused(refused) => {
            let reasons: Vec<String> = refused.reasons().iter().map(ToString::to_string).collect();
            format!("refused: {}", reasons.join("; "))
        }
        other => format!("prepare: {other}"),
    })?;
    for state in &ready.states {
        elements_kept(&ready.batch, state)?;
    }
    let metal = row.metal.as_ref().map(|metal| metal.element);
    let mut phases = ready.product.phases.iter();
    let stays = phases.any(|phase| metal.is_some_and(|m| phase.formula.amount_of(m) > 0.0));
    stays
        .then_some(())
        .ok_or_else(|| format!("its metal is not in the powder: {}", ready.product.name))
}

#[test]
fn every_metal_source_burns() {
    let tables = Tables::built_in().unwrap();
    let rows: Vec<&Reactant> = tables
        .reactants
        .iter()
        .filter(|r| r.metal.is_some())
        .collect();
    let ends: Vec<(&Reactant, &str, Result<(), String>)> = rows
        .par_iter()
        .flat_map(|row| {
            ["glycine", "urea"]
                .par_iter()
                .map(|fuel| (*row, *fuel, walk(row, fuel, &tables)))
        })
        .collect();
    // An alkali nitrate alone leaves no powder, and is refused as what it is: a propellant.
    let alkali = ["Li", "Na", "K", "Rb", "Cs"];
    let mut refused = Vec::new();
    for (row, fuel, end) in &ends {
        let metal = row.metal.as_ref().unwrap().element.symbol();
        match end {
            Ok(()) => {}
            Err(reason) if row.role == Role::Oxidiser && alkali.contains(&metal) => {
                assert!(reason.contains("propellant"), "{}: {reason}", row.id);
            }
            Err(reason) => refused.push(format!("{} with {fuel}: {reason}", row.id)),
        }
    }
    refuse(&refused);
    assert!(ends.len() > 440);
}
