//! The calcine-and-weigh assay and the conversion to nitrate, as documents and JSON.

use super::burn::DEFERENCE;
use super::document::{Document, Section};
use super::number::{celsius_text, mass_text, plain, significant, volume_text};
use super::view::{json_of, view};
use crate::dissolution::{AcidPlan, ConvertInput};
use crate::quantity::units::{
    gram, gram_per_mole, kelvin, milliliter, millimole, mole, percent, ratio,
};
use crate::quantity::{AmountOfSubstance, Mass};
use crate::weigh::calcine::{Calcination, FoundWater};
use serde_json::Value;

/// What a calcination is planned and evaluated with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CalcineInput {
    /// Molecules of water that the label or the trade lets expect.
    pub expected: f64,
    /// Standard uncertainty of a mass on the balance used.
    pub mass_uncertainty: Mass,
    /// Standard uncertainty of x that is wanted.
    pub wanted: f64,
    /// Mass of the sample and of the residue, if weighed.
    pub masses: Option<(Mass, Mass)>,
}

/// The procedure, and the result if there is one.
pub fn calcine_document(
    calcination: &Calcination,
    input: &CalcineInput,
    found: Option<&FoundWater>,
) -> Document {
    let mut section = Section::default();
    for (at, step) in steps(calcination, input).into_iter().enumerate() {
        section.fact(&format!("[ ] {}", at + 1), step);
    }
    if !calcination.oxide.caution.is_empty() {
        section.text(format!("Mind: {}", calcination.oxide.caution));
    }
    if let (Some(found), Some((sample, left))) = (found, input.masses) {
        result(found, sample, left, &mut section);
    }
    section.text(DEFERENCE);
    Document::new(
        format!(
            "Crystal water of {}·xH2O by calcination to {}",
            calcination.salt, calcination.oxide.formula
        ),
        vec![section],
    )
}

fn steps(calcination: &Calcination, input: &CalcineInput) -> Vec<String> {
    let least = calcination.least_sample(input.expected, input.wanted, input.mass_uncertainty);
    let residue = calcination.residue(input.expected);
    let at = calcination.oxide.calcine_at.as_ref();
    let temperature = at.map_or(String::new(), |t| celsius_text(t.value));
    vec![
        "ignite a clean crucible at the same temperature, cool it in a desiccator, weigh it"
            .to_owned(),
        format!(
            "weigh in the sample from the middle of a freshly opened bottle, {} or more: crucible \
             + sample",
            mass_text(least)
        ),
        "dry it slowly under the hood (60 °C, then 120 °C), so that it does not spit; brown fumes \
         are nitrogen oxides"
            .to_owned(),
        format!("heat to {temperature} within 2 h, hold 1 h, cool in the desiccator, weigh"),
        "heat and weigh again until two weighings agree within the balance".to_owned(),
        format!(
            "sample = second − first, residue = last − first; expected for x = {}: {} % of the \
             sample",
            plain(input.expected, 3),
            significant(residue.get::<percent>(), 4)
        ),
        "do it three times: the scatter shows what the balance does not".to_owned(),
    ]
}

fn result(found: &FoundWater, sample: Mass, left: Mass, section: &mut Section) {
    let two = 2.0 * found.standard_uncertainty;
    section.text(format!(
        "{} left {}: {} %",
        mass_text(sample),
        mass_text(left),
        significant(found.residue.get::<percent>(), 5)
    ));
    section.text(format!(
        "x = {:.3} ± {two:.3} (95 %, weighing only); {:.2} g per mole as on the bottle",
        found.water,
        found.molar_mass.get::<gram_per_mole>()
    ));
    section.text("For the batch file:");
    section.verbatim(format!(
        "hydrate_x = {:.3}\nhydrate_range = \"{:.3} to {:.3}\"",
        found.water,
        (found.water - two).max(0.0),
        found.water + two
    ));
}

/// The same as a JSON value.
pub fn calcine_json(
    calcination: &Calcination,
    input: &CalcineInput,
    found: Option<&FoundWater>,
) -> Value {
    json_of(CrystalWater::from((calcination, input, found)))
}

view! {
    /// What `calcine` writes.
    result CrystalWater((calcination, input, found): (&Calcination<'_>, &CalcineInput, Option<&FoundWater>)) {
        /// The salt without crystal water.
        salt: String = calcination.salt.to_string(),
        /// What stays.
        residue: String = calcination.oxide.formula.to_string(),
        /// Residue in mole per mole of salt.
        residue_per_salt: f64 = calcination.per_salt,
        /// Temperature of calcining; null if the tables have none.
        calcine_at_k: Option<f64> =
            calcination.oxide.calcine_at.as_ref().map(|t| t.value.get::<kelvin>()),
        /// What to watch for.
        caution: String = calcination.oxide.caution.clone(),
        /// Water that is expected, per formula.
        expected_water: f64 = input.expected,
        /// Mass of residue over that of the sample for that water.
        expected_residue: f64 = calcination.residue(input.expected).get::<ratio>(),
        /// Least sample for the wanted certainty.
        least_sample_g: f64 = calcination
            .least_sample(input.expected, input.wanted, input.mass_uncertainty)
            .get::<gram>(),
        /// Mass of the sample; null if it was not weighed.
        sample_g: Option<f64> = input.masses.map(|(m, _)| m.get::<gram>()),
        /// Mass of the residue; null if it was not weighed.
        residue_g: Option<f64> = input.masses.map(|(_, m)| m.get::<gram>()),
        /// Water per formula; null without masses.
        water: Option<f64> = found.map(|found| found.water),
        /// Standard uncertainty of that water.
        water_standard_uncertainty: Option<f64> = found.map(|found| found.standard_uncertainty),
        /// Molar mass with that water.
        molar_mass_g_per_mol: Option<f64> = found.map(|found| found.molar_mass.get::<gram_per_mole>()),
    }
}

/// The reaction with nitric acid, as people write it.
pub fn conversion_equation(plan: &AcidPlan) -> String {
    let conversion = &plan.conversion;
    let term = |n: f64, what: &str| match n {
        n if n.abs() < 1e-9 => None,
        n if (n - 1.0).abs() < 1e-9 => Some(what.to_owned()),
        n => Some(format!("{} {what}", plain(n, 4))),
    };
    let mut products: Vec<String> = Vec::new();
    for (metal, (n, charge)) in &conversion.metals {
        let salt = match charge {
            charge if (charge - 1.0).abs() < 1e-9 => format!("{metal}NO3"),
            charge => format!("{metal}(NO3){}", (charge * 1e6).round() / 1e6),
        };
        products.extend(term(*n, &salt));
    }
    products.extend(term(conversion.carbon_dioxide, "CO2"));
    products.extend(term(conversion.nitrogen_dioxide, "NO2"));
    products.extend(term(conversion.water, "H2O"));
    let acid = term(conversion.acid, "HNO3").unwrap_or_default();
    format!("{} + {acid} → {}", conversion.formula, products.join(" + "))
}

/// What acid to take, and what comes off.
pub fn convert_document(plan: &AcidPlan, input: &ConvertInput) -> Document {
    let formula = &plan.conversion.formula;
    let mass: Mass = input.amount * formula.molar_mass();
    let amount = |amount: AmountOfSubstance, digits| plain(amount.get::<millimole>(), digits);
    let mut section = Section::default();
    section.text(conversion_equation(plan));
    section.fact(
        "Take",
        format!(
            "{} ({} mmol) of {formula}",
            mass_text(mass),
            amount(input.amount, 4)
        ),
    );
    let volume = plan
        .volume
        .map_or(String::new(), |volume| format!(", {}", volume_text(volume)));
    section.fact(
        "Acid",
        format!(
            "{}{volume} of {} % nitric acid: {} mmol HNO3, {} mmol of it surplus",
            mass_text(plan.mass),
            plain(input.strength.get::<percent>(), 3),
            amount(plan.used + plan.excess, 4),
            amount(plan.excess, 2)
        ),
    );
    let (gas, what) = match plan.conversion.nitrogen_dioxide > 0.0 {
        true => (plan.nitrogen_dioxide, "NO2"),
        false => (plan.carbon_dioxide, "CO2"),
    };
    section.fact(
        "Gives",
        format!(
            "{} mmol {what}, {} mmol water with that of the acid",
            amount(gas, 3),
            amount(plan.water, 3)
        ),
    );
    if plan.conversion.nitrogen_dioxide > 0.0 {
        section.text(format!(
            "In dilute acid NO comes off instead, which browns in air, and a third of the acid \
             ({} mmol) is left over: it oxidises. Nitrogen oxides are toxic and harm the lungs \
             hours later: a hood that draws, in the open dish, a few grams of turnings, wire or shot \
             at a time and never a powder, which runs away. Let the gas stop and the solution cool \
             before it is filtered and its metal determined; enter the nitrate in the batch.",
            amount(plan.used / 3.0, 3)
        ));
    }
    section.text(format!(
        "In the redox sum the surplus acid oxidises with {} mmol (−5 each); the nitrate made counts \
         as the nitrate would.",
        amount(plan.excess_valence(), 3)
    ));
    if let Some((response, caution)) = &plan.response {
        let caution = if caution.is_empty() {
            String::new()
        } else {
            format!(": {caution}")
        };
        section.text(format!(
            "{formula} dissolves {response} in nitric acid{caution}."
        ));
    }
    section.text(format!(
        "Acid into water, then the solid in small portions: it foams and warms. Hood, goggles, acid \
         gloves; no fuel in the vessel before the gas has stopped. {DEFERENCE}"
    ));
    Document::new(
        format!("{formula} to nitrate with nitric acid"),
        vec![section],
    )
}

/// The same as a JSON value.
pub fn convert_json(plan: &AcidPlan, input: &ConvertInput) -> Value {
    json_of(Converted::from((plan, input)))
}

view! {
    /// What `convert` writes.
    result Converted((plan, input): (&AcidPlan, &ConvertInput)) {
        /// Formula of the source.
        formula: String = plan.conversion.formula.to_string(),
        /// The equation.
        equation: String = conversion_equation(plan),
        /// Amount of the source.
        amount_mol: f64 = input.amount.get::<mole>(),
        /// Share of acid by mass.
        acid_strength: f64 = input.strength.get::<ratio>(),
        /// Nitric acid used up.
        acid_used_mol: f64 = plan.used.get::<mole>(),
        /// Acid beyond what is used up.
        acid_surplus_mol: f64 = plan.excess.get::<mole>(),
        /// Mass of the acid solution.
        acid_mass_g: f64 = plan.mass.get::<gram>(),
        /// Volume of the acid solution; null without a density.
        acid_volume_ml: Option<f64> = plan.volume.map(|volume| volume.get::<milliliter>()),
        /// Carbon dioxide given off.
        carbon_dioxide_mol: f64 = plan.carbon_dioxide.get::<mole>(),
        /// Nitrogen dioxide given off.
        nitrogen_dioxide_mol: f64 = plan.nitrogen_dioxide.get::<mole>(),
        /// Water that it brings.
        water_mol: f64 = plan.water.get::<mole>(),
        /// What the surplus acid adds to the oxidising valence.
        surplus_oxidising_valence_mol: f64 = plan.excess_valence().get::<mole>(),
        /// How it dissolves; null if unknown.
        in_nitric_acid: Option<String> = plan.response.as_ref().map(|(response, _)| response.to_string()),
    }
}
