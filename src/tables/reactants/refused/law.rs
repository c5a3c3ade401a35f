//! Rules on the composition that give a dangerous class away however the substance is written.
//!
//! Each rule uses a bound: with every other element at its highest oxidation state, the element in
//! question still stands higher (or the oxygen higher than −2) than harmless salts allow. What
//! holds for the bound holds for the substance.

use crate::formula::{Element, Formula};
use serde::Deserialize;
use std::collections::BTreeMap;

/// Oxidation state above which no element goes in a compound, for those not listed.
const HIGHEST: f64 = 8.0;
/// Counts and sums of oxidation states closer than this are the same.
const SAME: f64 = 1e-6;

/// A rule on the composition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(super) enum Law {
    /// Chlorine, bromine or iodine above zero, without carbon.
    #[serde(rename = "oxidised halogen")]
    OxidisedHalogen,
    /// More oxygen than every other element can hold at −2: O–O bonds.
    #[serde(rename = "oxygen bound to oxygen")]
    OxygenBoundToOxygen,
    /// Nitrogen between −1 and 0 beside a metal or hydrogen, without oxygen and carbon.
    #[serde(rename = "azide")]
    Azide,
    /// Manganese at +6 or 7, chromium at +5 or 6, iron above +3.5.
    #[serde(rename = "high metal state")]
    HighMetalState,
    /// Nitrogen near +3 in a salt.
    #[serde(rename = "nitrite")]
    Nitrite,
    /// C, H, N and O with oxygen that must be bound to nitrogen, or mostly nitrogen.
    #[serde(rename = "organic nitrogen oxide")]
    OrganicNitrogenOxide,
    /// A metal nitrate with carbon, ammonia or hydrazine in the formula.
    #[serde(rename = "nitrate with fuel")]
    NitrateWithFuel,
}

/// Highest oxidation states by symbol.
pub(super) type Highest = BTreeMap<String, f64>;

/// The atoms of a formula without its crystal water.
struct Atoms<'a> {
    amounts: BTreeMap<Element, f64>,
    highest: &'a Highest,
}

impl Law {
    /// Whether `formula`, written as `written`, breaks the rule.
    pub(super) fn breaks(self, formula: &Formula, written: &str, highest: &Highest) -> bool {
        let atoms = Atoms {
            amounts: formula.anhydrous().amounts().clone(),
            highest,
        };
        if atoms.amounts.len() < 2 {
            return false;
        }
        match self {
            Self::OxidisedHalogen => atoms.oxidised_halogen(),
            Self::OxygenBoundToOxygen => {
                2.0 * atoms.n("O") > atoms.positive(&["O"], atoms.ammonium_in(written)) + SAME
            }
            Self::Azide => atoms.azide(),
            Self::HighMetalState => [("Mn", 5.5), ("Cr", 4.5), ("Fe", 3.5)]
                .iter()
                .any(|(metal, limit)| atoms.state_at_least(metal) > *limit),
            Self::Nitrite => atoms.nitrite(),
            Self::OrganicNitrogenOxide => atoms.organic_nitrogen_oxide(written),
            Self::NitrateWithFuel => atoms.nitrate_with_fuel(written),
        }
    }
}

/// Whether hydrogen and nitrogen that make up ammonium count as such.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ammonium {
    Yes,
    No,
}

impl Atoms<'_> {
    fn n(&self, symbol: &str) -> f64 {
        Element::from_symbol(symbol)
            .and_then(|element| self.amounts.get(&element))
            .copied()
            .unwrap_or(0.0)
    }

    fn has(&self, symbol: &str) -> bool {
        self.n(symbol) > SAME
    }

    fn consists_of(&self, symbols: &[&str]) -> bool {
        self.amounts.keys().all(|e| symbols.contains(&e.symbol()))
    }

    /// Nitrogen with hydrogen is ammonium for sure if it is written so, or if no metal can hold
    /// the hydrogen as hydroxide.
    fn ammonium_in(&self, written: &str) -> Ammonium {
        let only = self.consists_of(&["H", "N", "O", "S", "P", "Cl", "Br", "I"]);
        if only || written.contains("NH4") {
            Ammonium::Yes
        } else {
            Ammonium::No
        }
    }

    fn highest(&self, element: Element) -> f64 {
        let listed = self.highest.get(element.symbol()).copied();
        listed.unwrap_or(if element.is_metal() { HIGHEST } else { 7.0 })
    }

    /// Ammonium ions that hydrogen and nitrogen suffice for.
    fn ammonium(&self) -> f64 {
        (self.n("H") / 4.0).floor().min(self.n("N"))
    }

    /// Most positive charge of all elements but those in `without`.
    fn positive(&self, without: &[&str], ammonium: Ammonium) -> f64 {
        let all: f64 = self
            .amounts
            .iter()
            .filter(|(element, _)| !without.contains(&element.symbol()))
            .map(|(element, n)| n * self.highest(*element))
            .sum();
        match ammonium {
            Ammonium::No => all,
            // four hydrogen at +1 and nitrogen at +5 become one ion of charge +1
            Ammonium::Yes => all - 8.0 * self.ammonium(),
        }
    }

    fn oxidised_halogen(&self) -> bool {
        let halogens = ["Cl", "Br", "I"];
        let halogen = halogens.iter().any(|x| self.has(x));
        let rest = self.positive(&["O", "Cl", "Br", "I"], Ammonium::Yes);
        halogen && !self.has("C") && 2.0 * self.n("O") > rest + SAME
    }

    fn azide(&self) -> bool {
        let n = self.n("N");
        n > 1.5
            && !self.has("O")
            && !self.has("C")
            && self.positive(&["N"], Ammonium::No) <= n + SAME
    }

    /// Lower bound of the oxidation state of `metal`; −8 if it is not there.
    fn state_at_least(&self, metal: &str) -> f64 {
        let n = self.n(metal);
        if n <= SAME {
            return -HIGHEST;
        }
        let halogens: f64 = ["F", "Cl", "Br", "I"].iter().map(|x| self.n(x)).sum();
        let others = self.positive(&["O", metal, "F", "Cl", "Br", "I"], Ammonium::Yes);
        (2.0 * self.n("O") + halogens - others) / n
    }

    /// Salts of metals with one oxidation state, ammonium and hydrogen.
    fn nitrite(&self) -> bool {
        let certain = |e: &Element| {
            let one_state = [
                "H", "Li", "Na", "K", "Rb", "Cs", "Mg", "Ca", "Sr", "Ba", "Zn", "Cd", "Al", "Ga",
                "Sc", "Y", "La", "Nd", "Gd", "N", "O",
            ];
            one_state.contains(&e.symbol())
        };
        let rest = self.n("N") - self.ammonium();
        if !self.amounts.keys().all(certain) || rest <= SAME {
            return false;
        }
        let others = self.positive(&["O", "N"], Ammonium::No) - 3.0 * self.ammonium();
        let state = (2.0 * self.n("O") - others) / rest;
        (2.5..=3.5).contains(&state)
    }

    fn organic_nitrogen_oxide(&self, written: &str) -> bool {
        let (c, h, n, o) = (self.n("C"), self.n("H"), self.n("N"), self.n("O"));
        if c <= SAME || n <= SAME || !self.consists_of(&["C", "H", "N", "O"]) {
            return false;
        }
        // Ammonium salts of carbonic and oxalic acid hold their oxygen on carbon.
        let carbonate = h + SAME >= 4.0 * n && o <= 3.0 * c + SAME;
        let beyond_carboxyl = o > 2.0 * c + SAME && !carbonate;
        let full = (o - 2.0 * c).abs() <= SAME && h < 3.0 * n - SAME;
        let mostly_nitrogen = n + SAME >= 4.0 * c && h < n - SAME;
        let named = has_piece(written, "NO3") || has_piece(written, "NO2");
        beyond_carboxyl || full || mostly_nitrogen || (named && !is_plain_count(written))
    }

    fn nitrate_with_fuel(&self, written: &str) -> bool {
        let metal = self.amounts.keys().any(|e| e.is_metal());
        let nitrate = has_piece(written, "NO3");
        let fuel = self.has("C")
            || ["(NH3)", "NH3)", "N2H4", "NH2NH2", "(en)"]
                .iter()
                .any(|piece| written.contains(piece));
        metal && nitrate && fuel
    }
}

/// `piece` stands in `written` and its number does not go on.
fn has_piece(written: &str, piece: &str) -> bool {
    written.match_indices(piece).any(|(at, _)| {
        let next = written[at + piece.len()..].chars().next();
        !next.is_some_and(|c| c.is_ascii_digit())
    })
}

/// Each element once and no bracket, such as `C3H7NO2`: tells nothing of the groups.
fn is_plain_count(written: &str) -> bool {
    let mut seen = Vec::new();
    for c in written.chars() {
        match c {
            'C' | 'H' | 'N' | 'O' if !seen.contains(&c) => seen.push(c),
            '0'..='9' => {}
            _ => return false,
        }
    }
    true
}
