//! What of a long result is shown: the answer, sections by their names, or everything.

use super::document::Section;

/// What is asked of a result that has an answer and sections behind it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Shown {
    /// The answer on one screen.
    #[default]
    Answer,
    /// The sections with these names, without the answer.
    Sections(Vec<String>),
    /// The answer and every section.
    Full,
}

impl Shown {
    /// The sections that are named, or everything, or the answer alone.
    #[must_use]
    pub fn asked(sections: &[String], full: bool) -> Self {
        match (sections, full) {
            (_, true) => Self::Full,
            ([], false) => Self::Answer,
            (sections, false) => Self::Sections(sections.to_vec()),
        }
    }

    /// Whether the answer itself is wanted.
    pub(super) fn answer(&self) -> bool {
        !matches!(self, Self::Sections(_))
    }

    /// The sections of `named` that are wanted and have something to say.
    pub(super) fn pick<'a>(
        &self,
        named: impl IntoIterator<Item = (&'a str, Section)>,
    ) -> Vec<Section> {
        let wanted = |name: &str| match self {
            Self::Answer => false,
            Self::Sections(names) => names.iter().any(|asked| asked == name),
            Self::Full => true,
        };
        let picked = named.into_iter().filter(|(name, _)| wanted(name));
        let picked: Vec<Section> = picked
            .map(|(_, section)| section)
            .filter(|section| !section.parts.is_empty())
            .collect();
        if picked.is_empty() && !self.answer() {
            let mut nothing = Section::default();
            nothing.text("There is nothing to say to that here.");
            return vec![nothing];
        }
        picked
    }
}

/// Where the sections of an answer are: `--show a,b,c or --full`.
pub(super) fn more(names: &[&str]) -> String {
    format!("--show {} or --full", names.join(","))
}
