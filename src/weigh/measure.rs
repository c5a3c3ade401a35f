//! How each ingredient is measured out, and how well.

use super::balance::{COVERAGE, Weighing, WeighingError, choose};
use super::dilution::{Bench, DilutionError, DopantPlan, Wanted, dopant_plan};
use super::glassware::Piece;
use crate::batch::{Balance, Batch, Glassware, Ingredient};
use crate::quantity::units::{kilogram, liter, milliliter, mole, ratio};
use crate::quantity::{Mass, Ratio, ThermodynamicTemperature, Volume};
use crate::redox::metal_atoms;
use crate::tables::glassware::{AccuracyClass, GlasswareKind, GlasswareTable, Standard};
use crate::tables::{Role, Tables};

/// A volume taken with a pipette or a measuring cylinder.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// Kind of piece.
    pub kind: GlasswareKind,
    pub nominal: Volume,
    /// How often it is filled.
    pub fillings: u32,
    /// Whole volume.
    pub volume: Volume,
    /// Standard uncertainty of the whole volume.
    pub standard_uncertainty: Volume,
    /// Whether the piece is taken for granted: the batch lists none that fits.
    pub assumed: bool,
}

/// How an ingredient is measured out.
#[derive(Debug, Clone, PartialEq)]
pub enum Measure {
    /// Weighed into the pot.
    Weigh(Weighing),
    /// Measured by volume: a liquid, or a stock solution that the file names.
    Draw(Drawn),
    /// Through a stock solution planned here.
    Stock(Box<DopantPlan>),
}

impl Measure {
    /// Relative standard uncertainty of the amount.
    pub fn relative_uncertainty(&self) -> Ratio {
        match self {
            Self::Weigh(weighing) => weighing.standard_uncertainty / weighing.mass,
            Self::Draw(drawn) => drawn.standard_uncertainty / drawn.volume,
            Self::Stock(plan) => match &plan.stock {
                Some(stock) => stock.relative_error / COVERAGE,
                None => plan.direct.standard_uncertainty / plan.direct.mass,
            },
        }
    }

    /// Volume of water that a planned stock solution brings into the pot.
    pub fn carried_volume(&self) -> Volume {
        match self {
            Self::Stock(plan) => plan
                .stock
                .as_ref()
                .map_or(Volume::new::<milliliter>(0.0), |stock| {
                    stock.carried_volume()
                }),
            _ => Volume::new::<milliliter>(0.0),
        }
    }
}

/// Why a dopant that should have a stock solution has none.
#[derive(Debug, Clone, PartialEq)]
pub enum NoStock {
    /// The batch lists no glassware.
    NoGlassware,
    /// No plan is possible.
    NoPlan(DilutionError),
}

/// What is at hand: the balances of the batch, or the assumed one.
pub(super) struct AtHand<'a> {
    pub balances: Vec<Balance>,
    pub balance_assumed: bool,
    pub glassware: Option<&'a Glassware>,
    pub tables: &'a Tables,
    pub room: ThermodynamicTemperature,
}

/// The balances of the batch, or the assumed one.
pub(crate) fn balances(batch: &Batch, tables: &Tables) -> Vec<Balance> {
    if !batch.balances.is_empty() {
        return batch.balances.clone();
    }
    vec![Balance {
        name: "balance".to_owned(),
        readability: tables.weighing_rules.assumed.readability.value,
        capacity: None,
        repeatability: None,
        linearity: None,
        minimum_weight: None,
    }]
}

impl<'a> AtHand<'a> {
    pub fn of(batch: &'a Batch, tables: &'a Tables, room: ThermodynamicTemperature) -> Self {
        let (balance_assumed, balances) = (batch.balances.is_empty(), balances(batch, tables));
        Self {
            balances,
            balance_assumed,
            glassware: batch.glassware.as_ref(),
            tables,
            room,
        }
    }

    /// How `ingredient` is measured; for a source of metal, with the reason why it has no stock
    /// solution though it should.
    pub fn measure(
        &self,
        ingredient: &Ingredient,
        is_dopant: bool,
        most_water: Volume,
    ) -> Result<(Measure, Option<NoStock>), WeighingError> {
        if let Some(volume) = ingredient.volume {
            return Ok((
                Measure::Draw(self.draw(volume, ingredient.stock.is_some())),
                None,
            ));
        }
        let rules = &self.tables.weighing_rules;
        let weighing = choose(&self.balances, ingredient.mass, rules)?;
        if !self.wants_stock(ingredient, is_dopant) {
            return Ok((Measure::Weigh(weighing), None));
        }
        let Some(glassware) = self.glassware else {
            return Ok((Measure::Weigh(weighing), Some(NoStock::NoGlassware)));
        };
        let bench = Bench {
            balances: &self.balances,
            glassware,
            rules,
            limits: &self.tables.glassware,
        };
        let wanted = Wanted {
            mass: ingredient.mass,
            solubility: solubility(ingredient, self.room),
            most_water,
        };
        Ok(match dopant_plan(&wanted, &bench) {
            Ok(plan) => (Measure::Stock(Box::new(plan)), None),
            Err(error) => (Measure::Weigh(weighing), Some(NoStock::NoPlan(error))),
        })
    }

    /// Whether an ingredient should go in as a stock solution: it brings metal, no balance weighs
    /// it above its minimum weight, and it is a dopant or weighed worse than good enough.
    pub fn wants_stock(&self, ingredient: &Ingredient, is_dopant: bool) -> bool {
        if ingredient.volume.is_some() || metal_atoms(&ingredient.reactant.formula) <= 0.0 {
            return false;
        }
        let good_enough = self.tables.glassware.stock.good_enough.value;
        choose(&self.balances, ingredient.mass, &self.tables.weighing_rules).is_ok_and(|weighing| {
            weighing.is_below_minimum() && (is_dopant || weighing.relative_error() > good_enough)
        })
    }

    /// Most water that the aliquot of one of `stocks` stock solutions may bring: its part of the
    /// solvent of the batch, or of what the tables allow where the batch has less.
    pub fn most_water(&self, solvent: Volume, stocks: usize) -> Volume {
        let allowed = self.tables.glassware.stock.most_added_water.value;
        let whole = if solvent > allowed { solvent } else { allowed };
        whole / stocks.max(1) as f64
    }

    /// The piece for a volume: a pipette at hand that gives it exactly, a piston pipette at hand
    /// that can be set to it, else a class B measuring cylinder.
    pub fn draw(&self, volume: Volume, exact: bool) -> Drawn {
        let table = &self.tables.glassware;
        let by_pipette = self.glassware.filter(|_| exact).and_then(|glassware| {
            let most = table.stock.most_fillings.value as u32;
            pipette_for(volume, glassware, table, most)
        });
        by_pipette.unwrap_or_else(|| {
            let standard = self
                .glassware
                .map_or(Standard::Iso, |glassware| glassware.standard);
            cylinder(volume, standard, table)
        })
    }
}

/// A pipette that gives `volume` in a few fillings.
fn pipette_for(
    volume: Volume,
    glassware: &Glassware,
    table: &GlasswareTable,
    most_fillings: u32,
) -> Option<Drawn> {
    let drawn = |piece: &Piece, fillings| Drawn {
        kind: piece.limit.kind,
        nominal: piece.volume(),
        fillings,
        volume,
        standard_uncertainty: piece.delivery_uncertainty(fillings),
        assumed: false,
    };
    let find =
        |kind, nominal| Piece::find(table, kind, glassware.standard, glassware.class, nominal).ok();
    let fixed = (1..=most_fillings).find_map(|fillings| {
        glassware
            .pipettes
            .iter()
            .filter(|nominal| {
                let whole: Ratio = f64::from(fillings) * **nominal / volume;
                (whole.get::<ratio>() - 1.0).abs() < 1e-9
            })
            .find_map(|nominal| Some(drawn(&find(GlasswareKind::Pipette, *nominal)?, fillings)))
    });
    fixed.or_else(|| {
        glassware
            .pistons
            .iter()
            .filter(|piston| {
                volume <= piston.nominal
                    && volume >= table.stock.least_piston_share.value * piston.nominal
            })
            .find_map(|piston| Some(drawn(&find(GlasswareKind::Piston, piston.nominal)?, 1)))
    })
}

/// The smallest class B cylinder that holds `volume`; the largest several times if none does.
fn cylinder(volume: Volume, standard: Standard, table: &GlasswareTable) -> Drawn {
    let of_class = |standard| {
        table.limits.iter().filter(move |limit| {
            limit.kind == GlasswareKind::Cylinder
                && limit.class == AccuracyClass::B
                && limit.standard == standard
        })
    };
    let smallest = of_class(standard)
        .filter(|limit| limit.volume >= volume)
        .min_by(|a, b| a.volume.value.total_cmp(&b.volume.value));
    let largest = || of_class(standard).max_by(|a, b| a.volume.value.total_cmp(&b.volume.value));
    let Some(limit) = smallest.or_else(largest) else {
        // A user's table without cylinders: a hundredth of the volume, the worst of the standards.
        return Drawn {
            kind: GlasswareKind::Cylinder,
            nominal: volume,
            fillings: 1,
            volume,
            standard_uncertainty: 0.01 * volume,
            assumed: true,
        };
    };
    let fillings: Ratio = volume / limit.volume;
    let fillings = fillings.get::<ratio>().ceil().max(1.0);
    Drawn {
        kind: GlasswareKind::Cylinder,
        nominal: limit.volume,
        // At most 5 L are read from a file, and a cylinder holds 1 L.
        fillings: fillings as u32,
        volume,
        // √3: even distribution over the limits.
        standard_uncertainty: fillings / 3.0_f64.sqrt() * limit.tolerance.value,
        assumed: true,
    }
}

/// Mass of the substance as on the bottle per mass of water at room temperature, if known and
/// limited.
fn solubility(ingredient: &Ingredient, room: ThermodynamicTemperature) -> Option<Ratio> {
    let water = ingredient.reactant.water_to_dissolve(room).ok()?;
    let per_water = 1.0 / water.get::<ratio>();
    per_water
        .is_finite()
        .then(|| Ratio::new::<ratio>(per_water))
}

/// Whether each ingredient is a dopant: a source of metals each of which is a small share of all.
pub fn dopants(batch: &Batch, tables: &Tables) -> Vec<bool> {
    let elements = batch.dry_elements();
    let of = |element| elements.get(&element).map_or(0.0, |n| n.get::<mole>());
    let all: f64 = elements
        .iter()
        .filter(|(e, _)| e.is_metal())
        .map(|(_, n)| n.get::<mole>())
        .sum();
    let most = tables.weighing_rules.dopant.most_share.value.get::<ratio>();
    batch
        .weighed
        .iter()
        .map(|ingredient| {
            let formula = &ingredient.reactant.formula;
            metal_atoms(formula) > 0.0
                && formula
                    .amounts()
                    .keys()
                    .filter(|element| element.is_metal())
                    .all(|&element| of(element) < most * all)
        })
        .collect()
}

/// Volume of the solvent, as the file gives it or as water.
pub(super) fn solvent_volume(batch: &Batch) -> Volume {
    let mut sum = Volume::new::<milliliter>(0.0);
    for ingredient in batch
        .weighed
        .iter()
        .filter(|i| i.reactant.role == Role::Solvent)
    {
        let by_mass = || {
            // 1 mL a gram: a bound for an aliquot, not a result.
            let grams: f64 = ingredient.mass.get::<kilogram>();
            Volume::new::<liter>(grams)
        };
        sum += ingredient.volume.unwrap_or_else(by_mass);
    }
    sum
}

/// Standard uncertainty of the mass that a measure puts into the pot.
pub(super) fn mass_uncertainty(ingredient: &Ingredient, measure: &Measure) -> Mass {
    measure.relative_uncertainty() * ingredient.mass
}
