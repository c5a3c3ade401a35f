//! The expected burn: how hot it gets once everything counts that nobody knows exactly.
//!
//! A seeded Latin hypercube is drawn over the course of heating (water, fuel and start together,
//! because slow heating dries, loses fuel and warms in one), the water that stays, the fuel that
//! leaves, the heat lost while one piece of gel burns, the air that surplus fuel finds, the
//! enthalpies and heat capacities of the tables, and the assay and crystal water of every bottle.
//! Each draw is a heat balance of its own with the products in equilibrium, so that a band ends
//! where a melting point holds it. The bands stand in `tables/expectation.toml`, all assumed.
//!
//! A cause's share of the variance is its correlation ratio over ten strata of each of its
//! coordinates, less what chance alone gives (ε² = 1 − (1 − η²)(N − 1)/(N − K)); what the causes
//! do only together is a cause of its own.

mod draw;
mod error;
mod pot;
mod prior;

pub use draw::Draw;
pub use error::ExpectedError;
pub use prior::{CauseName, HeatingBasis, LearnedFrom};

use crate::batch::Batch;
use crate::burn::{Heating, StateResult};
use crate::equilibrium::{Equilibrium, EquilibriumError};
use crate::formula::Element;
use crate::learned::Place;
use crate::quantity::units::{kelvin, ratio};
use crate::quantity::{AmountOfSubstance, EquivalenceRatio, Ratio, ThermodynamicTemperature};
use crate::sample;
use crate::tables::Tables;
use pot::Pot;
use prior::Prior;
use std::collections::BTreeMap;

/// Shares of the variance below this are chance.
const WORTH_A_CAUSE: f64 = 0.02;
/// The band holds the draws from this share of them to its mirror: eight of ten.
const LOW: f64 = 0.1;

/// A cause of the spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// What it is.
    pub name: CauseName,
    /// Its share of the variance of the peak temperature.
    pub share: Ratio,
}

/// The expected burn of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// Median of the peak temperature; `None` if half the draws and more have no flame.
    pub temperature: Option<ThermodynamicTemperature>,
    /// A tenth of the draws are colder; `None` if they have no flame.
    pub low: Option<ThermodynamicTemperature>,
    /// A tenth of the draws are hotter; `None` if hardly any has a flame.
    pub high: Option<ThermodynamicTemperature>,
    /// Median of φ as it burns.
    pub equivalence_ratio: EquivalenceRatio,
    /// Causes of the spread, largest first.
    pub causes: Vec<Cause>,
    /// The line of the file that would narrow the band most, if one would.
    pub narrowed_by: Option<&'static str>,
    /// What the water, the fuel and the start were drawn from.
    pub basis: HeatingBasis,
    /// What it was learned from, if the file takes something in.
    pub learned: Option<LearnedFrom>,
    /// The elements in the draw at the median, of two the colder one, air that joined and what had
    /// left counted; `None` without a median.
    pub elements: Option<BTreeMap<Element, AmountOfSubstance>>,
    /// Seed of the sample.
    pub seed: u64,
    /// The draws, fast heating first; their number is the count.
    pub draws: Vec<Draw>,
}

impl Expected {
    /// Share of the draws that have no flame.
    #[must_use]
    pub fn without_flame(&self) -> Ratio {
        let none = self.draws.iter().filter(|draw| draw.peak.is_none()).count();
        Ratio::new::<ratio>(none as f64 / self.draws.len().max(1) as f64)
    }
}

/// A batch ready to be burnt many times: at other draws, or with other amounts of its fuel.
#[derive(Debug)]
pub struct Expectation<'t> {
    pot: Pot<'t>,
    prior: Prior,
}

impl<'t> Expectation<'t> {
    /// Makes the burns of `batch` ready.
    ///
    /// * `states`: its burns, of which the heat released and the bands of the products are taken
    ///
    /// # Errors
    /// [`ExpectedError`] if the batch cannot be burnt.
    pub fn new(
        batch: &Batch,
        heating: &Heating,
        states: &[StateResult],
        tables: &'t Tables,
    ) -> Result<Self, ExpectedError> {
        let prior = Prior::new(batch, heating, tables)?;
        let pot = Pot::new(batch, states, tables)?;
        Ok(Self { pot, prior })
    }

    /// The burn with the middle of every band and `fuel` times the fuel of the batch.
    pub fn middle(&mut self, fuel: f64) -> Draw {
        let burning = self.middle_burning(fuel);
        self.pot.burn(&burning)
    }

    /// Equilibrium of that burn's products at `peak`, and once they have cooled to `cold`.
    ///
    /// # Errors
    /// [`EquilibriumError`] if there is none.
    pub fn middle_phases(
        &mut self,
        fuel: f64,
        peak: ThermodynamicTemperature,
        cold: ThermodynamicTemperature,
        tables: &Tables,
    ) -> Result<[Equilibrium; 2], EquilibriumError> {
        let burning = self.middle_burning(fuel);
        let hot = self.pot.equilibrium(&burning, peak)?;
        let cooled = self.pot.cooled(&burning, &hot, cold.min(peak), tables)?;
        Ok([hot, cooled])
    }

    /// Fuel over that of the batch with which φ as weighed is `phi`; not above 0 if salts that
    /// reduce give more than that without any fuel.
    pub fn fuel_for(&self, phi: f64) -> f64 {
        self.pot.fuel_for(phi)
    }

    fn middle_burning(&self, fuel: f64) -> pot::Burning {
        self.prior.burning(&self.prior.middle(), fuel)
    }

    /// A further block of the sample: the place of the pot in each draw, and its burn. The places
    /// of a block are the same for every batch that has nothing learned.
    pub fn block(&mut self, block: u64) -> Vec<(Place, Draw)> {
        let points = self.prior.points(block);
        let draws = self.burnt(&points);
        let place = |point: &Vec<f64>| std::array::from_fn(|at| point[at]);
        points.iter().map(place).zip(draws).collect()
    }

    fn burnt(&mut self, points: &[Vec<f64>]) -> Vec<Draw> {
        points
            .iter()
            .map(|point| self.pot.burn(&self.prior.burning(point, 1.0)))
            .collect()
    }

    /// Draws the sample and burns it.
    pub fn expected(&mut self) -> Expected {
        let (count, seed) = (self.prior.count(), self.prior.seed());
        let points = self.prior.points(0);
        let draws = self.burnt(&points);
        // A draw without a flame gets no hotter than it starts.
        let reached = |draw: &Draw| draw.peak.unwrap_or(draw.start).get::<kelvin>();
        let values: Vec<f64> = draws.iter().map(reached).collect();
        let mut sorted: Vec<&Draw> = draws.iter().collect();
        sorted.sort_by(|a, b| reached(a).total_cmp(&reached(b)));
        let flames = sorted.iter().filter(|draw| draw.peak.is_some()).count();
        let mut ordered = values.clone();
        ordered.sort_by(f64::total_cmp);
        let quantile = |share: f64| {
            // Draws without a flame stand first: a quantile among them has none.
            let burns = share * (count - 1) as f64 >= (count - flames) as f64;
            burns
                .then(|| ThermodynamicTemperature::new::<kelvin>(sample::quantile(&ordered, share)))
        };
        let mut ratios: Vec<f64> = draws
            .iter()
            .map(|draw| draw.equivalence_ratio.get::<ratio>())
            .collect();
        ratios.sort_by(f64::total_cmp);
        let causes = self.causes(&points, &values);
        let temperature = quantile(0.5);
        // The lower of the two draws in the middle, of those within 0.01 K the first drawn: rounding
        // must not choose.
        let mut order: Vec<usize> = (0..draws.len()).collect();
        order.sort_by_key(|at| (100.0 * values[*at]).round() as i64);
        let nearest = temperature.and_then(|_| order.get((count - 1) / 2).copied());
        let elements = nearest.map(|at| {
            let mut burning = self.prior.burning(&points[at], 1.0);
            // What bottles may err by is a band, not a second phase in the powder that is told.
            burning.bottles.fill((1.0, 1.0));
            self.pot.elements(&burning)
        });
        let line = |cause: &Cause| self.prior.settled_by(cause.name);
        Expected {
            narrowed_by: causes.iter().find_map(line),
            temperature,
            low: quantile(LOW),
            high: quantile(1.0 - LOW),
            equivalence_ratio: Ratio::new::<ratio>(sample::quantile(&ratios, 0.5)),
            causes,
            basis: self.prior.basis(),
            learned: self.prior.learned_from(),
            elements,
            seed,
            draws,
        }
    }

    /// Shares of the variance, largest first.
    fn causes(&self, points: &[Vec<f64>], values: &[f64]) -> Vec<Cause> {
        let mut shares: Vec<(CauseName, f64)> = Vec::new();
        for (at, name) in self.prior.names().into_iter().enumerate() {
            let coordinate: Vec<f64> = points.iter().map(|point| point[at]).collect();
            let share = sample::correlation_ratio(&coordinate, values);
            match shares.iter_mut().find(|(known, _)| *known == name) {
                Some((_, sum)) => *sum += share,
                None => shares.push((name, share)),
            }
        }
        shares.retain(|(_, share)| *share >= WORTH_A_CAUSE);
        let sum: f64 = shares.iter().map(|(_, share)| share).sum();
        let scale = sum.max(1.0);
        shares.iter_mut().for_each(|(_, share)| *share /= scale);
        let spread = sample::spread(values) > 0.0;
        if spread && 1.0 - sum / scale >= WORTH_A_CAUSE {
            shares.push((CauseName::Together, 1.0 - sum / scale));
        }
        shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        shares
            .into_iter()
            .map(|(name, share)| Cause {
                name,
                share: Ratio::new::<ratio>(share),
            })
            .collect()
    }
}
