//! Prepares the tables: every file below `tables/` is read as TOML, the one source of numbers, and
//! written as JSON, which the program reads several times faster; species and reactants row by row,
//! for a batch needs few of them. Every source that a table cites has to stand in `sources.toml`.

use std::collections::BTreeSet;
use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=tables");
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("tables");
    let out = PathBuf::from(env::var("OUT_DIR")?).join("tables");
    let mut files = Vec::new();
    collect(&root, &mut files)?;
    files.sort();
    let known = known_sources(&root.join("sources.toml"))?;
    let mut list = String::from("static PREPARED: &[(&str, &str)] = &[\n");
    let mut species = String::from("static SPECIES: &[(usize, &str)] = &[\n");
    let mut reactants = String::from("static REACTANTS: &[(usize, &str)] = &[\n");
    let mut mark = Mark::new();
    for (at, file) in files.iter().enumerate() {
        let name = file
            .strip_prefix(&root)?
            .to_str()
            .ok_or("a table's name is not Unicode")?
            .replace('\\', "/");
        let mut table = read(file)?;
        check_sources(&toml::Value::Table(table.clone()), &known)
            .map_err(|key| format!("tables/{name} cites `{key}`, which sources.toml lacks"))?;
        let target = out.join(&name).with_extension("json");
        fs::create_dir_all(target.parent().ok_or("a table has no folder")?)?;
        mark.take(name.as_bytes());
        mark.take(serde_json::to_string(&table)?.as_bytes());
        if name.starts_with("species/") {
            let rows = table.remove("species").ok_or("a file without species")?;
            let lines = write_rows(&target, &rows, species_head)?;
            writeln!(species, "    ({at}, include_str!({lines:?})),")?;
        }
        if let Some(rows) = table.remove("reactant") {
            let lines = write_rows(&target, &rows, reactant_head)?;
            writeln!(reactants, "    ({at}, include_str!({lines:?})),")?;
        }
        let prepared = serde_json::to_string(&table)?;
        fs::write(&target, prepared)?;
        writeln!(list, "    ({name:?}, include_str!({target:?})),")?;
    }
    list.push_str("];\n");
    for rows in [species, reactants] {
        list.push_str(&rows);
        list.push_str("];\n");
    }
    fs::write(out.join("prepared.rs"), list)?;
    println!("cargo:rustc-env=EMBERPOT_TABLES={:08x}", mark.0 >> 32);
    Ok(())
}

/// One row a line beside `target`: what it is found by, and the row as JSON, tabs between.
fn write_rows(
    target: &Path,
    rows: &toml::Value,
    head: fn(&toml::Value) -> Option<Vec<&str>>,
) -> Result<PathBuf, Box<dyn Error>> {
    let mut lines = String::new();
    for row in rows.as_array().ok_or("rows are no array")? {
        let head = head(row).ok_or_else(|| format!("id, formula or phase is missing: {row}"))?;
        if head.iter().any(|word| word.contains(['\t', '\n'])) {
            return Err(format!("a tab or a new line in {head:?}").into());
        }
        let json = serde_json::to_string(row)?;
        writeln!(lines, "{}\t{json}", head.join("\t"))?;
    }
    let target = target.with_extension("rows");
    fs::write(&target, lines)?;
    Ok(target)
}

/// Id, formula, phase and names of a species.
fn species_head(row: &toml::Value) -> Option<Vec<&str>> {
    let mut head = vec![text(row, "id")?, text(row, "formula")?, text(row, "phase")?];
    head.extend(texts(row, "names"));
    Some(head)
}

/// Id, formula, name and other names of a reactant. A row without a name is called by its formula.
fn reactant_head(row: &toml::Value) -> Option<Vec<&str>> {
    let formula = text(row, "formula")?;
    let name = text(row, "name").unwrap_or(formula);
    let mut head = vec![text(row, "id").unwrap_or(name), formula, name];
    head.extend(texts(row, "aliases"));
    Some(head)
}

fn text<'a>(row: &'a toml::Value, key: &str) -> Option<&'a str> {
    row.get(key).and_then(toml::Value::as_str)
}

fn texts<'a>(row: &'a toml::Value, key: &str) -> Vec<&'a str> {
    let list = row.get(key).and_then(toml::Value::as_array);
    let list = list.into_iter().flatten();
    list.filter_map(toml::Value::as_str).collect()
}

/// A mark of what the tables hold, by the FNV-1a sum of 64 bits (its two constants from memory).
struct Mark(u64);

impl Mark {
    fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    fn take(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
}

fn read(file: &Path) -> Result<toml::Table, Box<dyn Error>> {
    let table = toml::from_str(&fs::read_to_string(file)?);
    Ok(table.map_err(|error| format!("{}: {error}", file.display()))?)
}

/// The keys of all sources.
fn known_sources(file: &Path) -> Result<BTreeSet<String>, Box<dyn Error>> {
    let table = read(file)?;
    let sources = table["source"].as_array().ok_or("no sources")?;
    let keys = sources.iter().filter_map(|source| source["key"].as_str());
    Ok(keys.map(str::to_owned).collect())
}

/// Refuses the first source that is not among the known ones.
fn check_sources(value: &toml::Value, known: &BTreeSet<String>) -> Result<(), String> {
    match value {
        toml::Value::Table(table) => table.iter().try_for_each(|(key, value)| {
            if key == "source" || key.ends_with("_source") {
                let one = value.as_str().into_iter();
                let several = value.as_array().into_iter().flatten();
                for cited in one.chain(several.filter_map(toml::Value::as_str)) {
                    if !known.contains(cited) {
                        return Err(cited.to_owned());
                    }
                }
            }
            check_sources(value, known)
        }),
        toml::Value::Array(list) => list
            .iter()
            .try_for_each(|value| check_sources(value, known)),
        _ => Ok(()),
    }
}

/// All `.toml` files below `folder`.
fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> Result<(), Box<dyn Error>> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else if path
            .extension()
            .is_some_and(|extension| extension == "toml")
        {
            files.push(path);
        }
    }
    Ok(())
}
