//! Stock solutions for a dopant that is too little to be weighed.
//!
//! Candidates are all combinations of the flasks and pipettes at hand: one stock (weigh, make up,
//! draw an aliquot) or two (draw from the first into a second flask). Each has a relative error
//! (k = 2) from the weighing, the flasks and the pipettes, and a number of operations: one a
//! weighing, one a flask made up, one a filling of a pipette.
//!
//! Choice: among the candidates whose error is good enough (`good_enough` in
//! `tables/glassware.toml`), the fewest operations, then the least error, then the least salt;
//! where none is good enough, the least error, then the fewest operations.

use super::balance::{COVERAGE, Weighing, WeighingError, choose};
use super::glassware::{GlasswareError, Piece};
use crate::batch::{Balance, Glassware};
use crate::quantity::units::{gram, milligram, milliliter, ratio};
use crate::quantity::{Mass, Ratio, Volume};
use crate::tables::balances::WeighingRules;
use crate::tables::glassware::{GlasswareKind, GlasswareTable};
use std::cmp::Ordering;
use thiserror::Error;

/// Why there is no plan for a stock solution.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum DilutionError {
    #[error(transparent)]
    Weighing(#[from] WeighingError),
    #[error(transparent)]
    Glassware(#[from] GlasswareError),
    #[error(
        "no stock solution of {mass_mg:.2} mg can be made with this glassware and at most {water_ml:.1} mL of water from the aliquot: add a larger flask or a smaller pipette"
    )]
    NoCombination { mass_mg: f64, water_ml: f64 },
}

/// What the stock solution is made for.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Mass of the substance as on the bottle that the pot needs.
    pub mass: Mass,
    /// Most mass of it per mass of water at room temperature (solubility), if known.
    pub solubility: Option<Ratio>,
    /// Most water that the aliquot may bring into the pot.
    pub most_water: Volume,
}

/// What is at hand.
#[derive(Debug, Clone, Copy)]
pub struct Bench<'a> {
    /// Balances.
    pub balances: &'a [Balance],
    /// Flasks and pipettes.
    pub glassware: &'a Glassware,
    /// Rules for weighing.
    pub rules: &'a WeighingRules,
    /// Limits of error of the glassware.
    pub limits: &'a GlasswareTable,
}

/// A volume drawn with a pipette.
#[derive(Debug, Clone, PartialEq)]
pub struct Aliquot {
    /// Pipette or piston pipette.
    pub kind: GlasswareKind,
    pub nominal: Volume,
    pub filling: Volume,
    /// How often it is filled.
    pub fillings: u32,
    /// Standard uncertainty of the whole volume.
    pub standard_uncertainty: Volume,
}

impl Aliquot {
    /// The whole volume drawn.
    pub fn volume(&self) -> Volume {
        f64::from(self.fillings) * self.filling
    }
}

/// A flask made up to the mark, and what is drawn from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Dilution {
    pub flask: Volume,
    pub standard_uncertainty: Volume,
    /// What is drawn from it: into the next flask, or from the last one into the pot.
    pub aliquot: Aliquot,
}

/// A stock solution, its dilutions and the aliquot for the pot.
#[derive(Debug, Clone, PartialEq)]
pub struct StockPlan {
    /// Weighing of the substance for the first flask.
    pub weighing: Weighing,
    /// One dilution, or two one after the other.
    pub dilutions: Vec<Dilution>,
    /// Relative error (k = 2) of the amount that reaches the pot.
    pub relative_error: Ratio,
}

impl StockPlan {
    /// Weighing, flasks made up and fillings of pipettes.
    pub fn operations(&self) -> usize {
        let fillings: usize = self
            .dilutions
            .iter()
            .map(|dilution| dilution.aliquot.fillings as usize)
            .sum();
        1 + self.dilutions.len() + fillings
    }

    /// Volume that the last aliquot brings into the pot; nearly all of it water.
    pub fn carried_volume(&self) -> Volume {
        self.dilutions
            .last()
            .map_or(Volume::new::<milliliter>(0.0), |last| last.aliquot.volume())
    }
}

/// Why a plan was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Choice {
    /// Weighed straight: no stock solution with this glassware has a smaller error.
    Direct,
    /// Good enough with one stock solution; a serial dilution would be more work.
    OneStock,
    /// One stock solution was not good enough or not possible.
    Serial,
    /// Nothing was good enough; this has the least error.
    LeastError,
}

/// The plan for a dopant, with what was compared.
#[derive(Debug, Clone, PartialEq)]
pub struct DopantPlan {
    /// Weighing it straight into the pot.
    pub direct: Weighing,
    /// The stock solution; `None` if weighing it straight has the least error.
    pub stock: Option<StockPlan>,
    /// Why.
    pub choice: Choice,
    /// Best plan with one flask, if one is possible.
    pub best_single: Option<StockPlan>,
    /// Best plan with two flasks, if one is possible.
    pub best_serial: Option<StockPlan>,
}

/// The pieces at hand, looked up once.
struct Pieces<'a> {
    flasks: Vec<Piece<'a>>,
    pipettes: Vec<Piece<'a>>,
    most_fillings: u32,
}

impl<'a> Pieces<'a> {
    fn of(bench: &Bench<'a>) -> Result<Self, GlasswareError> {
        let Glassware {
            standard,
            class,
            flasks,
            pipettes,
            pistons,
        } = bench.glassware;
        let find = |kind, volume| Piece::find(bench.limits, kind, *standard, *class, volume);
        let flasks: Result<Vec<_>, _> = flasks
            .iter()
            .map(|v| find(GlasswareKind::Flask, *v))
            .collect();
        let pipettes: Result<Vec<_>, _> = pipettes
            .iter()
            .map(|v| find(GlasswareKind::Pipette, *v))
            .chain(
                pistons
                    .iter()
                    .map(|p| find(GlasswareKind::Piston, p.nominal)),
            )
            .collect();
        // The loader keeps this number between 1 and 10.
        let most_fillings = bench.limits.stock.most_fillings.value as u32;
        Ok(Self {
            flasks: flasks?,
            pipettes: pipettes?,
            most_fillings,
        })
    }

    /// Every flask with every aliquot that is less than the flask.
    fn dilutions(&self) -> Vec<Dilution> {
        let mut dilutions = Vec::new();
        for flask in &self.flasks {
            for pipette in &self.pipettes {
                for filling in pipette.settings() {
                    for fillings in 1..=self.most_fillings {
                        let aliquot = Aliquot {
                            kind: pipette.limit.kind,
                            nominal: pipette.volume(),
                            filling,
                            fillings,
                            standard_uncertainty: pipette.delivery_uncertainty(fillings),
                        };
                        if aliquot.volume() < flask.volume() {
                            dilutions.push(Dilution {
                                flask: flask.volume(),
                                standard_uncertainty: flask.flask_uncertainty(),
                                aliquot,
                            });
                        }
                    }
                }
            }
        }
        dilutions
    }
}

/// Share of a flask's content that is drawn.
fn drawn_share(dilution: &Dilution) -> f64 {
    let share: Ratio = dilution.aliquot.volume() / dilution.flask;
    share.get::<ratio>()
}

/// Relative variance of the share drawn.
fn relative_variance(dilution: &Dilution) -> f64 {
    let flask: Ratio = dilution.standard_uncertainty / dilution.flask;
    let aliquot: Ratio = dilution.aliquot.standard_uncertainty / dilution.aliquot.volume();
    flask.get::<ratio>().powi(2) + aliquot.get::<ratio>().powi(2)
}

/// The plan of these dilutions, if it keeps within the limits.
fn plan(wanted: &Wanted, bench: &Bench, dilutions: &[&Dilution]) -> Option<StockPlan> {
    let (first, last) = (dilutions.first()?, dilutions.last()?);
    if last.aliquot.volume() > wanted.most_water {
        return None;
    }
    let share: f64 = dilutions
        .iter()
        .map(|dilution| drawn_share(dilution))
        .product();
    let mass = wanted.mass / share;
    if mass > bench.limits.stock.most_mass.value {
        return None;
    }
    if let Some(solubility) = wanted.solubility {
        // Mass per millilitre of stock against mass per gram of water: dilute, so alike.
        let per_water = mass.get::<gram>() / first.flask.get::<milliliter>();
        let most = bench.limits.stock.most_saturation.value * solubility;
        if per_water > most.get::<ratio>() {
            return None;
        }
    }
    let weighing = choose(bench.balances, mass, bench.rules).ok()?;
    let weighed: Ratio = weighing.standard_uncertainty / weighing.mass;
    let variance = weighed.get::<ratio>().powi(2)
        + dilutions
            .iter()
            .map(|dilution| relative_variance(dilution))
            .sum::<f64>();
    Some(StockPlan {
        weighing,
        dilutions: dilutions
            .iter()
            .map(|dilution| (*dilution).clone())
            .collect(),
        relative_error: Ratio::new::<ratio>(COVERAGE * variance.sqrt()),
    })
}

/// Orders plans by the rule of the module.
fn by_merit(a: &StockPlan, b: &StockPlan, good_enough: f64) -> Ordering {
    let error = |plan: &StockPlan| plan.relative_error.get::<ratio>();
    let within = |plan: &StockPlan| error(plan) <= good_enough;
    let work = a.operations().cmp(&b.operations());
    let least = error(a).total_cmp(&error(b));
    let salt = a.weighing.mass.value.total_cmp(&b.weighing.mass.value);
    match (within(a), within(b)) {
        (true, false) => Ordering::Less,
        (false, true) => Ordering::Greater,
        (true, true) => work.then(least).then(salt),
        (false, false) => least.then(work).then(salt),
    }
}

/// The plan for a dopant.
///
/// # Errors
/// [`DilutionError`] if a balance or a piece of glassware does not serve, or no combination keeps
/// within the limits and weighing straight is not possible either.
pub fn dopant_plan(wanted: &Wanted, bench: &Bench) -> Result<DopantPlan, DilutionError> {
    let direct = choose(bench.balances, wanted.mass, bench.rules)?;
    let pieces = Pieces::of(bench)?;
    let all = pieces.dilutions();
    let good_enough = bench.limits.stock.good_enough.value.get::<ratio>();
    let best = |plans: &mut dyn Iterator<Item = StockPlan>| {
        plans.min_by(|a, b| by_merit(a, b, good_enough))
    };
    let best_single = best(&mut all.iter().filter_map(|one| plan(wanted, bench, &[one])));
    // A first flask with the share it gives on; most of the work is ruled out by the aliquot.
    let lasts: Vec<&Dilution> = all
        .iter()
        .filter(|last| last.aliquot.volume() <= wanted.most_water)
        .collect();
    let best_serial = best(
        &mut all
            .iter()
            .filter(|first| first.aliquot.fillings == 1)
            .flat_map(|first| lasts.iter().map(move |last| [first, *last]))
            .filter_map(|both| plan(wanted, bench, &both)),
    );
    let candidates = [best_single.clone(), best_serial.clone()];
    let Some(stock) = best(&mut candidates.into_iter().flatten()) else {
        return Err(DilutionError::NoCombination {
            mass_mg: wanted.mass.get::<milligram>(),
            water_ml: wanted.most_water.get::<milliliter>(),
        });
    };
    let good = stock.relative_error.get::<ratio>() <= good_enough;
    // Weighing straight is the least work: a stock solution has to be better to be worth it.
    let better = stock.relative_error < direct.relative_error();
    let choice = match (better, good, stock.dilutions.len()) {
        (false, ..) => Choice::Direct,
        (true, true, 1) => Choice::OneStock,
        (true, true, _) => Choice::Serial,
        (true, false, _) => Choice::LeastError,
    };
    Ok(DopantPlan {
        direct,
        stock: better.then_some(stock),
        choice,
        best_single,
        best_serial,
    })
}
