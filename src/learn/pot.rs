//! What the runs in one pot say together.

use super::reading::Reading;
use super::scale::{ScaleLesson, ScalePrior, scale_lesson};
use super::sign::{PlaceOutlook, SignOutlook, Signs};
use super::weight::{effective, quantiles, resampled, student, weights};
use crate::batch::Fumes;
use crate::expected::{Draw, Expectation};
use crate::learned::{FRONT, LearnedPot, Place, PotName};
use crate::quantity::units::{kelvin, kelvins, percent, ratio, second};
use crate::quantity::{
    Band, Ratio, TemperatureInterval, ThermodynamicTemperature, Time, temperature_difference,
};
use crate::tables::observations::Observations;
use rayon::prelude::*;

/// Nine even steps of the normal distribution: a reading's error laid over each draw.
const STEPS: [f64; 9] = [
    -1.593, -0.967, -0.589, -0.282, 0.0, 0.282, 0.589, 0.967, 1.593,
];

/// A share: median, and the band of 8 of 10.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Median.
    pub middle: Ratio,
    /// 8 of 10.
    pub band: Band<Ratio>,
}

/// What a pot does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// Share of the heat of the burn that is lost meanwhile.
    pub heat_lost: Share,
    /// Share of all water left at ignition.
    pub water_left: Share,
    /// Share of the fuel lost on the way.
    pub fuel_lost: Share,
    /// Share of the air for the surplus fuel that it finds.
    pub air: Share,
}

/// What is predicted of a reading, its error included: median and band of 8 of 10. A burn without a
/// flame counts with its start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlook {
    /// Median.
    pub middle: ThermodynamicTemperature,
    /// 8 of 10.
    pub band: Band<ThermodynamicTemperature>,
}

/// What is predicted of how long the flame lasts, the error of the watch included: 8 of 10.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlameOutlook {
    pub read: Time,
    pub before: Band<Time>,
    /// By the other runs of the pot; `None` if there are none.
    pub without: Option<Band<Time>>,
}

/// A reading that stands alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outlier {
    /// No draw comes near it.
    Unexplained {
        /// The draw that comes nearest.
        nearest: Draw,
    },
    /// The other runs of the pot contradict it.
    Contradicted,
}

#[derive(Debug, Clone, PartialEq)]
pub struct RunLesson {
    /// File, number and label.
    pub name: String,
    /// What was read.
    pub reading: Reading,
    /// What was predicted before.
    pub before: Outlook,
    /// What the lesson of all runs predicts.
    pub after: Outlook,
    /// What the other runs of the pot alone predict; `None` if there are none.
    pub without: Option<Outlook>,
    /// How long the flame lasted, if that was read.
    pub flame: Option<FlameOutlook>,
    /// Colour of the fumes, if that was seen.
    pub fumes: Option<(Fumes, SignOutlook)>,
    /// Where it lit, if that was seen.
    pub place: Option<PlaceOutlook>,
    /// If it stands alone.
    pub outlier: Option<Outlier>,
}

impl RunLesson {
    /// Reading less what was predicted by the other runs, or before if there are none.
    pub fn miss(&self) -> Option<TemperatureInterval> {
        let outlook = self.without.unwrap_or(self.before);
        let (peak, _) = self.reading.peak?;
        Some(temperature_difference(peak, outlook.middle))
    }
}

/// Mean size of the miss, over the runs with a measured peak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misses {
    /// Before anything was learned.
    pub before: TemperatureInterval,
    /// Each run predicted by the others.
    pub left_out: TemperatureInterval,
    /// Share of the first below which the second counts as help.
    helps_below: Ratio,
}

impl Misses {
    /// Whether learning predicts runs that it has not seen.
    pub fn helps(&self) -> bool {
        self.left_out < self.helps_below * self.before
    }
}

/// What was learned of one pot.
#[derive(Debug, Clone, PartialEq)]
pub struct PotLesson {
    pub name: PotName,
    /// Its runs, misses first.
    pub runs: Vec<RunLesson>,
    pub before: Habits,
    pub after: Habits,
    /// The time scale of heating, if runs state times and the model has one.
    pub time: Option<ScaleLesson>,
    /// Volume of the froth over the middle of its band, if runs state its height in a known vessel.
    pub froth: Option<ScaleLesson>,
    /// Effective number of draws.
    pub effective_draws: f64,
    pub draws: usize,
    /// Whether the effective number is too small to trust the ends of the bands.
    pub rough: bool,
    /// Readings less what the lesson predicts, on average, if all of them lie beyond its bands to one
    /// side: the assumed bands reach no further.
    pub still_off: Option<TemperatureInterval>,
    /// Whether it helps, with two measured peaks or more.
    pub help: Option<Misses>,
    /// Places of the pot, all as likely.
    pub places: Vec<Place>,
}

/// A run that was kept.
pub struct Kept {
    pub name: String,
    pub reading: Reading,
    /// Which charge of the group.
    pub charge: usize,
    pub time_factor: Option<f64>,
    /// How long such fuels burn.
    pub burn_time: Band<Time>,
    /// Froth over the middle of its band, and the deviation of its logarithm before any run.
    pub froth: Option<(f64, f64)>,
    /// What the eye saw.
    pub signs: Signs,
}

impl Kept {
    /// How long the burn lasts with the front at `place` of its band, s: the slow end of the one
    /// band is the long end of the other.
    fn flame_at(&self, place: &Place) -> f64 {
        let (low, high) = (self.burn_time.low.value, self.burn_time.high.value);
        high * (low / high).powf(place[FRONT])
    }
}

/// Deviation of the logarithm of a flame's time: the watch and runs together.
fn flame_deviation(tables: &Observations) -> f64 {
    tables.error.flame.si().hypot(tables.scatter.flame.si())
}

/// The runs in one pot.
pub struct Group<'t> {
    name: PotName,
    charges: Vec<Expectation<'t>>,
    runs: Vec<Kept>,
    sample: Sample,
    blocks: u64,
}

/// The draws so far: places, and burns by charge.
#[derive(Default)]
struct Sample {
    places: Vec<Place>,
    draws: Vec<Vec<Draw>>,
}

impl<'t> Group<'t> {
    pub fn new(name: &PotName) -> Self {
        Self {
            name: name.clone(),
            charges: Vec::new(),
            runs: Vec::new(),
            sample: Sample::default(),
            blocks: 0,
        }
    }

    pub fn add(&mut self, charge: Expectation<'t>) -> usize {
        self.charges.push(charge);
        self.charges.len() - 1
    }

    pub fn keep(&mut self, run: Kept) {
        self.runs.push(run);
    }

    /// Draws until enough count, and tells what they say.
    pub fn lesson(&mut self, tables: &Observations) -> PotLesson {
        let most = tables.weight.most_blocks.si() as u64;
        let enough = tables.weight.enough_draws.si();
        if self.blocks == 0 {
            self.draw();
        }
        loop {
            let logarithms = self.logarithms(tables);
            let count = effective(&weights(&sum(&logarithms, None)));
            if count >= enough || self.blocks >= most {
                return self.told(&logarithms, tables);
            }
            self.draw();
        }
    }

    fn logarithms(&self, tables: &Observations) -> Vec<Vec<f64>> {
        let of = |run| self.sample.logarithms(run, tables);
        self.runs.iter().map(of).collect()
    }

    /// Adds a block of draws.
    fn draw(&mut self) {
        let number = self.blocks;
        let blocks: Vec<Vec<(Place, Draw)>> = self
            .charges
            .par_iter_mut()
            .map(|charge| charge.block(number))
            .collect();
        self.blocks += 1;
        let sample = &mut self.sample;
        sample.draws.resize(blocks.len(), Vec::new());
        for (at, block) in blocks.into_iter().enumerate() {
            if at == 0 {
                sample.places.extend(block.iter().map(|(place, _)| place));
            }
            sample.draws[at].extend(block.into_iter().map(|(_, draw)| draw));
        }
    }

    /// Times to ignition over those of the heating model.
    fn time(&self, tables: &Observations) -> Option<ScaleLesson> {
        let factors: Vec<f64> = self.runs.iter().filter_map(|run| run.time_factor).collect();
        let spread = ScalePrior {
            before: tables.weight.time_factor.si().ln(),
            scatter: tables.scatter.time.si(),
            freedom: tables.weight.freedom.si(),
        };
        scale_lesson(&factors, spread)
    }

    /// Volumes of froth over the middles of their bands; of several fuels the widest band counts.
    fn froth(&self, tables: &Observations) -> Option<ScaleLesson> {
        let froths = self.runs.iter().filter_map(|run| run.froth);
        let (factors, deviations): (Vec<f64>, Vec<f64>) = froths.unzip();
        let spread = ScalePrior {
            before: deviations.into_iter().fold(0.0, f64::max),
            scatter: tables.error.froth.si().hypot(tables.scatter.froth.si()),
            freedom: tables.weight.freedom.si(),
        };
        scale_lesson(&factors, spread)
    }

    fn told(&self, logarithms: &[Vec<f64>], tables: &Observations) -> PotLesson {
        let sample = &self.sample;
        let count = sample.places.len();
        let even = vec![1.0 / count as f64; count];
        let all = weights(&sum(logarithms, None));
        let mut runs: Vec<RunLesson> = self
            .runs
            .iter()
            .enumerate()
            .map(|(at, run)| {
                let others = (self.runs.len() > 1).then(|| weights(&sum(logarithms, Some(at))));
                let outlook = |weights: &[f64]| sample.outlook(run, weights);
                let flame = |weights: &[f64]| sample.flame(run, weights, flame_deviation(tables));
                let without = others.as_deref().map(outlook);
                RunLesson {
                    name: run.name.clone(),
                    reading: run.reading,
                    before: outlook(&even),
                    after: outlook(&all),
                    without,
                    flame: run.reading.flame.map(|read| FlameOutlook {
                        read,
                        before: flame(&even),
                        without: others.as_deref().map(flame),
                    }),
                    fumes: run.signs.fume_outlook(
                        &sample.draws[run.charge],
                        &even,
                        others.as_deref(),
                        tables,
                    ),
                    place: run.signs.place_outlook(),
                    outlier: sample.outlier(run, without, tables.weight.far.si()),
                }
            })
            .collect();
        let help = help(&runs, tables);
        let still_off = still_off(&runs);
        let size = |run: &RunLesson| run.miss().map_or(0.0, |miss| miss.get::<kelvins>().abs());
        runs.sort_by(|a, b| size(b).total_cmp(&size(a)));
        let effective_draws = effective(&all);
        let places = resampled(&all, tables.weight.places.si() as usize);
        PotLesson {
            name: self.name.clone(),
            runs,
            before: sample.habits(&even),
            after: sample.habits(&all),
            time: self.time(tables),
            froth: self.froth(tables),
            effective_draws,
            draws: count,
            rough: effective_draws < tables.weight.few_draws.si(),
            still_off,
            help,
            places: places.into_iter().map(|at| sample.places[at]).collect(),
        }
    }
}

/// Logarithms of all runs together, one left out if asked.
fn sum(logarithms: &[Vec<f64>], left_out: Option<usize>) -> Vec<f64> {
    let count = logarithms.first().map_or(0, Vec::len);
    let mut sum = vec![0.0; count];
    for (at, run) in logarithms.iter().enumerate() {
        if Some(at) != left_out {
            sum.iter_mut().zip(run).for_each(|(sum, own)| *sum += own);
        }
    }
    sum
}

/// See [`PotLesson::still_off`].
fn still_off(runs: &[RunLesson]) -> Option<TemperatureInterval> {
    let read = |run: &RunLesson| Some((run.reading.peak?.0, run.after));
    let read: Vec<_> = runs.iter().filter_map(read).collect();
    let hotter = read.iter().all(|(peak, after)| *peak > after.band.high);
    let colder = read.iter().all(|(peak, after)| *peak < after.band.low);
    if read.is_empty() || hotter == colder {
        return None;
    }
    let off = |(peak, after): &(_, Outlook)| temperature_difference(*peak, after.middle);
    let sum: f64 = read.iter().map(|pair| off(pair).get::<kelvins>()).sum();
    Some(TemperatureInterval::new::<kelvins>(sum / read.len() as f64))
}

fn help(runs: &[RunLesson], tables: &Observations) -> Option<Misses> {
    let measured: Vec<(f64, f64)> = runs
        .iter()
        .filter_map(|run| {
            let peak = run.reading.peak?.0.get::<kelvin>();
            let off = |outlook: Outlook| (peak - outlook.middle.get::<kelvin>()).abs();
            Some((off(run.before), off(run.without?)))
        })
        .collect();
    let mean = |of: fn(&(f64, f64)) -> f64| {
        let sum: f64 = measured.iter().map(of).sum();
        TemperatureInterval::new::<kelvins>(sum / measured.len() as f64)
    };
    (measured.len() > 1).then(|| Misses {
        before: mean(|pair| pair.0),
        left_out: mean(|pair| pair.1),
        helps_below: tables.weight.helps.value,
    })
}

/// How hot a draw gets: its peak, or its start without a flame.
fn reached(draw: &Draw) -> f64 {
    draw.peak.unwrap_or(draw.start).get::<kelvin>()
}

impl Sample {
    /// How well each draw predicts what was read of a run.
    fn logarithms(&self, run: &Kept, tables: &Observations) -> Vec<f64> {
        let freedom = tables.weight.freedom.si();
        let other_way = tables.weight.other_way.si();
        let of = |(draw, place): (&Draw, &Place)| {
            let way = match run.reading.lit {
                None => 1.0,
                Some(lit) if lit == draw.peak.is_some() => 1.0 - other_way,
                Some(_) => other_way,
            };
            let peak = run.reading.peak.map_or(0.0, |(peak, deviation)| {
                let off = peak.get::<kelvin>() - reached(draw);
                student(off / deviation.get::<kelvins>(), freedom)
            });
            let flame = run.reading.flame.map_or(0.0, |flame| {
                let off = (flame.value / run.flame_at(place)).ln();
                student(off / flame_deviation(tables), freedom)
            });
            way.ln() + peak + flame + run.signs.logarithm(draw, place, tables)
        };
        let draws = self.draws[run.charge].iter().zip(&self.places);
        draws.map(of).collect()
    }

    /// What weighted draws predict of the time of a flame as read: 8 of 10.
    fn flame(&self, run: &Kept, weights: &[f64], deviation: f64) -> Band<Time> {
        let places = self.places.iter().zip(weights);
        let (values, weights): (Vec<f64>, Vec<f64>) = places
            .flat_map(|(place, weight)| {
                let time = run.flame_at(place);
                STEPS.map(|step| (time * (step * deviation).exp(), *weight))
            })
            .unzip();
        let [low, high] = quantiles(&values, &weights, [0.1, 0.9]).map(Time::new::<second>);
        Band::between(low, high)
    }

    /// What weighted draws predict of the reading of a run.
    fn outlook(&self, run: &Kept, weights: &[f64]) -> Outlook {
        let deviation = run.reading.peak.map_or(0.0, |(_, d)| d.get::<kelvins>());
        let draws = self.draws[run.charge].iter().zip(weights);
        let (values, weights): (Vec<f64>, Vec<f64>) = draws
            .flat_map(|(draw, weight)| {
                let peak = reached(draw);
                STEPS.map(|step| (peak + step * deviation, *weight))
            })
            .unzip();
        let [low, middle, high] = quantiles(&values, &weights, [0.1, 0.5, 0.9])
            .map(ThermodynamicTemperature::new::<kelvin>);
        Outlook {
            middle,
            band: Band::between(low, high),
        }
    }

    fn outlier(&self, run: &Kept, without: Option<Outlook>, far: f64) -> Option<Outlier> {
        let (peak, deviation) = run.reading.peak?;
        let (peak, far) = (peak.get::<kelvin>(), far * deviation.get::<kelvins>());
        let off = |draw: &&Draw| (reached(draw) - peak).abs();
        let nearest = self.draws[run.charge]
            .iter()
            .min_by(|a, b| off(a).total_cmp(&off(b)))?;
        if off(&nearest) > far {
            return Some(Outlier::Unexplained { nearest: *nearest });
        }
        let band = without?.band;
        let outside = (band.low.get::<kelvin>() - peak).max(peak - band.high.get::<kelvin>());
        (outside > far).then_some(Outlier::Contradicted)
    }

    /// What the pot does by weighted draws, over all charges.
    fn habits(&self, weights: &[f64]) -> Habits {
        let share = |of: fn(&Draw) -> Ratio| {
            let draws = self
                .draws
                .iter()
                .flat_map(|draws| draws.iter().zip(weights));
            let (values, weights): (Vec<f64>, Vec<f64>) = draws
                .map(|(draw, weight)| (of(draw).get::<ratio>(), *weight))
                .unzip();
            let [low, middle, high] =
                quantiles(&values, &weights, [0.1, 0.5, 0.9]).map(Ratio::new::<ratio>);
            Share {
                middle,
                band: Band::between(low, high),
            }
        };
        Habits {
            heat_lost: share(|draw| draw.heat_lost),
            water_left: share(|draw| draw.water_left),
            fuel_lost: share(|draw| draw.fuel_lost),
            air: share(|draw| draw.air),
        }
    }
}

impl PotLesson {
    /// The lesson as it is kept for later batches.
    pub fn learned(&self) -> LearnedPot {
        let line = |name: &str, share: Share| {
            let whole = |value: Ratio| value.get::<percent>();
            let band = share.band;
            format!(
                "{name}: {:.0} to {:.0} %, 8 of 10",
                whole(band.low),
                whole(band.high)
            )
        };
        let mut places = self.places.clone();
        places.sort_by(|a, b| a[0].total_cmp(&b[0]));
        LearnedPot {
            name: self.name.clone(),
            runs: self.runs.len(),
            effective_draws: self.effective_draws,
            still_off: self.still_off,
            time_factor: self.time.map(|time| time.after),
            places,
            summary: vec![
                line("heat lost", self.after.heat_lost),
                line("water left", self.after.water_left),
                line("fuel lost", self.after.fuel_lost),
                line("air found", self.after.air),
            ],
        }
    }
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
