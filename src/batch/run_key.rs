//! The keys of a run, as they are asked for and written.

/// How the value of a key is written in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A text in quotes.
    Text,
    /// A number, with its unit if it has one, in quotes.
    Quantity,
    /// `true` or `false`.
    Flag,
    /// Texts in a list; several are parted by `;`.
    Texts,
    /// Numbers in a list, parted by blanks or `;`.
    Numbers,
}

/// A key of a run, in the order in which the keys are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RunKey {
    /// The key; behind `powder.` those of the powder.
    pub name: &'static str,
    /// What to ask.
    pub question: &'static str,
    /// How its value is written.
    pub written: Kind,
}

pub(super) const fn key(name: &'static str, question: &'static str, written: Kind) -> RunKey {
    RunKey {
        name,
        question,
        written,
    }
}
