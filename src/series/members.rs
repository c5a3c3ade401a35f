//! The members: one batch file each, changed, made ready, named and marked.

use super::error::{MOST_MEMBERS, SeriesError};
use super::factor::{self, Factor};
use crate::batch::Batch;
use crate::learned::Learned;
use crate::prepared::Prepared;
use crate::quantity::units::{gram, mole, ratio};
use crate::quantity::{EquivalenceRatio, Mass, Ratio, Volume};
use crate::tables::Tables;
use crate::weigh::bands::Cause;
use crate::weigh::sheet::{SheetError, SheetOptions, sheet};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Amounts that differ by no more than this share are the same.
pub(super) const SAME: f64 = 1e-6;

/// What was learned, beside the files of the members.
pub const LEARNED: &str = "learned.toml";

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
    Level,
    /// The batch of the file: repeated, it tells the scatter.
    Reference,
    /// Without the dopant: what the host does alone.
    Blank,
}

/// What the balance and the glassware make of a dopant's level in one member.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelBand {
    /// The level as drawn, as a share of the site.
    pub level: Ratio,
    /// Half width about it (k = 2), all counted.
    pub half_width: Ratio,
    /// What of it is common to all members and moves no level against another: the stock.
    pub common: Ratio,
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
    pub(super) fn of(batch: &Batch, tables: &Tables) -> Result<Self, SheetError> {
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

/// Every combination of levels.
pub(super) fn design(factors: &[(Factor, Vec<String>)]) -> Vec<Vec<String>> {
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

pub(super) fn members<'t>(
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
pub(super) fn parsed(
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
pub(super) struct Maker<'m, 't> {
    pub origin: &'m str,
    pub learned: Option<&'m Arc<Learned>>,
    pub tables: &'t Tables,
}

impl<'t> Maker<'_, 't> {
    pub fn ready(
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

/// Labels A, B, C … by level; blind ones are codes in no order.
pub(super) fn label(members: &mut [Member<'_>], order: &Order) {
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
pub(super) fn mark(
    members: &mut [Member<'_>],
    order: &Order,
    learned: bool,
) -> Result<(), SeriesError> {
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
