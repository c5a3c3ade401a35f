//! A settled mixture as text and JSON.
//!
//! Fields of the JSON beside those of any equilibrium (`temperature_k`, `pressure_bar`,
//! `log10_oxygen_pressure_bar`, `amounts_mol` by species, `amount_fractions` of the gas,
//! `condensed`, `molten_fraction`, `carbon_monoxide_to_dioxide`, `hydrogen_to_steam`,
//! `carbon_activity`, `enthalpy_j`, `extrapolated`, `iterations`, `minimisations`, `residual`,
//! `potential_residual`, `transition_share`): `reactants_mol` by the name of what was taken,
//! `hazards` (why a batch with it is refused, by name), `species_set` ("full" or "fast"), `species_count`, `adiabatic_from_k` (null at a given
//! temperature).

use super::json::{SCHEMA_VERSION, adiabatic_json};
use super::number::{significant, temperature_text};
use super::text::wrapped;
use crate::equilibrium::{Equilibrium, SpeciesAmount, SpeciesSet};
use crate::settle::{Condition, Settled};
use serde_json::{Map, Value, json};
use std::fmt::{self, Write};
use uom::si::amount_of_substance::mole;
use uom::si::energy::kilojoule;
use uom::si::pressure::bar;
use uom::si::ratio::{percent, ratio};
use uom::si::thermodynamic_temperature::kelvin;

/// Gases below this share are counted but not listed in the text; the JSON has them.
const LISTED: f64 = 1e-8;

/// The result as JSON: the fields of an equilibrium, and what was asked.
#[must_use]
pub fn settled_json(settled: &Settled) -> Value {
    let mut value = json!({ "schema_version": SCHEMA_VERSION });
    let reactants: Map<String, Value> = settled
        .portions
        .iter()
        .map(|p| (p.name.clone(), json!(p.amount.get::<mole>())))
        .collect();
    value["reactants_mol"] = Value::Object(reactants);
    let hazards: Map<String, Value> = settled
        .portions
        .iter()
        .filter_map(|p| Some((p.name.clone(), json!(p.hazard.as_ref()?))))
        .collect();
    value["hazards"] = Value::Object(hazards);
    value["species_set"] = json!(set_name(settled.set));
    value["species_count"] = json!(settled.species_count);
    value["adiabatic_from_k"] = match settled.condition {
        Condition::AdiabaticFrom(start) => json!(start.get::<kelvin>()),
        Condition::Temperature(_) => Value::Null,
    };
    let answer = adiabatic_json(&settled.answer);
    if let (Value::Object(all), Value::Object(answer)) = (&mut value, answer) {
        all.extend(answer);
    }
    value
}

fn set_name(set: SpeciesSet) -> &'static str {
    match set {
        SpeciesSet::Full => "full",
        SpeciesSet::Fast => "fast",
    }
}

/// The result as text for people.
///
/// # Errors
/// Only if `out` cannot be written.
pub fn settled_text(settled: &Settled, out: &mut impl Write) -> fmt::Result {
    let equilibrium = settled.equilibrium();
    writeln!(out, "Mixture")?;
    for portion in &settled.portions {
        let n = significant(portion.amount.get::<mole>(), 6);
        writeln!(out, "  {n:>12} mol  {}", portion.name)?;
    }
    for portion in &settled.portions {
        if let Some(hazard) = &portion.hazard {
            let text = format!(
                "! {}: an equilibrium is worked out, a batch with it is refused: {hazard}",
                portion.name
            );
            wrapped(out, 0, &text)?;
        }
    }
    writeln!(out)?;
    let temperature = temperature_text(equilibrium.temperature);
    let pressure = significant(equilibrium.pressure.get::<bar>(), 4);
    match settled.condition {
        Condition::Temperature(_) => writeln!(out, "Equilibrium at {temperature}, {pressure} bar")?,
        Condition::AdiabaticFrom(start) => {
            let start = temperature_text(start);
            writeln!(
                out,
                "Without heat exchange from {start}, at {pressure} bar: {temperature}"
            )?;
        }
    }
    if let Some(transition) = &settled.answer.transition {
        let share = significant(transition.share.get::<percent>(), 3);
        writeln!(
            out,
            "  This is a transition; {share} % of its heat is taken up."
        )?;
    }
    writeln!(
        out,
        "  {} species could form ({} set); enthalpy {} kJ",
        settled.species_count,
        set_name(settled.set),
        significant(equilibrium.enthalpy.get::<kilojoule>(), 6),
    )?;
    write_gas(equilibrium, out)?;
    write_condensed(equilibrium, out)?;
    write_potentials(equilibrium, out)?;
    let evidence = &equilibrium.evidence;
    writeln!(
        out,
        "\nProof: {} iterations; elements balance to {:.0e}, chemical potentials agree to {:.0e} RT",
        settled.answer.iterations,
        evidence.balance_residual.get::<ratio>(),
        evidence.potential_residual.get::<ratio>(),
    )?;
    if let Some(affinity) = evidence.greatest_absent_affinity {
        let distance = significant(-affinity.get::<ratio>(), 3);
        writeln!(
            out,
            "  The nearest phase that does not form is {distance} RT away from forming."
        )?;
    }
    Ok(())
}

fn write_gas(equilibrium: &Equilibrium, out: &mut impl Write) -> fmt::Result {
    if !equilibrium.has_gas {
        writeln!(
            out,
            "\nNo gas phase: what follows is the vapour over the condensed phases."
        )?;
    }
    let n = significant(equilibrium.gas_amount.get::<mole>(), 5);
    writeln!(
        out,
        "\nGas, {n} mol\n  {:<16}{:>14}{:>14}",
        "species", "amount/mol", "share/%"
    )?;
    let listed = |s: &&SpeciesAmount| s.amount_fraction.is_some_and(|x| x.get::<ratio>() > LISTED);
    for species in equilibrium.gases().filter(listed) {
        writeln!(
            out,
            "  {:<16}{:>14}{:>14}",
            species.id,
            significant(species.amount.get::<mole>(), 5),
            significant(
                species.amount_fraction.map_or(0.0, |x| x.get::<percent>()),
                4
            ),
        )?;
    }
    let fainter = equilibrium.gases().filter(|s| !listed(s)).count();
    if fainter > 0 {
        writeln!(out, "  and {fainter} below 1e-6 %")?;
    }
    Ok(())
}

fn write_condensed(equilibrium: &Equilibrium, out: &mut impl Write) -> fmt::Result {
    if equilibrium.condensed().next().is_none() {
        return writeln!(out, "\nNo condensed phase");
    }
    writeln!(out, "\nCondensed\n  {:<24}{:>14}", "phase", "amount/mol")?;
    for species in equilibrium.condensed() {
        let n = significant(species.amount.get::<mole>(), 5);
        write!(out, "  {:<24}{n:>14}", species.id)?;
        match (&species.solution, species.amount_fraction) {
            (Some(name), Some(share)) => {
                let share = significant(share.get::<percent>(), 4);
                writeln!(out, "  {share} % of {name}")?;
            }
            _ => writeln!(out)?,
        }
    }
    if let Some(molten) = equilibrium
        .molten_fraction
        .filter(|f| f.get::<ratio>() > 0.0)
    {
        writeln!(
            out,
            "  molten: {} % of the mass",
            significant(molten.get::<percent>(), 3)
        )?;
    }
    for id in &equilibrium.extrapolated {
        writeln!(out, "  {id}: beyond the range of its data")?;
    }
    Ok(())
}

fn write_potentials(equilibrium: &Equilibrium, out: &mut impl Write) -> fmt::Result {
    writeln!(out)?;
    match equilibrium.log10_oxygen_pressure {
        Some(log) => writeln!(out, "log10(p(O2)/bar)   {}", significant(log, 5))?,
        None => writeln!(out, "log10(p(O2)/bar)   not set by anything in the tables")?,
    }
    for (label, value) in [
        ("CO/CO2", equilibrium.carbon_monoxide_ratio),
        ("H2/H2O", equilibrium.hydrogen_ratio),
        ("carbon activity", equilibrium.carbon_activity),
    ] {
        if let Some(value) = value {
            writeln!(out, "{label:<19}{}", significant(value.get::<ratio>(), 4))?;
        }
    }
    Ok(())
}
