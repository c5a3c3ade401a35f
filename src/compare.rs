//! Batches side by side: what differs first, then what they share.
//!
//! Each batch is planned as by itself. A fact is a line with one value a batch; lines whose values
//! differ by less than they can be trusted to are not called a difference.

use crate::enthalpy::WaterStateName;
use crate::expected::Expected;
use crate::plan::{Plan, PlanError, StateResult, plan_of};
use crate::prepared::Prepared;
use crate::quantity::units::{
    bar, cubic_meter_per_kilogram, degree_celsius, gram, kelvins, liter, millimole, percent, ratio,
};
use crate::tables::Role;
use std::collections::BTreeMap;
use thiserror::Error;

/// Most batches that are set side by side.
pub const MOST_BATCHES: usize = 6;
/// Values nearer than this, relative, are the same: weighing and rounding are coarser.
const SAME: f64 = 1e-3;

/// Why batches cannot be compared.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum CompareError {
    #[error("{count} batches: a comparison takes 2 to {MOST_BATCHES}")]
    Count { count: usize },
    #[error("{name}: {source}")]
    Plan { name: String, source: PlanError },
}

/// The kinds of facts, in the order of a report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FactKind {
    /// What goes in.
    Ingredient,
    /// How it is set up and burnt.
    Condition,
    /// What comes out, for one state of the water.
    Result(WaterStateName),
}

/// A value of one batch.
#[derive(Debug, Clone, PartialEq)]
pub enum FactValue {
    /// A number in the unit of the fact, with the half width of its band if it has one.
    Number {
        /// The number.
        value: f64,
        /// Half width of its band.
        half_width: Option<f64>,
    },
    /// Words.
    Words(String),
    /// The batch has no such thing.
    Absent,
}

/// One line of the comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    pub kind: FactKind,
    /// What it is called.
    pub name: String,
    /// Unit of its numbers; may be empty.
    pub unit: &'static str,
    /// One value a batch.
    pub values: Vec<FactValue>,
}

impl Fact {
    /// Whether the batches differ in it: words that are not the same, numbers further apart than
    /// a thousandth, or something that only some have.
    pub fn differs(&self) -> bool {
        self.values
            .windows(2)
            .any(|pair| match (&pair[0], &pair[1]) {
                (FactValue::Number { value: a, .. }, FactValue::Number { value: b, .. }) => {
                    (a - b).abs() > SAME * a.abs().max(b.abs())
                }
                (a, b) => a != b,
            })
    }

    /// Whether numbers differ by less than their bands together: then the difference is not sure.
    pub fn within_bands(&self) -> bool {
        let mut low = f64::INFINITY;
        let mut high = f64::NEG_INFINITY;
        let mut any = false;
        for value in &self.values {
            let FactValue::Number {
                value,
                half_width: Some(half),
            } = value
            else {
                return false;
            };
            any = true;
            // The bands overlap all together if the largest lower end is below the least upper.
            low = low.min(value + half);
            high = high.max(value - half);
        }
        any && high <= low
    }
}

/// A comparison.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// Names of the batches.
    pub names: Vec<String>,
    /// The expected burn of each.
    pub expected: Vec<Expected>,
    /// The lines, in the order of a report.
    pub facts: Vec<Fact>,
}

impl Comparison {
    /// Lines in which the batches differ.
    pub fn differences(&self) -> impl Iterator<Item = &Fact> {
        self.facts.iter().filter(|fact| fact.differs())
    }

    /// The state of the water that matters most among those with results: at ignition, else boiled
    /// down.
    pub fn main_state(&self) -> Option<WaterStateName> {
        let has = |wanted| {
            let kind = FactKind::Result(wanted);
            self.facts.iter().any(|fact| fact.kind == kind)
        };
        [
            WaterStateName::AtIgnition,
            WaterStateName::BoiledDown,
            WaterStateName::AsMixed,
            WaterStateName::Dried,
        ]
        .into_iter()
        .find(|state| has(*state))
    }

    /// Lines that they share.
    pub fn shared(&self) -> impl Iterator<Item = &Fact> {
        self.facts.iter().filter(|fact| !fact.differs())
    }
}

/// Plans the batches and sets them side by side.
///
/// # Errors
/// [`CompareError`] if there are too few or too many, or one cannot be planned.
pub fn compare(batches: &[Prepared<'_>]) -> Result<Comparison, CompareError> {
    let count = batches.len();
    if !(2..=MOST_BATCHES).contains(&count) {
        return Err(CompareError::Count { count });
    }
    let plans = batches
        .iter()
        .map(|batch| {
            plan_of(batch).map_err(|source| CompareError::Plan {
                name: batch.batch.name.clone(),
                source,
            })
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok(side_by_side(&plans))
}

/// Sets plans side by side.
pub fn side_by_side(plans: &[Plan]) -> Comparison {
    let mut facts = ingredients(plans);
    facts.extend(conditions(plans));
    for state in [
        WaterStateName::AsMixed,
        WaterStateName::BoiledDown,
        WaterStateName::Dried,
        WaterStateName::AtIgnition,
    ] {
        facts.extend(results(plans, state));
    }
    Comparison {
        names: plans.iter().map(|plan| plan.batch.name.clone()).collect(),
        expected: plans.iter().map(|plan| plan.expected.clone()).collect(),
        facts,
    }
}

fn number(value: f64) -> FactValue {
    FactValue::Number {
        value,
        half_width: None,
    }
}

fn fact(
    kind: FactKind,
    name: &str,
    unit: &'static str,
    plans: &[Plan],
    value: impl Fn(&Plan) -> FactValue,
) -> Fact {
    Fact {
        kind,
        name: name.to_owned(),
        unit,
        values: plans.iter().map(value).collect(),
    }
}

/// Masses of every substance that any of the batches holds.
fn ingredients(plans: &[Plan]) -> Vec<Fact> {
    let mut order: Vec<(Role, String)> = Vec::new();
    let mut masses: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for (at, plan) in plans.iter().enumerate() {
        for ingredient in &plan.batch.weighed {
            let name = format!(
                "{} ({})",
                ingredient.reactant.name, ingredient.reactant.formula
            );
            if !masses.contains_key(&name) {
                order.push((ingredient.reactant.role, name.clone()));
            }
            let row = masses
                .entry(name)
                .or_insert_with(|| vec![f64::NAN; plans.len()]);
            let mass = ingredient.mass.get::<gram>();
            row[at] = if row[at].is_nan() {
                mass
            } else {
                row[at] + mass
            };
        }
    }
    order.sort_by_key(|(role, _)| *role);
    order
        .into_iter()
        .map(|(_, name)| Fact {
            kind: FactKind::Ingredient,
            unit: "g",
            values: masses[&name]
                .iter()
                .map(|mass| {
                    if mass.is_nan() {
                        FactValue::Absent
                    } else {
                        number(*mass)
                    }
                })
                .collect(),
            name,
        })
        .collect()
}

fn conditions(plans: &[Plan]) -> Vec<Fact> {
    let kind = FactKind::Condition;
    vec![
        fact(kind, "target", "", plans, |p| {
            p.batch.target.as_ref().map_or(FactValue::Absent, |t| {
                FactValue::Words(t.formula.to_string())
            })
        }),
        fact(kind, "powder", "", plans, |p| {
            FactValue::Words(p.product.name.clone())
        }),
        fact(kind, "mass of powder", "g", plans, |p| {
            number(p.product.mass.get::<gram>())
        }),
        fact(kind, "fuel ratio φ", "", plans, |p| {
            number(p.redox.equivalence_ratio.get::<ratio>())
        }),
        fact(kind, "φ as it burns", "", plans, |p| {
            number(p.expected.equivalence_ratio.get::<ratio>())
        }),
        fact(kind, "mixture", "", plans, |p| {
            FactValue::Words(p.redox.mixture.to_string())
        }),
        fact(kind, "added water", "mmol", plans, |p| {
            number(p.batch.solvent_water().get::<millimole>())
        }),
        fact(kind, "crystal water", "mmol", plans, |p| {
            number(p.batch.crystal_water().get::<millimole>())
        }),
        fact(kind, "start", "°C", plans, |p| {
            number(p.batch.conditions.start.get::<degree_celsius>())
        }),
        fact(kind, "pressure", "bar", plans, |p| {
            number(p.batch.conditions.pressure.get::<bar>())
        }),
        fact(kind, "heat lost", "%", plans, |p| {
            number(p.batch.conditions.heat_loss.get::<percent>())
        }),
        fact(kind, "air drawn in", "%", plans, |p| {
            number(p.batch.conditions.air_drawn_in.get::<percent>())
        }),
    ]
}

/// Results in one state of the water; nothing if no batch has it.
fn results(plans: &[Plan], state: WaterStateName) -> Vec<Fact> {
    if plans.iter().all(|plan| plan.state(state).is_none()) {
        return Vec::new();
    }
    let kind = FactKind::Result(state);
    let of = |name: &str, unit, value: fn(&StateResult) -> FactValue| {
        fact(kind, name, unit, plans, |p| {
            p.state(state).map_or(FactValue::Absent, value)
        })
    };
    vec![
        fact(kind, "water left", "mmol", plans, |p| {
            p.state(state).map_or(FactValue::Absent, |r| {
                number((r.state.solvent + r.state.crystal_water(&p.batch)).get::<millimole>())
            })
        }),
        of("flame, complete combustion", "°C", |r| {
            r.complete
                .flame
                .temperature()
                .map_or(FactValue::Words("no flame".to_owned()), |t| {
                    FactValue::Number {
                        value: t.get::<degree_celsius>(),
                        half_width: Some(r.band.half_width.get::<kelvins>()),
                    }
                })
        }),
        of("flame, equilibrium", "°C", |r| {
            r.equilibrium_temperature()
                .map_or(FactValue::Words("no flame".to_owned()), |t| {
                    number(t.get::<degree_celsius>())
                })
        }),
        of("gas at 25 °C", "L", |r| {
            number(r.gas.volume_25c.get::<liter>())
        }),
        of("gas per powder", "L/g", |r| {
            number(r.gas.per_product.get::<cubic_meter_per_kilogram>())
        }),
        of("log10(pO2/bar)", "", |r| {
            r.settled()
                .and_then(|e| e.log10_oxygen_pressure)
                .map_or(FactValue::Absent, number)
        }),
        of("molten", "%", |r| {
            r.settled()
                .and_then(|e| e.molten_fraction)
                .map_or(FactValue::Absent, |m| number(m.get::<percent>()))
        }),
        of("CO in the gas", "%", |r| number(share(r, &["CO"]))),
        of("NO and NO2 in the gas", "ppm", |r| {
            number(1e4 * share(r, &["NO", "NO2"]))
        }),
        of("condensed phases", "", |r| {
            let phases = r.settled().into_iter().flat_map(|e| e.condensed());
            let mut ids: Vec<&str> = phases.map(|s| s.id.as_str()).collect();
            ids.sort_unstable();
            FactValue::Words(ids.join(", "))
        }),
    ]
}

/// Shares of the gas below this, in percent, count as nothing: a ppm.
const FAINT: f64 = 1e-4;

/// Share of the equilibrium gas, in percent; 0 below [`FAINT`].
fn share(result: &StateResult, ids: &[&str]) -> f64 {
    let share: f64 = result
        .settled()
        .into_iter()
        .flat_map(|e| e.gases())
        .filter(|s| ids.contains(&s.id.as_str()))
        .filter_map(|s| s.amount_fraction)
        .map(|x| x.get::<percent>())
        .sum();
    if share < FAINT { 0.0 } else { share }
}
