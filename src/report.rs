//! Turns a plan into text and JSON. Pure functions; quantities lose their units here.

mod json;
mod number;
mod text;
mod vary;

pub use json::plan_json;
pub use number::{significant, temperature_text};
pub use text::plan_text;
pub use vary::{main_gases, sweep_csv, sweep_json, sweep_text};
