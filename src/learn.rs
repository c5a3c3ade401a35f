//! Learning from runs: what the pots of this laboratory really do.
//!
//! The draws of the expected burn are weighted by how well they predict what was read, pot by pot
//! (a vessel on a heating way). A draw takes the same place in the bands of the pot for every batch
//! burnt in it, so runs of several batches weight it together. A flame that lasts long is a slow
//! front; froth is a factor of its own, since no draw predicts it. Readings err as Student's t, which
//! forgives one that is far off; how far they err stands in `tables/observations.toml`. Blocks of
//! draws are added until enough of them count.

mod case;
mod error;
mod page;
mod pot;
mod reading;
mod scale;
mod sign;
mod trend;
mod weight;

pub use error::LearnError;
pub use page::{Page, Unused};
pub use pot::{FlameOutlook, Habits, Misses, Outlier, Outlook, PotLesson, RunLesson, Share};
pub(crate) use reading::deviation;
pub use scale::ScaleLesson;
pub use sign::{PlaceOutlook, SignOutlook};
pub use trend::{Course, Trend};

use crate::learned::Learned;
use crate::tables::Tables;

/// What was learned.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    pub pots: Vec<PotLesson>,
    /// What the series among the batches say.
    pub trends: Vec<Trend>,
    /// Runs that tell nothing here, with the reason.
    pub unused: Vec<Unused>,
    /// Readings that weight nothing, with the reason.
    pub set_aside: Vec<&'static str>,
}

/// Learns from the runs of `pages`. What the batches take in as learned before is left out, so that
/// no run counts twice.
///
/// # Errors
/// [`LearnError`] if no run tells anything, or a batch with runs is refused or cannot be burnt.
pub fn learn(pages: &[Page], tables: &Tables) -> Result<Lesson, LearnError> {
    if pages.iter().all(|page| page.batch.runs.is_empty()) {
        return Err(LearnError::NoRuns);
    }
    let (mut groups, unused) = case::groups(pages, tables)?;
    let trends = trend::trends(pages);
    if groups.is_empty() && trends.is_empty() {
        return Err(LearnError::NothingRead { unused });
    }
    let pots = groups
        .iter_mut()
        .map(|group| group.lesson(&tables.observations))
        .collect();
    Ok(Lesson {
        pots,
        trends,
        unused,
        set_aside: case::set_aside(pages),
    })
}

impl Lesson {
    /// The lesson as the file `name`.
    pub fn learned(&self, name: &str) -> Learned {
        let runs = self.pots.iter().flat_map(|pot| &pot.runs);
        let mut from: Vec<String> = runs.map(|run| run.name.clone()).collect();
        from.sort();
        Learned {
            file: name.to_owned(),
            from,
            pots: self.pots.iter().map(PotLesson::learned).collect(),
        }
    }
}
