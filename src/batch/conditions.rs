//! How a batch is burnt, and its place in a series.

use crate::quantity::units::{joule, ratio};
use crate::quantity::{
    Energy, Pressure, Ratio, ThermodynamicTemperature, reference_temperature, standard_pressure,
};

/// Water still in the batch when it ignites.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WaterAtIgnition {
    /// The file does not say.
    NotStated,
    /// This fraction of all water, solvent and crystal water together; solvent leaves first.
    Fraction(Ratio),
    /// What the ignition model finds for the stated heating.
    FromIgnition,
}

/// Which product species the equilibrium may form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SpeciesChoice {
    /// Every tabulated one.
    #[default]
    Full,
    /// Without those that form too slowly in a burn (methane, ammonia, graphite, hydroxides).
    Fast,
}

/// How the batch is burnt, with the stated defaults.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Temperature of the batch at the start of the heat balance; default 25 °C.
    pub start: ThermodynamicTemperature,
    /// Pressure; default 1 bar. The pot is open: 0.3 to 1.2 bar.
    pub pressure: Pressure,
    /// Share of the heat of combustion that is lost before the products are hot; default 0.
    pub heat_loss: Ratio,
    /// Air drawn in, as a share of the air that the surplus fuel needs; default 0.
    pub air_drawn_in: Ratio,
    /// Heat that comes from outside during the burn; default 0.
    pub external_heat: Energy,
    /// Species set of the equilibrium; default full.
    pub species: SpeciesChoice,
    /// Whether the tabulated solid solutions form in equilibrium, mixing ideally; `None` if the file
    /// does not say, and then they do.
    pub solid_solutions: Option<bool>,
}

impl Conditions {
    /// Whether solid solutions form.
    pub fn mixes(&self) -> bool {
        self.solid_solutions.unwrap_or(true)
    }
}

impl Default for Conditions {
    fn default() -> Self {
        Self {
            start: reference_temperature(),
            pressure: standard_pressure(),
            heat_loss: Ratio::new::<ratio>(0.0),
            air_drawn_in: Ratio::new::<ratio>(0.0),
            external_heat: Energy::new::<joule>(0.0),
            species: SpeciesChoice::Full,
            solid_solutions: None,
        }
    }
}

/// Place of a batch in a series.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SeriesMark {
    /// The series.
    pub name: String,
    /// Label of the member.
    pub label: String,
    /// What the series changes.
    pub over: String,
    /// The level of this member, as written; `None` for a reference beside the levels.
    pub level: Option<String>,
}
