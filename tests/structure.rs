//! The shape of the sources: no module asks back.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// The module of each source file, such as `report::sheet::water`.
fn modules() -> BTreeMap<String, String> {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = BTreeMap::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                found.insert(
                    name_of(path.strip_prefix(&root).unwrap()),
                    without_tests(&text),
                );
            }
        }
    }
    found
}

fn name_of(path: &Path) -> String {
    let path = path.with_extension("");
    let parts = path.iter().map(|part| part.to_str().unwrap());
    let parts: Vec<&str> = parts.filter(|part| *part != "mod").collect();
    parts.join("::")
}

/// The text before the unit tests, which may look at everything, and without comments.
fn without_tests(text: &str) -> String {
    let code = text.split("\n#[cfg(test)]\nmod ").next().unwrap();
    let lines = code
        .lines()
        // What an attribute of serde names converts what is written; it takes no item.
        .filter(|line| {
            !["//", "#[serde("]
                .iter()
                .any(|s| line.trim_start().starts_with(s))
        });
    lines.collect::<Vec<_>>().join("\n")
}

/// Names that follow `path::`, alone or in braces.
fn names_after<'t>(text: &'t str, path: &str) -> BTreeSet<&'t str> {
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let mut names = BTreeSet::new();
    for (at, _) in text.match_indices(path) {
        let before = text[..at].chars().next_back();
        if before.is_some_and(|c| is_word(c) || c == ':') {
            continue;
        }
        let rest = &text[at + path.len()..];
        let list = match rest.strip_prefix('{') {
            Some(list) => list.split('}').next().unwrap(),
            None => rest.split(|c: char| !is_word(c)).next().unwrap(),
        };
        names.extend(list.split(',').filter_map(|name| {
            let name = name.trim();
            name.split(|c: char| !is_word(c))
                .next()
                .filter(|name| !name.is_empty())
        }));
    }
    names
}

#[test]
fn no_child_takes_from_a_parent_that_takes_from_it() {
    let modules = modules();
    let mut circles = Vec::new();
    for (name, text) in &modules {
        let Some((parent, child)) = name.rsplit_once("::") else {
            continue;
        };
        let Some(parent_text) = modules.get(parent) else {
            continue;
        };
        if names_after(parent_text, &format!("{child}::")).is_empty() {
            continue;
        }
        let mut taken = names_after(text, "super::");
        taken.extend(names_after(text, &format!("crate::{parent}::")));
        taken.retain(|taken| {
            let adds_methods = text.contains(&format!("impl {taken} "))
                || text.contains(&format!("impl {taken}<"));
            *taken != "super"
                && !modules.contains_key(&format!("{parent}::{taken}"))
                && !adds_methods
        });
        if !taken.is_empty() {
            circles.push(format!("{name} takes {taken:?}"));
        }
    }
    assert!(circles.is_empty(), "{circles:#?}");
}

#[test]
fn no_siblings_take_from_each_other_in_a_circle() {
    let modules = modules();
    let siblings_taken = |name: &str, text: &str| -> BTreeSet<String> {
        let parent = name.rsplit_once("::").map_or("", |(parent, _)| parent);
        let named = ["super::".to_owned(), format!("crate::{parent}::")];
        let paths = named.iter().flat_map(|path| names_after(text, path));
        let siblings = paths.map(|taken| format!("{parent}::{taken}"));
        siblings
            .filter(|taken| taken != name && modules.contains_key(taken))
            .collect()
    };
    let mut takes: BTreeMap<&str, BTreeSet<String>> = modules
        .iter()
        .map(|(name, text)| (name.as_str(), siblings_taken(name, text)))
        .collect();
    assert!(takes.values().filter(|taken| !taken.is_empty()).count() > 100);
    // What takes from nothing that is left goes, until only circles and what takes from them stay.
    loop {
        let done: BTreeSet<String> = takes
            .iter()
            .filter(|(_, taken)| taken.is_empty())
            .map(|(name, _)| (*name).to_owned())
            .collect();
        if done.is_empty() {
            break;
        }
        takes.retain(|name, _| !done.contains(*name));
        for taken in takes.values_mut() {
            taken.retain(|name| !done.contains(name));
        }
    }
    assert!(takes.is_empty(), "{takes:#?}");
}
