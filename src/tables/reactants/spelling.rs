//! Spellings of a name, and of a formula, that come to the same.

use crate::formula::{Element, Formula};

/// Words for one to twelve, and eighteen, molecules of crystal water.
const HYDRATES: [(&str, &str); 14] = [
    ("0.5", "hemi"),
    ("1", "mono"),
    ("2", "di"),
    ("3", "tri"),
    ("4", "tetra"),
    ("5", "penta"),
    ("6", "hexa"),
    ("7", "hepta"),
    ("8", "octa"),
    ("9", "nona"),
    ("10", "deca"),
    ("12", "dodeca"),
    ("16", "hexadeca"),
    ("18", "octadeca"),
];

/// What a label says of the grade and the form, behind the name.
const GRADES: [&str; 16] = [
    "fine powder",
    "powder",
    "crystals",
    "granules",
    "pellets",
    "ACS reagent",
    "reagent grade",
    "analytical grade",
    "technical grade",
    "extra pure",
    "p.a.",
    "puriss",
    "purum",
    "ACS",
    "USP",
    "AR",
];

/// The text of a label as the tables write it: no grade, "CAS" before a number left out, a strength
/// behind the name, an element's symbol before a word written out ("Al nitrate"), crystal water
/// behind a dot of a formula and as a word of a name.
pub(super) fn from_label(text: &str) -> String {
    let mut text = text.trim();
    for grade in GRADES {
        let bare = text.strip_suffix(grade);
        if let Some(bare) = bare.filter(|b| b.ends_with([' ', ','])) {
            text = bare.trim_end_matches([' ', ',']);
        }
    }
    if let Some(number) = text.strip_prefix("CAS") {
        text = number.trim_start_matches([' ', ':', '-', '#']);
        text = text.strip_prefix("No.").unwrap_or(text).trim_start();
    }
    let mut out = text.replace('½', ".5");
    if let Some(acid) = out.strip_prefix("conc. ") {
        out = format!("concentrated {acid}");
    }
    if let Some((number, name)) = out.split_once('%') {
        let digits = number.trim().trim_end_matches(" wt").trim_end_matches("wt");
        if digits.parse::<f64>().is_ok() && !name.trim().is_empty() {
            out = format!("{} {digits} %", name.trim());
        }
    }
    if let Some((symbol, rest)) = out.split_once(' ') {
        let element = Element::from_symbol(symbol).filter(|e| e.is_metal());
        if let Some(element) = element.filter(|_| rest.starts_with(char::is_lowercase)) {
            out = format!("{} {rest}", element.name());
        }
    }
    crystal_water(&out)
}

/// The crystal water at the end of `text`, as a word or as a formula, written as its salt wants it.
fn crystal_water(text: &str) -> String {
    if !text.contains(' ') && Formula::parse(text).is_ok() {
        return text.to_owned();
    }
    let water = water_word(text).or_else(|| water_formula(text));
    let Some((salt, number)) = water.filter(|(salt, _)| !salt.is_empty()) else {
        return text.to_owned();
    };
    if Formula::parse(salt).is_ok() {
        return format!("{salt}·{number}H2O");
    }
    let word = HYDRATES.iter().find(|(n, _)| *n == number && is_name(salt));
    word.map_or_else(
        || text.to_owned(),
        |(_, word)| format!("{salt} {word}hydrate"),
    )
}

/// Words tell a name from a formula; "x" leaves its water open.
fn is_name(salt: &str) -> bool {
    let mut runs = salt.split(|c: char| !c.is_lowercase());
    runs.any(|run| run.len() > 2) && salt.ends_with(char::is_alphabetic) && !salt.ends_with(" x")
}

/// "Zn(NO3)2 hexahydrate", "zinc nitrate 6-hydrate": the salt, and how much water.
fn water_word(text: &str) -> Option<(&str, &str)> {
    let (salt, word) = text.rsplit_once(' ')?;
    let word = word.strip_suffix("hydrate")?;
    let count = word.strip_suffix('-').unwrap_or(word);
    let known = HYDRATES.iter().find(|(n, w)| *n == count || *w == count)?;
    Some((salt.trim_end_matches([' ', ',']), known.0))
}

/// "Al(NO3)3 9H2O", "Al(NO3)3 x 9 H2O", "citric acid·H2O".
fn water_formula(text: &str) -> Option<(&str, &str)> {
    let before = text.strip_suffix("H2O")?.trim_end();
    let salt = before.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.');
    let number = &before[salt.len()..];
    let named = salt.trim_end_matches(['*', '•', '∙', '⋅', '·', '-', ',', ' ']);
    let apart = named.len() < salt.len();
    let named = match number {
        // the number that "xH2O" leaves open
        "" => named,
        _ => named
            .strip_suffix(" x")
            .or_else(|| named.strip_suffix(" ×"))
            .unwrap_or(named),
    };
    apart.then_some((
        named.trim_end(),
        if number.is_empty() { "1" } else { number },
    ))
}

/// Spellings that come to the same, as written and as looked up.
const SPELLINGS: [(&str, &str); 7] = [
    (" ·", "·"),
    ("· ", "·"),
    (" (", "("),
    (" %", "%"),
    ("aluminum", "aluminium"),
    ("cesium", "caesium"),
    ("sulph", "sulf"),
];

/// Lower case, one spelling of aluminium and sulfur, hydrate dots alike, no stray blanks.
pub(super) fn normalized(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '*' | '•' | '∙' | '⋅' | '·' => out.push('·'),
            '₀'..='₉' => out.extend(char::from_digit(c as u32 - '₀' as u32, 10)),
            c if c.is_whitespace() || c == '_' => {
                // "nitric acid, 65 %" is "nitric acid 65%".
                if out.ends_with(',') {
                    out.pop();
                }
                if !out.is_empty() && !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            c if c.is_ascii() => out.push(c.to_ascii_lowercase()),
            c => out.extend(c.to_lowercase()),
        }
    }
    out.truncate(out.trim_end_matches(' ').len());
    for (written, plain) in SPELLINGS {
        if out.contains(written) {
            out = out.replace(written, plain);
        }
    }
    out
}

/// Whether two formulas hold the same atoms; fractional water leaves rounding.
pub(super) fn same_atoms(one: &Formula, other: &Formula) -> bool {
    let (a, b) = (one.amounts(), other.amounts());
    a.len() == b.len()
        && a.iter()
            .zip(b)
            .all(|(x, y)| x.0 == y.0 && (x.1 - y.1).abs() < 1e-6)
}

/// A normalized name without its oxidation state, and the state: "iron(iii) nitrate".
pub(super) fn without_state(name: &str) -> (String, Option<i8>) {
    const ROMAN: [&str; 8] = ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii"];
    for (roman, state) in ROMAN.iter().zip(1..) {
        if let Some((before, after)) = name.split_once(&format!("({roman})")) {
            return (format!("{before}{after}"), Some(state));
        }
    }
    (name.to_owned(), None)
}

/// The name, normalized, without the words that tell the hydrate, and without an oxidation state.
pub(super) fn stem(name: &str) -> String {
    let name = normalized(name);
    let bare: String = match (name.find('('), name.find(')')) {
        (Some(a), Some(b)) if a < b && name[a + 1..b].chars().all(|c| "iv+".contains(c)) => {
            format!("{}{}", &name[..a], &name[b + 1..])
        }
        _ => name,
    };
    bare.split(' ')
        .filter(|w| !w.ends_with("hydrate") && *w != "anhydrous")
        .collect::<Vec<_>>()
        .join(" ")
}
