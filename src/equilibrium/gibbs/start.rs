//! Stage 1: the first set of phases, by a linear programme. Symbols as in [`super`].

use super::{STARTS, Solver};
use crate::equilibrium::problem::{BALANCE, BUBBLE, Failure};
use crate::equilibrium::problem::{Kind, Problem};

impl Solver {
    /// Stage 1: the linear programme, and first activities and totals from its answer.
    pub(super) fn start(
        &mut self,
        problem: &Problem<'_>,
        log_fraction: f64,
    ) -> Result<(), Failure> {
        let n = problem.g.len();
        let atoms: f64 = problem.b.iter().sum();
        self.tableau.reset(problem.a, problem.b, n);
        self.minimise_linear(problem, log_fraction);
        self.tableau.refresh_amounts(problem.a, problem.b);
        self.expel_elements(problem, atoms)?;
        self.refresh_cost(problem);

        self.present.clear();
        self.present.resize(problem.mixtures, false);
        self.present[0] = true;
        self.inert.clear();
        self.inert.resize(problem.mixtures, 0.0);
        self.inert[0] = BUBBLE * atoms;
        self.nu.clear();
        self.nu.resize(problem.mixtures, 0.0);
        self.feasible.clear();
        self.feasible.resize(n, 0.0);
        let mut totals = self.inert.clone();
        for (row, &j) in self.tableau.basis.iter().enumerate() {
            if j >= n {
                continue;
            }
            let amount = self.tableau.amount(row).max(0.0);
            match problem.kind[j] {
                Kind::Pure => self.feasible[j] = amount,
                Kind::Mixture(k) => {
                    self.present[k] = true;
                    totals[k] += amount;
                }
            }
        }
        for (nu, total) in self.nu.iter_mut().zip(&totals) {
            *nu = total.max(BUBBLE * atoms).ln();
        }
        self.y.clear();
        for &j in &self.tableau.basis {
            let pure = j >= n || problem.kind[j] == Kind::Pure;
            self.y.push(if pure { 0.0 } else { log_fraction });
        }
        for row in 0..self.tableau.rows {
            let j = self.tableau.basis[row];
            if j >= n {
                continue;
            }
            let Kind::Mixture(k) = problem.kind[j] else {
                continue;
            };
            let amount = self.tableau.amount(row);
            let lowest = self.y[row] - 0.5 * self.room_below(problem, row);
            self.y[row] = if amount > 0.0 {
                (amount.ln() - self.nu[k]).clamp(lowest, 0.0)
            } else {
                lowest
            };
        }
        Ok(())
    }

    /// The species of the linear programme with their amounts; nothing if it fails. The last answer
    /// is forgotten.
    pub fn likeliest(&mut self, problem: &Problem<'_>) -> Option<Vec<(usize, f64)>> {
        self.forget();
        self.start(problem, STARTS[0]).ok()?;
        let basis = self.tableau.basis.iter().enumerate();
        let here = basis.filter(|(_, j)| **j < problem.g.len());
        let amounts = here.map(|(row, j)| (*j, self.tableau.amount(row)));
        Some(amounts.collect())
    }

    /// How far ln activity of a basis species can fall before another species reaches
    /// activity 1. Half of it is where the two sides balance if the species has no amount of
    /// its own, and no start is so low that another species would seem to abound.
    fn room_below(&self, problem: &Problem<'_>, row: usize) -> f64 {
        let cells = self.tableau.row(row);
        let mut room = 200.0_f64;
        for j in 0..problem.g.len() {
            if problem.allowed[j] && cells[j] < 0.0 {
                room = room.min((-self.log_activity(j)).max(0.0) / -cells[j]);
            }
        }
        room
    }

    /// Simplex method with a dear price on bare elements. Ends early rather than cycle: any
    /// feasible set will do as a start.
    fn minimise_linear(&mut self, problem: &Problem<'_>, log_fraction: f64) {
        // Dearer than any real element potential (|g_j| stays below 1e4 at 300 K).
        const DEAR: f64 = 1e5;
        let n = problem.g.len();
        let m = problem.b.len();
        let mut atoms = vec![0.0; n];
        self.cost.clear();
        self.cost.extend_from_slice(problem.g);
        for row in 0..m {
            for j in 0..n {
                atoms[j] += problem.a[row * n + j];
            }
        }
        for j in 0..n {
            self.cost[j] -= DEAR * atoms[j];
            if problem.kind[j] != Kind::Pure {
                self.cost[j] += log_fraction;
            }
        }
        for _ in 0..20 * m + 20 {
            let mut enter = usize::MAX;
            let mut lowest = -1e-9;
            for j in 0..n {
                if problem.allowed[j] && self.cost[j] < lowest * atoms[j] {
                    lowest = self.cost[j] / atoms[j];
                    enter = j;
                }
            }
            if enter == usize::MAX {
                return;
            }
            let Some(row) = self.first_to_vanish(enter) else {
                return;
            };
            self.tableau.pivot(row, enter);
            let price = self.cost[enter];
            for (cost, c) in self.cost.iter_mut().zip(self.tableau.row(row)) {
                *cost -= price * c;
            }
            self.cost[enter] = 0.0;
        }
    }

    /// Row whose basis species runs out first when `enter` grows.
    fn first_to_vanish(&self, enter: usize) -> Option<usize> {
        let mut best: Option<(usize, f64, f64)> = None;
        for row in 0..self.tableau.rows {
            let c = self.tableau.at(row, enter);
            if c > 1e-9 {
                let ratio = self.tableau.amount(row).max(0.0) / c;
                let better = match best {
                    None => true,
                    Some((_, least, pivot)) => {
                        ratio < least * (1.0 - 1e-12) || (ratio <= least && c > pivot)
                    }
                };
                if better {
                    best = Some((row, ratio, c));
                }
            }
        }
        best.map(|(row, _, _)| row)
    }

    /// Bare elements that are still in the basis: an error if they hold an amount, a pivot if
    /// a species can stand in, else a redundant row, which the rest of the code passes over.
    fn expel_elements(&mut self, problem: &Problem<'_>, atoms: f64) -> Result<(), Failure> {
        let n = problem.g.len();
        for row in 0..self.tableau.rows {
            if self.tableau.basis[row] < n {
                continue;
            }
            let element = self.tableau.basis[row] - n;
            let amount = self.tableau.amount(row);
            let stand_in = (0..n)
                .filter(|j| problem.allowed[*j] && self.tableau.at(row, *j).abs() > 1e-9)
                .min_by(|i, j| self.cost[*i].total_cmp(&self.cost[*j]));
            if amount > BALANCE * 0.1 * problem.b[element].min(atoms) {
                return Err(Failure::Infeasible { element, amount });
            }
            if let Some(j) = stand_in {
                self.tableau.pivot(row, j);
                self.tableau.refresh_amounts(problem.a, problem.b);
            }
        }
        Ok(())
    }
}
