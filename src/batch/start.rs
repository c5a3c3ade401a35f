//! A batch file from three words: target, fuel, mass.

use super::notation::{self, NotationError};
use crate::formula::{Element, Formula};
use crate::quantity::parse::{self, QuantityError};
use crate::quantity::units::gram;
use crate::redox::OxidationStates;
use crate::tables::{LookupError, Reactant, Role, State, Tables};
use std::collections::BTreeMap;
use thiserror::Error;

/// Water for each gram of powder, in mL: about the mass of the salts. Common practice.
const WATER_PER_GRAM: f64 = 8.0;

/// Why no batch file can be written.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum StartError {
    #[error("target: {0}")]
    Target(#[from] NotationError),
    #[error("fuel: {0}")]
    Fuel(#[from] LookupError),
    #[error(
        "fuel: {name} is no fuel; name urea, glycine, citric acid or another of `emberpot substance --list --kind fuel`"
    )]
    NoFuel { name: String },
    #[error("mass: {0}")]
    Mass(#[from] QuantityError),
    #[error("target {target}: holds no metal; name an oxide, such as ZnAl2O4")]
    NoMetal { target: String },
    #[error(
        "target {target}: the tables hold no source of {element} to start from; start from `emberpot new` and \
         name its source there"
    )]
    NoNitrate { target: String, element: Element },
    #[error(
        "target {target}: nothing would burn, for the tables hold no nitrate of its metals, only {sources}; make it \
         without a flame (precipitate, wash, calcine), or burn it together with a metal that has a nitrate"
    )]
    NoOxidiser { target: String, sources: String },
}

/// A source of what has no nitrate (Si, B, P, V, W, Nb, Sn …): one that dissolves or is dissolved,
/// an ammonium salt or a sol, before a dry oxide, and one in the usual state before others.
fn other_source(element: Element, tables: &Tables) -> Option<&Reactant> {
    let usual = OxidationStates::conventional().of(element).ok();
    let fuel_like = sources(element, Role::FuelLikeSalt, tables);
    let others = sources(element, Role::MetalSource, tables);
    let fluxes = sources(element, Role::Flux, tables);
    let worse = |row: &&Reactant| {
        let nitrogen = row.formula.amount_of(Element::NITROGEN) > 0.0;
        let state = row.metal.as_ref().map(|m| f64::from(m.oxidation_state));
        (
            row.state != State::Solution && !nitrogen,
            row.role == Role::FuelLikeSalt,
            state != usual,
        )
    };
    // the first of those that are equally good
    let found = others.chain(fluxes).chain(fuel_like).min_by_key(worse)?;
    Some(tables.reactants.as_sold(found))
}

/// The first source without carbon.
fn dry_source(element: Element, tables: &Tables) -> Option<&Reactant> {
    sources(element, Role::MetalSource, tables).next()
}

/// The rows of one role that bring `element` and no other metal.
fn sources(element: Element, role: Role, tables: &Tables) -> impl Iterator<Item = &Reactant> {
    tables.reactants.iter().filter(move |row| {
        let metal = row.metal.as_ref();
        let mut elements = row.formula.amounts().keys();
        row.role == role
            && elements.all(|e| *e == element || !e.is_metal())
            && metal.is_some_and(|metal| metal.element == element)
    })
}

/// The batch file for `mass` of `target` with `fuel` at the fuel ratio `phi`: every metal as the
/// nitrate that stands first in the tables, in the hydrate that is sold; what has no nitrate as
/// another source of the tables.
///
/// # Errors
/// [`StartError`] if a word is not understood, or an element has no nitrate.
///
/// # Examples
/// ```
/// use emberpot::batch::{Batch, starting_file};
/// let tables = emberpot::Tables::built_in()?;
/// let text = starting_file("ZnAl2O4", "urea", "1 g", 1.0, &tables)?;
/// assert_eq!(Batch::parse(&text, "start", &tables)?.ingredients.len(), 4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn starting_file(
    target: &str,
    fuel: &str,
    mass: &str,
    phi: f64,
    tables: &Tables,
) -> Result<String, StartError> {
    let formula = notation::wish(target, &BTreeMap::new())?.formula;
    let written: String = target.split_whitespace().collect();
    let fuel = tables.reactants.find(fuel)?;
    if fuel.role != Role::Fuel {
        let name = fuel.name.clone();
        return Err(StartError::NoFuel { name });
    }
    let grams = parse::mass(mass)?.get::<gram>();
    let nitrates = nitrates(target, &formula, tables)?;
    // A salt is named by its formula; of another source the name says more.
    let substances = nitrates.iter().map(|source| match source.role {
        Role::Oxidiser => source.formula.to_string(),
        _ => source.name.clone(),
    });
    let list: String = substances
        .chain([fuel.name.clone()])
        .map(|name| format!("[[ingredient]]\nsubstance = \"{name}\"\n\n"))
        .collect();
    let water = (WATER_PER_GRAM * grams * 100.0).round() / 100.0;
    Ok(format!(
        "name = \"{written} with {}\"\n\n[target]\nformula = \"{written}\"\n\
         product_mass = \"{mass}\"\nequivalence_ratio = {phi}\n\n{list}\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"{water} mL\"\n",
        fuel.name
    ))
}

/// The nitrate of every element of the target but oxygen, and hydrogen, which water brings.
fn nitrates<'t>(
    target: &str,
    formula: &Formula,
    tables: &'t Tables,
) -> Result<Vec<&'t Reactant>, StartError> {
    let elements = formula.amounts().keys().copied();
    let elements: Vec<Element> = elements
        .filter(|e| ![Element::OXYGEN, Element::HYDROGEN].contains(e))
        .collect();
    if !elements.iter().any(|element| element.is_metal()) {
        let target = target.to_owned();
        return Err(StartError::NoMetal { target });
    }
    let nitrate = |element: Element| {
        let of_element = |row: &&Reactant| {
            let metal = row.metal.as_ref();
            row.role == Role::Oxidiser && metal.is_some_and(|metal| metal.element == element)
        };
        let found = tables.reactants.iter().find(of_element);
        found
            .map(|row| tables.reactants.as_sold(row))
            .or_else(|| other_source(element, tables))
            .ok_or_else(|| {
                let target = target.to_owned();
                StartError::NoNitrate { target, element }
            })
    };
    let found: Result<Vec<_>, _> = elements.iter().map(|e| nitrate(*e)).collect();
    let mut found = found?;
    if reduces(formula, &found) {
        // An organic salt brings more fuel than the nitrates burn: the dry oxide in its place.
        for (source, element) in found.iter_mut().zip(&elements) {
            if source.role == Role::FuelLikeSalt {
                *source = dry_source(*element, tables).unwrap_or(source);
            }
        }
    }
    if reduces(formula, &found) {
        let names: Vec<&str> = found.iter().map(|source| source.name.as_str()).collect();
        return Err(StartError::NoOxidiser {
            target: target.to_owned(),
            sources: names.join(" and "),
        });
    }
    Ok(found)
}

/// Whether the sources of a target, without any fuel, reduce more than they oxidise.
fn reduces(formula: &Formula, sources: &[&Reactant]) -> bool {
    let valence: f64 = sources
        .iter()
        .filter_map(|source| {
            let metal = source.metal.as_ref()?.element;
            let units = formula.amount_of(metal) / source.formula.amount_of(metal);
            Some(units * source.redox_valence?)
        })
        .sum();
    valence >= 0.0
}
