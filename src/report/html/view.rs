//! The report's words and numbers, ready for the templates.

use super::bench::{self, Weigh};
use super::tables::{self, Table};
use super::{figure, picture_styles, safety};
use crate::advice::Severity;
use crate::burn::StateResult;
use crate::plan::Plan;
use crate::product::ProductModel;
use crate::report::expected::peak_text;
use crate::report::heated::heated_text;
use crate::report::material::{Material, Pictures};
use crate::report::number::{interval_text, mass_text, significant, subscripts, volume_text};
use crate::report::outcome::outcome_text;
use crate::report::svg::fuel_ratio_axes;
use crate::report::text::{failures_text, flame_words};
use uom::si::amount_of_substance::millimole;
use uom::si::ratio::ratio;
use uom::si::specific_volume::cubic_meter_per_kilogram;

/// A part of the text report without its heading.
fn block(write: impl Fn(&mut String) -> std::fmt::Result) -> String {
    let mut text = String::new();
    write(&mut text).expect("a String takes every text");
    let lines: Vec<&str> = text.trim_start_matches('\n').lines().skip(2).collect();
    lines.join("\n")
}

/// A short fact with its label.
pub(super) struct Fact {
    pub(super) label: String,
    pub(super) value: String,
    pub(super) note: String,
}

/// One warning.
pub(super) struct WarningLine {
    pub(super) severity: String,
    pub(super) text: String,
}

/// One source.
pub(super) struct SourceLine {
    pub(super) key: String,
    pub(super) title: String,
    pub(super) address: String,
    pub(super) seen: String,
    pub(super) used_for: String,
}

/// Everything on the page.
pub(super) struct Page {
    pub(super) name: String,
    pub(super) styles: String,
    pub(super) mixture: String,
    pub(super) phi: String,
    pub(super) product: String,
    pub(super) facts: Vec<Fact>,
    pub(super) flames: Table,
    pub(super) stop: bool,
    pub(super) warnings: Vec<WarningLine>,
    pub(super) calming: Vec<String>,
    pub(super) safety: Vec<Fact>,
    pub(super) exposures: Table,
    pub(super) fumes: Table,
    pub(super) bench: Vec<Weigh>,
    pub(super) bench_rest: String,
    pub(super) notices: Vec<String>,
    pub(super) heating_reasons: String,
    pub(super) heated: String,
    pub(super) run: String,
    pub(super) without_water: String,
    pub(super) valences: Table,
    pub(super) valence_sum: String,
    pub(super) definitions: Table,
    pub(super) equation: String,
    pub(super) fates: Table,
    pub(super) ledger: Table,
    pub(super) equilibria: Table,
    pub(super) main_state: String,
    pub(super) uncertainties: Vec<String>,
    pub(super) sources: Vec<SourceLine>,
    pub(super) water_figure: String,
    pub(super) weighing_figure: String,
    pub(super) heat_figure: String,
    pub(super) gas_figure: String,
    pub(super) oxygen_figure: String,
    pub(super) heating_figure: String,
    pub(super) fuel_figure: String,
    pub(super) sketch: String,
}

impl Page {
    pub(super) fn new(material: &Material<'_>) -> Self {
        let plan = material.plan;
        let main = material.main_state();
        let Pictures {
            water,
            fuel_ratio,
            gas,
            heat,
            oxygen,
            heating,
            weighing,
        } = material.pictures();
        let drawn = |picture: Option<_>| picture.as_ref().map_or(String::new(), figure);
        Self {
            name: plan.batch.name.clone(),
            styles: picture_styles(),
            mixture: plan.redox.mixture.to_string(),
            phi: significant(plan.redox.equivalence_ratio.get::<ratio>(), 3),
            product: subscripts(&plan.product.name),
            facts: facts(plan, main),
            flames: tables::flames(plan),
            stop: plan
                .advice
                .warnings
                .iter()
                .any(|w| w.severity == Severity::Stop),
            warnings: safety::warnings(&plan.advice),
            calming: plan
                .advice
                .calming
                .iter()
                .map(ToString::to_string)
                .collect(),
            safety: safety::facts(&plan.advice),
            exposures: safety::exposures(&plan.advice),
            fumes: safety::fumes(&plan.advice),
            bench: bench::lines(material),
            bench_rest: bench::rest(material),
            notices: bench::notices(material),
            heating_reasons: material.heating_reasons.clone(),
            heated: block(|out| {
                let heated = plan.heated.as_ref();
                heated.map_or(Ok(()), |heated| heated_text(heated, out))?;
                failures_text(plan, out)
            }),
            run: plan
                .run
                .as_ref()
                .map_or(String::new(), |_| block(|out| outcome_text(plan, out))),
            without_water: mass_text(plan.batch.weighed_mass()),
            valences: tables::valences(plan),
            valence_sum: format!(
                "{} mmol / {} mmol = {}",
                significant(plan.redox.reducing.get::<millimole>(), 5),
                significant(plan.redox.oxidising.get::<millimole>(), 5),
                significant(plan.redox.equivalence_ratio.get::<ratio>(), 4)
            ),
            definitions: tables::definitions(plan),
            equation: subscripts(&plan.equation.to_string()),
            fates: tables::fates(plan),
            ledger: tables::ledger(plan),
            equilibria: tables::equilibria(plan),
            main_state: main.map_or(String::new(), |result| result.state.name.to_string()),
            uncertainties: main.map_or(Vec::new(), uncertainties),
            sources: sources(material),
            water_figure: drawn(water),
            weighing_figure: drawn(weighing),
            heat_figure: drawn(heat),
            gas_figure: drawn(gas),
            oxygen_figure: drawn(oxygen),
            heating_figure: drawn(heating),
            fuel_figure: drawn(fuel_ratio),
            sketch: figure(&fuel_ratio_axes()),
        }
    }
}

fn facts(plan: &Plan, main: Option<&StateResult>) -> Vec<Fact> {
    let model = match plan.product.model {
        ProductModel::Tabulated => "",
        ProductModel::EndMembers => "heat taken as that of a mixture of tabulated phases",
        ProductModel::SimpleOxides => "simple oxides: the file names no target",
    };
    let mut facts = vec![Fact {
        label: "Powder".to_owned(),
        value: format!(
            "{} {}",
            mass_text(plan.product.mass),
            subscripts(&plan.product.name)
        ),
        note: model.to_owned(),
    }];
    let Some(result) = main else {
        return facts;
    };
    facts.push(Fact {
        label: "Expected peak".to_owned(),
        value: peak_text(&plan.expected),
        note: format!(
            "burns at φ = {}; limit {}, without losses, {}",
            significant(plan.expected.equivalence_ratio.get::<ratio>(), 3),
            result.state.name,
            flame_words(&result.complete),
        ),
    });
    let hot = result.gas.volume_flame.map_or(String::new(), |volume| {
        format!("{} hot", volume_text(volume))
    });
    facts.push(Fact {
        label: format!("Gas, {}", result.state.name),
        value: format!(
            "{} L per g of powder",
            significant(result.gas.per_product.get::<cubic_meter_per_kilogram>(), 3)
        ),
        note: [
            format!("{} at 25 °C", volume_text(result.gas.volume_25c)),
            hot,
        ]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect::<Vec<_>>()
        .join(", "),
    });
    facts.push(Fact {
        label: "Mixture".to_owned(),
        value: format!(
            "{}, φ = {}",
            plan.redox.mixture,
            significant(plan.redox.equivalence_ratio.get::<ratio>(), 3)
        ),
        note: "fuel over oxidiser by valence; above 1 is fuel-rich".to_owned(),
    });
    facts
}

fn uncertainties(result: &StateResult) -> Vec<String> {
    result
        .spread
        .contributions
        .iter()
        .take(4)
        .map(|c| format!("{}: {}", subscripts(&c.what), interval_text(c.temperature)))
        .collect()
}

fn sources(material: &Material<'_>) -> Vec<SourceLine> {
    material
        .plan
        .sources
        .iter()
        .map(|used| {
            let source = material.tables.sources.get(&used.id);
            SourceLine {
                key: used.id.to_string(),
                title: source.map_or("(not listed)".to_owned(), |s| s.title.clone()),
                address: source.map_or(String::new(), |s| s.address.clone()),
                seen: used.seen.to_string(),
                used_for: subscripts(&used.used_for.join(", ")),
            }
        })
        .collect()
}
