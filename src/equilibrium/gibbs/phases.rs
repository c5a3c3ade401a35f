//! Stages 2 and 3: Newton on the mixtures, then one phase out or in. Symbols as in [`super`].

use super::Solver;
use crate::equilibrium::mixture::{Bounds, EXACT, Ending};
use crate::equilibrium::problem::{BUBBLE, Failure, Kind, Problem};

/// Affinity (in RT) below which an absent phase counts as saturated: rounding of g_j, which is
/// of the order of 1e3, times a few terms.
const AFFINITY: f64 = 1e-10;
/// Affinity (in RT) up to which the mixtures find their way by themselves when a phase comes in.
const NEAR: f64 = 2.0;
/// Halvings of the bracket of an extent, 800 in its logarithm at first: a start need be no closer.
const HALVINGS: usize = 24;
/// Share of all atoms below which a solution that goes on fading is gone.
const GONE: f64 = 1e-40;
/// Iterations without progress after which it is seen whether a phase has to go.
const PATIENCE: usize = 8;
/// Residual at which the way to the next temperature is known: it then is off by its square.
const NEARBY: f64 = 3e-4;
/// Residual at which an answer is told roughly, and the affinity (in RT) that is sure to be one then.
const ROUGH: f64 = 1e-3;
const SEEN: f64 = 0.1;
/// Changes that are told from rough answers.
const ROUGH_CHANGES: usize = 8;
/// Changes after which no fading is cut short: what comes and goes may settle still lower.
const CUT_SHORT: usize = 40;
/// Changes of the set of phases after which the search is given up.
const MOST_CHANGES: usize = 200;

impl Solver {
    /// Stages 2 and 3. As long as phases come and go a rough answer tells which; the last set is settled
    /// to the end.
    pub(super) fn phases(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
        let atoms: f64 = problem.b.iter().sum();
        let mut rough = !self.warm;
        for change in 0..MOST_CHANGES {
            self.evidence.changes = change;
            let mut settled = self.settled(problem, atoms, rough)?;
            if settled && rough && !self.admit(problem, atoms, SEEN) {
                rough = false;
                settled = self.settled(problem, atoms, rough)?;
            }
            if settled && !rough && !self.admit(problem, atoms, AFFINITY) {
                return Ok(());
            }
            rough = change < ROUGH_CHANGES;
        }
        Err(self.no_convergence())
    }

    /// Goes from the last answer most of the way to that of `problem`, over the same phases and without
    /// a proof. False if there is no such way.
    pub fn approach(&mut self, problem: &Problem<'_>) -> bool {
        if !self.warm || !self.usable(problem) {
            return false;
        }
        self.refresh_cost(problem);
        self.tableau.refresh_amounts(problem.a, problem.b);
        let atoms: f64 = problem.b.iter().sum();
        let bounds = Bounds {
            ceiling: (2.0 * atoms).ln(),
            floor: f64::NEG_INFINITY,
            patience: PATIENCE,
            close: NEARBY,
        };
        let ending = self.mixtures(problem, &bounds);
        self.spread(problem);
        ending == Ending::Converged
    }

    /// Newton on the mixtures over the phases at hand. False if a phase had to go.
    fn settled(&mut self, problem: &Problem<'_>, atoms: f64, rough: bool) -> Result<bool, Failure> {
        let cut_short = self.evidence.changes < CUT_SHORT;
        for patience in [PATIENCE, usize::MAX] {
            let bounds = Bounds {
                ceiling: (2.0 * atoms).ln(),
                floor: if cut_short {
                    (GONE * atoms).ln()
                } else {
                    f64::NEG_INFINITY
                },
                patience,
                close: if rough { ROUGH } else { EXACT },
            };
            let ending = self.mixtures(problem, &bounds);
            self.evidence.iterations = self.reduced.iterations;
            self.spread(problem);
            if self.drop_negative(problem) {
                return Ok(false);
            }
            if ending == Ending::Converged {
                for &j in self.tableau.basis.iter().filter(|j| **j < problem.g.len()) {
                    if problem.kind[j] == Kind::Pure {
                        self.feasible[j] = self.amounts[j];
                    }
                }
                return Ok(true);
            }
            if self.drop_faded(problem, atoms) {
                return Ok(false);
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

    /// Takes out the solution that has faded most. False if none has. One that has settled is there,
    /// however little of it: what is left over for it may be the rounding of the amounts.
    fn drop_faded(&mut self, problem: &Problem<'_>, atoms: f64) -> bool {
        let faded = (1..problem.mixtures)
            .filter(|k| self.present[*k] && self.nu[*k] < (1e-3 * BUBBLE * atoms).ln());
        let Some(k) = faded.min_by(|i, k| self.nu[*i].total_cmp(&self.nu[*k])) else {
            return false;
        };
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
        self.log_activities();
        for (j, kind) in problem.kind.iter().enumerate() {
            let c = self.tableau.at(row, j).abs();
            if j == gone || !problem.allowed[j] || c < 1e-9 || self.tableau.basis.contains(&j) {
                continue;
            }
            let rank = match *kind {
                Kind::Mixture(k) if self.present[k] => {
                    1e6 + self.activity[j].max(-1e5) + self.nu[k] + c.ln()
                }
                Kind::Mixture(_) => continue,
                Kind::Pure => self.activity[j].max(-1e5),
            };
            if best.is_none_or(|(_, highest)| rank > highest) {
                best = Some((j, rank));
            }
        }
        let Some((j, _)) = best else { return false };
        self.enter(problem, row, j);
        true
    }

    /// Stage 3: lets the phase with the largest affinity in. False if none has more than `least`.
    fn admit(&mut self, problem: &Problem<'_>, atoms: f64, least: f64) -> bool {
        let mut best: Option<(usize, f64)> = None;
        let mut sums = vec![0.0; problem.mixtures];
        self.log_activities();
        for (j, affinity) in self.activity.iter().copied().enumerate() {
            if !problem.allowed[j] {
                continue;
            }
            match problem.kind[j] {
                Kind::Pure => {
                    let higher = affinity > least && best.is_none_or(|(_, most)| affinity > most);
                    if higher && !self.tableau.basis.contains(&j) {
                        best = Some((j, affinity));
                    }
                }
                Kind::Mixture(k) => {
                    if !self.present[k] {
                        sums[k] += affinity.min(200.0).exp();
                    }
                }
            }
        }
        for (k, sum) in sums.iter().enumerate() {
            let affinity = sum.ln();
            if affinity > least && best.is_none_or(|(_, most)| affinity > most) {
                self.present[k] = true;
                self.nu[k] = (1e-4 * atoms).ln();
                return true;
            }
        }
        let Some((j, _)) = best else { return false };
        self.admit_pure(problem, j)
    }

    /// Lets pure phase `j` in, along the reaction that forms it from the basis species: as far as
    /// its affinity falls to zero, or until a pure phase of the basis has run out.
    fn admit_pure(&mut self, problem: &Problem<'_>, j: usize) -> bool {
        let n = problem.g.len();
        let mut runs_out: Option<(usize, f64)> = None;
        // The mixture component to give up: the scarcest, weighted by how much of it j holds.
        let mut give_up: Option<(usize, f64)> = None;
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
        let Some((row, _)) = give_up else {
            return self.exchange(problem, j, runs_out);
        };
        if self.log_activity(j) < NEAR {
            self.enter(problem, row, j);
            return true;
        }
        let most = runs_out.map_or(f64::INFINITY, |(_, extent)| extent);
        let (extent, settled) = self.extent(problem, j, most);
        let give_up = self.advance(problem, j, extent);
        match give_up {
            Some(row) if settled || runs_out.is_none() => {
                self.enter(problem, row, j);
                true
            }
            _ => self.exchange(problem, j, runs_out),
        }
    }

    /// Pure phase `j` in place of the one that runs out first.
    fn exchange(
        &mut self,
        problem: &Problem<'_>,
        j: usize,
        runs_out: Option<(usize, f64)>,
    ) -> bool {
        let n = problem.g.len();
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

    /// Extent (mol) of the formation of `j` at which its affinity has fallen to zero, at most
    /// `most`, and whether it has.
    fn extent(&self, problem: &Problem<'_>, j: usize, most: f64) -> (f64, bool) {
        let affinity = self.log_activity(j);
        // What the mixtures of the basis hold, as logarithms: a trace may be e^-300.
        let mut parts: Vec<(f64, f64, f64)> = Vec::new();
        let mut totals: Vec<(usize, f64, f64)> = Vec::new();
        for (row, &basis) in self.tableau.basis.iter().enumerate() {
            let c = self.tableau.at(row, j);
            if basis >= problem.g.len() || c.abs() < 1e-9 {
                continue;
            }
            if let Kind::Mixture(k) = problem.kind[basis] {
                parts.push((c, self.y[row] + self.nu[k], 0.0));
                match totals.iter_mut().find(|t| t.0 == k) {
                    Some(total) => total.1 += c,
                    None => totals.push((k, c, self.nu[k])),
                }
            }
        }
        // Largest extent that the mixtures can bear, just short of it.
        let mut high = most.ln();
        for (c, log, _) in &parts {
            if *c > 0.0 {
                high = high.min(log - c.ln());
            }
        }
        let change = |c: f64, log: f64, extent: f64| -> f64 {
            // ln((n − c ξ)/n)
            let ratio = -c * (extent - log).exp();
            if ratio.is_infinite() {
                (-c).ln() + extent - log
            } else {
                ratio.max(-1.0).ln_1p()
            }
        };
        let left = |extent: f64| -> f64 {
            let gas: f64 = parts
                .iter()
                .map(|(c, log, _)| c * change(*c, *log, extent))
                .sum();
            let total: f64 = totals
                .iter()
                .map(|(_, c, log)| c * change(*c, *log, extent))
                .sum();
            affinity + gas - total
        };
        if high == f64::INFINITY {
            high = 50.0;
        }
        if left(high) > 0.0 {
            return (high.exp(), false);
        }
        let mut low = high - 800.0;
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if left(middle) > 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        (low.exp(), true)
    }

    /// Moves the mixtures of the basis along the formation of `extent` of `j`; returns the row
    /// whose species is the scarcest then.
    fn advance(&mut self, problem: &Problem<'_>, j: usize, extent: f64) -> Option<usize> {
        let mut scarcest: Option<(usize, f64)> = None;
        let log_extent = extent.ln();
        let mut grown = vec![0.0; problem.mixtures];
        let mut logs = vec![f64::NAN; self.tableau.rows];
        for row in 0..self.tableau.rows {
            let c = self.tableau.at(row, j);
            let basis = self.tableau.basis[row];
            if basis >= problem.g.len() || c.abs() < 1e-9 {
                continue;
            }
            if let Kind::Mixture(k) = problem.kind[basis] {
                let log = self.y[row] + self.nu[k];
                let ratio = -c * (log_extent - log).exp();
                let next = if ratio.is_infinite() {
                    (-c).ln() + log_extent
                } else {
                    log + ratio.max(-1.0 + 1e-9).ln_1p()
                };
                grown[k] -= c * extent;
                logs[row] = next;
                let weight = c.abs().ln() - next;
                if scarcest.is_none_or(|(_, most)| weight > most) {
                    scarcest = Some((row, weight));
                }
            }
        }
        for (k, grown) in grown.iter().enumerate() {
            if self.present[k] {
                let total = self.nu[k].exp();
                self.nu[k] = (total + grown).max(1e-3 * total).ln();
            }
        }
        for row in 0..self.tableau.rows {
            let basis = self.tableau.basis[row];
            if basis < problem.g.len() && !logs[row].is_nan() {
                if let Kind::Mixture(k) = problem.kind[basis] {
                    self.y[row] = logs[row] - self.nu[k];
                }
            }
        }
        scarcest.map(|(row, _)| row)
    }
}
