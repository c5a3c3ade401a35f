//! Reads one `[[ingredient]]`: which substance, and how much of it if the file says.

use super::dissolves::Dissolves;
use super::label::{self, Label};
use super::section::{Section, Written, value};
use super::weighed::{Ingredient, Stock, water_molar_mass};
use crate::formula::{Formula, FormulaError};
use crate::quantity::units::{gram_per_cubic_centimeter, ratio};
use crate::quantity::{
    AmountOfSubstance, Mass, MassDensity, MolarConcentration, Ratio, Volume, parse,
};
use crate::tables::{Reactant, Role, State, Tables};
use crate::visible::visible;
use std::ops::Range;
use std::sync::Arc;

/// Density of water at 25 °C in g/cm³: 0.997 05, rounded. Stock solutions are taken as water by
/// volume, which is right within some percent below 0.5 mol/L.
const WATER_DENSITY: f64 = 0.997;

/// An assay below this is asked back: it is a slip more often than a bottle.
const LOW_ASSAY: f64 = 0.5;

/// An ingredient as the file gives it.
pub(super) struct Draft {
    pub span: Range<usize>,
    pub reactant: Arc<Reactant>,
    /// Mass fraction of the reactant in what is weighed: assay, times its share in a solution.
    pub assay: Ratio,
    /// Molecules of solvent water that come with each formula unit in a solution as sold.
    pub solution_water: f64,
    pub assay_band: Option<Ratio>,
    pub hydrate_range: Option<(f64, f64)>,
    pub share: Option<f64>,
    pub per_product: Option<f64>,
    pub stock_concentration: Option<MolarConcentration>,
    pub label: Label,
    /// What the file calls it, where that leaves the hydrate open.
    pub hydrate_open: Option<String>,
    /// What nitric acid makes of it.
    pub dissolves: Option<Arc<Dissolves>>,
    /// The ingredient, if the file gives its amount.
    pub fixed: Option<Ingredient>,
}

impl Draft {
    /// The ingredient with `amount` of the pure substance.
    pub fn with_amount(&self, amount: AmountOfSubstance) -> Ingredient {
        let molar_mass = self.reactant.formula.molar_mass();
        let pure: Mass = amount * molar_mass;
        let stock = self.stock_concentration.map(|concentration| Stock {
            volume: amount / concentration,
            concentration,
        });
        let carried_water = match stock {
            Some(stock) => water_in(stock.volume),
            None => self.solution_water * amount,
        };
        Ingredient {
            reactant: Arc::clone(&self.reactant),
            amount,
            mass: pure / self.assay,
            assay: self.assay,
            carried_water,
            stock,
            volume: stock.map(|stock| stock.volume),
            hydrate_range: self.hydrate_range,
            assay_band: self.assay_band,
            label: self.label.clone(),
            worked_out: true,
            hydrate_open: self.hydrate_open.clone(),
            dissolves: self.dissolves.clone(),
        }
    }
}

fn water_of(mass: Mass) -> AmountOfSubstance {
    mass / water_molar_mass()
}

fn water_in(volume: Volume) -> AmountOfSubstance {
    let density = crate::quantity::MassDensity::new::<gram_per_cubic_centimeter>(WATER_DENSITY);
    water_of(volume * density)
}

/// The substance that a text and, for a bottle of unknown hydrate, its water number mean.
fn substance(text: &str, hydrate_x: Option<f64>, tables: &Tables) -> Result<Reactant, String> {
    let reactants = &tables.reactants;
    if let Some(reason) = reactants.refusal(text) {
        return Err(format!("`{text}` is refused: {reason}"));
    }
    if hydrate_x.is_none() {
        if let Err(error @ FormulaError::WaterUnknown { .. }) = Formula::parse(text) {
            return Err(error.to_string());
        }
    }
    reactants
        .resolve(text, hydrate_x)
        .map_err(|error| error.to_string())
}

pub(super) fn draft(section: Section<'_>, tables: &Tables, has_target: bool) -> Option<Draft> {
    let name = section.required_text("substance", "\"Al(NO3)3·9H2O\"");
    let hydrate_x = value(section.number_within("hydrate_x", (0.0, 24.0)));
    let range = section
        .text("hydrate_range")
        .and_then(|w| hydrate_range(&section, &w));
    let assay = section.number_within("assay", (0.01, 1.0));
    let dissolves = section.flag("dissolves");
    let low_assay = section.flag("assay_is_low").is_some_and(|w| w.value);
    let band = value(section.number_within("assay_band", (0.0, 0.5)));
    let share = value(section.number_within("share", (0.0, 1.0)));
    let per_product = value(section.number_within("per_product", (1e-6, 10.0)));
    let given = Given::read(&section);
    let span = name
        .as_ref()
        .map_or_else(|| section.span.clone(), |w| w.span.clone());
    let by_analysis = section.has("analysis") || section.has("heat_of_combustion");
    let hydrate_open = name
        .as_ref()
        .filter(|w| hydrate_x.is_none() && tables.reactants.usual_hydrate(w.value).is_some())
        .map(|w| visible(w.value).into_owned());
    let found = name.and_then(|w| match substance(w.value, hydrate_x, tables) {
        _ if by_analysis => super::analysed::fuel(&section, w.value, tables),
        Ok(reactant) => Some(reactant),
        Err(message) => {
            section.mistake(w.span, message);
            None
        }
    });
    if let (Some(written), Some(reactant)) = (&assay, &found) {
        if written.value < LOW_ASSAY && !low_assay && reactant.role != Role::Acid {
            let message = format!(
                "an assay of {:.3} % is unusual for {}: if the bottle is meant so, add \
                 `assay_is_low = true`; a share given as a fraction is written like 0.985",
                100.0 * written.value,
                reactant.name
            );
            section.mistake(written.span.clone(), message);
        }
    }
    let label = label::read(&section, found.as_ref());
    let draft = found.and_then(|bottle| {
        let molar_mass = bottle.formula.molar_mass();
        let (reactant, solution_water) = match tables.reactants.dissolved(&bottle) {
            Some((solute, water)) if given.concentration.is_none() => (solute, water),
            Some((solute, _)) => (solute, 0.0),
            None => (bottle, 0.0),
        };
        let in_solution: Ratio = match solution_water > 0.0 {
            true => reactant.formula.molar_mass() / molar_mass,
            false => Ratio::new::<ratio>(1.0),
        };
        let made = dissolved(&section, &reactant, dissolves.as_ref(), tables)?;
        let draft = Draft {
            span: span.clone(),
            assay: assay.as_ref().map_or(1.0, |w| w.value) * in_solution,
            solution_water,
            reactant: Arc::new(reactant),
            assay_band: band.map(Ratio::new::<ratio>),
            hydrate_range: range,
            share,
            per_product,
            stock_concentration: given.concentration,
            label,
            hydrate_open: hydrate_open.clone(),
            dissolves: made.map(Arc::new),
            fixed: None,
        };
        complete(&section, draft, &given, has_target)
    });
    section.finish();
    draft
}

/// What nitric acid makes of a substance, as the file's `dissolves` has it: left out, all but what
/// hardly dissolves. `None` if a mistake was noted.
#[allow(clippy::option_option)]
fn dissolved(
    section: &Section<'_>,
    reactant: &Reactant,
    asked: Option<&Written<bool>>,
    tables: &Tables,
) -> Option<Option<Dissolves>> {
    let wanted = asked.is_some_and(|w| w.value);
    let made = Dissolves::of(reactant, wanted, tables);
    match asked {
        Some(written) if written.value && made.is_none() => {
            let message = format!(
                "{} makes no nitrate with nitric acid: leave `dissolves` out",
                reactant.name
            );
            section.mistake(written.span.clone(), message);
            None
        }
        Some(written) if !written.value => Some(None),
        _ => Some(made),
    }
}

/// Fills in the amount that the file gives, or notes that one is missing or given twice.
fn complete(
    section: &Section<'_>,
    mut draft: Draft,
    given: &Given,
    has_target: bool,
) -> Option<Draft> {
    let role = draft.reactant.role;
    let ways = [
        given.mass.is_some(),
        given.volume.is_some(),
        given.amount.is_some(),
    ];
    let count = ways.iter().filter(|way| **way).count();
    if given.concentration.is_some() && given.mass.is_some() {
        let message = "a stock solution is taken by `volume`, or by `amount`, not by `mass`";
        section.mistake(draft.span.clone(), message);
        return None;
    }
    if draft.per_product.is_some() && !(has_target && count == 0) {
        let message = "`per_product` goes with a [target] and without an amount";
        section.mistake(draft.span.clone(), message);
        return None;
    }
    match count {
        1 => {
            draft.fixed = Some(fixed(section, &draft, given)?);
            Some(draft)
        }
        0 if has_target && role != Role::Solvent => Some(draft),
        // Written, but not understood: that mistake is noted already.
        0 if ["mass", "volume", "amount"]
            .iter()
            .any(|key| section.has(key)) =>
        {
            None
        }
        0 => {
            let wanted = if role == Role::Solvent {
                "`volume`"
            } else {
                "`mass`"
            };
            let message = format!("{} has no amount: add its {wanted}", draft.reactant.name);
            section.mistake(draft.span.clone(), message);
            None
        }
        _ => {
            let message = "give one of `mass`, `volume` and `amount`, not several";
            section.mistake(draft.span.clone(), message);
            None
        }
    }
}

/// The ingredient whose amount the file gives.
fn fixed(section: &Section<'_>, draft: &Draft, given: &Given) -> Option<Ingredient> {
    let molar_mass = draft.reactant.formula.molar_mass();
    let by_mass = |mass: Mass| -> AmountOfSubstance { mass * draft.assay / molar_mass };
    let amount = match (given.mass, given.volume, given.amount, given.concentration) {
        (Some(mass), ..) => by_mass(mass),
        (_, Some(volume), _, Some(concentration)) => volume * concentration,
        (_, Some(volume), ..) => {
            let tabulated = draft.reactant.density.as_ref().map(|density| density.value);
            let liquid = draft.reactant.state != State::Solid;
            let Some(density) = given.density.or(tabulated.filter(|_| liquid)) else {
                let message = format!(
                    "{} is measured by volume, but no density of a liquid is known for it: give \
                     `mass`, `concentration` (of a stock solution) or `density`",
                    draft.reactant.name
                );
                section.mistake(draft.span.clone(), message);
                return None;
            };
            by_mass(volume * density)
        }
        (_, _, Some(amount), _) => amount,
        _ => return None,
    };
    let mut ingredient = draft.with_amount(amount);
    ingredient.worked_out = false;
    ingredient.volume = given.volume.or(ingredient.volume);
    Some(ingredient)
}

/// The quantities written for one ingredient.
struct Given {
    mass: Option<Mass>,
    volume: Option<Volume>,
    amount: Option<AmountOfSubstance>,
    concentration: Option<MolarConcentration>,
    density: Option<MassDensity>,
}

impl Given {
    fn read(section: &Section<'_>) -> Self {
        Self {
            mass: value(section.quantity_within("mass", parse::mass, "1 µg and 5 kg")),
            volume: value(section.quantity_within("volume", parse::volume, "1 µL and 5 L")),
            amount: value(section.quantity_within(
                "amount",
                parse::amount,
                "0.001 µmol and 300 mol",
            )),
            concentration: value(section.quantity_within(
                "concentration",
                parse::concentration,
                "0.001 mmol/L and 20 mol/L",
            )),
            density: value(section.quantity_within(
                "density",
                parse::density,
                "0.5 g/mL and 5 g/mL",
            )),
        }
    }
}

/// Reads `"5.5 to 6.5"`.
fn hydrate_range(section: &Section<'_>, written: &Written<&str>) -> Option<(f64, f64)> {
    let ends = written.value.split_once("to").and_then(|(low, high)| {
        Some((
            low.trim().parse::<f64>().ok()?,
            high.trim().parse::<f64>().ok()?,
        ))
    });
    let sound = ends.filter(|(low, high)| *low >= 0.0 && low <= high && *high <= 24.0);
    if sound.is_none() {
        let message = "`hydrate_range` should read like \"5.5 to 6.5\", within 0 to 24";
        section.mistake(written.span.clone(), message);
    }
    sound
}
