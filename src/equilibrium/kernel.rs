//! A system of species in plain numbers: equilibrium at T, p with its enthalpy and heat capacity.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | t, p | temperature, pressure / p° | K, 1 |
//! | b | amount of each element | mol |
//! | h, c | enthalpy of the whole system and dH/dT along the equilibrium | J, J/K |

use super::functions::{Functions, Values};
use super::gibbs::{Evidence, Solver};
use super::problem::Failure;
use super::problem::{Heat, Kind, Problem};
use crate::quantity::GAS_CONSTANT;

/// Range of every temperature, K: that of the species' data.
pub(super) const COLDEST: f64 = 200.0;
pub(super) const HOTTEST: f64 = 6000.0;
/// Newton's steps to the first guess of a temperature: the heat capacity hardly changes.
const LIKELY_STEPS: usize = 4;
/// Temperatures that are tried on the way to one that does not settle, as factors on it.
const NEIGHBOURS: [f64; 8] = [0.99, 1.01, 0.97, 1.03, 0.93, 1.07, 0.85, 1.15];
/// Equal steps from there, each started from the one before.
const STEPS: i32 = 4;
/// Step of the temperature, relative, for which the heat capacity of another mixture will do.
const SHORT: f64 = 2e-3;
/// Largest factor of temperature over which an answer tells the next.
const FARTHEST: f64 = 1.5;

/// What every minimisation of a system is given besides the amounts; `g` and `allowed` are those of
/// the temperature last asked for.
#[derive(Clone, Debug, Default)]
pub(super) struct Given {
    /// Atoms of element i in species j, row-major.
    pub a: Vec<f64>,
    pub kind: Vec<Kind>,
    pub mixtures: usize,
    g: Vec<f64>,
    allowed: Vec<bool>,
}

impl Given {
    fn problem<'a>(&'a self, b: &'a [f64]) -> Problem<'a> {
        Problem {
            a: &self.a,
            b,
            g: &self.g,
            kind: &self.kind,
            allowed: &self.allowed,
            mixtures: self.mixtures,
        }
    }
}

/// The species of a system and the solver's workspace.
#[derive(Clone, Debug, Default)]
pub(super) struct Kernel {
    pub given: Given,
    pub functions: Functions,
    /// Usable range of each species, K.
    pub range: Vec<(f64, f64)>,
    pub solver: Solver,
    pub values: Values,
    /// Temperature of the last answer, and dH/dT there.
    last: f64,
    slope: f64,
}

/// One equilibrium.
#[derive(Clone, Debug, Default)]
pub(super) struct Point {
    pub t: f64,
    pub h: f64,
    pub c: f64,
    pub amounts: Vec<f64>,
    pub potentials: Vec<f64>,
    pub evidence: Evidence,
}

impl Kernel {
    /// Equilibrium at `t` and `p`, started from the last one if that can be.
    pub fn at(&mut self, t: f64, p: f64, b: &[f64], point: &mut Point) -> Result<(), Failure> {
        let settled = match self.settle(t, p, b) {
            Err(failure @ Failure::NoConvergence { .. }) => {
                self.by_a_neighbour(t, p, b).ok_or(failure)
            }
            settled => settled,
        };
        let c = settled?;
        self.slope = c * GAS_CONSTANT;
        point.t = t;
        point.h = self.enthalpy(t);
        point.c = c * GAS_CONSTANT;
        point.amounts.clone_from(&self.solver.amounts);
        point.potentials.clone_from(&self.solver.potentials);
        point.evidence = self.solver.evidence;
        Ok(())
    }

    /// Minimises at `t` from the last answer if that can be; gives dH/dT over the gas constant.
    fn settle(&mut self, t: f64, p: f64, b: &[f64]) -> Result<f64, Failure> {
        self.evaluate(t, p);
        self.solver.carry(1.0 - self.last / t);
        let problem = self.given.problem(b);
        self.solver.solve(&problem)?;
        self.last = t;
        Ok(self
            .solver
            .heat_capacity(&problem, &self.values.h, &self.values.cp))
    }

    /// The same by way of a temperature near by: where several solid solutions are all but equal, no
    /// start from nothing may settle, and the answer near by is a start from which it is walked to.
    fn by_a_neighbour(&mut self, t: f64, p: f64, b: &[f64]) -> Option<f64> {
        NEIGHBOURS.iter().find_map(|factor| {
            self.solver.forget();
            let near = (factor * t).clamp(COLDEST, HOTTEST);
            self.settle(near, p, b).ok()?;
            let on_the_way = |step| near + (t - near) * f64::from(step) / f64::from(STEPS);
            let steps = (1..STEPS).map(on_the_way).chain([t]);
            steps.map(|next| self.settle(next, p, b).ok()).last()?
        })
    }

    /// Temperature at which `b` would hold `heat`, from the last answer, which is of other amounts of
    /// the same elements: to first order, and once more from what is near its equilibrium there. None
    /// if there is none.
    pub fn next_temperature(&mut self, heat: &Heat, p: f64, b: &[f64]) -> Option<f64> {
        if !self.solver.is_warm() {
            return None;
        }
        let held = self.solver.enthalpy_of(b, &self.values.h) * GAS_CONSTANT * self.last;
        let first = self.towards(heat, held)?;
        self.evaluate(first, p);
        self.solver.carry(1.0 - self.last / first);
        self.last = first;
        let problem = self.given.problem(b);
        if !self.solver.approach(&problem) {
            return Some(first);
        }
        let held = self.enthalpy(first);
        let next = self.towards(heat, held)?;
        if (next - first).abs() < SHORT * first {
            return Some(next);
        }
        let (h, cp) = (&self.values.h, &self.values.cp);
        self.slope = self.solver.heat_capacity(&problem, h, cp) * GAS_CONSTANT;
        self.towards(heat, held)
    }

    /// Temperature at which what holds `held` at the last one would hold `heat`, if it is not far.
    fn towards(&self, heat: &Heat, held: f64) -> Option<f64> {
        let (left, slope) = heat.left(self.last);
        let next = self.last + (left - held) / (self.slope - slope);
        (next > self.last / FARTHEST && next < self.last * FARTHEST).then_some(next)
    }

    /// Enthalpy of the solver's amounts at `t`, J.
    fn enthalpy(&self, t: f64) -> f64 {
        let amounts = self.solver.amounts.iter();
        let h: f64 = amounts.zip(&self.values.h).map(|(n, h)| n * h).sum();
        h * GAS_CONSTANT * t
    }

    /// Temperature at which the likeliest species at `t`, as if each were pure, would hold the
    /// enthalpy `h`: a first guess. The last answer is forgotten.
    pub fn likely_temperature(&mut self, h: f64, t: f64, p: f64, b: &[f64]) -> Option<f64> {
        self.evaluate(t, p);
        let problem = self.given.problem(b);
        let parts = self.solver.likeliest(&problem)?;
        let mut guess = t;
        for _ in 0..LIKELY_STEPS {
            let (mut held, mut capacity) = (0.0, 0.0);
            for (j, n) in &parts {
                let (h, c) = self.functions.heat(*j, guess);
                held += n * h;
                capacity += n * c;
            }
            guess += (h / GAS_CONSTANT - held) / capacity;
            guess = guess.clamp(COLDEST, HOTTEST);
        }
        guess.is_finite().then_some(guess)
    }

    fn evaluate(&mut self, t: f64, p: f64) {
        self.functions.at(t, &mut self.values);
        let log_p = p.ln();
        let own = self.values.g.iter().zip(&self.given.kind);
        let at_pressure = own.map(|(g, kind)| match kind {
            Kind::Mixture(0) => g + log_p,
            _ => *g,
        });
        self.given.g.clear();
        self.given.g.extend(at_pressure);
        let usable = self.range.iter().map(|(low, high)| *low <= t && t <= *high);
        self.given.allowed.clear();
        self.given.allowed.extend(usable);
    }

    /// Temperature at which absent pure phase `j` would become stable beside the last answer,
    /// to first order; None if that cannot be told.
    pub fn onset(&self, j: usize, t: f64) -> Option<f64> {
        if self.given.kind[j] != Kind::Pure {
            return None;
        }
        let (affinity, slope) = self.solver.affinity_and_slope(j);
        let next = t - affinity * t / slope;
        next.is_finite().then_some(next)
    }
}
