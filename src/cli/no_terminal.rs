//! In place of the terminal where there is none, in the offline page.

/// No columns: the width of a screen is taken.
pub fn columns() -> Option<usize> {
    None
}

/// None either: the page breaks the lines of errors itself.
pub fn error_columns() -> Option<usize> {
    None
}

/// No bar.
pub struct Progress;

impl Progress {
    /// Nothing is drawn for any number of rows.
    pub fn of(_rows: usize) -> Self {
        Self
    }

    /// Nothing to draw.
    pub fn advance(&self) {}

    /// Nothing to take away.
    pub fn end(self) {}
}
