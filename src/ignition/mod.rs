//! From cold solution to ignition: the course of heating on one heating way or on all of them.
//!
//! Two models share their inputs. The layer model (`slab`) follows temperature, water, reaction
//! and loss of fuel through the depth of the layer; the verdict comes from it. The staged balance
//! (`lumped`) has one temperature and is a hundred times faster, for sweeps. [`course`] makes
//! their inputs from a batch and the tables; [`all_ways`] puts the heating ways side by side.
//! The criteria of thermal explosion (`thermal_explosion`) explain why a thin film or a cold
//! furnace does not ignite.

mod adapter;
mod batch_charge;
mod boiling;
mod burn;
mod calibration;
mod cells;
mod charge;
mod compare;
mod cooling;
mod course;
mod error;
mod explain;
#[cfg(test)]
mod fixture;
mod gel;
mod geometry;
mod history;
mod leaving;
pub(crate) mod lumped;
mod microwave;
mod sample;
mod setting;
mod slab;
#[cfg(test)]
mod slab_tests;
mod step;
mod thermal_explosion;
mod verdict;
mod why;
mod words;

pub(crate) use batch_charge::nitrate_gain;
pub use burn::BurnEstimate;
pub use calibration::watts;
pub use compare::{Comparison, all_ways};
pub(crate) use course::coarse_course;
pub use course::{
    CoolingNote, Course, CoursePoint, Ending, EnergyBook, LitPlace, MicrowaveNote, Stage,
    StageName, TRACE_POINTS, course, heating_way, model_inputs, thinned,
};
pub use error::IgnitionError;
pub use explain::NoIgnition;
pub use gel::{BurningGel, burning_gel};
pub use lumped::lumped;
pub use sample::CourseDraw;
pub use setting::Setting;
pub use slab::Slab;
pub use verdict::{Chance, Judged, Verdict, WayResult};
pub use why::{Entrance, Reason};
pub use words::duration;
