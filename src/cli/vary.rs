//! `emberpot vary`: one or two things changed step by step.

use super::answer::{Answer, TableFormat};
use super::error::CliError;
use super::input::prepare;
use super::output::{page_width, tell, write_over};
use super::terminal::Progress;
use clap::ValueEnum;
use clap::builder::PossibleValuesParser;
use emberpot::internal::report::svg::sweep_picture;
use emberpot::internal::report::{Shown, VARY_SECTIONS, sweep_csv, sweep_document, sweep_json};
use emberpot::vary::{Axis, Factor, NAMES, sweep, usual_state};
use emberpot::{Batch, Tables, WaterStateName};
use std::path::PathBuf;
use std::slice::from_ref;

#[derive(clap::Args)]
#[command(after_help = factors())]
pub struct Arguments {
    /// Batch file, or - for the standard input.
    file: PathBuf,
    /// What is varied; see the list below.
    #[arg(long, value_name = "FACTOR")]
    over: String,
    /// First level, with its unit.
    #[arg(long, value_name = "LEVEL", allow_hyphen_values = true)]
    from: String,
    /// Last level, with its unit.
    #[arg(long, value_name = "LEVEL", allow_hyphen_values = true)]
    to: String,
    /// Number of levels, both ends included; φ = 1 is added where a fuel ratio passes it.
    #[arg(long, default_value_t = 11)]
    steps: usize,
    /// A second thing to vary at each level of the first, for a map.
    #[arg(long, value_name = "FACTOR", requires_all = ["and_from", "and_to"])]
    and: Option<String>,
    /// First level of the second.
    #[arg(
        long,
        value_name = "LEVEL",
        requires = "and",
        allow_hyphen_values = true
    )]
    and_from: Option<String>,
    /// Last level of the second.
    #[arg(
        long,
        value_name = "LEVEL",
        requires = "and",
        allow_hyphen_values = true
    )]
    and_to: Option<String>,
    /// Number of levels of the second.
    #[arg(long, requires = "and", default_value_t = 5)]
    and_steps: usize,
    /// Water that is there: by default at ignition if the file says how much, else boiled down
    /// (as mixed where added water is varied).
    #[arg(long, value_enum, value_name = "STATE")]
    water_state: Option<State>,
    /// Show these sections instead of the answer; several with commas between.
    #[arg(long, value_name = "SECTION", value_delimiter = ',', value_parser = PossibleValuesParser::new(VARY_SECTIONS))]
    show: Vec<String>,
    /// Show the answer and every section.
    #[arg(long, conflicts_with = "show")]
    full: bool,
    /// How the result is written.
    #[arg(long, value_enum, default_value_t = TableFormat::Text)]
    format: TableFormat,
    /// Also draw the sweep into this SVG file.
    #[arg(long, value_name = "FILE")]
    svg: Option<PathBuf>,
    /// Threads; by default as many as there are cores.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
}

#[derive(Clone, Copy, ValueEnum)]
pub(super) enum State {
    /// All solvent and crystal water is there.
    AsMixed,
    /// The solvent has gone.
    BoiledDown,
    /// All water has gone.
    Dried,
    /// What the file says is left.
    AtIgnition,
}

impl State {
    pub(super) fn name(self) -> WaterStateName {
        match self {
            Self::AsMixed => WaterStateName::AsMixed,
            Self::BoiledDown => WaterStateName::BoiledDown,
            Self::Dried => WaterStateName::Dried,
            Self::AtIgnition => WaterStateName::AtIgnition,
        }
    }
}

fn factors() -> String {
    let lines: Vec<String> = NAMES
        .iter()
        .map(|(name, meaning)| format!("  {name:<16} {meaning}"))
        .collect();
    format!("What can be varied:\n{}", lines.join("\n"))
}

pub fn run(arguments: &Arguments, tables: &Tables) -> Result<Answer, CliError> {
    let prepared = prepare(&arguments.file, tables)?;
    let batch = &prepared.batch;
    let axes = axes(arguments, batch, tables)?;
    let state = arguments
        .water_state
        .map_or_else(|| usual_state(batch, &axes), State::name);
    let rows: usize = axes.iter().map(|axis| axis.levels.len()).product();
    let progress = Progress::of(rows);
    let work = || sweep(batch, axes, state, tables, &|| progress.advance());
    let result = match arguments.threads {
        // WebAssembly has no threads: there the number means nothing.
        Some(threads) if cfg!(not(target_family = "wasm")) => rayon::ThreadPoolBuilder::new()
            .num_threads(usize::from(threads))
            .build()
            .map_err(|error| CliError::Io {
                what: "threads".to_owned(),
                error: std::io::Error::other(error),
            })?
            .install(work),
        _ => work(),
    };
    progress.end();
    let result = result?;
    if let Some(path) = &arguments.svg {
        match sweep_picture(&result) {
            Some(picture) => write_over(path, &picture.file(), from_ref(&arguments.file))?,
            None => tell("note: no picture: fewer than two rows have a result"),
        }
    }
    let shown = Shown::asked(&arguments.show, arguments.full);
    let text = arguments.format.write(
        || sweep_document(&result, &shown).text(page_width()),
        || sweep_csv(&result),
        || sweep_json(&result),
    );
    if result.rows.iter().any(|row| row.outcome.is_ok()) {
        return Ok(text.into());
    }
    tell("error: no row has a result; the reasons stand above");
    Ok(Answer::from(text).with(2))
}

fn axes(arguments: &Arguments, batch: &Batch, tables: &Tables) -> Result<Vec<Axis>, CliError> {
    let axis = |name: &str, from: &str, to: &str, steps| -> Result<Axis, CliError> {
        let factor = Factor::read(name, batch, tables)?;
        let (from, to) = (factor.level(from)?, factor.level(to)?);
        Ok(Axis::evenly(factor, from, to, steps)?.with_balance())
    };
    let mut axes = vec![axis(
        &arguments.over,
        &arguments.from,
        &arguments.to,
        arguments.steps,
    )?];
    let second = (&arguments.and, &arguments.and_from, &arguments.and_to);
    if let (Some(name), Some(from), Some(to)) = second {
        axes.push(axis(name, from, to, arguments.and_steps)?);
    }
    Ok(axes)
}
