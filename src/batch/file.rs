//! Reads the sections of a batch file.

use super::section::{Mistakes, Section, Written};
use super::target::{self, FuelRatio, Request, Scale, ShareBasis};
use super::{Batch, BatchError, Conditions, Ingredient, SpeciesChoice, Stock, WaterAtIgnition};
use crate::formula::{Element, Formula, FormulaError};
use crate::quantity::{
    AmountOfSubstance, Mass, MolarConcentration, Ratio, ThermodynamicTemperature, Volume, parse,
};
use crate::redox::OxidationStates;
use crate::tables::{Reactant, Role, Tables};
use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::Arc;
use toml::de::DeTable;
use uom::si::amount_of_substance::mole;
use uom::si::energy::kilojoule;
use uom::si::mass::{gram, kilogram, microgram};
use uom::si::mass_density::gram_per_cubic_centimeter;
use uom::si::molar_concentration::mole_per_liter;
use uom::si::pressure::bar;
use uom::si::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::volume::{liter, microliter};

/// Density of water at 25 °C in g/cm³: 0.997 05, rounded. Stock solutions are taken as water by
/// volume, which is right within some percent below 0.5 mol/L.
const WATER_DENSITY: f64 = 0.997;

/// An ingredient as the file gives it.
pub(super) struct Draft {
    pub span: Range<usize>,
    pub reactant: Arc<Reactant>,
    pub assay: Ratio,
    pub assay_band: Option<Ratio>,
    pub hydrate_range: Option<(f64, f64)>,
    pub share: Option<f64>,
    pub per_product: Option<f64>,
    pub stock_concentration: Option<MolarConcentration>,
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
            None => AmountOfSubstance::new::<mole>(0.0),
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
            worked_out: true,
        }
    }
}

fn water_of(mass: Mass) -> AmountOfSubstance {
    mass / super::water_molar_mass()
}

fn water_in(volume: Volume) -> AmountOfSubstance {
    let density = crate::quantity::MassDensity::new::<gram_per_cubic_centimeter>(WATER_DENSITY);
    water_of(volume * density)
}

/// Reads a whole file.
pub(super) fn read(text: &str, origin: &str, tables: &Tables) -> Result<Batch, BatchError> {
    let mistakes = Mistakes::new(text);
    let (table, syntax) = DeTable::parse_recoverable(text);
    for error in &syntax {
        mistakes.add(error.span().unwrap_or(0..0), error.message());
    }
    let batch = if syntax.is_empty() {
        let root = Section::new(table.get_ref(), 0..0, "the file", &mistakes);
        sections(root, tables, &mistakes)
    } else {
        None
    };
    match batch {
        Some(batch) if mistakes.is_empty() => Ok(batch),
        _ => Err(BatchError {
            origin: origin.to_owned(),
            mistakes: mistakes.into_sorted(),
        }),
    }
}

fn sections(root: Section<'_>, tables: &Tables, mistakes: &Mistakes<'_>) -> Option<Batch> {
    let name = root
        .text("name")
        .map_or_else(|| "unnamed batch".to_owned(), |w| w.value.to_owned());
    let _ = root.text("note");
    let chosen = root
        .section("oxidation_states")
        .map(oxidation_states)
        .unwrap_or_default();
    let water_at_ignition = root
        .section("water")
        .map_or(WaterAtIgnition::NotStated, water_at_ignition);
    let conditions = root
        .section("conditions")
        .map(conditions)
        .unwrap_or_default();
    let balances = root
        .sections("balance")
        .into_iter()
        .filter_map(super::balance::read)
        .collect();
    let glassware = root.section("glassware").map(super::glassware::read);
    let heating = root
        .section("heating")
        .map(|section| super::heating::read(section, tables));
    let vessel = root
        .section("vessel")
        .and_then(|section| super::vessel::read(section, &tables.safety.vessels));
    let room = root.section("room").and_then(super::room::read);
    let run = root.section("run").map(super::run::read);
    let wanted = root
        .section("wanted")
        .map(|section| super::wanted::read(section, tables));
    let written = root.sections("ingredient");
    let count = written.len();
    if count == 0 {
        let message = "the file lists no [[ingredient]]: add at least a metal nitrate and a fuel";
        mistakes.add(0..0, message);
    }
    let target_section = root.section("target");
    let has_target = target_section.is_some();
    let drafts: Vec<Draft> = written
        .into_iter()
        .filter_map(|section| draft(section, tables, has_target))
        .collect();
    let complete = drafts.len() == count;
    let request = target_section.and_then(|section| request(section, &drafts, tables));
    root.finish();
    if !complete || !mistakes.is_empty() {
        return None;
    }
    let mut states = OxidationStates::with_choice(&chosen);
    let mut unbound_oxygen = 0.0;
    let (target, ingredients) = if let Some(request) = request {
        unbound_oxygen = fit_states(&mut states, &request, mistakes)?;
        let (target, ingredients) = target::resolve(&request, &drafts, &states, mistakes)?;
        (Some(target), ingredients)
    } else {
        (
            None,
            drafts.into_iter().filter_map(|draft| draft.fixed).collect(),
        )
    };
    let batch = Batch {
        name,
        ingredients,
        target,
        chosen_states: chosen,
        states,
        unbound_oxygen,
        water_at_ignition,
        conditions,
        vessel,
        room,
        run,
        balances,
        glassware,
        wanted,
        heating,
    };
    if let Err(error) = batch.redox() {
        mistakes.add(0..0, error.to_string());
    }
    Some(batch)
}

/// Most oxygen, as a share of the target's, that may be left unbound or lacking: a doped formula
/// written with the host's oxygen is off by that much; a wrong charge is off by more.
pub(super) const OXYGEN_TOLERANCE: f64 = 0.03;

fn fit_states(
    states: &mut OxidationStates,
    request: &Request,
    mistakes: &Mistakes<'_>,
) -> Option<f64> {
    let oxygen = request.formula.amount_of(Element::OXYGEN);
    match states.fit_to(&request.formula) {
        Ok(left) if left.abs() <= OXYGEN_TOLERANCE * oxygen => Some(left),
        Ok(left) => {
            let message = format!(
                "the charges of {} do not balance: its metals bind {:.3} oxygen, the formula has \
                 {oxygen:.3}; mend the formula or give oxidation states under [oxidation_states]",
                request.formula,
                oxygen - left
            );
            mistakes.add(request.formula_span.clone(), message);
            None
        }
        Err(error) => {
            mistakes.add(request.formula_span.clone(), error.to_string());
            None
        }
    }
}

fn oxidation_states(section: Section<'_>) -> BTreeMap<Element, f64> {
    let mut states = BTreeMap::new();
    for (key, value) in section.free_keys() {
        let Some(element) = Element::from_symbol(key.value) else {
            section.mistake(key.span, format!("`{}` is no element symbol", key.value));
            continue;
        };
        let number = match value.get_ref() {
            toml::de::DeValue::Integer(n) => n.as_str().parse::<f64>().ok(),
            toml::de::DeValue::Float(n) => n.as_str().parse::<f64>().ok(),
            _ => None,
        };
        let range = OxidationStates::allowed(element).unwrap_or((-4.0, 8.0));
        match number {
            Some(n) if n >= range.0 && n <= range.1 => {
                states.insert(element, n);
            }
            _ => {
                let message = format!(
                    "the oxidation state of {element} should be a number from {} to {}",
                    range.0, range.1
                );
                section.mistake(value.span(), message);
            }
        }
    }
    states
}

fn water_at_ignition(section: Section<'_>) -> WaterAtIgnition {
    let key = "left_at_ignition";
    let from_model = section.has(key)
        && matches!(
            section.free_keys().iter().find(|(k, _)| k.value == key),
            Some((_, value)) if value.get_ref().as_str() == Some("from ignition")
        );
    let stated = if from_model {
        WaterAtIgnition::FromIgnition
    } else {
        section
            .number_within(key, (0.0, 1.0))
            .map_or(WaterAtIgnition::NotStated, |w| {
                WaterAtIgnition::Fraction(Ratio::new::<ratio::ratio>(w.value))
            })
    };
    section.finish();
    stated
}

fn conditions(section: Section<'_>) -> Conditions {
    let mut conditions = Conditions::default();
    let celsius = ThermodynamicTemperature::new::<degree_celsius>;
    let range = (celsius(-20.0), celsius(300.0), "between −20 °C and 300 °C");
    if let Some(start) = section.quantity_within("start", parse::temperature, range) {
        conditions.start = start.value;
    }
    let pressure = crate::quantity::Pressure::new::<bar>;
    let range = (
        pressure(0.3),
        pressure(1.2),
        "between 0.3 bar and 1.2 bar: the pot is open",
    );
    if let Some(p) = section.quantity_within("pressure", parse::pressure, range) {
        conditions.pressure = p.value;
    }
    let share = |key, most| {
        section
            .number_within(key, (0.0, most))
            .map(|w: Written<f64>| Ratio::new::<ratio::ratio>(w.value))
    };
    conditions.heat_loss = share("heat_loss", 0.95).unwrap_or(conditions.heat_loss);
    conditions.air_drawn_in = share("air_drawn_in", 1.0).unwrap_or(conditions.air_drawn_in);
    let energy = crate::quantity::Energy::new::<kilojoule>;
    let range = (energy(0.0), energy(200.0), "between 0 and 200 kJ");
    if let Some(heat) = section.quantity_within("external_heat", parse::energy, range) {
        conditions.external_heat = heat.value;
    }
    let words = [("full", SpeciesChoice::Full), ("fast", SpeciesChoice::Fast)];
    if let Some(species) = section.choice("species", &words) {
        conditions.species = species.value;
    }
    section.finish();
    conditions
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

fn draft(section: Section<'_>, tables: &Tables, has_target: bool) -> Option<Draft> {
    let name = section.required_text("substance", "\"Al(NO3)3·9H2O\"");
    let hydrate_x = section
        .number_within("hydrate_x", (0.0, 24.0))
        .map(|w| w.value);
    let range = section
        .text("hydrate_range")
        .and_then(|w| hydrate_range(&section, &w));
    let assay = section.number_within("assay", (0.01, 1.0)).map(|w| w.value);
    let band = section
        .number_within("assay_band", (0.0, 0.5))
        .map(|w| w.value);
    let share = section.number_within("share", (0.0, 1.0)).map(|w| w.value);
    let per_product = section
        .number_within("per_product", (1e-6, 10.0))
        .map(|w| w.value);
    let given = Given::read(&section);
    let span = name
        .as_ref()
        .map_or_else(|| section.span.clone(), |w| w.span.clone());
    let found = name.and_then(|w| match substance(w.value, hydrate_x, tables) {
        Ok(reactant) => Some(reactant),
        Err(message) => {
            section.mistake(w.span, message);
            None
        }
    });
    let draft = found.and_then(|reactant| {
        let draft = Draft {
            span: span.clone(),
            assay: Ratio::new::<ratio::ratio>(assay.unwrap_or(1.0)),
            reactant: Arc::new(reactant),
            assay_band: band.map(Ratio::new::<ratio::ratio>),
            hydrate_range: range,
            share,
            per_product,
            stock_concentration: given.concentration,
            fixed: None,
        };
        complete(&section, draft, &given, has_target)
    });
    section.finish();
    draft
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
            let liquid = draft.reactant.state != crate::tables::State::Solid;
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
    density: Option<crate::quantity::MassDensity>,
}

impl Given {
    fn read(section: &Section<'_>) -> Self {
        let mass = Mass::new::<microgram>(1.0);
        let masses = (mass, Mass::new::<kilogram>(5.0), "between 1 µg and 5 kg");
        let volumes = (
            Volume::new::<microliter>(1.0),
            Volume::new::<liter>(5.0),
            "between 1 µL and 5 L",
        );
        let amounts = (
            AmountOfSubstance::new::<mole>(1e-9),
            AmountOfSubstance::new::<mole>(300.0),
            "between 1 nmol and 300 mol",
        );
        let concentrations = (
            MolarConcentration::new::<mole_per_liter>(1e-6),
            MolarConcentration::new::<mole_per_liter>(20.0),
            "between 1 µmol/L and 20 mol/L",
        );
        let density = crate::quantity::MassDensity::new::<gram_per_cubic_centimeter>;
        let densities = (density(0.5), density(5.0), "between 0.5 g/mL and 5 g/mL");
        Self {
            mass: section
                .quantity_within("mass", parse::mass, masses)
                .map(|w| w.value),
            volume: section
                .quantity_within("volume", parse::volume, volumes)
                .map(|w| w.value),
            amount: section
                .quantity_within("amount", parse::amount, amounts)
                .map(|w| w.value),
            concentration: section
                .quantity_within("concentration", parse::concentration, concentrations)
                .map(|w| w.value),
            density: section
                .quantity_within("density", parse::density, densities)
                .map(|w| w.value),
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

fn request(section: Section<'_>, drafts: &[Draft], tables: &Tables) -> Option<Request> {
    let written = section.required_text("formula", "\"ZnAl2O4\"");
    let formula_span = written
        .as_ref()
        .map_or(section.span.clone(), |w| w.span.clone());
    let formula = written.and_then(|w| match Formula::parse(w.value) {
        Ok(formula) => Some(formula),
        Err(error) => {
            section.mistake(w.span, error.to_string());
            None
        }
    });
    let ratio = ratio_of(&section);
    let scale = scale_of(&section, drafts, tables);
    let words = [
        ("valence", ShareBasis::Valence),
        ("amount", ShareBasis::Amount),
    ];
    let share_basis = section
        .choice("share_basis", &words)
        .map(|w| w.value)
        .unwrap_or_default();
    section.finish();
    let (ratio, ratio_span) = ratio?;
    Some(Request {
        formula: formula?,
        formula_span,
        ratio,
        ratio_span,
        scale: scale?,
        share_basis,
    })
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
        ("percent_of_stoichiometric", (5.0, 2000.0), |percent| {
            FuelRatio::EquivalenceRatio(
                Ratio::new::<uom::si::ratio::percent>(percent).get::<ratio::ratio>(),
            )
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
    let range = || {
        (
            Mass::new::<gram>(1e-3),
            Mass::new::<kilogram>(5.0),
            "between 1 mg and 5 kg",
        )
    };
    let product = section.quantity_within("product_mass", parse::mass, range());
    let total = section.quantity_within("total_mass", parse::mass, range());
    let limiting = section.quantity_within("limiting_mass", parse::mass, range());
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
