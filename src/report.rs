//! Turns a plan into text, JSON, pictures and HTML. Pure functions; quantities lose their units
//! here.

mod advice;
mod bench;
mod choose;
mod compare;
mod cooling;
mod expected;
mod heated;
mod html;
mod ignition;
mod ignition_json;
mod json;
mod material;
mod mistakes;
mod number;
mod outcome;
mod settle;
mod sheet;
mod sheet_data;
mod substance;
mod substance_list;
pub mod svg;
mod text;
mod vary;

pub use advice::{safety_json, warnings_json};
pub use bench::{
    CalcineInput, ConvertInput, calcine_json, calcine_text, conversion_equation, convert_json,
    convert_text,
};
pub use choose::{choice_csv, choice_json, choice_text};
pub use compare::{compared_csv, compared_json, compared_text};
pub use expected::{expected_json, peak_text};
pub use html::{class_html, report_html};
pub use ignition::{comparison_text, course_text};
pub use ignition_json::{comparison_json, course_json, ignite_json};
pub use json::{plan_json, refusal_json};
pub use material::{
    Material, Pictures, cooling_paths, couple_lines, fuel_sweep, heating_lines, phase_floor,
};
pub use mistakes::mistakes_json;
pub use number::{significant, subscripts, temperature_text};
pub use settle::{settled_json, settled_text};
pub use sheet::sheet_text;
pub use sheet_data::{sheet_csv, sheet_json};
pub use substance::{SubstanceSheet, substance_json, substance_sheets, substance_text};
pub use substance_list::{
    ListEntry, ListFilter, audit_json, audit_text, list_json, list_text, substance_list,
    widest_bands,
};
pub use text::plan_text;
pub use vary::{main_gases, sweep_csv, sweep_json, sweep_text};
