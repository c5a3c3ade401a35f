//! Impurity budget: what bottles, water, vessel and stirrer leave in the powder, against what is
//! known to spoil it.
//!
//! Content of an element in the powder = Σ mass of the bottle × content in the bottle × share that
//! stays / mass of the expected powder, plus what wall and stirrer lose by the area that the batch
//! touches. Everything is a band: typical ranges of a grade are ranges. Elements that the batch
//! brings on purpose are no impurities.

use crate::batch::{Batch, Ingredient, water_molar_mass};
use crate::formula::Element;
use crate::quantity::units::{kilogram, ratio};
use crate::quantity::{Area, Band, Mass, Ratio};
use crate::source::{Seen, SourceId};
use crate::tables::purity::{Grade, PurityTables, Shedding, Spoiler, Use};
use crate::tables::{Role, Tables};
use crate::vessel::VesselCheck;
use std::collections::{BTreeMap, BTreeSet};

/// A better bottle is told of the elements that it lowers by this share at least.
const WORTH_TELLING: f64 = 0.1;

/// What one bottle, wall or stirrer leaves of one element.
#[derive(Debug, Clone, PartialEq)]
pub struct Impurity {
    /// Name of the bottle, wall or stirrer.
    pub from: String,
    pub element: Element,
    /// Mass of the element in the powder.
    pub mass: Band<Mass>,
    /// Where the range comes from; `None` if the label states it.
    pub source: Option<(SourceId, Seen)>,
}

/// A known spoiler against the content found.
#[derive(Debug, Clone, PartialEq)]
pub struct Spoiling {
    /// What the powder would be for.
    pub of_use: Use,
    /// What the element does there.
    pub effect: String,
    /// Known level as a mass fraction: below it no harm is reported, above it harm is expected.
    pub level: Band<Ratio>,
    /// Where the level comes from.
    pub source: SourceId,
    /// How it was found.
    pub seen: Seen,
    /// How the content stands to it.
    pub standing: Standing,
}

/// How a band of contents stands to a band of levels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Wholly below the level.
    Below,
    /// They overlap: the evidence decides nothing.
    Open,
    /// Wholly above the level.
    Above,
}

/// One impurity of the powder.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// The element.
    pub element: Element,
    /// Mass fraction in the powder.
    pub content: Band<Ratio>,
    /// Where it comes from, most first.
    pub portions: Vec<Impurity>,
    /// What it is known to spoil.
    pub spoils: Vec<Spoiling>,
}

/// One bottle of the next better grade, and what it changes.
#[derive(Debug, Clone, PartialEq)]
pub struct BetterBottle {
    /// Name of the substance.
    pub name: String,
    /// Its grade now.
    pub from: Grade,
    /// The better grade.
    pub to: Grade,
    /// Elements with their content now and then, the most worth first.
    pub changes: Vec<(Element, Band<Ratio>, Band<Ratio>)>,
}

/// The budget of one batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Mass of the expected powder.
    pub powder_mass: Mass,
    /// The impurities, most worrying first, then by amount.
    pub traces: Vec<Trace>,
    /// The bottle whose next better grade helps most, if one does.
    pub better: Option<BetterBottle>,
    /// What is not counted since the file does not say it.
    pub not_counted: Vec<String>,
}

/// The impurity budget; `None` if the file says nothing of any bottle or water.
pub fn budget(
    batch: &Batch,
    powder_mass: Mass,
    vessel: Option<&VesselCheck>,
    tables: &Tables,
) -> Option<Budget> {
    let stated = |i: &Ingredient| i.label.grade.is_some() || !i.label.impurities.is_empty();
    if !batch.weighed.iter().any(stated) {
        return None;
    }
    let counting = Counting {
        batch,
        powder_mass,
        tables: &tables.purity,
        own: batch.dry_elements().into_keys().collect(),
    };
    let walls = counting.walls(vessel);
    let bottles: Vec<Vec<Impurity>> = batch
        .weighed
        .iter()
        .map(|i| counting.bottle(i, i.label.grade))
        .collect();
    let traces = counting.traces(bottles.iter().flatten().chain(&walls));
    Some(Budget {
        powder_mass,
        better: counting.better(&bottles, &walls, &traces),
        not_counted: counting.not_counted(vessel),
        traces,
    })
}

/// What the sums look at.
struct Counting<'a> {
    batch: &'a Batch,
    powder_mass: Mass,
    tables: &'a PurityTables,
    /// Elements that the batch brings on purpose.
    own: BTreeSet<Element>,
}

impl Counting<'_> {
    /// What one ingredient of this grade leaves. What its label states goes before the grade.
    fn bottle(&self, ingredient: &Ingredient, grade: Option<Grade>) -> Vec<Impurity> {
        let reactant = &ingredient.reactant;
        let weighed = ingredient.mass + self.water_of_stocks(ingredient);
        let portion = |element, content: Band<Ratio>, source| {
            let stays = self.tables.stays(element);
            Impurity {
                from: reactant.name.clone(),
                element,
                mass: Band {
                    low: weighed * content.low * stays.low,
                    high: weighed * content.high * stays.high,
                },
                source,
            }
        };
        let mut found = BTreeMap::new();
        if let Some(grade) = grade {
            for (element, typical) in self.tables.typical(reactant, grade) {
                let source = Some((typical.source, typical.seen));
                found.insert(element, portion(element, typical.content, source));
            }
        }
        for (&element, &content) in &ingredient.label.impurities {
            found.insert(element, portion(element, content, None));
        }
        found.retain(|element, _| !self.own.contains(element));
        found.into_values().collect()
    }

    /// Stock solutions are made with the water of the batch.
    fn water_of_stocks(&self, ingredient: &Ingredient) -> Mass {
        let none = Mass::new::<kilogram>(0.0);
        if ingredient.reactant.role != Role::Solvent {
            return none;
        }
        let stocks = self.batch.weighed.iter().filter(|i| i.stock.is_some());
        stocks.fold(none, |sum, i| sum + i.carried_water * water_molar_mass())
    }

    /// What the wall and the stirrer leave.
    fn walls(&self, vessel: Option<&VesselCheck>) -> Vec<Impurity> {
        let Some(check) = vessel else {
            return Vec::new();
        };
        let choice = &check.choice;
        let shape = &choice.vessel.shape;
        let mut found = Vec::new();
        if let Some(material) = self.tables.material(&choice.vessel.material.id) {
            let area = check.froth.map(|volume| shape.wetted_area(volume));
            found.extend(self.shed(&choice.vessel.name, material, area));
        }
        let named = choice.stirrer.as_ref();
        let stirrer = named.and_then(|name| self.tables.stirrers.iter().find(|s| s.id == *name));
        if let Some(stirrer) = stirrer {
            if let Some(material) = self.tables.material(&stirrer.material) {
                found.extend(self.shed(&stirrer.id, material, stirrer.area.value));
            }
        }
        found
    }

    fn shed(&self, name: &str, material: &Shedding, area: Band<Area>) -> Vec<Impurity> {
        let loss = material.loss.value;
        let shares = material.share.iter();
        shares
            .filter(|(element, _)| !self.own.contains(element))
            .map(|(&element, &share)| Impurity {
                from: name.to_owned(),
                element,
                mass: Band {
                    low: area.low * loss.low * share,
                    high: area.high * loss.high * share,
                },
                source: Some((material.loss.source.clone(), material.loss.seen)),
            })
            .collect()
    }

    /// The sums by element, most worrying first.
    fn traces<'p>(&self, portions: impl Iterator<Item = &'p Impurity>) -> Vec<Trace> {
        let mut by_element: BTreeMap<Element, Vec<Impurity>> = BTreeMap::new();
        for portion in portions {
            let list = by_element.entry(portion.element).or_default();
            list.push(portion.clone());
        }
        let mut traces: Vec<Trace> = by_element
            .into_iter()
            .map(|(element, mut portions)| {
                portions.sort_by(|a, b| b.mass.high.value.total_cmp(&a.mass.high.value));
                let content = self.content(&portions);
                Trace {
                    spoils: self.spoils(element, content),
                    element,
                    content,
                    portions,
                }
            })
            .filter(|trace| trace.content.high.value > 0.0)
            .collect();
        traces.sort_by(|a, b| {
            let worry = worry(b).total_cmp(&worry(a));
            worry.then(b.content.high.value.total_cmp(&a.content.high.value))
        });
        traces
    }

    fn content(&self, portions: &[Impurity]) -> Band<Ratio> {
        let none = Mass::new::<kilogram>(0.0);
        let sum = |end: fn(&Band<Mass>) -> Mass| {
            let masses = portions.iter().map(|portion| end(&portion.mass));
            masses.fold(none, |sum, mass| sum + mass) / self.powder_mass
        };
        Band {
            low: sum(|mass| mass.low),
            high: sum(|mass| mass.high),
        }
    }

    fn spoils(&self, element: Element, content: Band<Ratio>) -> Vec<Spoiling> {
        let wanted = self.batch.wanted.as_ref().and_then(|w| w.use_of_powder());
        let counts = |row: &&Spoiler| {
            row.elements.contains(&element) && wanted.is_none_or(|of_use| of_use == row.of_use)
        };
        let rows = self.tables.spoilers.iter().filter(counts);
        rows.map(|row| {
            let level = row.level.value;
            Spoiling {
                of_use: row.of_use,
                effect: row.effect.clone(),
                level,
                source: row.level.source.clone(),
                seen: row.level.seen,
                standing: match (content.high < level.low, content.low > level.high) {
                    (true, _) => Standing::Below,
                    (_, true) => Standing::Above,
                    _ => Standing::Open,
                },
            }
        })
        .collect()
    }

    /// The bottle whose next better grade lowers the worry of all traces most.
    fn better(
        &self,
        bottles: &[Vec<Impurity>],
        walls: &[Impurity],
        now: &[Trace],
    ) -> Option<BetterBottle> {
        let all = |traces: &[Trace]| traces.iter().map(worry).sum::<f64>();
        let mut best: Option<(f64, BetterBottle)> = None;
        for (at, ingredient) in self.batch.weighed.iter().enumerate() {
            let Some((from, to)) = ingredient.label.grade.and_then(|g| Some((g, g.better()?)))
            else {
                continue;
            };
            let swapped = self.bottle(ingredient, Some(to));
            let others = bottles.iter().enumerate().filter(|(other, _)| *other != at);
            let others = others.flat_map(|(_, portions)| portions);
            let then = self.traces(others.chain(&swapped).chain(walls));
            let gain = all(now) - all(&then);
            if gain > best.as_ref().map_or(0.0, |(gain, _)| *gain) {
                let changes = changes(now, &then);
                let name = ingredient.reactant.name.clone();
                let bottle = BetterBottle {
                    name,
                    from,
                    to,
                    changes,
                };
                best = Some((gain, bottle));
            }
        }
        best.map(|(_, bottle)| bottle)
            .filter(|bottle| !bottle.changes.is_empty())
    }

    fn not_counted(&self, vessel: Option<&VesselCheck>) -> Vec<String> {
        let unlabelled = self.batch.weighed.iter().filter_map(|i| {
            let name = &i.reactant.name;
            match (i.label.grade, i.label.impurities.is_empty()) {
                (None, true) => Some(name.clone()),
                (None, false) => Some(format!("what else is in {name}")),
                (Some(_), _) => None,
            }
        });
        let mut list: Vec<String> = unlabelled.collect();
        match vessel {
            None => list.push("the vessel".to_owned()),
            Some(check) => {
                if self
                    .tables
                    .material(&check.choice.vessel.material.id)
                    .is_none()
                {
                    list.push(check.choice.vessel.name.clone());
                }
                if check.choice.stirrer.is_none() {
                    list.push("the stirrer".to_owned());
                }
            }
        }
        list
    }
}

/// Mean content over the geometric mean of the level, summed over what the element spoils: orders
/// traces and bottles, and means nothing else.
fn worry(trace: &Trace) -> f64 {
    let mean = 0.5 * (trace.content.low + trace.content.high).get::<ratio>();
    let levels = trace.spoils.iter().map(|s| {
        let level = s.level;
        (level.low.get::<ratio>() * level.high.get::<ratio>()).sqrt()
    });
    levels.map(|level| mean / level).sum()
}

/// The elements that are lowered, in the order of the worry now.
fn changes(now: &[Trace], then: &[Trace]) -> Vec<(Element, Band<Ratio>, Band<Ratio>)> {
    let none = Band::exactly(Ratio::new::<ratio>(0.0));
    now.iter()
        .filter_map(|trace| {
            let after = then.iter().find(|t| t.element == trace.element);
            let after = after.map_or(none, |t| t.content);
            let lowered = (trace.content.high - after.high) / trace.content.high;
            (lowered.get::<ratio>() > WORTH_TELLING).then_some((
                trace.element,
                trace.content,
                after,
            ))
        })
        .collect()
}
