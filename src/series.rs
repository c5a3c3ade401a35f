//! A series: batches in which one thing changes, or two as a small design.
//!
//! Every member is a batch file of its own, made from the file of the series by changing a key, and
//! is made ready and refused like any batch. Neighbours are compared draw by draw, both with the
//! same place in the bands of the pot, so that what they share cancels.

mod apart;
mod factor;
mod solution;

pub use apart::Apart;
pub use factor::{Factor, NAMES};
pub use solution::{DopantStock, LevelBand, Mother, Together};

use crate::advice::{Severity, Warning};
use crate::batch::Batch;
use crate::formula::Element;
use crate::learn::{LearnError, Page, learn};
use crate::learned::Learned;
use crate::prepared::Prepared;
use crate::quantity::{EquivalenceRatio, Mass, Ratio, Volume};
use crate::tables::Tables;
use crate::weigh::balance::WeighingError;
use crate::weigh::bands::Cause;
use crate::weigh::glassware::GlasswareError;
use crate::weigh::sheet::{SheetError, SheetOptions, sheet};
use rand::rngs::StdRng;
use rand::seq::SliceRandom;
use rand::{Rng, SeedableRng};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;
use thiserror::Error;
use uom::si::amount_of_substance::mole;
use uom::si::mass::gram;
use uom::si::ratio::{percent, ratio};

/// Most members of a series: more are not one afternoon's work.
pub const MOST_MEMBERS: usize = 12;
/// Most runs of the reference.
pub const MOST_REPEATS: usize = 6;
/// What was learned, beside the files of the members.
pub const LEARNED: &str = "learned.toml";
/// Amounts that differ by no more than this share are the same.
const SAME: f64 = 1e-6;

/// Why there is no series.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SeriesError {
    /// The file is no TOML.
    #[error("{message}")]
    Syntax {
        /// What the reader says, with the line.
        message: String,
    },
    /// No such thing to change.
    #[error(
        "a series cannot change `{name}`{}",
        match close {
            Some(near) => format!("; did you mean `{near}`?"),
            None => format!("; it can change {}", NAMES.map(|(name, _)| name).join(", ")),
        }
    )]
    Factor {
        /// As given.
        name: String,
        /// A near name.
        close: Option<String>,
    },
    /// The file does not have what the factor moves.
    #[error("`{factor}` needs {lacks} in the batch file")]
    Lacks {
        /// The factor.
        factor: String,
        /// What is not there.
        lacks: String,
    },
    /// A level that does not fit.
    #[error("`{factor}` cannot be set to \"{level}\"")]
    Level {
        /// The factor.
        factor: String,
        /// As given.
        level: String,
    },
    /// A member cannot be read, is refused or cannot be burnt.
    #[error("member {member}: {message}")]
    Member {
        /// The member.
        member: String,
        /// Why.
        message: String,
    },
    /// Too few or too many.
    #[error("the series has {count} members; it may have 2 to {MOST_MEMBERS}")]
    Count {
        /// Members asked for.
        count: usize,
    },
    /// The runs of the file.
    #[error(transparent)]
    Learn(#[from] LearnError),
    /// The bench sheet of a member.
    #[error(transparent)]
    Sheet(#[from] SheetError),
    /// A piece of glassware that the tables do not know.
    #[error(transparent)]
    Glassware(#[from] GlasswareError),
    /// A mass that no balance weighs.
    #[error(transparent)]
    Weighing(#[from] WeighingError),
    /// Two levels that make the same batch.
    #[error("{first} and {second} are the same batch: leave one out")]
    Twice {
        /// One.
        first: String,
        /// The other.
        second: String,
    },
}

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Order {
    /// What changes, with its levels as written.
    pub factors: Vec<(Factor, Vec<String>)>,
    /// Runs of the reference.
    pub repeats: usize,
    /// Seed of the order and of the labels.
    pub seed: u64,
    /// Whether labels tell nothing.
    pub blind: bool,
}

/// What a member is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// One of the levels.
    Level,
    /// The batch of the file: repeated, it tells the scatter.
    Reference,
    /// Without the dopant: what the host does alone.
    Blank,
}

/// One batch of the series.
#[derive(Debug)]
pub struct Member<'t> {
    /// Name on the vessel.
    pub label: String,
    /// What it is for.
    pub purpose: Purpose,
    /// Level of each factor, as it is drawn; empty for a reference beside the levels.
    pub levels: Vec<String>,
    /// The batch file.
    pub text: String,
    /// The batch made ready.
    pub prepared: Prepared<'t>,
    /// Number of runs.
    pub runs: usize,
    /// What is weighed beside the mother solution and the stock: name and mass.
    pub weighed: Vec<(String, Mass)>,
    /// Volume of the dopant's stock.
    pub stock: Option<Volume>,
    /// The dopant's level with what balance and glassware make of it.
    pub band: Option<LevelBand>,
    /// How far φ may be off.
    pub ratio_band: RatioBand,
}

/// How far φ of a member may be off, two standard deviations, as on its bench sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatioBand {
    /// Half width, all causes.
    pub half_width: EquivalenceRatio,
    /// What of it the weighing of this member makes; the rest is of bottles and atomic weights, and
    /// alike in all members.
    pub own: EquivalenceRatio,
}

impl RatioBand {
    fn of(batch: &Batch, tables: &Tables) -> Result<Self, SheetError> {
        let bands = sheet(batch, tables, &SheetOptions::default())?.bands;
        let band = bands.equivalence_ratio;
        let of_bottles = band
            .causes
            .iter()
            .filter(|(cause, _)| !matches!(cause, Cause::Mass(_)));
        let shared: f64 = of_bottles.map(|(_, share)| share.get::<ratio>()).sum();
        Ok(Self {
            half_width: band.half_width,
            own: (1.0 - shared).max(0.0).sqrt() * band.half_width,
        })
    }
}

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

/// Every combination of levels.
fn design(factors: &[(Factor, Vec<String>)]) -> Vec<Vec<String>> {
    let mut rows = vec![Vec::new()];
    for (_, levels) in factors {
        rows = rows
            .into_iter()
            .flat_map(|row: Vec<String>| {
                levels.iter().map(move |level| {
                    let mut row = row.clone();
                    row.push(level.clone());
                    row
                })
            })
            .collect();
    }
    rows
}

fn members<'t>(
    design: &[Vec<String>],
    text: &str,
    order: &Order,
    maker: &Maker<'_, 't>,
) -> Result<Vec<Member<'t>>, SeriesError> {
    if !(2..=MOST_MEMBERS).contains(&design.len()) {
        let count = design.len();
        return Err(SeriesError::Count { count });
    }
    let tables = maker.tables;
    let own = maker.ready(Purpose::Reference, Vec::new(), text.to_owned())?;
    let mut members: Vec<Member<'t>> = Vec::new();
    for levels in design {
        let mut changed = text.to_owned();
        for ((factor, _), level) in order.factors.iter().zip(levels) {
            changed = factor.at(level, &changed, tables)?;
        }
        let member = maker.ready(Purpose::Level, levels.clone(), changed)?;
        if let Some(twin) = members.iter().find(|m| same(m, &member)) {
            return Err(SeriesError::Twice {
                first: twin.levels.join(", "),
                second: levels.join(", "),
            });
        }
        members.push(member);
    }
    if let [(factor, _)] = &order.factors[..] {
        if factor.has_blank() {
            let blank = factor.at("0", text, tables)?;
            let blank = maker.ready(Purpose::Blank, vec!["0".to_owned()], blank)?;
            match members.iter_mut().find(|m| same(m, &blank)) {
                Some(zero) => zero.purpose = Purpose::Blank,
                None => members.insert(0, blank),
            }
        }
    }
    match members.iter_mut().find(|m| same(m, &own)) {
        Some(reference) => reference.purpose = Purpose::Reference,
        None => members.push(own),
    }
    Ok(members)
}

/// The batch of a member.
fn parsed(
    text: &str,
    origin: &str,
    levels: &[String],
    tables: &Tables,
) -> Result<Batch, SeriesError> {
    Batch::parse(text, origin, tables).map_err(|error| refused(levels, error.to_string()))
}

fn refused(levels: &[String], message: String) -> SeriesError {
    let member = if levels.is_empty() {
        "of the file itself".to_owned()
    } else {
        levels.join(", ")
    };
    SeriesError::Member { member, message }
}

/// Makes members ready, all with what was learned.
struct Maker<'m, 't> {
    origin: &'m str,
    learned: Option<&'m Arc<Learned>>,
    tables: &'t Tables,
}

impl<'t> Maker<'_, 't> {
    fn ready(
        &self,
        purpose: Purpose,
        levels: Vec<String>,
        text: String,
    ) -> Result<Member<'t>, SeriesError> {
        let mut batch = parsed(&text, self.origin, &levels, self.tables)?;
        batch.learned = self.learned.cloned();
        let prepared = Prepared::new(&batch, self.tables);
        let prepared = prepared.map_err(|error| refused(&levels, error.to_string()))?;
        let none = Ratio::new::<ratio>(0.0);
        Ok(Member {
            label: String::new(),
            purpose,
            levels,
            text,
            prepared,
            runs: 1,
            weighed: Vec::new(),
            stock: None,
            band: None,
            ratio_band: RatioBand {
                half_width: none,
                own: none,
            },
        })
    }
}

/// Whether two members are the same batch, heated alike.
fn same(a: &Member<'_>, b: &Member<'_>) -> bool {
    let (a, b) = (&a.prepared.batch, &b.prepared.batch);
    a.weighed.len() == b.weighed.len()
        && a.heating == b.heating
        && a.vessel == b.vessel
        && a.water_at_ignition == b.water_at_ignition
        && a.conditions == b.conditions
        && a.weighed.iter().zip(&b.weighed).all(|(a, b)| {
            let (n, other) = (a.amount.get::<mole>(), b.amount.get::<mole>());
            a.reactant.id == b.reactant.id
                && (n - other).abs() <= SAME * n
                && (a.mass - b.mass).get::<gram>().abs() <= SAME * a.mass.get::<gram>()
        })
}

/// A level in percent times `factor`.
fn percent_text(level: &str, factor: f64) -> String {
    let share = crate::quantity::parse::ratio(level).map_or(0.0, |r| r.get::<percent>());
    let drawn = (share * factor * 1e4).round() / 1e4;
    format!("{drawn} %")
}

/// Labels A, B, C … by level; blind ones are codes in no order.
fn label(members: &mut [Member<'_>], order: &Order) {
    let mut generator = StdRng::seed_from_u64(order.seed);
    let mut taken = BTreeSet::new();
    for (at, member) in (0_u8..).zip(members.iter_mut()) {
        member.label = if order.blind {
            loop {
                let letter = char::from(b'A' + generator.random_range(0..26_u8));
                let code = format!("{letter}{}", generator.random_range(10..100_u8));
                if taken.insert(code.clone()) {
                    break code;
                }
            }
        } else {
            char::from(b'A' + at).to_string()
        };
    }
}

/// Writes the place in the series into each member's file, for `learn`, and that it takes in what
/// was learned.
fn mark(members: &mut [Member<'_>], order: &Order, learned: bool) -> Result<(), SeriesError> {
    let factors: Vec<String> = order
        .factors
        .iter()
        .map(|(factor, _)| factor.to_string())
        .collect();
    for member in members {
        let own = &member.prepared.batch.name;
        let (over, level) = (factors.join(", "), member.levels.join(", "));
        let mut mark = vec![
            ("name", own.as_str()),
            ("label", &member.label),
            ("over", &over),
        ];
        if !level.is_empty() {
            mark.push(("level", &level));
        }
        let name = format!("{own}, {}", member.label);
        let learned = learned.then_some(LEARNED);
        member.text = factor::marked(&member.text, &name, learned, &mark)?;
    }
    Ok(())
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
