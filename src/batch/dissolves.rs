//! What nitric acid makes of a carbonate, an oxide or a hydroxide.

use crate::dissolution::{Conversion, Kind, check_nitrate_exists, kind};
use crate::redox::OxidationStates;
use crate::tables::bench_oxides::AcidResponse;
use crate::tables::{Reactant, Role, Tables};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A nitrate that a source becomes.
#[derive(Debug, Clone)]
pub struct MadeSalt {
    /// The hydrate that is sold.
    pub hydrate: Arc<Reactant>,
    /// The dry salt, for the part that finds no water.
    pub dry: Arc<Reactant>,
    /// Formula units per formula unit of the source.
    pub number: f64,
}

/// What nitric acid makes of one formula unit of a source.
#[derive(Debug, Clone)]
pub struct Dissolves {
    /// HNO3 used up.
    pub acid: f64,
    /// CO2 given off.
    pub carbon_dioxide: f64,
    /// Water set free, crystal water of the source included.
    pub water: f64,
    /// The nitrates.
    pub salts: Vec<MadeSalt>,
    /// The row of water.
    pub(super) solvent: Arc<Reactant>,
}

impl Dissolves {
    /// What becomes of `source` beside nitric acid. `None` for what stays as it is: no metal
    /// source, a salt that dissolves in water, a metal that makes no nitrate or none that is
    /// tabulated, and an ignited oxide that hardly dissolves, unless `wanted`.
    pub(super) fn of(source: &Reactant, wanted: bool, tables: &Tables) -> Option<Self> {
        if source.role != Role::MetalSource {
            return None;
        }
        let formula = &source.formula;
        let states = states_in_solution(source);
        check_nitrate_exists(formula, &tables.bench_oxides).ok()?;
        let kind = kind(formula, &states).ok()?;
        if !matches!(kind, Kind::Carbonate | Kind::Oxide | Kind::BasicNitrate) {
            return None;
        }
        let conversion = Conversion::of(formula, &states).ok()?;
        let response = conversion.response(&tables.bench_oxides);
        if response.is_some_and(|o| o.in_nitric_acid == AcidResponse::Hardly) && !wanted {
            return None;
        }
        let mut salts = Vec::new();
        for (element, (number, charge)) in &conversion.metals {
            let hydrate = tables.reactants.nitrate_of(*element, *charge)?;
            let dry = tables.reactants.with_water(hydrate, 0.0).ok()?;
            salts.push(MadeSalt {
                hydrate: Arc::new(hydrate.clone()),
                dry: Arc::new(dry),
                number: *number,
            });
        }
        let solvent = tables.reactants.iter().find(|r| r.role == Role::Solvent)?;
        Some(Self {
            acid: conversion.acid,
            carbon_dioxide: conversion.carbon_dioxide,
            water: conversion.water,
            salts,
            solvent: Arc::new(solvent.clone()),
        })
    }
}

/// Charges of the metals of a substance in solution: as tabulated for it, else the usual ones.
pub(crate) fn states_in_solution(source: &Reactant) -> OxidationStates {
    let chosen: BTreeMap<_, _> = source
        .metal
        .iter()
        .map(|metal| (metal.element, f64::from(metal.oxidation_state)))
        .collect();
    OxidationStates::with_choice(&chosen)
}
