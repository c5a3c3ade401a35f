//! The command line: files in, reports out, exit codes.
//!
//! 0: done; 1: done, with a warning of the danger class; 2: bad input, a refusal, or no result.
//! Results go to the standard output, everything else to the standard error.

mod answer;
mod burn;
#[cfg(not(target_family = "wasm"))]
mod calcine;
mod check;
mod choose;
mod compare;
#[cfg(not(target_family = "wasm"))]
mod completions;
mod convert;
mod dope;
mod error;
#[cfg(not(target_family = "wasm"))]
mod guide;
mod ignite;
mod input;
mod judge;
mod learn;
#[cfg(not(target_family = "wasm"))]
mod manual;
mod new;
mod next;
#[cfg(not(target_family = "wasm"))]
mod note;
mod output;
mod recrystallise;
mod report;
#[cfg(not(target_family = "wasm"))]
mod schema;
mod series;
#[cfg(not(target_family = "wasm"))]
mod settle;
mod substance;
#[cfg_attr(target_family = "wasm", path = "cli/no_terminal.rs")]
mod terminal;
mod vary;
mod weigh;

use answer::Answer;
use clap::{ArgMatches, CommandFactory, FromArgMatches, Parser, Subcommand};
use error::CliError;
use input::load_tables;
use std::path::PathBuf;

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
    #[cfg(not(target_family = "wasm"))]
    Calcine(calcine::Arguments),
    /// Turn a carbonate, oxide or basic salt into nitrate: acid needed, gas given off.
    Convert(convert::Arguments),
    /// Count a dopant: mol % of a site, by mass, as oxide, and back.
    Dope(dope::Arguments),
    /// Recrystallise a salt from water: water, yield, what stays behind, how to go about it.
    Recrystallise(recrystallise::Arguments),
    /// Bring any mixture to equilibrium, at a temperature or without heat exchange.
    #[cfg(not(target_family = "wasm"))]
    Settle(settle::Arguments),
    /// Choose fuel and fuel ratio for the wanted phase, with the reasons.
    Choose(choose::Arguments),
    /// List every mistake of a batch file, without an estimate.
    Check(check::Arguments),
    /// Set batches side by side, differences first.
    Compare(compare::Arguments),
    /// Note a run in a batch file: what was seen, weighed and measured.
    #[cfg(not(target_family = "wasm"))]
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
    #[cfg(not(target_family = "wasm"))]
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
        #[cfg(not(target_family = "wasm"))]
        Command::Calcine(arguments) => calcine::run(arguments, tables()?),
        Command::Convert(arguments) => convert::run(arguments, tables()?),
        Command::Dope(arguments) => dope::run(arguments, tables()?),
        Command::Recrystallise(arguments) => recrystallise::run(arguments, tables()?),
        #[cfg(not(target_family = "wasm"))]
        Command::Settle(arguments) => settle::run(arguments, tables()?),
        Command::Choose(arguments) => choose::run(arguments, tables()?),
        Command::Check(arguments) => check::run(arguments, tables()?),
        Command::Compare(arguments) => compare::run(arguments, tables()?),
        #[cfg(not(target_family = "wasm"))]
        Command::Note(arguments) => note::run(arguments, tables()?),
        Command::Judge(arguments) => judge::run(arguments, tables()?),
        Command::Learn(arguments) => learn::run(arguments, tables()?),
        Command::Series(arguments) => series::run(arguments, tables()?),
        Command::Next(arguments) => next::run(arguments, tables()?),
        Command::New(arguments) => new::run(arguments, output, || Ok(tables()?)),
        Command::Substance(arguments) => substance::run(arguments, tables()?),
        Command::Report(arguments) => report::run(arguments, tables()?, output.is_some()),
        #[cfg(not(target_family = "wasm"))]
        Command::Guide(arguments) => Ok(guide::run(arguments)),
        #[cfg(not(target_family = "wasm"))]
        Command::Schema(arguments) => schema::run(arguments),
        #[cfg(not(target_family = "wasm"))]
        Command::Completions(arguments) => Ok(completions::run(arguments, Arguments::command())),
        #[cfg(not(target_family = "wasm"))]
        Command::Manual(arguments) => manual::run(arguments, Arguments::command()),
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
