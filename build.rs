//! Prepares the tables: every file below `tables/` is read as TOML, the one source of numbers, and
//! written as JSON beside it in the build folder, since that is read several times faster when the
//! program starts. `tables::parse_toml` takes the prepared form only for a text that is, byte for
//! byte, the one it was made from.

use std::error::Error;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=tables");
    let root = PathBuf::from(env::var("CARGO_MANIFEST_DIR")?).join("tables");
    let out = PathBuf::from(env::var("OUT_DIR")?);
    let mut files = Vec::new();
    collect(&root, &mut files)?;
    files.sort();
    let mut list = String::from("static PREPARED: &[(&str, &str)] = &[\n");
    for (number, file) in files.iter().enumerate() {
        let text = fs::read_to_string(file)?;
        let name = file
            .strip_prefix(&root)?
            .to_str()
            .ok_or("a table's name is not Unicode")?;
        let name = name.replace('\\', "/");
        let table: toml::Table =
            toml::from_str(&text).map_err(|e| format!("tables/{name}: {e}"))?;
        fs::write(
            out.join(format!("{number}.json")),
            serde_json::to_string(&table)?,
        )?;
        writeln!(
            list,
            "    (include_str!(concat!(env!(\"CARGO_MANIFEST_DIR\"), \"/tables/{name}\")), \
             include_str!(concat!(env!(\"OUT_DIR\"), \"/{number}.json\"))),"
        )?;
    }
    list.push_str("];\n");
    fs::write(out.join("prepared.rs"), list)?;
    Ok(())
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
