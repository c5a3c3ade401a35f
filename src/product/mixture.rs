//! Linear programme: the cheapest mixture of compounds with a given composition.
//!
//! Symbols: a[i][j] atoms of element i in compound j, b[i] ≥ 0 wanted atoms, c[j] cost per mole,
//! n[j] ≥ 0 amounts. Minimise Σ c n subject to Σ a n = b. Two-phase simplex on the tableau of the
//! equilibrium solver with Bland's rule against cycling (R. G. Bland, Math. Oper. Res. 2 (1977) 103;
//! from memory).

use crate::equilibrium::Tableau;

/// Relative size below which a tableau entry is zero: the tableau is scaled to entries near 1.
const ZERO: f64 = 1e-10;
/// Pivots after which the search is given up; Bland's rule needs far fewer at this size.
const MOST_PIVOTS: usize = 2_000;

/// Amounts of the compounds in the cheapest mixture, as (compound, amount), or `None` if no
/// mixture has the composition. `a[i][j]`: i over elements, j over compounds.
pub(super) fn least_cost_mixture(
    a: &[Vec<f64>],
    b: &[f64],
    c: &[f64],
) -> Option<Vec<(usize, f64)>> {
    let (rows, columns) = (b.len(), c.len());
    let scale = b.iter().copied().fold(0.0, f64::max);
    if scale <= 0.0 || columns == 0 {
        return None;
    }
    let cost_scale = c.iter().fold(1.0_f64, |most, value| most.max(value.abs()));
    let scaled: Vec<f64> = b.iter().map(|wanted| wanted / scale).collect();
    let mut tableau = Tableau::default();
    tableau.reset(&a.concat(), &scaled, columns);
    // First the bare elements are driven out, then the cost is brought down without them.
    let bare: Vec<f64> = (0..columns + rows)
        .map(|j| if j < columns { 0.0 } else { 1.0 })
        .collect();
    let left = |tableau: &Tableau| -> f64 {
        let basis = tableau.basis.iter().enumerate();
        basis.map(|(i, &j)| bare[j] * tableau.amount(i)).sum()
    };
    if !minimise(&mut tableau, &bare, columns + rows) || left(&tableau) > 1e-7 {
        return None;
    }
    let costs: Vec<f64> = (0..columns + rows)
        .map(|j| c.get(j).map_or(0.0, |cost| cost / cost_scale))
        .collect();
    if !minimise(&mut tableau, &costs, columns) {
        return None;
    }
    let basis = tableau.basis.iter().enumerate();
    let amounts = basis
        .filter(|(_, j)| **j < columns)
        .map(|(i, &j)| (j, tableau.amount(i) * scale))
        .filter(|(_, n)| *n > 0.0);
    Some(amounts.collect())
}

/// Pivots until no column below `columns` lowers the cost; false if it is given up.
fn minimise(tableau: &mut Tableau, costs: &[f64], columns: usize) -> bool {
    for _ in 0..MOST_PIVOTS {
        let reduced = |j: usize| -> f64 {
            let basis = tableau.basis.iter().enumerate();
            let basic: f64 = basis.map(|(i, &k)| costs[k] * tableau.at(i, j)).sum();
            costs[j] - basic
        };
        let Some(entering) = (0..columns).find(|&j| reduced(j) < -ZERO) else {
            return true;
        };
        let leaving = (0..tableau.rows)
            .filter(|&i| tableau.at(i, entering) > ZERO)
            .min_by(|&i, &k| {
                let ratio = |i: usize| tableau.amount(i) / tableau.at(i, entering);
                ratio(i)
                    .total_cmp(&ratio(k))
                    .then(tableau.basis[i].cmp(&tableau.basis[k]))
            });
        let Some(leaving) = leaving else { return false };
        tableau.pivot(leaving, entering);
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_compound_that_is_cheaper_than_its_parts_is_taken() {
        // Elements Mg, Al, O; compounds MgO, Al2O3, MgAl2O4 (22 kJ below its oxides).
        let a = vec![
            vec![1.0, 0.0, 1.0],
            vec![0.0, 2.0, 2.0],
            vec![1.0, 3.0, 4.0],
        ];
        let c = [-601.0, -1676.0, -2299.0];
        let mixture = least_cost_mixture(&a, &[1.5, 2.0, 4.5], &c).unwrap();
        let amount = |j: usize| {
            mixture
                .iter()
                .find(|(k, _)| *k == j)
                .map_or(0.0, |(_, n)| *n)
        };
        assert_relative_eq!(amount(2), 1.0, epsilon = 1e-9);
        assert_relative_eq!(amount(0), 0.5, epsilon = 1e-9);
        assert_relative_eq!(amount(1), 0.0, epsilon = 1e-9);
    }

    #[test]
    fn mixed_valence_is_made_of_two_oxides() {
        // Mn3.2+ : MnO1.5 and MnO2, per Mn.
        let a = vec![vec![2.0, 1.0, 1.0], vec![3.0, 2.0, 1.0]];
        let mixture = least_cost_mixture(&a, &[1.0, 1.6], &[-959.0, -520.0, -385.0]).unwrap();
        let manganese: f64 = mixture.iter().map(|(j, n)| a[0][*j] * n).sum();
        let oxygen: f64 = mixture.iter().map(|(j, n)| a[1][*j] * n).sum();
        assert_relative_eq!(manganese, 1.0, epsilon = 1e-9);
        assert_relative_eq!(oxygen, 1.6, epsilon = 1e-9);
    }

    #[test]
    fn an_impossible_composition_is_none() {
        let a = vec![vec![1.0], vec![1.0]];
        assert!(least_cost_mixture(&a, &[1.0, 2.0], &[0.0]).is_none());
        assert!(least_cost_mixture(&[vec![]], &[1.0], &[]).is_none());
    }
}
