//! What is read off an answer: the optimality conditions and the slopes along the equilibrium.
//! Symbols as in [`super`].

use super::Solver;
use crate::equilibrium::problem::{BALANCE, Failure};
use crate::equilibrium::problem::{Kind, Problem};

/// Largest potential residual that an answer may have, in RT.
const POTENTIAL: f64 = 1e-8;

/// Largest change of a ln activity, and of a mixture's ln amount, on the way to another temperature.
const FARTHEST: f64 = 30.0;
const MOST_GROWTH: f64 = 1.0;

impl Solver {
    /// Element potentials and the optimality conditions, from the raw problem.
    pub(super) fn verify(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
        let mut balance = self.imbalance(problem);
        if balance > 0.1 * BALANCE {
            self.refine(problem);
            balance = self.imbalance(problem);
        }
        let n = problem.g.len();
        let m = problem.b.len();
        self.potentials.clear();
        self.potentials.resize(m, 0.0);
        for row in 0..m {
            let basis = self.tableau.basis[row];
            if basis < n {
                let mu = problem.g[basis] + self.y[row];
                for i in 0..m {
                    self.potentials[i] += self.tableau.inverse(row, i) * mu;
                }
            }
        }
        let mut evidence = self.evidence;
        evidence.iterations = self.reduced.iterations;
        evidence.balance = balance;
        evidence.potential = 0.0;
        evidence.affinity = f64::NEG_INFINITY;
        let mut absent = vec![0.0; problem.mixtures];
        self.activity.clear();
        self.activity.extend(problem.g.iter().map(|g| -g));
        for (potential, row) in self.potentials.iter().zip(problem.a.chunks_exact(n)) {
            for (mu, a) in self.activity.iter_mut().zip(row) {
                *mu += a * potential;
            }
        }
        for (j, mu) in self.activity.iter().copied().enumerate() {
            if !problem.allowed[j] {
                continue;
            }
            match problem.kind[j] {
                Kind::Pure if self.amounts[j] > 0.0 => {
                    evidence.potential = evidence.potential.max(mu.abs());
                }
                Kind::Pure => evidence.affinity = evidence.affinity.max(mu),
                Kind::Mixture(k) if self.amounts[j] > 1e-290 => {
                    let log_fraction = self.amounts[j].ln() - self.nu[k];
                    evidence.potential = evidence.potential.max((mu - log_fraction).abs());
                }
                Kind::Mixture(k) if !self.present[k] => absent[k] += mu.min(200.0).exp(),
                Kind::Mixture(_) => {}
            }
        }
        for sum in absent.iter().filter(|sum| **sum > 0.0) {
            evidence.affinity = evidence.affinity.max(sum.ln());
        }
        self.evidence = evidence;
        let sound = evidence.balance < BALANCE
            && evidence.potential < POTENTIAL
            && evidence.affinity < POTENTIAL
            && self.amounts.iter().all(|n| n.is_finite() && *n >= 0.0);
        if sound {
            Ok(())
        } else {
            Err(self.no_convergence())
        }
    }

    /// Largest deviation of an element's amount from what is given, relative.
    fn imbalance(&self, problem: &Problem<'_>) -> f64 {
        let rows = problem.a.chunks_exact(problem.g.len()).zip(problem.b);
        let off = rows.map(|(row, b)| {
            let sum: f64 = row.iter().zip(&self.amounts).map(|(a, n)| a * n).sum();
            (sum - b).abs() / b
        });
        off.fold(0.0, f64::max)
    }

    /// dH/dT along the equilibrium, over R; `h` is H/RT and `cp` is Cp/R by species. To be
    /// called after a successful solve.
    pub fn heat_capacity(&mut self, problem: &Problem<'_>, h: &[f64], cp: &[f64]) -> f64 {
        let n = problem.g.len();
        self.delta.clear();
        self.delta.extend_from_slice(h);
        for row in 0..self.tableau.rows {
            let basis = self.tableau.basis[row];
            if basis < n {
                for (delta, c) in self.delta.iter_mut().zip(self.tableau.row(row)) {
                    *delta -= c * h[basis];
                }
            }
        }
        self.y_slope.resize(self.tableau.rows, 0.0);
        self.nu_slope.resize(problem.mixtures, 0.0);
        let chemical = self
            .reduced
            .response(&self.delta, &mut self.y_slope, &mut self.nu_slope);
        let frozen: f64 = self.amounts.iter().zip(cp).map(|(n, cp)| n * cp).sum();
        frozen + chemical
    }

    /// H/RT of other amounts `b` at the temperature of the last answer, to first order: Σ b_i h_i
    /// with h_i = Σ_r (h_r − T dy_r/dT) over the basis, what each element brings along. `h` is H/RT by species.
    /// To be called after [`Self::heat_capacity`].
    pub fn enthalpy_of(&self, b: &[f64], h: &[f64]) -> f64 {
        let held = |row: usize| {
            let basis = self.tableau.basis[row];
            let own = if basis < self.tableau.species {
                h[basis] - self.y_slope[row]
            } else {
                0.0
            };
            let moles: f64 = b
                .iter()
                .enumerate()
                .map(|(i, b)| self.tableau.inverse(row, i) * b)
                .sum();
            own * moles
        };
        (0..self.tableau.rows).map(held).sum()
    }

    /// Carries the last answer to another temperature, to first order in 1/T: `share` is
    /// 1 − T_last/T. To be called after [`Self::heat_capacity`], before a solve.
    pub fn carry(&mut self, share: f64) {
        let fits = self.y_slope.len() == self.y.len() && self.nu_slope.len() == self.nu.len();
        if !self.warm || !fits {
            return;
        }
        for (y, slope) in self.y.iter_mut().zip(&self.y_slope) {
            *y += (slope * share).clamp(-FARTHEST, FARTHEST);
        }
        for (nu, slope) in self.nu.iter_mut().zip(&self.nu_slope) {
            *nu += (slope * share).clamp(-MOST_GROWTH, MOST_GROWTH);
        }
    }

    /// Affinity (in RT) of absent species `j` and its T d/dT along the equilibrium. To be
    /// called after [`Self::heat_capacity`].
    pub fn affinity_and_slope(&self, j: usize) -> (f64, f64) {
        let mut slope = self.delta[j];
        for row in 0..self.tableau.rows {
            slope += self.tableau.at(row, j) * self.y_slope[row];
        }
        (self.log_activity(j), slope)
    }
}
