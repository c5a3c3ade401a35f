//! What the rules can look at: numbers, facts, elements and reactants of one batch.

use super::facts::{BurnFacts, MixtureFacts};
use super::violence::Violence;
use crate::batch::BurnPlace;
use crate::formula::Element;
use crate::fumes::Fumes;
use crate::quantity::SpecificVolume;
use crate::quantity::units::{
    cubic_meter, cubic_meter_per_kilogram, cycle_per_hour, degree_celsius, gram, kelvins,
    meter_per_second, micromole, milliliter, millimeter, millimole, percent, ratio,
};
use crate::quantity::{AmountOfSubstance, Ratio};
use crate::room::{Air, Exposure};
use crate::tables::cautions::{Condition, Flag, Measure};
use crate::tables::heating::HeatingKind;
use crate::tables::toxic::ToxicElement;
use crate::tables::{HazardGroup, SafetyTables};
use crate::vessel::{Refusal, VesselCheck, behaviour, gas_flow};
use std::collections::{BTreeMap, BTreeSet};

/// Everything that a condition can be about.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Observed {
    /// Numbers, each in its unit; what is not known is not there.
    pub measures: BTreeMap<Measure, f64>,
    /// What a number is about, for those that need it: the agent of a concentration.
    pub about: BTreeMap<Measure, String>,
    /// How a number is written that is an end of a band.
    pub written: BTreeMap<Measure, String>,
    /// Facts that hold, with what they are about.
    pub flags: BTreeMap<Flag, String>,
    /// Elements of the powder, oxygen left out.
    pub product: BTreeSet<Element>,
    /// Reactants: id and name.
    pub reactants: BTreeMap<String, String>,
    /// Hazard groups of the reactants, with the names of those in them.
    pub groups: BTreeMap<HazardGroup, Vec<String>>,
    /// What heats the vessel.
    pub heated_by: Option<HeatingKind>,
}

/// The room that is assumed, and what its air would come to.
fn assumed_room(air: &Air, exposures: &[Exposure]) -> String {
    let volume = air.volume.get::<cubic_meter>();
    let changes = air.clearing.high.get::<cycle_per_hour>();
    let room = format!("a room of {volume:.0} m³ with {changes:.0} air change an hour and no hood");
    let worst = exposures.iter().max_by(|a, b| {
        a.times_limit
            .high
            .value
            .total_cmp(&b.times_limit.high.value)
    });
    match worst.filter(|worst| worst.times_limit.high > Ratio::new::<ratio>(1.0)) {
        Some(worst) => format!(
            "{room}, where {} could come to {:.0} times its limit",
            worst.name,
            worst.times_limit.high.get::<ratio>()
        ),
        None => format!("{room}, where no limit is passed"),
    }
}

/// What the checks found.
pub(super) struct Findings<'a> {
    pub facts: &'a BurnFacts,
    pub vessel: Option<&'a VesselCheck>,
    pub fits: bool,
    pub violence: &'a Violence,
    pub fumes: &'a Fumes,
    pub air: &'a Air,
    pub exposures: &'a [Exposure],
    pub tables: &'a SafetyTables,
}

/// Gases that a lean batch gives off, and a rich one.
const NITROGEN_OXIDES: [&str; 2] = ["NO", "NO2"];
const RICH_GASES: [&str; 4] = ["CO", "NH3", "HNCO", "HCN"];
/// Equivalence ratio below which chromium may end as chromium(VI). Common practice.
const CLEARLY_RICH: f64 = 1.2;
/// Vapours of chromium(VI) among the product species.
const CHROMIUM_SIX_GASES: [&str; 2] = ["CrO2(OH)2", "CrO3"];
/// Chromium(VI) vapour that is told, µmol: 10 µg of Cr bring 50 m³ of air, a small laboratory, to
/// the lowest limit of the tables, 0.2 µg/m³.
const LEAST_CHROMIUM_VAPOUR: f64 = 0.19;
/// Metals whose basic oxides keep chromium as chromate.
const BASIC: [&str; 9] = ["Li", "Na", "K", "Rb", "Cs", "Mg", "Ca", "Sr", "Ba"];

impl Observed {
    /// Collects what `findings` hold.
    pub(super) fn new(findings: &Findings<'_>) -> Self {
        let facts = findings.facts;
        let mut observed = Self::of_mixture(&facts.mixture);
        observed.product = facts.fumes.product_elements.keys().copied().collect();
        observed.heated_by = facts.load.heating;
        observed.burn(findings);
        observed.chromium(facts);
        match findings.vessel {
            Some(checked) => observed.vessel(checked),
            None => observed.flag(Flag::VesselNotStated, ""),
        }
        if !findings.fits {
            let volume = facts.load.solution_volume.get::<milliliter>();
            let dry = facts.load.dry_mass.get::<gram>();
            let detail = format!("{volume:.0} mL of solution with {dry:.1} g of oxidiser and fuel");
            observed.flag(Flag::NoVesselFits, &detail);
        }
        observed.air(findings);
        observed
    }

    /// What is known of a mixture before it burns.
    pub fn of_mixture(mixture: &MixtureFacts) -> Self {
        let mut observed = Self {
            product: mixture.elements.clone(),
            reactants: mixture.reactants.clone(),
            groups: mixture.groups.clone(),
            ..Self::default()
        };
        observed.set(Measure::DryMass, mixture.dry_mass.get::<gram>());
        for (measure, share) in [
            (
                Measure::AmmoniumNitrateShare,
                mixture.ammonium_nitrate_share,
            ),
            (Measure::AlkaliNitrateShare, mixture.alkali_nitrate_share),
            (Measure::FreeAcidStrength, mixture.free_acid_strength),
            (Measure::PowderShare, mixture.powder_share),
        ] {
            observed.set(measure, share.get::<percent>());
        }
        observed
    }

    fn set(&mut self, measure: Measure, value: f64) {
        if value.is_finite() {
            self.measures.insert(measure, value);
        }
    }

    fn flag(&mut self, flag: Flag, detail: &str) {
        let entry = self.flags.entry(flag).or_default();
        if !entry.is_empty() && !detail.is_empty() {
            entry.push_str("; ");
        }
        entry.push_str(detail);
    }

    fn burn(&mut self, findings: &Findings<'_>) {
        let facts = findings.facts;
        let load = &facts.load;
        // the rules about lean and rich each look at the end that is the worse for them
        let phi = facts.fumes.equivalence_ratio;
        self.set(Measure::EquivalenceRatio, phi.low.get::<ratio>());
        self.set(Measure::HighestEquivalenceRatio, phi.high.get::<ratio>());
        let measure = Measure::EquivalenceRatio;
        let [low, high] = [phi.low, phi.high].map(|end| measure.show(end.get::<ratio>()));
        if low != high {
            for measure in [measure, Measure::HighestEquivalenceRatio] {
                self.written.insert(measure, format!("{low} to {high}"));
            }
        }
        self.set(
            Measure::FlameTemperature,
            load.flame.high.get::<degree_celsius>(),
        );
        let per_mass: SpecificVolume = facts.gas_volume_25c / load.dry_mass;
        // 1 m³/kg is 1 L/g
        self.set(
            Measure::GasPerDryMass,
            per_mass.get::<cubic_meter_per_kilogram>(),
        );
        self.set(Measure::Violence, findings.violence.level.high.number());
        self.set(
            Measure::ViolenceAtLeast,
            findings.violence.level.low.number(),
        );
        let amount = |gases: &[&str]| -> f64 {
            let sum: AmountOfSubstance = findings.fumes.highest_sum(gases);
            sum.get::<millimole>()
        };
        if let Some((metal, share)) = facts.vapour {
            self.set(Measure::MetalVapour, share.get::<percent>());
            self.about
                .insert(Measure::MetalVapour, metal.name().to_owned());
        }
        self.set(Measure::NitrogenOxides, amount(&NITROGEN_OXIDES));
        self.set(Measure::RichGas, amount(&RICH_GASES));
    }

    fn chromium(&mut self, facts: &BurnFacts) {
        let has = |symbol: &str| {
            Element::from_symbol(symbol).is_some_and(|element| self.product.contains(&element))
        };
        if !has("Cr") {
            return;
        }
        let phi = facts.fumes.equivalence_ratio.low.get::<ratio>();
        let basic: Vec<&str> = BASIC.into_iter().filter(|symbol| has(symbol)).collect();
        let vapour = CHROMIUM_SIX_GASES
            .into_iter()
            .filter_map(|gas| facts.fumes.equilibrium.get(gas).copied())
            .fold(AmountOfSubstance::default(), |sum, n| sum + n);
        if vapour.get::<micromole>() > LEAST_CHROMIUM_VAPOUR {
            let detail = format!(
                "the hot gas holds up to {:.1} µmol of it as CrO2(OH)2 and CrO3 vapour",
                vapour.get::<micromole>()
            );
            self.flag(Flag::FormsHexavalentChromium, &detail);
        }
        if phi < CLEARLY_RICH {
            let detail = format!("φ = {phi:.2} is not clearly rich");
            self.flag(Flag::FormsHexavalentChromium, &detail);
        }
        if !basic.is_empty() {
            let detail = format!("{} beside chromium forms chromate", basic.join(", "));
            self.flag(Flag::FormsHexavalentChromium, &detail);
        }
    }

    fn vessel(&mut self, checked: &VesselCheck) {
        for refusal in &checked.refusals {
            let flag = match refusal {
                Refusal::Closed { .. } => Flag::VesselClosed,
                Refusal::Neck { .. } | Refusal::Tube { .. } => Flag::VesselNarrow,
                Refusal::Material { .. } => Flag::MaterialRefused,
                Refusal::Outer { .. } => Flag::OuterRefused,
                Refusal::MetalInMicrowave { .. } => Flag::MetalInMicrowave,
            };
            self.flag(flag, &refusal.to_string());
        }
        let share = |r: Ratio| r.get::<ratio>();
        self.set(Measure::FrothFill, checked.froth_fill.high.get::<percent>());
        self.set(
            Measure::FrothFillAtLeast,
            checked.froth_fill.low.get::<percent>(),
        );
        self.set(Measure::LiquidDepth, checked.depth.get::<millimeter>());
        let in_kelvins = |step: crate::quantity::TemperatureInterval| step.get::<kelvins>();
        self.set(Measure::WallOverLimit, in_kelvins(checked.over_limit.high));
        self.set(
            Measure::WallAtLeastOverLimit,
            in_kelvins(checked.over_limit.low),
        );
        self.set(
            Measure::WallOverSoftening,
            in_kelvins(checked.over_softening.high),
        );
        self.set(
            Measure::WallAtLeastOverSoftening,
            in_kelvins(checked.over_softening.low),
        );
        self.set(
            Measure::FlameOverLimit,
            in_kelvins(checked.flame_over_limit),
        );
        if let Some(shock) = checked.over_shock {
            self.set(Measure::ShockOverLimit, in_kelvins(shock));
        }
        self.set(Measure::CarryOver, share(checked.carry_over.low));
        match checked.outer_share {
            Some(outer) => self.set(Measure::OuterVesselShare, share(outer)),
            None if !checked.choice.vessel.material.metal => {
                self.flag(Flag::NoOuterVessel, &checked.choice.vessel.name);
            }
            None => {}
        }
    }

    fn air(&mut self, findings: &Findings<'_>) {
        let air = findings.air;
        let exposures = findings.exposures;
        if air.place == BurnPlace::Outdoors {
            self.flag(Flag::Outdoors, "");
        } else if !air.stated {
            // Nobody is told what not to do in a room that is only assumed: the room is asked for.
            self.flag(Flag::RoomNotStated, &assumed_room(air, exposures));
            return;
        }
        self.worst(Measure::OverLimit, exposures, |e| Some(e.times_limit.high));
        self.worst(Measure::OverLimitAtLeast, exposures, |e| {
            Some(e.times_limit.low)
        });
        self.worst(Measure::OverImmediateDanger, exposures, |e| {
            e.over_immediate_danger
        });
        let Some(hood) = air.hood else { return };
        match hood.face_velocity {
            Some(speed) => self.set(Measure::HoodFaceVelocity, speed.get::<meter_per_second>()),
            None => self.flag(Flag::HoodNotKnown, ""),
        }
        if let Some(exhaust) = hood.exhaust {
            let vessels = &findings.tables.vessels;
            let load = &findings.facts.load;
            let burn_time = findings.vessel.map_or_else(
                || behaviour(&load.fuels, vessels).burn_time_of(load, &vessels.assumed),
                |v| v.burn_time,
            );
            let peak = gas_flow(load, burn_time, vessels).1.high;
            let load: Ratio = peak / exhaust;
            self.set(Measure::HoodLoad, load.get::<percent>());
        }
    }

    /// The highest of a ratio over all exposures, with the agent it is about.
    fn worst(
        &mut self,
        measure: Measure,
        exposures: &[Exposure],
        of: impl Fn(&Exposure) -> Option<Ratio>,
    ) {
        let known = exposures
            .iter()
            .filter_map(|e| Some((of(e)?.get::<ratio>(), &e.name)));
        if let Some((value, name)) = known.max_by(|a, b| a.0.total_cmp(&b.0)) {
            self.set(measure, value);
            self.about.insert(measure, name.clone());
        }
    }

    /// Whether a condition holds. A number that is not known fulfils no condition.
    pub fn holds(&self, condition: &Condition, toxic: &[ToxicElement]) -> bool {
        match condition {
            Condition::Always => true,
            Condition::Above(measure, limit) => self
                .measures
                .get(measure)
                .is_some_and(|value| value > limit),
            Condition::Below(measure, limit) => self
                .measures
                .get(measure)
                .is_some_and(|value| value < limit),
            Condition::Flag(flag) => self.flags.contains_key(flag),
            Condition::HeatedBy(ways) => self.heated_by.is_some_and(|way| ways.contains(&way)),
            Condition::ProductHas(_)
            | Condition::Toxic(_)
            | Condition::Reactant(_)
            | Condition::HazardGroup(_) => !self.found(condition, toxic).is_empty(),
        }
    }

    /// What a condition about elements or reactants finds, in words.
    pub fn found(&self, condition: &Condition, toxic: &[ToxicElement]) -> Vec<String> {
        match condition {
            Condition::ProductHas(elements) => elements
                .iter()
                .filter(|element| self.product.contains(element))
                .map(|element| element.name().to_owned())
                .collect(),
            Condition::Toxic(class) => toxic
                .iter()
                .filter(|row| &row.class == class && self.product.contains(&row.element))
                .map(|row| format!("{} ({})", row.element.name(), row.effect))
                .collect(),
            Condition::Reactant(ids) => ids
                .iter()
                .filter_map(|id| self.reactants.get(id).cloned())
                .collect(),
            Condition::HazardGroup(groups) => {
                let named: BTreeSet<&String> = groups
                    .iter()
                    .filter_map(|group| self.groups.get(group))
                    .flatten()
                    .collect();
                named.into_iter().cloned().collect()
            }
            _ => Vec::new(),
        }
    }
}
