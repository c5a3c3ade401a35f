//! The members of the reduced system, and which of them its sums are taken over. Symbols as in [`super`].

use super::Reduced;
use crate::equilibrium::linear::Tableau;
use crate::equilibrium::problem::{Kind, Problem};

/// Share of its sums that a member must have to count in the slopes, and in the sums themselves once
/// the iteration is near: all members are counted once more before it ends.
pub(super) const NEGLIGIBLE: f64 = 1e-12;

/// What the reduced system was gathered from.
#[derive(Clone, Debug, Default)]
pub(super) struct Source {
    turns: usize,
    present: Vec<bool>,
    allowed: Vec<bool>,
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
        let source = &self.source;
        let as_before = source.turns == tableau.turns
            && source.present == present
            && source.allowed == problem.allowed;
        if !as_before {
            self.gather(problem, tableau, present);
        }
        self.target.clear();
        let targets = self.rows.iter().map(|row| tableau.amount(*row));
        self.target.extend(targets);
        self.inert.clear();
        self.inert.extend(self.phases.iter().map(|k| inert[*k]));
        self.cost.clear();
        let costs = self.members.iter().map(|(species, _)| cost[*species]);
        self.cost.extend(costs);
    }

    /// Rows, mixtures and members, all of which count.
    fn gather(&mut self, problem: &Problem<'_>, tableau: &Tableau, present: &[bool]) {
        self.source.turns = tableau.turns;
        self.source.present.clear();
        self.source.present.extend_from_slice(present);
        self.source.allowed.clear();
        self.source.allowed.extend_from_slice(problem.allowed);
        self.rows.clear();
        for (row, &species) in tableau.basis.iter().enumerate() {
            if species < tableau.species && problem.kind[species] != Kind::Pure {
                self.rows.push(row);
            }
        }
        self.phases.clear();
        self.phases
            .extend((0..present.len()).filter(|k| present[*k]));
        self.members.clear();
        self.start.clear();
        self.entries.clear();
        self.basis_member.clear();
        self.basis_member.resize(self.rows.len(), usize::MAX);
        let cells: Vec<&[f64]> = self.rows.iter().map(|row| tableau.row(*row)).collect();
        for (species, kind) in problem.kind.iter().enumerate() {
            let Kind::Mixture(k) = *kind else { continue };
            if !present[k] || !problem.allowed[species] {
                continue;
            }
            let slot = self.phases.iter().position(|p| *p == k).unwrap_or(0);
            self.start.push(self.entries.len());
            for (r, cells) in cells.iter().enumerate() {
                let c = cells[species];
                if c.abs() > 0.0 {
                    self.entries.push((r, c));
                }
            }
            let own_row = |row: &usize| tableau.basis[*row] == species;
            if let Some(r) = self.rows.iter().position(own_row) {
                self.basis_member[r] = self.members.len();
            }
            self.members.push((species, slot));
        }
        self.start.push(self.entries.len());
        self.amounts.clear();
        self.amounts.resize(self.members.len(), 0.0);
        self.order.clear();
        self.order.extend(0..self.members.len());
        self.counted = self.members.len();
        self.clear_the_faint();
    }

    /// Members that the sums are taken over.
    pub(super) fn in_sums(&self) -> usize {
        if self.whole {
            self.order.len()
        } else {
            self.counted
        }
    }

    /// Leaves the members that are negligible in all their sums at what they were when last evaluated.
    pub(super) fn set_the_faint_aside(&mut self) {
        let r = self.rows.len();
        self.clear_the_faint();
        self.counted = 0;
        for (j, (_, slot)) in self.members.iter().enumerate() {
            let (n, total) = (self.amounts[j], r + slot);
            let entries = &self.entries[self.start[j]..self.start[j + 1]];
            let counts = |(row, c): &(usize, f64)| {
                let side = if *c > 0.0 { &self.gains } else { &self.losses };
                c.abs() * n > NEGLIGIBLE * side[*row]
            };
            self.order[j] = j;
            if n > NEGLIGIBLE * self.gains[total] || entries.iter().any(counts) {
                self.order.swap(self.counted, j);
                self.counted += 1;
                continue;
            }
            for (row, c) in entries {
                if *c > 0.0 {
                    self.faint_gains[*row] += c * n;
                } else {
                    self.faint_losses[*row] -= c * n;
                }
            }
            self.faint_gains[total] += n;
        }
        self.whole = false;
    }

    fn clear_the_faint(&mut self) {
        let k = self.rows.len() + self.phases.len();
        for list in [&mut self.faint_gains, &mut self.faint_losses] {
            list.clear();
            list.resize(k, 0.0);
        }
    }
}
