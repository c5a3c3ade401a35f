//! Small dense linear algebra of the equilibrium solver: one elimination, one tableau.
//!
//! Both work on a dozen rows at most. Plain `f64`, no units.

/// Pivots smaller than this, relative to the largest entry of their row, count as zero.
/// Rows are combined from small rational numbers, so true zeros are near 1e-16.
const SINGULAR: f64 = 1e-14;

/// Solves `a x = b` in place by elimination with scaled row pivoting.
///
/// `a` is `k × k`, row-major, and is destroyed; `b` becomes `x`. Returns false when a column
/// has no usable pivot: the matrix is singular to working precision.
pub(super) fn solve(a: &mut [f64], b: &mut [f64], k: usize) -> bool {
    for column in 0..k {
        let mut pivot = column;
        let mut largest = 0.0;
        for row in column..k {
            let scale = a[row * k + column..(row + 1) * k]
                .iter()
                .fold(0.0, |most, v| if v.abs() > most { v.abs() } else { most });
            let relative = a[row * k + column].abs() / scale.max(f64::MIN_POSITIVE);
            if relative > largest {
                largest = relative;
                pivot = row;
            }
        }
        if largest.is_nan() || largest <= SINGULAR {
            return false;
        }
        if pivot != column {
            for c in column..k {
                a.swap(column * k + c, pivot * k + c);
            }
            b.swap(column, pivot);
        }
        for row in column + 1..k {
            let factor = a[row * k + column] / a[column * k + column];
            if factor.abs() > 0.0 {
                for c in column + 1..k {
                    a[row * k + c] -= factor * a[column * k + c];
                }
                b[row] -= factor * b[column];
            }
        }
    }
    for row in (0..k).rev() {
        let mut sum = b[row];
        for c in row + 1..k {
            sum -= a[row * k + c] * b[c];
        }
        b[row] = sum / a[row * k + row];
    }
    true
}

/// Entries below this are rounding left by elimination: the tableau holds ratios of small
/// whole numbers, so nothing real is that small.
const DUST: f64 = 1e-11;

/// Relative error of an element's balance above which it is met once more.
const TRACE: f64 = 1e-12;

/// The element matrix written in terms of a basis of species: `B⁻¹ [A | 1 | b]`.
///
/// Column j of the first `species` columns says how one mole of species j is made of basis
/// species; the next `rows` columns hold `B⁻¹`; the last holds the amounts that the basis
/// species would have alone.
#[derive(Clone, Debug, Default)]
pub(crate) struct Tableau {
    pub rows: usize,
    pub species: usize,
    pub width: usize,
    cells: Vec<f64>,
    /// Species (or `species + i` for the bare element i) that stands for each row.
    pub basis: Vec<usize>,
    /// Changes of the basis so far.
    pub turns: usize,
}

impl Tableau {
    /// Starts from the bare elements as basis. `a` is row-major, `rows × species`.
    pub fn reset(&mut self, a: &[f64], b: &[f64], species: usize) {
        self.rows = b.len();
        self.species = species;
        self.width = species + self.rows + 1;
        self.cells.clear();
        self.cells.resize(self.rows * self.width, 0.0);
        for row in 0..self.rows {
            let start = row * self.width;
            self.cells[start..start + species]
                .copy_from_slice(&a[row * species..(row + 1) * species]);
            self.cells[start + species + row] = 1.0;
            self.cells[start + self.width - 1] = b[row];
        }
        self.basis.clear();
        self.basis.extend(species..species + self.rows);
        self.turns += 1;
    }

    pub fn at(&self, row: usize, column: usize) -> f64 {
        self.cells[row * self.width + column]
    }

    pub fn row(&self, row: usize) -> &[f64] {
        &self.cells[row * self.width..(row + 1) * self.width]
    }

    /// Amount of the basis species of `row` if the basis species were alone.
    pub fn amount(&self, row: usize) -> f64 {
        self.cells[(row + 1) * self.width - 1]
    }

    /// Coefficient of element `element` in `B⁻¹`.
    pub fn inverse(&self, row: usize, element: usize) -> f64 {
        self.at(row, self.species + element)
    }

    /// Lets `column` take the place of the basis species of `row`.
    pub fn pivot(&mut self, row: usize, column: usize) {
        let width = self.width;
        let factor = 1.0 / self.cells[row * width + column];
        for value in &mut self.cells[row * width..(row + 1) * width] {
            *value *= factor;
        }
        self.cells[row * width + column] = 1.0;
        let (above, rest) = self.cells.split_at_mut(row * width);
        let (pivot_row, below) = rest.split_at_mut(width);
        for other in above
            .chunks_exact_mut(width)
            .chain(below.chunks_exact_mut(width))
        {
            let factor = other[column];
            if factor.abs() > 0.0 {
                for (value, pivot) in other[..width - 1].iter_mut().zip(pivot_row.iter()) {
                    let next = *value - factor * pivot;
                    *value = if next.abs() < DUST { 0.0 } else { next };
                }
                other[width - 1] -= factor * pivot_row[width - 1];
                other[column] = 0.0;
            }
        }
        self.basis[row] = column;
        self.turns += 1;
    }

    /// Recomputes the amounts from `B⁻¹ b`, so that exact stoichiometry gives an exact zero:
    /// what is left of a cancellation below its own rounding is set to zero.
    ///
    /// An element of which there is a trace shares species with abundant ones, whose rounding is
    /// larger than the trace's own: what is left of its balance is met once more by itself.
    pub fn refresh_amounts(&mut self, a: &[f64], b: &[f64]) {
        for row in 0..self.rows {
            let mut sum = 0.0;
            let mut size = 0.0;
            for (element, b_i) in b.iter().enumerate() {
                let term = self.inverse(row, element) * b_i;
                sum += term;
                size += term.abs();
            }
            let rounding = 64.0 * f64::EPSILON * size;
            let last = (row + 1) * self.width - 1;
            self.cells[last] = if sum.abs() < rounding { 0.0 } else { sum };
        }
        for (element, b_i) in b.iter().enumerate() {
            let mut off = *b_i;
            for row in 0..self.rows {
                let basis = self.basis[row];
                let atoms = match basis.checked_sub(self.species) {
                    None => a[element * self.species + basis],
                    Some(bare) => f64::from(u8::from(bare == element)),
                };
                off -= atoms * self.amount(row);
            }
            if off.abs() > TRACE * b_i {
                for row in 0..self.rows {
                    self.cells[(row + 1) * self.width - 1] += self.inverse(row, element) * off;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elimination_solves_a_system_that_needs_row_exchange() {
        let mut a = vec![0.0, 2.0, 1.0, 1.0, 1.0, 0.0, 3.0, 0.0, -1.0];
        let mut b = vec![7.0, 3.0, 0.0];
        assert!(solve(&mut a, &mut b, 3));
        // x = (1, 2, 3)
        for (got, want) in b.iter().zip([1.0, 2.0, 3.0]) {
            assert!((got - want).abs() < 1e-14, "{got} is not {want}");
        }
    }

    #[test]
    fn a_singular_matrix_is_reported() {
        let mut a = vec![1.0, 2.0, 2.0, 4.0];
        assert!(!solve(&mut a, &mut [1.0, 2.0], 2));
    }

    #[test]
    fn exact_stoichiometry_leaves_an_exact_zero() {
        // species H2O, O2 over elements H, O; b = 0.2 H2O, whose oxygen is 0.1 + 0.1
        let mut tableau = Tableau::default();
        let b = [0.4, 0.1 + 0.1];
        tableau.reset(&[2.0, 0.0, 1.0, 2.0], &b, 2);
        tableau.pivot(0, 0);
        tableau.pivot(1, 1);
        tableau.refresh_amounts(&[2.0, 0.0, 1.0, 2.0], &b);
        assert!((tableau.amount(0) - 0.2).abs() < 1e-15);
        assert!(tableau.amount(1).abs() <= 0.0);
    }
}
