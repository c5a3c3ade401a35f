//! How the powder should look, if the tables know its like.

use crate::dope::{Counted, doped};
use crate::formula::{Element, Formula};
use crate::plan::Plan;
use crate::quantity::Ratio;
use crate::quantity::units::{part_per_million, percent, ratio};
use crate::report::document::Section;
use crate::report::known_powder::{KnownPowderRow, facts, hex, swatch};
use crate::report::number::{plain, significant};
use crate::report::svg::swatch as drawn;
use crate::tables::Tables;
use crate::tables::known_powders::KnownPowder;
use std::collections::BTreeSet;

/// An element of the powder that a row lacks may make up this share of the metals.
const STRANGER: f64 = 0.05;
/// The shares of the row's own elements may differ by this.
const SHARE_WITHIN: f64 = 0.12;

/// Shares of the elements but oxygen.
fn shares(formula: &Formula) -> Vec<(Element, f64)> {
    let others = formula.amounts().iter();
    let others: Vec<_> = others.filter(|(e, _)| **e != Element::OXYGEN).collect();
    let sum: f64 = others.iter().map(|(_, n)| **n).sum();
    others.into_iter().map(|(e, n)| (*e, n / sum)).collect()
}

/// The known powders whose elements and shares are those of the formula.
fn powders<'t>(formula: &Formula, tables: &'t Tables) -> Vec<&'t KnownPowder> {
    let wanted = shares(formula);
    let like = |powder: &&KnownPowder| {
        let row = shares(&powder.formula);
        let of = |list: &[(Element, f64)], element: Element| {
            list.iter()
                .find(|(e, _)| *e == element)
                .map_or(0.0, |(_, x)| *x)
        };
        let own = row
            .iter()
            .all(|&(e, x)| of(&wanted, e) > 0.0 && (of(&wanted, e) - x).abs() < SHARE_WITHIN);
        let strangers = wanted.iter().filter(|(e, _)| of(&row, *e) <= 0.0);
        own && strangers.map(|(_, x)| x).sum::<f64>() < STRANGER
    };
    tables.known_powders.iter().filter(like).collect()
}

pub(super) fn section(plan: &Plan) -> Section {
    let mut section = Section::new("Colour and glow");
    let Some(target) = &plan.batch.target else {
        return section;
    };
    for (at, powder) in powders(&target.formula, plan.tables)
        .into_iter()
        .enumerate()
    {
        section.subtitle(format!("{} ({})", powder.id, powder.formula));
        if let Some((rgb, from)) = swatch(powder, plan.tables) {
            let picture = drawn(at + 1, rgb, &powder.colour.to_string(), &hex(rgb), from);
            section.picture(picture);
        }
        facts(powder, plan.tables, &mut section);
        for level in &powder.dopants {
            let line = counted(&target.formula, level.element, level.on, plan.tables);
            if let Some(line) = line {
                section.fact("Here", line);
            }
        }
    }
    section
}

/// The dopant of the powder in every way of counting.
fn counted(formula: &Formula, element: Element, on: Element, tables: &Tables) -> Option<String> {
    let (n, host) = (formula.amount_of(element), formula.amount_of(on));
    // Whatever the tables put on this site shares it.
    let dopants = tables
        .known_powders
        .iter()
        .flat_map(|powder| &powder.dopants);
    let others: BTreeSet<Element> = dopants
        .filter(|level| level.on == on && level.element != element)
        .map(|level| level.element)
        .collect();
    let others: f64 = others.into_iter().map(|e| formula.amount_of(e)).sum();
    let share = Ratio::new::<ratio>(n / (n + host + others));
    // The same powder without the dopant; of what stands for `on` there, the dopant takes its part.
    let text: String = formula
        .amounts()
        .iter()
        .filter(|(e, _)| **e != element)
        .map(|(e, count)| format!("{e}{:.6}", if *e == on { n + host } else { *count }))
        .collect();
    let of_host = Counted::OfSite(Ratio::new::<ratio>(n / (n + host)));
    let found = doped(&text, element, on, of_host, None, tables).ok()?;
    Some(format!(
        "{element} {} mol % of the {on} sites = {} ppm by mass = {} % {}",
        plain(share.get::<percent>(), 4),
        significant(found.mass.get::<part_per_million>(), 3),
        significant(found.oxide.1.get::<percent>(), 3),
        found.oxide.0
    ))
}

/// The known powders like that of the plan.
pub(in crate::report) fn known_powder_rows(plan: &Plan) -> Vec<KnownPowderRow> {
    let target = plan.batch.target.as_ref();
    let powders = target.map_or_else(Vec::new, |target| powders(&target.formula, plan.tables));
    powders
        .into_iter()
        .map(|powder| KnownPowderRow::from((powder, plan.tables)))
        .collect()
}
