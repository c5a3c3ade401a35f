//! Pictures of a plan as SVG: our own small writer, no plotting crate.
//!
//! Every picture is 340 units wide, one unit a quarter of a millimetre, so that it fits a column
//! of 8.5 cm with letters of 2.75 mm. Lines differ in dash and marker as well as in colour and
//! bear their names, so that a picture can be read in greyscale and without colour vision. Each
//! has a title and a description for screen readers, and its numbers as a table.

mod axes;
mod bars;
mod canvas;
mod course;
mod entrance;
mod fuel_ratio;
mod gas;
mod heat;
mod heating;
mod heating_line;
mod labels;
mod oxygen;
mod picture;
mod runs;
mod scale;
mod style;
mod swatch;
mod sweep;
mod sweep_map;
mod trace;
mod water;
mod weighing;

pub use course::course_picture;
pub use entrance::entrance_picture;
pub use fuel_ratio::{Floor, FuelBurn, FuelPoint, fuel_ratio_axes, fuel_ratio_picture};
pub use gas::gas_picture;
pub use heat::heat_picture;
pub use heating::heating_picture;
pub use heating_line::{HeatEntrance, HeatingLine, HeatingStage};
pub use oxygen::{CoolingPath, CoupleLine, oxygen_picture};
pub use picture::Picture;
pub use runs::{RunBar, runs_picture};
pub use style::{Palette, stylesheet};
pub(super) use swatch::swatch;
pub use sweep::sweep_picture;
pub use trace::trace_picture;
pub use water::{WaterPoint, water_picture};
pub use weighing::{WeighingBar, weighing_picture};
