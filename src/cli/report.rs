//! `emberpot report`: the whole plan as one HTML page, or its pictures alone.

use super::output::{print, write_over};
use super::{CliError, exit_code, prepare};
use emberpot::ignition::all_ways;
use emberpot::plan::plan_of;
use emberpot::report::{
    Material, class_html, cooling_paths, couple_lines, fuel_sweep, heating_lines, live_panel,
    phase_floor, report_html, water_curve,
};
use emberpot::tables::Tables;
use emberpot::weigh::{SheetOptions, sheet};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(clap::Args)]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// Where the page goes; the standard output if left out.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Write a page for a class: predictions to fill in, then the answers.
    #[arg(long)]
    class: bool,
    /// Also write each picture as an SVG file into this folder, which is made if need be.
    #[arg(long, value_name = "DIR")]
    pictures: Option<PathBuf>,
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<ExitCode, CliError> {
    let prepared = prepare(&arguments.file, tables)?;
    let batch = &prepared.batch;
    let plan = plan_of(&prepared)?;
    // A batch that cannot be heated or weighed well still has a report: `ignite` and `weigh` tell
    // the reasons.
    let ways = all_ways(batch, tables).ok();
    let material = Material {
        water: water_curve(&plan, tables),
        sweep: fuel_sweep(&plan, tables),
        floor: phase_floor(&plan, tables),
        couples: couple_lines(&plan, tables),
        cooling: cooling_paths(&plan, tables),
        heating: ways.as_ref().map(heating_lines).unwrap_or_default(),
        heating_reasons: ways.map(|ways| ways.reasons).unwrap_or_default(),
        sheet: sheet(batch, tables, &SheetOptions::default()).ok(),
        what_if: (!arguments.class).then(|| live_panel(&prepared)).flatten(),
        ..Material::new(&plan, tables)
    };
    if let Some(folder) = &arguments.pictures {
        std::fs::create_dir_all(folder).map_err(|error| CliError::Io {
            what: folder.display().to_string(),
            error,
        })?;
        for picture in material.pictures().iter() {
            let path = folder.join(format!("{}.svg", picture.name));
            write_over(&path, &picture.file(), &arguments.file)?;
        }
    }
    let page = || {
        if arguments.class {
            class_html(&material)
        } else {
            report_html(&material)
        }
    };
    match (&arguments.output, &arguments.pictures) {
        (Some(path), _) => write_over(path, &page(), &arguments.file)?,
        (None, None) => print(&page())?,
        (None, Some(_)) => {}
    }
    Ok(exit_code(&plan.advice.warnings))
}
