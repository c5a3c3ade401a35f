//! The time line: the stages from cold solution to ignition.

use super::numbers::{k, s, share};
use crate::ignition::charge::Charge;
use crate::ignition::history::{End, History, Mark, Sample};
use crate::quantity::units::watt;
use crate::quantity::{Power, ThermodynamicTemperature, Time};
use std::fmt;

/// Name of a stage of heating.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum StageName {
    /// From cold to boiling.
    HeatUp,
    /// The solvent boils off while the boiling point climbs.
    BoilOff,
    /// Syrup and gel: the water of crystallisation boils off.
    Gel,
    /// The driest part is dry and warms up.
    DryHeat,
    /// The reaction heats faster than the heating way, to ignition.
    Runaway,
}

impl StageName {
    /// Whether there is dry gel that has not lit: it may at any moment.
    pub fn is_live(self) -> bool {
        matches!(self, Self::DryHeat | Self::Runaway)
    }

    /// A short code for files.
    pub fn code(self) -> &'static str {
        match self {
            Self::HeatUp => "heat_up",
            Self::BoilOff => "boil_off",
            Self::Gel => "gel",
            Self::DryHeat => "dry_heat",
            Self::Runaway => "runaway",
        }
    }
}

impl fmt::Display for StageName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::HeatUp => "heating to the boil",
            Self::BoilOff => "boiling off the water",
            Self::Gel => "syrup and gel",
            Self::DryHeat => "dry heat",
            Self::Runaway => "runaway",
        })
    }
}

/// One stage of heating.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stage {
    /// Which.
    pub name: StageName,
    /// When it starts.
    pub start: Time,
    /// When it ends.
    pub end: Time,
    /// Mean temperature of the layer at its end.
    pub temperature: ThermodynamicTemperature,
    /// Mean power taken up from the heating way over the stage.
    pub power: Power,
}

/// The time line from the marks of the run.
pub(super) fn stages(history: &History, charge: &Charge) -> Vec<Stage> {
    let power = |from: f64, to: f64| {
        let heat = heat_until(&history.samples, to) - heat_until(&history.samples, from);
        Power::new::<watt>(share(heat * charge.area, to - from))
    };
    let end = history.state.time;
    let mut marks: Vec<(StageName, f64, f64)> = Vec::new();
    let ignites = matches!(history.end, End::Ignites { .. });
    for moment in &history.moments {
        let name = match moment.mark {
            Mark::Boils => StageName::BoilOff,
            Mark::SolventGone => StageName::Gel,
            Mark::PartlyDry => StageName::DryHeat,
            Mark::HeatsItself if ignites => StageName::Runaway,
            Mark::HeatsItself | Mark::GelSets => continue,
        };
        marks.push((name, moment.time.min(end), moment.temperature));
    }
    marks.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut stages = Vec::new();
    let mut name = StageName::HeatUp;
    let mut start = 0.0;
    for (next, time, temperature) in marks {
        // A later stage may begin before an earlier one has ended somewhere else in the layer:
        // the time line goes forward only.
        if next < name {
            continue;
        }
        if time > start {
            stages.push(Stage {
                name,
                start: s(start),
                end: s(time),
                temperature: k(temperature),
                power: power(start, time),
            });
        }
        (name, start) = (next, time);
    }
    stages.push(Stage {
        name,
        start: s(start),
        end: s(end),
        temperature: k(history.mean),
        power: power(start, end),
    });
    stages
}

/// Heat taken up until `time`, J/m², between the samples on a straight line.
fn heat_until(samples: &[Sample], time: f64) -> f64 {
    let after = samples.partition_point(|s| s.time < time);
    let Some(next) = samples.get(after) else {
        return samples.last().map_or(0.0, |s| s.heat);
    };
    let Some(before) = after.checked_sub(1).map(|i| &samples[i]) else {
        return next.heat;
    };
    before.heat + share(time - before.time, next.time - before.time) * (next.heat - before.heat)
}
