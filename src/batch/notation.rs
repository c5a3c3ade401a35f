//! Wanted products as papers write them: `La0.6Sr0.4CoO3-d` (oxygen open) and `Y2O3:5%Eu` (a host
//! with dopants).
//!
//! A dopant's percent counts its site: 5 % of Eu on Y in Y2O3 is Y1.9Eu0.1O3. The site is plain
//! where the host has one cation, and for a lanthanide where it has one rare earth, or none and one
//! of Ca, Sr and Ba (common practice); else it is named, `SrAl2O4:2%Eu/Sr`. A charge, `Eu2+`,
//! chooses the oxidation state. Oxygen that the dopant leaves unbound is left out of the formula.

use crate::formula::{Element, Formula, FormulaError};
use crate::redox::{OxidationStates, RedoxError};
use std::collections::BTreeMap;
use thiserror::Error;

/// Oxygen per formula unit below which charges balance.
const BALANCED: f64 = 1e-9;
/// Highest share of a site that a dopant may take, percent.
const MOST_PERCENT: f64 = 50.0;

/// Why a wanted product cannot be read.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum NotationError {
    #[error(transparent)]
    Formula(#[from] FormulaError),
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error(
        "\"{part}\" after the colon of the formula is no dopant with its level; write it like \
         Y2O3:5%Eu, or SrAl2O4:2%Eu2+/Sr,1%Dy/Sr with the site"
    )]
    Dopant { part: String },
    #[error("{percent} % of {dopant} is out of range; give above 0 and up to {MOST_PERCENT} %")]
    Level { dopant: Element, percent: f64 },
    #[error(
        "which site does {dopant} take in {host}: {}? Name it, such as {host}:{percent}%{dopant}/{}",
        .sites.join(" or "), .sites[0]
    )]
    Site {
        dopant: Element,
        host: String,
        percent: f64,
        sites: Vec<String>,
    },
    #[error(
        "{dopant} cannot be put on {site} in {host}: the host should hold {site} and no {dopant}"
    )]
    NoSite {
        dopant: Element,
        site: String,
        host: String,
    },
}

/// A wanted product.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wish {
    /// Its formula, dopants on their sites.
    pub formula: Formula,
    /// Whether the number of its oxygen is left open.
    pub oxygen_open: bool,
    /// Oxidation states that the dopants' charges choose.
    pub states: BTreeMap<Element, f64>,
}

/// Reads a wanted product; `chosen` are the oxidation states that the file gives.
pub(super) fn wish(text: &str, chosen: &BTreeMap<Element, f64>) -> Result<Wish, NotationError> {
    let (host, dopants) = text.split_once(':').unwrap_or((text, ""));
    let (host, oxygen_open) = without_open_oxygen(host);
    let host = Formula::parse(host)?;
    let mut wish = Wish {
        formula: host.clone(),
        oxygen_open,
        states: BTreeMap::new(),
    };
    if !text.contains(':') {
        return Ok(wish);
    }
    let mut amounts = host.amounts().clone();
    for part in dopants.split([',', ';']) {
        let dopant = WrittenDopant::read(part).ok_or_else(|| NotationError::Dopant {
            part: part.trim().to_owned(),
        })?;
        let site = dopant.site(&host)?;
        let taken = dopant.percent / 100.0 * host.amount_of(site);
        *amounts.entry(site).or_insert(0.0) -= taken;
        *amounts.entry(dopant.element).or_insert(0.0) += taken;
        if let Some(charge) = dopant.charge {
            wish.states.insert(dopant.element, charge);
        }
    }
    if let Some((site, _)) = amounts.iter().find(|(_, n)| **n < 0.0) {
        let part = format!("{dopants} (more than all of {site})");
        return Err(NotationError::Dopant { part });
    }
    wish.formula = written(&amounts)?;
    let mut all = wish.states.clone();
    all.extend(chosen);
    let left = OxidationStates::with_choice(&all).fit_to(&wish.formula)?;
    if left > BALANCED {
        *amounts.entry(Element::OXYGEN).or_insert(0.0) -= left;
        wish.formula = written(&amounts)?;
    }
    Ok(wish)
}

/// `O3-d`, `O3-δ`, `O3±x`: the text without that, and whether it was there.
fn without_open_oxygen(text: &str) -> (&str, bool) {
    let text = text.trim();
    let stem = ["delta", "d", "δ", "x", "y"]
        .iter()
        .find_map(|letter| text.strip_suffix(letter));
    let stem = stem.and_then(|stem| stem.trim_end().strip_suffix(['-', '−', '–', '+', '±']));
    let at_oxygen = |stem: &&str| {
        let bare = stem
            .trim_end_matches(|c: char| c.is_ascii_digit() || c == '.' || ('₀'..='₉').contains(&c));
        bare.ends_with('O')
    };
    match stem.map(str::trim_end).filter(at_oxygen) {
        Some(stem) => (stem, true),
        None => (text, false),
    }
}

/// One dopant as written.
struct WrittenDopant {
    element: Element,
    percent: f64,
    charge: Option<f64>,
    site: Option<Element>,
}

impl WrittenDopant {
    /// `5%Eu`, `Eu 5 %`, `2 mol% Eu2+/Sr`.
    fn read(text: &str) -> Option<Self> {
        let (text, site) = match text.split_once('/') {
            Some((text, site)) => (text, Some(Element::from_symbol(site.trim())?)),
            None => (text, None),
        };
        let compact: String = text.chars().filter(|c| !c.is_whitespace()).collect();
        let compact = ["mol%", "at.%", "at%"]
            .iter()
            .fold(compact, |text, unit| text.replace(unit, "%"));
        let (number, rest) = match compact.split_once('%') {
            Some((number, rest)) if number.parse::<f64>().is_ok() => (number, rest.to_owned()),
            // the level after the element, in brackets or not
            Some((before, "" | ")")) => {
                let at = before.rfind(|c: char| !(c.is_ascii_digit() || c == '.'))?;
                let (rest, number) = before.split_at(at + before[at..].chars().next()?.len_utf8());
                (number, rest.trim_end_matches(['(', ':']).to_owned())
            }
            _ => return None,
        };
        let percent = number.parse::<f64>().ok()?;
        let end = rest.find(|c: char| !c.is_ascii_alphabetic());
        let (symbol, charge) = rest.split_at(end.unwrap_or(rest.len()));
        let charge = match charge {
            "" => None,
            text => Some(text.strip_suffix('+')?.parse::<f64>().ok()?),
        };
        Some(Self {
            element: Element::from_symbol(symbol)?,
            percent,
            charge,
            site,
        })
    }

    /// The cation whose place it takes.
    fn site(&self, host: &Formula) -> Result<Element, NotationError> {
        let dopant = self.element;
        if !(self.percent > 0.0 && self.percent <= MOST_PERCENT) {
            let percent = self.percent;
            return Err(NotationError::Level { dopant, percent });
        }
        let cations: Vec<Element> = host
            .amounts()
            .keys()
            .copied()
            .filter(|e| e.is_metal())
            .collect();
        let no_site = |site: String| NotationError::NoSite {
            dopant,
            site,
            host: host.to_string(),
        };
        if host.amount_of(dopant) > 0.0 {
            return Err(no_site("any site".to_owned()));
        }
        if let Some(site) = self.site {
            let there = host.amount_of(site) > 0.0;
            return there
                .then_some(site)
                .ok_or_else(|| no_site(site.to_string()));
        }
        match (plain_site(dopant, &cations), cations.is_empty()) {
            (Some(site), _) => Ok(site),
            (None, true) => Err(no_site("a cation".to_owned())),
            (None, false) => Err(NotationError::Site {
                dopant,
                host: host.to_string(),
                percent: self.percent,
                sites: cations.iter().map(Element::to_string).collect(),
            }),
        }
    }
}

/// The site that needs no word.
fn plain_site(dopant: Element, cations: &[Element]) -> Option<Element> {
    let only = |wanted: fn(Element) -> bool| {
        let mut found = cations.iter().copied().filter(|cation| wanted(*cation));
        found.next().filter(|_| found.next().is_none())
    };
    if let [one] = cations {
        return Some(*one);
    }
    if !is_lanthanide(dopant) {
        return None;
    }
    if cations.iter().any(|cation| is_rare_earth(*cation)) {
        return only(is_rare_earth);
    }
    only(|e| matches!(e.symbol(), "Ca" | "Sr" | "Ba"))
}

fn is_lanthanide(element: Element) -> bool {
    matches!(
        element.symbol(),
        "La" | "Ce"
            | "Pr"
            | "Nd"
            | "Sm"
            | "Eu"
            | "Gd"
            | "Tb"
            | "Dy"
            | "Ho"
            | "Er"
            | "Tm"
            | "Yb"
            | "Lu"
    )
}

fn is_rare_earth(element: Element) -> bool {
    is_lanthanide(element) || matches!(element.symbol(), "Y" | "Sc")
}

/// A formula from the amounts of its elements, oxygen last.
fn written(amounts: &BTreeMap<Element, f64>) -> Result<Formula, FormulaError> {
    let cations = amounts.iter().filter(|(e, _)| **e != Element::OXYGEN);
    let oxygen = amounts.iter().filter(|(e, _)| **e == Element::OXYGEN);
    let text: String = cations
        .chain(oxygen)
        .filter(|(_, n)| **n > BALANCED)
        .map(|(element, n)| {
            let number = format!("{n:.6}");
            match number.trim_end_matches('0').trim_end_matches('.') {
                "1" => element.to_string(),
                number => format!("{element}{number}"),
            }
        })
        .collect();
    Formula::parse(&text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Wish, NotationError> {
        wish(text, &BTreeMap::new())
    }

    #[test]
    fn dopants_go_on_their_site() {
        for (text, formula) in [
            ("Y2O3:5%Eu", "Y1.9Eu0.1O3"),
            ("Y2O3: Eu3+ (5 %)", "Y1.9Eu0.1O3"),
            ("Y2O3:Eu 5%", "Y1.9Eu0.1O3"),
            ("Y2O3:4%Eu,1%Dy", "Y1.9Eu0.08Dy0.02O3"),
            ("Y3Al5O12:0.5 mol% Ce", "Y2.985Ce0.015Al5O12"),
            ("MgAl2O4:1%Cr/Al", "MgAl1.98Cr0.02O4"),
            // a dopant of lower charge leaves oxygen out: 0.2 Gd3+ for Ce4+ takes 0.1 O
            ("CeO2:20%Gd", "Ce0.8Gd0.2O1.9"),
        ] {
            let (found, expected) = (read(text).unwrap(), Formula::parse(formula).unwrap());
            for (element, n) in expected.amounts() {
                let there = found.formula.amount_of(*element);
                assert!((there - n).abs() < 1e-6, "{text}: {}", found.formula);
            }
            assert_eq!(found.formula.amounts().len(), expected.amounts().len());
        }
        let europium = Element::from_symbol("Eu").unwrap();
        let state = read("CaO:2%Eu2+").unwrap().states[&europium];
        assert!((state - 2.0).abs() < 1e-12, "{state}");
    }

    #[test]
    fn a_site_that_is_not_plain_is_asked_for() {
        let error = read("MgAl2O4:1%Cr").unwrap_err();
        assert!(matches!(error, NotationError::Site { .. }), "{error}");
        assert!(error.to_string().contains("MgAl2O4:1%Cr/Mg"), "{error}");
        for text in ["Y2O3:Eu", "Y2O3:5%", "Y2O3:5%Qq", "Y2O3:", "Y2O3:5%Eu-"] {
            let error = read(text).unwrap_err();
            assert!(
                matches!(error, NotationError::Dopant { .. }),
                "{text}: {error}"
            );
        }
        assert!(matches!(
            read("Y2O3:80%Eu"),
            Err(NotationError::Level { .. })
        ));
        assert!(matches!(
            read("Y2O3:5%Eu/Sr"),
            Err(NotationError::NoSite { .. })
        ));
        assert!(matches!(
            read("Y2O3:5%Y"),
            Err(NotationError::NoSite { .. })
        ));
    }

    #[test]
    fn oxygen_may_be_left_open() {
        for text in [
            "La0.6Sr0.4CoO3-d",
            "La0.6Sr0.4CoO3-δ",
            "La0.6Sr0.4CoO3 − x",
            "La0.6Sr0.4CoO3±δ",
        ] {
            let found = read(text).unwrap();
            assert!(found.oxygen_open, "{text}");
            assert_eq!(found.formula.to_string(), "La0.6Sr0.4CoO3");
        }
        assert!(!read("CeO2").unwrap().oxygen_open);
        // only after oxygen
        assert!(read("ZnAl2-xO4").is_err());
        assert!(read("Gd").is_ok_and(|found| !found.oxygen_open));
    }
}
