//! `emberpot guide`: what does not fit a help page, from the texts in `src/cli/guide`.

use super::answer::Answer;
use std::fmt::Write;

/// The topics: name, what it is about, text.
pub const TOPICS: [(&str, &str, &str); 8] = [
    (
        "batch",
        "every key of a batch file",
        include_str!("guide/batch.md"),
    ),
    (
        "commands",
        "every command, options of all, exit codes",
        include_str!("guide/commands.md"),
    ),
    (
        "numbers",
        "what is answered, what the numbers mean, limits",
        include_str!("guide/numbers.md"),
    ),
    (
        "notebook",
        "note, judge, learn, series: learning from runs",
        include_str!("guide/notebook.md"),
    ),
    (
        "tables",
        "substances and other tables of your own",
        include_str!("guide/tables.md"),
    ),
    (
        "programs",
        "JSON, CSV and schema for other programs",
        include_str!("guide/programs.md"),
    ),
    (
        "python",
        "from Python and notebooks",
        include_str!("guide/python.md"),
    ),
    ("page", "the offline page", include_str!("guide/page.md")),
];

#[derive(clap::Args)]
pub struct Arguments {
    /// What to read about; without it the topics are listed.
    #[arg(value_parser = clap::builder::PossibleValuesParser::new(TOPICS.map(|topic| topic.0)))]
    topic: Option<String>,
}

pub fn run(arguments: &Arguments) -> Answer {
    let asked = |topic: &&(&str, &str, &str)| arguments.topic.as_deref() == Some(topic.0);
    match TOPICS.iter().find(asked) {
        Some((.., text)) => (*text).to_owned().into(),
        None => list().into(),
    }
}

fn list() -> String {
    let mut text = String::from("emberpot guide TOPIC prints one of\n\n");
    for (name, about, _) in TOPICS {
        writeln!(text, "  {name:<10}{about}").expect("a String takes every text");
    }
    text
}
