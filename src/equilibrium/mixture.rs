//! Newton's method for the mixtures (gas, solid solutions) over a fixed set of pure phases.
//!
//! | symbol | meaning | size |
//! |---|---|---|
//! | y_r | ln activity of the basis species of row r | rows whose basis species is in a mixture |
//! | ν_k | ln N_k, N_k the amount of mixture k | mixtures present |
//! | c_rj | moles of basis species r in one mole of species j (tableau) | |
//! | s_j | (μ°_j − Σ_r c_rj μ°_r) / RT, the tableau's cost row | |
//! | n_j | N_k exp(Σ_r c_rj y_r − s_j), so every mixture species obeys the mass-action law | |
//!
//! Unknown are y and ν; solved are one balance a row, Σ_j c_rj n_j = b_r, and one closure a
//! mixture, Σ_j n_j = N_k. The balance is written as ln(gains) = ln(losses): in that form it is
//! nearly linear in y even when a trace species is wrong by 50 decades, so no starting guess
//! and no tuning is needed, and a component that exact stoichiometry leaves with b_r = 0 (the
//! oxygen over pure steam) keeps its relative precision.
//!
//! Source of the equations: the element-potential form of the equilibrium conditions (Lagrange
//! multipliers), W. R. Smith & R. W. Missen, Chemical Reaction Equilibrium Analysis, 1982
//! (from memory). The logarithmic balance is an elementary rewriting of it.

use super::linear::{Tableau, solve};
use super::problem::{Kind, Problem};

/// Added to both sides of a balance, so that a row with nothing on one side stays finite (an
/// oxide with no oxygen to spare and no metal vapour in the tables: y_r then falls without
/// end, until the metal itself becomes stable). Far below the 1e-30 mol that has a meaning.
const FLOOR: f64 = 1e-200;
/// Largest change of ln N in one step, so that a mixture grows or fades by e⁴ at most.
const LONGEST_STEP: f64 = 4.0;
/// A residual of the logarithmic equations below this is followed by one last step, which
/// squares it.
const CONVERGED: f64 = 1e-8;
/// Below this no step is worth taking: a hundredth of what an answer must meet.
const EXACT: f64 = 1e-11;
/// Share of its row that a member must have to count in the slopes.
const NEGLIGIBLE: f64 = 1e-12;
/// Exponents are cut off here while the iteration is far from the answer.
const LARGEST_EXPONENT: f64 = 300.0;
/// Steps that end with a mixture at its ceiling before it counts as growing without bound.
const STAY: usize = 2;
const MOST_ITERATIONS: usize = 120;
/// Fall of the merit, relative, that counts as progress.
const PROGRESS: f64 = 0.01;
/// How many times the amount of a basis species another may have that draws on its row.
const FAR: f64 = 30.0;

/// When to end without an answer.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bounds {
    /// Logarithm of the amount that no mixture can exceed.
    pub ceiling: f64,
    /// And of that below which one that fades is gone.
    pub floor: f64,
    /// Iterations without progress that are borne.
    pub patience: usize,
}

/// How the iteration ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ending {
    Converged,
    /// A mixture grew beyond all atoms there are: one of the pure phases cannot stay.
    Unbounded,
    /// The basis is no longer made of the abundant species: row, species to take in.
    Rebase(usize, usize),
    Stalled,
}

/// The reduced system: only rows whose basis species belongs to a mixture, only species of
/// mixtures that are present.
#[derive(Clone, Debug, Default)]
pub(super) struct Reduced {
    /// Tableau row of each unknown activity.
    rows: Vec<usize>,
    /// Mixture of each unknown total.
    phases: Vec<usize>,
    /// Species, slot in `phases` and cost of each member.
    pub members: Vec<(usize, usize)>,
    cost: Vec<f64>,
    /// `entries[start[j]..start[j + 1]]` are the non-zero (row slot, c_rj) of member j.
    start: Vec<usize>,
    entries: Vec<(usize, f64)>,
    /// Member that is the basis species of each row slot.
    basis_member: Vec<usize>,
    target: Vec<f64>,
    inert: Vec<f64>,
    unknown: Vec<f64>,
    trial: Vec<f64>,
    pub amounts: Vec<f64>,
    gains: Vec<f64>,
    losses: Vec<f64>,
    residual: Vec<f64>,
    step: Vec<f64>,
    jacobian: Vec<f64>,
    gain_slope: Vec<f64>,
    loss_slope: Vec<f64>,
    pub iterations: usize,
    pub worst: f64,
}

impl Reduced {
    /// Collects the reduced system from the tableau. `inert[k]` is the inert part of mixture k.
    pub fn collect(
        &mut self,
        problem: &Problem<'_>,
        tableau: &Tableau,
        cost: &[f64],
        present: &[bool],
        inert: &[f64],
    ) {
        self.rows.clear();
        self.target.clear();
        for (row, &species) in tableau.basis.iter().enumerate() {
            if species < tableau.species && problem.kind[species] != Kind::Pure {
                self.rows.push(row);
                self.target.push(tableau.amount(row));
            }
        }
        self.phases.clear();
        self.inert.clear();
        for (k, _) in present.iter().enumerate().filter(|(_, here)| **here) {
            self.phases.push(k);
            self.inert.push(inert[k]);
        }
        self.members.clear();
        self.cost.clear();
        self.start.clear();
        self.entries.clear();
        self.basis_member.clear();
        self.basis_member.resize(self.rows.len(), usize::MAX);
        for (species, kind) in problem.kind.iter().enumerate() {
            let Kind::Mixture(k) = *kind else { continue };
            if !present[k] || !problem.allowed[species] {
                continue;
            }
            let slot = self.phases.iter().position(|p| *p == k).unwrap_or(0);
            self.start.push(self.entries.len());
            for (r, &row) in self.rows.iter().enumerate() {
                let c = tableau.at(row, species);
                if c.abs() > 0.0 {
                    self.entries.push((r, c));
                }
                if tableau.basis[row] == species {
                    self.basis_member[r] = self.members.len();
                }
            }
            self.members.push((species, slot));
            self.cost.push(cost[species]);
        }
        self.start.push(self.entries.len());
        self.amounts.clear();
        self.amounts.resize(self.members.len(), 0.0);
    }

    /// Solves the reduced system from `y` (by tableau row) and `nu` (by mixture), both updated.
    pub fn solve(&mut self, y: &mut [f64], nu: &mut [f64], bounds: &Bounds) -> Ending {
        let (r, p) = (self.rows.len(), self.phases.len());
        let k = r + p;
        self.start_at(y, nu);
        let ceiling = bounds.ceiling;
        let mut stays_at_ceiling = 0;
        let mut ending = Ending::Stalled;
        let mut merit = self.evaluate();
        let (mut best, mut waited) = (f64::INFINITY, 0);
        for _ in 0..MOST_ITERATIONS {
            if let Some((row, species)) = self.better_basis() {
                ending = Ending::Rebase(self.rows[row], species);
                break;
            }
            if self.worst < EXACT {
                ending = Ending::Converged;
                break;
            }
            let faded = |log_total: &f64| *log_total < bounds.floor;
            if waited > bounds.patience || self.unknown[r..k].iter().any(faded) {
                break;
            }
            waited += 1;
            if merit < (1.0 - PROGRESS) * best {
                (best, waited) = (merit, 0);
            }
            self.iterations += 1;
            let last = self.worst < CONVERGED;
            if !self.newton_step(r, p) {
                // What the balances leave open, as the potential of an element that no gas holds,
                // may stay as it is.
                if last {
                    ending = Ending::Converged;
                }
                break;
            }
            let most = if last {
                0
            } else if stays_at_ceiling > 0 {
                3
            } else {
                12
            };
            merit = self.along_step(ceiling, merit, most);
            self.unknown[..k].copy_from_slice(&self.trial[..k]);
            if !merit.is_finite() {
                break;
            }
            if last {
                ending = Ending::Converged;
                break;
            }
            if self.unknown[r..k]
                .iter()
                .any(|log_total| *log_total >= ceiling)
            {
                stays_at_ceiling += 1;
                if stays_at_ceiling > STAY {
                    // y and nu stay as they were: this point is no start for the next one.
                    return Ending::Unbounded;
                }
            }
        }
        for (i, row) in self.rows.iter().enumerate() {
            y[*row] = self.unknown[i];
        }
        for (i, phase) in self.phases.iter().enumerate() {
            nu[*phase] = self.unknown[r + i];
        }
        ending
    }

    /// The unknowns from `y` and `nu`, and room for everything else.
    fn start_at(&mut self, y: &[f64], nu: &[f64]) {
        let k = self.rows.len() + self.phases.len();
        self.unknown.clear();
        self.unknown.extend(self.rows.iter().map(|row| y[*row]));
        self.unknown
            .extend(self.phases.iter().map(|phase| nu[*phase]));
        for list in [&mut self.gains, &mut self.losses] {
            list.clear();
            list.resize(k, 0.0);
        }
        self.residual.resize(k, 0.0);
        self.trial.resize(k, 0.0);
        self.step.resize(k, 0.0);
        for list in [
            &mut self.jacobian,
            &mut self.gain_slope,
            &mut self.loss_slope,
        ] {
            list.clear();
            list.resize(k * k, 0.0);
        }
        self.trial[..k].copy_from_slice(&self.unknown[..k]);
    }

    /// Goes along Newton's step, halved up to `most` times until the merit falls, else damped;
    /// with `most` = 0 the step is taken as it is. Returns the merit there.
    fn along_step(&mut self, ceiling: f64, merit: f64, most: usize) -> f64 {
        let (r, p) = (self.rows.len(), self.phases.len());
        let mixtures = &self.step[r..r + p];
        let longest = mixtures.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
        // A mixture that fades as fast as it may need not mend its closure by that.
        let fades = mixtures.iter().any(|d| *d < -LONGEST_STEP);
        let bearable = if fades { 2.0 } else { 1.0 };
        let mut length = if longest > LONGEST_STEP {
            LONGEST_STEP / longest
        } else {
            1.0
        };
        let mut next = self.try_step(r, length, ceiling);
        for _ in 0..most {
            if next < bearable * merit {
                return next;
            }
            length *= 0.5;
            next = self.try_step(r, length, ceiling);
        }
        if most == 0 || next < bearable * merit {
            next
        } else {
            self.damped(r, p, ceiling, next)
        }
    }

    /// Goes the share `length` of the step; returns the merit there.
    fn try_step(&mut self, r: usize, length: f64, ceiling: f64) -> f64 {
        let k = r + self.phases.len();
        for i in 0..k {
            self.trial[i] = self.unknown[i] + length * self.step[i];
        }
        for log_total in &mut self.trial[r..k] {
            *log_total = log_total.min(ceiling);
        }
        self.evaluate()
    }

    /// Where Newton's direction leads nowhere, as next to a boiling point, where the total of the
    /// gas is nearly free: the same step with more and more weight on staying near (Levenberg and
    /// Marquardt's). Leaves the first that lowers the merit, else the last, in `trial`.
    fn damped(&mut self, r: usize, p: usize, ceiling: f64, failed: f64) -> f64 {
        let k = r + p;
        self.trial[..k].copy_from_slice(&self.unknown[..k]);
        let merit = self.evaluate();
        let mut last = failed;
        for weight in [1e-4, 1e-2, 1.0, 100.0] {
            self.trial[..k].copy_from_slice(&self.unknown[..k]);
            self.evaluate();
            self.assemble(r, p);
            let (jacobian, residual) = (self.jacobian.clone(), self.step.clone());
            for row in 0..k {
                for column in 0..k {
                    let products = (0..k).map(|i| jacobian[i * k + row] * jacobian[i * k + column]);
                    self.jacobian[row * k + column] = products.sum();
                }
                self.step[row] = (0..k).map(|i| jacobian[i * k + row] * residual[i]).sum();
                self.jacobian[row * k + row] += weight;
            }
            if !solve(&mut self.jacobian, &mut self.step, k) {
                continue;
            }
            let longest = self.step[..k].iter().fold(0.0_f64, |m, d| m.max(d.abs()));
            last = self.try_step(r, (LONGEST_STEP / longest).min(1.0), ceiling);
            if last < merit {
                break;
            }
        }
        last
    }

    /// Amounts, gains, losses and residuals at `trial`; returns the sum of squared residuals.
    fn evaluate(&mut self) -> f64 {
        let r = self.rows.len();
        for (i, target) in self.target.iter().enumerate() {
            self.gains[i] = FLOOR + (-target).max(0.0);
            self.losses[i] = FLOOR + target.max(0.0);
        }
        for (i, inert) in self.inert.iter().enumerate() {
            self.gains[r + i] = *inert;
        }
        for (j, (_, slot)) in self.members.iter().enumerate() {
            let mut exponent = self.trial[r + slot] - self.cost[j];
            let entries = &self.entries[self.start[j]..self.start[j + 1]];
            for (row, c) in entries {
                exponent += c * self.trial[*row];
            }
            let n = exponent.min(LARGEST_EXPONENT).exp();
            self.amounts[j] = n;
            for (row, c) in entries {
                if *c > 0.0 {
                    self.gains[*row] += c * n;
                } else {
                    self.losses[*row] -= c * n;
                }
            }
            self.gains[r + slot] += n;
        }
        let mut merit = 0.0;
        self.worst = 0.0;
        for i in 0..r + self.phases.len() {
            let f = if i < r {
                (self.gains[i] / self.losses[i]).ln()
            } else {
                self.gains[i].ln() - self.trial[i]
            };
            self.residual[i] = f;
            merit += f * f;
            self.worst = self.worst.max(f.abs());
        }
        if merit.is_nan() { f64::INFINITY } else { merit }
    }

    /// Fills `step` with the Newton step at the point last evaluated.
    fn newton_step(&mut self, r: usize, p: usize) -> bool {
        self.assemble(r, p);
        solve(&mut self.jacobian, &mut self.step, r + p)
    }

    /// Fills `jacobian` with the slopes at the point last evaluated and `step` with −residual.
    fn assemble(&mut self, r: usize, p: usize) {
        let k = r + p;
        self.gain_slope.fill(0.0);
        self.loss_slope.fill(0.0);
        for (j, (_, slot)) in self.members.iter().enumerate() {
            let n = self.amounts[j];
            let total = r + slot;
            let entries = &self.entries[self.start[j]..self.start[j + 1]];
            for (row, c) in entries {
                let weight = c.abs() * n;
                let (slope, side) = if *c > 0.0 {
                    (&mut self.gain_slope, self.gains[*row])
                } else {
                    (&mut self.loss_slope, self.losses[*row])
                };
                if weight < NEGLIGIBLE * side && n < NEGLIGIBLE * self.gains[total] {
                    continue;
                }
                let slope = &mut slope[row * k..(row + 1) * k];
                for (column, d) in entries {
                    slope[*column] += weight * d;
                }
                slope[total] += weight;
                self.gain_slope[total * k + row] += c * n;
            }
            self.gain_slope[total * k + total] += n;
        }
        for i in 0..k {
            let (gain, loss) = (1.0 / self.gains[i], 1.0 / self.losses[i].max(FLOOR));
            for c in 0..k {
                let mut slope = self.gain_slope[i * k + c] * gain;
                if i < r {
                    slope -= self.loss_slope[i * k + c] * loss;
                } else if i == c {
                    // Σn/(Σn + inert) − 1, without the cancellation
                    slope = -self.inert[i - r] * gain;
                }
                self.jacobian[i * k + c] = slope;
            }
            self.step[i] = -self.residual[i];
        }
    }

    /// How the mixtures answer to temperature along the equilibrium. `delta` is Δh_j/RT, the
    /// enthalpy of species j against its basis, by species. Returns Σ_j n_j (T d ln n_j/dT) Δh_j/RT,
    /// and leaves T dy/dT in `y_slope` by tableau row and T dν/dT in `nu_slope` by mixture.
    pub fn response(&mut self, delta: &[f64], y_slope: &mut [f64], nu_slope: &mut [f64]) -> f64 {
        let (r, p) = (self.rows.len(), self.phases.len());
        let k = r + p;
        // T ∂f/∂T at fixed y and ν, put where newton_step looks for −f
        self.residual[..k].fill(0.0);
        for (j, (species, slot)) in self.members.iter().enumerate() {
            let drive = self.amounts[j] * delta[*species];
            for (row, c) in &self.entries[self.start[j]..self.start[j + 1]] {
                let side = if *c > 0.0 {
                    self.gains[*row]
                } else {
                    self.losses[*row]
                };
                self.residual[*row] += c * drive / side;
            }
            self.residual[r + slot] += drive / self.gains[r + slot];
        }
        y_slope.fill(0.0);
        nu_slope.fill(0.0);
        if !self.newton_step(r, p) {
            return f64::NAN;
        }
        for (i, row) in self.rows.iter().enumerate() {
            y_slope[*row] = self.step[i];
        }
        for (i, phase) in self.phases.iter().enumerate() {
            nu_slope[*phase] = self.step[r + i];
        }
        let mut sum = 0.0;
        for (j, (species, slot)) in self.members.iter().enumerate() {
            let mut drift = self.step[r + slot] + delta[*species];
            for (row, c) in &self.entries[self.start[j]..self.start[j + 1]] {
                drift += c * self.step[*row];
            }
            sum += self.amounts[j] * drift * delta[*species];
        }
        sum
    }

    /// A member far more abundant than the basis species of a row it draws on, if any: with the
    /// abundant species as basis the balances stay well conditioned down to the faintest trace.
    fn better_basis(&self) -> Option<(usize, usize)> {
        let mut best: Option<(usize, usize, f64)> = None;
        let basis_amount = |row: usize| self.amounts[self.basis_member[row]].max(FLOOR);
        for (j, (species, _)) in self.members.iter().enumerate() {
            for (row, c) in &self.entries[self.start[j]..self.start[j + 1]] {
                // Hardly ever: no division before it is needed.
                let amount = c.abs() * self.amounts[j];
                if amount > FAR * basis_amount(*row) {
                    let ratio = amount / basis_amount(*row);
                    if best.is_none_or(|(_, _, b)| ratio > b) {
                        best = Some((*row, *species, ratio));
                    }
                }
            }
        }
        best.map(|(row, species, _)| (row, species))
    }
}
