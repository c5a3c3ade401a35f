//! All product species, each worked out when it is first asked for: a batch needs few of them.

use super::error::{Fault, TableError};
use super::read::{TableFile, prepared_species};
use super::species::{Phase, Species};
use super::species_file::{self, KnownPhase, Placed, SpeciesFile};
use crate::formula::{Element, Formula};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

/// Most species that may rest on one another in a row. Assumed: the tables need three.
const LONGEST_CHAIN: usize = 12;

const ANOTHER_STATE: &str =
    "takes the place of a species of another `phase`; give it an id of its own";

/// The product species in the order of the tables.
#[derive(Debug, Clone)]
pub struct SpeciesList {
    slots: Vec<Arc<Slot>>,
    by_id: Arc<BTreeMap<Cow<'static, str>, usize>>,
    /// Places of the species of just these elements.
    by_elements: Arc<BTreeMap<Vec<Element>, Vec<usize>>>,
    /// Formulas of which there is a liquid.
    molten: Arc<BTreeSet<String>>,
}

/// What is known of a species before its row is read.
#[derive(Debug)]
struct Slot {
    id: Cow<'static, str>,
    formula: Cow<'static, str>,
    elements: Vec<Element>,
    phase: Phase,
    names: Vec<Cow<'static, str>>,
    row: Written,
    made: OnceLock<Species>,
}

#[derive(Debug)]
enum Written {
    Prepared(&'static str, SpeciesFile),
    Own(Box<Placed>),
}

impl SpeciesList {
    /// The built-in species with a user's `own` on top: a row with the id of another takes its
    /// place, and what rests on that row follows.
    pub(super) fn load(own: Vec<TableFile>) -> Result<(Self, Vec<KnownPhase>), TableError> {
        let (mut slots, mut known) = built_in()?;
        let mut seen = BTreeMap::new();
        let with_own = !own.is_empty();
        for file in own {
            let (rows, phases) = species_file::read(file)?;
            known.extend(phases);
            for row in rows {
                if seen.insert(row.row.id.clone(), ()).is_some() {
                    return Err(row.error(Fault::Duplicate));
                }
                let wrong_state = row.error(Fault::incomplete(ANOTHER_STATE));
                let slot = Slot::own(row);
                match slots.iter_mut().find(|old| old.id == slot.id) {
                    Some(old) if old.phase == slot.phase => *old = slot,
                    Some(_) => return Err(wrong_state),
                    None => slots.push(slot),
                }
            }
        }
        let list = Self::of(slots.into_iter().map(Arc::new).collect());
        if with_own {
            (0..list.len()).try_for_each(|at| list.worked_out(at, 0).map(|_| ()))?;
        }
        Ok((list, known))
    }

    fn of(slots: Vec<Arc<Slot>>) -> Self {
        let ids = slots.iter().enumerate();
        let by_id = ids.map(|(at, slot)| (slot.id.clone(), at)).collect();
        let mut by_elements: BTreeMap<Vec<Element>, Vec<usize>> = BTreeMap::new();
        for (at, slot) in slots.iter().enumerate() {
            by_elements
                .entry(slot.elements.clone())
                .or_default()
                .push(at);
        }
        let liquids = slots.iter().filter(|slot| slot.phase == Phase::Liquid);
        let molten = liquids.map(|slot| slot.formula.to_string()).collect();
        Self {
            slots,
            by_id: Arc::new(by_id),
            by_elements: Arc::new(by_elements),
            molten: Arc::new(molten),
        }
    }

    /// Number of species.
    pub fn len(&self) -> usize {
        self.slots.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.slots.is_empty()
    }

    /// The same from the last to the first: the tests hold that the order is nothing.
    #[doc(hidden)]
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self::of(self.slots.iter().rev().cloned().collect())
    }

    /// Every species, in the order of the tables.
    pub fn iter(&self) -> impl Iterator<Item = &Species> {
        (0..self.len()).map(|at| self.at(at))
    }

    pub fn get(&self, id: &str) -> Option<&Species> {
        self.place(id).map(|at| self.at(at))
    }

    /// Every species that holds nothing but these elements, in the order of the tables.
    pub fn of_elements<'a>(&'a self, elements: &[Element]) -> impl Iterator<Item = &'a Species> {
        let within = |slot: &Slot| slot.elements.iter().all(|e| elements.contains(e));
        let slots = self.slots.iter().enumerate();
        slots
            .filter(move |(_, slot)| within(slot))
            .map(|(at, _)| self.at(at))
    }

    /// Every species whose phase `wanted` takes, in the order of the tables.
    pub fn of_phases(&self, wanted: impl Fn(Phase) -> bool) -> impl Iterator<Item = &Species> {
        let slots = self.slots.iter().enumerate();
        slots
            .filter(move |(_, slot)| wanted(slot.phase))
            .map(|(at, _)| self.at(at))
    }

    /// The species of just the elements of `formula`, in the order of the tables.
    pub(super) fn of_just(&self, formula: &Formula) -> impl Iterator<Item = &Species> {
        let elements: Vec<Element> = formula.amounts().keys().copied().collect();
        let rows = self.by_elements.get(&elements);
        rows.into_iter().flatten().map(|at| self.at(*at))
    }

    /// The species that bear this name; case does not count.
    pub(super) fn named(&self, name: &str) -> Vec<&Species> {
        let name = name.to_lowercase();
        let bears = |slot: &Slot| slot.names.iter().any(|n| n.to_lowercase() == name);
        let slots = self.slots.iter().enumerate();
        slots
            .filter(|(_, slot)| bears(slot))
            .map(|(at, _)| self.at(at))
            .collect()
    }

    /// Names and ids of all species.
    pub(super) fn spellings(&self) -> impl Iterator<Item = &str> {
        self.slots.iter().flat_map(|slot| {
            let names = slot.names.iter().map(AsRef::as_ref);
            names.chain([slot.id.as_ref()])
        })
    }

    /// Whether the compound of this formula has a liquid in the tables.
    pub(super) fn melts(&self, formula: &Formula) -> bool {
        self.molten.contains(&formula.to_string())
    }

    pub(super) fn has(&self, id: &str) -> bool {
        self.place(id).is_some()
    }

    fn place(&self, id: &str) -> Option<usize> {
        self.by_id.get(id).copied()
    }

    /// A built-in row is held by the tests; a user's was worked out on loading.
    fn at(&self, at: usize) -> &Species {
        self.worked_out(at, 0)
            .expect("the tests work out every built-in species, loading every other")
    }

    /// The species at a place; `depth` species rest on it.
    fn worked_out(&self, at: usize, depth: usize) -> Result<&Species, TableError> {
        let slot = &self.slots[at];
        if let Some(made) = slot.made.get() {
            return Ok(made);
        }
        let read;
        let placed = match &slot.row {
            Written::Own(placed) => placed.as_ref(),
            Written::Prepared(row, file) => {
                read = file.row(row)?;
                &read
            }
        };
        for id in placed.rests_on() {
            let place = self.place(id).filter(|_| depth < LONGEST_CHAIN);
            let place = place.ok_or_else(|| placed.error(Fault::Reference(id.to_owned())))?;
            self.worked_out(place, depth + 1)?;
        }
        let species = placed.species(self)?;
        Ok(slot.made.get_or_init(|| species))
    }
}

impl Slot {
    fn own(placed: Placed) -> Self {
        let row = &placed.row;
        let names = row.names.iter().cloned().map(Cow::Owned);
        Self {
            id: Cow::Owned(row.id.clone()),
            formula: Cow::Owned(row.formula.to_string()),
            elements: row.formula.amounts().keys().copied().collect(),
            phase: row.phase,
            names: names.collect(),
            row: Written::Own(Box::new(placed)),
            made: OnceLock::new(),
        }
    }
}

/// What the build noted of every built-in species, and the phases without data.
fn built_in() -> Result<(Vec<Slot>, Vec<KnownPhase>), TableError> {
    let (mut slots, mut known) = (Vec::new(), Vec::new());
    for (file, rows) in prepared_species() {
        let (file, phases) = SpeciesFile::read_head(file)?;
        known.extend(phases);
        slots.extend(rows.map(|row| Slot {
            id: Cow::Borrowed(row.id),
            formula: Cow::Borrowed(row.formula),
            elements: row.elements(),
            phase: row.phase,
            names: row.names.into_iter().map(Cow::Borrowed).collect(),
            row: Written::Prepared(row.json, file.clone()),
            made: OnceLock::new(),
        }));
    }
    Ok((slots, known))
}
