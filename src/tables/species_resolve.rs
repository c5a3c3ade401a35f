//! Turning the rows of `tables/species/*.toml` into [`Species`], those that rest on others last.

use super::curve::{Curve, Piece};
use super::error::TableError;
use super::species::{HeatCapacityKind, Next, Origin, Phase, Species};
use super::species_file::{RawForm, RawPhase, RawPiece, RawValue, Row};
use crate::formula::Formula;
use crate::quantity::{
    MolarEnergy, MolarEntropy, REFERENCE_TEMPERATURE, Ratio, ThermodynamicTemperature,
};
use crate::source::{Bibliography, Seen, Sourced};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::kelvin;

/// The species that are resolved so far, in the order of their rows.
struct Resolved<'a> {
    index: BTreeMap<&'a str, usize>,
    species: Vec<Option<Species>>,
}

impl Resolved<'_> {
    fn get(&self, id: &str) -> Option<&Species> {
        self.index.get(id).and_then(|at| self.species[*at].as_ref())
    }
}

/// Turns rows into species, those that rest on others after them.
pub(super) fn resolve(rows: &[Row], sources: &Bibliography) -> Result<Vec<Species>, TableError> {
    let index = rows
        .iter()
        .enumerate()
        .map(|(at, row)| (row.raw.id.as_str(), at))
        .collect();
    let mut done = Resolved {
        index,
        species: vec![None; rows.len()],
    };
    let mut waiting: Vec<usize> = (0..rows.len()).collect();
    while !waiting.is_empty() {
        let mut later = Vec::new();
        for at in &waiting {
            let row = &rows[*at];
            if row.missing(&done).is_none() {
                done.species[*at] = Some(row.species(&done, sources)?);
            } else {
                later.push(*at);
            }
        }
        if later.len() == waiting.len() {
            let row = &rows[later[0]];
            let other = row.missing(&done).unwrap_or_default().to_owned();
            return Err(row.place.reference(&row.raw.id, &other));
        }
        waiting = later;
    }
    let mut species: Vec<Species> = done.species.into_iter().flatten().collect();
    mark_missing_liquids(&mut species);
    Ok(species)
}

/// Sets `no_liquid_data` for the crystals of compounds that have no liquid in the tables.
fn mark_missing_liquids(species: &mut [Species]) {
    let molten: BTreeSet<String> = species
        .iter()
        .filter(|s| s.phase == Phase::Liquid)
        .map(|s| s.formula.to_string())
        .collect();
    for s in species.iter_mut().filter(|s| s.phase == Phase::Crystal) {
        s.no_liquid_data = !molten.contains(&s.formula.to_string());
    }
}

impl Row {
    /// The first species this one rests on that is not there yet.
    fn missing<'a>(&'a self, done: &Resolved) -> Option<&'a str> {
        let melt = self.raw.melt_of.iter();
        self.raw
            .components
            .keys()
            .chain(melt)
            .map(String::as_str)
            .find(|id| done.get(id).is_none())
    }

    fn species(&self, done: &Resolved, sources: &Bibliography) -> Result<Species, TableError> {
        let raw = &self.raw;
        let id = &raw.id;
        let formula = Formula::parse(&raw.formula).map_err(|source| TableError::Formula {
            file: self.place.file.clone(),
            line: self.place.line,
            id: id.clone(),
            source,
        })?;
        self.check_components(&formula, done)?;
        let parts: Vec<(f64, &Species)> = raw
            .components
            .iter()
            .filter_map(|(id, n)| Some((*n, done.get(id)?)))
            .collect();
        let origin = self.origin()?;
        let from_components = self.energy(raw.enthalpy_from_components.as_ref())?;
        let stated_enthalpy = self.energy(raw.formation_enthalpy.as_ref())?;
        let formation_enthalpy = match (&stated_enthalpy, &from_components) {
            (Some(stated), _) => Some(stated.clone()),
            (None, Some(step)) => Some(self.sum_enthalpy(step, &parts)?),
            (None, None) => None,
        };
        let entropy = match self.entropy_value(raw.entropy.as_ref())? {
            Some(stated) => Some(stated),
            None if formation_enthalpy.is_some() && !parts.is_empty() => {
                let step = self.entropy_value(raw.entropy_from_components.as_ref())?;
                Some(self.sum_entropy(step, &parts)?)
            }
            None => None,
        };
        let melting_point = self.temperature(raw.melting_point.as_ref())?;
        let (curve, kind) = self.curve(
            done,
            formation_enthalpy.as_ref(),
            entropy.as_ref(),
            melting_point.as_ref(),
            &parts,
        )?;
        let next = self.next(done)?;
        let used = [
            formation_enthalpy.as_ref().map(|v| &v.source),
            entropy.as_ref().map(|v| &v.source),
        ];
        for key in used.into_iter().flatten().chain([&origin.source]) {
            self.place.check_source(id, key, sources)?;
        }
        for value in [
            &raw.fusion_enthalpy,
            &raw.melting_point,
            &raw.enthalpy_from_components,
        ] {
            if let Some(key) = value.as_ref().and_then(|v| v.source.as_ref()) {
                self.place.check_source(id, key, sources)?;
            }
        }
        let (own, estimated) = self.bands;
        let of_kind = if kind == HeatCapacityKind::Own {
            own
        } else {
            estimated
        };
        let band = raw.cp_band.unwrap_or(of_kind);
        // a crystal made from a lower form names the transition where a melt names its melting point
        let turned_from_another_crystal =
            raw.melt_of.is_some() && matches!(raw.phase, RawPhase::Crystal);
        let species = Species {
            id: id.clone(),
            formula,
            phase: match raw.phase {
                RawPhase::Gas => Phase::Gas,
                RawPhase::Liquid => Phase::Liquid,
                RawPhase::Crystal => Phase::Crystal,
            },
            form: raw.form.clone(),
            names: raw.names.clone(),
            band_is_assessed: raw
                .formation_enthalpy
                .as_ref()
                .or(raw.enthalpy_from_components.as_ref())
                .is_some_and(|v| v.uncertainty.is_none()),
            formation_enthalpy,
            entropy,
            enthalpy_from_components: from_components,
            components: raw
                .components
                .iter()
                .map(|(id, n)| (id.clone(), *n))
                .collect(),
            heat_capacity_origin: origin,
            heat_capacity_kind: kind,
            heat_capacity_uncertainty: Ratio::new::<ratio>(band),
            next,
            melting_point: melting_point.filter(|_| !turned_from_another_crystal),
            no_liquid_data: false,
            doubt: raw.doubt.clone(),
            note: raw.note.clone(),
            lower_limit: raw.usable_from_k.unwrap_or(curve.range().0),
            upper_limit: raw.usable_to_k,
            curve: Arc::new(curve),
        };
        super::species_check::check(&species, &self.place)?;
        Ok(species)
    }

    /// The components hold the same elements as the formula.
    fn check_components(&self, formula: &Formula, done: &Resolved) -> Result<(), TableError> {
        if self.raw.components.is_empty() {
            return Ok(());
        }
        let mut left = formula.amounts().clone();
        for (id, n) in &self.raw.components {
            let part = done
                .get(id.as_str())
                .ok_or_else(|| self.place.reference(&self.raw.id, id))?;
            for (element, amount) in part.formula.amounts() {
                *left.entry(*element).or_insert(0.0) -= n * amount;
            }
        }
        // 1e-4: thirds and sixths are written with six digits
        match left.into_iter().find(|(_, rest)| rest.abs() > 1e-4) {
            None => Ok(()),
            Some((element, rest)) => Err(self.place.value(
                &self.raw.id,
                format!("{element} left over after the components"),
                rest,
                "it has to be 0",
            )),
        }
    }

    fn origin(&self) -> Result<Origin, TableError> {
        let raw = self.raw.cp_from.as_ref().or(self.raw.from.as_ref());
        let raw = raw.ok_or_else(|| self.incomplete("lacks the source of its heat capacity"))?;
        Ok(Origin {
            source: raw.source.clone(),
            locator: raw.at.clone(),
            seen: raw.seen,
        })
    }

    fn sourced(&self, raw: &RawValue) -> Result<Sourced<f64>, TableError> {
        let from = self.raw.from.as_ref();
        let source = raw
            .source
            .clone()
            .or_else(|| from.map(|f| f.source.clone()));
        let source = source.ok_or_else(|| self.incomplete("has a value without a source"))?;
        let at = raw.at.clone().or_else(|| from.map(|f| f.at.clone()));
        let seen = raw.seen.or_else(|| from.map(|f| f.seen));
        Ok(Sourced {
            value: raw.value,
            uncertainty: raw.uncertainty.or(raw.assessed),
            source,
            locator: at.ok_or_else(|| self.incomplete("has a value without a locator"))?,
            seen: seen
                .ok_or_else(|| self.incomplete("has a value that does not say how it was seen"))?,
        })
    }

    fn energy(&self, raw: Option<&RawValue>) -> Result<Option<Sourced<MolarEnergy>>, TableError> {
        let value = raw.map(|v| self.sourced(v)).transpose()?;
        Ok(value.map(|v| v.map(MolarEnergy::new::<kilojoule_per_mole>)))
    }

    fn entropy_value(
        &self,
        raw: Option<&RawValue>,
    ) -> Result<Option<Sourced<MolarEntropy>>, TableError> {
        let value = raw.map(|v| self.sourced(v)).transpose()?;
        Ok(value.map(|v| v.map(MolarEntropy::new::<joule_per_kelvin_mole>)))
    }

    fn temperature(
        &self,
        raw: Option<&RawValue>,
    ) -> Result<Option<Sourced<ThermodynamicTemperature>>, TableError> {
        let value = raw.map(|v| self.sourced(v)).transpose()?;
        Ok(value.map(|v| v.map(ThermodynamicTemperature::new::<kelvin>)))
    }

    /// Formation enthalpy from the elements = that from the components + theirs.
    fn sum_enthalpy(
        &self,
        step: &Sourced<MolarEnergy>,
        parts: &[(f64, &Species)],
    ) -> Result<Sourced<MolarEnergy>, TableError> {
        let mut total = step.value.get::<kilojoule_per_mole>();
        let mut square = step
            .uncertainty
            .map_or(0.0, |u| u.get::<kilojoule_per_mole>().powi(2));
        for (n, part) in parts {
            let value = part.formation_enthalpy.as_ref().ok_or_else(|| {
                self.incomplete("has a component without a formation enthalpy at 298.15 K")
            })?;
            total += n * value.value.get::<kilojoule_per_mole>();
            square += value
                .uncertainty
                .map_or(0.0, |u| (n * u.get::<kilojoule_per_mole>()).powi(2));
        }
        Ok(Sourced {
            value: MolarEnergy::new::<kilojoule_per_mole>(total),
            uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(square.sqrt())),
            source: step.source.clone(),
            locator: format!("{}; added to the components of these tables", step.locator),
            seen: step.seen.max(Seen::Computed),
        })
    }

    /// Entropy as the sum over the components plus a step, which is 0 unless given.
    fn sum_entropy(
        &self,
        step: Option<Sourced<MolarEntropy>>,
        parts: &[(f64, &Species)],
    ) -> Result<Sourced<MolarEntropy>, TableError> {
        let mut total = step
            .as_ref()
            .map_or(0.0, |v| v.value.get::<joule_per_kelvin_mole>());
        for (n, part) in parts {
            let value = part
                .entropy
                .as_ref()
                .ok_or_else(|| self.incomplete("has a component without an entropy at 298.15 K"))?;
            total += n * value.value.get::<joule_per_kelvin_mole>();
        }
        let origin = self.origin()?;
        // Assumed: the entropy of formation of oxides from oxides is mostly within ±5 % of the
        // sum; the same share is the band.
        let share = 0.05;
        Ok(Sourced {
            value: MolarEntropy::new::<joule_per_kelvin_mole>(total),
            uncertainty: Some(MolarEntropy::new::<joule_per_kelvin_mole>(share * total)),
            source: step.as_ref().map_or(origin.source, |v| v.source.clone()),
            locator: step.map_or("sum of the components".to_owned(), |v| v.locator),
            seen: Seen::Estimated,
        })
    }

    fn curve(
        &self,
        done: &Resolved,
        enthalpy: Option<&Sourced<MolarEnergy>>,
        entropy: Option<&Sourced<MolarEntropy>>,
        melting: Option<&Sourced<ThermodynamicTemperature>>,
        parts: &[(f64, &Species)],
    ) -> Result<(Curve, HeatCapacityKind), TableError> {
        let t0 = REFERENCE_TEMPERATURE;
        let anchor = enthalpy.zip(entropy).map(|(h, s)| {
            let h = h.value.get::<uom::si::molar_energy::joule_per_mole>();
            (t0, h, s.value.get::<joule_per_kelvin_mole>())
        });
        if let Some(crystal) = &self.raw.melt_of {
            let crystal = done
                .get(crystal)
                .ok_or_else(|| self.place.reference(&self.raw.id, crystal))?;
            return self.melt(crystal, melting);
        }
        if let Some(pieces) = &self.raw.cp {
            return Ok((
                Curve::Pieces(self.pieces(pieces, anchor)?),
                HeatCapacityKind::Own,
            ));
        }
        let (t, h, s) =
            anchor.ok_or_else(|| self.incomplete("needs a formation enthalpy and an entropy"))?;
        if parts.is_empty() {
            return Err(self.incomplete("needs `cp` or `components`"));
        }
        let of = parts
            .iter()
            .map(|(n, part)| (*n, Arc::clone(&part.curve)))
            .collect();
        let plus = self.raw.cp_plus.unwrap_or(0.0);
        Ok((
            Curve::sum(of, plus, t, h, s),
            HeatCapacityKind::SumOfComponents,
        ))
    }

    /// A melt: the crystal's state at the melting point plus the fusion step, then its own
    /// heat capacity or, as an estimate, that of the crystal at the melting point.
    fn melt(
        &self,
        crystal: &Species,
        melting: Option<&Sourced<ThermodynamicTemperature>>,
    ) -> Result<(Curve, HeatCapacityKind), TableError> {
        let t = melting
            .ok_or_else(|| self.incomplete("needs a `melting_point`"))?
            .value
            .get::<kelvin>();
        let fusion = self.raw.fusion_enthalpy.as_ref();
        let fusion = fusion.ok_or_else(|| self.incomplete("needs a `fusion_enthalpy`"))?;
        let fusion = MolarEnergy::new::<kilojoule_per_mole>(fusion.value)
            .get::<uom::si::molar_energy::joule_per_mole>();
        let state = (
            t,
            crystal.curve.h(t) + fusion,
            crystal.curve.s(t) + fusion / t,
        );
        match &self.raw.cp {
            Some(pieces) => Ok((
                Curve::Pieces(self.pieces(pieces, Some(state))?),
                HeatCapacityKind::Own,
            )),
            None => {
                let c = [crystal.curve.cp(t), 0.0, 0.0, 0.0, 0.0];
                // the data "end" 300 K above the melting point: beyond it is extrapolation
                let piece = Piece::six_term(t, t + 300.0, c, t, state.1, state.2);
                Ok((Curve::Pieces(vec![piece]), HeatCapacityKind::FromCrystal))
            }
        }
    }

    fn pieces(
        &self,
        raw: &[RawPiece],
        anchor: Option<(f64, f64, f64)>,
    ) -> Result<Vec<Piece>, TableError> {
        let mut state = anchor;
        let mut pieces = Vec::with_capacity(raw.len());
        for part in raw {
            let wrong = || {
                self.place.value(
                    &self.raw.id,
                    format!("number of coefficients from {} K", part.from),
                    part.c.len() as f64,
                    "nine_term takes 9 (with b1 and b2), six_term takes 5",
                )
            };
            let piece = match part.form {
                RawForm::NineTerm => {
                    let c: &[f64; 9] = part.c.as_slice().try_into().map_err(|_| wrong())?;
                    let powers = [c[0], c[1], c[2], c[3], c[4], c[5], c[6]];
                    Piece::nine_term(part.from, part.to, powers, c[7], c[8])
                }
                RawForm::SixTerm => {
                    let c: [f64; 5] = part.c.as_slice().try_into().map_err(|_| wrong())?;
                    let (t, h, s) = state.ok_or_else(|| {
                        self.incomplete(
                            "has a six_term piece but no formation enthalpy and entropy",
                        )
                    })?;
                    Piece::six_term(part.from, part.to, c, t, h, s)
                }
            };
            state = Some((part.to, piece.h(part.to), piece.s(part.to)));
            pieces.push(piece);
        }
        if pieces.is_empty() {
            return Err(self.incomplete("has an empty `cp`"));
        }
        Ok(pieces)
    }

    fn next(&self, done: &Resolved) -> Result<Option<Next>, TableError> {
        let Some(next) = &self.raw.next else {
            return Ok(None);
        };
        if !done.index.contains_key(next.id.as_str()) {
            return Err(self.place.reference(&self.raw.id, &next.id));
        }
        Ok(Some(Next {
            id: next.id.clone(),
            temperature: ThermodynamicTemperature::new::<kelvin>(next.at_k),
        }))
    }

    fn incomplete(&self, missing: &'static str) -> TableError {
        TableError::Incomplete {
            file: self.place.file.clone(),
            line: self.place.line,
            id: self.raw.id.clone(),
            missing,
        }
    }
}
