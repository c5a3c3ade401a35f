//! The command line: files in, reports out, exit codes.
//!
//! 0: done; 1: done, with a warning of the danger class; 2: bad input, a refusal, or no result.
//! Results go to the standard output, everything else to the standard error.

mod answer;
mod burn;
mod calcine;
mod check;
mod choose;
mod compare;
#[cfg(not(target_family = "wasm"))]
mod completions;
mod convert;
mod dope;
mod guide;
mod ignite;
mod judge;
mod learn;
#[cfg(not(target_family = "wasm"))]
mod manual;
mod new;
mod next;
mod note;
mod output;
mod recrystallise;
mod report;
#[cfg(not(target_family = "wasm"))]
mod schema;
mod series;
mod settle;
mod substance;
#[cfg_attr(target_family = "wasm", path = "cli/no_terminal.rs")]
mod terminal;
mod vary;
mod weigh;

use answer::{Answer, Format, TableFormat};
use clap::{ArgMatches, CommandFactory, FromArgMatches, Parser, Subcommand};
use emberpot::internal::advice::worst;
use emberpot::quantity::Mass;
use emberpot::quantity::parse::mass;
use emberpot::settle::SettleError;
use emberpot::{
    Batch, BatchError, IgnitionError, PlanError, PrepareError, Prepared, Severity, TableError,
    Tables, Warning,
};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use thiserror::Error;
use uom::si::mass::kilogram;

/// Plan a solution-combustion batch: what to weigh, how hot, which gas, what can go wrong.
#[derive(Parser)]
#[command(name = "emberpot", version = emberpot::VERSION, max_term_width = 100)]
struct Arguments {
    /// Folder with tables of your own, which add to and override the built-in ones.
    #[arg(long, global = true, value_name = "DIR", display_order = 900)]
    tables: Option<PathBuf>,
    /// File for the result, in UTF-8, instead of the standard output.
    #[arg(short, long, global = true, value_name = "FILE", display_order = 901)]
    output: Option<PathBuf>,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Estimate a batch: redox, equation, flame temperature, gas, equilibrium, warnings.
    Burn(burn::Arguments),
    /// Follow the heating to ignition: time line, water and fuel left, evenness, hazards.
    Ignite(ignite::Arguments),
    /// Change one or two things step by step and tabulate what follows.
    Vary(Box<vary::Arguments>),
    /// Write the bench sheet: what to weigh, on which balance, with how much error.
    Weigh(weigh::Arguments),
    /// Find the crystal water of a bottle by calcining and weighing.
    Calcine(calcine::Arguments),
    /// Turn a carbonate, oxide or basic salt into nitrate: acid needed, gas given off.
    Convert(convert::Arguments),
    /// Count a dopant: mol % of a site, by mass, as oxide, and back.
    Dope(dope::Arguments),
    /// Recrystallise a salt from water: water, yield, what stays behind, how to go about it.
    Recrystallise(recrystallise::Arguments),
    /// Bring any mixture to equilibrium, at a temperature or without heat exchange.
    Settle(settle::Arguments),
    /// Choose fuel and fuel ratio for the wanted phase, with the reasons.
    Choose(choose::Arguments),
    /// List every mistake of a batch file, without an estimate.
    Check(check::Arguments),
    /// Set batches side by side, differences first.
    Compare(compare::Arguments),
    /// Note a run in a batch file: what was seen, weighed and measured.
    Note(note::Arguments),
    /// Judge the powder of the runs: what it points to, and the one thing to change.
    Judge(judge::Arguments),
    /// Learn from the runs of batches what this laboratory's pots really do.
    Learn(learn::Arguments),
    /// Plan a series: batches in which one thing changes, or two.
    Series(series::Arguments),
    /// Propose the next change, and what each outcome would mean.
    Next(next::Arguments),
    /// Write a commented starter file.
    New(new::Arguments),
    /// Show what the tables hold of a substance, with sources and reliability.
    Substance(substance::Arguments),
    /// Write the plan as one HTML page with pictures, to read, print or hand to a class.
    Report(report::Arguments),
    /// Print a page of the guide: batch files, commands, numbers, tables, programs.
    Guide(guide::Arguments),
    /// Print the JSON Schema of what a command writes with --format json.
    #[cfg(not(target_family = "wasm"))]
    Schema(schema::Arguments),
    /// Write what a shell needs to complete the commands and options.
    #[cfg(not(target_family = "wasm"))]
    Completions(completions::Arguments),
    /// Write the pages for `man`.
    #[cfg(not(target_family = "wasm"))]
    Manual(manual::Arguments),
}

/// What stops a command.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CliError {
    #[error("{0}")]
    Batch(#[from] BatchError),
    #[error("tables: {0}")]
    Tables(#[from] TableError),
    #[error("{0}")]
    Prepare(#[from] PrepareError),
    #[error("{0}")]
    Plan(#[from] PlanError),
    #[error("{0}")]
    Ignition(#[from] IgnitionError),
    #[error("{0}")]
    Start(#[from] emberpot::batch::StartError),
    #[error("{0}")]
    Vary(#[from] emberpot::vary::VaryError),
    #[error("{0}")]
    Choose(#[from] emberpot::ChooseError),
    #[error("{0}")]
    Learn(#[from] emberpot::internal::learn::LearnError),
    #[error("{0}")]
    Series(#[from] emberpot::internal::series::SeriesError),
    #[error("{0}")]
    Next(#[from] emberpot::internal::next::NextError),
    #[error("{0}")]
    Compare(#[from] emberpot::CompareError),
    #[error("{0}")]
    Argument(String),
    #[error("{file} is read by this command: choose another name for the result")]
    OverInput { file: String },
    #[error("{0}")]
    Sheet(#[from] emberpot::SheetError),
    #[error("CSV: {error}")]
    Csv { error: csv::Error },
    #[error("{0}")]
    Dope(#[from] emberpot::internal::dope::DopeError),
    #[error("{0}")]
    Wish(#[from] emberpot::internal::wish::WishError),
    #[error("{0}")]
    Recrystallise(#[from] emberpot::internal::recrystallise::RecrystalliseError),
    #[error("{0}")]
    Settle(#[from] SettleError),
    #[error("{what}: {error}")]
    Io { what: String, error: std::io::Error },
}

/// Reads a batch file and makes the batch ready: what is refused ends here, for every command.
fn prepare<'t>(path: &Path, tables: &'t Tables) -> Result<Prepared<'t>, CliError> {
    Ok(Prepared::new(&read_batch(path, tables)?, tables)?)
}

/// 1 with a warning of the danger class, else 0.
fn exit_code(warnings: &[Warning]) -> u8 {
    match worst(warnings) {
        Some(Severity::Stop | Severity::Danger) => 1,
        _ => 0,
    }
}

/// Runs the command and gives its exit code; tells what stops it.
pub fn run() -> u8 {
    command().unwrap_or_else(|error| {
        output::tell(&format!("error: {error}"));
        2
    })
}

fn command() -> Result<u8, CliError> {
    let matches = Arguments::command().get_matches();
    let arguments = Arguments::from_arg_matches(&matches).unwrap_or_else(|error| error.exit());
    let output = arguments.output.as_deref();
    let inputs = files_named(&matches);
    if let Some(output) = output {
        output::keep_inputs(output, &inputs)?;
    }
    answer(&arguments)?.deliver(output, &inputs)
}

fn answer(arguments: &Arguments) -> Result<Answer, CliError> {
    let output = arguments.output.as_deref();
    let tables = || load_tables(arguments.tables.as_deref());
    match &arguments.command {
        Command::Burn(arguments) => burn::run(arguments, tables()?),
        Command::Ignite(arguments) => ignite::run(arguments, tables()?),
        Command::Vary(arguments) => vary::run(arguments, tables()?),
        Command::Weigh(arguments) => weigh::run(arguments, tables()?),
        Command::Calcine(arguments) => calcine::run(arguments, tables()?),
        Command::Convert(arguments) => convert::run(arguments, tables()?),
        Command::Dope(arguments) => dope::run(arguments, tables()?),
        Command::Recrystallise(arguments) => recrystallise::run(arguments, tables()?),
        Command::Settle(arguments) => settle::run(arguments, tables()?),
        Command::Choose(arguments) => choose::run(arguments, tables()?),
        Command::Check(arguments) => check::run(arguments, tables()?),
        Command::Compare(arguments) => compare::run(arguments, tables()?),
        Command::Note(arguments) => note::run(arguments, tables()?),
        Command::Judge(arguments) => judge::run(arguments, tables()?),
        Command::Learn(arguments) => learn::run(arguments, tables()?),
        Command::Series(arguments) => series::run(arguments, tables()?),
        Command::Next(arguments) => next::run(arguments, tables()?),
        Command::New(arguments) => new::run(arguments, output, || Ok(tables()?)),
        Command::Substance(arguments) => substance::run(arguments, tables()?),
        Command::Report(arguments) => report::run(arguments, tables()?, output.is_some()),
        Command::Guide(arguments) => Ok(guide::run(arguments)),
        #[cfg(not(target_family = "wasm"))]
        Command::Schema(arguments) => schema::run(arguments),
        #[cfg(not(target_family = "wasm"))]
        Command::Completions(arguments) => Ok(completions::run(arguments)),
        #[cfg(not(target_family = "wasm"))]
        Command::Manual(arguments) => manual::run(arguments),
    }
}

/// The files that the arguments of the command name, whatever they are for, and what lies in the
/// folders that they name, if TOML: no result goes over one of them.
fn files_named(matches: &ArgMatches) -> Vec<PathBuf> {
    let Some((_, command)) = matches.subcommand() else {
        return Vec::new();
    };
    let others = command.ids().filter(|id| id.as_str() != "output");
    others
        .filter_map(|id| command.try_get_raw(id.as_str()).ok().flatten())
        .flatten()
        .flat_map(|path| match std::fs::read_dir(path) {
            Ok(folder) => tables_of(folder),
            Err(_) => vec![PathBuf::from(path)],
        })
        .collect()
}

fn tables_of(folder: std::fs::ReadDir) -> Vec<PathBuf> {
    let paths = folder.flatten().map(|entry| entry.path());
    paths
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .collect()
}

/// A mass of the bench as an argument: above 0 and up to 5 kg.
fn bench_mass(text: &str) -> Result<Mass, String> {
    let mass = mass(text).map_err(|error| error.to_string())?;
    if mass > Mass::default() && mass <= Mass::new::<kilogram>(5.0) {
        Ok(mass)
    } else {
        Err("the mass should be above 0 and up to 5 kg".to_owned())
    }
}

/// The tables, for as long as the program runs: nobody waits for them to be taken apart. On the
/// page one program answers many commands, with the built-in tables loaded once.
fn load_tables(directory: Option<&Path>) -> Result<&'static Tables, TableError> {
    static BUILT_IN: OnceLock<Tables> = OnceLock::new();
    if let Some(directory) = directory {
        return Ok(Box::leak(Box::new(Tables::with_directory(directory)?)));
    }
    match BUILT_IN.get() {
        Some(tables) => Ok(tables),
        None => {
            let tables = Tables::built_in()?;
            Ok(BUILT_IN.get_or_init(|| tables))
        }
    }
}

/// Reads a batch file; `-` is the standard input.
fn read_batch(path: &Path, tables: &Tables) -> Result<Batch, CliError> {
    if path.as_os_str() != "-" {
        return Ok(Batch::read(path, tables)?);
    }
    Ok(Batch::from_reader(std::io::stdin().lock(), "-", tables)?)
}
