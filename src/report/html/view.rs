//! The report's words and numbers, ready for the templates.

use super::bench::{self, Weigh};
use crate::advice::{Severity, Warning, worst};
use crate::quantity::TemperatureInterval;
use crate::quantity::units::{kelvins, percent, ratio as one};
use crate::report::burn::{DEFERENCE, facts, ratio, safety, section, verdict};
use crate::report::document::{Section, figure, prose};
use crate::report::ignition::reasons_by_way;
use crate::report::material::Material;
use crate::report::number::{interval_text, mass_text, significant, subscripts};
use crate::report::svg::{Palette, Picture, fuel_ratio_axes, stylesheet};
use serde_json::json;

/// A part of the page that unfolds.
pub(super) struct Folded {
    pub(super) title: String,
    pub(super) body: String,
}

/// Everything on the page; what ends in a tag is HTML already.
pub(super) struct Page<'a> {
    material: &'a Material<'a>,
    pictures: Vec<Picture>,
    pub(super) name: String,
    pub(super) version: &'static str,
    pub(super) styles: String,
    pub(super) mixture: String,
    pub(super) phi: String,
    pub(super) product: String,
    pub(super) verdict_shape: &'static str,
    pub(super) verdict: String,
    pub(super) deference: &'static str,
    pub(super) facts: String,
    pub(super) dangers: String,
    pub(super) special: String,
    pub(super) standing: String,
    /// The cautions of every batch, a line each, as HTML.
    pub(super) always: Vec<String>,
    pub(super) calming: Vec<String>,
    pub(super) fumes: String,
    pub(super) exposures: String,
    pub(super) bench: Vec<Weigh>,
    pub(super) bench_rest: String,
    pub(super) notices: Vec<String>,
    pub(super) heating_reasons: String,
    pub(super) appendix: Vec<Folded>,
    pub(super) without_water: String,
    pub(super) valence_rows: Vec<String>,
    pub(super) valences: String,
    pub(super) valence_sum: String,
    pub(super) water_states: Vec<String>,
    pub(super) flames: String,
    pub(super) equation: String,
    /// Table of the live panel as JSON; empty if there is none.
    pub(super) what_if: String,
    pub(super) what_if_error: String,
    /// Two ways as a picture, and every way at several settings as JSON; empty if there are not two.
    pub(super) ways_still: String,
    pub(super) ways: String,
    pub(super) sketch: String,
}

impl<'a> Page<'a> {
    /// A section of the estimate by its name; empty if there is nothing to say.
    pub(super) fn section(&self, name: &str) -> String {
        section(self.material.plan, name).html(3)
    }

    /// A picture by its name; empty if there is none.
    pub(super) fn picture(&self, name: &str) -> String {
        let found = self.pictures.iter().find(|picture| picture.name == name);
        found.map_or_else(String::new, figure)
    }

    pub(super) fn new(material: &'a Material<'a>) -> Self {
        let plan = material.plan;
        let cautions = |wanted: &dyn Fn(&Warning) -> bool| {
            let mut section = Section::default();
            safety::cautions(&plan.advice, wanted, &mut section);
            section.html(3)
        };
        let valences = ratio::valences(plan);
        Self {
            material,
            pictures: material.pictures(),
            name: plan.batch.name.clone(),
            version: env!("CARGO_PKG_VERSION"),
            styles: picture_styles() + "\n" + &running_lines(&plan.batch.name),
            mixture: plan.redox.mixture.to_string(),
            phi: significant(plan.redox.equivalence_ratio.get::<one>(), 3),
            product: subscripts(&plan.product.name),
            verdict_shape: shape(&plan.advice.warnings),
            verdict: prose(&verdict(plan)),
            deference: DEFERENCE,
            facts: facts_html(material),
            dangers: cautions(&|warning| warning.severity <= Severity::Danger),
            special: cautions(&|warning| !warning.standing),
            standing: cautions(&|warning| warning.standing),
            always: always(&plan.advice.warnings),
            calming: texts(&plan.advice.calming),
            fumes: safety::fumes(&plan.advice).html(),
            exposures: safety::exposures(&plan.advice).html(),
            bench: bench::lines(material),
            bench_rest: bench::rest(material),
            notices: bench::notices(material),
            heating_reasons: reasons_by_way(&material.heating_reasons).html(4),
            appendix: appendix(material),
            without_water: mass_text(plan.batch.weighed_mass()),
            valence_rows: valences
                .rows
                .iter()
                .map(|row| subscripts(row[0].shown()))
                .collect(),
            valences: valences.html(),
            valence_sum: ratio::sum(plan),
            water_states: plan
                .states
                .iter()
                .map(|result| result.state.name.to_string())
                .collect(),
            flames: crate::report::burn::heat::flames(plan).html(),
            equation: subscripts(&plan.equation.to_string()),
            what_if: what_if(material),
            what_if_error: what_if_error(material),
            ways_still: material
                .two_ways
                .as_ref()
                .map_or(String::new(), |two| figure(&two.still)),
            ways: material
                .two_ways
                .as_ref()
                .map_or(String::new(), |two| json!(two).to_string()),
            sketch: figure(&fuel_ratio_axes()),
        }
    }
}

fn texts(items: &[impl ToString]) -> Vec<String> {
    items.iter().map(ToString::to_string).collect()
}

/// The cautions of every batch.
fn always(warnings: &[Warning]) -> Vec<String> {
    let fixed = warnings.iter().filter(|warning| warning.is_fixed());
    fixed.map(|warning| prose(warning.brief())).collect()
}

/// The class of the verdict, which has a colour and a shape of its own.
fn shape(warnings: &[Warning]) -> &'static str {
    match worst(warnings) {
        Some(Severity::Stop) => "stop",
        Some(Severity::Danger) => "decide",
        _ => "complete",
    }
}

/// The lines of the first screen, uncut.
fn facts_html(material: &Material<'_>) -> String {
    let mut section = Section::default();
    for (label, _, value) in facts(material.plan) {
        section.fact(label, value);
    }
    section.html(3)
}

/// What is looked up rather than read.
fn appendix(material: &Material<'_>) -> Vec<Folded> {
    let names = [
        "ratio",
        "equation",
        "equilibrium",
        "cooling",
        "colour",
        "purity",
        "sources",
    ];
    let folded = names.into_iter().map(|name| {
        let section = section(material.plan, name);
        Folded {
            body: section.html(4),
            title: section.title,
        }
    });
    folded.filter(|folded| !folded.body.is_empty()).collect()
}

/// The table of the live panel with the settings of the plan, as JSON; empty if there is none or
/// the plan lies outside it.
fn what_if(material: &Material<'_>) -> String {
    let Some(panel) = &material.what_if else {
        return String::new();
    };
    let Ok(redox) = panel.batch.redox() else {
        return String::new();
    };
    let fuel_ratio = redox.equivalence_ratio.get::<one>();
    let conditions = &panel.batch.conditions;
    let nodes = &panel.table.fuel_ratios;
    if nodes.first() > Some(&fuel_ratio) || nodes.last() < Some(&fuel_ratio) {
        return String::new();
    }
    json!({
        "table": panel.table,
        "plan": {
            "ratio": fuel_ratio,
            "water": panel.water_left.get::<one>(),
            "lost": conditions.heat_loss.get::<one>(),
            "air": conditions.air_drawn_in.get::<one>(),
        },
    })
    .to_string()
}

/// How near the live panel is to the calculation.
fn what_if_error(material: &Material<'_>) -> String {
    let limit = TemperatureInterval::new::<kelvins>(10.0);
    let panel = material.what_if.as_ref();
    let error =
        panel.and_then(|panel| panel.table.error(&panel.batch, limit, material.plan.tables));
    error.map_or(String::new(), |(worst, within)| {
        format!(
            "From the state when it lights, as far as the heating is known. Interpolated in a table \
             of enthalpies: {} % of the middles of its cells within 10 K of the direct calculation, \
             the worst {} off. Nothing here is checked for danger; the verdict above is for the plan alone.",
            significant(within.get::<percent>(), 3),
            interval_text(worst)
        )
    })
}

/// The style sheets of the pictures: light, dark on screens whose reader wants it, light on paper.
fn picture_styles() -> String {
    format!(
        "{}\n@media screen and (prefers-color-scheme: dark){{{}}}",
        stylesheet(&Palette::LIGHT),
        stylesheet(&Palette::DARK)
    )
}

/// Running head and foot of every sheet of paper but the first, which bears the title itself.
fn running_lines(name: &str) -> String {
    format!(
        "@page{{@top-left{{content:{};font:8pt sans-serif}}@bottom-left{{content:{};font:7pt sans-serif}}}}\n\
         @page:first{{@top-left{{content:none}}}}",
        css_string(name),
        css_string(&format!(
            "emberpot {}. Estimates with bands, no guarantee. {DEFERENCE}",
            env!("CARGO_PKG_VERSION")
        ))
    )
}

/// A text as a string of a style sheet; what is no letter or digit goes by its code point, so that
/// nothing ends the string or the style sheet.
fn css_string(text: &str) -> String {
    let mut string = String::from("\"");
    for c in text.chars() {
        if c.is_alphanumeric() {
            string.push(c);
        } else {
            string += &format!("\\{:x} ", u32::from(c));
        }
    }
    string + "\""
}
