//! What commands read: batch files, tables, masses.

use super::error::CliError;
use emberpot::quantity::Mass;
use emberpot::quantity::parse::mass;
use emberpot::quantity::units::kilogram;
use emberpot::{Batch, Prepared, TableError, Tables};
use std::path::Path;
use std::sync::OnceLock;

/// Reads a batch file and makes the batch ready: what is refused ends here, for every command.
pub fn prepare<'t>(path: &Path, tables: &'t Tables) -> Result<Prepared<'t>, CliError> {
    Ok(Prepared::new(&read_batch(path, tables)?, tables)?)
}

/// A mass of the bench as an argument: above 0 and up to 5 kg.
pub fn bench_mass(text: &str) -> Result<Mass, String> {
    let mass = mass(text).map_err(|error| error.to_string())?;
    if mass > Mass::default() && mass <= Mass::new::<kilogram>(5.0) {
        Ok(mass)
    } else {
        Err("the mass should be above 0 and up to 5 kg".to_owned())
    }
}

/// The tables, for as long as the program runs: nobody waits for them to be taken apart. On the
/// page one program answers many commands, with the built-in tables loaded once.
pub fn load_tables(directory: Option<&Path>) -> Result<&'static Tables, TableError> {
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
pub fn read_batch(path: &Path, tables: &Tables) -> Result<Batch, CliError> {
    if path.as_os_str() != "-" {
        return Ok(Batch::read(path, tables)?);
    }
    Ok(Batch::from_reader(std::io::stdin().lock(), "-", tables)?)
}
