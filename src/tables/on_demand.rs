//! Tables that are read when they are first asked for: most commands need few of them.

use super::error::TableError;
use std::fmt;
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

/// A built-in table, read once when it is first used; or one that is there already.
pub struct OnDemand<T> {
    read: fn() -> Result<T, TableError>,
    table: Arc<OnceLock<T>>,
}

impl<T> OnDemand<T> {
    /// The table that `read` gives.
    pub(super) fn new(read: fn() -> Result<T, TableError>) -> Self {
        let table = Arc::default();
        Self { read, table }
    }

    /// Changes the table at once.
    pub(super) fn change(
        &mut self,
        change: impl FnOnce(&mut T) -> Result<(), TableError>,
    ) -> Result<(), TableError> {
        let before = Arc::get_mut(&mut self.table).and_then(OnceLock::take);
        let mut table = before.map_or_else(self.read, Ok)?;
        change(&mut table)?;
        self.table = Arc::new(OnceLock::from(table));
        Ok(())
    }
}

impl<T> Deref for OnDemand<T> {
    type Target = T;

    fn deref(&self) -> &T {
        self.table
            .get_or_init(|| (self.read)().expect("the tests read every built-in table"))
    }
}

impl<T> Clone for OnDemand<T> {
    fn clone(&self) -> Self {
        let (read, table) = (self.read, Arc::clone(&self.table));
        Self { read, table }
    }
}

impl<T: fmt::Debug> fmt::Debug for OnDemand<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        T::fmt(self, f)
    }
}
