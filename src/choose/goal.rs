//! What the flame has to do: temperature and time, as the table of phases or the user says.

use super::error::ChooseError;
use super::purity::OtherPhases;
use crate::batch::{Atmosphere, Batch};
use crate::formula::Element;
use crate::quantity::units::ratio;
use crate::quantity::{Ratio, ThermodynamicTemperature, Time};
use crate::tables::Tables;
use crate::tables::phases::{Phases, Search, TargetPhase};
use crate::vary::Point;
use std::fmt;

/// Where the wanted temperature comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GoalOrigin {
    /// The user gave it.
    Stated,
    /// The lowest temperature at which the phase was seen to form in hours, for a short burn.
    Lower,
    /// No lowest one is known: the usual anneal, for a short burn.
    Typical,
}

/// What is wanted.
#[derive(Debug, Clone)]
pub struct Goal {
    /// The phase, if the tables know one for the target.
    pub phase: Option<TargetPhase>,
    /// Share of the cations that differ from that row.
    pub differing: Ratio,
    /// Other forms of the same formula in the tables, if the file names none.
    pub other_forms: Vec<String>,
    /// Where the temperature comes from.
    pub origin: GoalOrigin,
    /// The temperature of hours that it rests on, if it comes from the table.
    pub held: Option<ThermodynamicTemperature>,
    /// Least temperature that may do: upper end of the activation energy.
    pub least: ThermodynamicTemperature,
    /// Temperature that does by the time model: lower end of the activation energy.
    pub safe: ThermodynamicTemperature,
    /// Above it the phase turns into something else or melts.
    pub upper: Option<ThermodynamicTemperature>,
    /// For how long the burn is that hot.
    pub time: Time,
    /// Whether the file stated the time.
    pub time_stated: bool,
    /// The gas wanted, if any.
    pub atmosphere: Option<Atmosphere>,
}

/// A metal counts as lost if more than this share of it is in the gas.
const LOST: f64 = 0.1;

/// How a burn stands to a goal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Below the least temperature.
    TooCold,
    /// Between the two ends of the time model.
    MayForm,
    /// Above both.
    Forms,
    /// Above the temperature at which it is lost.
    TooHot,
    /// Hot enough, but more than a tenth of one of its metals is in the gas in equilibrium.
    LosesMetal,
    /// Hot enough, but in equilibrium it leaves other phases than the wanted ones.
    OtherPhases,
}

impl Verdict {
    /// Whether the least temperature is reached and the phase neither lost nor short of a metal.
    pub fn may_do(self) -> bool {
        matches!(self, Self::Forms | Self::MayForm)
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::TooCold => "too cold",
            Self::MayForm => "may form",
            Self::Forms => "hot enough",
            Self::TooHot => "too hot",
            Self::LosesMetal => "loses metal",
            Self::OtherPhases => "other phase",
        })
    }
}

impl Goal {
    /// The goal of a batch.
    pub fn of(batch: &Batch, tables: &Tables) -> Result<Self, ChooseError> {
        let wanted = batch.wanted.clone().unwrap_or_default();
        let ranking = &tables.phases.ranking;
        let (phase, differing) = phase_of(batch, wanted.phase.as_deref(), &tables.phases);
        let time = wanted.time.unwrap_or(ranking.time.burn);
        let (origin, held) = match (&wanted.temperature, phase) {
            (Some(stated), _) => (GoalOrigin::Stated, *stated),
            (None, Some(phase)) => match (&phase.lower, phase.typical.first()) {
                (Some(lower), _) => (GoalOrigin::Lower, lower.value),
                (None, Some(typical)) => (GoalOrigin::Typical, typical.value),
                (None, None) => return Err(nothing_wanted(batch)),
            },
            (None, None) => return Err(nothing_wanted(batch)),
        };
        let floor = |activation| match origin {
            GoalOrigin::Stated => Ok(held),
            _ => ranking
                .time
                .floor(held, time, activation)
                .ok_or_else(|| nothing_wanted(batch)),
        };
        let melting = phase.and_then(|p| p.melting.as_ref());
        let upper = phase.and_then(|p| p.upper.as_ref()).or(melting);
        let forms = tables.phases.targets.iter().filter(|other| {
            let same = |p: &&TargetPhase| p.formula == other.formula && p.name != other.name;
            wanted.phase.is_none() && phase.as_ref().is_some_and(same)
        });
        Ok(Self {
            other_forms: forms.map(|form| form.name.clone()).collect(),
            least: floor(ranking.time.activation_high)?,
            safe: floor(ranking.time.activation_low)?,
            held: (origin != GoalOrigin::Stated).then_some(held),
            upper: upper.map(|upper| upper.value),
            phase: phase.cloned(),
            differing,
            origin,
            time,
            time_stated: wanted.time.is_some(),
            atmosphere: wanted.atmosphere,
        })
    }

    /// How an expected peak stands to the goal; `point` is the burn there, `others` what it leaves
    /// besides the expected powder.
    pub fn verdict(
        &self,
        temperature: Option<ThermodynamicTemperature>,
        point: &Point,
        others: &OtherPhases,
    ) -> Verdict {
        let verdict = temperature.map_or(Verdict::TooCold, |t| self.verdict_at(t));
        if !verdict.may_do() {
            return verdict;
        }
        let mut metals = point.evaporated.iter();
        if metals.any(|(element, share)| self.needs(*element) && share.get::<ratio>() > LOST) {
            Verdict::LosesMetal
        } else if others.counts() {
            Verdict::OtherPhases
        } else {
            verdict
        }
    }

    /// Whether the phase holds this metal; any metal, if no phase is known.
    fn needs(&self, element: Element) -> bool {
        let phase = self.phase.as_ref();
        phase.is_none_or(|p| p.formula.amount_of(element) > 0.0)
    }

    /// Largest φ that is searched: an oxide for which no reducing gas is wanted takes no burn in
    /// which most of the fuel is wasted.
    pub(super) fn largest_ratio(&self, batch: &Batch, search: &Search) -> f64 {
        let target = batch.target.as_ref().map(|target| &target.formula);
        let wanted = self.phase.as_ref().map(|phase| &phase.formula).or(target);
        let is_oxide = wanted.is_some_and(|wanted| wanted.amount_of(Element::OXYGEN) > 0.0);
        match (self.atmosphere, is_oxide) {
            (Some(Atmosphere::Reducing), _) | (_, false) => search.ratio_to,
            _ => search.ratio_to_of_oxides,
        }
    }

    /// How a temperature alone stands to the goal.
    pub fn verdict_at(&self, temperature: ThermodynamicTemperature) -> Verdict {
        if self.upper.is_some_and(|upper| temperature > upper) {
            Verdict::TooHot
        } else if temperature >= self.safe {
            Verdict::Forms
        } else if temperature >= self.least {
            Verdict::MayForm
        } else {
            Verdict::TooCold
        }
    }
}

fn phase_of<'t>(
    batch: &Batch,
    name: Option<&str>,
    phases: &'t Phases,
) -> (Option<&'t TargetPhase>, Ratio) {
    let same = Ratio::new::<ratio>(0.0);
    if let Some(phase) = name.and_then(|name| phases.by_name(name)) {
        return (Some(phase), same);
    }
    let nearest = batch
        .target
        .as_ref()
        .and_then(|target| phases.nearest(&target.formula));
    match nearest {
        Some(nearest) => (Some(nearest.phase), nearest.differing),
        None => (None, same),
    }
}

fn nothing_wanted(batch: &Batch) -> ChooseError {
    ChooseError::NothingWanted {
        target: batch.target.as_ref().map(|t| t.formula.to_string()),
    }
}
