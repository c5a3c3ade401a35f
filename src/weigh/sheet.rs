//! The bench sheet: every ingredient in the order of addition, with its balance and its error; what
//! the pot really holds; the water; what to watch for.

use super::balance::WeighingError;
use super::bands::{BandError, ErrorBands, Weighed, error_bands};
use super::line::{Line, label};
use super::measure::{self, AtHand, Measure, NoStock, dopants};
use super::neighbours::{self, NeighbourCheck};
use super::notice::Notice;
use super::order::{Stage, order, stage};
use super::water::WaterError;
use super::water_sheet::{WaterSheet, water_sheet};
use super::{acid, check, size};
use crate::batch::Batch;
use crate::formula::Element;
use crate::purity::Budget;
use crate::quantity::units::{degree_celsius, kilogram, liter, ratio};
use crate::quantity::{AmountFraction, Mass, ThermodynamicTemperature, Volume};
use crate::tables::{Role, Tables};
use std::collections::{BTreeMap, BTreeSet};
use thiserror::Error;

/// Why there is no sheet.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum SheetError {
    #[error("{name}: {error}")]
    Weighing { name: String, error: WeighingError },
    #[error(transparent)]
    ErrorBands(#[from] BandError),
    #[error(transparent)]
    Water(#[from] WaterError),
    #[error("the batch cannot be divided into 0 pots; give 1 or more")]
    NoPots,
}

/// What may be chosen for a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetOptions {
    /// Room temperature.
    pub room: ThermodynamicTemperature,
    /// Temperature to which the solution may be warmed.
    pub warm: ThermodynamicTemperature,
    /// Number of equal pots into which the batch is divided.
    pub pots: u32,
}

impl Default for SheetOptions {
    fn default() -> Self {
        Self {
            room: ThermodynamicTemperature::new::<degree_celsius>(25.0),
            warm: ThermodynamicTemperature::new::<degree_celsius>(60.0),
            pots: 1,
        }
    }
}

/// Share of a metal, wanted and really in the pot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WantedShare {
    pub metal: Element,
    /// Share of all metal atoms of the target; `None` without a target, or for a metal not in it.
    pub wanted: Option<AmountFraction>,
}

/// The bench sheet of one pot.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The batch in one pot.
    pub batch: Batch,
    /// Number of equal pots.
    pub pots: u32,
    /// The lines in the order of addition.
    pub lines: Vec<Line>,
    /// Metals, in the order of their symbols.
    pub metals: Vec<WantedShare>,
    /// Bands of φ, shares, product mass.
    pub bands: ErrorBands,
    /// Compounds beside the wanted one, if the tables know the system.
    pub neighbours: Option<NeighbourCheck>,
    /// Impurities of the powder, if they are known to whoever makes the sheet.
    pub purity: Option<Budget>,
    /// Water.
    pub water: WaterSheet,
    /// What to watch for.
    pub notices: Vec<Notice>,
}

/// The bench sheet of a batch.
///
/// # Errors
/// [`SheetError`] if a mass cannot be weighed or no bands can be given.
///
/// # Examples
/// ```
/// use emberpot::{Batch, SheetOptions, Tables, sheet};
/// use uom::si::ratio::ratio;
/// let text = r#"
///     [target]
///     formula = "ZnAl2O4"
///     product_mass = "2 g"
///     equivalence_ratio = 1.1
///     [[ingredient]]
///     substance = "Zn(NO3)2·6H2O"
///     [[ingredient]]
///     substance = "Al(NO3)3·9H2O"
///     [[ingredient]]
///     substance = "urea"
/// "#;
/// let tables = Tables::built_in().unwrap();
/// let batch = Batch::parse(text, "example", &tables).unwrap();
/// let sheet = sheet(&batch, &tables, &SheetOptions::default()).unwrap();
/// assert_eq!(sheet.lines.len(), 3);
/// assert!((sheet.bands.equivalence_ratio.value.get::<ratio>() - 1.1).abs() < 1e-9);
/// ```
pub fn sheet(batch: &Batch, tables: &Tables, options: &SheetOptions) -> Result<Sheet, SheetError> {
    if options.pots == 0 {
        return Err(SheetError::NoPots);
    }
    let batch = match options.pots {
        1 => batch.clone(),
        pots => batch.scaled(1.0 / f64::from(pots)),
    };
    let at_hand = AtHand::of(&batch, tables, options.room);
    let mut notices = Vec::new();
    let mut lines = measured(&batch, &at_hand, tables, &mut notices)?;
    leave_out_carried_water(&mut lines, &at_hand);
    let mut total = Mass::new::<kilogram>(0.0);
    for line in &mut lines {
        total += line.in_pot();
        line.running_total = total;
    }
    let metals = metals_of(&batch);
    let (bands, neighbours) = bands(&batch, &lines, &metals, tables)?;
    let water = water_sheet(&batch, &lines, tables, [options.room, options.warm])?;
    check::notices(&mut notices, &batch, &bands, neighbours.as_ref());
    acid::notices(&mut notices, &batch, tables);
    notices.extend(size::notice(&batch, tables));
    let solvent = measure::solvent_volume(&batch);
    if water.carried > solvent {
        notices.push(Notice::StockWater {
            carried: water.carried,
            solvent,
        });
    }
    Ok(Sheet {
        batch,
        pots: options.pots,
        lines,
        metals,
        bands,
        neighbours,
        purity: None,
        water,
        notices,
    })
}

/// The lines in the order of addition, not yet added up; what is short at the bench is noticed.
fn measured(
    batch: &Batch,
    at_hand: &AtHand<'_>,
    tables: &Tables,
    notices: &mut Vec<Notice>,
) -> Result<Vec<Line>, SheetError> {
    let is_dopant = dopants(batch, tables);
    let stocks = (0..batch.weighed.len())
        .filter(|&at| at_hand.wants_stock(&batch.weighed[at], is_dopant[at]))
        .count();
    let most_water = at_hand.most_water(measure::solvent_volume(batch), stocks);
    if at_hand.balance_assumed {
        let readability = tables.weighing_rules.assumed.readability.value;
        notices.push(Notice::BalanceAssumed { readability });
    }
    let (mut masses, mut names) = (Vec::new(), Vec::new());
    let mut lines: Vec<Line> = Vec::new();
    let mut letters = 'A'..='Z';
    for at in order(&batch.weighed, |at| is_dopant[at]) {
        let ingredient = &batch.weighed[at];
        let name = label(ingredient);
        let (measure, no_stock) = at_hand
            .measure(ingredient, is_dopant[at], most_water)
            .map_err(|error| SheetError::Weighing {
                name: name.clone(),
                error,
            })?;
        if let Measure::Weigh(weighing) = &measure {
            if weighing.is_below_minimum() {
                masses.push((
                    name.clone(),
                    weighing.relative_error(),
                    weighing.minimum_weight,
                ));
            }
        }
        match no_stock {
            Some(NoStock::NoGlassware) => names.push(name.clone()),
            Some(NoStock::NoPlan(reason)) => notices.push(Notice::NoStock {
                name: name.clone(),
                reason,
            }),
            None => {}
        }
        if ingredient.stock.is_some() {
            notices.push(Notice::StockTakenExact { name });
        }
        let planned = matches!(&measure, Measure::Stock(plan) if plan.stock.is_some());
        lines.push(Line {
            step: lines.len() + 1,
            stage: stage(ingredient, is_dopant[at]),
            is_dopant: is_dopant[at],
            stock: if planned { letters.next() } else { None },
            relative_error: super::balance::COVERAGE * measure.relative_uncertainty(),
            running_total: Mass::new::<kilogram>(0.0),
            ingredient: ingredient.clone(),
            measure,
        });
    }
    if !masses.is_empty() {
        notices.push(Notice::BelowMinimum { masses });
    }
    if !names.is_empty() {
        notices.push(Notice::NoGlassware { names });
    }
    Ok(lines)
}

/// Bands of φ, shares and product mass, and the compounds that lie beside the wanted one.
fn bands(
    batch: &Batch,
    lines: &[Line],
    metals: &[WantedShare],
    tables: &Tables,
) -> Result<(ErrorBands, Option<NeighbourCheck>), BandError> {
    let set: BTreeSet<Element> = metals.iter().map(|wanted| wanted.metal).collect();
    let system = neighbours::system_of(&tables.oxide_systems, &set);
    let groups: Vec<BTreeSet<Element>> = system
        .map(|system| system.first.intersection(&set).copied().collect())
        .into_iter()
        .collect();
    let in_acid = batch.dissolution().is_some();
    let portions: Vec<Weighed> = lines
        .iter()
        .filter(|line| line.ingredient.reactant.role != Role::Solvent)
        .map(|line| line.portion(in_acid))
        .collect();
    let bands = error_bands(&portions, &batch.states, &groups)?;
    let neighbours = system
        .zip(bands.group_shares.first())
        .map(|(system, band)| neighbours::check(system, &set, band.clone()));
    Ok((bands, neighbours))
}

/// Takes the water that stock solutions bring out of the first step, if that is water by volume
/// and there is enough of it.
fn leave_out_carried_water(lines: &mut [Line], at_hand: &AtHand) {
    let carried = lines
        .iter()
        .map(|line| line.measure.carried_volume())
        .fold(Volume::new::<liter>(0.0), |sum, v| sum + v);
    let first = lines.iter_mut().find(|line| line.stage == Stage::Water);
    if let Some(Line {
        measure: measure @ Measure::Draw(_),
        ..
    }) = first
    {
        if let Measure::Draw(drawn) = &*measure {
            if carried.value > 0.0 && drawn.volume > carried {
                *measure = Measure::Draw(at_hand.draw(drawn.volume - carried, false));
            }
        }
    }
}

/// Metals of the batch with their share in the target.
fn metals_of(batch: &Batch) -> Vec<WantedShare> {
    let target: BTreeMap<Element, f64> = batch
        .target
        .iter()
        .flat_map(|target| target.formula.amounts())
        .filter(|(element, _)| element.is_metal())
        .map(|(&element, &n)| (element, n))
        .collect();
    let all: f64 = target.values().sum();
    batch
        .dry_elements()
        .keys()
        .filter(|element| element.is_metal())
        .map(|&metal| WantedShare {
            metal,
            wanted: target
                .get(&metal)
                .map(|n| AmountFraction::new::<ratio>(n / all)),
        })
        .collect()
}
