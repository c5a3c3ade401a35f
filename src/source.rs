//! Where a number comes from: sources, and how they were seen.

use serde::{Deserialize, Serialize};
use std::borrow::Borrow;
use std::collections::BTreeMap;
use std::fmt;

/// Key of an entry of the bibliography, such as `mcbride-2002`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(transparent)]
pub struct SourceId(pub String);

/// Key of what stands in no source.
const MEMORY: &str = "memory";

impl SourceId {
    /// Source and how it was seen, as a text cites them; what is from memory has no source to name.
    pub fn cited(&self, locator: &str, seen: Seen) -> String {
        match (self.0.as_str(), locator) {
            (MEMORY, _) => seen.to_string(),
            (key, "") => format!("{key}; {seen}"),
            (key, locator) => format!("{key}, {locator}; {seen}"),
        }
    }
}

impl Borrow<str> for SourceId {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for SourceId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// How a value was found, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
pub enum Seen {
    /// Read in the source itself or in a faithful digital copy of it.
    #[serde(rename = "document")]
    Document,
    /// Worked out here from values that were read; the locator says how.
    #[serde(rename = "computed")]
    Computed,
    /// Remembered, no document opened.
    #[serde(rename = "from memory")]
    FromMemory,
    /// Estimated or assumed here; the locator says by which method.
    #[serde(rename = "estimated")]
    Estimated,
}

impl fmt::Display for Seen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// One published work, data set or standard.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Key, as the tables cite it.
    pub key: SourceId,
    /// Authors, title, year.
    pub title: String,
    /// Digital object identifier, report number or address.
    #[serde(default)]
    pub address: String,
    /// What to know about it.
    #[serde(default)]
    pub note: String,
}

/// All sources, by key.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bibliography {
    sources: BTreeMap<SourceId, Source>,
}

impl Bibliography {
    pub fn get(&self, key: &SourceId) -> Option<&Source> {
        self.sources.get(key)
    }

    /// Whether there is a source with this key.
    pub fn has(&self, key: &str) -> bool {
        self.sources.contains_key(key)
    }

    /// Adds a source; gives back the one that had the same key before, if any.
    pub fn insert(&mut self, source: Source) -> Option<Source> {
        self.sources.insert(source.key.clone(), source)
    }
}
