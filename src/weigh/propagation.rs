//! From uncertain masses, assays, crystal water and atomic weights to φ, cation shares and product
//! mass: the model, its linear propagation and its sampling.
//!
//! Symbols, coherent SI but for the molar masses in g/mol throughout: m mass as weighed (kg),
//! a assay (1), x crystal water per formula unit (1), w_e atomic weight of element e (g/mol),
//! M molar mass (g/mol), n = m a / M amount (kmol), v valence per formula unit (1), s_e oxidation
//! state in the product (1).
//!
//! * φ = Σ n v over v > 0 divided by −Σ n v over the rest, with which a source that becomes a
//!   nitrate in the acid counts
//! * share of metal e = Σ n N_e / Σ n N over all metals
//! * product mass = Σ over elements that stay of n_e (w_e + s_e w_O / 2)
//!
//! Linear: u(y)² = Σ (∂y/∂q · u(q))², derivatives by central differences; Guide to the Expression
//! of Uncertainty in Measurement (JCGM 100:2008), equation 10. Sampling: its Supplement 1
//! (JCGM 101:2008), with the distributions named at each input.

use crate::formula::Element;
use rand::SeedableRng;
use rand::rngs::StdRng;
use rand_distr::{Distribution, Normal, Uniform};
use std::collections::BTreeMap;

/// How an input scatters around its value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scatter {
    /// Normal distribution with this standard deviation.
    Normal(f64),
    /// Even distribution from `low` to `high`.
    Even { low: f64, high: f64 },
}

impl Scatter {
    pub fn standard_uncertainty(self) -> f64 {
        match self {
            Self::Normal(sigma) => sigma,
            // √12: standard deviation of an even distribution of this width.
            Self::Even { low, high } => (high - low) / 12.0_f64.sqrt(),
        }
    }
}

/// One input of the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Input<K> {
    /// What it is.
    pub key: K,
    pub value: f64,
    pub scatter: Scatter,
}

/// Mean, spread and 95 % interval of one output over all samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sampled {
    pub mean: f64,
    pub standard_deviation: f64,
    pub low: f64,
    pub high: f64,
}

/// Step of the central difference in standard uncertainties: small against the curvature, large
/// against rounding.
const STEP: f64 = 0.01;

/// Standard uncertainty of each output and the variance that each input brings:
/// `variances[output][input]`.
pub(super) fn linear<K: Copy>(
    inputs: &[Input<K>],
    model: impl Fn(&[f64]) -> Vec<f64>,
) -> Vec<Vec<f64>> {
    let mut values: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let outputs = model(&values).len();
    let mut variances = vec![vec![0.0; inputs.len()]; outputs];
    for (at, input) in inputs.iter().enumerate() {
        let u = input.scatter.standard_uncertainty();
        if u <= 0.0 {
            continue;
        }
        let step = STEP * u;
        values[at] = input.value + step;
        let above = model(&values);
        values[at] = input.value - step;
        let below = model(&values);
        values[at] = input.value;
        for (row, (a, b)) in variances.iter_mut().zip(above.iter().zip(&below)) {
            row[at] = ((a - b) / (2.0 * STEP)).powi(2);
        }
    }
    variances
}

/// Samples the model `count` times with the generator started at `seed`.
pub(super) fn sampled<K: Copy>(
    inputs: &[Input<K>],
    model: impl Fn(&[f64]) -> Vec<f64>,
    count: usize,
    seed: u64,
) -> Vec<Sampled> {
    let mut generator = StdRng::seed_from_u64(seed);
    let mut values: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let mut columns: Vec<Vec<f64>> = Vec::new();
    for _ in 0..count {
        for (value, input) in values.iter_mut().zip(inputs) {
            *value = draw(input.value, input.scatter, &mut generator);
        }
        let outputs = model(&values);
        columns.resize_with(outputs.len(), || Vec::with_capacity(count));
        for (column, output) in columns.iter_mut().zip(outputs) {
            column.push(output);
        }
    }
    columns.into_iter().map(summary).collect()
}

fn draw(value: f64, scatter: Scatter, generator: &mut StdRng) -> f64 {
    match scatter {
        // A distribution without width is its value.
        Scatter::Normal(sigma) => {
            Normal::new(value, sigma).map_or(value, |normal| normal.sample(generator))
        }
        Scatter::Even { low, high } => {
            Uniform::new_inclusive(low, high).map_or(value, |even| even.sample(generator))
        }
    }
}

/// Mean, standard deviation, 2.5 % and 97.5 % quantile.
fn summary(mut column: Vec<f64>) -> Sampled {
    let n = column.len().max(1) as f64;
    let mean = column.iter().sum::<f64>() / n;
    let variance = column.iter().map(|y| (y - mean).powi(2)).sum::<f64>() / (n - 1.0).max(1.0);
    column.sort_by(f64::total_cmp);
    let quantile = |q: f64| {
        let at = (q * (n - 1.0)).round() as usize;
        column.get(at).copied().unwrap_or(mean)
    };
    Sampled {
        mean,
        standard_deviation: variance.sqrt(),
        low: quantile(0.025),
        high: quantile(0.975),
    }
}

/// The numbers of one weighed portion that do not scatter.
#[derive(Debug, Clone)]
pub(super) struct Fixed {
    /// Atoms per formula unit without crystal water.
    pub atoms: BTreeMap<Element, f64>,
    /// Valence per formula unit, v.
    pub valence: f64,
    /// Whether that counts with the oxidising valences, whatever its sign.
    pub joins_oxidiser: bool,
    /// Place of its mass, assay and crystal water in the inputs.
    pub at: [usize; 3],
}

/// The batch as a function of its inputs.
#[derive(Debug, Clone)]
pub(super) struct Model {
    pub portions: Vec<Fixed>,
    /// Place of each element's atomic weight in the inputs.
    pub weights: BTreeMap<Element, usize>,
    /// Metals whose shares are wanted, and the groups of metals whose shares are wanted.
    pub metals: Vec<Element>,
    pub groups: Vec<Vec<Element>>,
    /// Elements that stay in the product, with their oxidation state.
    pub staying: BTreeMap<Element, f64>,
}

impl Model {
    /// φ, product mass in kg, the share of each metal, the share of each group.
    pub fn outputs(&self, q: &[f64]) -> Vec<f64> {
        let weight = |element: &Element| self.weights.get(element).map_or(0.0, |at| q[*at]);
        let water = 2.0 * weight(&Element::HYDROGEN) + weight(&Element::OXYGEN);
        let (mut reducing, mut oxidising) = (0.0, 0.0);
        let mut atoms: BTreeMap<Element, f64> = BTreeMap::new();
        for portion in &self.portions {
            let [mass, assay, x] = portion.at.map(|at| q[at]);
            let dry: f64 = portion.atoms.iter().map(|(e, n)| n * weight(e)).sum();
            let amount = mass * assay / (dry + x * water);
            if portion.valence > 0.0 && !portion.joins_oxidiser {
                reducing += amount * portion.valence;
            } else {
                oxidising -= amount * portion.valence;
            }
            for (element, n) in &portion.atoms {
                *atoms.entry(*element).or_insert(0.0) += amount * n;
            }
        }
        let of = |element: &Element| atoms.get(element).copied().unwrap_or(0.0);
        let metal: f64 = self.metals.iter().map(of).sum();
        let oxygen = weight(&Element::OXYGEN);
        let product: f64 = self
            .staying
            .iter()
            .map(|(element, state)| of(element) * (weight(element) + state * oxygen / 2.0))
            .sum();
        let mut outputs = vec![reducing / oxidising, product];
        outputs.extend(self.metals.iter().map(|element| of(element) / metal));
        outputs.extend(
            self.groups
                .iter()
                .map(|group| group.iter().map(of).sum::<f64>() / metal),
        );
        outputs
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn input(value: f64, scatter: Scatter) -> Input<()> {
        Input {
            key: (),
            value,
            scatter,
        }
    }

    #[test]
    fn a_quotient_of_products_adds_relative_variances() {
        let inputs = [
            input(3.0, Scatter::Normal(0.03)),
            input(
                0.98,
                Scatter::Even {
                    low: 0.97,
                    high: 0.99,
                },
            ),
            input(4.0, Scatter::Normal(0.02)),
        ];
        let variances = linear(&inputs, |q| vec![q[0] * q[1] / q[2]]);
        let y: f64 = 3.0 * 0.98 / 4.0;
        let relative =
            (0.01_f64).powi(2) + (0.01 / 3.0_f64.sqrt() / 0.98).powi(2) + 0.005_f64.powi(2);
        let u = variances[0].iter().sum::<f64>().sqrt();
        assert_relative_eq!(u, y * relative.sqrt(), max_relative = 1e-7);
    }

    #[test]
    fn samples_of_an_even_distribution_have_its_moments() {
        let inputs = [input(
            0.5,
            Scatter::Even {
                low: 0.0,
                high: 1.0,
            },
        )];
        let found = sampled(&inputs, |q| vec![q[0]], 40_000, 7)[0];
        // Standard error of the mean 0.0014, of the quantiles 0.0008: four of them allowed.
        assert_relative_eq!(found.mean, 0.5, epsilon = 0.006);
        assert_relative_eq!(
            found.standard_deviation,
            12.0_f64.sqrt().recip(),
            epsilon = 0.004
        );
        assert_relative_eq!(found.low, 0.025, epsilon = 0.0032);
        assert_relative_eq!(found.high, 0.975, epsilon = 0.0032);
    }

    #[test]
    fn the_same_seed_gives_the_same_samples() {
        let inputs = [input(1.0, Scatter::Normal(0.1))];
        let run = |seed| sampled(&inputs, |q| vec![q[0]], 100, seed)[0];
        assert_eq!(run(3), run(3));
        assert_ne!(run(3), run(4));
    }

    #[test]
    fn no_scatter_leaves_the_value() {
        let inputs = [
            input(2.0, Scatter::Normal(0.0)),
            input(
                3.0,
                Scatter::Even {
                    low: 3.0,
                    high: 3.0,
                },
            ),
        ];
        let found = sampled(&inputs, |q| vec![q[0] * q[1]], 10, 1)[0];
        assert_relative_eq!(found.low, 6.0);
        assert_relative_eq!(found.high, 6.0);
        assert_relative_eq!(
            linear(&inputs, |q| vec![q[0] * q[1]])[0]
                .iter()
                .sum::<f64>(),
            0.0
        );
    }
}
