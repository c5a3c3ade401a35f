//! Spellings of a name that come to the same.

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
