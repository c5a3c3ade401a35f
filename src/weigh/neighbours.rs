//! How far the cation ratio may stray towards the compounds next to the wanted one.
//!
//! Between two compounds of a system the metal splits by the lever rule: at a share e of the first
//! side between compounds at u > e > l, the part (u − e)/(u − l) of the metal atoms is in the
//! compound at l. Solid solubility is left out, so the split is the most that can form.

use super::bands::ErrorBand;
use crate::formula::Element;
use crate::quantity::units::ratio;
use crate::quantity::{AmountFraction, Ratio};
use crate::tables::neighbours::{Neighbour, OxideSystem};
use std::collections::BTreeSet;

/// Shares that differ by less than this are the same compound: rounding of fractional formulas.
const SAME: f64 = 1e-6;

/// How the metal splits between compounds at one composition.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// Share of the first side.
    pub first_share: AmountFraction,
    /// One or two compounds, with the share of the metal atoms in each; the larger part first.
    pub parts: Vec<(String, Ratio)>,
}

/// The compounds around a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct NeighbourCheck {
    /// Name of the system.
    pub system: String,
    /// Metals on the first side that the batch holds.
    pub first: BTreeSet<Element>,
    /// Metals on the second side that the batch holds.
    pub second: BTreeSet<Element>,
    /// Share of the first side in all metal atoms, with its band.
    pub band: ErrorBand<AmountFraction>,
    /// Split at the nominal composition.
    pub nominal: Split,
    /// Splits at the lower and the upper end of the band.
    pub ends: [Split; 2],
    /// Compounds inside the band other than the main one at the nominal composition.
    pub inside: Vec<String>,
}

impl NeighbourCheck {
    /// The greatest part of the metal that can end in another compound than the main one of the
    /// nominal composition, over the band, and which compound that is.
    pub fn worst(&self) -> Option<(&str, Ratio)> {
        let (main, _) = self.nominal.parts.first()?;
        self.ends
            .iter()
            .flat_map(|split| &split.parts)
            .filter(|(name, _)| name != main)
            .max_by(|a, b| a.1.value.total_cmp(&b.1.value))
            .map(|(name, part)| (name.as_str(), *part))
    }
}

/// The first system that holds all metals of the batch on its two sides.
pub fn system_of<'a>(
    systems: &'a [OxideSystem],
    metals: &BTreeSet<Element>,
) -> Option<&'a OxideSystem> {
    systems.iter().find(|system| system.holds(metals))
}

/// How the metal splits at a share `e` of the first side.
pub fn split(compounds: &[Neighbour], e: f64) -> Split {
    let share = |compound: &Neighbour| compound.first_share.get::<ratio>();
    let whole = |compound: &Neighbour| vec![(compound.name.clone(), Ratio::new::<ratio>(1.0))];
    // The compounds stand by falling share: the last one at or above e, the first one below it.
    let above = compounds
        .iter()
        .rfind(|compound| share(compound) >= e - SAME);
    let below = compounds.iter().find(|compound| share(compound) < e - SAME);
    let mut parts = match (above, below) {
        (Some(above), _) if (share(above) - e).abs() <= SAME => whole(above),
        (Some(above), Some(below)) => {
            let lower = (share(above) - e) / (share(above) - share(below));
            vec![
                (above.name.clone(), Ratio::new::<ratio>(1.0 - lower)),
                (below.name.clone(), Ratio::new::<ratio>(lower)),
            ]
        }
        (Some(only), None) | (None, Some(only)) => whole(only),
        (None, None) => Vec::new(),
    };
    parts.sort_by(|a, b| b.1.value.total_cmp(&a.1.value));
    Split {
        first_share: AmountFraction::new::<ratio>(e),
        parts,
    }
}

/// The check of a batch whose share of the first side of `system` has this band.
pub fn check(
    system: &OxideSystem,
    metals: &BTreeSet<Element>,
    band: ErrorBand<AmountFraction>,
) -> NeighbourCheck {
    let value = band.value.get::<ratio>();
    let half = band.half_width.get::<ratio>();
    let nominal = split(&system.compounds, value);
    let ends =
        [(value - half).max(0.0), (value + half).min(1.0)].map(|e| split(&system.compounds, e));
    let main = nominal.parts.first().map(|(name, _)| name.clone());
    let inside = system
        .compounds
        .iter()
        .filter(|compound| Some(&compound.name) != main.as_ref())
        .filter(|compound| band.holds(compound.first_share))
        .map(|compound| compound.name.clone())
        .collect();
    NeighbourCheck {
        system: system.name.clone(),
        first: system.first.intersection(metals).copied().collect(),
        second: system.second.intersection(metals).copied().collect(),
        band,
        nominal,
        ends,
        inside,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn metals(symbols: &[&str]) -> BTreeSet<Element> {
        symbols
            .iter()
            .map(|s| Element::from_symbol(s).unwrap())
            .collect()
    }

    fn band(value: f64, half: f64) -> ErrorBand<AmountFraction> {
        let r = Ratio::new::<ratio>;
        ErrorBand {
            value: r(value),
            half_width: r(half),
            sampled: (r(value - half), r(value + half)),
            agrees: true,
            causes: Vec::new(),
        }
    }

    #[test]
    fn the_lever_rule_by_hand() {
        // Sr/(Sr+Al) = 0.32 between SrAl2O4 (1/3) and Sr4Al14O25 (2/9):
        // (1/3 − 0.32)/(1/3 − 2/9) = 0.12 of the metal in Sr4Al14O25.
        let tables = Tables::built_in().unwrap();
        let system = system_of(&tables.oxide_systems, &metals(&["Sr", "Al", "Eu"])).unwrap();
        let found = split(&system.compounds, 0.32);
        assert_eq!(found.parts[0].0, "SrAl2O4");
        assert_eq!(found.parts[1].0, "Sr4Al14O25");
        assert_relative_eq!(found.parts[1].1.get::<ratio>(), 0.12, max_relative = 1e-9);
        assert_eq!(split(&system.compounds, 1.0 / 3.0).parts.len(), 1);
        assert_eq!(split(&system.compounds, 0.0).parts[0].0, "Al2O3");
        assert_eq!(split(&system.compounds, 1.0).parts[0].0, "SrO");
    }

    #[test]
    fn atoms_are_kept_by_the_split() {
        let tables = Tables::built_in().unwrap();
        for system in tables.oxide_systems.iter() {
            for step in 0..=100 {
                let e = f64::from(step) / 100.0;
                let found = split(&system.compounds, e);
                let share = |name: &str| {
                    let compound = system.compounds.iter().find(|c| c.name == name).unwrap();
                    compound.first_share.get::<ratio>()
                };
                let sum: f64 = found
                    .parts
                    .iter()
                    .map(|(n, p)| share(n) * p.get::<ratio>())
                    .sum();
                // Systems run from the pure first to the pure second side.
                assert_relative_eq!(sum, e, epsilon = 1e-6);
            }
        }
    }

    #[test]
    fn a_compound_inside_the_band_is_named() {
        let tables = Tables::built_in().unwrap();
        let all = metals(&["Y", "Al", "Ce"]);
        let system = system_of(&tables.oxide_systems, &all).unwrap();
        // Y3Al5O12 at 0.375, YAlO3 at 0.5.
        let wide = check(system, &all, band(0.375, 0.13));
        assert_eq!(wide.inside, ["YAlO3"]);
        let narrow = check(system, &all, band(0.375, 0.004));
        assert!(narrow.inside.is_empty());
        // (0.379 − 0.375)/(0.5 − 0.375) = 3.2 % of the metal in YAlO3 at the upper end.
        let (name, part) = narrow.worst().unwrap();
        // At the lower end Al2O3 takes 0.004/0.375 = 1.07 %.
        assert_eq!(name, "YAlO3");
        assert_relative_eq!(part.get::<ratio>(), 0.032, max_relative = 1e-6);
    }

    #[test]
    fn metals_of_no_system_have_no_check() {
        let tables = Tables::built_in().unwrap();
        assert!(system_of(&tables.oxide_systems, &metals(&["Al"])).is_none());
        assert!(system_of(&tables.oxide_systems, &metals(&["Sr", "Ag", "Al"])).is_none());
    }
}
