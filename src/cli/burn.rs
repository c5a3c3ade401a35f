//! `emberpot burn`: the main job.

use super::answer::{Answer, Format, exit_code};
use super::error::CliError;
use super::input::read_batch;
use super::new::Start;
use super::output::{page_width, tell};
use clap::builder::PossibleValuesParser;
use emberpot::internal::report::{Shown, first_screen, json_text, refusal_json};
use emberpot::{
    Batch, Plan, PrepareError, Prepared, Tables, burn_document, burn_sections, plan_json, plan_of,
};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input; with --fuel the formula of the wanted powder.
    file: PathBuf,
    #[command(flatten)]
    start: Start,
    /// Show these sections instead of the first screen; several with commas between.
    #[arg(long, value_name = "SECTION", value_delimiter = ',', value_parser = PossibleValuesParser::new(burn_sections()))]
    show: Vec<String>,
    /// Show the first screen and every section.
    #[arg(long, conflicts_with = "show")]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let started = arguments.start.file(&arguments.file, tables)?;
    let batch = match &started {
        Some(text) => Batch::parse(text, "the batch file below", tables)?,
        None => read_batch(&arguments.file, tables)?,
    };
    let prepared = match (Prepared::new(&batch, tables), arguments.format) {
        (Err(PrepareError::Refused(refused)), Format::Json) => {
            let refusal = json_text(&refusal_json(&refused));
            tell(&format!("error: {}", PrepareError::Refused(refused)));
            return Ok(Answer::from(refusal).with(2));
        }
        (prepared, _) => prepared?,
    };
    let plan = plan_of(&prepared)?;
    let text = arguments.format.write(
        || {
            let file = started.map(|text| format!("\nThe batch file that was used:\n\n{text}"));
            text(arguments, &plan) + &file.unwrap_or_default()
        },
        || plan_json(&plan),
    );
    Ok(Answer::from(text).with(exit_code(&plan.advice.warnings)))
}

fn text(arguments: &Arguments, plan: &Plan) -> String {
    let width = page_width();
    let screen = || first_screen(plan, width);
    match Shown::asked(&arguments.show, arguments.full) {
        Shown::Answer => screen(),
        Shown::Full => {
            let mut document = burn_document(plan, &burn_sections());
            document.title.clear();
            format!("{}\n{}", screen(), document.text(width))
        }
        Shown::Sections(names) => burn_document(plan, &names).text(width),
    }
}
