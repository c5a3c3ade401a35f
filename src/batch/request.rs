//! Reads the `[target]` section: the product, the fuel ratio and the scale.

use super::ingredient::Draft;
use super::notation::{self, Wish};
use super::section::{Section, value};
use super::target::{FuelRatio, Request, Scale, ShareBasis};
use crate::formula::{Element, Formula};
use crate::quantity::units::{percent, ratio};
use crate::quantity::{Ratio, parse};
use crate::redox::OxidationStates;
use crate::tables::Tables;
use std::collections::BTreeMap;
use std::ops::Range;

/// Reads the section; `drafts` are the ingredients read so far, `chosen` the oxidation states that
/// the file gives.
pub(super) fn read(
    section: Section<'_>,
    drafts: &[Draft],
    chosen: &BTreeMap<Element, f64>,
    tables: &Tables,
) -> Option<Request> {
    let written = section.required_text("formula", "\"ZnAl2O4\"");
    let formula_span = written
        .as_ref()
        .map_or(section.span.clone(), |w| w.span.clone());
    let words = [("as written", false), ("from charges", true)];
    let oxygen = value(section.choice("oxygen", &words));
    let wish = written.and_then(|w| {
        read_wish(w.value, oxygen, chosen)
            .map_err(|message| section.mistake(w.span, message))
            .ok()
    });
    let fuel_ratio = ratio_of(&section);
    let scale = scale_of(&section, drafts, tables);
    let words = [
        ("valence", ShareBasis::Valence),
        ("amount", ShareBasis::Amount),
    ];
    let share_basis = value(section.choice("share_basis", &words)).unwrap_or_default();
    section.finish();
    let (fuel_ratio, ratio_span) = fuel_ratio?;
    let wish = wish?;
    Some(Request {
        formula: wish.formula,
        dopant_states: wish.states,
        formula_span,
        ratio: fuel_ratio,
        ratio_span,
        scale: scale?,
        share_basis,
    })
}

/// The wanted product with its oxygen as written, as its charges bind, or as left open.
fn read_wish(
    text: &str,
    from_charges: Option<bool>,
    chosen: &BTreeMap<Element, f64>,
) -> Result<Wish, String> {
    let mut wish = notation::wish(text, chosen).map_err(|error| error.to_string())?;
    if wish.oxygen_open && from_charges == Some(false) {
        return Err(
            "the formula leaves its oxygen open, so `oxygen = \"as written\"` says \
                    nothing: write the oxygen as a number, or leave the key out"
                .to_owned(),
        );
    }
    if wish.oxygen_open || from_charges == Some(true) {
        let mut states = wish.states.clone();
        states.extend(chosen);
        wish.formula = with_oxygen_from_charges(&wish.formula, &states)?;
    }
    if wish.formula.crystal_water() > 0.0 {
        return Err(format!(
            "{} holds crystal water, which no burn leaves: write the powder without it",
            wish.formula
        ));
    }
    Ok(wish)
}

/// The one fuel ratio that the target names.
fn ratio_of(section: &Section<'_>) -> Option<(FuelRatio, Range<usize>)> {
    type Definition = (&'static str, (f64, f64), fn(f64) -> FuelRatio);
    let definitions: [Definition; 6] = [
        (
            "equivalence_ratio",
            (0.05, 20.0),
            FuelRatio::EquivalenceRatio,
        ),
        ("oxidiser_to_fuel", (0.05, 20.0), FuelRatio::OxidiserToFuel),
        ("lambda", (0.05, 20.0), FuelRatio::OxidiserToFuel),
        ("fuel_per_nitrate", (0.001, 50.0), FuelRatio::FuelPerNitrate),
        ("fuel_per_metal", (0.001, 100.0), FuelRatio::FuelPerMetal),
        ("percent_of_stoichiometric", (5.0, 2000.0), |written| {
            FuelRatio::EquivalenceRatio(Ratio::new::<percent>(written).get::<ratio>())
        }),
    ];
    let mut written = Vec::new();
    let mut read = Vec::new();
    for (key, range, make) in definitions {
        if section.has(key) {
            written.push(key);
            if let Some(number) = section.number_within(key, range) {
                read.push((make(number.value), number.span));
            }
        }
    }
    match written.len() {
        0 => section.missing("equivalence_ratio", "1.0"),
        1 => return read.pop(),
        _ => section.mistake(
            section.span.clone(),
            format!(
                "the fuel ratio is given {} times ({})",
                written.len(),
                written.join(", ")
            ),
        ),
    }
    None
}

/// The one scale that the target names.
fn scale_of(section: &Section<'_>, drafts: &[Draft], tables: &Tables) -> Option<Scale> {
    let range = "1 mg and 5 kg";
    let product = section.quantity_within("product_mass", parse::mass, range);
    let total = section.quantity_within("total_mass", parse::mass, range);
    let limiting = section.quantity_within("limiting_mass", parse::mass, range);
    let substance_name = section.text("limiting_substance");
    let keys = ["product_mass", "total_mass", "limiting_mass"];
    match keys.iter().filter(|key| section.has(key)).count() {
        0 => {
            section.missing("product_mass", "\"2 g\"");
            return None;
        }
        1 => {}
        _ => {
            let message = "give one scale: `product_mass`, `total_mass` or `limiting_mass`";
            section.mistake(section.span.clone(), message);
            return None;
        }
    }
    if let Some(product) = product {
        return Some(Scale::ProductMass(product.value));
    }
    if let Some(total) = total {
        return Some(Scale::TotalMass(total.value));
    }
    let mass = limiting?.value;
    let Some(name) = substance_name else {
        section.missing("limiting_substance", "\"Al(NO3)3·9H2O\"");
        return None;
    };
    let wanted = tables.reactants.find(name.value);
    let at = wanted
        .ok()
        .and_then(|w| drafts.iter().position(|draft| draft.reactant.id == w.id));
    if at.is_none() {
        let message = format!("`{}` is not among the ingredients", name.value);
        section.mistake(name.span, message);
    }
    at.map(|at| Scale::IngredientMass(at, mass))
}

/// The formula with as much oxygen as its other elements bind at their oxidation states.
fn with_oxygen_from_charges(
    formula: &Formula,
    chosen: &BTreeMap<Element, f64>,
) -> Result<Formula, String> {
    let states = OxidationStates::with_choice(chosen);
    let mut oxygen = 0.0;
    for (&element, n) in formula
        .amounts()
        .iter()
        .filter(|(e, _)| **e != Element::OXYGEN)
    {
        oxygen += n * states.of(element).map_err(|error| error.to_string())? / 2.0;
    }
    let text = formula.to_string();
    // The oxygen stands last in an oxide's formula: `O`, `O3` or `O1.9`.
    let stem = match text.rfind('O') {
        Some(at)
            if text[at + 1..]
                .chars()
                .all(|c| c.is_ascii_digit() || c == '.') =>
        {
            &text[..at]
        }
        _ => &text,
    };
    // Oxygen inside, as in Zn(AlO2)2 or MgO·Al2O3: the elements one by one.
    let is_free =
        |stem: &str| Formula::parse(stem).is_ok_and(|stem| stem.amount_of(Element::OXYGEN) <= 0.0);
    let stem = if is_free(stem) {
        stem.to_owned()
    } else {
        let others = formula
            .amounts()
            .iter()
            .filter(|(e, _)| **e != Element::OXYGEN);
        others.map(|(element, n)| format!("{element}{n}")).collect()
    };
    let oxygen = format!("{oxygen:.6}");
    let oxygen = oxygen.trim_end_matches('0').trim_end_matches('.');
    Formula::parse(&format!("{stem}O{oxygen}"))
        .map_err(|error| format!("with its oxygen from the charges: {error}"))
}
