//! Rows of the reactant tables turned into quantities, with the checks that each row must pass.

use super::row::{
    RawAlternative, RawAssay, RawMelting, RawMetal, RawReactant, RawSolubility, RawValue,
    RawWaterRange, ReactantError,
};
use super::{Alternative, Assay, Hazards, Melting, MetalContent, Reactant, Solubility, WaterRange};
use crate::formula::{Element, Formula};
use crate::quantity::{
    MassDensity, MolarEnergy, MolarHeatCapacity, Ratio, ThermodynamicTemperature,
};
use crate::source::{Bibliography, SourceId, Sourced};
use uom::si::mass_density::gram_per_cubic_centimeter;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;
use uom::si::ratio::percent;
use uom::si::thermodynamic_temperature::degree_celsius;

/// Where in the tables a complaint belongs.
pub(super) struct Place<'a> {
    pub(super) file: &'a str,
    pub(super) row: &'a str,
    pub(super) sources: &'a Bibliography,
}

impl Place<'_> {
    pub(super) fn implausible(&self, key: &str, what: String) -> ReactantError {
        ReactantError::Implausible {
            file: self.file.to_owned(),
            place: format!("{}, {key}", self.row),
            what,
        }
    }

    pub(super) fn source(&self, key: &SourceId) -> Result<(), ReactantError> {
        if self.sources.get(key).is_some() {
            return Ok(());
        }
        Err(ReactantError::UnknownSource {
            file: self.file.to_owned(),
            place: self.row.to_owned(),
            source_key: key.to_string(),
        })
    }

    /// A value inside open limits.
    fn value(
        &self,
        key: &str,
        raw: Option<RawValue>,
        limits: (f64, f64),
        unit: &str,
    ) -> Result<Option<Sourced<f64>>, ReactantError> {
        let Some(raw) = raw else { return Ok(None) };
        let value = raw.sourced(self.file, self.sources).map_err(|e| match e {
            ReactantError::UnknownSource {
                file, source_key, ..
            } => ReactantError::UnknownSource {
                file,
                place: format!("{}, {key}", self.row),
                source_key,
            },
            other => other,
        })?;
        if value.value <= limits.0 || value.value >= limits.1 {
            return Err(self.implausible(
                key,
                format!(
                    "{} {unit} is outside the plausible range {} to {}",
                    value.value, limits.0, limits.1
                ),
            ));
        }
        Ok(Some(value))
    }

    fn temperature(
        &self,
        key: &str,
        raw: Option<RawValue>,
    ) -> Result<Option<Sourced<ThermodynamicTemperature>>, ReactantError> {
        if raw.as_ref().is_some_and(|r| r.uncertainty.is_some()) {
            return Err(self.implausible(key, "a temperature takes no uncertainty here".to_owned()));
        }
        let value = self.value(key, raw, (-200.0, 3000.0), "°C")?;
        Ok(value.map(|v| v.map(ThermodynamicTemperature::new::<degree_celsius>)))
    }
}

pub(super) fn reactant(
    raw: RawReactant,
    file: &str,
    sources: &Bibliography,
) -> Result<Reactant, ReactantError> {
    let place = Place {
        file,
        row: &raw.id,
        sources,
    };
    let formula = Formula::parse(&raw.formula).map_err(|error| ReactantError::Formula {
        file: file.to_owned(),
        id: raw.id.clone(),
        error,
    })?;
    if let Some(cas) = raw.cas.as_ref().filter(|cas| !is_cas_number(cas)) {
        return Err(place.implausible("cas", format!("{cas} fails the registry's check digit")));
    }
    place.source(&raw.hazards.source)?;
    for other in &raw.alternatives {
        place.source(&other.source)?;
        if !other.value.is_finite() {
            return Err(place.implausible("alternatives", format!("{} is no number", other.value)));
        }
    }
    let metal = raw.metal.map(|m| metal(m, &formula, &place)).transpose()?;
    let molar = |key, value, limits, unit| place.value(key, value, limits, unit);
    let to_energy = |v: Sourced<f64>| v.map(MolarEnergy::new::<kilojoule_per_mole>);
    let to_heat = |v: Sourced<f64>| v.map(MolarHeatCapacity::new::<joule_per_kelvin_mole>);
    // limits: wide enough for every substance of the kind, narrow enough for a slipped decimal
    let atoms: f64 = formula.amounts().values().sum();
    let enthalpy = molar(
        "formation_enthalpy",
        raw.formation_enthalpy,
        (-1e4, 1e3),
        "kJ/mol",
    )?;
    let heat = molar(
        "heat_capacity",
        raw.heat_capacity,
        (5.0 * atoms, 45.0 * atoms),
        "J/(mol K)",
    )?;
    let entropy = molar(
        "entropy",
        raw.entropy,
        (3.0 * atoms, 45.0 * atoms),
        "J/(mol K)",
    )?;
    let solution = molar(
        "enthalpy_of_solution",
        raw.enthalpy_of_solution,
        (-150.0, 150.0),
        "kJ/mol",
    )?;
    let density = molar("density", raw.density, (0.5, 10.0), "g/cm3")?;
    Ok(Reactant {
        formation_enthalpy: enthalpy.map(to_energy),
        heat_capacity: heat.map(to_heat),
        entropy: entropy.map(to_heat),
        enthalpy_of_solution: solution.map(to_energy),
        density: density.map(|v| v.map(MassDensity::new::<gram_per_cubic_centimeter>)),
        melting: raw.melting.map(|m| melting(m, &place)).transpose()?,
        decomposition_onset: place.temperature("decomposition_onset", raw.decomposition_onset)?,
        solubility: raw.solubility.map(|s| solubility(s, &place)).transpose()?,
        water_range: raw
            .water_range
            .map(|w| water_range(w, &place))
            .transpose()?,
        assay: raw.assay.map(|a| assay(a, &place)).transpose()?,
        gases_seen: raw.gases.as_ref().map(|g| g.seen),
        gases: raw.gases.map(|g| g.list).unwrap_or_default(),
        hazards: Hazards {
            signal: raw.hazards.signal,
            statements: raw.hazards.statements,
            source: raw.hazards.source,
            seen: raw.hazards.seen,
        },
        alternatives: raw.alternatives.into_iter().map(alternative).collect(),
        name: raw.name,
        aliases: raw.aliases,
        cas: raw.cas,
        cas_seen: raw.cas_seen,
        role: raw.role,
        hazard_groups: raw.hazard_groups,
        state: raw.phase,
        redox_valence: raw.redox_valence,
        thermal_steps: raw.thermal_steps,
        hygroscopic: raw.hygroscopic,
        toxicity: raw.toxicity,
        id: raw.id,
        metal,
        formula,
    })
}

fn alternative(raw: RawAlternative) -> Alternative {
    Alternative {
        quantity: raw.of,
        value: raw.value,
        source: raw.source,
        locator: raw.at,
        seen: raw.seen,
        reason: raw.reason,
    }
}

fn metal(
    raw: RawMetal,
    formula: &Formula,
    place: &Place<'_>,
) -> Result<MetalContent, ReactantError> {
    let element = Element::from_symbol(&raw.element)
        .filter(|e| formula.amount_of(*e) > 0.0)
        .ok_or_else(|| {
            place.implausible("metal", format!("{} is not in {formula}", raw.element))
        })?;
    Ok(MetalContent {
        element,
        oxidation_state: raw.oxidation_state,
        common_oxide: raw.common_oxide,
    })
}

fn melting(raw: RawMelting, place: &Place<'_>) -> Result<Melting, ReactantError> {
    let value = RawValue {
        value: raw.value,
        uncertainty: None,
        source: raw.source,
        at: raw.at,
        seen: raw.seen,
    };
    let temperature = place
        .temperature("melting", Some(value))?
        .ok_or_else(|| place.implausible("melting", "no temperature".to_owned()))?;
    Ok(Melting {
        temperature,
        in_own_water: raw.in_own_water,
        note: raw.note,
    })
}

fn solubility(raw: RawSolubility, place: &Place<'_>) -> Result<Solubility, ReactantError> {
    let key = "solubility";
    place.source(&raw.source)?;
    if !raw.mass_percent.is_empty() && !raw.per_100_g_water.is_empty() {
        return Err(place.implausible(key, "give mass_percent or per_100_g_water".to_owned()));
    }
    let percents: Vec<(f64, f64)> = raw
        .mass_percent
        .iter()
        .copied()
        .chain(
            raw.per_100_g_water
                .iter()
                .map(|(t, s)| (*t, 100.0 * s / (100.0 + s))),
        )
        .collect();
    let mut points = Vec::with_capacity(percents.len());
    for (t, w) in &percents {
        if !(-60.0..=250.0).contains(t) || !(0.0..100.0).contains(w) {
            return Err(place.implausible(key, format!("{w} mass percent at {t} °C")));
        }
        points.push((
            ThermodynamicTemperature::new::<degree_celsius>(*t),
            Ratio::new::<percent>(*w),
        ));
    }
    for pair in percents.windows(2) {
        if pair[1].0 <= pair[0].0 {
            return Err(place.implausible(key, format!("{} °C is out of order", pair[1].0)));
        }
        if pair[1].1 < pair[0].1 && raw.falling.is_none() {
            return Err(place.implausible(
                key,
                format!(
                    "falls at {} °C; say why in `falling` if it is true",
                    pair[1].0
                ),
            ));
        }
    }
    Ok(Solubility {
        points,
        basis: raw.basis,
        miscible: raw.miscible,
        falling: raw.falling,
        note: raw.note,
        source: raw.source,
        locator: raw.at,
        seen: raw.seen,
    })
}

fn water_range(raw: RawWaterRange, place: &Place<'_>) -> Result<WaterRange, ReactantError> {
    let limits = match (raw.from, raw.to) {
        (Some(a), Some(b)) if (0.0..b).contains(&a) && b <= 24.0 => Some((a, b)),
        (None, None) => None,
        _ => {
            let what = "`from` and `to` go together, rising, 0 to 24".to_owned();
            return Err(place.implausible("water_range", what));
        }
    };
    Ok(WaterRange {
        limits,
        note: raw.note,
        seen: raw.seen,
    })
}

fn assay(raw: RawAssay, place: &Place<'_>) -> Result<Assay, ReactantError> {
    // 101 %: pharmacopoeias allow the titration a little above 100
    if !(raw.from > 0.0 && raw.from <= raw.to && raw.to <= 101.0) {
        let what = format!("{} to {} % is no assay range", raw.from, raw.to);
        return Err(place.implausible("assay", what));
    }
    Ok(Assay {
        from: Ratio::new::<percent>(raw.from),
        to: Ratio::new::<percent>(raw.to),
        basis: raw.basis,
        note: raw.note,
        seen: raw.seen,
    })
}

/// Check digit of a CAS registry number: the digits before it, weighted 1, 2, 3 … from the
/// right, sum to it modulo 10 (CAS, "Check Digit Verification of CAS Registry Numbers").
pub(super) fn is_cas_number(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let [first, middle, check] = parts[..] else {
        return false;
    };
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    if !(2..=7).contains(&first.len()) || middle.len() != 2 || check.len() != 1 {
        return false;
    }
    if ![first, middle, check].iter().all(|s| digits(s)) {
        return false;
    }
    let sum: u32 = first
        .bytes()
        .chain(middle.bytes())
        .rev()
        .zip(1..)
        .map(|(digit, weight)| u32::from(digit - b'0') * weight)
        .sum();
    sum % 10 == u32::from(check.as_bytes()[0] - b'0')
}
