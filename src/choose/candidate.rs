//! Which fuels and pairs of fuels are looked at, and which are left out with the reason.

use crate::batch::Batch;
use crate::formula::Element;
use crate::quantity::reference_temperature;
use crate::quantity::units::{mole, ratio};
use crate::redox::valence;
use crate::tables::phases::{RefusedFuels, TargetPhase};
use crate::tables::{HazardGroup, Reactant, Role, Tables};

/// A fuel or a mix of two.
#[derive(Debug, Clone, PartialEq)]
pub struct Fuels {
    /// Each fuel with its share of their reducing valence.
    pub parts: Vec<(Reactant, f64)>,
    /// Whether these are the fuels of the file in the file's proportion.
    pub of_the_file: bool,
}

impl Fuels {
    pub fn single(fuel: &Reactant) -> Self {
        Self {
            parts: vec![(fuel.clone(), 1.0)],
            of_the_file: false,
        }
    }

    /// Two fuels, the first with `share` of the valence.
    pub fn pair(first: &Reactant, second: &Reactant, share: f64) -> Self {
        Self {
            parts: vec![(first.clone(), share), (second.clone(), 1.0 - share)],
            of_the_file: false,
        }
    }

    /// What they are called, with percentages of the valence for a mix.
    pub fn name(&self) -> String {
        if let [(fuel, _)] = &self.parts[..] {
            return fuel.name.clone();
        }
        let parts: Vec<String> = self
            .parts
            .iter()
            .map(|(fuel, share)| format!("{} {:.0} %", fuel.name, 100.0 * share))
            .collect();
        parts.join(" + ")
    }

    /// Ids by which published burns know them.
    pub fn ids(&self) -> Vec<&str> {
        self.parts.iter().map(|(fuel, _)| plain_id(fuel)).collect()
    }
}

/// The id without what tells the hydrate: "citric_acid_mono" burns as "citric_acid".
pub fn plain_id(fuel: &Reactant) -> &str {
    for tail in ["_mono", "_2", "_l"] {
        if let Some(id) = fuel.id.strip_suffix(tail) {
            return id;
        }
    }
    &fuel.id
}

/// A fuel that is not looked at.
#[derive(serde::Serialize, Debug, Clone, PartialEq, Eq)]
#[cfg_attr(not(target_family = "wasm"), derive(schemars::JsonSchema))]
pub struct LeftOut {
    /// Its name.
    pub fuel: String,
    /// Why.
    pub reason: String,
}

/// The fuels of the file with their shares of the valence; `None` without a fuel that reduces.
pub fn fuels_of(batch: &Batch) -> Option<Fuels> {
    let parts: Vec<(Reactant, f64)> = batch
        .ingredients
        .iter()
        .filter(|i| i.reactant.role == Role::Fuel)
        .filter_map(|i| {
            let per_mole = valence(&i.reactant.formula, &batch.states).ok()?;
            let n = i.amount.get::<mole>();
            (per_mole > 0.0).then(|| ((*i.reactant).clone(), per_mole * n))
        })
        .collect();
    let total: f64 = parts.iter().map(|(_, part)| part).sum();
    (total > 0.0).then(|| Fuels {
        parts: parts
            .into_iter()
            .map(|(fuel, part)| (fuel, part / total))
            .collect(),
        of_the_file: true,
    })
}

/// Single fuels of the tables worth a look, and those left out.
pub fn singles(batch: &Batch, tables: &Tables) -> (Vec<Reactant>, Vec<LeftOut>) {
    let rules = &tables.phases.ranking.refused;
    let acid = batch.weighed.iter().any(|i| i.reactant.role == Role::Acid);
    let in_file = |fuel: &Reactant| batch.ingredients.iter().any(|i| i.reactant.id == fuel.id);
    let mut taken: Vec<Reactant> = Vec::new();
    let mut left_out = Vec::new();
    let fuels = tables.reactants.iter().filter(|r| r.role == Role::Fuel);
    for fuel in fuels {
        if let Some(reason) = reason_against(fuel, batch, rules, acid) {
            left_out.push(LeftOut {
                fuel: fuel.name.clone(),
                reason,
            });
            continue;
        }
        // Of the hydrates of one fuel the one in the file, else the first.
        let dry = fuel.formula.anhydrous();
        let same = taken.iter_mut().find(|t| {
            t.formula.anhydrous().amounts() == dry.amounts() && plain_id(t) == plain_id(fuel)
        });
        match same {
            Some(same) if in_file(fuel) => *same = fuel.clone(),
            Some(_) => {}
            None => taken.push(fuel.clone()),
        }
    }
    (taken, left_out)
}

fn reason_against(
    fuel: &Reactant,
    batch: &Batch,
    rules: &RefusedFuels,
    acid: bool,
) -> Option<String> {
    let statements: Vec<&str> = fuel
        .hazards
        .statements
        .iter()
        .map(String::as_str)
        .filter(|s| rules.statements.iter().any(|refused| refused == s))
        .collect();
    if !statements.is_empty() {
        let list = statements.join(", ");
        return Some(format!("too dangerous for this work ({list})"));
    }
    let usual = ["C", "H", "N", "O"];
    let foreign = fuel
        .formula
        .amounts()
        .keys()
        .find(|element| !usual.contains(&element.symbol()));
    if let Some(element) = foreign {
        return Some(format!("brings {element} into the powder or the gas"));
    }
    if fuel.formation_enthalpy.is_none() {
        return Some("no formation enthalpy in the tables".to_owned());
    }
    if !valence(&fuel.formula, &batch.states).is_ok_and(|v| v > 0.0) {
        return Some("has no reducing valence".to_owned());
    }
    if burns_by_ammonia_alone(fuel, batch) {
        return Some("makes ammonium nitrate with the nitrates, and is no fuel beside".to_owned());
    }
    if fuel.is_in(HazardGroup::PrecipitatesMetals) {
        return Some("precipitates the metals before the burn".to_owned());
    }
    if acid && fuel.is_in(HazardGroup::DangerousWithNitricAcid) {
        return Some("dangerous with the nitric acid of this batch".to_owned());
    }
    match solubility(fuel) {
        Dissolves::Grams(grams) if grams < rules.insoluble_below_g_per_100_g => Some(format!(
            "dissolves too little ({grams:.2} g in 100 g water)"
        )),
        Dissolves::Unknown if fuel.id.ends_with("_unit") => {
            Some("a polymer without a solubility in the tables".to_owned())
        }
        _ => None,
    }
}

/// Ammonia or its carbonates: all that reduces is ammonia, 3 for each nitrogen.
fn burns_by_ammonia_alone(fuel: &Reactant, batch: &Batch) -> bool {
    let ammonia = 3.0 * fuel.formula.amount_of(Element::NITROGEN);
    let all = valence(&fuel.formula, &batch.states).unwrap_or(0.0);
    let salt = fuel.is_in(HazardGroup::AmmoniumSalt);
    let bare = fuel.formula.amount_of(Element::CARBON) <= 0.0;
    (salt || bare) && (all - ammonia).abs() < 1e-6
}

/// How much of a fuel dissolves in 100 g of water at 25 °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Dissolves {
    /// So many grams.
    Grams(f64),
    /// Any amount.
    Freely,
    /// Not known.
    Unknown,
}

/// Solubility of a fuel at 25 °C.
pub fn solubility(fuel: &Reactant) -> Dissolves {
    let Some(curve) = &fuel.solubility else {
        return Dissolves::Unknown;
    };
    if curve.miscible {
        return Dissolves::Freely;
    }
    match fuel.water_to_dissolve(reference_temperature()) {
        Ok(water) if water.get::<ratio>() > 0.0 => Dissolves::Grams(100.0 / water.get::<ratio>()),
        Ok(_) => Dissolves::Freely,
        Err(_) => Dissolves::Unknown,
    }
}

/// Hazard class of a fuel, gentle first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HazardClass {
    /// No statement known.
    None,
    /// Signal word "Warning".
    Warning,
    /// An ammonium salt: with the nitrates it leaves ammonium nitrate in the gel.
    Ammonium,
    /// Signal word "Danger", or known to form explosives with nitric acid.
    Danger,
    /// A hydrazine derivative: can explode on heating, frees hydrazine.
    Hydrazide,
}

impl HazardClass {
    /// The class of a fuel.
    pub fn of(fuel: &Reactant) -> Self {
        if fuel.is_in(HazardGroup::Hydrazide) {
            Self::Hydrazide
        } else if fuel.hazards.signal == "Danger"
            || fuel.is_in(HazardGroup::ExplosiveWithNitricAcid)
        {
            Self::Danger
        } else if fuel.is_in(HazardGroup::AmmoniumSalt) {
            Self::Ammonium
        } else if fuel.hazards.signal == "Warning" {
            Self::Warning
        } else {
            Self::None
        }
    }

    /// Share of the points of the criterion; assumed.
    pub fn score(self) -> f64 {
        match self {
            Self::None => 1.0,
            Self::Warning => 0.7,
            Self::Ammonium => 0.5,
            Self::Danger => 0.35,
            Self::Hydrazide => 0.0,
        }
    }
}

/// Pairs among `best`, the published pairs of the phase, and the pairs that suit the cations.
pub fn pairs(
    best: &[Reactant],
    phase: Option<&TargetPhase>,
    batch: &Batch,
    tables: &Tables,
) -> Vec<Fuels> {
    let ranking = &tables.phases.ranking;
    let mut wanted: Vec<(Reactant, Reactant)> = Vec::new();
    let mut add = |a: &Reactant, b: &Reactant| {
        let known = |pair: &(Reactant, Reactant)| {
            (pair.0.id == a.id && pair.1.id == b.id) || (pair.0.id == b.id && pair.1.id == a.id)
        };
        if a.id != b.id && !wanted.iter().any(known) {
            wanted.push((a.clone(), b.clone()));
        }
    };
    let published = phase.map(|p| p.fuels.as_slice()).unwrap_or_default();
    for trial in published.iter().filter(|trial| trial.fuels.len() == 2) {
        let of = |id: &String| tables.reactants.find(id).ok();
        if let (Some(a), Some(b)) = (of(&trial.fuels[0]), of(&trial.fuels[1])) {
            add(a, b);
        }
    }
    for (at, first) in best.iter().enumerate() {
        for second in &best[at + 1..] {
            add(first, second);
        }
    }
    wanted
        .iter()
        .flat_map(|(a, b)| {
            let mut shares = ranking.search.mix_shares.clone();
            shares.extend(suited_share(a, b, batch, tables));
            shares
                .into_iter()
                .map(|share| Fuels::pair(a, b, share))
                .collect::<Vec<_>>()
        })
        .collect()
}

/// The share of `a` if each cation's nitrate gets the fuel that suits it.
fn suited_share(a: &Reactant, b: &Reactant, batch: &Batch, tables: &Tables) -> Option<f64> {
    let (mut for_a, mut for_b) = (0.0, 0.0);
    for ingredient in &batch.ingredients {
        let per_mole = valence(&ingredient.reactant.formula, &batch.states).ok()?;
        if per_mole >= 0.0 {
            continue;
        }
        let n = ingredient.amount.get::<mole>();
        let cations: Vec<Element> = ingredient
            .reactant
            .formula
            .amounts()
            .keys()
            .copied()
            .filter(|e| e.is_metal())
            .collect();
        let suits = |fuel: &Reactant| {
            let affinities = &tables.phases.ranking.affinities;
            affinities
                .iter()
                .any(|x| x.fuel == plain_id(fuel) && cations.contains(&x.cation))
        };
        if suits(a) {
            for_a -= n * per_mole;
        } else if suits(b) {
            for_b -= n * per_mole;
        }
    }
    (for_a > 0.0 && for_b > 0.0).then(|| for_a / (for_a + for_b))
}
