//! From a point of the unit cube to what one burn takes for what nobody knows.

use super::error::ExpectedError;
use super::pot::{Burning, Loss};
use crate::batch::{Batch, WaterAtIgnition};
use crate::burn::Heating;
use crate::enthalpy::with_share_left;
use crate::ignition::{BurningGel, Course, burning_gel};
use crate::learned::{COORDINATES, LearnedPot, Place};
use crate::quantity::units::{cubic_meter, joule, kelvin, meter_per_second, mole, ratio};
use crate::quantity::{Band, Ratio, TemperatureInterval, Time, reference_temperature};
use crate::sample::{latin_hypercube, triangular};
use crate::tables::ExpectationBands;
use crate::tables::{Role, Tables};
use crate::weigh::line::assay_band;
use std::fmt;

/// What an expectation was learned from.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedFrom {
    /// The file, as the batch names it.
    pub file: String,
    /// Runs of this pot behind it; 0 if it holds none, and then it changes nothing.
    pub runs: usize,
    /// Effective number of draws behind it.
    pub effective_draws: f64,
    /// How much hotter those runs were than what was learned from them gives; `None` if it gives them.
    pub still_off: Option<TemperatureInterval>,
    /// Time to ignition by those runs: 8 of 10 lie in this band.
    pub time: Option<Band<Time>>,
}

/// Stefan–Boltzmann constant, W/(m² K⁴) (exact in the SI of 2019 to the digits given).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;
/// Most of the fuel that can be lost on the way and still leave a batch that ignites.
const MOST_LOST: f64 = 0.9;
/// A start or share nearer to its default than this was not stated.
const NOT_STATED: f64 = 1e-9;

/// What the water, the fuel and the start of the burn are drawn from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeatingBasis {
    /// Both ends of the water states: the file does not say how it is heated.
    NotStated,
    /// The same: heated as the file says it does not ignite, or the model gives no course.
    NoIgnition,
    /// The course of heating on the way that the file states.
    Course,
}

/// What makes the peak temperature uncertain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CauseName {
    /// How slowly it is heated: water, fuel and start together.
    Heating,
    /// Water that stays in the gel.
    Water,
    /// Share of the decomposed fuel that leaves.
    Fuel,
    /// Heat lost while a piece of gel burns.
    HeatLost,
    /// Air that surplus fuel finds.
    Air,
    /// Formation enthalpies of the tables.
    Enthalpies,
    /// Heat capacities of the tables.
    HeatCapacities,
    /// Assay and crystal water of the bottles.
    Bottles,
    /// What several do only together.
    Together,
}

impl fmt::Display for CauseName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Heating => "course of heating",
            Self::Water => "water kept",
            Self::Fuel => "fuel lost",
            Self::HeatLost => "heat lost",
            Self::Air => "air drawn in",
            Self::Enthalpies => "formation enthalpies",
            Self::HeatCapacities => "heat capacities",
            Self::Bottles => "assay and hydrate",
            Self::Together => "several together",
        })
    }
}

/// Numbers of the prior in coherent SI, with what the file states in their place.
#[derive(Debug)]
pub struct Prior {
    bands: ExpectationBands,
    gel: BurningGel,
    basis: HeatingBasis,
    /// What the course leaves, if there is one.
    course: Option<Left>,
    /// Solvent (mol) and share of the crystal water, if the file states them.
    water: Option<(f64, f64)>,
    start: Option<f64>,
    heat_loss: Option<f64>,
    air: Option<f64>,
    /// All water of the batch: solvent and crystal water, mol.
    solvent: f64,
    crystal: f64,
    bottles: Vec<Bottle>,
    /// What runs tell of the pot, and where it stands.
    learned: Option<(LearnedPot, LearnedFrom)>,
}

/// What a course of heating leaves in the pot.
#[derive(Debug, Clone, Copy)]
struct Left {
    /// Share of all water left.
    water: f64,
    /// Share of the fuel lost, and of the nitrate, by valence.
    fuel_lost: f64,
    nitrate_lost: f64,
    /// Start of the burn, K.
    start: f64,
    /// Heat stored in what stays of the fuel, J.
    stored: f64,
}

/// One ingredient's bands.
#[derive(Debug, Clone, Copy)]
struct Bottle {
    assay: f64,
    assay_band: f64,
    /// Crystal water as written, its range, molar masses of the dry salt and of water.
    water: f64,
    range: Option<(f64, f64)>,
    dry_mass: f64,
    water_mass: f64,
}

/// Coordinates that every batch has.
const FIXED: [CauseName; 8] = [
    CauseName::Heating,
    CauseName::Water,
    CauseName::Fuel,
    CauseName::HeatLost,
    CauseName::HeatLost,
    CauseName::Air,
    CauseName::Enthalpies,
    CauseName::HeatCapacities,
];

impl Prior {
    pub fn new(batch: &Batch, heating: &Heating, tables: &Tables) -> Result<Self, ExpectedError> {
        let conditions = &batch.conditions;
        let stated = |value: Ratio| {
            let value = value.get::<ratio>();
            (value > NOT_STATED).then_some(value)
        };
        let start = conditions.start.get::<kelvin>();
        let usual = reference_temperature().get::<kelvin>();
        let course = heating.ignites().map(|course| Left {
            water: course.water_left.get::<ratio>(),
            fuel_lost: course.fuel_lost.get::<ratio>(),
            nitrate_lost: course.nitrate_lost.get::<ratio>(),
            start: course.start_temperature.get::<kelvin>(),
            stored: course.stored_heat.get::<joule>(),
        });
        let water = match batch.water_at_ignition {
            WaterAtIgnition::Fraction(share) => {
                let state = with_share_left(batch, share);
                Some((
                    state.solvent.get::<mole>(),
                    state.crystal_share.get::<ratio>(),
                ))
            }
            WaterAtIgnition::NotStated | WaterAtIgnition::FromIgnition => None,
        };
        Ok(Self {
            bands: ExpectationBands::clone(&tables.expectation),
            gel: burning_gel(batch, tables)?,
            basis: match (heating, &course) {
                (Heating::NotStated, _) => HeatingBasis::NotStated,
                (_, None) => HeatingBasis::NoIgnition,
                (_, Some(_)) => HeatingBasis::Course,
            },
            course,
            water,
            start: ((start - usual).abs() > NOT_STATED).then_some(start),
            heat_loss: stated(conditions.heat_loss),
            air: stated(conditions.air_drawn_in),
            solvent: batch.solvent_water().get::<mole>(),
            crystal: batch.crystal_water().get::<mole>(),
            bottles: bottles(batch),
            learned: learned(batch, heating),
        })
    }

    /// What was learned, and whether there is something of this pot in it.
    pub fn learned_from(&self) -> Option<LearnedFrom> {
        self.learned.as_ref().map(|(_, from)| from.clone())
    }

    /// Points of the unit cube, block by block; what was learned of the pot stands in its place.
    pub fn points(&self, block: u64) -> Vec<Vec<f64>> {
        let count = self.count();
        let mut points = latin_hypercube(count, self.dimensions(), self.seed() + block);
        if let Some(places) = self.places() {
            for (at, point) in points.iter_mut().enumerate() {
                point[..COORDINATES].copy_from_slice(&places[at * places.len() / count]);
            }
        }
        points
    }

    /// The middle of every band.
    pub fn middle(&self) -> Vec<f64> {
        let mut middle = vec![0.5; self.dimensions()];
        if let Some(places) = self.places() {
            for (at, value) in middle[..COORDINATES].iter_mut().enumerate() {
                *value = places.iter().map(|place| place[at]).sum::<f64>() / places.len() as f64;
            }
        }
        middle
    }

    fn places(&self) -> Option<&[Place]> {
        let (pot, _) = self.learned.as_ref()?;
        (!pot.places.is_empty()).then_some(&pot.places)
    }

    pub fn basis(&self) -> HeatingBasis {
        self.basis
    }

    pub fn count(&self) -> usize {
        self.bands.draws.si() as usize
    }

    pub fn seed(&self) -> u64 {
        self.bands.seed.si() as u64
    }

    /// The line of the batch file that settles a cause, if there is one that is not there.
    pub fn settled_by(&self, cause: CauseName) -> Option<&'static str> {
        let way = self.basis == HeatingBasis::NotStated;
        match cause {
            CauseName::Heating if way => Some("way = \"…\" under [heating]"),
            CauseName::Heating | CauseName::Water if self.water.is_none() => {
                Some("left_at_ignition = … under [water]")
            }
            CauseName::HeatLost => Some("heat_loss = … under [conditions], from a run"),
            CauseName::Air => Some("air_drawn_in = … under [conditions]"),
            CauseName::Bottles => Some("assay_band and hydrate_range of the bottles"),
            _ => None,
        }
    }

    /// The cause behind each coordinate.
    pub fn names(&self) -> Vec<CauseName> {
        let uncertain = self.bottles.iter().map(Bottle::coordinates).sum();
        let bottles = std::iter::repeat_n(CauseName::Bottles, uncertain);
        FIXED.into_iter().chain(bottles).collect()
    }

    pub fn dimensions(&self) -> usize {
        self.names().len()
    }

    /// What the burn at `point` takes, with `fuel` times the fuel of the batch.
    pub fn burning(&self, point: &[f64], fuel: f64) -> Burning {
        let (fixed, rest) = point.split_at(FIXED.len());
        let [slow, kept, escape, speed, exposure, air, enthalpy, capacity] = *fixed else {
            unreachable!("split at the number of fixed coordinates")
        };
        let (lost, nitrate_lost, start, course_water) = self.course_at(slow, escape);
        let (solvent, crystal) = self.water.unwrap_or_else(|| {
            let (solvent, crystal) = course_water;
            let kept = self.bands.water_kept.si() * kept;
            (solvent, (crystal + kept).min(1.0))
        });
        let mut rest = rest.iter().copied();
        let bottles = self.bottles.iter().map(|bottle| bottle.at(&mut rest));
        Burning {
            solvent,
            crystal_share: crystal,
            fuel: fuel * (1.0 - lost),
            fuel_lost: lost,
            nitrate_lost,
            start,
            // As much more or less of the fuel has decomposed as the course says.
            stored: self.course.map_or(0.0, |left| left.stored)
                * self.bands.course_factor.si().powf(2.0 * slow - 1.0),
            loss: self.loss(speed, exposure),
            air: self
                .air
                .unwrap_or_else(|| self.bands.air_most.si() * air * air),
            enthalpy: triangular(enthalpy, 1.0),
            capacity: triangular(capacity, 1.0),
            bottles: bottles.collect(),
        }
    }

    /// Fuel and nitrate lost, start, and solvent with the share of the crystal water, at slowness
    /// `slow`. Without a course no nitrate is lost.
    fn course_at(&self, slow: f64, escape: f64) -> (f64, f64, f64, (f64, f64)) {
        let escapes = self.escapes(escape);
        let Some(left) = self.course else {
            let lost = self.gel.volatile_share.get::<ratio>()
                * escapes
                * slow.powf(self.bands.lost_power.si());
            let from = self.bands.start_from.si();
            let span = self.bands.start_share.si() * (self.gel.peak.get::<kelvin>() - from);
            let start = self.start.unwrap_or(from + slow * span.max(0.0));
            let crystal = (1.0 - slow).powf(self.bands.dry_power.si());
            return (lost.min(MOST_LOST), 0.0, start, (0.0, crystal));
        };
        let way = 2.0 * slow - 1.0;
        let factor = self.bands.course_factor.si().powf(way);
        let water = left.water / factor * (self.solvent + self.crystal);
        let water = water.min(self.solvent + self.crystal);
        let solvent = (water - self.crystal).max(0.0);
        let crystal = if self.crystal > 0.0 {
            (water - solvent) / self.crystal
        } else {
            0.0
        };
        let usual = self.escapes(0.5);
        let relative = if usual > 0.0 { escapes / usual } else { 1.0 };
        let lost = (left.fuel_lost * factor * relative).min(MOST_LOST);
        let nitrate = (left.nitrate_lost * factor).min(MOST_LOST);
        let start = left.start + way * self.bands.course_interval.si();
        (lost, nitrate, start, (solvent, crystal))
    }

    /// Share of the decomposed fuel that leaves.
    fn escapes(&self, u: f64) -> f64 {
        let (low, high) = (self.gel.escape.low, self.gel.escape.high);
        (low + u * (high - low)).get::<ratio>()
    }

    /// Heat lost by the batch while each piece of it burns: the volume of the gel over the speed
    /// of the front is area of the front × time, summed over all pieces.
    fn loss(&self, speed: f64, exposure: f64) -> Loss {
        if let Some(share) = self.heat_loss {
            return Loss::Share(share);
        }
        let (slow, fast) = (&self.gel.front.low, &self.gel.front.high);
        let (slow, fast) = (
            slow.get::<meter_per_second>(),
            fast.get::<meter_per_second>(),
        );
        let speed = slow * (fast / slow).powf(speed);
        let face_time = self.gel.volume.get::<cubic_meter>() / speed;
        let between = |low: f64, high: f64| low * (high / low).powf(exposure);
        let bands = &self.bands;
        let seen = between(bands.exposure_low.si(), bands.exposure_high.si());
        let transfer = between(bands.transfer_low.si(), bands.transfer_high.si());
        Loss::Face {
            radiation: seen * STEFAN_BOLTZMANN * face_time,
            linear: transfer * face_time,
        }
    }
}

/// What the batch's file takes in of its pot; no places if it holds nothing of it.
fn learned(batch: &Batch, heating: &Heating) -> Option<(LearnedPot, LearnedFrom)> {
    let learned = batch.learned.as_ref()?;
    let course = heating.ignites();
    let pot = learned.pot(&batch.pot_name(course.is_some()));
    let from = LearnedFrom {
        file: learned.file.clone(),
        runs: pot.map_or(0, |pot| pot.runs),
        effective_draws: pot.map_or(0.0, |pot| pot.effective_draws),
        still_off: pot.and_then(|pot| pot.still_off),
        time: pot
            .and_then(|pot| pot.time_factor)
            .zip(course.and_then(Course::time_to_ignition))
            .map(|(factor, time)| factor.map(|factor| factor * time)),
    };
    let nothing = || LearnedPot {
        name: batch.pot_name(course.is_some()),
        runs: 0,
        effective_draws: 0.0,
        still_off: None,
        time_factor: None,
        places: Vec::new(),
        summary: Vec::new(),
    };
    Some((pot.cloned().unwrap_or_else(nothing), from))
}

fn bottles(batch: &Batch) -> Vec<Bottle> {
    let water_mass = crate::batch::water_molar_mass().value;
    batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role != Role::Solvent)
        .map(|i| {
            let formula = &i.reactant.formula;
            Bottle {
                assay: i.assay.get::<ratio>(),
                assay_band: assay_band(i).get::<ratio>(),
                water: formula.crystal_water(),
                range: i.hydrate_range,
                dry_mass: formula.anhydrous().molar_mass().value,
                water_mass,
            }
        })
        .collect()
}

impl Bottle {
    fn coordinates(&self) -> usize {
        usize::from(self.assay_band > 0.0) + usize::from(self.range.is_some())
    }

    /// Amount over that as written, and crystal water per formula unit over that as written. The
    /// mass off the bottle is what it is; the pure salt in it is assay × mass over molar mass.
    fn at(&self, point: &mut impl Iterator<Item = f64>) -> (f64, f64) {
        let mut even = || 2.0 * point.next().unwrap_or(0.5) - 1.0;
        let mut amount = 1.0;
        if self.assay_band > 0.0 {
            // No bottle holds more than itself.
            let assay = (self.assay + self.assay_band * even()).min(1.0);
            amount *= assay / self.assay;
        }
        let mut water = 1.0;
        if let Some((low, high)) = self.range {
            let found = 0.5 * (low + high) + 0.5 * (high - low) * even();
            let molar = |water: f64| self.dry_mass + water * self.water_mass;
            amount *= molar(self.water) / molar(found);
            water = if self.water > 0.0 {
                found / self.water
            } else {
                1.0
            };
        }
        (amount, water)
    }
}
