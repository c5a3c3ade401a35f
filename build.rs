//! Prepares the tables: every file below `tables/` is read as TOML, the one source of numbers, and
//! written as JSON, which the program reads several times faster. Every source that a
//! table cites has to stand in `sources.toml`.

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
    let mut mark = Mark::new();
    for file in files {
        let name = file
            .strip_prefix(&root)?
            .to_str()
            .ok_or("a table's name is not Unicode")?
            .replace('\\', "/");
        let table = read(&file)?;
        check_sources(&toml::Value::Table(table.clone()), &known)
            .map_err(|key| format!("tables/{name} cites `{key}`, which sources.toml lacks"))?;
        let target = out.join(&name).with_extension("json");
        fs::create_dir_all(target.parent().ok_or("a table has no folder")?)?;
        let prepared = serde_json::to_string(&table)?;
        mark.take(name.as_bytes());
        mark.take(prepared.as_bytes());
        fs::write(&target, prepared)?;
        writeln!(list, "    ({name:?}, include_str!({target:?})),")?;
    }
    list.push_str("];\n");
    fs::write(out.join("prepared.rs"), list)?;
    println!("cargo:rustc-env=EMBERPOT_TABLES={:08x}", mark.0 >> 32);
    Ok(())
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
