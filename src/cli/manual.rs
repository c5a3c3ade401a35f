//! `emberpot manual`: pages for `man`.

use super::answer::Answer;
use super::error::CliError;
use super::output::write_new;
use clap::Command;
use clap_mangen::Man;
use std::path::PathBuf;

#[derive(clap::Args)]
pub struct Arguments {
    /// The command whose page is printed; without it the page of the program.
    command: Option<String>,
    /// Write all pages into this folder, which is made if need be.
    #[arg(long, value_name = "DIR", conflicts_with = "command")]
    write: Option<PathBuf>,
}

pub fn run(arguments: &Arguments, program: Command) -> Result<Answer, CliError> {
    let pages = pages(program);
    if let Some(folder) = &arguments.write {
        std::fs::create_dir_all(folder).map_err(|error| CliError::Io {
            what: folder.display().to_string(),
            error,
        })?;
        for (name, page) in &pages {
            write_new(&folder.join(format!("{name}.1")), page)?;
        }
        return Ok(Answer::nothing());
    }
    let name = match &arguments.command {
        Some(command) => format!("emberpot-{command}"),
        None => "emberpot".to_owned(),
    };
    let page = pages.into_iter().find(|(page, _)| *page == name);
    let unknown = || CliError::Argument(format!("no command has the name of the page {name}"));
    page.map(|(_, page)| Answer::script(page))
        .ok_or_else(unknown)
}

/// The page of the program and those of its commands, by name.
fn pages(mut program: Command) -> Vec<(String, String)> {
    program.build();
    let commands = program
        .get_subcommands()
        .filter(|command| command.get_name() != "help");
    std::iter::once(&program)
        .chain(commands)
        .map(|command| {
            let name = command
                .get_display_name()
                .unwrap_or(command.get_name())
                .to_owned();
            let mut page = Vec::new();
            Man::new(command.clone())
                .render(&mut page)
                .expect("a Vec takes every page");
            (name, String::from_utf8_lossy(&page).into_owned())
        })
        .collect()
}
