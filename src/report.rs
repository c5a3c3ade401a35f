//! Turns results into documents, JSON and pictures. Pure functions; quantities lose their units
//! here.

mod advice;
mod bench;
mod burn;
mod choose;
mod compare;
mod cooling;
mod document;
mod expected;
mod html;
mod ignition;
mod ignition_csv;
mod ignition_json;
mod json;
mod judge;
mod known_powder;
mod layout;
mod learn;
mod material;
mod mistakes;
mod next;
mod number;
mod recrystallise;
#[cfg(not(target_family = "wasm"))]
mod schema;
mod series;
mod settle;
mod sheet;
mod sheet_data;
mod shown;
mod state_json;
mod substance;
mod substance_list;
pub mod svg;
mod two_ways;
mod vary;
mod view;

pub use bench::{CalcineInput, calcine_document, calcine_json, convert_document, convert_json};
pub use burn::{SCREEN_LINES, SCREEN_WIDTH, burn_document, burn_sections, first_screen};
pub use choose::{CHOOSE_SECTIONS, choice_csv, choice_document, choice_json};
pub use compare::{COMPARE_SECTIONS, compared_csv, compared_document, compared_json};
pub use document::{Document, decimal_comma};
pub use expected::peak_text;
pub use html::{ClassPart, class_html, report_html};
pub use ignition::{IGNITE_SECTIONS, comparison_document, course_document};
pub use ignition_csv::{comparison_csv, course_csv};
pub use ignition_json::{comparison_json, ignite_json};
pub use json::{plan_json, refusal_json};
pub use judge::{judged_document, judged_json};
pub use known_powder::{doped_document, doped_json, wish_document, wish_json};
pub use layout::wrapped;
pub use learn::{lesson_document, lesson_json, lesson_picture, taking_in};
pub use material::{
    Material, cooling_paths, couple_lines, fuel_sweep, heating_lines, live_panel, phase_floor,
    water_curve,
};
pub use mistakes::mistakes_json;
pub use next::{next_document, next_json};
pub use number::{json_text, significant, subscripts};
pub use recrystallise::{recrystallised_document, recrystallised_json};
#[cfg(not(target_family = "wasm"))]
pub use schema::schema;
pub use series::{series_document, series_json};
pub use settle::{settled_document, settled_json};
pub use sheet::sheet_document;
pub use sheet_data::{sheet_csv, sheet_json};
pub use shown::Shown;
pub use substance::{substance_document, substance_json, substance_sheets};
pub use substance_list::{
    ListFilter, audit_document, audit_json, list_document, list_json, substance_list, widest_bands,
};
pub use two_ways::two_ways;
pub use vary::{VARY_SECTIONS, sweep_csv, sweep_document, sweep_json};
