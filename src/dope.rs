//! Dopant arithmetic: mol % of a site, mass fraction, oxide by weight, and back.
//!
//! A formula of molar mass M with n atoms of the host on the site, of which the share x is
//! replaced by the dopant: M(x) = M + x n (M_d − M_h), the oxygen left as written. Mass fraction of
//! the dopant w = x n M_d / M(x); as oxide, with M_ox the molar mass of the oxide per dopant atom
//! and the mass of the powder taken as M(x), w_ox = x n M_ox / M(x). Solved for x:
//! x = w M / (n (M_d − w (M_d − M_h))).

use crate::formula::{Element, Formula, FormulaError};
use crate::quantity::units::{percent, ratio};
use crate::quantity::{MolarMass, Ratio};
use crate::tables::Tables;
use crate::tables::known_powders::{KnownPowder, Level};
use thiserror::Error;

/// How much of the dopant, and how it is counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Counted {
    /// Share of the atoms on the site.
    OfSite(Ratio),
    /// Mass fraction of the dopant in the powder.
    Mass(Ratio),
    /// Mass fraction of the dopant's oxide.
    Oxide(Ratio),
}

/// Why a dopant cannot be counted.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum DopeError {
    #[error("host: {0}")]
    Host(FormulaError),
    #[error("{host} holds no {on}: name the element that the dopant replaces")]
    NoSite { host: String, on: Element },
    #[error("{host} holds {element} already: write the host without it")]
    Present { host: String, element: Element },
    #[error("the oxide should be one of {element} and oxygen, such as Co3O4; {oxide} is not")]
    Oxide { element: Element, oxide: String },
    #[error("that is {site_percent:.4} mol % of the site; it should be above 0 and at most 100")]
    Range { site_percent: f64 },
}

/// A doped powder, counted in every way.
#[derive(Debug, Clone, PartialEq)]
pub struct Doped {
    /// The doped formula.
    pub formula: Formula,
    /// The dopant.
    pub element: Element,
    /// The element replaced.
    pub on: Element,
    /// Share of the atoms on the site.
    pub of_site: Ratio,
    /// Mass fraction of the dopant.
    pub mass: Ratio,
    /// The oxide and its mass fraction.
    pub oxide: (Formula, Ratio),
    /// Known powders of the tables with this dopant on this site in a host of the same elements.
    pub known: Vec<(KnownPowder, Level)>,
}

/// Counts `element` on the site of `on` in `host`. `oxide` is the formula in which it is counted as
/// oxide; `None` takes that of the tables' metal sources, or EO.
///
/// # Errors
/// [`DopeError`] if a formula does not fit or the level is more than the site holds.
pub fn doped(
    host: &str,
    element: Element,
    on: Element,
    counted: Counted,
    oxide: Option<&str>,
    tables: &Tables,
) -> Result<Doped, DopeError> {
    let formula = Formula::parse(host).map_err(DopeError::Host)?;
    let n = formula.amount_of(on);
    let host = || formula.to_string();
    if n <= 0.0 {
        return Err(DopeError::NoSite { host: host(), on });
    }
    if formula.amount_of(element) > 0.0 {
        return Err(DopeError::Present {
            host: host(),
            element,
        });
    }
    let oxide = self::oxide(element, oxide, tables)?;
    let mass = |element: Element| Formula::parse(element.symbol()).map(|f| f.molar_mass());
    let (dopant, replaced) = (mass(element), mass(on));
    let (dopant, replaced) = (
        dopant.map_err(DopeError::Host)?,
        replaced.map_err(DopeError::Host)?,
    );
    let whole = formula.molar_mass();
    let per_atom: MolarMass = oxide.molar_mass() / oxide.amount_of(element);
    let share_for =
        |of: MolarMass, w: Ratio| -> Ratio { w * whole / (n * (of - w * (dopant - replaced))) };
    let x = match counted {
        Counted::OfSite(share) => share,
        Counted::Mass(w) => share_for(dopant, w),
        Counted::Oxide(w) => share_for(per_atom, w),
    };
    let site_percent = x.get::<percent>();
    if !(site_percent > 0.0 && site_percent <= 100.0 + 1e-9) {
        return Err(DopeError::Range { site_percent });
    }
    let doped = whole + x * n * (dopant - replaced);
    Ok(Doped {
        known: known(&formula, element, on, tables),
        formula: replaced_in(&formula, element, on, x.get::<ratio>().min(1.0))?,
        element,
        on,
        of_site: x,
        mass: x * n * dopant / doped,
        oxide: (oxide, x * n * per_atom / doped),
    })
}

/// The formula with the share `x` of the atoms of `on` replaced.
fn replaced_in(
    formula: &Formula,
    element: Element,
    on: Element,
    x: f64,
) -> Result<Formula, DopeError> {
    let mut text = String::new();
    // Six decimals are far below what can be weighed.
    let count = |n: f64| {
        let text = format!("{n:.6}");
        let text = text.trim_end_matches('0').trim_end_matches('.').to_owned();
        if text == "1" { String::new() } else { text }
    };
    let oxygen = formula.amount_of(Element::OXYGEN);
    for (&other, &n) in formula.amounts() {
        if other == on {
            if x < 1.0 {
                text += &format!("{on}{}", count(n * (1.0 - x)));
            }
            text += &format!("{element}{}", count(n * x));
        } else if other != Element::OXYGEN {
            text += &format!("{other}{}", count(n));
        }
    }
    if oxygen > 0.0 {
        text += &format!("O{}", count(oxygen));
    }
    Formula::parse(&text).map_err(DopeError::Host)
}

/// The oxide in which the dopant is counted.
fn oxide(element: Element, given: Option<&str>, tables: &Tables) -> Result<Formula, DopeError> {
    let common = || {
        let rows = tables.reactants.iter();
        let metals = rows.filter_map(|r| r.metal.as_ref());
        let found = metals
            .filter(|m| m.element == element && !m.common_oxide.is_empty())
            .map(|m| m.common_oxide.clone());
        found.into_iter().next()
    };
    let text = given.map(str::to_owned).or_else(common);
    let text = text.unwrap_or_else(|| format!("{element}O"));
    let wrong = || DopeError::Oxide {
        element,
        oxide: text.clone(),
    };
    let formula = Formula::parse(&text).map_err(|_| wrong())?;
    let amounts = formula.amounts();
    let is_oxide = amounts.len() == 2
        && amounts.contains_key(&element)
        && amounts.contains_key(&Element::OXYGEN);
    if is_oxide { Ok(formula) } else { Err(wrong()) }
}

fn known(
    host: &Formula,
    element: Element,
    on: Element,
    tables: &Tables,
) -> Vec<(KnownPowder, Level)> {
    let holds = |powder: &KnownPowder| {
        let others = powder.formula.amounts().keys();
        let mut others =
            others.filter(|e| !powder.dopants.iter().any(|level| level.element == **e));
        others.all(|e| host.amount_of(*e) > 0.0)
            && host
                .amounts()
                .keys()
                .all(|e| powder.formula.amount_of(*e) > 0.0)
    };
    let powders = tables.known_powders.iter().filter(|powder| holds(powder));
    powders
        .flat_map(|powder| {
            let levels = powder.dopants.iter();
            let levels = levels.filter(|level| level.element == element && level.on == on);
            levels.map(|level| (powder.clone(), level.clone()))
        })
        .collect()
}
