//! Turns a plan into text and JSON. Pure functions; quantities lose their units here.

mod json;
mod number;
mod text;

pub use json::plan_json;
pub use number::{significant, temperature_text};
pub use text::plan_text;
