//! Why no redox sum can be formed.

use crate::formula::Element;
use thiserror::Error;

/// Why no redox sum can be formed.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum RedoxError {
    /// An element whose oxidation state in the product is not known.
    #[error(
        "no oxidation state is tabulated for {element}; give one under [oxidation_states], such as `{element} = 3`"
    )]
    UnknownState {
        /// The element.
        element: Element,
    },
    /// Nothing in the batch oxidises.
    #[error(
        "nothing in the batch oxidises (no nitrate): add a metal nitrate, or check the formulas"
    )]
    NoOxidiser,
    /// Nothing in the batch reduces.
    #[error("the batch has no fuel: add one, such as urea, glycine or citric acid")]
    NoFuel,
}
