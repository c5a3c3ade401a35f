//! What a powder says when it is judged by eye, magnet, lamp, balance and instruments: the
//! numbers that follow from the readings, what they point to, and the one thing to change next.

mod count;
pub mod decay;
pub(crate) mod size;

use crate::batch::{Batch, Powder, Run, Strength};
use crate::formula::Element;
use crate::prepared::Prepared;
use crate::quantity::units::{gram_per_cubic_centimeter, kelvins, nanometer, percent, ratio};
use crate::quantity::{
    Band, Length, Mass, MassDensity, Ratio, TemperatureInterval, ThermodynamicTemperature,
    temperature_difference,
};
use crate::tables::findings::{Condition, Finding, Measure, Sign};
use decay::Decay;
use size::{Crystallite, SizeAndStrain};
use std::collections::{BTreeMap, BTreeSet};

/// What the powder is judged against.
#[derive(Debug, Clone, Copy)]
pub struct Expectation {
    /// Mass of the expected powder.
    pub powder_mass: Mass,
    /// Equivalence ratio φ of the batch.
    pub equivalence_ratio: Ratio,
    /// Band of the expected peak temperature, if there is a flame.
    pub peak: Option<Band<ThermodynamicTemperature>>,
}

impl Expectation {
    /// What a batch made ready is expected to give.
    pub fn of(prepared: &Prepared<'_>) -> Self {
        let burn = &prepared.expected;
        Self {
            powder_mass: prepared.product.mass,
            equivalence_ratio: prepared.redox.equivalence_ratio,
            peak: burn
                .low
                .zip(burn.high)
                .map(|(low, high)| Band::between(low, high)),
        }
    }
}

/// Colour against a reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColourDifference {
    /// ΔE*ab (CIE 1976).
    pub delta_e_1976: f64,
    /// ΔE00 (CIEDE2000).
    pub delta_e_2000: f64,
}

/// What one run's powder says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judgement {
    /// Powder without its loss on ignition over the expected powder.
    pub powder_yield: Option<Ratio>,
    /// Measured peak minus the near end of the expected band; 0 within it.
    pub peak_off_band: Option<TemperatureInterval>,
    /// Difference from the reference colour.
    pub colour: Option<ColourDifference>,
    /// Crystallite sizes, one a peak that is wider than the instrument.
    pub crystallites: Vec<Crystallite>,
    /// Peaks no wider than the instrument makes them: sizes beyond what this can see.
    pub narrow_peaks: usize,
    /// Size and strain from the line through the peaks.
    pub size_and_strain: Option<SizeAndStrain>,
    /// Diameter of spheres with the surface area.
    pub equivalent_diameter: Option<Length>,
    pub foam_density: Option<MassDensity>,
    /// Live flakes with the interval of 95 %.
    pub live_flakes: Option<(Ratio, Band<Ratio>)>,
    /// The afterglow.
    pub decay: Option<Decay>,
    /// What the findings table has to say, by rank; the change of the first is the one to try.
    pub findings: Vec<Finding>,
}

/// Judges the powder of one run. `decay` is the fit of its afterglow readings, if there are some.
pub fn judgement(
    batch: &Batch,
    run: &Run,
    expected: &Expectation,
    decay: Option<Decay>,
    findings: &[Finding],
) -> Judgement {
    let powder = run.powder.as_ref();
    let diffraction = powder.and_then(|p| p.diffraction.as_ref());
    let density = powder.and_then(|p| p.crystal_density);
    let mut judgement = Judgement {
        powder_yield: run
            .powder_mass
            .map(|mass| net_mass(mass, run) / expected.powder_mass),
        peak_off_band: run
            .peak_temperature
            .zip(expected.peak)
            .map(|(peak, band)| off_band(peak, band)),
        colour: powder.and_then(|p| {
            let (lab, reference) = p.lab.zip(p.reference_lab)?;
            Some(ColourDifference {
                delta_e_1976: lab.difference_1976(reference),
                delta_e_2000: lab.difference_2000(reference),
            })
        }),
        crystallites: diffraction.map(size::crystallites).unwrap_or_default(),
        narrow_peaks: diffraction.map_or(0, |d| size::narrow_peaks(d).len()),
        size_and_strain: diffraction.and_then(size::size_and_strain),
        equivalent_diameter: powder
            .and_then(|p| p.surface_area)
            .zip(density)
            .map(|(area, density)| size::equivalent_diameter(area, density)),
        foam_density: run
            .powder_mass
            .zip(powder.and_then(|p| p.foam_volume))
            .map(|(mass, volume)| size::foam_density(mass, volume)),
        live_flakes: powder
            .and_then(|p| p.flakes)
            .and_then(|(live, all)| count::share(live, all)),
        decay,
        findings: Vec::new(),
    };
    let measures = measures(&judgement, run, expected);
    let signs = signs(batch, powder, judgement.decay.is_some());
    judgement.findings = findings
        .iter()
        .filter(|finding| finding.when.iter().all(|c| holds(c, &measures, &signs)))
        .cloned()
        .collect();
    judgement
}

/// Mass of the powder without what calcining takes from it.
fn net_mass(mass: Mass, run: &Run) -> Mass {
    mass * (1.0 - run.loss_on_ignition.map_or(0.0, |loss| loss.get::<ratio>()))
}

fn off_band(
    peak: ThermodynamicTemperature,
    band: Band<ThermodynamicTemperature>,
) -> TemperatureInterval {
    if peak > band.high {
        temperature_difference(peak, band.high)
    } else if peak < band.low {
        temperature_difference(peak, band.low)
    } else {
        TemperatureInterval::new::<kelvins>(0.0)
    }
}

/// The numbers that the findings look at, in their units.
fn measures(found: &Judgement, run: &Run, expected: &Expectation) -> BTreeMap<Measure, f64> {
    let in_percent = |share: Ratio| share.get::<percent>();
    let off = found.peak_off_band.map(|off| off.get::<kelvins>());
    let sizes: Vec<f64> = found
        .crystallites
        .iter()
        .map(|c| (c.size.low.get::<nanometer>() * c.size.high.get::<nanometer>()).sqrt())
        .collect();
    let mean_size = (!sizes.is_empty()).then(|| sizes.iter().sum::<f64>() / sizes.len() as f64);
    let against = found.decay.as_ref().and_then(|d| d.against_reference);
    [
        (Measure::Yield, found.powder_yield.map(in_percent)),
        (
            Measure::LossOnIgnition,
            run.loss_on_ignition.map(in_percent),
        ),
        (
            Measure::ColourDifference,
            found.colour.map(|c| c.delta_e_2000),
        ),
        (Measure::CrystalliteSize, mean_size),
        (
            Measure::Strain,
            found.size_and_strain.map(|s| in_percent(s.strain)),
        ),
        // The upper end of the interval: few flakes counted do not make a finding.
        (
            Measure::Flakes,
            found.live_flakes.map(|(_, band)| in_percent(band.high)),
        ),
        (Measure::AgainstReference, against.map(in_percent)),
        (Measure::PeakAboveBand, off),
        (Measure::PeakBelowBand, off.map(|off| -off)),
        (
            Measure::FoamDensity,
            found
                .foam_density
                .map(|d| d.get::<gram_per_cubic_centimeter>()),
        ),
        (
            Measure::FuelRatio,
            Some(expected.equivalence_ratio.get::<ratio>()),
        ),
    ]
    .into_iter()
    .filter_map(|(measure, value)| Some((measure, value?)))
    .collect()
}

/// Metals whose oxides are dark, so that a dark powder says nothing.
const DARK_OXIDES: [&str; 12] = [
    "Fe", "Co", "Ni", "Cu", "Mn", "Cr", "V", "Pb", "Ag", "Ru", "Ir", "Pr",
];

fn signs(batch: &Batch, powder: Option<&Powder>, read_in_the_dark: bool) -> BTreeSet<Sign> {
    let Some(powder) = powder else {
        return BTreeSet::new();
    };
    let has = |symbol: &str| {
        Element::from_symbol(symbol).is_some_and(|element| {
            batch
                .ingredients
                .iter()
                .any(|i| i.reactant.formula.amount_of(element) > 0.0)
        })
    };
    let dark_word = powder.colour.as_ref().is_some_and(|colour| {
        let colour = colour.to_lowercase();
        ["grey", "gray", "black", "brown"]
            .iter()
            .any(|word| colour.contains(word))
    });
    let pulled = powder.magnet.is_some_and(|pull| pull > Strength::None);
    let (iron, soft) = (has("Fe"), has("Ni") || has("Co"));
    let lamp = powder.under_254_nm.is_some() || powder.under_365_nm.is_some();
    [
        (Sign::Dark, dark_word && !DARK_OXIDES.into_iter().any(has)),
        (
            Sign::Fizz,
            powder.fizz.is_some_and(|fizz| fizz > Strength::None),
        ),
        (Sign::MagneticMetal, pulled && soft && !iron),
        (
            Sign::MagneticWithoutMetal,
            pulled && !soft && !iron && !has("Mn"),
        ),
        (
            Sign::NotMagnetic,
            powder.magnet == Some(Strength::None) && ferrite(batch),
        ),
        (Sign::Phosphor, lamp || read_in_the_dark),
    ]
    .into_iter()
    .filter_map(|(sign, there)| there.then_some(sign))
    .collect()
}

/// Whether the target is a ferrite that a magnet pulls: iron with nickel, cobalt, manganese,
/// magnesium, copper, barium or strontium, and iron the larger part. Zinc alone makes none.
fn ferrite(batch: &Batch) -> bool {
    let Some(target) = &batch.target else {
        return false;
    };
    let amount = |symbol: &str| {
        Element::from_symbol(symbol).map_or(0.0, |element| target.formula.amount_of(element))
    };
    let partner: f64 = ["Ni", "Co", "Mn", "Mg", "Cu", "Ba", "Sr", "Li"]
        .into_iter()
        .map(amount)
        .sum();
    partner > 0.0 && amount("Fe") > partner && amount("Fe") > 2.0 * amount("Zn")
}

fn holds(condition: &Condition, measures: &BTreeMap<Measure, f64>, signs: &BTreeSet<Sign>) -> bool {
    match condition {
        Condition::Above { measure, above } => measures.get(measure).is_some_and(|x| x > above),
        Condition::Below { measure, below } => measures.get(measure).is_some_and(|x| x < below),
        Condition::Sign { sign } => signs.contains(sign),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::{degree_celsius, gram};
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    fn judged(metal: &str, run: &str) -> Judgement {
        let tables = Tables::built_in().unwrap();
        let text = format!(
            "[[ingredient]]\nsubstance = \"{metal}\"\nmass = \"3 g\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"1 g\"\n[[run]]\n{run}"
        );
        let batch = Batch::parse(&text, "test", &tables).unwrap();
        let celsius = ThermodynamicTemperature::new::<degree_celsius>;
        let expected = Expectation {
            powder_mass: Mass::new::<gram>(1.0),
            equivalence_ratio: Ratio::new::<ratio>(1.3),
            peak: Some(Band::between(celsius(900.0), celsius(1100.0))),
        };
        judgement(&batch, &batch.runs[0], &expected, None, &tables.findings)
    }

    fn ids(judgement: &Judgement) -> Vec<&str> {
        judgement.findings.iter().map(|f| f.id.as_str()).collect()
    }

    #[test]
    fn a_quiet_powder_has_no_findings() {
        let found = judged(
            "Al(NO3)3·9H2O",
            "powder_mass = \"0.98 g\"\npeak_temperature = \"1000 °C\"\n[run.powder]\ncolour = \"white\"\nfizz = \"none\"\nmagnet = \"none\"\n",
        );
        assert_eq!(ids(&found), Vec::<&str>::new());
        assert_relative_eq!(found.peak_off_band.unwrap().get::<kelvins>(), 0.0);
    }

    #[test]
    fn the_loss_on_ignition_is_no_powder() {
        let found = judged(
            "Al(NO3)3·9H2O",
            "powder_mass = \"1.25 g\"\nloss_on_ignition = \"20 %\"\n",
        );
        assert_relative_eq!(
            found.powder_yield.unwrap().get::<ratio>(),
            1.0,
            max_relative = 1e-12
        );
        assert_eq!(ids(&found), ["unburnt"]);
    }

    #[test]
    fn a_dark_powder_from_a_rich_batch_is_carbon_unless_its_metal_is_dark() {
        let powder = "[run.powder]\ncolour = \"dark grey\"\n";
        assert_eq!(ids(&judged("Al(NO3)3·9H2O", powder)), ["carbon"]);
        assert_eq!(ids(&judged("Co(NO3)2·6H2O", powder)), Vec::<&str>::new());
    }

    #[test]
    fn a_magnet_finds_metal_or_a_steel_spatula() {
        let powder = "[run.powder]\nmagnet = \"strong\"\n";
        assert_eq!(ids(&judged("Ni(NO3)2·6H2O", powder)), ["metal"]);
        assert_eq!(ids(&judged("Al(NO3)3·9H2O", powder)), ["iron-tools"]);
        assert_eq!(ids(&judged("Fe(NO3)3·9H2O", powder)), Vec::<&str>::new());
    }

    #[test]
    fn a_change_that_makes_the_burn_hotter_names_its_dangers() {
        for finding in Tables::built_in().unwrap().findings.iter() {
            let hotter = ["lower the fuel", "raise", "less water", "drier"];
            if hotter.iter().any(|word| finding.change.contains(word)) {
                assert!(finding.danger.is_some(), "{}", finding.id);
            }
        }
    }

    #[test]
    fn a_few_dead_flakes_of_a_few_say_nothing() {
        let few = "[run.powder]\nflakes = { live = 3, dead = 2 }\n";
        assert_eq!(ids(&judged("Y(NO3)3·6H2O", few)), Vec::<&str>::new());
        let many = "[run.powder]\nflakes = { live = 60, dead = 40 }\n";
        assert_eq!(ids(&judged("Y(NO3)3·6H2O", many)), ["dead-flakes"]);
    }

    #[test]
    fn a_peak_outside_the_band_is_measured_from_its_near_end() {
        let found = judged("Al(NO3)3·9H2O", "peak_temperature = \"700 °C\"\n");
        assert_relative_eq!(
            found.peak_off_band.unwrap().get::<kelvins>(),
            -200.0,
            epsilon = 1e-9
        );
        assert_eq!(ids(&found), ["cold"]);
    }
}
