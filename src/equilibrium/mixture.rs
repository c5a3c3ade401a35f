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

mod members;

use super::linear::solve;
use members::{NEGLIGIBLE, Source};

/// Added to both sides of a balance, so that a row with nothing on one side stays finite (an
/// oxide with no oxygen to spare and no metal vapour in the tables: y_r then falls without
/// end, until the metal itself becomes stable). Far below the 1e-30 mol that has a meaning.
const FLOOR: f64 = 1e-200;
/// Largest change of ln N in one step, so that a mixture grows or fades by e⁴ at most.
const LONGEST_STEP: f64 = 4.0;
/// A residual of the logarithmic equations below this is followed by one last step, which
/// squares it.
const CONVERGED: f64 = 1e-8;
/// Below this no step is worth taking for an answer: a hundredth of what it must meet.
pub(super) const EXACT: f64 = 1e-11;
/// Residual below which members stay about as abundant as they are.
const NEAR: f64 = 1.0;
const MOST_ITERATIONS: usize = 120;
/// How often members are set aside in one iteration.
const MOST_SET_ASIDE: usize = 2;
/// Exponents are cut off here while the iteration is far from the answer.
const LARGEST_EXPONENT: f64 = 300.0;
/// Steps that end with a mixture at its ceiling before it counts as growing without bound.
const STAY: usize = 2;
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
    /// Residual of the logarithmic equations at which no step is worth taking.
    pub close: f64,
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
    source: Source,
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
    /// Amount of a member that is far more than that of the basis species, by row slot.
    limits: Vec<f64>,
    target: Vec<f64>,
    inert: Vec<f64>,
    /// The members, those that count first; how many those are, and what the others add to the sums.
    order: Vec<usize>,
    counted: usize,
    faint_gains: Vec<f64>,
    faint_losses: Vec<f64>,
    /// Whether the sums are taken over all members.
    whole: bool,
    unknown: Vec<f64>,
    trial: Vec<f64>,
    pub amounts: Vec<f64>,
    gains: Vec<f64>,
    losses: Vec<f64>,
    residual: Vec<f64>,
    step: Vec<f64>,
    jacobian: Vec<f64>,
    /// 1 / gains and 1 / losses.
    per_gain: Vec<f64>,
    per_loss: Vec<f64>,
    pub iterations: usize,
    pub worst: f64,
}

impl Reduced {
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
        let mut set_aside = 0;
        for _ in 0..MOST_ITERATIONS {
            if self.worst < CONVERGED && self.in_sums() < self.order.len() {
                self.whole = true;
                merit = self.evaluate();
            }
            if let Some((row, species)) = self.better_basis() {
                ending = Ending::Rebase(self.rows[row], species);
                break;
            }
            if self.worst < bounds.close {
                ending = Ending::Converged;
                break;
            }
            let last = self.worst < CONVERGED;
            let near = self.worst < NEAR && !last;
            if near && set_aside < MOST_SET_ASIDE && self.in_sums() == self.order.len() {
                self.set_the_faint_aside();
                set_aside += 1;
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
        for list in [
            &mut self.gains,
            &mut self.losses,
            &mut self.residual,
            &mut self.trial,
            &mut self.step,
        ] {
            list.resize(k, 0.0);
        }
        self.jacobian.resize(k * k, 0.0);
        self.trial[..k].copy_from_slice(&self.unknown[..k]);
        self.whole = false;
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
        if self.whole {
            self.gains.fill(0.0);
            self.losses.fill(0.0);
        } else {
            self.gains.copy_from_slice(&self.faint_gains);
            self.losses.copy_from_slice(&self.faint_losses);
        }
        for (i, target) in self.target.iter().enumerate() {
            self.gains[i] += FLOOR + (-target).max(0.0);
            self.losses[i] += FLOOR + target.max(0.0);
        }
        for (gains, inert) in self.gains[r..].iter_mut().zip(&self.inert) {
            *gains += inert;
        }
        let counted = self.in_sums();
        let (gains, losses) = (self.gains.as_mut_slice(), self.losses.as_mut_slice());
        let (trial, amounts) = (self.trial.as_slice(), self.amounts.as_mut_slice());
        let (members, entries) = (self.members.as_slice(), self.entries.as_slice());
        let (start, cost) = (self.start.as_slice(), self.cost.as_slice());
        for &j in &self.order[..counted] {
            let total = r + members[j].1;
            let mut exponent = trial[total] - cost[j];
            let entries = &entries[start[j]..start[j + 1]];
            for (row, c) in entries {
                exponent += c * trial[*row];
            }
            let n = exponent.min(LARGEST_EXPONENT).exp();
            amounts[j] = n;
            for (row, c) in entries {
                if *c > 0.0 {
                    gains[*row] += c * n;
                } else {
                    losses[*row] -= c * n;
                }
            }
            gains[total] += n;
        }
        let invert = |sum: &f64| 1.0 / sum.max(FLOOR);
        self.per_gain.clear();
        self.per_gain.extend(self.gains.iter().map(invert));
        self.per_loss.clear();
        self.per_loss.extend(self.losses.iter().map(invert));
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
        let counted = self.in_sums();
        self.jacobian.fill(0.0);
        let jacobian = &mut self.jacobian[..];
        let (per_gain, per_loss) = (&self.per_gain[..], &self.per_loss[..]);
        let (members, entries) = (&self.members[..], &self.entries[..]);
        let (start, amounts) = (&self.start[..], &self.amounts[..]);
        for &j in &self.order[..counted] {
            let n = amounts[j];
            let total = r + members[j].1;
            let share = n * per_gain[total];
            let entries = &entries[start[j]..start[j + 1]];
            for (row, c) in entries {
                let weight = c * n * if *c > 0.0 { per_gain } else { per_loss }[*row];
                if weight.abs() < NEGLIGIBLE && share < NEGLIGIBLE {
                    continue;
                }
                let slopes = &mut jacobian[row * k..(row + 1) * k];
                for (column, d) in entries {
                    slopes[*column] += weight * d;
                }
                slopes[total] += weight;
                jacobian[total * k + row] += c * share;
            }
        }
        for (slot, inert) in self.inert.iter().enumerate() {
            // Σn/(Σn + inert) − 1, without the cancellation
            let total = r + slot;
            jacobian[total * k + total] = -inert * per_gain[total];
        }
        for (step, residual) in self.step.iter_mut().zip(&self.residual) {
            *step = -residual;
        }
    }

    /// How the mixtures answer to temperature along the equilibrium. `delta` is Δh_j/RT, the
    /// enthalpy of species j against its basis, by species. Returns Σ_j n_j (T d ln n_j/dT) Δh_j/RT,
    /// and leaves T dy/dT in `y_slope` by tableau row and T dν/dT in `nu_slope` by mixture.
    pub fn response(&mut self, delta: &[f64], y_slope: &mut [f64], nu_slope: &mut [f64]) -> f64 {
        let (r, p) = (self.rows.len(), self.phases.len());
        let k = r + p;
        self.whole = false;
        // T ∂f/∂T at fixed y and ν, put where newton_step looks for −f
        self.residual[..k].fill(0.0);
        for &j in &self.order[..self.counted] {
            let (species, slot) = self.members[j];
            let drive = self.amounts[j] * delta[species];
            for (row, c) in &self.entries[self.start[j]..self.start[j + 1]] {
                let per = if *c > 0.0 {
                    &self.per_gain
                } else {
                    &self.per_loss
                };
                self.residual[*row] += c * drive * per[*row];
            }
            self.residual[r + slot] += drive * self.per_gain[r + slot];
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
        for &j in &self.order[..self.counted] {
            let (species, slot) = self.members[j];
            let mut drift = self.step[r + slot] + delta[species];
            for (row, c) in &self.entries[self.start[j]..self.start[j + 1]] {
                drift += c * self.step[*row];
            }
            sum += self.amounts[j] * drift * delta[species];
        }
        sum
    }

    /// A member far more abundant than the basis species of a row it draws on, if any: with the
    /// abundant species as basis the balances stay well conditioned down to the faintest trace.
    fn better_basis(&mut self) -> Option<(usize, usize)> {
        let mut best: Option<(usize, usize, f64)> = None;
        let basis = self.basis_member.iter();
        let limits = basis.map(|j| FAR * self.amounts[*j].max(FLOOR));
        self.limits.clear();
        self.limits.extend(limits);
        let (limits, amounts) = (&self.limits[..], &self.amounts[..]);
        let (start, entries) = (&self.start[..], &self.entries[..]);
        for &j in &self.order[..self.in_sums()] {
            for (row, c) in &entries[start[j]..start[j + 1]] {
                // Hardly ever: no division before it is needed.
                let amount = c.abs() * amounts[j];
                if amount > limits[*row] {
                    let ratio = amount / limits[*row];
                    if best.is_none_or(|(_, _, b)| ratio > b) {
                        best = Some((*row, self.members[j].0, ratio));
                    }
                }
            }
        }
        best.map(|(row, species, _)| (row, species))
    }
}
