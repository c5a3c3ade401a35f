//! Turning a row of `tables/species/*.toml` into a [`Species`].

use super::cited::Cited;
use super::curve::{Curve, Piece};
use super::error::{Fault, TableError};
use super::species::{HeatCapacityKind, Next, Origin, Phase, Species};
use super::species_file::{OwnOrShared, PieceForm, PieceRow, Placed};
use super::species_list::SpeciesList;
use super::unit::{JoulePerMoleKelvin, Kelvin, KilojoulePerMole, Unit};
use crate::quantity::units::{
    joule_per_kelvin_mole, joule_per_mole, kelvin, kilojoule_per_mole, ratio,
};
use crate::quantity::{
    MolarEnergy, MolarEntropy, REFERENCE_TEMPERATURE, Ratio, ThermodynamicTemperature,
};
use crate::source::Seen;
use std::sync::Arc;

impl Placed {
    /// The species of this row; those that it rests on are worked out.
    pub(super) fn species(&self, done: &SpeciesList) -> Result<Species, TableError> {
        let row = &self.row;
        self.check_components(done)?;
        let parts: Vec<(f64, &Species)> = row
            .components
            .iter()
            .filter_map(|(id, n)| Some((*n, done.get(id)?)))
            .collect();
        let origin = self.origin()?;
        let from_components = self.cited(row.enthalpy_from_components.as_ref())?;
        let stated_enthalpy = self.cited(row.formation_enthalpy.as_ref())?;
        let formation_enthalpy = match (stated_enthalpy, &from_components) {
            (Some(stated), _) => Some(stated),
            (None, Some(step)) => Some(self.sum_enthalpy(step, &parts)?),
            (None, None) => None,
        };
        let entropy = match self.cited(row.entropy.as_ref())? {
            Some(stated) => Some(stated),
            None if formation_enthalpy.is_some() && !parts.is_empty() => {
                let step = self.cited(row.entropy_from_components.as_ref())?;
                Some(self.sum_entropy(step, &parts)?)
            }
            None => None,
        };
        let melting_point = self.cited(row.melting_point.as_ref())?;
        let (curve, kind) = self.curve(
            done,
            formation_enthalpy.as_ref(),
            entropy.as_ref(),
            melting_point.as_ref(),
            &parts,
        )?;
        let band = row.cp_band.unwrap_or(match kind {
            HeatCapacityKind::Own => self.from.bands.own,
            _ => self.from.bands.estimated,
        });
        // a crystal made from a lower form names the transition where a melt names its melting point
        let turned_from_another_crystal = row.melt_of.is_some() && row.phase == Phase::Crystal;
        let stated_band = row
            .formation_enthalpy
            .as_ref()
            .or(row.enthalpy_from_components.as_ref());
        let species = Species {
            id: row.id.clone(),
            formula: row.formula.clone(),
            phase: row.phase,
            names: row.names.clone(),
            band_is_assessed: stated_band.is_some_and(|v| v.uncertainty.is_none()),
            formation_enthalpy,
            entropy,
            enthalpy_from_components: from_components,
            components: row.components.clone().into_iter().collect(),
            heat_capacity_origin: origin,
            heat_capacity_kind: kind,
            heat_capacity_uncertainty: Ratio::new::<ratio>(band),
            next: self.next(done)?,
            melting_point: melting_point.filter(|_| !turned_from_another_crystal),
            no_liquid_data: row.phase == Phase::Crystal && !done.melts(&row.formula),
            doubt: row.doubt.clone(),
            note: row.note.clone(),
            lower_limit: row.usable_from_k.unwrap_or(curve.range().0),
            upper_limit: row.usable_to_k,
            curve: Arc::new(curve),
        };
        super::species_check::check(&species).map_err(|fault| self.error(fault))?;
        Ok(species)
    }

    /// The components hold the same elements as the formula.
    fn check_components(&self, done: &SpeciesList) -> Result<(), TableError> {
        if self.row.components.is_empty() {
            return Ok(());
        }
        let mut left = self.row.formula.amounts().clone();
        for (id, n) in &self.row.components {
            let part = done
                .get(id.as_str())
                .ok_or_else(|| self.error(Fault::Reference(id.clone())))?;
            for (element, amount) in part.formula.amounts() {
                *left.entry(*element).or_insert(0.0) -= n * amount;
            }
        }
        // 1e-4: thirds and sixths are written with six digits
        match left.into_iter().find(|(_, rest)| rest.abs() > 1e-4) {
            None => Ok(()),
            Some((element, rest)) => {
                let quantity = format!("{element} left over after the components");
                Err(self.error(Fault::value(quantity, rest, "it has to be 0")))
            }
        }
    }

    fn origin(&self) -> Result<Origin, TableError> {
        let stated = self.row.cp_from.as_ref().or(self.row.from.as_ref());
        let missing = || self.incomplete("lacks the source of its heat capacity");
        stated.cloned().ok_or_else(missing)
    }

    /// A value with its own source or that of its row.
    fn cited<U: Unit>(
        &self,
        stated: Option<&OwnOrShared<U>>,
    ) -> Result<Option<Cited<U>>, TableError> {
        let Some(stated) = stated else {
            return Ok(None);
        };
        let from = self.row.from.as_ref();
        let source = stated.source.as_ref().or(from.map(|from| &from.source));
        let locator = stated.at.as_ref().or(from.map(|from| &from.locator));
        let seen = stated.seen.or(from.map(|from| from.seen));
        let (Some(source), Some(locator), Some(seen)) = (source, locator, seen) else {
            return Err(
                self.incomplete("has a value without a source, a locator or how it was seen")
            );
        };
        let plausible = super::cited::plausible::<U>(stated.value);
        Ok(Some(Cited {
            value: plausible.map_err(|message| self.error(Fault::Written(message)))?,
            uncertainty: stated.uncertainty.or(stated.assessed).map(U::difference),
            source: source.clone(),
            locator: locator.clone(),
            seen,
        }))
    }

    /// Formation enthalpy from the elements = that from the components + theirs.
    fn sum_enthalpy(
        &self,
        step: &Cited<KilojoulePerMole>,
        parts: &[(f64, &Species)],
    ) -> Result<Cited<KilojoulePerMole>, TableError> {
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
        Ok(Cited {
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
        step: Option<Cited<JoulePerMoleKelvin>>,
        parts: &[(f64, &Species)],
    ) -> Result<Cited<JoulePerMoleKelvin>, TableError> {
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
        Ok(Cited {
            value: MolarEntropy::new::<joule_per_kelvin_mole>(total),
            uncertainty: Some(MolarEntropy::new::<joule_per_kelvin_mole>(share * total)),
            source: step.as_ref().map_or(origin.source, |v| v.source.clone()),
            locator: step.map_or("sum of the components".to_owned(), |v| v.locator),
            seen: Seen::Estimated,
        })
    }

    fn curve(
        &self,
        done: &SpeciesList,
        enthalpy: Option<&Cited<KilojoulePerMole>>,
        entropy: Option<&Cited<JoulePerMoleKelvin>>,
        melting: Option<&Cited<Kelvin>>,
        parts: &[(f64, &Species)],
    ) -> Result<(Curve, HeatCapacityKind), TableError> {
        let t0 = REFERENCE_TEMPERATURE;
        let anchor = enthalpy.zip(entropy).map(|(h, s)| {
            let h = h.value.get::<joule_per_mole>();
            (t0, h, s.value.get::<joule_per_kelvin_mole>())
        });
        if let Some(crystal) = &self.row.melt_of {
            let crystal = done
                .get(crystal)
                .ok_or_else(|| self.error(Fault::Reference(crystal.clone())))?;
            return self.melt(crystal, melting);
        }
        if let Some(pieces) = &self.row.cp {
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
        let plus = self.row.cp_plus.unwrap_or(0.0);
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
        melting: Option<&Cited<Kelvin>>,
    ) -> Result<(Curve, HeatCapacityKind), TableError> {
        let t = melting
            .ok_or_else(|| self.incomplete("needs a `melting_point`"))?
            .value
            .get::<kelvin>();
        let fusion = self.row.fusion_enthalpy.as_ref();
        let fusion = fusion.ok_or_else(|| self.incomplete("needs a `fusion_enthalpy`"))?;
        let fusion = MolarEnergy::new::<kilojoule_per_mole>(fusion.value).get::<joule_per_mole>();
        let state = (
            t,
            crystal.curve.h(t) + fusion,
            crystal.curve.s(t) + fusion / t,
        );
        match &self.row.cp {
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
        rows: &[PieceRow],
        anchor: Option<(f64, f64, f64)>,
    ) -> Result<Vec<Piece>, TableError> {
        let mut state = anchor;
        let mut pieces = Vec::with_capacity(rows.len());
        for part in rows {
            let wrong = || {
                self.error(Fault::value(
                    format!("number of coefficients from {} K", part.from),
                    part.c.len() as f64,
                    "nine_term takes 9 (with b1 and b2), six_term takes 5",
                ))
            };
            let piece = match part.form {
                PieceForm::NineTerm => {
                    let c: &[f64; 9] = part.c.as_slice().try_into().map_err(|_| wrong())?;
                    let powers = [c[0], c[1], c[2], c[3], c[4], c[5], c[6]];
                    Piece::nine_term(part.from, part.to, powers, c[7], c[8])
                }
                PieceForm::SixTerm => {
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

    fn next(&self, done: &SpeciesList) -> Result<Option<Next>, TableError> {
        let Some(next) = &self.row.next else {
            return Ok(None);
        };
        if !done.has(&next.id) {
            return Err(self.error(Fault::Reference(next.id.clone())));
        }
        Ok(Some(Next {
            id: next.id.clone(),
            temperature: ThermodynamicTemperature::new::<kelvin>(next.at_k),
        }))
    }

    fn incomplete(&self, missing: &'static str) -> TableError {
        self.error(Fault::incomplete(missing))
    }
}
