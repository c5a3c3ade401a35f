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

use super::linear::Tableau;
use super::mixture::{Ending, Reduced};

/// Where a species lives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A phase of its own.
    Pure,
    /// Member of ideal mixture k; mixture 0 is the gas.
    Mixture(usize),
}

/// One minimisation, in plain numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Problem<'a> {
    pub a: &'a [f64],
    pub b: &'a [f64],
    pub g: &'a [f64],
    pub kind: &'a [Kind],
    /// False for a species that does not exist at this temperature.
    pub allowed: &'a [bool],
    /// Number of mixtures, gas included.
    pub mixtures: usize,
}

/// Why no answer is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Failure {
    /// No combination of the species holds the given elements; the row of one that is left over.
    Infeasible { element: usize, amount: f64 },
    /// The iteration did not settle.
    NoConvergence {
        iterations: usize,
        changes: usize,
        residual: f64,
    },
}

/// What was checked at the end, from the raw a, b, g and not from the tableau.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Evidence {
    pub iterations: usize,
    pub changes: usize,
    pub balance: f64,
    pub potential: f64,
    pub affinity: f64,
}

/// Inert bubble, as a share of all atoms.
const BUBBLE: f64 = 1e-12;
/// Affinity (in RT) below which an absent phase counts as saturated: rounding of g_j, which is
/// of the order of 1e3, times a few terms.
const AFFINITY: f64 = 1e-10;
/// Relative element balance that an answer must meet.
const BALANCE: f64 = 1e-9;
/// Largest potential residual that an answer may have, in RT.
const POTENTIAL: f64 = 1e-8;
/// ln amount fraction that the linear programme gives every mixture species. The later ones
/// serve only when the first leads nowhere.
const STARTS: [f64; 4] = [-4.0, -1.0, -8.0, -20.0];
const MOST_CHANGES: usize = 200;

/// The solver with its workspace; keeps the last answer as the start of the next one.
#[derive(Clone, Debug, Default)]
pub(super) struct Solver {
    tableau: Tableau,
    reduced: Reduced,
    cost: Vec<f64>,
    y: Vec<f64>,
    nu: Vec<f64>,
    present: Vec<bool>,
    inert: Vec<f64>,
    /// Amounts of the pure phases at the last point that met the balance, by species.
    feasible: Vec<f64>,
    pub amounts: Vec<f64>,
    pub potentials: Vec<f64>,
    pub evidence: Evidence,
    /// H/RT of each species against the basis, and T dy/dT by row: see `heat_capacity`.
    delta: Vec<f64>,
    y_slope: Vec<f64>,
    warm: bool,
}

impl Solver {
    /// Forgets the last answer: the next solve starts from nothing.
    pub fn forget(&mut self) {
        self.warm = false;
    }

    /// Minimises; the answer is in `amounts`, `potentials` and `evidence`.
    pub fn solve(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
        self.evidence = Evidence::default();
        self.reduced.iterations = 0;
        if self.warm && self.usable(problem) {
            self.refresh_cost(problem);
            self.tableau.refresh_amounts(problem.b);
            if self.phases(problem).is_ok() && self.verify(problem).is_ok() {
                return Ok(());
            }
        }
        self.warm = false;
        let mut failure = None;
        for log_fraction in STARTS {
            let mut outcome = self.start(problem, log_fraction);
            if matches!(outcome, Err(Failure::Infeasible { .. })) {
                return outcome;
            }
            outcome = outcome.and_then(|()| self.phases(problem));
            outcome = outcome.and_then(|()| self.verify(problem));
            match outcome {
                Ok(()) => {
                    self.warm = true;
                    return Ok(());
                }
                Err(error) => failure = Some(error),
            }
        }
        Err(failure.unwrap_or_else(|| self.no_convergence()))
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

    /// Stage 1: the linear programme, and first activities and totals from its answer.
    fn start(&mut self, problem: &Problem<'_>, log_fraction: f64) -> Result<(), Failure> {
        let n = problem.g.len();
        let atoms: f64 = problem.b.iter().sum();
        self.tableau.reset(problem.a, problem.b, n);
        self.minimise_linear(problem, log_fraction);
        self.tableau.refresh_amounts(problem.b);
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
                self.tableau.refresh_amounts(problem.b);
            }
        }
        Ok(())
    }

    /// Stages 2 and 3.
    fn phases(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
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

    fn no_convergence(&self) -> Failure {
        Failure::NoConvergence {
            iterations: self.reduced.iterations,
            changes: self.evidence.changes,
            residual: self.reduced.worst,
        }
    }

    /// Newton on the mixtures, with the basis kept on the abundant species.
    fn mixtures(&mut self, problem: &Problem<'_>, ceiling: f64) -> Ending {
        for _ in 0..60 {
            self.reduced.collect(
                problem,
                &self.tableau,
                &self.cost,
                &self.present,
                &self.inert,
            );
            match self.reduced.solve(&mut self.y, &mut self.nu, ceiling) {
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
        self.tableau.refresh_amounts(problem.b);
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
        self.y_slope.clear();
        self.y_slope.resize(self.tableau.rows, 0.0);
        let chemical = self.reduced.response(&self.delta, &mut self.y_slope);
        let frozen: f64 = self.amounts.iter().zip(cp).map(|(n, cp)| n * cp).sum();
        frozen + chemical
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

    /// Element potentials and the optimality conditions, from the raw problem.
    fn verify(&mut self, problem: &Problem<'_>) -> Result<(), Failure> {
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
        evidence.balance = 0.0;
        for i in 0..m {
            let row = &problem.a[i * n..(i + 1) * n];
            let sum: f64 = row.iter().zip(&self.amounts).map(|(a, n)| a * n).sum();
            evidence.balance = evidence
                .balance
                .max((sum - problem.b[i]).abs() / problem.b[i]);
        }
        evidence.potential = 0.0;
        evidence.affinity = f64::NEG_INFINITY;
        let mut absent = vec![0.0; problem.mixtures];
        for j in 0..n {
            if !problem.allowed[j] {
                continue;
            }
            let mut mu = -problem.g[j];
            for i in 0..m {
                mu += problem.a[i * n + j] * self.potentials[i];
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
}
