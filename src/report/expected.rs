//! The expected burn in words and as JSON: the only place where it is written.

use super::document::{Section, time_text};
use super::number::{interval_text, significant, whole};
use super::view::{list, view};
use crate::expected::{Cause, Expected, HeatingBasis, LearnedFrom};
use crate::quantity::units::{degree_celsius, kelvin, kelvins, percent, ratio, second};
use crate::quantity::{TemperatureInterval, ThermodynamicTemperature, temperature_difference};

/// Width of the band, K, from which on a peak is told to ten degrees.
const BROAD: f64 = 100.0;

/// A peak of `expected` with its unit, see [`peak_number`].
pub(super) fn peak_celsius(expected: &Expected, peak: ThermodynamicTemperature) -> String {
    format!("{} °C", peak_number(expected, peak))
}

/// A peak of `expected` in °C: to ten degrees if its band is broad, to one if it is narrow.
pub(super) fn peak_number(expected: &Expected, peak: ThermodynamicTemperature) -> String {
    let width = match (expected.low, expected.high) {
        (Some(low), Some(high)) => temperature_difference(high, low).abs(),
        // Some draws have no flame at all.
        _ => TemperatureInterval::new::<kelvins>(BROAD),
    };
    let step = if width >= TemperatureInterval::new::<kelvins>(BROAD) {
        10.0
    } else {
        1.0
    };
    let celsius = peak.get::<degree_celsius>();
    whole((celsius / step).round() * step)
}

/// The peak with its band, and whether the heating of the file gets there at all.
pub fn peak_text(expected: &Expected) -> String {
    let unlit = match (expected.temperature, expected.basis) {
        (Some(_), HeatingBasis::NoIgnition) => ", if it lights at all",
        _ => "",
    };
    peak_band(expected) + unlit
}

/// The peak: median, and the ends that hold eight of ten draws.
pub(super) fn peak_band(expected: &Expected) -> String {
    let end = |t: Option<_>| t.map_or("no flame".to_owned(), |t| peak_celsius(expected, t));
    match (expected.temperature, expected.high) {
        (_, None) => "no flame".to_owned(),
        (None, Some(high)) => format!(
            "rather no flame ({} % of the draws have none), the hottest tenth above {}",
            whole(expected.without_flame().get::<percent>()),
            peak_celsius(expected, high)
        ),
        (Some(median), high) => {
            let learned = expected.learned.as_ref().filter(|learned| learned.runs > 0);
            let learned = learned.map_or(String::new(), |l| {
                format!(", learned from {}{}", runs_text(l.runs), still_off_text(l))
            });
            format!(
                "{}, 8 of 10 from {} to {}{learned}",
                peak_celsius(expected, median),
                end(expected.low),
                end(high)
            )
        }
    }
}

/// The peak with the mixture that burns, for the head of a report.
pub(super) fn expected_line(expected: &Expected) -> String {
    format!(
        "{}; burns at φ = {}",
        peak_text(expected),
        significant(expected.equivalence_ratio.get::<ratio>(), 3)
    )
}

/// What the band comes from, and what would narrow it.
pub(super) fn expected_section(expected: &Expected) -> Section {
    let mut section = Section::new("Expected peak");
    section.text(format!("{}.", expected_line(expected)));
    section.text(match expected.basis {
        HeatingBasis::NotStated => {
            "The file does not say how it is heated, so water left, fuel lost and start span what \
             fast and slow heating give."
        }
        HeatingBasis::NoIgnition => {
            "With every input at its middle the heating of the file does not light it; this is for a \
             burn that starts all the same, however slowly it was heated."
        }
        HeatingBasis::Course => {
            "Water left, fuel lost and start are those of the heating model, with its bands."
        }
    });
    if let Some(learned) = &expected.learned {
        section.text(learned_text(learned));
    }
    if !expected.causes.is_empty() {
        section.text(format!("The spread comes from: {}.", causes_text(expected)));
    }
    if let Some(line) = expected.narrowed_by {
        section.text(format!("What would narrow it most: {line}."));
    }
    section.text(format!(
        "{} draws from assumed bands (tables/expectation.toml), each a heat balance in equilibrium \
         with the heat lost while a piece of gel burns.",
        expected.draws.len()
    ));
    section
}

/// What it was learned from.
fn learned_text(learned: &LearnedFrom) -> String {
    let file = &learned.file;
    if learned.runs == 0 {
        return format!(
            "{file} holds no run in this vessel on this way, so it changes nothing here."
        );
    }
    let time = learned.time.map_or(String::new(), |band| {
        format!(" Lights after {} by them.", time_text(band))
    });
    format!(
        "Learned from {}{} in this pot ({file}; effective draws {}).{time}",
        runs_text(learned.runs),
        still_off_text(learned),
        whole(learned.effective_draws)
    )
}

/// ` that read 120 K hotter`, if the assumed bands do not reach what was read.
fn still_off_text(learned: &LearnedFrom) -> String {
    learned.still_off.map_or(String::new(), |off| {
        let (size, way) = hotter_text(off);
        format!(" that read {size} {way}")
    })
}

/// `120 K`, `hotter`.
pub(super) fn hotter_text(off: TemperatureInterval) -> (String, &'static str) {
    let colder = off.get::<kelvins>() < 0.0;
    (
        interval_text(off.abs()),
        if colder { "colder" } else { "hotter" },
    )
}

/// `1 run`, `5 runs`.
pub(super) fn runs_text(count: usize) -> String {
    match count {
        1 => "1 run".to_owned(),
        more => format!("{more} runs"),
    }
}

/// The causes of the spread with their shares, the largest first.
fn causes_text(expected: &Expected) -> String {
    let causes = expected
        .causes
        .iter()
        .map(|cause| format!("{} {} %", cause.name, whole(cause.share.get::<percent>())));
    causes.collect::<Vec<_>>().join(", ")
}

view! {
    /// The expected burn: a sample over what nobody knows exactly.
    ExpectedBurn(expected: &Expected) {
        /// Median of the peak; null if half the draws have no flame.
        temperature_k: Option<f64> = expected.temperature.map(|t| t.get::<kelvin>()),
        /// Lower end: a tenth of the draws is below.
        low_k: Option<f64> = expected.low.map(|t| t.get::<kelvin>()),
        /// Upper end: a tenth of the draws is above.
        high_k: Option<f64> = expected.high.map(|t| t.get::<kelvin>()),
        /// Share of the draws that make no flame.
        without_flame: f64 = expected.without_flame().get::<ratio>(),
        /// Fuel ratio φ: total reducing valence over total oxidising valence.
        equivalence_ratio: f64 = expected.equivalence_ratio.get::<ratio>(),
        /// What its width comes from, the largest first.
        causes: Vec<PeakCause> = list(&expected.causes),
        /// Whether the heating is counted in: "course", "no ignition" or "not stated".
        heating: &'static str = match expected.basis {
            HeatingBasis::NotStated => "not stated",
            HeatingBasis::NoIgnition => "no ignition",
            HeatingBasis::Course => "course",
        },
        /// What the file of what was learned adds; null without it.
        learned: Option<LearnedRuns> = expected.learned.as_ref().map(LearnedRuns::from),
        /// Seed of the draws.
        seed: u64 = expected.seed,
        /// Number of draws.
        count: usize = expected.draws.len(),
    }
}

view! {
    /// A cause of the width of the expected peak.
    PeakCause(cause: &Cause) {
        /// What it is.
        name: String = cause.name.to_string(),
        /// Share of the variance.
        share: f64 = cause.share.get::<ratio>(),
    }
}

view! {
    /// What was learned from runs in the same pot.
    LearnedRuns(learned: &LearnedFrom) {
        /// The file.
        file: String = learned.file.clone(),
        /// Runs behind it.
        runs: usize = learned.runs,
        /// Effective number of draws behind it.
        effective_draws: f64 = learned.effective_draws,
        /// How much hotter those runs were than what was learned gives; null if it gives them.
        still_off_k: Option<f64> = learned.still_off.map(|off| off.get::<kelvins>()),
        /// Time to ignition: lower end.
        time_low_s: Option<f64> = learned.time.map(|band| band.low.get::<second>()),
        /// Time to ignition: upper end.
        time_high_s: Option<f64> = learned.time.map(|band| band.high.get::<second>()),
    }
}
