//! A recrystallisation as a document and as JSON.

use super::document::{Cell, Document, Section, Table, band_text, percent_text};
use super::number::{celsius_text, mass_text};
use super::view::{Ends, ends, json_of, list, view};
use crate::quantity::units::{gram, kelvin, part_per_million, percent, ratio};
use crate::quantity::{Band, Ratio};
use crate::recrystallise::{Foreign, Recrystallised};
use serde_json::Value;

/// What it takes, what comes back, what is left behind, and how to go about it.
pub fn recrystallised_document(found: &Recrystallised) -> Document {
    Document::new(
        format!("Recrystallising {} from water", found.salt.name),
        vec![dangers(found), amounts(found), foreign(found), how(found)],
    )
}

fn dangers(found: &Recrystallised) -> Section {
    let mut section = Section::default();
    for step in found.steps.iter().filter(|step| step.danger) {
        section.fact("Danger", step.says.as_str());
    }
    section
}

fn amounts(found: &Recrystallised) -> Section {
    let mut section = Section::default();
    section.fact(
        "Take",
        format!(
            "{} of {} ({}) and {} of water (deionised)",
            mass_text(found.mass),
            found.salt.name,
            found.salt.formula,
            mass_text(found.water)
        ),
    );
    section.fact(
        "Between",
        format!(
            "{} (dissolve) and {} (cool)",
            celsius_text(found.hot),
            celsius_text(found.cold)
        ),
    );
    section.fact(
        "Crop",
        format!(
            "{} of {}, {} of the salt; at most, the filter and the rinse take some",
            mass_text(found.crop),
            found.crystal.formula,
            percent_text(found.recovered)
        ),
    );
    if found.times > 1 {
        let all = percent_text(found.recovered_in_all);
        section.item(format!(
            "{all} after {} passes, each like the first",
            found.times
        ));
    }
    section.fact(
        "Liquor",
        format!(
            "{} saturated at {}; it holds the rest of the salt and most of what is foreign",
            mass_text(found.liquor),
            celsius_text(found.cold)
        ),
    );
    match &found.known {
        Some(row) if found.crystal.formula.amounts() != found.salt.formula.amounts() => {
            section.fact(
                "Crystal",
                format!(
                    "not the {} of the bottle comes but {} ({}): mend the water in the batch file",
                    found.salt.formula, found.crystal.formula, row.locator
                ),
            );
        }
        Some(_) => {}
        None => section.fact(
            "Crystal",
            "which hydrate comes at this temperature is not in the tables; taken as on the bottle",
        ),
    }
    section.fact(
        "Rests on",
        format!(
            "solubility {}, {} ({}); the rest is {}",
            found.solubility.source, found.solubility.locator, found.solubility.seen, found.seen
        ),
    );
    section
}

fn foreign(found: &Recrystallised) -> Section {
    let mut section = Section::new("What is foreign");
    let head = [
        "ion",
        "distribution",
        "left in crystals / %",
        "before / ppm",
        "after / ppm",
    ];
    let mut table = Table::new("What is foreign", head);
    for ion in &found.foreign {
        let name = ion.element.map_or("any", |element| element.symbol());
        let (before, after) = match ion.content {
            Some((before, after)) => (
                Cell::number(before.get::<part_per_million>(), 3),
                Cell::from(ppm(after)),
            ),
            None => (Cell::Absent, Cell::Absent),
        };
        table.row([
            name.into(),
            band_text(ion.distribution, 2, |k| k).into(),
            band_text(ion.kept, 2, |x| x.get::<percent>()).into(),
            before,
            after,
        ]);
    }
    section.table(table);
    section.text(
        "Share of one pass that stays with the crystals: built in, from the distribution \
         coefficient, and in the liquor that clings to them.",
    );
    for ion in found.foreign.iter().filter(|ion| ion.fits) {
        let name = ion.element.map_or("an ion", |element| element.symbol());
        section.item(format!(
            "{name} fits the crystal of {}: recrystallising parts them badly; buy a better grade",
            found.salt.name
        ));
    }
    section
}

fn ppm(content: Band<Ratio>) -> String {
    band_text(content, 2, |x| x.get::<part_per_million>())
}

fn how(found: &Recrystallised) -> Section {
    let mut section = Section::new("How");
    for step in found.steps.iter().filter(|step| !step.danger) {
        section.item(format!("{} [{}]", step.says, step.source));
    }
    section.text(super::burn::DEFERENCE);
    section
}

/// The same as a JSON value.
pub fn recrystallised_json(found: &Recrystallised) -> Value {
    json_of(Crop::from(found))
}

view! {
    /// What `recrystallise` writes.
    result Crop(found: &Recrystallised) {
        /// The salt.
        salt: String = found.salt.formula.to_string(),
        /// Mass of it.
        mass_g: f64 = found.mass.get::<gram>(),
        /// Water to add.
        water_g: f64 = found.water.get::<gram>(),
        /// Temperature of the hot solution.
        hot_k: f64 = found.hot.get::<kelvin>(),
        /// Temperature after cooling.
        cold_k: f64 = found.cold.get::<kelvin>(),
        /// What crystallises.
        crystal: String = found.crystal.formula.to_string(),
        /// True if the tables know it.
        crystal_known: bool = found.known.is_some(),
        /// Mass of the crystals.
        crop_g: f64 = found.crop.get::<gram>(),
        /// Share recovered in one pass.
        recovered: f64 = found.recovered.get::<ratio>(),
        /// Number of passes.
        passes: u32 = found.times,
        /// Share recovered in all.
        recovered_in_all: f64 = found.recovered_in_all.get::<ratio>(),
        /// Liquor left.
        liquor_g: f64 = found.liquor.get::<gram>(),
        /// Foreign elements.
        foreign: Vec<ForeignElement> = list(&found.foreign),
        /// What to do, step by step.
        steps: Vec<String> = found.steps.iter().map(|step| step.says.clone()).collect(),
        /// Key of the source of the solubility.
        solubility_source: String = found.solubility.source.to_string(),
    }
}

view! {
    /// What becomes of a foreign element.
    ForeignElement(ion: &Foreign) {
        /// Its symbol; null for any that the file does not name.
        element: Option<&'static str> = ion.element.map(|element| element.symbol()),
        /// True if it fits the crystal.
        fits_the_crystal: bool = ion.fits,
        /// Share in the crystal over that in the liquor.
        distribution: Ends = ends(ion.distribution, |x| x),
        /// Share that stays in the crystals.
        kept: Ends = ends(ion.kept, |x| x.get::<ratio>()),
        /// Content before; null if not stated.
        before_ppm: Option<f64> = ion.content.map(|(before, _)| before.get::<part_per_million>()),
        /// Content after; null if not stated.
        after_ppm: Option<Ends> =
            ion.content.map(|(_, after)| ends(after, |x| x.get::<part_per_million>())),
    }
}
