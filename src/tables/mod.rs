//! The tables: every number from outside the code, with its source.
//!
//! Text under `tables/` is built into the program; a user's folder of the same layout adds rows
//! and replaces those of the same name. Loading checks each row and refuses the table rather than
//! go on with a doubtful one.

mod alternatives;
mod analysed_fuels;
pub(crate) mod balances;
pub(crate) mod bench_oxides;
pub mod cautions;
pub(crate) mod cited;
pub(crate) mod crystallising;
pub(crate) mod curve;
mod error;
mod expectation;
pub(crate) mod findings;
pub(crate) mod fumes;
mod gel;
pub mod glassware;
pub(crate) mod heating;
pub(crate) mod kinetics;
pub mod known_powders;
pub mod limits;
mod load;
pub(crate) mod neighbours;
pub(crate) mod observations;
mod observer;
mod on_demand;
mod oxygen;
pub mod phases;
pub mod purity;
pub mod reactants;
mod read;
mod safety;
pub(crate) mod shape;
mod solutions;
pub(crate) mod species;
mod species_check;
mod species_file;
mod species_list;
mod species_resolve;
pub(crate) mod toxic;
pub mod unit;
mod vessel_assumptions;
pub(crate) mod vessels;

pub use alternatives::Alternative;
pub use analysed_fuels::AnalysedFuels;
pub use balances::WeighingRules;
pub use bench_oxides::BenchOxide;
pub use cited::Cited;
pub use crystallising::CrystallisingTables;
pub use error::TableError;
pub use expectation::ExpectationBands;
pub use glassware::GlasswareTable;
pub use neighbours::OxideSystem;
pub use on_demand::OnDemand;
pub use purity::PurityTables;
pub use safety::SafetyTables;
pub use shape::Shape;
pub use species::{HeatCapacityKind, Phase, Species, SpeciesError};
pub use species_file::KnownPhase;
pub use species_list::SpeciesList;

use crate::formula::Formula;
use crate::names::distance_within;
use crate::quantity::ThermodynamicTemperature;
use crate::quantity::units::kelvin;
use crate::source::Bibliography;
use gel::GelTable;
use heating::Heating;
use kinetics::Kinetics;
pub use oxygen::{Dopant, HostFinding, OxygenTables};
use phases::Phases;
pub use reactants::{
    FamilyError, HazardGroup, HydrateMethod, LookupError, Reactant, Reactants, Role, State,
};
use read::{TableFile, check_folder, toml_files};
pub use solutions::Solution;
use std::path::Path;
pub use vessels::Vessel;

/// All tables. Those that are built in are read when they are first used.
#[derive(Debug, Clone)]
pub struct Tables {
    /// Every source that a row may cite.
    pub sources: OnDemand<Bibliography>,
    /// Product species, in the order of the files.
    pub species: SpeciesList,
    /// What other compilations give for the species.
    pub alternatives: OnDemand<Vec<Alternative>>,
    /// Phases that are known to form but have no data for the balance.
    pub known_phases: Vec<KnownPhase>,
    /// Reactants: nitrates, fuels, other metal sources, acid, water.
    pub reactants: OnDemand<Reactants>,
    /// Solid solutions that may be let in.
    pub solutions: OnDemand<Vec<Solution>>,
    /// Oxygen lines, dopants, findings about hosts.
    pub oxygen: OnDemand<OxygenTables>,
    /// What holds for every balance.
    pub weighing_rules: OnDemand<WeighingRules>,
    /// Limits of error of volumetric glassware.
    pub glassware: OnDemand<GlasswareTable>,
    /// Compounds beside one another in oxide systems.
    pub oxide_systems: OnDemand<Vec<OxideSystem>>,
    /// Residues of calcined nitrates, and how oxides take to nitric acid.
    pub bench_oxides: OnDemand<Vec<BenchOxide>>,
    /// What is assumed of fuels known by their analysis.
    pub analysed_fuels: OnDemand<AnalysedFuels>,
    /// What a judged powder shows, by rank.
    pub findings: OnDemand<Vec<findings::Finding>>,
    /// What a host with its dopants gives.
    pub known_powders: OnDemand<Vec<known_powders::KnownPowder>>,
    /// The CIE 1931 standard observer.
    pub observer: OnDemand<observer::Observer>,
    /// Recrystallising: which crystal comes, how foreign ions part, what to watch for.
    pub crystallising: OnDemand<CrystallisingTables>,
    /// What bottles, water and vessels bring into the powder, and what spoils it.
    pub purity: OnDemand<PurityTables>,
    /// Heating ways, floors of vessels, water.
    pub heating: OnDemand<Heating>,
    /// Reaction of gels and loss of fuel.
    pub kinetics: OnDemand<Kinetics>,
    /// Bands of what nobody knows exactly when a batch burns, coherent SI.
    pub expectation: OnDemand<ExpectationBands>,
    /// What changes in the set gel before it lights.
    pub gel: OnDemand<GelTable>,
    /// How far readings of runs may be off.
    pub observations: OnDemand<observations::Observations>,
    /// Vessels, fumes, exposure limits, toxic elements, cautions.
    pub safety: OnDemand<SafetyTables>,
    /// Target phases, what competes with them, and how a choice of fuel is made.
    pub phases: OnDemand<Phases>,
}

impl Tables {
    /// The tables that are built in.
    ///
    /// # Errors
    /// [`TableError`] if a row breaks a rule; the tests make sure that none does.
    ///
    /// # Examples
    /// ```
    /// use emberpot::Tables;
    /// let tables = Tables::built_in().unwrap();
    /// assert!(tables.species_by_id("CO2").is_some());
    /// ```
    pub fn built_in() -> Result<Self, TableError> {
        Self::load(None)
    }

    /// The built-in tables with a user's own on top: `sources.toml`,
    /// `species/*.toml` and `reactants/*.toml` in `directory`, of the same format. A row with an
    /// `id` of the built-in tables replaces it, and what rests on that row follows. Files of the
    /// safety side add to it, see `SafetyTables::add_directory`.
    ///
    /// # Errors
    /// [`TableError`] if the folder cannot be read or a row breaks a rule.
    pub fn with_directory(directory: &Path) -> Result<Self, TableError> {
        check_folder(directory)?;
        Self::load(Some(directory))
    }

    fn load(directory: Option<&Path>) -> Result<Self, TableError> {
        let mut sources = OnDemand::new(load::sources);
        if let Some(directory) = directory {
            sources.change(|sources| load::add_sources(directory, sources))?;
        }
        let (species, known_phases) = load::species(directory, &sources)?;
        let mut tables = Self {
            sources,
            species,
            known_phases,
            alternatives: OnDemand::new(alternatives::built_in),
            solutions: OnDemand::new(solutions::built_in),
            oxygen: OnDemand::new(OxygenTables::built_in),
            weighing_rules: OnDemand::new(WeighingRules::built_in),
            glassware: OnDemand::new(GlasswareTable::built_in),
            oxide_systems: OnDemand::new(neighbours::built_in),
            bench_oxides: OnDemand::new(bench_oxides::built_in),
            analysed_fuels: OnDemand::new(analysed_fuels::built_in),
            findings: OnDemand::new(findings::built_in),
            known_powders: OnDemand::new(known_powders::built_in),
            observer: OnDemand::new(observer::built_in),
            crystallising: OnDemand::new(CrystallisingTables::built_in),
            purity: OnDemand::new(PurityTables::built_in),
            heating: OnDemand::new(Heating::built_in),
            kinetics: OnDemand::new(Kinetics::built_in),
            expectation: OnDemand::new(expectation::built_in),
            gel: OnDemand::new(GelTable::built_in),
            observations: OnDemand::new(observations::built_in),
            reactants: OnDemand::new(Reactants::built_in),
            safety: OnDemand::new(SafetyTables::built_in),
            phases: OnDemand::new(Phases::built_in),
        };
        if let Some(directory) = directory {
            tables.add(directory)?;
        }
        Ok(tables)
    }

    /// Takes the other tables of a user's folder in.
    fn add(&mut self, directory: &Path) -> Result<(), TableError> {
        let sources = &self.sources;
        let reactants = load::own(directory, "reactants", sources)?;
        self.reactants.change(|rows| rows.add(&reactants))?;
        for path in toml_files(&directory.join("phases"))? {
            let file = TableFile::own(&path, sources)?;
            self.phases.change(|phases| phases.add_targets(&file))?;
        }
        if let Some(file) = TableFile::optional(directory, "heating.toml", sources)? {
            self.heating.change(|heating| heating.add(&file))?;
        }
        if let Some(file) = TableFile::optional(directory, "kinetics.toml", sources)? {
            self.kinetics.change(|kinetics| kinetics.add(&file))?;
        }
        self.safety
            .change(|safety| safety.add_directory(directory, sources))
    }

    /// The species with this id, such as `Al2O3(cr,alpha)`.
    pub fn species_by_id(&self, id: &str) -> Option<&Species> {
        self.species.get(id)
    }

    /// The reactant of this formula, name, other name or registry number.
    ///
    /// # Errors
    /// `LookupError` with close matches, or with the reason for a refused substance.
    pub fn find_reactant(&self, name: &str) -> Result<&Reactant, LookupError> {
        self.reactants.find(name)
    }

    /// Every species that `name` can mean: the one with this id, else all phases of the
    /// compound with this formula or name. Case does not count in names.
    pub fn find_species(&self, name: &str) -> Vec<&Species> {
        if let Some(species) = self.species_by_id(name) {
            return match species.phase.is_condensed() {
                true => vec![species],
                false => self.phases_of(&species.formula),
            };
        }
        let by_name = self.species.named(name);
        if !by_name.is_empty() {
            return by_name;
        }
        Formula::parse(name)
            .map(|formula| self.phases_of(&formula))
            .unwrap_or_default()
    }

    /// What other compilations give for the species with this id.
    pub fn alternatives_of<'a>(&'a self, id: &'a str) -> impl Iterator<Item = &'a Alternative> {
        self.alternatives.iter().filter(move |row| row.of == id)
    }

    /// Ids and names of species close to a misspelt one, nearest first.
    pub fn close_species_names(&self, name: &str, count: usize) -> Vec<&str> {
        let candidates = self.species.spellings();
        close_matches(name, candidates, count)
    }

    /// All phases of a composition, in the order of the tables.
    pub fn phases_of(&self, formula: &Formula) -> Vec<&Species> {
        self.species
            .of_just(formula)
            .filter(|s| s.formula.same_composition(formula))
            .collect()
    }

    /// The condensed phase of a composition with the lowest Gibbs energy at `temperature`, among
    /// those that may be used there. The formula may be written in any multiple.
    pub fn stable_condensed(
        &self,
        formula: &Formula,
        temperature: ThermodynamicTemperature,
    ) -> Option<&Species> {
        let t = temperature.get::<kelvin>();
        self.species
            .of_just(formula)
            .filter(|s| s.phase.is_condensed() && s.is_usable(t))
            .filter_map(|s| Some((formula.multiple_of(&s.formula)? * s.g(t), s)))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, s)| s)
    }
}

/// The `count` candidates closest to `name`, nearest first; those that need more changes than a
/// third of its length (but at least two) are left out. Case does not count.
fn close_matches<'a>(
    name: &str,
    candidates: impl Iterator<Item = &'a str>,
    count: usize,
) -> Vec<&'a str> {
    let wanted = name.to_lowercase();
    let limit = (wanted.chars().count() / 3).clamp(2, 60);
    let mut found: Vec<(usize, &str)> = candidates
        .filter_map(|candidate| {
            let steps = distance_within(&wanted, &candidate.to_lowercase(), limit)?;
            Some((steps, candidate))
        })
        .collect();
    found.sort_unstable();
    found.dedup();
    found
        .into_iter()
        .take(count)
        .map(|(_, candidate)| candidate)
        .collect()
}
