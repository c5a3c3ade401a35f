//! Why no redox sum can be formed.

use crate::formula::Element;
use thiserror::Error;

/// Why no redox sum can be formed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum RedoxError {
    #[error(
        "no oxidation state is tabulated for {element}; give one under [oxidation_states], such as `{element} = 3`"
    )]
    UnknownState { element: Element },
    #[error(
        "nothing in the batch oxidises (no nitrate): add a metal nitrate, or check the formulas"
    )]
    NoOxidiser,
    #[error("the batch has no fuel: add one, such as urea, glycine or citric acid")]
    NoFuel,
}
