//! The flame of complete combustion for any fuel ratio, water left, heat lost and air, from a
//! table of enthalpies: what a page can work out without the tables of substances.
//!
//! The table holds the enthalpy of the reactants and that of the products at many temperatures for
//! a few fuel ratios, shares of water and shares of air, per gram of powder. Amounts change
//! linearly between its nodes on either side of φ = 1, so heat lost is exact and the rest is
//! interpolated; only the water–gas equilibrium of a rich gas is curved.

use crate::batch::Batch;
use crate::burn::Burner;
use crate::enthalpy::with_share_left;
use crate::quantity::units::{gram, joule, kelvin, kelvins, mole, ratio};
use crate::quantity::{
    EquivalenceRatio, REFERENCE_TEMPERATURE, Ratio, TemperatureInterval, ThermodynamicTemperature,
};
use crate::tables::Tables;
use rayon::prelude::*;
use serde::{Serialize, Serializer};

/// Fuel ratios of the table; one of them is 1, where surplus oxygen turns into surplus fuel.
const FUEL_RATIOS: [f64; 7] = [0.5, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0];
/// Steps in which the crystal water leaves. Above it the solvent's is one step.
const WATER_STEPS: u32 = 4;
/// Shares of the air that surplus fuel needs.
const AIR: [f64; 4] = [0.0, 0.25, 0.5, 1.0];
/// Distance and end of the temperatures of the products, K. Between them the enthalpy bends by less than
/// half a kelvin.
const STEP: f64 = 100.0;
const HOTTEST: f64 = 3600.0;
/// Share of the solvent that already counts as wet.
const WET: f64 = 1e-6;
/// A cell that takes up this many times the heat of its neighbour holds a transition.
const JUMP: f64 = 1.1;
/// Width to which a transition is closed in, K.
const JUMP_WIDTH: f64 = 1.0;

/// The table. Index order of the flat lists: fuel ratio, water, air, and for the products the
/// temperature last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// Equivalence ratios φ, rising.
    pub fuel_ratios: Vec<f64>,
    /// Water by fuel ratio: a fuel may bring crystal water of its own.
    pub water: Vec<Water>,
    /// Water left, rising: from 0 to 1 the share of the crystal water, from 1 to 2 that of the
    /// solvent above it.
    pub water_left: Vec<f64>,
    /// Shares of the air that the surplus fuel needs, 0 to 1, rising.
    pub air: Vec<f64>,
    /// Temperatures in K, rising, from 298.15.
    pub temperatures_k: Vec<f64>,
    /// Heat from outside, J per g of powder, by fuel ratio.
    pub external_j: Vec<f64>,
    /// Enthalpy of the reactants, J per g of powder.
    pub reactants_j: Vec<f64>,
    /// Enthalpy of the products, whole J per g of powder, at each temperature. Written as the
    /// differences of the differences of the whole list, which are small: each sum is exact.
    #[serde(rename = "products_bends_j", serialize_with = "bends")]
    pub products_j: Vec<f64>,
}

/// Water of a batch, mol.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Water {
    /// Crystal water.
    pub crystal_mol: f64,
    /// Crystal water and solvent.
    pub all_mol: f64,
}

impl Water {
    fn of(batch: &Batch) -> Self {
        let crystal = batch.crystal_water();
        let all = batch.solvent_water() + crystal;
        let [crystal_mol, all_mol] = [crystal, all].map(|amount| amount.get::<mole>());
        Self {
            crystal_mol,
            all_mol,
        }
    }

    /// Share of all water that is left at a place of the table.
    fn share(self, place: f64) -> f64 {
        if self.all_mol <= 0.0 {
            return 0.0;
        }
        let crystal = self.crystal_mol / self.all_mol;
        crystal * place.min(1.0) + (1.0 - crystal) * (place - 1.0).max(0.0)
    }

    /// The place in the table of a share of all water.
    fn place(self, share: f64) -> f64 {
        let left = share * self.all_mol;
        if left > self.crystal_mol {
            1.0 + (left - self.crystal_mol) / (self.all_mol - self.crystal_mol)
        } else if left > 0.0 {
            left / self.crystal_mol
        } else {
            0.0
        }
    }
}

/// The places that the table has: steps of the crystal water if there is any, and, as soon as there
/// is solvent, the start is not above its boiling point.
fn water_steps(water: &[Water]) -> Vec<f64> {
    let mut places = vec![0.0];
    if water.iter().any(|water| water.crystal_mol > 0.0) {
        let steps = 1..=WATER_STEPS;
        places.extend(steps.map(|at| f64::from(at) / f64::from(WATER_STEPS)));
    }
    if water.iter().any(|water| water.all_mol > water.crystal_mol) {
        places.extend([1.0 + WET, 2.0]);
    }
    places
}

fn bends<S: Serializer>(values: &[f64], serializer: S) -> Result<S::Ok, S::Error> {
    let (mut value, mut rise) = (0, 0);
    serializer.collect_seq(values.iter().map(|next| {
        let next = *next as i64;
        let bend = next - value - rise;
        (value, rise) = (next, rise + bend);
        bend
    }))
}

impl WhatIf {
    /// The table of a batch; none if its fuel cannot be varied or it cannot be burnt.
    pub fn new(batch: &Batch, tables: &Tables) -> Option<Self> {
        let batches: Option<Vec<Batch>> = FUEL_RATIOS
            .iter()
            .map(|phi| with_fuel_ratio(batch, *phi))
            .collect();
        let batches = batches?;
        let stoichiometric = &batches[FUEL_RATIOS
            .iter()
            .position(|phi| (phi - 1.0).abs() < 1e-9)?];
        let temperatures_k = temperatures(&Burner::new(stoichiometric, tables).ok()?)?;
        let water: Vec<Water> = batches.iter().map(Water::of).collect();
        let water_left = water_steps(&water);
        let nodes = batches.par_iter().zip(&water).map(|(batch, water)| {
            let burner = Burner::new(batch, tables).ok()?;
            let mut nodes = Vec::new();
            for place in &water_left {
                for air in AIR {
                    nodes.push(node(&burner, water.share(*place), air, &temperatures_k)?);
                }
            }
            Some(nodes)
        });
        let nodes: Option<Vec<Vec<Node>>> = nodes.collect();
        let nodes = nodes?;
        let external_j = nodes.iter().filter_map(|of_ratio| of_ratio.first());
        let external_j = external_j.map(|node| node.external).collect();
        let (mut reactants_j, mut products_j) = (Vec::new(), Vec::new());
        for node in nodes.into_iter().flatten() {
            reactants_j.push(node.reactants);
            products_j.extend(node.products);
        }
        Some(Self {
            fuel_ratios: FUEL_RATIOS.to_vec(),
            water,
            water_left,
            air: AIR.to_vec(),
            temperatures_k,
            external_j,
            reactants_j,
            products_j,
        })
    }

    /// The flame of complete combustion, interpolated: equivalence ratio φ, share of all water
    /// left, share of the heat lost and share of the surplus fuel's air, each within the table
    /// (the heat lost from 0 to 1). None where there is no flame, or one above the table.
    pub fn flame(
        &self,
        fuel_ratio: EquivalenceRatio,
        water_left: Ratio,
        heat_lost: Ratio,
        air: Ratio,
    ) -> Option<ThermodynamicTemperature> {
        let corners = self.corners(
            fuel_ratio.get::<ratio>(),
            water_left.get::<ratio>(),
            air.get::<ratio>(),
        );
        let count = self.temperatures_k.len();
        let sum = |of: &dyn Fn(usize) -> f64| -> f64 {
            corners.iter().map(|(at, weight)| weight * of(*at)).sum()
        };
        let product = |t: usize| sum(&|at| self.products_j[at * count + t]);
        let reactants = sum(&|at| self.reactants_j[at]);
        let cold = product(0);
        let lost = heat_lost.get::<ratio>() * (reactants - cold).max(0.0);
        let per_ratio = self.water_left.len() * self.air.len();
        let available = reactants + sum(&|at| self.external_j[at / per_ratio]) - lost;
        let above = (1..count).find(|t| product(*t) >= available)?;
        let (low, high) = (product(above - 1), product(above));
        if available < low {
            return None;
        }
        let part = (available - low) / (high - low);
        let [from, to] = [above - 1, above].map(|at| self.temperatures_k[at]);
        Some(ThermodynamicTemperature::new::<kelvin>(
            from + part * (to - from),
        ))
    }

    /// The water at a fuel ratio: that of the fuel rises in proportion to it.
    fn water_at(&self, fuel_ratio: f64) -> Water {
        let ends = ends(&self.fuel_ratios, fuel_ratio);
        let sum = |of: fn(&Water) -> f64| -> f64 {
            ends.iter()
                .map(|(at, weight)| weight * of(&self.water[*at]))
                .sum()
        };
        Water {
            crystal_mol: sum(|water| water.crystal_mol),
            all_mol: sum(|water| water.all_mol),
        }
    }

    /// The nodes around a point with their weights.
    fn corners(&self, fuel_ratio: f64, water: f64, air: f64) -> Vec<(usize, f64)> {
        let mut corners = Vec::with_capacity(8);
        let place = self.water_at(fuel_ratio).place(water);
        for (f, weight_f) in ends(&self.fuel_ratios, fuel_ratio) {
            for (w, weight_w) in ends(&self.water_left, place) {
                for (a, weight_a) in ends(&self.air, air) {
                    let at = (f * self.water_left.len() + w) * self.air.len() + a;
                    corners.push((at, weight_f * weight_w * weight_a));
                }
            }
        }
        corners
    }

    /// The largest difference from the direct calculation over the middles of the table's cells,
    /// with a tenth of the heat lost: where linear interpolation is worst. Second, the share of
    /// these points that differ by no more than `limit`.
    pub fn error(
        &self,
        batch: &Batch,
        limit: TemperatureInterval,
        tables: &Tables,
    ) -> Option<(TemperatureInterval, Ratio)> {
        let lost = Ratio::new::<ratio>(0.1);
        let differences: Vec<f64> = middles(&self.fuel_ratios)
            .par_iter()
            .flat_map_iter(|phi| {
                let changed = with_fuel_ratio(batch, *phi).map(|mut changed| {
                    changed.conditions.heat_loss = lost;
                    changed
                });
                let (water, places) = (self.water_at(*phi), middles(&self.water_left));
                let shares = places.iter().map(|place| water.share(*place));
                let points = shares
                    .flat_map(|share| middles(&self.air).into_iter().map(move |air| (share, air)));
                points
                    .filter_map(|(share, air)| {
                        self.difference(changed.as_ref()?, *phi, share, air, tables)
                    })
                    .collect::<Vec<_>>()
            })
            .collect();
        let within = |difference: &&f64| **difference <= limit.get::<kelvins>();
        let share = differences.iter().filter(within).count() as f64 / differences.len() as f64;
        let worst = differences.iter().copied().reduce(f64::max)?;
        Some((
            TemperatureInterval::new::<kelvins>(worst),
            Ratio::new::<ratio>(share),
        ))
    }

    /// Interpolated less direct, K, for a batch that loses its heat as it says.
    fn difference(
        &self,
        changed: &Batch,
        phi: f64,
        share: f64,
        air: f64,
        tables: &Tables,
    ) -> Option<f64> {
        let [share, air] = [share, air].map(Ratio::new::<ratio>);
        let mut direct = changed.clone();
        direct.conditions.air_drawn_in = air;
        let burner = Burner::new(&direct, tables).ok()?;
        let direct_t = burner
            .flame_temperature(&with_share_left(&direct, share))
            .ok()??;
        let phi = EquivalenceRatio::new::<ratio>(phi);
        let here = self.flame(phi, share, direct.conditions.heat_loss, air)?;
        Some((here.get::<kelvin>() - direct_t.get::<kelvin>()).abs())
    }
}

struct Node {
    external: f64,
    reactants: f64,
    products: Vec<f64>,
}

/// The batch with another fuel ratio and nothing lost.
fn with_fuel_ratio(batch: &Batch, phi: f64) -> Option<Batch> {
    let phi = EquivalenceRatio::new::<ratio>(phi);
    let mut changed = batch.with_equivalence_ratio(phi).ok()?;
    changed.conditions.heat_loss = Ratio::new::<ratio>(0.0);
    Some(changed)
}

fn node(burner: &Burner<'_, '_>, share: f64, air: f64, temperatures_k: &[f64]) -> Option<Node> {
    let [share, air] = [share, air].map(Ratio::new::<ratio>);
    let powder = burner.product().mass.get::<gram>();
    let balance = burner.heat_balance(share, air, temperatures_k).ok()?;
    // Whole joules are a third of a kelvin.
    let per_gram = |energy: crate::quantity::Energy| (energy.get::<joule>() / powder).round();
    Some(Node {
        external: per_gram(burner.batch().conditions.external_heat),
        reactants: per_gram(balance.reactants),
        products: balance.products.into_iter().map(per_gram).collect(),
    })
}

/// Temperatures every [`STEP`], K, and close on either side of every transition of the powder, where
/// its enthalpy jumps.
fn temperatures(burner: &Burner<'_, '_>) -> Option<Vec<f64>> {
    let none = Ratio::new::<ratio>(0.0);
    let enthalpies = |temperatures: &[f64]| -> Option<Vec<f64>> {
        let balance = burner.heat_balance(none, none, temperatures).ok()?;
        let joules = |energy: &crate::quantity::Energy| energy.get::<joule>();
        Some(balance.products.iter().map(joules).collect())
    };
    let count = ((HOTTEST - REFERENCE_TEMPERATURE) / STEP) as u32;
    let even = (0..=count).map(|at| REFERENCE_TEMPERATURE + STEP * f64::from(at));
    let even: Vec<f64> = even.collect();
    let at_even = enthalpies(&even)?;
    let rises: Vec<f64> = at_even.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let mut all = even.clone();
    for (at, rise) in rises.iter().enumerate() {
        let before = rises[at.saturating_sub(1)];
        let after = rises[(at + 1).min(rises.len() - 1)];
        if *rise < JUMP * before.min(after) {
            continue;
        }
        let (mut low, mut high) = (even[at], even[at + 1]);
        while high - low > JUMP_WIDTH {
            let middle = 0.5 * (low + high);
            let ends = enthalpies(&[low, middle, high])?;
            if ends[1] - ends[0] > ends[2] - ends[1] {
                high = middle;
            } else {
                low = middle;
            }
        }
        all.extend([low, high]);
    }
    all.sort_by(f64::total_cmp);
    all.dedup();
    Some(all)
}

/// The two nodes around `value` with their weights; the value is held within the nodes.
fn ends(nodes: &[f64], value: f64) -> [(usize, f64); 2] {
    let last = nodes.len() - 1;
    let above = nodes.iter().position(|node| *node >= value).unwrap_or(last);
    let below = above.saturating_sub(1);
    let width = nodes[above] - nodes[below];
    let part = if width > 0.0 {
        ((value - nodes[below]) / width).clamp(0.0, 1.0)
    } else {
        1.0
    };
    [(below, 1.0 - part), (above, part)]
}

fn middles(nodes: &[f64]) -> Vec<f64> {
    // Not in the step from just dry to just wet.
    let pairs = nodes
        .windows(2)
        .filter(|pair| pair[1] - pair[0] > 2.0 * WET);
    pairs.map(|pair| 0.5 * (pair[0] + pair[1])).collect()
}
