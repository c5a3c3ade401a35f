//! The layer as a stack of finite volumes: T(x, t), water, reaction, to ignition or failure.
//!
//! Unknowns per cell: temperature T (K), water w (kg per kg dry mass), extent of reaction ξ,
//! lost shares ℓ of the volatile fuel and of the nitrate. The cells hold fixed dry mass; the vessel's floor is a few
//! cells without water below them. Enthalpy of a cell per area, over dry matter and liquid water
//! at the reference temperature T0, θ = T − T0:
//!
//!   H = m { [(1 − ξ) c_dry + ξ (1 − g) c_prod] θ + w c_w θ − B }
//!
//! Balance over a step: ΔH + m (w⁰ − w) h_steam(T) + m g (ξ − ξ⁰) c_gas θ + m f q Δℓ
//!   = Δt (flux from below − flux to above + microwave source) + m Q (ξ − ξ⁰),
//! all of it at the new time (backward Euler, order 1), with w on the boiling curve where the
//! cell boils or, in the set gel, on what drying leaves if that is less. Exchange coefficients, sources,
//! evaporation and losses of fuel and nitrate are taken halfway through the step, where the step
//! before points in a straight line (order 2), so each step is a tridiagonal system made nonlinear
//! by boiling and reaction only; Newton's method, Thomas's algorithm. Water, extent and binding
//! follow the last correction by the slopes it was found with, and fluxes are shared by neighbours:
//! energy is kept to the square of that correction, which [`Ledger::imbalance`] measures.
//!
//! Cells are thin at both faces (`cells`): the radiation of a face goes by its own temperature, and
//! what is absorbed at it (a lamp) enters there.
//!
//! While the water exceeds `Gel::set_water` the liquid stirs itself: the layer is then one cell.
//! It also evaporates below its boiling point; the set gel dries by a first-order step.
//! Left out: steam passing cooler cells, side walls.

use super::boiling::{BoilingCurve, DryingTable};
use super::cells;
use super::charge::{Charge, Heater, Left, Wall};
use crate::quantity::REFERENCE_TEMPERATURE;
use std::borrow::Cow;

/// Cells of a draw's layer and floor, and its tolerance in K: coarse, for the band and not for the
/// value. Against 100 and 16 cells and 0.05 K the ends of the band are off by 1.3 and 4.7 % (root mean
/// square of the examples and eight generated batches on all ways): a layer whose skin dies before
/// it lights is told too early by up to two fifths, which takes 40 cells to see.
const CELLS: usize = 9;
const GRADING: f64 = 0.8;
const WALL_CELLS: usize = 2;
const TOLERANCE: f64 = 3.0;
/// Newton's last change (K), and the share of a step within which an event lies: a fifth of each
/// changes nothing of that.
const SETTLED: f64 = 0.5;
const PLACED: f64 = 0.1;
/// Longest step of a draw, s.
const LONGEST_STEP: f64 = 120.0;

/// Settings of the solver and the criteria it looks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Cells through the layer.
    pub cells: usize,
    /// How much thinner than the mean the cells at its faces are: 0 for even ones, below 1.
    pub grading: f64,
    /// Cells through the vessel's floor.
    pub wall_cells: usize,
    /// Error of temperature allowed in a step, K.
    pub tolerance: f64,
    /// Longest step, s.
    pub longest_step: f64,
    /// Time after which heating is given up, s.
    pub time_limit: f64,
    /// Self-heating rate that counts as runaway, K/s.
    pub runaway_rate: f64,
    /// Share of the self-heating that must stay in the cell for a runaway.
    pub kept_share: f64,
    /// Change of temperature at which Newton's method has settled, K.
    pub settled: f64,
    /// Share of a step within which an event is placed.
    pub placed: f64,
    /// Let the liquid stir itself until the gel sets; without it every cell boils for itself.
    pub stirred: bool,
}

impl Default for Settings {
    /// Cells and tolerance of the solver: against 320 cells and 0.01 K the time to ignition of the
    /// examples and eight generated batches is off by less than 1 % on every way. Newton's method
    /// goes far below that: where it ends must not hang on the last bit, which a fuel held at its
    /// onset would carry into the time, another one on another machine.
    fn default() -> Self {
        Self {
            cells: 30,
            grading: 0.85,
            wall_cells: 4,
            tolerance: 0.2,
            longest_step: 30.0,
            time_limit: 7200.0,
            runaway_rate: 100.0,
            kept_share: 0.5,
            settled: 1e-7,
            placed: 1e-4,
            stirred: true,
        }
    }
}

impl Settings {
    /// The solver for a band, or for one of many batches that are only set side by side.
    pub(super) fn coarse(self) -> Self {
        Self {
            cells: CELLS,
            grading: GRADING,
            wall_cells: WALL_CELLS,
            tolerance: TOLERANCE,
            settled: SETTLED,
            placed: PLACED,
            longest_step: LONGEST_STEP,
            ..self
        }
    }
}

/// Why heating stopped without an answer; every variant is a fault of the input or the solver.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SlabError {
    /// A number that has to be finite and positive is not.
    #[error("{name} of the heat model is {value}: it has to be finite and above zero")]
    NotPositive {
        /// Which number.
        name: &'static str,
        /// Its value in SI units.
        value: f64,
    },
    /// No step, however short, was solved.
    #[error("the heat model stopped at {time_s:.1} s: no solution with a step of {step_s:.1e} s")]
    StepTooShort {
        /// Time reached, s.
        time_s: f64,
        /// The step that did not converge, s.
        step_s: f64,
    },
    /// A stage of the staged balance takes more steps than any reasonable one.
    #[error(
        "the staged balance gave up after {steps} steps at {time_s:.1} s, {temperature_k:.2} K, {water:.4} kg water per kg dry mass"
    )]
    StageWithoutEnd {
        /// Steps taken.
        steps: usize,
        /// Time reached, s.
        time_s: f64,
        /// Temperature reached, K.
        temperature_k: f64,
        /// Water per dry mass reached, kg/kg.
        water: f64,
    },
    /// The balance of a step has no temperature between the brackets.
    #[error(
        "the staged balance found no temperature for a step of {step_s:.1e} s from {temperature_k:.2} K at {time_s:.1} s"
    )]
    NoBalance {
        /// Time at the start of the step, s.
        time_s: f64,
        /// Temperature there, K.
        temperature_k: f64,
        /// Length of the step, s.
        step_s: f64,
    },
    /// More steps than any reasonable run needs.
    #[error("the heat model gave up after {steps} steps at {time_s:.1} s")]
    TooManySteps {
        /// Steps taken.
        steps: usize,
        /// Time reached, s.
        time_s: f64,
    },
}

/// Where the energy went, J per m² of layer, from the start.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Ledger {
    /// In through the floor's underside (net).
    pub bottom: f64,
    /// In through the top (net; negative for a loss).
    pub top: f64,
    /// Microwave power absorbed.
    pub microwave: f64,
    /// Released by the reaction.
    pub reaction: f64,
    /// Carried off by steam.
    pub steam: f64,
    /// Carried off by reaction gas.
    pub gas: f64,
    /// Taken by decomposing fuel.
    pub fuel_loss: f64,
    /// Taken by decomposing nitrate.
    pub nitrate_loss: f64,
    /// Stored in floor and layer at the start.
    pub stored_first: f64,
    /// Stored at the end.
    pub stored_last: f64,
    /// Sum of all amounts without regard to sign: the scale for the imbalance.
    pub turnover: f64,
}

impl Ledger {
    /// What the balance is off by, J/m².
    pub fn imbalance(&self) -> f64 {
        self.bottom + self.top + self.microwave + self.reaction
            - self.steam
            - self.gas
            - self.fuel_loss
            - self.nitrate_loss
            - (self.stored_last - self.stored_first)
    }
}

/// The state of floor and layer, bottom first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct State {
    /// Time, s.
    pub time: f64,
    /// Temperature of the floor's cells, K.
    pub floor: Vec<f64>,
    /// The layer's cells; the stirred liquid is one.
    pub cells: Vec<Cell>,
}

impl State {
    /// Temperatures of floor and layer, K.
    pub(super) fn temperatures(&self) -> impl Iterator<Item = f64> {
        let layer = self.cells.iter().map(|cell| cell.t);
        self.floor.iter().copied().chain(layer)
    }
}

/// The state of a cell of the layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Temperature, K.
    pub t: f64,
    /// Water per dry mass, kg/kg.
    pub w: f64,
    /// Extent of reaction.
    pub xi: f64,
    /// Lost share of the volatile fuel.
    pub lost: f64,
    /// Lost share of the nitrate.
    pub nitrate: f64,
    /// What these losses have left.
    pub left: Left,
    /// Temperature at which the water boils, K.
    pub boils_at: f64,
    /// Heat of binding, J per kg dry mass.
    pub binding: f64,
}

/// The model of one layer on one heating way.
pub struct Slab<'a> {
    pub(super) charge: &'a Charge,
    pub(super) wall: &'a Wall,
    pub(super) heater: &'a Heater,
    pub(super) settings: Settings,
    /// Shares of the dry mass by cell of the set gel.
    shares: Vec<f64>,
    pub(super) curve: BoilingCurve,
    /// The curve from the set gel on.
    pub(super) drying: Cow<'a, DryingTable>,
}

impl<'a> Slab<'a> {
    /// Checks the numbers and makes the model.
    ///
    /// # Errors
    /// [`SlabError::NotPositive`] names the first number that is not finite and positive.
    pub fn new(
        charge: &'a Charge,
        wall: &'a Wall,
        heater: &'a Heater,
        settings: Settings,
    ) -> Result<Self, SlabError> {
        let wettest = charge.gel.set_water.min(charge.initial_water());
        let drying = DryingTable::new(charge.boiling_curve(), wettest);
        Self::checked(charge, wall, heater, settings, Cow::Owned(drying))
    }

    /// One of several models of gels that dry along the same curve.
    ///
    /// # Errors
    /// As for [`Slab::new`].
    pub(super) fn drying_along(
        drying: &'a DryingTable,
        (charge, wall, heater): (&'a Charge, &'a Wall, &'a Heater),
        settings: Settings,
    ) -> Result<Self, SlabError> {
        Self::checked(charge, wall, heater, settings, Cow::Borrowed(drying))
    }

    fn checked(
        charge: &'a Charge,
        wall: &'a Wall,
        heater: &'a Heater,
        settings: Settings,
        drying: Cow<'a, DryingTable>,
    ) -> Result<Self, SlabError> {
        let checks = [
            ("dry mass", charge.dry_mass),
            ("area", charge.area),
            ("heat capacity of the dry mass", charge.dry_heat_capacity),
            ("water", charge.initial_water()),
            ("gel density", charge.gel.density),
            ("gel conductivity", charge.gel.thermal_conductivity),
            ("syrup conductivity", charge.gel.syrup_conductivity),
            ("start temperature", charge.start_temperature),
            ("pressure", charge.pressure),
            (
                "binding sites",
                charge.sorption.ionic_sites + charge.sorption.molecules,
            ),
            ("wall thickness", wall.thickness),
            ("wall conductivity", wall.thermal_conductivity),
            ("wall heat capacity", wall.volumetric_heat_capacity),
            ("boiling heat transfer", wall.boiling_transfer),
            ("source temperature below", heater.bottom.source),
            ("source temperature above", heater.top.source),
            ("number of cells", settings.cells as f64),
            ("number of wall cells", settings.wall_cells as f64),
            ("tolerance", settings.tolerance),
            ("longest step", settings.longest_step),
            ("settled change", settings.settled),
            ("share of a step around an event", settings.placed),
            ("time limit", settings.time_limit),
        ];
        for (name, value) in checks {
            if !(value.is_finite() && value > 0.0) {
                return Err(SlabError::NotPositive { name, value });
            }
        }
        Ok(Self {
            charge,
            wall,
            heater,
            settings,
            shares: cells::shares(settings.cells, settings.grading),
            curve: charge.boiling_curve(),
            drying,
        })
    }

    pub(super) fn settings(&self) -> &Settings {
        &self.settings
    }

    /// Water per dry mass at which the gel sets.
    pub(super) fn set_water(&self) -> f64 {
        self.charge.gel.set_water
    }

    pub(super) fn hydrate_ratio(&self) -> f64 {
        self.charge.hydrate_ratio()
    }

    /// Next jump of the heating power after `time`, s.
    pub(super) fn next_switch(&self, time: f64) -> f64 {
        self.heater
            .oven
            .as_ref()
            .map_or(f64::INFINITY, |oven| oven.next_switch(time))
    }

    /// Jumps of the heating power within the time limit.
    pub(super) fn switches(&self) -> usize {
        let cycle = self.heater.oven.as_ref().map_or(0.0, |oven| oven.cycle);
        if cycle > 0.0 {
            (2.0 * self.settings.time_limit / cycle) as usize
        } else {
            0
        }
    }

    /// Temperature of the inner face of the floor, K.
    pub(super) fn inner_wall(&self, state: &State) -> f64 {
        state.floor[state.floor.len() - 1]
    }

    /// Temperature of the outermost cell of the floor, K.
    pub(super) fn outer_wall(&self, state: &State) -> f64 {
        state.floor[0]
    }

    /// The state before heating.
    pub fn initial(&self) -> State {
        let w = self.charge.initial_water();
        let stirred = self.settings.stirred && w > self.charge.gel.set_water;
        let boils_at = self.curve.boiling_temperature(w);
        let cell = Cell {
            t: self.charge.start_temperature,
            w,
            xi: 0.0,
            lost: 0.0,
            nitrate: 0.0,
            left: self.charge.left(0.0, 0.0),
            boils_at,
            binding: self.curve.at(boils_at).map_or(0.0, |point| point.binding),
        };
        State {
            time: 0.0,
            floor: vec![cell.t; self.settings.wall_cells],
            cells: vec![cell; if stirred { 1 } else { self.settings.cells }],
        }
    }

    /// Splits the one stirred cell into the cells of the set gel.
    pub(super) fn spread(&self, state: &mut State) {
        state.cells.resize(self.settings.cells, state.cells[0]);
    }

    /// Shares of the dry mass by cell of a layer in `cells`: the set gel or the one cell of the
    /// stirred liquid.
    pub(super) fn shares(&self, cells: usize) -> &[f64] {
        if cells == 1 { &[1.0] } else { &self.shares }
    }

    /// Mean over the mass of the layer.
    pub(super) fn mean(&self, state: &State, of: impl Fn(&Cell) -> f64) -> f64 {
        cells::mean(self.shares(state.cells.len()), state.cells.iter().map(of))
    }

    /// Enthalpy of a layer cell per kilogram of dry mass.
    pub(super) fn enthalpy(&self, cell: &Cell) -> f64 {
        (self.dry_capacity(cell.xi) + cell.w * self.charge.water.liquid_heat_capacity)
            * (cell.t - REFERENCE_TEMPERATURE)
            - cell.binding
    }

    pub(super) fn dry_capacity(&self, xi: f64) -> f64 {
        let r = &self.charge.reaction;
        (1.0 - xi) * self.charge.dry_heat_capacity
            + xi * (1.0 - r.gas_fraction) * r.product_heat_capacity
    }

    /// Heat stored in floor and layer, J/m².
    pub(super) fn stored(&self, state: &State) -> f64 {
        let wall_cell = self.wall.thickness / state.floor.len() as f64;
        let theta = state.floor.iter().map(|t| t - REFERENCE_TEMPERATURE);
        let floor = wall_cell * self.wall.volumetric_heat_capacity * theta.sum::<f64>();
        floor + self.charge.areal_mass() * self.mean(state, |cell| self.enthalpy(cell))
    }
}
