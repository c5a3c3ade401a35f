//! Gibbs-energy minimum at given T and p: the choice of phases around [`super::mixture`].
//!
//! | symbol | meaning |
//! |---|---|
//! | a_ij | atoms of element i in species j, row-major |
//! | b_i | amount of element i, mol, all > 0 |
//! | g_j | μ°_j/RT, with ln(p/p°) added for gases |
//! | π_i | element potential (Lagrange multiplier) / RT |
//! | n_j | amount of species j, mol |
//!
//! At the minimum g_j + ln x_j = Σ_i a_ij π_i for every species of a mixture that is present,
//! g_j = Σ_i a_ij π_i for every pure phase that is present and g_j ≥ Σ_i a_ij π_i for every
//! other. Three stages, none of which needs a guess:
//!
//! 1. A linear programme over all species as if each were pure gives the first set of phases,
//!    the most abundant gases and an element balance that is met exactly.
//! 2. Newton on the mixtures over that set ([`super::mixture`]). The pure phases have left the
//!    system: their amounts follow from the balance. One that would come out negative is taken
//!    away at the point of the way where it vanishes, so G falls at every change of the set.
//! 3. The absent phase with the largest affinity comes in. If it is made of phases that are
//!    present alone (MgO + Al2O3 ⇌ MgAl2O4, two polymorphs) it is exchanged along that
//!    reaction for the one that runs out first; otherwise it takes the place of a gas in the
//!    basis. Then stage 2 again, until no affinity is positive.
//!
//! A gas phase is always there: a bubble of inert gas of 1e-12 of all atoms. It changes
//! nothing that can be weighed, and keeps the oxygen potential over condensed phases defined.

// Loops run over the indices i, j of the symbol table, not over whichever slice comes first.
#![allow(clippy::needless_range_loop)]

mod answer;
mod phases;
mod start;

use super::linear::Tableau;
use super::mixture::{Bounds, Ending, Reduced};
use super::problem::{BALANCE, Failure, Kind, Problem};

/// What was checked at the end, from the raw a, b, g and not from the tableau.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Evidence {
    pub iterations: usize,
    pub changes: usize,
    pub balance: f64,
    pub potential: f64,
    pub affinity: f64,
}

/// ln amount fraction that the linear programme gives every mixture species. The later ones
/// serve only when the first leads nowhere.
const STARTS: [f64; 4] = [-4.0, -1.0, -8.0, -20.0];

/// Share of an element's amount that may be rounding of what was given.
const ROUNDING: f64 = 1e-13;

/// Steps by which an element's amount is changed where exact stoichiometry is hard to settle, at
/// most five to either side, and how often that is tried.
const NUDGE: f64 = 1.5e-11;
const NUDGES: usize = 8;

/// The solver with its workspace; keeps the last answer as the start of the next one.
#[derive(Clone, Debug, Default)]
pub(super) struct Solver {
    tableau: Tableau,
    reduced: Reduced,
    cost: Vec<f64>,
    /// ln activity of every species, see `log_activities`.
    activity: Vec<f64>,
    y: Vec<f64>,
    nu: Vec<f64>,
    present: Vec<bool>,
    inert: Vec<f64>,
    /// Amounts of the pure phases at the last point that met the balance, by species.
    feasible: Vec<f64>,
    pub amounts: Vec<f64>,
    pub potentials: Vec<f64>,
    pub evidence: Evidence,
    /// H/RT of each species against the basis, and T dy/dT by row and T dν/dT by mixture: see `heat_capacity`.
    delta: Vec<f64>,
    y_slope: Vec<f64>,
    nu_slope: Vec<f64>,
    warm: bool,
}

impl Solver {
    /// Forgets the last answer: the next solve starts from nothing.
    pub fn forget(&mut self) {
        self.warm = false;
    }

    /// Whether an answer stands from which the next solve starts.
    pub fn is_warm(&self) -> bool {
        self.warm
    }

    /// Minimises; the answer is in `amounts`, `potentials` and `evidence`.
    pub fn solve(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
        self.evidence = Evidence::default();
        self.reduced.iterations = 0;
        if self.warm && self.usable(problem) {
            self.refresh_cost(problem);
            self.tableau.refresh_amounts(problem.a, problem.b);
            if self.phases(problem).is_ok() && self.verify(problem).is_ok() {
                return Ok(());
            }
        }
        self.warm = false;
        let mut failure = None;
        for log_fraction in STARTS {
            match self.settle_afresh(problem, problem, log_fraction) {
                Err(error @ Failure::Infeasible { .. }) => return Err(error),
                Err(error) => failure = Some(error),
                Ok(()) => return Ok(()),
            }
        }
        // Exact stoichiometry can leave the choice of phases to rounding: amounts that are off by
        // less than the balance of an answer may be decide it. The answer is proved for `problem`.
        let mut b = problem.b.to_vec();
        for attempt in 0..NUDGES {
            for (i, (b, exact)) in b.iter_mut().zip(problem.b).enumerate() {
                let share = (7 * i + 5 * attempt + 3) % 11;
                *b = exact * (1.0 + NUDGE * (share as f64 - 5.0));
            }
            let nudged = Problem { b: &b, ..*problem };
            if self
                .settle_afresh(problem, &nudged, STARTS[attempt % STARTS.len()])
                .is_ok()
            {
                return Ok(());
            }
        }
        Err(failure.unwrap_or_else(|| self.no_convergence()))
    }

    /// Minimises `near`, whose amounts are those of `problem` or close to them, from nothing.
    fn settle_afresh(
        &mut self,
        problem: &Problem<'_>,
        near: &Problem<'_>,
        log_fraction: f64,
    ) -> Result<(), Failure> {
        self.start(near, log_fraction)?;
        self.phases(near)?;
        self.verify(problem)?;
        self.warm = true;
        Ok(())
    }

    /// Whether the last basis can start this problem.
    fn usable(&self, problem: &Problem<'_>) -> bool {
        self.tableau.species == problem.g.len()
            && self.tableau.rows == problem.b.len()
            && self.present.len() == problem.mixtures
            && self
                .tableau
                .basis
                .iter()
                .all(|j| *j >= problem.g.len() || problem.allowed[*j])
    }

    /// s_j = g_j − Σ_r c_rj g_r; bare elements left in the basis (redundant rows) weigh nothing.
    fn refresh_cost(&mut self, problem: &Problem<'_>) {
        let n = self.tableau.species;
        self.cost.clear();
        self.cost.extend_from_slice(problem.g);
        for row in 0..self.tableau.rows {
            let basis = self.tableau.basis[row];
            if basis >= n {
                continue;
            }
            let g = problem.g[basis];
            for (cost, c) in self.cost.iter_mut().zip(self.tableau.row(row)) {
                *cost -= c * g;
            }
        }
        for &basis in self.tableau.basis.iter().filter(|j| **j < n) {
            self.cost[basis] = 0.0;
        }
    }

    fn no_convergence(&self) -> Failure {
        Failure::NoConvergence {
            iterations: self.reduced.iterations,
            changes: self.evidence.changes,
            residual: self.reduced.worst,
        }
    }

    /// Newton on the mixtures, with the basis kept on the abundant species.
    fn mixtures(&mut self, problem: &Problem<'_>, bounds: &Bounds) -> Ending {
        for _ in 0..60 {
            self.reduced.collect(
                problem,
                &self.tableau,
                &self.cost,
                &self.present,
                &self.inert,
            );
            match self.reduced.solve(&mut self.y, &mut self.nu, bounds) {
                Ending::Rebase(row, species) => self.enter(problem, row, species),
                ending => return ending,
            }
        }
        Ending::Stalled
    }

    /// Puts `species` into the basis at `row`, keeping the potentials where they are.
    fn enter(&mut self, problem: &Problem<'_>, row: usize, species: usize) {
        let activity = if problem.kind[species] == Kind::Pure {
            0.0
        } else {
            self.log_activity(species)
        };
        self.tableau.pivot(row, species);
        self.tableau.refresh_amounts(problem.a, problem.b);
        self.y[row] = activity;
        self.refresh_cost(problem);
    }

    /// Σ_r c_rj y_r − s_j: ln activity of any species at the present potentials.
    fn log_activity(&self, species: usize) -> f64 {
        let mut sum = -self.cost[species];
        for row in 0..self.tableau.rows {
            sum += self.tableau.at(row, species) * self.y[row];
        }
        sum
    }

    /// The same of all species, into `activity`.
    fn log_activities(&mut self) {
        self.activity.clear();
        self.activity.extend(self.cost.iter().map(|cost| -cost));
        for (row, y) in self.y.iter().enumerate() {
            for (sum, c) in self.activity.iter_mut().zip(self.tableau.row(row)) {
                *sum += c * y;
            }
        }
    }

    /// Writes `amounts`: mixtures from the reduced system, pure phases from the balance.
    fn spread(&mut self, problem: &Problem<'_>) {
        let n = problem.g.len();
        self.amounts.clear();
        self.amounts.resize(n, 0.0);
        for ((species, _), amount) in self.reduced.members.iter().zip(&self.reduced.amounts) {
            self.amounts[*species] = *amount;
        }
        for row in 0..self.tableau.rows {
            let j = self.tableau.basis[row];
            if j >= n || problem.kind[j] != Kind::Pure {
                continue;
            }
            let cells = self.tableau.row(row);
            let mut amount = self.tableau.amount(row);
            let mut size = amount.abs();
            for ((species, _), n_j) in self.reduced.members.iter().zip(&self.reduced.amounts) {
                let term = cells[*species] * n_j;
                amount -= term;
                size += term.abs();
            }
            self.amounts[j] = if amount.abs() < 64.0 * f64::EPSILON * size {
                0.0
            } else {
                amount
            };
        }
        for row in 0..self.tableau.rows {
            let j = self.tableau.basis[row];
            if j < n && problem.kind[j] == Kind::Pure && self.amounts[j] < 0.0 {
                self.lift(problem, row);
            }
        }
    }

    /// A phase below zero by no more than the rounding of an abundant element is not there: that
    /// element's balance takes the difference, and every other balance stays.
    fn lift(&mut self, problem: &Problem<'_>, row: usize) {
        let n = problem.g.len();
        let gone = self.tableau.basis[row];
        let missing = -self.amounts[gone];
        let mut best: Option<(usize, f64)> = None;
        for (i, b) in problem.b.iter().enumerate() {
            let share = missing / (self.tableau.inverse(row, i).abs() * b);
            if share < ROUNDING && best.is_none_or(|(_, least)| share < least) {
                best = Some((i, share));
            }
        }
        let Some((i, _)) = best else { return };
        let change = missing / self.tableau.inverse(row, i);
        let shift = |r: usize| self.tableau.inverse(r, i) * change;
        let bears = |r: usize| {
            let j = self.tableau.basis[r];
            j >= n
                || problem.kind[j] == Kind::Pure
                || shift(r).abs() < 0.01 * BALANCE * self.amounts[j]
        };
        if !(0..self.tableau.rows).all(bears) {
            return;
        }
        let shifts: Vec<f64> = (0..self.tableau.rows).map(shift).collect();
        for (r, shift) in shifts.into_iter().enumerate() {
            let j = self.tableau.basis[r];
            if j < n {
                self.amounts[j] += shift;
            }
        }
        self.amounts[gone] = 0.0;
    }

    /// Takes back what rounding has left of the balances. An element of which there is a trace
    /// shares phases with abundant ones, whose rounding is larger than the trace's own tolerance:
    /// each balance that is off by more than its own rounding is met by the basis species alone.
    fn refine(&mut self, problem: &Problem<'_>) {
        let n = problem.g.len();
        for (i, b) in problem.b.iter().enumerate() {
            let row = &problem.a[i * n..(i + 1) * n];
            let sum: f64 = row.iter().zip(&self.amounts).map(|(a, n)| a * n).sum();
            let off = b - sum;
            if off.abs() <= 0.1 * BALANCE * b {
                continue;
            }
            for r in 0..self.tableau.rows {
                let j = self.tableau.basis[r];
                if j < n {
                    let change = self.tableau.inverse(r, i) * off;
                    if problem.kind[j] == Kind::Pure || change.abs() < BALANCE * self.amounts[j] {
                        self.amounts[j] = (self.amounts[j] + change).max(0.0);
                    }
                }
            }
        }
    }
}
