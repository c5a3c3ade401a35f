//! A series: batches in which one thing changes, or two as a small design.
//!
//! Every member is a batch file of its own, made from the file of the series by changing a key, and
//! is made ready and refused like any batch. Neighbours are compared draw by draw, both with the
//! same place in the bands of the pot, so that what they share cancels.

mod apart;
mod error;
mod factor;
mod members;
mod solution;

pub use apart::Apart;
pub use error::SeriesError;
pub use factor::{Factor, NAMES};
pub use members::{LEARNED, LevelBand, Member, Order, Purpose, RatioBand};
pub use solution::{DopantStock, Mother, Together};

use crate::advice::{Severity, Warning};
use crate::batch::Batch;
use crate::formula::Element;
use crate::learn::{LearnError, Page, learn};
use crate::learned::Learned;
use crate::quantity::units::{gram, mole, percent, ratio};
use crate::quantity::{Mass, Ratio};
use crate::tables::Tables;
use members::{Maker, design, label, mark, members, parsed};
use rand::SeedableRng;
use rand::rngs::StdRng;
use rand::seq::SliceRandom;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// Most runs of the reference.
pub const MOST_REPEATS: usize = 6;
/// A planned series.
#[derive(Debug)]
pub struct Series<'t> {
    /// Name of the batch.
    pub name: String,
    /// What changes.
    pub factors: Vec<String>,
    /// The members, by level.
    pub members: Vec<Member<'t>>,
    /// Order of the runs, by member.
    pub order: Vec<usize>,
    /// Seed of that order.
    pub seed: u64,
    /// Whether labels tell nothing.
    pub blind: bool,
    /// The solution that all share, if there is one.
    pub mother: Option<Mother>,
    /// The dopant's stock solution.
    pub stock: Option<DopantStock>,
    /// Mass of each substance for all runs.
    pub purchases: Vec<(String, Mass)>,
    /// What neighbours differ by.
    pub apart: Vec<Apart>,
    /// All of it lying in one room.
    pub together: Together,
    /// Dangers, with the labels of the members that have them.
    pub dangers: Vec<(Warning, Vec<String>)>,
    /// What the expected peaks were learned from: the file that the batch takes in, else its runs.
    pub learned: Option<Arc<Learned>>,
}

/// Plans a series from the batch file `text`, named `origin` in errors.
///
/// # Errors
/// [`SeriesError`] if a level does not fit, a member is refused, or there are too many.
pub fn series<'t>(
    text: &str,
    origin: &str,
    order: &Order,
    tables: &'t Tables,
) -> Result<Series<'t>, SeriesError> {
    let learned = learned(text, origin, tables)?;
    let text = &factor::without_runs(text)?;
    let maker = Maker {
        origin,
        learned: learned.as_ref(),
        tables,
    };
    let design = design(&order.factors);
    let mut members = members(&design, text, order, &maker)?;
    let stock = match &order.factors[..] {
        [(factor, _)] => match factor.dopant() {
            Some((dopant, _)) => DopantStock::of(dopant, &members, tables)?,
            None => None,
        },
        _ => None,
    };
    if let (Some(stock), [(factor, _)]) = (&stock, &order.factors[..]) {
        // What the pipette can draw is what the member is.
        for member in members.iter_mut().filter(|m| m.purpose != Purpose::Blank) {
            let Some(drawn) = stock.drawn(&member.prepared.batch) else {
                continue;
            };
            if member.purpose == Purpose::Level {
                let level = percent_text(&member.levels[0], drawn.factor);
                let text = factor.at(&level, text, tables)?;
                *member = maker.ready(member.purpose, vec![level], text)?;
            }
            member.stock = Some(drawn.volume);
        }
    }
    label(&mut members, order);
    mark(&mut members, order, learned.is_some())?;
    for member in &mut members {
        if member.purpose == Purpose::Reference {
            member.runs = order.repeats.clamp(1, MOST_REPEATS);
        }
    }
    let mother = Mother::of(&members, tables);
    for member in &mut members {
        let dopant = stock.as_ref().map(|stock| stock.substance.as_str());
        member.weighed = weighed(&member.prepared.batch, mother.as_ref(), dopant);
        member.ratio_band = RatioBand::of(&member.prepared.batch, tables)?;
    }
    if let (Some(stock), [(factor, _)]) = (&stock, &order.factors[..]) {
        bands(&mut members, factor, stock, mother.as_ref(), tables)?;
    }
    let sequence = sequence(&members, order.seed);
    Ok(Series {
        name: members[0].prepared.batch.name.clone(),
        factors: order
            .factors
            .iter()
            .map(|(factor, _)| factor.to_string())
            .collect(),
        apart: apart::neighbours(&members, order.factors.len(), tables),
        together: Together::of(&members, tables),
        purchases: purchases(&members),
        dangers: dangers(&members),
        learned,
        order: sequence,
        seed: order.seed,
        blind: order.blind,
        mother,
        stock,
        members,
    })
}

/// What the file takes in, else what its own runs teach, else nothing.
fn learned(text: &str, origin: &str, tables: &Tables) -> Result<Option<Arc<Learned>>, SeriesError> {
    let batch = parsed(text, origin, &[], tables)?;
    if batch.learned.is_some() || batch.runs.is_empty() {
        return Ok(batch.learned);
    }
    let file = Path::new(origin).file_name();
    let file = file.map_or(origin.into(), |name| name.to_string_lossy());
    let page = Page {
        file: file.into_owned(),
        batch,
    };
    match learn(&[page], tables) {
        Ok(lesson) if lesson.pots.is_empty() => Ok(None),
        Ok(lesson) => Ok(Some(Arc::new(lesson.learned("this file")))),
        Err(LearnError::NoRuns | LearnError::NothingRead { .. }) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

/// Notes what balance and glassware make of each level of the dopant.
fn bands(
    members: &mut [Member<'_>],
    factor: &Factor,
    stock: &DopantStock,
    mother: Option<&Mother>,
    tables: &Tables,
) -> Result<(), SeriesError> {
    let Some((dopant, host)) = factor.dopant() else {
        return Ok(());
    };
    for member in members {
        let batch = &member.prepared.batch;
        if let Some(volume) = member.stock {
            let host_error = solution::host_uncertainty(batch, host, mother, tables)?;
            let level = share_of_site(batch, dopant, host);
            member.band = Some(LevelBand::of(level, volume, stock, host_error));
        }
    }
    Ok(())
}

/// Share of the atoms of `dopant` and `host` that are of the dopant.
fn share_of_site(batch: &Batch, dopant: Element, host: Element) -> Ratio {
    let atoms = batch.dry_elements();
    let of = |element| atoms.get(&element).map_or(0.0, |n| n.get::<mole>());
    Ratio::new::<ratio>(of(dopant) / (of(dopant) + of(host)))
}

/// A level in percent times `factor`.
fn percent_text(level: &str, factor: f64) -> String {
    let share = crate::quantity::parse::ratio(level).map_or(0.0, |r| r.get::<percent>());
    let drawn = (share * factor * 1e4).round() / 1e4;
    format!("{drawn} %")
}

/// The runs in random order.
fn sequence(members: &[Member<'_>], seed: u64) -> Vec<usize> {
    let mut order: Vec<usize> = members
        .iter()
        .enumerate()
        .flat_map(|(at, member)| std::iter::repeat_n(at, member.runs))
        .collect();
    // Apart from the labels, so that a label does not give the order away.
    order.shuffle(&mut StdRng::seed_from_u64(seed.wrapping_add(1)));
    order
}

/// What is weighed for one run beside the shared solution and the stock.
fn weighed(batch: &Batch, mother: Option<&Mother>, stock: Option<&str>) -> Vec<(String, Mass)> {
    batch
        .weighed
        .iter()
        .filter(|i| !mother.is_some_and(|mother| mother.holds(&i.reactant.id)))
        .filter(|i| stock != Some(i.reactant.id.as_str()))
        .map(|i| (i.reactant.name.clone(), i.mass))
        .collect()
}

fn purchases(members: &[Member<'_>]) -> Vec<(String, Mass)> {
    let mut sums: BTreeMap<String, Mass> = BTreeMap::new();
    for member in members {
        for ingredient in &member.prepared.batch.weighed {
            let mass = member.runs as f64 * ingredient.mass;
            *sums
                .entry(ingredient.reactant.name.clone())
                .or_insert(Mass::new::<gram>(0.0)) += mass;
        }
    }
    sums.into_iter().collect()
}

/// Dangers and stops of the members, each once.
fn dangers(members: &[Member<'_>]) -> Vec<(Warning, Vec<String>)> {
    let mut found: Vec<(Warning, Vec<String>)> = Vec::new();
    for member in members {
        let warnings = member.prepared.advice.warnings.iter();
        for warning in warnings.filter(|w| w.severity <= Severity::Danger) {
            match found
                .iter_mut()
                .find(|(known, _)| known.code == warning.code)
            {
                Some((_, labels)) => labels.push(member.label.clone()),
                None => found.push((warning.clone(), vec![member.label.clone()])),
            }
        }
    }
    found
}
