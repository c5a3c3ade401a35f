//! Bands of φ, of each cation share and of the product mass, from what is uncertain on the bench.
//!
//! Distributions: a weighed mass is normal; an assay and an atomic weight are even over their
//! band; the crystal water of a bottle of unknown hydrate is even over its range. Bands are ±2
//! standard uncertainties (about 95 %), by linear propagation; sampling checks them.

use super::balance::COVERAGE;
use super::propagation::{self, Fixed, Input, Model, Scatter};
use crate::formula::{Element, Formula};
use crate::product::leaves_as_gas;
use crate::quantity::units::{kilogram, ratio};
use crate::quantity::{AmountFraction, EquivalenceRatio, Mass, Ratio};
use crate::redox::{OxidationStates, RedoxError, valence};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use thiserror::Error;

/// Samples drawn for the check.
pub const SAMPLES: usize = 20_000;
/// Seed of the generator: stated so that the sheet can be made again.
pub const SEED: u64 = 20_261_125;
/// Linear and sampled bands that differ by more than this share are reported as different.
const AGREEMENT: f64 = 0.1;

/// Why no bands can be given.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum BandError {
    #[error(transparent)]
    Redox(#[from] RedoxError),
    #[error("{name}: {what}")]
    Weighed { name: String, what: String },
}

/// One weighed portion with its uncertainties.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// The substance.
    pub name: String,
    /// Formula with the crystal water counted on.
    pub formula: Formula,
    /// Mass as weighed (off the bottle), or as delivered by a stock solution.
    pub mass: Mass,
    /// Standard uncertainty of that mass.
    pub mass_uncertainty: Mass,
    /// Mass fraction of the pure substance.
    pub assay: Ratio,
    /// Half width of the band of the assay.
    pub assay_band: Ratio,
    /// Least and most molecules of crystal water, if the hydrate is uncertain.
    pub water_range: Option<(f64, f64)>,
    /// Whether it becomes a nitrate in the acid of the batch: its valence then counts with the
    /// oxidising ones, whatever its sign.
    pub joins_oxidiser: bool,
}

/// What makes a result uncertain.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// Mass of a substance.
    Mass(String),
    /// Assay of a substance.
    Assay(String),
    /// Crystal water of a substance.
    CrystalWater(String),
    /// Standard atomic weight of an element.
    AtomicWeight(Element),
}

impl fmt::Display for Cause {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Mass(name) => write!(f, "mass of {name}"),
            Self::Assay(name) => write!(f, "assay of {name}"),
            Self::CrystalWater(name) => write!(f, "crystal water of {name}"),
            Self::AtomicWeight(element) => write!(f, "atomic weight of {element}"),
        }
    }
}

/// A result with its band.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorBand<Q> {
    /// Value for the nominal masses, assays and hydrates.
    pub value: Q,
    /// Half width of the band by linear propagation, two standard uncertainties.
    pub half_width: Q,
    /// 95 % interval of the samples.
    pub sampled: (Q, Q),
    /// Whether the sampled interval is as wide as the linear band within a tenth.
    pub agrees: bool,
    /// Causes by falling share of the variance, shares from 0 to 1, those above 1 %.
    pub causes: Vec<(Cause, Ratio)>,
}

impl<Q: Copy + PartialOrd> ErrorBand<Q> {
    /// Whether `bound` lies inside the linear band or the sampled interval.
    pub fn holds(&self, bound: Q) -> bool
    where
        Q: std::ops::Sub<Output = Q> + std::ops::Add<Output = Q>,
    {
        let linear = bound >= self.value - self.half_width && bound <= self.value + self.half_width;
        linear || (bound >= self.sampled.0 && bound <= self.sampled.1)
    }
}

/// All bands of a batch.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorBands {
    pub equivalence_ratio: ErrorBand<EquivalenceRatio>,
    /// Mass of product, all that stays as oxide at the oxidation states of the redox sum.
    pub product_mass: ErrorBand<Mass>,
    /// Share of each metal in all metal atoms.
    pub metal_shares: BTreeMap<Element, ErrorBand<AmountFraction>>,
    /// Share of each wanted group of metals, in the order asked for.
    pub group_shares: Vec<ErrorBand<AmountFraction>>,
    /// Number of samples and seed.
    pub samples: (usize, u64),
}

/// The bands of a batch.
///
/// * `groups`: groups of metals whose joint share is wanted too
/// * `staying`: elements that stay in the product beside the metals (B, P, Si …) are found from
///   the portions
///
/// # Errors
/// `BandError` if the redox sum fails or a portion makes no sense.
pub fn error_bands(
    portions: &[Weighed],
    states: &OxidationStates,
    groups: &[BTreeSet<Element>],
) -> Result<ErrorBands, BandError> {
    let (model, inputs) = model(portions, states, groups)?;
    let values: Vec<f64> = inputs.iter().map(|input| input.value).collect();
    let nominal = model.outputs(&values);
    // Without fuel or nitrate φ is no number; the redox sum says which is missing.
    if !nominal[0].is_finite() {
        return Err(RedoxError::NoOxidiser.into());
    }
    if nominal[0] <= 0.0 {
        return Err(RedoxError::NoFuel.into());
    }
    let variances = propagation::linear(&inputs, |q| model.outputs(q));
    let sampled = propagation::sampled(&inputs, |q| model.outputs(q), SAMPLES, SEED);
    let figure = |at: usize| {
        let total: f64 = variances[at].iter().sum();
        let half_width = COVERAGE * total.sqrt();
        let mut causes: Vec<(Cause, Ratio)> = inputs
            .iter()
            .zip(&variances[at])
            .filter(|(_, v)| total > 0.0 && **v > 0.01 * total)
            .map(|(input, v)| (cause(input.key, portions), Ratio::new::<ratio>(v / total)))
            .collect();
        causes.sort_by(|a, b| b.1.value.total_cmp(&a.1.value).then_with(|| a.0.cmp(&b.0)));
        let s = sampled[at];
        let width = (s.high - s.low) / 2.0;
        let agrees = (width - half_width).abs() <= AGREEMENT * half_width.max(width);
        (half_width, (s.low, s.high), agrees, causes)
    };
    let ratio_band = |at: usize| {
        let (half_width, (low, high), agrees, causes) = figure(at);
        let ratio_of = Ratio::new::<ratio>;
        ErrorBand {
            value: ratio_of(nominal[at]),
            half_width: ratio_of(half_width),
            sampled: (ratio_of(low), ratio_of(high)),
            agrees,
            causes,
        }
    };
    let (half_width, (low, high), agrees, causes) = figure(1);
    let product_mass = ErrorBand {
        value: Mass::new::<kilogram>(nominal[1]),
        half_width: Mass::new::<kilogram>(half_width),
        sampled: (Mass::new::<kilogram>(low), Mass::new::<kilogram>(high)),
        agrees,
        causes,
    };
    let metals = model.metals.len();
    Ok(ErrorBands {
        equivalence_ratio: ratio_band(0),
        product_mass,
        metal_shares: model
            .metals
            .iter()
            .enumerate()
            .map(|(at, &metal)| (metal, ratio_band(2 + at)))
            .collect(),
        group_shares: (0..groups.len())
            .map(|at| ratio_band(2 + metals + at))
            .collect(),
        samples: (SAMPLES, SEED),
    })
}

/// Which input: a portion's mass, assay or water, or an element's weight.
#[derive(Debug, Clone, Copy)]
enum Key {
    Mass(usize),
    Assay(usize),
    Water(usize),
    Weight(Element),
}

fn cause(key: Key, portions: &[Weighed]) -> Cause {
    let name = |at: usize| portions[at].name.clone();
    match key {
        Key::Mass(at) => Cause::Mass(name(at)),
        Key::Assay(at) => Cause::Assay(name(at)),
        Key::Water(at) => Cause::CrystalWater(name(at)),
        Key::Weight(element) => Cause::AtomicWeight(element),
    }
}

fn model(
    portions: &[Weighed],
    states: &OxidationStates,
    groups: &[BTreeSet<Element>],
) -> Result<(Model, Vec<Input<Key>>), BandError> {
    let mut inputs: Vec<Input<Key>> = Vec::new();
    let mut fixed = Vec::new();
    let mut elements: BTreeSet<Element> = [Element::HYDROGEN, Element::OXYGEN].into();
    for (at, portion) in portions.iter().enumerate() {
        check(portion)?;
        let first = inputs.len();
        let water = portion.formula.crystal_water();
        let assay = portion.assay.get::<ratio>();
        let band = portion.assay_band.get::<ratio>();
        let (low, high) = portion.water_range.unwrap_or((water, water));
        inputs.push(Input {
            key: Key::Mass(at),
            value: portion.mass.get::<kilogram>(),
            scatter: Scatter::Normal(portion.mass_uncertainty.get::<kilogram>()),
        });
        inputs.push(Input {
            key: Key::Assay(at),
            value: assay,
            scatter: Scatter::Even {
                low: assay - band,
                high: assay + band,
            },
        });
        inputs.push(Input {
            key: Key::Water(at),
            value: water,
            scatter: Scatter::Even { low, high },
        });
        let dry = portion.formula.anhydrous();
        elements.extend(dry.amounts().keys());
        fixed.push(Fixed {
            valence: valence(&dry, states)?,
            joins_oxidiser: portion.joins_oxidiser,
            atoms: dry.amounts().clone(),
            at: [first, first + 1, first + 2],
        });
    }
    let mut weights = BTreeMap::new();
    for &element in &elements {
        weights.insert(element, inputs.len());
        let (value, band) = (element.atomic_weight(), element.atomic_weight_uncertainty());
        inputs.push(Input {
            key: Key::Weight(element),
            value,
            scatter: Scatter::Even {
                low: value - band,
                high: value + band,
            },
        });
    }
    let mut staying = BTreeMap::new();
    for &element in elements.iter().filter(|element| !leaves_as_gas(**element)) {
        staying.insert(element, states.of(element)?);
    }
    let model = Model {
        portions: fixed,
        weights,
        metals: elements
            .iter()
            .copied()
            .filter(|element| element.is_metal())
            .collect(),
        groups: groups
            .iter()
            .map(|group| group.iter().copied().collect())
            .collect(),
        staying,
    };
    Ok((model, inputs))
}

fn check(portion: &Weighed) -> Result<(), BandError> {
    let wrong = |what: String| {
        Err(BandError::Weighed {
            name: portion.name.clone(),
            what,
        })
    };
    let mass = portion.mass.get::<kilogram>();
    let u = portion.mass_uncertainty.get::<kilogram>();
    if !(mass > 0.0 && mass.is_finite() && u >= 0.0 && u.is_finite()) {
        return wrong(format!(
            "a mass of {mass} kg ± {u} kg is none; it must be above 0"
        ));
    }
    let (assay, band) = (
        portion.assay.get::<ratio>(),
        portion.assay_band.get::<ratio>(),
    );
    if !(assay > 0.0 && band >= 0.0 && band < assay && assay + band < 2.0) {
        return wrong(format!("an assay of {assay} ± {band} makes no sense"));
    }
    if let Some((low, high)) = portion.water_range {
        if !(low >= 0.0 && low <= high && high.is_finite()) {
            return wrong(format!("crystal water from {low} to {high} makes no sense"));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::gram;
    use approx::assert_relative_eq;

    fn portion(formula: &str, mass_g: f64, u_g: f64) -> Weighed {
        Weighed {
            name: formula.into(),
            formula: Formula::parse(formula).unwrap(),
            mass: Mass::new::<gram>(mass_g),
            mass_uncertainty: Mass::new::<gram>(u_g),
            assay: Ratio::new::<ratio>(1.0),
            assay_band: Ratio::new::<ratio>(0.0),
            water_range: None,
            joins_oxidiser: false,
        }
    }

    fn bands(portions: &[Weighed]) -> ErrorBands {
        error_bands(portions, &OxidationStates::conventional(), &[]).unwrap()
    }

    #[test]
    fn phi_of_one_salt_and_one_fuel_follows_the_closed_form() {
        // φ = (m_f a_f v_f / M_f) / (m_s a_s v_s / M_s): relative variances add. The atomic
        // weights bring less than 1e-4 of φ.
        let mut salt = portion("Al(NO3)3·9H2O", 7.5, 0.01);
        salt.assay = Ratio::new::<ratio>(0.985);
        salt.assay_band = Ratio::new::<ratio>(0.005);
        let fuel = portion("CO(NH2)2", 3.0, 0.006);
        let found = bands(&[salt, fuel]).equivalence_ratio;
        let relative: f64 = (0.01_f64 / 7.5).powi(2)
            + (0.006_f64 / 3.0).powi(2)
            + (0.005 / 3.0_f64.sqrt() / 0.985).powi(2);
        let phi = (3.0 / 60.056 * 6.0) / (7.5 * 0.985 / 375.129 * 15.0);
        assert_relative_eq!(found.value.get::<ratio>(), phi, max_relative = 1e-5);
        assert_relative_eq!(
            found.half_width.get::<ratio>(),
            2.0 * phi * relative.sqrt(),
            max_relative = 1e-3
        );
        assert!(found.agrees);
        assert!(found.holds(found.value));
        assert_eq!(found.causes[0].0, Cause::Assay("Al(NO3)3·9H2O".into()));
    }

    #[test]
    fn an_uncertain_hydrate_follows_the_closed_form() {
        // n = m / (M_dry + x M_w), x even over 5 to 6: u(φ)/φ = M_w/M · 1/√12.
        let mut salt = portion("La(NO3)3·5.5H2O", 4.0, 0.0);
        salt.water_range = Some((5.0, 6.0));
        let fuel = portion("C2H5NO2", 1.0, 0.0);
        let found = bands(&[salt, fuel]).equivalence_ratio;
        let relative = 18.015 / (324.92 + 5.5 * 18.015) / 12.0_f64.sqrt();
        assert_relative_eq!(
            (found.half_width / found.value).get::<ratio>(),
            2.0 * relative,
            max_relative = 1e-3
        );
        // An even distribution reaches no further than √3 standard uncertainties: the sampled
        // 95 % interval (0.95 · √3 = 1.645) is narrower than the linear band.
        let width = (found.sampled.1 - found.sampled.0).get::<ratio>() / 2.0;
        let expected = 0.95 * 3.0_f64.sqrt() * relative * found.value.get::<ratio>();
        assert_relative_eq!(width, expected, max_relative = 0.01);
        assert!(!found.agrees);
        assert_eq!(found.causes.len(), 1);
    }

    #[test]
    fn a_share_of_two_metals_follows_the_closed_form() {
        // y = n1/(n1+n2): u(y) = y (1 − y) √(u1² + u2²), relative u.
        let portions = [
            portion("Zn(NO3)2·6H2O", 3.0, 0.006),
            portion("Co(NO3)2·6H2O", 1.0, 0.004),
            portion("CO(NH2)2", 2.0, 0.0),
        ];
        let found = bands(&portions);
        let zinc = &found.metal_shares[&Element::from_symbol("Zn").unwrap()];
        let y = zinc.value.get::<ratio>();
        let relative = 0.002_f64.hypot(0.004);
        assert_relative_eq!(
            zinc.half_width.get::<ratio>(),
            2.0 * y * (1.0 - y) * relative,
            max_relative = 2e-3
        );
        let sum: f64 = found
            .metal_shares
            .values()
            .map(|b| b.value.get::<ratio>())
            .sum();
        assert_relative_eq!(sum, 1.0, max_relative = 1e-12);
    }

    #[test]
    fn the_product_is_the_oxides() {
        // 1 mol Al2O3 from 2 mol nitrate: 101.961 g.
        let found = bands(&[
            portion("Al(NO3)3·9H2O", 2.0 * 375.129, 0.0),
            portion("CO(NH2)2", 300.0, 0.0),
        ]);
        assert_relative_eq!(
            found.product_mass.value.get::<gram>(),
            101.961,
            max_relative = 1e-4
        );
    }

    #[test]
    fn portions_without_sense_are_refused() {
        let states = OxidationStates::conventional();
        let fuel = portion("CO(NH2)2", 2.0, 0.0);
        let salt = portion("Al(NO3)3·9H2O", 2.0, 0.0);
        assert!(matches!(
            error_bands(std::slice::from_ref(&fuel), &states, &[]),
            Err(BandError::Redox(RedoxError::NoOxidiser))
        ));
        assert!(matches!(
            error_bands(std::slice::from_ref(&salt), &states, &[]),
            Err(BandError::Redox(RedoxError::NoFuel))
        ));
        for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let mut salt = salt.clone();
            salt.mass = Mass::new::<gram>(bad);
            assert!(
                error_bands(&[salt, fuel.clone()], &states, &[]).is_err(),
                "{bad}"
            );
        }
        let mut twisted = salt;
        twisted.water_range = Some((9.0, 8.0));
        assert!(error_bands(&[twisted, fuel], &states, &[]).is_err());
    }
}
