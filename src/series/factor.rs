//! What a series changes: a key of the batch file, so that every member is a file of its own with
//! all comments kept.

use super::error::SeriesError;
use crate::batch::Batch;
use crate::formula::{Element, Formula};
use crate::quantity::units::percent;
use crate::quantity::{Ratio, parse};
use crate::tables::{Role, Tables};
use std::fmt;
use toml_edit::{DocumentMut, Item, Table, Value, value};

/// Amounts of a formula are written to this.
const DIGITS: f64 = 1e6;

/// One thing that changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    name: String,
    place: Changed,
}

#[derive(Debug, Clone, PartialEq)]
enum Changed {
    Key {
        section: String,
        key: String,
    },
    /// A key of an ingredient, by its place in the file.
    Ingredient {
        at: usize,
        key: &'static str,
    },
    /// The substance of the only fuel.
    Fuel {
        at: usize,
    },
    /// The share of a dopant on the sites of its host.
    Dopant {
        dopant: Element,
        host: Element,
    },
}

/// Names with what stands for them, for the help and for hints.
pub const NAMES: [(&str, &str); 11] = [
    ("fuel-ratio", "equivalence ratio φ: 0.9, 1, 1.1"),
    (
        "dopant:X/Y",
        "share of X on the sites of Y: 0.5 %, 1 %, 2 %",
    ),
    ("fuel", "the fuel: urea, glycine"),
    ("water", "added water: 8 mL, 12 mL"),
    ("water-left", "share of all water left at ignition"),
    ("way", "heating way: hot plate, muffle furnace"),
    (
        "temperature",
        "temperature of plate or furnace: 400 °C, 500 °C",
    ),
    ("flux:FLUX", "mol of FLUX per mol of target: 0.02, 0.05"),
    ("purity:SALT", "assay of a bottle: 97 %, 99.9 %"),
    ("size", "mass of product: 1 g, 2 g"),
    ("SECTION.KEY", "any other key of the file"),
];

impl fmt::Display for Factor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.name)
    }
}

/// Reads the text of a batch file for editing.
pub fn document(text: &str) -> Result<DocumentMut, SeriesError> {
    text.parse()
        .map_err(|error: toml_edit::TomlError| SeriesError::Syntax {
            message: error.to_string(),
        })
}

/// The text without the runs of the batch: they are not those of the members.
pub fn without_runs(text: &str) -> Result<String, SeriesError> {
    let mut document = document(text)?;
    document.remove("run");
    document.remove("learned");
    Ok(document.to_string())
}

/// The text with the name of the member, the file of what was learned and its place in the series.
pub fn marked(
    text: &str,
    name: &str,
    learned: Option<&str>,
    mark: &[(&str, &str)],
) -> Result<String, SeriesError> {
    let mut document = document(text)?;
    set(document.as_table_mut(), "name", name);
    if let Some(learned) = learned {
        set(document.as_table_mut(), "learned", learned);
    }
    let mut table = Table::new();
    table.decor_mut().set_prefix("\n");
    for (key, text) in mark {
        table.insert(key, value(*text));
    }
    document.insert("series", Item::Table(table));
    Ok(document.to_string())
}

impl Factor {
    /// The factor that `name` means for the batch file `text`.
    ///
    /// # Errors
    /// [`SeriesError`] if there is none, or the file does not have what it moves.
    pub fn read(name: &str, text: &str, tables: &Tables) -> Result<Self, SeriesError> {
        let document = document(text)?;
        let (kind, what) = match name.split_once(':') {
            Some((kind, what)) => (kind.trim(), Some(what.trim())),
            None => (name.trim(), None),
        };
        let missing = |lacks: &str| SeriesError::Lacks {
            factor: name.to_owned(),
            lacks: lacks.to_owned(),
        };
        let key = |section: &str, key: &str| Changed::Key {
            section: section.to_owned(),
            key: key.to_owned(),
        };
        let place = match (kind, what) {
            ("fuel-ratio", None) if has(&document, "target", "equivalence_ratio") => {
                key("target", "equivalence_ratio")
            }
            ("fuel-ratio", None) => return Err(missing("`equivalence_ratio` under [target]")),
            ("size", None) if has(&document, "target", "product_mass") => {
                key("target", "product_mass")
            }
            ("size", None) => return Err(missing("`product_mass` under [target]")),
            ("water-left", None) => key("water", "left_at_ignition"),
            ("way", None) => key("heating", "way"),
            ("temperature", None) => key("heating", "temperature"),
            ("water", None) => Changed::Ingredient {
                at: of_role(&document, Role::Solvent, tables)
                    .ok_or_else(|| missing("an [[ingredient]] water"))?,
                key: "volume",
            },
            ("fuel", None) => Changed::Fuel {
                at: of_role(&document, Role::Fuel, tables)
                    .ok_or_else(|| missing("one [[ingredient]] that is a fuel, and no other"))?,
            },
            ("purity" | "flux", Some(substance)) => Changed::Ingredient {
                at: named(&document, substance, tables)
                    .ok_or_else(|| missing(&format!("an [[ingredient]] {substance}")))?,
                key: if kind == "purity" {
                    "assay"
                } else {
                    "per_product"
                },
            },
            ("dopant", Some(pair)) => {
                dopant(pair).ok_or_else(|| missing("two element symbols, such as dopant:Eu/Sr"))?
            }
            (path, None) => match path.split_once('.') {
                Some((section, name)) if !name.contains('.') => key(section, name),
                _ => return Err(unknown(name)),
            },
            _ => return Err(unknown(name)),
        };
        Ok(Self {
            name: name.to_owned(),
            place,
        })
    }

    /// The dopant and the metal whose site it takes, if it sets how much of one there is.
    pub fn dopant(&self) -> Option<(Element, Element)> {
        match self.place {
            Changed::Dopant { dopant, host } => Some((dopant, host)),
            _ => None,
        }
    }

    /// Whether a member without any of it is a blank.
    pub fn has_blank(&self) -> bool {
        self.dopant().is_some()
    }

    /// The text of the batch file at a level.
    ///
    /// # Errors
    /// [`SeriesError`] if the level does not fit.
    pub fn at(&self, level: &str, text: &str, tables: &Tables) -> Result<String, SeriesError> {
        let mut document = document(text)?;
        let wrong = || SeriesError::Level {
            factor: self.name.clone(),
            level: level.to_owned(),
        };
        match &self.place {
            Changed::Key { section, key } => {
                let table = document.entry(section).or_insert(Item::Table(Table::new()));
                let table = table.as_table_like_mut().ok_or_else(wrong)?;
                set(table, key, level);
            }
            Changed::Ingredient { at, key } => {
                let table = ingredient(&mut document, *at).ok_or_else(wrong)?;
                set(table, key, level);
            }
            Changed::Fuel { at } => {
                let table = ingredient(&mut document, *at).ok_or_else(wrong)?;
                // The assay is that of the other bottle.
                table.remove("assay");
                set(table, "substance", level);
            }
            Changed::Dopant { dopant, host } => {
                let share = parse::ratio(level).map_err(|_| wrong())?;
                if !(0.0..=100.0).contains(&share.get::<percent>()) {
                    return Err(wrong());
                }
                doped(&mut document, (*dopant, *host), share, text, tables)?;
            }
        }
        Ok(document.to_string())
    }
}

fn unknown(name: &str) -> SeriesError {
    let kind = name.split(':').next().unwrap_or(name);
    let names = NAMES
        .iter()
        .map(|(name, _)| name.split(':').next().unwrap_or(name));
    SeriesError::Factor {
        name: name.to_owned(),
        close: crate::names::closest(kind, names).map(str::to_owned),
        known: NAMES.map(|(name, _)| name).join(", "),
    }
}

fn has(document: &DocumentMut, section: &str, key: &str) -> bool {
    document
        .get(section)
        .and_then(Item::as_table_like)
        .is_some_and(|table| table.contains_key(key))
}

/// Sets a key; a level that is a number stays one, unless the file writes it as a text.
fn set(table: &mut dyn toml_edit::TableLike, key: &str, level: &str) {
    let old = table.get(key);
    let as_text = old.is_some_and(Item::is_str);
    let decor = old
        .and_then(Item::as_value)
        .map(|value| value.decor().clone());
    let mut new: Value = match (level.parse::<f64>(), as_text) {
        (Ok(number), false) => number.into(),
        _ => level.into(),
    };
    if let Some(decor) = decor {
        *new.decor_mut() = decor;
    }
    // In place, so that the comment above the key stays.
    match table.get_mut(key) {
        Some(item) => *item = value(new),
        None => {
            table.insert(key, value(new));
        }
    }
}

fn substances(document: &DocumentMut) -> Vec<&str> {
    let list = document
        .get("ingredient")
        .and_then(Item::as_array_of_tables);
    list.map_or(Vec::new(), |list| {
        list.iter()
            .map(|table| table.get("substance").and_then(Item::as_str).unwrap_or(""))
            .collect()
    })
}

fn ingredient(document: &mut DocumentMut, at: usize) -> Option<&mut Table> {
    document
        .get_mut("ingredient")?
        .as_array_of_tables_mut()?
        .get_mut(at)
}

/// The only ingredient of a role.
fn of_role(document: &DocumentMut, role: Role, tables: &Tables) -> Option<usize> {
    let mut found = substances(document)
        .into_iter()
        .enumerate()
        .filter(|(_, name)| tables.find_reactant(name).is_ok_and(|r| r.role == role))
        .map(|(at, _)| at);
    found.next().filter(|_| found.next().is_none())
}

fn named(document: &DocumentMut, name: &str, tables: &Tables) -> Option<usize> {
    let wanted = tables.find_reactant(name).ok()?;
    substances(document)
        .into_iter()
        .position(|name| tables.find_reactant(name).is_ok_and(|r| r.id == wanted.id))
}

fn dopant(pair: &str) -> Option<Changed> {
    let (dopant, host) = pair.split_once('/')?;
    Some(Changed::Dopant {
        dopant: Element::from_symbol(dopant.trim())?,
        host: Element::from_symbol(host.trim())?,
    })
}

/// Writes the target's formula with the dopant at `share`; without any, its salt leaves the file.
fn doped(
    document: &mut DocumentMut,
    (dopant, host): (Element, Element),
    share: Ratio,
    text: &str,
    tables: &Tables,
) -> Result<(), SeriesError> {
    let refused = |message: String| SeriesError::Member {
        member: format!("{dopant} at {} %", share.get::<percent>()),
        message,
    };
    let batch =
        Batch::parse(text, "the file", tables).map_err(|error| refused(error.to_string()))?;
    let doped = batch
        .with_dopant(dopant, host, share)
        .map_err(|error| refused(error.to_string()))?;
    let target = doped.target.ok_or_else(|| SeriesError::Lacks {
        factor: format!("dopant:{dopant}/{host}"),
        lacks: "a [target] with its formula".to_owned(),
    })?;
    if let Some(table) = document.get_mut("target").and_then(Item::as_table_like_mut) {
        set(table, "formula", &formula_text(&target.formula));
    }
    if share.get::<percent>() <= 0.0 {
        let salt = batch.weighed.iter().find(|i| {
            i.reactant
                .metal
                .as_ref()
                .is_some_and(|metal| metal.element == dopant)
        });
        let at = salt.and_then(|salt| named(document, &salt.reactant.id, tables));
        let list = document
            .get_mut("ingredient")
            .and_then(Item::as_array_of_tables_mut);
        if let (Some(at), Some(list)) = (at, list) {
            list.remove(at);
        }
        let states = document
            .get_mut("oxidation_states")
            .and_then(Item::as_table_like_mut);
        if let Some(states) = states {
            states.remove(dopant.symbol());
        }
    }
    Ok(())
}

/// The formula with rounded amounts, anions last.
fn formula_text(formula: &Formula) -> String {
    let is_anion = |element: &Element| matches!(element.symbol(), "O" | "N" | "F" | "S" | "Cl");
    let written = |(element, amount): (&Element, &f64)| {
        let amount = (amount * DIGITS).round() / DIGITS;
        if (amount - 1.0).abs() < 1.0 / DIGITS {
            element.symbol().to_owned()
        } else {
            format!("{}{amount}", element.symbol())
        }
    };
    let amounts = || formula.amounts().iter();
    let cations = amounts()
        .filter(|(element, _)| !is_anion(element))
        .map(written);
    cations
        .chain(
            amounts()
                .filter(|(element, _)| is_anion(element))
                .map(written),
        )
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "# head\nname = \"x\"\n[target]\nformula = \"Sr0.98Eu0.02Al2O4\" # phosphor\n\
        product_mass = \"1 g\"\nequivalence_ratio = 1.5 # rich\n\
        [[ingredient]]\nsubstance = \"Sr(NO3)2\"\n[[ingredient]]\nsubstance = \"Eu(NO3)3·6H2O\"\n\
        [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\n\
        [[ingredient]]\nsubstance = \"urea\"\nassay = \"98 %\"\n\
        [oxidation_states]\nEu = 2\n";

    fn at(factor: &str, level: &str) -> Result<String, String> {
        let tables = Tables::built_in().unwrap();
        let text = Factor::read(factor, FILE, &tables)
            .and_then(|factor| factor.at(level, FILE, &tables))
            .map_err(|error| error.to_string())?;
        Batch::parse(&text, "test", &tables).map_err(|error| error.to_string())?;
        Ok(text)
    }

    #[test]
    fn a_level_changes_its_key_and_nothing_else() {
        assert_eq!(
            at("fuel-ratio", "1.2").unwrap(),
            FILE.replace("1.5 #", "1.2 #")
        );
        let fuel = at("fuel", "glycine").unwrap();
        assert_eq!(
            fuel,
            FILE.replace("urea", "glycine")
                .replace("assay = \"98 %\"\n", "")
        );
        let doped = at("dopant:Eu/Sr", "5 %").unwrap();
        assert_eq!(
            doped,
            FILE.replace("Sr0.98Eu0.02Al2O4", "Al2Sr0.95Eu0.05O4")
        );
        assert!(
            at("heating.way", "hot plate")
                .unwrap()
                .contains("[heating]\nway = \"hot plate\"")
        );
    }

    #[test]
    fn a_member_is_marked_and_the_comments_stay() {
        let marked = marked(FILE, "x, A", None, &[("label", "A")]).unwrap();
        let wanted = FILE.replace("\"x\"", "\"x, A\"") + "\n[series]\nlabel = \"A\"\n";
        assert_eq!(marked, wanted);
    }

    #[test]
    fn a_blank_has_no_dopant() {
        let blank = at("dopant:Eu/Sr", "0").unwrap();
        assert!(!blank.contains("Eu"), "{blank}");
        assert!(blank.contains("\"Al2SrO4\" # phosphor"), "{blank}");
    }

    #[test]
    fn what_the_file_lacks_is_told() {
        for (factor, level, told) in [
            ("fuel-rato", "1", "did you mean `fuel-ratio`"),
            ("water", "8 mL", "an [[ingredient]] water"),
            ("purity:glycine", "98 %", "an [[ingredient]] glycine"),
            ("dopant:Eu", "1 %", "two element symbols"),
            ("dopant:Eu/Sr", "much", "\"much\""),
            ("fuel", "sand", "sand"),
        ] {
            let error = at(factor, level).unwrap_err();
            assert!(error.contains(told), "{error}");
        }
    }
}
