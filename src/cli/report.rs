//! `emberpot report`: the whole plan as one HTML page, or its pictures alone.

use super::answer::{Answer, exit_code};
use super::error::CliError;
use super::input::prepare;
use super::output::write_over;
use emberpot::internal::report::{
    ClassPart, Material, class_html, cooling_paths, couple_lines, fuel_sweep, heating_lines,
    live_panel, phase_floor, report_html, two_ways, water_curve,
};
use emberpot::{SheetOptions, Tables, all_ways, plan_of, sheet};
use std::path::PathBuf;
use std::slice::from_ref;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// Write a page for a class: predictions to fill in, then the answers; or one of them alone.
    #[arg(
        long,
        value_name = "PART",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "whole"
    )]
    class: Option<Part>,
    /// Also write each picture as an SVG file into this folder, which is made if need be.
    #[arg(long, value_name = "DIR")]
    pictures: Option<PathBuf>,
}

/// What of the page for a class is written.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Part {
    /// Questions and answers.
    Whole,
    /// The questions with their cautions, to print and hand out.
    Questions,
    /// The answers alone.
    Answers,
}

impl From<Part> for ClassPart {
    fn from(part: Part) -> Self {
        match part {
            Part::Whole => Self::Whole,
            Part::Questions => Self::Questions,
            Part::Answers => Self::Answers,
        }
    }
}

/// The page is left out where only pictures are asked for: `to_file` says that it has a file.
pub fn run(arguments: &Arguments, tables: &Tables, to_file: bool) -> Result<Answer, CliError> {
    let prepared = prepare(&arguments.file, tables)?;
    let batch = &prepared.batch;
    let plan = plan_of(&prepared)?;
    // A batch that cannot be heated or weighed well still has a report: `ignite` and `weigh` tell
    // the reasons.
    let ways = all_ways(batch, tables).ok();
    let live = arguments.class.is_none();
    let material = Material {
        water: water_curve(&plan),
        sweep: fuel_sweep(&plan),
        floor: phase_floor(&plan),
        couples: couple_lines(&plan),
        cooling: cooling_paths(&plan),
        heating: ways.as_ref().map(heating_lines).unwrap_or_default(),
        two_ways: ways
            .as_ref()
            .filter(|_| live)
            .and_then(|ways| two_ways(batch, tables, ways)),
        heating_reasons: ways.map(|ways| ways.why).unwrap_or_default(),
        sheet: sheet(batch, tables, &SheetOptions::default()).ok(),
        what_if: live.then(|| live_panel(&prepared)).flatten(),
        ..Material::new(&plan)
    };
    if let Some(folder) = &arguments.pictures {
        std::fs::create_dir_all(folder).map_err(|error| CliError::Io {
            what: folder.display().to_string(),
            error,
        })?;
        for picture in &material.pictures() {
            let path = folder.join(format!("{}.svg", picture.name));
            write_over(&path, &picture.file(), from_ref(&arguments.file))?;
        }
    }
    let answer = if arguments.pictures.is_some() && !to_file {
        Answer::nothing()
    } else if let Some(part) = arguments.class {
        class_html(&material, part.into()).into()
    } else {
        report_html(&material).into()
    };
    Ok(answer.with(exit_code(&plan.advice.warnings)))
}
