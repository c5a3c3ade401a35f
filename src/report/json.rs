//! The estimate of a batch as JSON. Units are in the names; amounts are for the
//! whole batch. A value that does not exist is `null`, never left out, so that readers can rely on
//! the keys.

use super::advice::{Safety, WarningView};
use super::burn::PurityBudget;
use super::cooling::{CooledTo, CoolingPath};
use super::expected::ExpectedBurn;
use super::ignition_json::NamedCourse;
use super::known_powder::KnownPowderRow;
use super::state_json::WaterStateBurn;
use super::view::{Named, json_of, list, view};
use crate::batch::{Batch, Dissolution, Ingredient};
use crate::burn::{HeatedBurn, Measured};
use crate::flame::LedgerEntry;
use crate::formula::Formula;
use crate::plan::{Plan, Refused, StateResult, UsedSource};
use crate::product::{ExpectedProduct, ProductModel};
use crate::quantity::AmountOfSubstance;
use crate::quantity::units::{gram, gram_per_mole, joule, kelvin, kelvins, mole, ratio};
use crate::redox::{RatioDefinitions, ValenceLine, ValenceTerm};
use crate::source::Seen;
use crate::tables::Tables;
use serde_json::Value;

/// The plan as a JSON value.
pub fn plan_json(plan: &Plan) -> Value {
    json_of(Estimate::from(plan))
}

/// What is written of a batch that is refused: why, and no estimate.
pub fn refusal_json(refused: &Refused) -> Value {
    json_of(Refusal::from(refused))
}

view! {
    /// A batch that is refused.
    result Refusal(refused: &Refused) {
        /// Name of the batch.
        name: String = refused.name.clone(),
        /// True: the batch is refused.
        refused: bool = true,
        /// Every reason, and the cautions beside them where the burn is known.
        warnings: Vec<WarningView> = list(&refused.warnings),
    }
}

view! {
    /// The estimate of a batch.
    result Estimate(plan: &Plan<'_>) {
        /// Name of the batch.
        name: String = plan.batch.name.clone(),
        /// False: the batch is not refused.
        refused: bool = false,
        /// Fuel ratio φ: total reducing valence over total oxidising valence.
        equivalence_ratio: f64 = plan.redox.equivalence_ratio.get::<ratio>(),
        /// "lean", "balanced" (within 1 %) or "rich".
        mixture: String = plan.redox.mixture.to_string(),
        /// The ratio as others define it.
        ratio_definitions: RatioByName = RatioByName::from(&plan.redox.definitions),
        /// Total reducing valence.
        reducing_valence_mol: f64 = plan.redox.reducing.get::<mole>(),
        /// Total oxidising valence.
        oxidising_valence_mol: f64 = plan.redox.oxidising.get::<mole>(),
        /// What goes in, as weighed.
        ingredients: Vec<WeighedIngredient> = list(&plan.batch.weighed),
        /// What the nitric acid makes of carbonates and oxides; null if there are none.
        dissolution: Option<DissolvedSources> = plan.batch.dissolution().as_ref().map(DissolvedSources::from),
        /// The redox sum line by line.
        valence_sum: Vec<ValenceOf> = list(&plan.redox.lines),
        /// The equation of the burn as text.
        balanced_equation: String = plan.equation.to_string(),
        /// The expected powder.
        product: Powder = Powder::from(&plan.product),
        /// The expected burn.
        expected: ExpectedBurn = ExpectedBurn::from(&plan.expected),
        /// The burn by the water that is left.
        water_states: Vec<WaterStateBurn> = plan.states.iter().zip(plan.other_burns())
            .map(|(state, other)| WaterStateBurn::from((plan, state, other)))
            .collect(),
        /// Where the heat goes: each state of the water adds up to 0.
        ledger: Vec<LedgerLine> = plan.states.iter()
            .flat_map(|state| state.complete.ledger.entries.iter().map(move |entry| (state, entry).into()))
            .collect(),
        /// Powder and gas of the expected burn, from its peak down; empty without one.
        expected_cooling: Vec<CooledTo> = list(&plan.powder),
        /// The same, by the water that is left.
        cooling: Vec<CoolingPath> = plan.cooled().iter().zip(&plan.states)
            .map(|(cooled, result)| CoolingPath::from((plan, cooled, result)))
            .collect(),
        /// The course of heating and the burn after it; null without a stated way.
        heated: Option<BurnAfterHeating> = plan.heated.as_ref()
            .map(|heated| BurnAfterHeating::from((&plan.batch, heated))),
        /// Parts that could not be worked out, with the reason.
        failures: Vec<String> = plan.failures.clone(),
        /// A run of the file against the estimate; null without one.
        run: Option<RunAgainstEstimate> = plan.run.as_ref().map(RunAgainstEstimate::from),
        /// What the tables know of powders like the target.
        known_powders: Vec<KnownPowderRow> = super::burn::known_powder_rows(plan),
        /// Impurities of the powder; null if no bottle states its purity.
        purity: Option<PurityBudget> = plan.purity.as_ref().map(PurityBudget::from),
        /// Warnings, the gravest first.
        warnings: Vec<WarningView> = list(&plan.advice.warnings),
        /// Violence, vessel, fumes and air of the room.
        safety: Safety = Safety::from(&plan.advice),
        /// Sources used.
        sources: Vec<SourceUsed> = plan.sources.iter()
            .map(|used| SourceUsed::from((used, plan.tables)))
            .collect(),
    }
}

view! {
    /// The fuel ratio as others define it.
    RatioByName(definitions: &RatioDefinitions) {
        /// φ: total reducing valence over total oxidising valence.
        equivalence_ratio: f64 = definitions.equivalence_ratio.get::<ratio>(),
        /// Oxidising over reducing valence.
        oxidiser_to_fuel: f64 = definitions.oxidiser_to_fuel.get::<ratio>(),
        /// 1/φ.
        lambda: f64 = definitions.oxidiser_to_fuel.get::<ratio>(),
        /// Mole of fuel per mole of nitrate; null without nitrate.
        fuel_per_nitrate: Option<f64> = definitions.fuel_per_nitrate.map(|r| r.get::<ratio>()),
        /// Mole of fuel per mole of metal; null without metal.
        fuel_per_metal: Option<f64> = definitions.fuel_per_metal.map(|r| r.get::<ratio>()),
        /// Fuel in percent of what φ = 1 needs.
        percent_of_stoichiometric: f64 = definitions.percent_of_stoichiometric,
    }
}

view! {
    /// An ingredient as weighed.
    WeighedIngredient(ingredient: &Ingredient) {
        /// Name, as in the tables.
        name: String = ingredient.reactant.name.clone(),
        /// Formula, crystal water last.
        formula: String = ingredient.reactant.formula.to_string(),
        /// What it does in the batch: oxidiser, fuel, solvent …
        role: String = ingredient.reactant.role.to_string(),
        /// Amount.
        amount_mol: f64 = ingredient.amount.get::<mole>(),
        /// Mass.
        mass_g: f64 = ingredient.mass.get::<gram>(),
        /// Share by mass that is the substance.
        assay: f64 = ingredient.assay.get::<ratio>(),
        /// Molar mass.
        molar_mass_g_per_mol: f64 = ingredient.reactant.formula.molar_mass().get::<gram_per_mole>(),
        /// Water that it brings as solvent.
        solvent_water_mol: f64 = ingredient.solvent_water().get::<mole>(),
        /// True if its amount was worked out from the target.
        worked_out: bool = ingredient.worked_out,
    }
}

view! {
    /// What the nitric acid of the batch makes of its sources.
    DissolvedSources(found: &Dissolution) {
        /// Nitric acid in the batch.
        acid_mol: f64 = found.acid.get::<mole>(),
        /// Nitric acid used up.
        acid_used_mol: f64 = found.needed.get::<mole>(),
        /// Nitric acid left over.
        acid_left_mol: f64 = found.left_over().get::<mole>(),
        /// Carbon dioxide given off.
        carbon_dioxide_mol: f64 = found.carbon_dioxide.get::<mole>(),
        /// Nitrates that form.
        salts: Vec<DissolvedSalt> = list(&found.salts),
    }
}

view! {
    /// A nitrate that forms.
    DissolvedSalt((source, salt, amount): &(Formula, Formula, AmountOfSubstance)) {
        /// What it comes from.
        of: String = source.to_string(),
        /// Formula, crystal water last.
        formula: String = salt.to_string(),
        /// Amount.
        amount_mol: f64 = amount.get::<mole>(),
    }
}

view! {
    /// The valence of an ingredient.
    ValenceOf(line: &ValenceLine) {
        /// Formula, crystal water last.
        formula: String = line.formula.to_string(),
        /// The elements of the formula.
        terms: Vec<ValenceOfElement> = list(&line.terms),
        /// Valence of one formula.
        per_formula: f64 = line.per_formula,
        /// Amount.
        amount_mol: f64 = line.amount.get::<mole>(),
        /// Valence of the whole amount.
        total_mol: f64 = line.total.get::<mole>(),
    }
}

view! {
    /// An element in a valence sum.
    ValenceOfElement(term: &ValenceTerm) {
        /// Symbol of the element.
        element: &'static str = term.element.symbol(),
        /// Atoms in one formula.
        count: f64 = term.count,
        /// Oxidation state in the products.
        oxidation_state: f64 = term.oxidation_state,
    }
}

view! {
    /// The expected powder.
    Powder(product: &ExpectedProduct) {
        /// Name.
        name: String = product.name.clone(),
        /// How it is counted: "tabulated", "end members" (a solid solution of the tables), "no phase" (a
        /// mixture, since the tables hold none) or "simple oxides".
        model: &'static str = match product.model {
            ProductModel::Tabulated => "tabulated",
            ProductModel::EndMembers => "end members",
            ProductModel::NoPhase => "no phase",
            ProductModel::SimpleOxides => "simple oxides",
        },
        /// Mass.
        mass_g: f64 = product.mass.get::<gram>(),
        /// Amounts of its phases.
        phases_mol: Named<f64> = product.phases.iter()
            .map(|p| (p.formula.to_string(), p.amount.get::<mole>()))
            .collect(),
    }
}

view! {
    /// A line of the ledger of heat.
    LedgerLine((state, entry): (&StateResult, &LedgerEntry)) {
        /// State of the water: "as mixed", "boiled down", "dried" or "at ignition".
        water_state: String = state.state.name.to_string(),
        /// Code of the line.
        item: &'static str = entry.item.code(),
        /// As a sentence.
        text: String = entry.item.to_string(),
        /// Heat: in is positive.
        energy_j: f64 = entry.energy.get::<joule>(),
    }
}

view! {
    /// The course of heating and the burn after it.
    BurnAfterHeating((batch, heated): (&Batch, &HeatedBurn)) {
        /// The course of heating.
        course: NamedCourse = NamedCourse::from((batch, &heated.judged)),
        /// Share of all water left at ignition that the file states; null if it states none.
        water_left_stated: Option<f64> = heated.stated_water.map(|share| share.get::<ratio>()),
        /// What burns; null if it does not light.
        at_ignition: Option<LeftAtIgnition> = heated.ignited.as_ref().map(|ignited| LeftAtIgnition {
            equivalence_ratio: ignited.equivalence_ratio.get::<ratio>(),
            start_temperature_k: heated.judged.course.start_temperature.get::<kelvin>(),
        }),
    }
}

/// What burns after heating.
#[derive(serde::Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
pub(in crate::report) struct LeftAtIgnition {
    /// Fuel ratio φ after the loss of fuel and nitrate.
    equivalence_ratio: f64,
    /// Temperature at which the burn starts.
    start_temperature_k: f64,
}

view! {
    /// A run held against its estimate.
    RunAgainstEstimate(measured: &Measured) {
        /// Peak that was read over the bound with all water gone.
        peak_minus_dried_bound_k: Option<f64> = measured.below_dried.map(|d| d.get::<kelvins>()),
        /// Share of heat lost that would explain the peak, had all water left.
        heat_loss_if_dry: Option<f64> = measured.loss_if_dry.map(|r| r.get::<ratio>()),
        /// Share of water left that would explain the peak without loss.
        water_left_if_no_loss: Option<f64> = measured.water_if_no_loss.map(|r| r.get::<ratio>()),
        /// Powder over what was expected.
        powder_yield: Option<f64> = measured.powder_yield.map(|r| r.get::<ratio>()),
    }
}

view! {
    /// A source and what it was used for.
    SourceUsed((used, tables): (&UsedSource, &Tables)) {
        /// Key.
        key: String = used.id.to_string(),
        /// Title.
        title: Option<String> = tables.sources.get(&used.id).map(|s| s.title.clone()),
        /// Where it is found.
        address: Option<String> = tables.sources.get(&used.id).map(|s| s.address.clone()),
        /// How the least certain value from it was found.
        seen: Seen = used.seen,
        /// What it was used for.
        used_for: Vec<String> = used.used_for.clone(),
    }
}
