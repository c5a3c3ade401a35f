//! What the powder of a run says, as a document and as JSON.

use super::document::{Document, Section, percent_text, time_text};
use super::number::{interval_text, plain, significant};
use super::view::{json_of, list, view};
use crate::batch::Run;
use crate::judge::Judgement;
use crate::judge::decay::{Decay, Fit, Model};
use crate::judge::size::Crystallite;
use crate::prepared::Prepared;
use crate::quantity::units::{
    degree, gram_per_cubic_centimeter, kelvins, nanometer, percent, ratio, second,
};
use crate::quantity::{Band, Length, Ratio, Time};
use crate::source::Bibliography;
use crate::tables::findings::Finding;
use serde_json::Value;

/// The judgement of each run: the one change to try first, then what was found, then the numbers.
pub fn judged_document(prepared: &Prepared, judged: &[(&Run, Judgement)]) -> Document {
    let mut sections = Vec::new();
    for (number, (run, judgement)) in judged.iter().enumerate() {
        let mut section = Section::new(run_name(run, number + 1));
        findings(judgement, &prepared.tables.sources, &mut section);
        section.subtitle("Numbers:");
        numbers(judgement, &mut section);
        sections.push(section);
    }
    let mut end = Section::new("Before you change it");
    end.text(
        "A finding says what is likely, not what is. Change one thing at a time; plan the changed \
         batch before you burn it, and follow local rules and your safety officer.",
    );
    sections.push(end);
    Document::new(
        format!("{}: what the powder says", prepared.batch.name),
        sections,
    )
}

fn run_name(run: &Run, number: usize) -> String {
    let known = run.label.as_ref().or(run.date.as_ref());
    known.map_or_else(
        || format!("Run {number}"),
        |name| format!("Run {number}, {name}"),
    )
}

fn findings(judgement: &Judgement, sources: &Bibliography, section: &mut Section) {
    match judgement.findings.first() {
        Some(first) => {
            section.fact("Change", first.change.clone());
            if let Some(danger) = &first.danger {
                section.fact("Danger", danger.clone());
            }
        }
        None => {
            section.text("Nothing found that asks for a change: repeat it as it is, once more.")
        }
    }
    for finding in &judgement.findings {
        section.text(finding.says.clone());
        section.item(format!("Likely: {}.", finding.causes.join("; ")));
        if let Some(source) = sources.get(&finding.source) {
            section.item(format!("Basis: {}.", source.title));
        }
    }
}

fn numbers(judgement: &Judgement, section: &mut Section) {
    if let Some(share) = judgement.powder_yield {
        let text = format!(
            "{} of the expected powder, without its loss on ignition",
            percent_text(share)
        );
        section.fact("Yield", text);
    }
    if let Some(off) = judgement.peak_off_band {
        let off_k = off.get::<kelvins>();
        let text = if off_k.abs() < 0.5 {
            "measured within the expected band".to_owned()
        } else {
            let side = if off_k < 0.0 { "below" } else { "above" };
            format!(
                "measured {} {side} the expected band",
                interval_text(off.abs())
            )
        };
        section.fact("Peak", text);
    }
    if let Some(colour) = judgement.colour {
        let (old, new) = (
            significant(colour.delta_e_1976, 2),
            significant(colour.delta_e_2000, 2),
        );
        section.fact(
            "Colour",
            format!("ΔE00 {new}, ΔE*ab {old} from the reference"),
        );
    }
    crystal_numbers(judgement, section);
    if let Some(density) = judgement.foam_density {
        let value = plain(density.get::<gram_per_cubic_centimeter>(), 2);
        section.fact("Foam", format!("{value} g/cm³"));
    }
    if let Some((share, band)) = judgement.live_flakes {
        let text = format!(
            "{} live (95 % of such counts: {} to {})",
            percent_text(share),
            percent_text(band.low),
            percent_text(band.high)
        );
        section.fact("Flakes", text);
    }
    if let Some(decay) = &judgement.decay {
        decay_numbers(decay, section);
    }
}

fn crystal_numbers(judgement: &Judgement, section: &mut Section) {
    for found in &judgement.crystallites {
        let angle = plain(found.peak.two_theta.get::<degree>(), 4);
        let (low, high) = (nanometres(found.size.low), nanometres(found.size.high));
        section.fact(
            "Crystals",
            format!("{low} to {high} nm from the peak at {angle}°"),
        );
    }
    if judgement.narrow_peaks > 0 {
        let count = judgement.narrow_peaks;
        section.item(format!(
            "{count} peaks are as narrow as the instrument makes them: larger than this can see."
        ));
    }
    match judgement.size_and_strain {
        Some(found) => {
            let strain = plain(found.strain.get::<percent>(), 2);
            let size = found.size.map_or_else(
                || "too large to be seen".to_owned(),
                |size| format!("{} nm", nanometres(size)),
            );
            section.fact(
                "Strain",
                format!("{strain} %, size {size}, by the line through all peaks"),
            );
        }
        None if !judgement.crystallites.is_empty() => section.item(
            "All broadening is counted as size; strain would make the true size larger. Three \
             peaks at different angles part the two.",
        ),
        None => {}
    }
    if let Some(d) = judgement.equivalent_diameter {
        section.fact(
            "Spheres",
            format!("{} nm across with this surface area", nanometres(d)),
        );
    }
}

fn decay_numbers(decay: &Decay, section: &mut Section) {
    section.fact("Afterglow", model_text(&decay.chosen));
    section.item(format!(
        "The other model fits worse: {}.",
        model_text(&decay.other)
    ));
    if let Some(until) = decay.until_threshold {
        let beyond = if decay.beyond_readings {
            ", extrapolated beyond the last reading"
        } else {
            ""
        };
        section.fact(
            "Visible",
            format!(
                "until 0.32 mcd/m² after {}{beyond}",
                time_text(Band::exactly(until))
            ),
        );
    }
    if let Some(share) = decay.against_reference {
        let text = format!("{} as bright, read at the same times", percent_text(share));
        section.fact("Reference", text);
    }
}

fn model_text(fit: &Fit) -> String {
    let off = percent_text(fit.deviation);
    match fit.model {
        Model::PowerLaw { exponent, .. } => {
            format!(
                "falls as time to the power of −{} (off by {off})",
                significant(exponent, 2)
            )
        }
        Model::TwoExponentials { times_s, .. } => {
            let [fast, slow] = times_s.map(|t| time_text(Band::exactly(Time::new::<second>(t))));
            format!("two exponentials of {fast} and {slow} (off by {off})")
        }
    }
}

fn nanometres(length: Length) -> String {
    significant(length.get::<nanometer>(), 2)
}

/// The judgements as JSON.
pub fn judged_json(judged: &[(&Run, Judgement)]) -> Value {
    json_of(Judged::from(judged))
}

view! {
    /// What `judge` writes.
    result Judged(judged: &[(&Run, Judgement)]) {
        /// The runs of the file with a powder that can be judged.
        runs: Vec<JudgedRun> = list(judged),
    }
}

view! {
    /// What the powder of a run says.
    JudgedRun((run, found): &(&Run, Judgement)) {
        /// Label of the powder.
        label: Option<String> = run.label.clone(),
        /// Day of the run.
        date: Option<String> = run.date.clone(),
        /// Powder over what was expected.
        powder_yield: Option<f64> = found.powder_yield.map(|r| r.get::<ratio>()),
        /// Peak that was read outside the expected band: above is positive, 0 within.
        peak_off_band_k: Option<f64> = found.peak_off_band.map(|off| off.get::<kelvins>()),
        /// Colour difference to the reference, CIE 1976.
        delta_e_1976: Option<f64> = found.colour.map(|c| c.delta_e_1976),
        /// Colour difference to the reference, CIEDE2000.
        delta_e_2000: Option<f64> = found.colour.map(|c| c.delta_e_2000),
        /// Crystallite sizes by reflection.
        crystallites: Vec<JudgedCrystallite> = list(&found.crystallites),
        /// Size by the line through all reflections.
        size_by_line_nm: Option<f64> =
            found.size_and_strain.and_then(|s| s.size).map(|d| d.get::<nanometer>()),
        /// Strain by that line.
        strain: Option<f64> = found.size_and_strain.map(|s| s.strain.get::<ratio>()),
        /// Diameter of spheres with the surface area.
        equivalent_diameter_nm: Option<f64> = found.equivalent_diameter.map(|d| d.get::<nanometer>()),
        /// Density of the foam.
        foam_density_g_per_cm3: Option<f64> =
            found.foam_density.map(|d| d.get::<gram_per_cubic_centimeter>()),
        /// Share of live flakes; null if they were not counted.
        live_flakes: Option<LiveFlakes> = found.live_flakes.map(LiveFlakes::from),
        /// The fitted afterglow; null if it was not read.
        afterglow: Option<Afterglow> = found.decay.as_ref().map(Afterglow::from),
        /// What it points to.
        findings: Vec<JudgedFinding> = list(&found.findings),
    }
}

view! {
    /// A reflection and the size of the crystals behind it.
    JudgedCrystallite(found: &Crystallite) {
        /// Angle of the reflection, 2θ.
        two_theta_degree: f64 = found.peak.two_theta.get::<degree>(),
        /// Lower end of the size.
        low_nm: f64 = found.size.low.get::<nanometer>(),
        /// Upper end of the size.
        high_nm: f64 = found.size.high.get::<nanometer>(),
    }
}

view! {
    /// The share of live flakes with the interval of 95 %.
    LiveFlakes((share, band): (Ratio, Band<Ratio>)) {
        /// Share of live flakes.
        share: f64 = share.get::<ratio>(),
        /// Lower end.
        low: f64 = band.low.get::<ratio>(),
        /// Upper end.
        high: f64 = band.high.get::<ratio>(),
    }
}

view! {
    /// A finding.
    JudgedFinding(found: &Finding) {
        /// Code, the same in all versions.
        code: String = found.id.clone(),
        /// What was seen.
        says: String = found.says.clone(),
        /// What may be behind it.
        causes: Vec<String> = found.causes.clone(),
        /// The one thing to change.
        change: String = found.change.clone(),
        /// What the change brings with it; null if no danger is known.
        danger: Option<String> = found.danger.clone(),
        /// Key of the source.
        source: String = found.source.to_string(),
    }
}

view! {
    /// An afterglow as read.
    Afterglow(decay: &Decay) {
        /// The fit that the readings favour.
        chosen: AfterglowFit = AfterglowFit::from(&decay.chosen),
        /// The other fit.
        other: AfterglowFit = AfterglowFit::from(&decay.other),
        /// Time until the threshold of visibility.
        until_threshold_s: Option<f64> = decay.until_threshold.map(|t| t.get::<second>()),
        /// True if that time lies beyond the readings.
        beyond_readings: bool = decay.beyond_readings,
        /// Brightness over that of the reference.
        against_reference: Option<f64> = decay.against_reference.map(|r| r.get::<ratio>()),
    }
}

view! {
    /// A fit of an afterglow.
    AfterglowFit(fit: &Fit) {
        /// The curve.
        model: Model = fit.model,
        /// Root mean square deviation as a share of the brightness.
        deviation: f64 = fit.deviation.get::<ratio>(),
        /// Corrected Akaike criterion; the smaller is the better. Null with too few readings.
        aicc: Option<f64> = fit.aicc,
    }
}
