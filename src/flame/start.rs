//! What a burn starts from.

use crate::batch::Batch;
use crate::enthalpy::{ReactantEnthalpy, WaterState};
use crate::product::ExpectedProduct;
use crate::quantity::Ratio;

/// A batch as it starts to burn.
#[derive(Clone, Copy)]
pub struct Start<'a> {
    pub batch: &'a Batch,
    /// The powder it leaves.
    pub product: &'a ExpectedProduct,
    /// Water that is still there.
    pub state: &'a WaterState,
    /// Enthalpy with that water.
    pub reactants: &'a ReactantEnthalpy,
    /// Enthalpy without any water.
    pub dried: &'a ReactantEnthalpy,
    /// Share of the air that the surplus fuel needs and that is drawn in, 0 to 1.
    pub air: Ratio,
}
