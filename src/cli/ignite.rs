//! `emberpot ignite`: the course of heating.

use super::answer::{Answer, TableFormat, exit_code};
use super::error::CliError;
use super::input::read_batch;
use super::output::page_width;
use clap::builder::PossibleValuesParser;
use emberpot::batch::HeatingPlan;
use emberpot::internal::burn::Heating;
use emberpot::internal::ignition::{Judged, course, heating_way};
use emberpot::internal::report::svg::trace_picture;
use emberpot::internal::report::{
    IGNITE_SECTIONS, Shown, comparison_csv, comparison_document, comparison_json, course_csv,
    course_document, ignite_json,
};
use emberpot::{Prepared, Tables, all_ways};
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// Heating way, instead of the one under [heating] in the file.
    #[arg(long, value_name = "NAME", conflicts_with = "all_ways")]
    way: Option<String>,
    /// All heating ways side by side, with the reasons.
    #[arg(long)]
    all_ways: bool,
    /// Show these sections instead of the answer; several with commas between.
    #[arg(long, value_name = "SECTION", value_delimiter = ',', value_parser = PossibleValuesParser::new(IGNITE_SECTIONS))]
    show: Vec<String>,
    /// Show the answer and every section.
    #[arg(long, conflicts_with = "show")]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = CourseFormat::Text)]
    format: CourseFormat,
}

/// How a course of heating is written.
#[derive(Clone, Copy, clap::ValueEnum)]
enum CourseFormat {
    /// Aligned text for people.
    Text,
    /// Comma-separated values, one line a row, decimal points.
    Csv,
    /// Semicolons between the fields and decimal commas, as spreadsheets of many countries read it.
    CsvDecimalComma,
    /// JSON; `emberpot schema` describes it.
    Json,
    /// A picture of the course over time.
    Svg,
}

impl CourseFormat {
    /// The picture of the courses, or what `table` makes of the other formats.
    fn write(self, courses: &[&Judged], table: impl FnOnce(TableFormat) -> String) -> String {
        table(match self {
            Self::Text => TableFormat::Text,
            Self::Csv => TableFormat::Csv,
            Self::CsvDecimalComma => TableFormat::CsvDecimalComma,
            Self::Json => TableFormat::Json,
            Self::Svg => {
                return trace_picture(courses).map_or_else(String::new, |p| p.file());
            }
        })
    }
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let mut batch = read_batch(&arguments.file, tables)?;
    if let Some(name) = &arguments.way {
        let way = heating_way(tables, name)?;
        // The cautions have to see the way that is asked for.
        let mut plan = batch.heating.clone().unwrap_or_default();
        if plan.way.as_deref() != Some(way.id.as_str()) {
            plan = HeatingPlan {
                way: Some(way.id.clone()),
                power: None,
                setting: None,
                cycle: None,
                temperature: None,
                ..plan
            };
        }
        batch.heating = Some(plan);
    }
    let prepared = Prepared::new(&batch, tables)?;
    let width = page_width();
    let shown = Shown::asked(&arguments.show, arguments.full);
    let text = if arguments.all_ways {
        let comparison = all_ways(&batch, tables)?;
        let courses: Vec<&Judged> = comparison.judged().collect();
        arguments.format.write(&courses, |format| {
            format.write(
                || comparison_document(&prepared, &comparison, &shown).text(width),
                || comparison_csv(&comparison),
                || comparison_json(&prepared, &comparison),
            )
        })
    } else {
        let course = match &prepared.heating {
            Heating::Course(course) => course.as_ref().clone(),
            Heating::Failed(error) => return Err(error.clone().into()),
            // The course tells which ways there are.
            Heating::NotStated => course(&batch, tables, None)?,
        };
        let judged = Judged::new(course)?;
        arguments.format.write(&[&judged], |format| {
            format.write(
                || course_document(&prepared, &judged, &shown).text(width),
                || course_csv(&judged),
                || ignite_json(&prepared, &judged),
            )
        })
    };
    Ok(Answer::from(text).with(exit_code(&prepared.advice.warnings)))
}
