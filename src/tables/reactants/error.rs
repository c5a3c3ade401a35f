//! Why a reactant, or a state of its hydration, is not found.

use super::acid::AcidError;

/// Why a state of hydration cannot be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum FamilyError {
    #[error(
        "{water} molecules of crystal water per formula unit of {salt} are out of range; \
         give 0 to 24"
    )]
    WaterOutOfRange { salt: String, water: f64 },
    #[error(
        "no formation enthalpy is tabulated for any hydrate of {salt}; add one with its source"
    )]
    NoEnthalpy { salt: String },
}

/// Why a reactant was not found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum LookupError {
    #[error("no reactant \"{name}\" in the tables{}", suggestions(.close))]
    NotFound { name: String, close: Vec<String> },
    #[error("\"{name}\" {}; {ask}", several(.candidates))]
    Ambiguous {
        name: String,
        candidates: Vec<String>,
        ask: &'static str,
    },
    #[error(
        "the crystal water of \"{name}\" is open; give x (as on the certificate, or from a \
         calcine-and-weigh test), tabulated: {}", .known.join(", ")
    )]
    WaterUnknown { name: String, known: Vec<String> },
    #[error(
        "\"{name}\" is sold as a solution: give its strength in percent by mass, as on the bottle; \
         tabulated: {}", .known.join(", ")
    )]
    StrengthUnknown { name: String, known: Vec<String> },
    #[error("\"{name}\" is refused: {reason}")]
    Refused { name: String, reason: String },
    #[error(
        "a solution of {name} with {strength_percent} % by mass; give a strength above 0 and up to \
         85 %, of the dry salt, or the purity of a solid as `assay = \"{strength_percent} %\"`"
    )]
    Strength { name: String, strength_percent: f64 },
    #[error(
        "no heat of solution is tabulated for {name}, so its solutions cannot be described; weigh \
         the solid and water, or take it as a stock solution with `concentration`"
    )]
    NoSolution { name: String },
    #[error(transparent)]
    Hydrate(#[from] FamilyError),
    #[error(transparent)]
    Acid(#[from] AcidError),
}

fn several(candidates: &[String]) -> String {
    match candidates {
        [one] => format!("leaves its crystal water open (tabulated: {one})"),
        all => format!("can be several substances: {}", all.join(", ")),
    }
}

fn suggestions(close: &[String]) -> String {
    match close {
        [] => "; if it is no explosive, peroxide or poison, give a fuel by its `analysis`, or add \
               it to a table of your own (`emberpot new --substance NAME`)"
            .to_owned(),
        names => format!("; did you mean {}?", names.join(", ")),
    }
}
