//! Stages 2 and 3: Newton on the mixtures, then one phase out or in. Symbols as in [`super`].

use super::{BUBBLE, Failure, Kind, Problem, Solver};
use crate::equilibrium::mixture::Ending;

/// Affinity (in RT) below which an absent phase counts as saturated: rounding of g_j, which is
/// of the order of 1e3, times a few terms.
const AFFINITY: f64 = 1e-10;
/// Changes of the set of phases after which the search is given up.
const MOST_CHANGES: usize = 200;

impl Solver {
    /// Stages 2 and 3.
    pub(super) fn phases(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
        let atoms: f64 = problem.b.iter().sum();
        let ceiling = 2.0 * atoms;
        for change in 0..MOST_CHANGES {
            self.evidence.changes = change;
            let ending = self.mixtures(problem, ceiling);
            self.evidence.iterations = self.reduced.iterations;
            self.spread(problem);
            if self.drop_negative(problem) || self.drop_faded(problem, atoms) {
                continue;
            }
            if ending != Ending::Converged {
                return Err(self.no_convergence());
            }
            for &j in self.tableau.basis.iter().filter(|j| **j < problem.g.len()) {
                if problem.kind[j] == Kind::Pure {
                    self.feasible[j] = self.amounts[j];
                }
            }
            if !self.admit(problem, atoms) {
                return Ok(());
            }
        }
        Err(self.no_convergence())
    }

    /// Goes from the last feasible point towards the new one until the first pure phase
    /// vanishes, and takes that phase out. False if none would.
    fn drop_negative(&mut self, problem: &Problem<'_>) -> bool {
        let n = problem.g.len();
        let mut first: Option<(usize, f64)> = None;
        for (row, &j) in self.tableau.basis.iter().enumerate() {
            if j < n && problem.kind[j] == Kind::Pure && self.amounts[j] < 0.0 {
                let share = self.feasible[j] / (self.feasible[j] - self.amounts[j]);
                if first.is_none_or(|(_, least)| share < least) {
                    first = Some((row, share));
                }
            }
        }
        let Some((row, share)) = first else {
            return false;
        };
        for &j in self.tableau.basis.iter().filter(|j| **j < n) {
            if problem.kind[j] == Kind::Pure {
                let next = self.feasible[j] + share * (self.amounts[j] - self.feasible[j]);
                self.feasible[j] = next.max(0.0);
            }
        }
        let gone = self.tableau.basis[row];
        self.feasible[gone] = 0.0;
        self.replace(problem, row)
    }

    /// Takes out a solution that has faded to nothing. False if none has.
    fn drop_faded(&mut self, problem: &Problem<'_>, atoms: f64) -> bool {
        let faded = (1..problem.mixtures)
            .find(|k| self.present[*k] && self.nu[*k] < (1e-3 * BUBBLE * atoms).ln());
        let Some(k) = faded else { return false };
        self.present[k] = false;
        for row in 0..self.tableau.rows {
            let j = self.tableau.basis[row];
            if j < problem.g.len() && problem.kind[j] == Kind::Mixture(k) {
                self.replace(problem, row);
            }
        }
        true
    }

    /// Replaces the basis species of `row`, which is no longer there, by the most abundant
    /// mixture species that can stand in, else by the pure phase closest to saturation.
    fn replace(&mut self, problem: &Problem<'_>, row: usize) -> bool {
        let gone = self.tableau.basis[row];
        let mut best: Option<(usize, f64)> = None;
        for (j, kind) in problem.kind.iter().enumerate() {
            let c = self.tableau.at(row, j).abs();
            if j == gone || !problem.allowed[j] || c < 1e-9 || self.tableau.basis.contains(&j) {
                continue;
            }
            let rank = match *kind {
                Kind::Mixture(k) if self.present[k] => {
                    1e6 + self.log_activity(j).max(-1e5) + self.nu[k] + c.ln()
                }
                Kind::Mixture(_) => continue,
                Kind::Pure => self.log_activity(j).max(-1e5),
            };
            if best.is_none_or(|(_, highest)| rank > highest) {
                best = Some((j, rank));
            }
        }
        let Some((j, _)) = best else { return false };
        self.enter(problem, row, j);
        true
    }

    /// Stage 3: lets the phase with the largest affinity in. False if there is none.
    fn admit(&mut self, problem: &Problem<'_>, atoms: f64) -> bool {
        let n = problem.g.len();
        let mut best: Option<(usize, f64)> = None;
        let mut sums = vec![0.0; problem.mixtures];
        for j in 0..n {
            if !problem.allowed[j] {
                continue;
            }
            match problem.kind[j] {
                Kind::Pure => {
                    if self.tableau.basis.contains(&j) {
                        continue;
                    }
                    let affinity = self.log_activity(j);
                    if affinity > AFFINITY && best.is_none_or(|(_, most)| affinity > most) {
                        best = Some((j, affinity));
                    }
                }
                Kind::Mixture(k) => {
                    if !self.present[k] {
                        sums[k] += self.log_activity(j).min(200.0).exp();
                    }
                }
            }
        }
        for (k, sum) in sums.iter().enumerate() {
            let affinity = sum.ln();
            if affinity > AFFINITY && best.is_none_or(|(_, most)| affinity > most) {
                self.present[k] = true;
                self.nu[k] = (1e-4 * atoms).ln();
                return true;
            }
        }
        let Some((j, _)) = best else { return false };
        self.admit_pure(problem, j)
    }

    /// Lets pure phase `j` in: exchange along a reaction among pure phases, or instead of a gas.
    fn admit_pure(&mut self, problem: &Problem<'_>, j: usize) -> bool {
        let n = problem.g.len();
        // The mixture component to give up: the scarcest, weighted by how much of it j holds.
        let mut give_up: Option<(usize, f64)> = None;
        let mut runs_out: Option<(usize, f64)> = None;
        for (row, &basis) in self.tableau.basis.iter().enumerate() {
            let c = self.tableau.at(row, j);
            if basis >= n || c.abs() < 1e-9 {
                continue;
            }
            if let Kind::Mixture(_) = problem.kind[basis] {
                let weight = c.abs() / self.amounts[basis].max(1e-300);
                if give_up.is_none_or(|(_, most)| weight > most) {
                    give_up = Some((row, weight));
                }
            } else if c > 0.0 {
                let ratio = self.feasible[basis] / c;
                if runs_out.is_none_or(|(_, least)| ratio < least) {
                    runs_out = Some((row, ratio));
                }
            }
        }
        self.feasible[j] = 0.0;
        if let Some((row, _)) = give_up {
            self.enter(problem, row, j);
            return true;
        }
        let Some((row, extent)) = runs_out else {
            return false;
        };
        for r in 0..self.tableau.rows {
            let basis = self.tableau.basis[r];
            if basis < n {
                let next = self.feasible[basis] - extent * self.tableau.at(r, j);
                self.feasible[basis] = next.max(0.0);
            }
        }
        self.feasible[self.tableau.basis[row]] = 0.0;
        self.feasible[j] = extent;
        self.enter(problem, row, j);
        true
    }
}
