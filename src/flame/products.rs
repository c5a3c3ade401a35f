//! The fixed products and their enthalpy as a function of temperature.
//!
//! Kernel in coherent SI. Symbols: t temperature in K; h molar enthalpy in J/mol (elements at
//! 298.15 K = 0); c, h2, o amounts of carbon, of hydrogen as H2 and of oxygen atoms for the
//! water–gas equilibrium; x amount of CO; k its constant, (CO2)(H2)/((CO)(H2O)).

use super::condensed::PhaseStack;
use super::error::FlameError;
use crate::batch::Batch;
use crate::formula::{Element, Formula};
use crate::product::{ExpectedProduct, leaves_as_gas};
use crate::quantity::GAS_CONSTANT;
use crate::quantity::units::mole;
use crate::tables::{Species, Tables};
use std::collections::BTreeMap;

/// Nitrogen (with argon) per oxygen in air, by volume: 3.76, the usual round figure for dry air
/// with 21 % oxygen.
pub(crate) const NITROGEN_PER_OXYGEN: f64 = 3.76;
/// Temperature step of the numerical derivative of the enthalpy, K.
const STEP: f64 = 0.5;

/// The gases whose amounts do not change with temperature, and those of the water–gas equilibrium.
pub(super) struct Products<'a> {
    fixed: Vec<(&'a Species, f64)>,
    shift: Option<Shift<'a>>,
    stacks: Vec<PhaseStack<'a>>,
    air_oxygen: f64,
}

/// Sulfur by the gas that it leaves in, mol: SO2 as far as there is oxygen for it, then H2S, then S2.
struct Sulfur {
    dioxide: f64,
    sulfide: f64,
    vapour: f64,
}

impl Sulfur {
    fn of(sulfur: f64, oxygen: f64, hydrogen: f64) -> Self {
        let reduced = sulfur - oxygen / 2.0;
        // What rounding leaves is no sulfide.
        let reduced = if reduced > 1e-9 * sulfur {
            reduced
        } else {
            0.0
        };
        let sulfide = reduced.min(hydrogen.max(0.0) / 2.0);
        Self {
            dioxide: sulfur - reduced,
            sulfide,
            vapour: (reduced - sulfide) / 2.0,
        }
    }
}

/// C, H2 and O that settle among CO, CO2, H2 and H2O.
struct Shift<'a> {
    c: f64,
    h2: f64,
    o: f64,
    co: &'a Species,
    co2: &'a Species,
    hydrogen: &'a Species,
    steam: &'a Species,
}

fn find<'a>(tables: &'a Tables, id: &str) -> Result<&'a Species, FlameError> {
    tables
        .species_by_id(id)
        .ok_or_else(|| FlameError::missing(id))
}

/// Atoms that leave as gas as far as the powder does not hold them, in mol by symbol.
fn gas_atoms(batch: &Batch, water: f64) -> BTreeMap<&'static str, f64> {
    let mut atoms: BTreeMap<&str, f64> = batch
        .dry_elements()
        .into_iter()
        .filter(|(element, _)| leaves_as_gas(*element))
        .map(|(element, n)| (element.symbol(), n.get::<mole>()))
        .collect();
    *atoms.entry("H").or_default() += 2.0 * water;
    *atoms.entry("O").or_default() += water;
    atoms
}

/// The phases of the powder, taken out of `atoms`, and the oxygen in them in mol.
fn powder<'a>(
    product: &ExpectedProduct,
    atoms: &mut BTreeMap<&str, f64>,
    tables: &'a Tables,
) -> Result<(Vec<PhaseStack<'a>>, f64), FlameError> {
    let mut needed = 0.0;
    let mut stacks = Vec::new();
    for phase in &product.phases {
        let n = phase.amount.get::<mole>();
        for (element, count) in phase.formula.amounts() {
            if let Some(atom) = atoms.get_mut(element.symbol()) {
                *atom -= n * count;
            }
            if *element == Element::OXYGEN {
                needed += n * count;
            }
        }
        stacks.push(PhaseStack::new(&phase.formula, n, tables)?);
    }
    Ok((stacks, needed))
}

impl<'a> Products<'a> {
    /// Products of the batch with `water` mol of H2O still in it and the share `air` of the air
    /// that the surplus fuel needs.
    pub fn new(
        batch: &Batch,
        product: &ExpectedProduct,
        water: f64,
        air: f64,
        tables: &'a Tables,
    ) -> Result<Self, FlameError> {
        let mut atoms = gas_atoms(batch, water);
        let brought = atoms["O"];
        let (mut stacks, needed) = powder(product, &mut atoms, tables)?;
        let of = |symbol: &str| atoms.get(symbol).copied().unwrap_or(0.0);
        if let Some(strange) = ["F", "Br", "I"].iter().find(|symbol| of(symbol) > 0.0) {
            return Err(FlameError::missing(format!("gas with {strange}")));
        }
        let (sulfur, chlorine) = (of("S"), of("Cl"));
        let (carbon, hydrogen) = (of("C"), of("H") - chlorine);
        let free = of("O");
        if free < -1e-9 * brought.max(needed) {
            return Err(FlameError::TooLittleOxygen {
                brought_mol: brought,
                needed_mol: needed,
            });
        }
        let free = free.max(0.0);
        let short = 2.0 * (sulfur + carbon) + hydrogen / 2.0 - free;
        // Rounding of a balanced batch must neither leave O2 nor start the shift.
        let tiny = 1e-12 * (free + carbon + hydrogen);
        let air_oxygen = if short > tiny { air * short / 2.0 } else { 0.0 };
        let nitrogen = of("N") / 2.0 + NITROGEN_PER_OXYGEN * air_oxygen;
        let oxygen = free + 2.0 * air_oxygen;
        let sulfur = Sulfur::of(sulfur, oxygen, hydrogen);
        let oxygen = oxygen - 2.0 * sulfur.dioxide;
        let hydrogen = hydrogen - 2.0 * sulfur.sulfide;
        let left = oxygen - 2.0 * carbon - hydrogen / 2.0;
        let mut fixed = Vec::new();
        let mut add = |id: &str, n: f64| -> Result<(), FlameError> {
            if n > 0.0 {
                fixed.push((find(tables, id)?, n));
            }
            Ok(())
        };
        let mut shift = None;
        if left >= -tiny {
            add("CO2", carbon)?;
            add("H2O", hydrogen / 2.0)?;
            add("N2", nitrogen)?;
            add("O2", if left > tiny { left / 2.0 } else { 0.0 })?;
        } else {
            let soot = (carbon - oxygen).max(0.0);
            add("N2", nitrogen)?;
            shift = Some(Shift {
                c: carbon - soot,
                h2: hydrogen / 2.0,
                o: oxygen,
                co: find(tables, "CO")?,
                co2: find(tables, "CO2")?,
                hydrogen: find(tables, "H2")?,
                steam: find(tables, "H2O")?,
            });
            if soot > 0.0 {
                let graphite = Formula::parse("C").map_err(|_| FlameError::missing("C"))?;
                stacks.push(PhaseStack::new(&graphite, soot, tables)?);
            }
        }
        add("SO2", sulfur.dioxide)?;
        add("H2S", sulfur.sulfide)?;
        add("S2", sulfur.vapour)?;
        add("HCl", chlorine)?;
        Ok(Self {
            fixed,
            shift,
            stacks,
            air_oxygen,
        })
    }

    pub fn stacks(&self) -> &[PhaseStack<'a>] {
        &self.stacks
    }

    pub fn is_shifted(&self) -> bool {
        self.shift.is_some()
    }

    pub fn air_oxygen(&self) -> f64 {
        self.air_oxygen
    }

    /// Gases at `t`, those that are there.
    pub fn gas(&self, t: f64) -> Vec<(&'a Species, f64)> {
        let mut gas = self.fixed.clone();
        if let Some(shift) = &self.shift {
            gas.extend(shift.amounts(t).into_iter().filter(|(_, n)| *n > 0.0));
        }
        let order = [
            "CO2", "H2O", "N2", "O2", "CO", "H2", "SO2", "H2S", "S2", "HCl",
        ];
        gas.sort_by_key(|(species, _)| order.iter().position(|id| *id == species.id));
        gas
    }

    /// Enthalpy of all products at `t`, in J, the powder in its stable phases.
    pub fn enthalpy(&self, t: f64) -> f64 {
        let powder: f64 = self.stacks.iter().map(|stack| stack.enthalpy(t)).sum();
        self.gas_enthalpy(t) + powder
    }

    /// Enthalpy of the gases at `t`, in J.
    fn gas_enthalpy(&self, t: f64) -> f64 {
        self.gas(t)
            .iter()
            .map(|(species, n)| n * species.h(t))
            .sum()
    }

    /// dH/dT of all products at `t` in J/K, shift of the gas included, transitions left out.
    pub fn heat_capacity(&self, t: f64) -> f64 {
        let gas = (self.gas_enthalpy(t + STEP) - self.gas_enthalpy(t - STEP)) / (2.0 * STEP);
        let powder: f64 = self.stacks.iter().map(|stack| stack.heat_capacity(t)).sum();
        gas + powder
    }
}

impl<'a> Shift<'a> {
    /// Amounts of CO, CO2, H2 and H2O at `t`.
    ///
    /// x solves (c − x)(a − x) = k x (x − b) with a = h2 + 2c − o and b = 2c − o, between the
    /// bounds where all four amounts are 0 or more. Of the two roots of that quadratic equation
    /// the one inside is written without a difference of like numbers.
    fn amounts(&self, t: f64) -> [(&'a Species, f64); 4] {
        let ln_k = (self.co.g(t) + self.steam.g(t) - self.co2.g(t) - self.hydrogen.g(t))
            / (GAS_CONSTANT * t);
        let k = ln_k.exp();
        let (a, b) = (self.h2 + 2.0 * self.c - self.o, 2.0 * self.c - self.o);
        let (low, high) = (b.max(0.0), a.min(self.c).max(0.0));
        let (square, linear, constant) = (1.0 - k, k * b - a - self.c, a * self.c);
        let root = (linear * linear - 4.0 * square * constant).max(0.0).sqrt();
        let x = if linear > 0.0 {
            -0.5 * (linear + root) / square
        } else {
            2.0 * constant / (root - linear)
        };
        // No hydrogen or no carbon leaves nothing to settle: x is 0/0 or at a bound.
        let x = if x.is_finite() { x } else { low }.min(high).max(low);
        let steam = (x - b).max(0.0);
        [
            (self.co, x.max(0.0)),
            (self.co2, (self.c - x).max(0.0)),
            (self.hydrogen, (self.h2 - steam).max(0.0)),
            (self.steam, steam),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn sulfur_takes_oxygen_first_then_hydrogen() {
        let parts = |s, o, h| {
            let sulfur = Sulfur::of(s, o, h);
            [sulfur.dioxide, sulfur.sulfide, sulfur.vapour]
        };
        assert_relative_eq!(parts(1.0, 3.0, 4.0)[..], [1.0, 0.0, 0.0][..]);
        assert_relative_eq!(parts(1.0, 1.0, 4.0)[..], [0.5, 0.5, 0.0][..]);
        assert_relative_eq!(parts(1.0, 0.0, 1.0)[..], [0.0, 0.5, 0.25][..]);
    }
}
