//! The bench sheet of the page.

use crate::batch::Ingredient;
use crate::quantity::units::{gram_per_mole, percent, ratio};
use crate::report::document::prose;
use crate::report::material::Material;
use crate::report::number::{mass_text, plain, significant, subscripts, volume_text};
use crate::report::sheet::{error_text, pot_text, sheet_rest, take};

/// One line of the bench sheet.
pub(super) struct Weigh {
    pub(super) substance: String,
    pub(super) formula: String,
    pub(super) molar_mass: String,
    pub(super) take: String,
    pub(super) with: String,
    pub(super) error: String,
    pub(super) total: String,
}

/// The lines in the order of addition; in that of the file if there is no sheet.
pub(super) fn lines(material: &Material<'_>) -> Vec<Weigh> {
    let Some(sheet) = &material.sheet else {
        let ingredients = &material.plan.batch.weighed;
        return ingredients.iter().map(without_balance).collect();
    };
    sheet
        .lines
        .iter()
        .map(|line| {
            let (take, with) = take(line);
            Weigh {
                substance: name(&line.ingredient),
                formula: subscripts(&line.ingredient.reactant.formula.to_string()),
                molar_mass: molar_mass(&line.ingredient),
                take,
                with,
                error: format!("{} %", error_text(line.relative_error)),
                total: pot_text(line.running_total),
            }
        })
        .collect()
}

fn molar_mass(ingredient: &Ingredient) -> String {
    let mass = ingredient.reactant.formula.molar_mass();
    significant(mass.get::<gram_per_mole>(), 5)
}

fn name(ingredient: &Ingredient) -> String {
    let name = &ingredient.reactant.name;
    if ingredient.assay.get::<ratio>() < 1.0 {
        let assay = plain(ingredient.assay.get::<percent>(), 4);
        format!("{name}, assay {assay} %")
    } else {
        name.clone()
    }
}

fn without_balance(ingredient: &Ingredient) -> Weigh {
    let take = match (ingredient.stock, ingredient.volume) {
        (Some(stock), _) => volume_text(stock.volume),
        (None, Some(volume)) => volume_text(volume),
        (None, None) => mass_text(ingredient.mass),
    };
    Weigh {
        substance: name(ingredient),
        formula: subscripts(&ingredient.reactant.formula.to_string()),
        molar_mass: molar_mass(ingredient),
        take,
        with: String::new(),
        error: String::new(),
        total: String::new(),
    }
}

/// Stock solutions, what the pot holds and the water, as the bench sheet has them.
pub(super) fn rest(material: &Material<'_>) -> String {
    let sections = material.sheet.as_ref().map(sheet_rest).unwrap_or_default();
    sections
        .iter()
        .map(|section| format!("<h3>{}</h3>\n{}", prose(&section.title), section.html(4)))
        .collect()
}

/// What to watch for at the bench, as HTML.
pub(super) fn notices(material: &Material<'_>) -> Vec<String> {
    let notices = material.sheet.as_ref().map(|sheet| &sheet.notices);
    notices
        .into_iter()
        .flatten()
        .map(|notice| prose(&notice.to_string()))
        .collect()
}
