//! The report's words and numbers, ready for the templates.

use super::bench::{self, Weigh};
use super::{figure, picture_styles, safety};
use crate::advice::Severity;
use crate::burn::StateResult;
use crate::plan::Plan;
use crate::product::ProductModel;
use crate::quantity::Ratio;
use crate::report::heated::heated_text;
use crate::report::material::{Material, Pictures};
use crate::report::number::{
    celsius_text, interval_text, mass_text, significant, subscripts, volume_text, whole,
};
use crate::report::outcome::outcome_text;
use crate::report::svg::fuel_ratio_axes;
use crate::report::text::{fate_words, flame_words, signed, sum_words};
use askama::Template;
use uom::si::amount_of_substance::{millimole, mole};
use uom::si::energy::kilojoule;
use uom::si::ratio::{percent, ratio};
use uom::si::specific_volume::cubic_meter_per_kilogram;

/// Gas species below this share of the gas are left out of the page.
const MAIN_SHARE: f64 = 1e-3;

/// Condensed phases below this share of them all are left out of the page.
const WORTH_A_LINE: f64 = 1e-4;

/// A table with a head; shown as HTML.
#[derive(Debug, Default, Template)]
#[template(path = "table.html", config = "src/report/askama.toml")]
pub(super) struct Table {
    /// What it shows, for screen readers.
    pub(super) name: &'static str,
    pub(super) head: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
}

/// A part of the text report without its heading.
fn block(write: impl Fn(&mut String) -> std::fmt::Result) -> String {
    let mut text = String::new();
    write(&mut text).expect("a String takes every text");
    let lines: Vec<&str> = text.trim_start_matches('\n').lines().skip(2).collect();
    lines.join("\n")
}

/// A short cell with its words kept on one line; a longer one may be broken.
fn kept(text: &str) -> String {
    if text.chars().count() <= 14 {
        text.replace(' ', "\u{a0}")
    } else {
        text.to_owned()
    }
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
            flames: flames(plan),
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
            heated: plan.heated.as_ref().map_or(String::new(), |heated| {
                block(|out| heated_text(heated, out))
            }),
            run: plan
                .run
                .as_ref()
                .map_or(String::new(), |_| block(|out| outcome_text(plan, out))),
            without_water: mass_text(plan.batch.weighed_mass()),
            valences: valences(plan),
            valence_sum: format!(
                "{} mmol / {} mmol = {}",
                significant(plan.redox.reducing.get::<millimole>(), 5),
                significant(plan.redox.oxidising.get::<millimole>(), 5),
                significant(plan.redox.equivalence_ratio.get::<ratio>(), 4)
            ),
            definitions: definitions(plan),
            equation: subscripts(&plan.equation.to_string()),
            fates: fates(plan),
            ledger: ledger(plan),
            equilibria: equilibria(plan),
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

pub(super) fn strings<const N: usize>(texts: [&str; N]) -> Vec<String> {
    texts.into_iter().map(str::to_owned).collect()
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
    let band = if result.complete.flame.temperature().is_some() {
        format!(
            "± {} from the data; ",
            interval_text(result.spread.half_width)
        )
    } else {
        String::new()
    };
    facts.push(Fact {
        label: format!("Flame, {}", result.state.name),
        value: flame_words(&result.complete),
        note: format!(
            "{band}in equilibrium {}",
            celsius_text(result.equilibrium.equilibrium.temperature)
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

fn flames(plan: &Plan) -> Table {
    let rows = plan
        .states
        .iter()
        .map(|result| {
            let left = result.state.solvent + result.state.crystal_water(&plan.batch);
            let flame = result.complete.flame.temperature();
            vec![
                result.state.name.to_string(),
                significant(left.get::<millimole>(), 4),
                flame_words(&result.complete),
                flame.map_or("–".to_owned(), |_| {
                    interval_text(result.spread.half_width)
                }),
                celsius_text(result.equilibrium.equilibrium.temperature),
                result.other_set.as_ref().map_or("–".to_owned(), |other| {
                    celsius_text(other.equilibrium.temperature)
                }),
            ]
        })
        .collect();
    let other = match plan.batch.conditions.species {
        crate::batch::SpeciesChoice::Full => "equilibrium without slow species",
        crate::batch::SpeciesChoice::Fast => "equilibrium with every species",
    };
    let head = [
        "water",
        "water left / mmol",
        "complete combustion",
        "±",
        "equilibrium",
        other,
    ];
    Table {
        name: "Flame temperatures",
        head: strings(head),
        rows,
    }
}

fn valences(plan: &Plan) -> Table {
    let rows = plan
        .redox
        .lines
        .iter()
        .map(|line| {
            vec![
                subscripts(&line.formula.anhydrous().to_string()),
                sum_words(line),
                signed(line.per_formula),
                significant(line.amount.get::<millimole>(), 5),
                significant(line.total.get::<millimole>(), 5),
            ]
        })
        .collect();
    let head = [
        "substance",
        "sum of the valences",
        "per formula",
        "amount / mmol",
        "total / mmol",
    ];
    Table {
        name: "Valence sum",
        head: strings(head),
        rows,
    }
}

fn definitions(plan: &Plan) -> Table {
    let definitions = &plan.redox.definitions;
    let number = |value: Ratio| significant(value.get::<ratio>(), 4);
    let optional = |value: Option<Ratio>| value.map_or("–".to_owned(), number);
    let rows = [
        (
            "φ, fuel over oxidiser",
            number(definitions.equivalence_ratio),
        ),
        (
            "oxidiser over fuel (also λ)",
            number(definitions.oxidiser_to_fuel),
        ),
        (
            "mol fuel per mol nitrate ion",
            optional(definitions.fuel_per_nitrate),
        ),
        (
            "mol fuel per mol metal",
            optional(definitions.fuel_per_metal),
        ),
        (
            "percent of stoichiometric",
            significant(definitions.percent_of_stoichiometric, 4),
        ),
    ];
    Table {
        name: "Definitions of the fuel ratio",
        head: strings(["the fuel ratio as others state it", "value"]),
        rows: rows
            .into_iter()
            .map(|(name, value)| vec![name.to_owned(), value])
            .collect(),
    }
}

fn fates(plan: &Plan) -> Table {
    let Some(longest) = plan.states.iter().max_by_key(|result| result.fates.len()) else {
        return Table::default();
    };
    if longest.fates.is_empty() {
        return Table::default();
    }
    let mut head = vec!["surplus fuel; flame in equilibrium".to_owned()];
    head.extend(
        plan.states
            .iter()
            .map(|result| result.state.name.to_string()),
    );
    let rows = longest
        .fates
        .iter()
        .map(|fate| {
            let mut row = vec![fate_words(fate.fate)];
            row.extend(plan.states.iter().map(|result| {
                let same = result.fates.iter().find(|other| other.fate == fate.fate);
                same.map_or("–".to_owned(), |fate| {
                    celsius_text(fate.equilibrium.equilibrium.temperature)
                })
            }));
            row
        })
        .collect();
    Table {
        name: "Fates of the surplus fuel",
        head,
        rows,
    }
}

fn ledger(plan: &Plan) -> Table {
    let entries = plan.states.iter().flat_map(|r| &r.complete.ledger.entries);
    let mut items: Vec<_> = entries.map(|entry| entry.item).collect();
    items.sort_unstable();
    items.dedup();
    let mut head = vec!["heat of the whole batch / kJ".to_owned()];
    head.extend(
        plan.states
            .iter()
            .map(|result| result.state.name.to_string()),
    );
    let rows = items
        .into_iter()
        .map(|item| {
            let mut row = vec![item.to_string()];
            row.extend(plan.states.iter().map(|result| {
                let energy = result.complete.ledger.energy(item).get::<kilojoule>();
                if energy.abs() > 0.0 {
                    format!("{energy:+.2}").replace('-', "−")
                } else {
                    "–".to_owned()
                }
            }));
            row
        })
        .collect();
    Table {
        name: "Energy ledger",
        head,
        rows,
    }
}

fn equilibria(plan: &Plan) -> Table {
    let rows = plan
        .states
        .iter()
        .map(|result| {
            let equilibrium = &result.equilibrium.equilibrium;
            let gas = equilibrium.gas_amount.get::<mole>();
            let solid: f64 = equilibrium
                .condensed()
                .map(|s| s.amount.get::<mole>())
                .sum();
            let gases: Vec<String> = equilibrium
                .gases()
                .map(|species| (&species.id, species.amount.get::<mole>() / gas))
                .filter(|(_, share)| *share >= MAIN_SHARE)
                .map(|(id, share)| {
                    format!("{} {} %", subscripts(id), significant(100.0 * share, 2))
                })
                .collect();
            let condensed: Vec<String> = equilibrium
                .condensed()
                .filter(|species| species.amount.get::<mole>() > WORTH_A_LINE * solid)
                .map(|species| {
                    let amount = significant(species.amount.get::<millimole>(), 3);
                    format!("{} {amount} mmol", subscripts(&species.id))
                })
                .collect();
            let molten = equilibrium.molten_fraction;
            vec![
                result.state.name.to_string(),
                celsius_text(equilibrium.temperature),
                gases.join(", "),
                condensed.join(", "),
                molten.map_or("–".to_owned(), |f| {
                    format!("{} %", whole(f.get::<percent>()))
                }),
                equilibrium
                    .log10_oxygen_pressure
                    .map_or("–".to_owned(), |log| significant(log, 3)),
            ]
        })
        .collect();
    let head = [
        "water",
        "temperature",
        "gas",
        "powder",
        "molten",
        "log₁₀(p(O₂)/bar)",
    ];
    Table {
        name: "Equilibrium at the flame",
        head: strings(head),
        rows,
    }
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
