//! One candidate: which fuel ratios reach the goal, and which is suggested.

use super::candidate::{Fuels, LeftOut};
use super::choice::{Candidate, Suggestion};
use super::error::ChooseError;
use super::goal::{Goal, Verdict};
use super::judge;
use super::pick::pick;
use super::reach::{reach, scan};
use crate::advice::mixture_stops;
use crate::batch::Batch;
use crate::burn::{Burner, Heating, StateResult};
use crate::enthalpy::{WaterState, WaterStateName, water_states};
use crate::equilibrium::System;
use crate::expected::{Draw, Expectation, Expected};
use crate::quantity::units::ratio;
use crate::quantity::{Energy, Ratio};
use crate::tables::{Reactant, Tables};
use crate::vary::{Point, VaryError};
use rayon::prelude::*;

/// What is the same for every candidate.
pub(super) struct Search<'a> {
    pub(super) batch: &'a Batch,
    pub(super) goal: &'a Goal,
    pub(super) tables: &'a Tables,
}

type Heat = fn(&Batch, &Tables) -> Heating;

/// The burns of one batch that an expectation rests on.
struct Burns<'t> {
    heating: Heating,
    states: Vec<StateResult>,
    system: System<'t>,
}

impl<'t> Search<'t> {
    /// The candidates of a list after a coarse course of heating, in its order; those that do not
    /// burn go to `failed`.
    pub(super) fn all(&self, list: Vec<Fuels>, failed: &mut Vec<LeftOut>) -> Vec<Candidate> {
        let results: Vec<_> = list
            .into_par_iter()
            .map(|fuels| {
                let name = fuels.name();
                self.candidate(fuels, Heating::coarse)
                    .map_err(|error| LeftOut {
                        fuel: name,
                        reason: error.to_string(),
                    })
            })
            .collect();
        let mut candidates = Vec::new();
        for result in results {
            match result {
                Ok(candidate) => candidates.push(candidate),
                Err(reason) => failed.push(reason),
            }
        }
        candidates
    }

    /// The batch with other fuels, at φ = 1.
    fn with(&self, fuels: &Fuels) -> Result<Batch, ChooseError> {
        let one = Ratio::new::<ratio>(1.0);
        if fuels.of_the_file {
            return Ok(self.batch.with_equivalence_ratio(one)?);
        }
        let parts: Vec<(&Reactant, f64)> = fuels
            .parts
            .iter()
            .map(|(fuel, share)| (fuel, *share))
            .collect();
        let changed = self.batch.with_fuels(&parts, one);
        Ok(changed.map_err(VaryError::from)?)
    }

    /// The burns of `batch` after `heating`.
    fn burns(&self, batch: &Batch, heating: Heating) -> Result<Burns<'t>, ChooseError> {
        let mut burner = Burner::new(batch, self.tables).map_err(VaryError::from)?;
        let states = water_states(batch, None)
            .iter()
            .filter(|state| state.name != WaterStateName::AtIgnition)
            .map(|state| burner.burn(state))
            .collect::<Result<Vec<_>, _>>()
            .map_err(VaryError::from)?;
        Ok(Burns {
            heating,
            states,
            system: burner.into_system(),
        })
    }

    /// A candidate whose batch is heated by `heat`.
    fn candidate(&self, fuels: Fuels, heat: Heat) -> Result<Candidate, ChooseError> {
        let batch = self.with(&fuels)?;
        let stops = mixture_stops(&batch, &self.tables.safety);
        if !stops.is_empty() {
            return Err(VaryError::Refused { stops }.into());
        }
        let burns = self.burns(&batch, heat(&batch, self.tables))?;
        let mut expectation = Expectation::new(&batch, &burns.heating, &burns.states, self.tables)?;
        let search = &self.tables.phases.ranking.search;
        let most = self.goal.largest_ratio(self.batch, search);
        let scan = scan(&mut expectation, search, most)?;
        let reach = reach(&mut expectation, &scan, self.goal.least, self.goal.safe);
        let product =
            crate::product::expected_product(&batch, self.tables).map_err(VaryError::from)?;
        let picked = pick(&mut expectation, &scan, self.goal, &product, self.tables);
        let phi = Ratio::new::<ratio>(picked.phi);
        let suggested = batch.with_equivalence_ratio(phi)?;
        let stored = burns.heating.ignites().map(|course| course.stored_heat);
        let burning = (&picked.draw, stored.unwrap_or_default());
        let point = self.point(&suggested, burning, burns.system)?;
        let phases = &self.tables.phases;
        let temperature = picked.draw.peak;
        let mut suggestion = Suggestion {
            ratio: phi,
            why: picked.why,
            batch: suggested,
            point,
            temperature,
            expected: None,
            other_phases: picked.other_phases,
        };
        // Rounding of the balance must not change the ratio that is shown.
        suggestion.point.equivalence_ratio = phi;
        let criteria = judge::judge(self.goal, &fuels, &suggestion, phases);
        Ok(Candidate {
            score: judge::score(&criteria),
            verdict: self.verdict(&suggestion),
            suggestion,
            reach,
            criteria,
            fuels,
        })
    }

    /// The burn of `batch` with the water, fuel, start, loss and air of `draw`, and the heat that
    /// heating stored in what stays of the fuel.
    fn point(
        &self,
        batch: &Batch,
        (draw, stored): (&Draw, Energy),
        system: System<'t>,
    ) -> Result<Point, ChooseError> {
        let one = Ratio::new::<ratio>(1.0);
        let mut left = batch.with_fuels_scaled((one - draw.fuel_lost).get::<ratio>());
        left.conditions.start = draw.start;
        left.conditions.external_heat += stored;
        left.conditions.heat_loss = draw.heat_lost;
        left.conditions.air_drawn_in = draw.air;
        let state: WaterState = crate::enthalpy::with_share_left(batch, draw.water_left);
        let mut burner =
            Burner::with_system(&left, system, self.tables).map_err(VaryError::from)?;
        let result = burner.burn(&state).map_err(VaryError::from)?;
        let redox = batch.redox()?;
        Ok(
            Point::of(batch, &redox, burner.product(), &result, self.tables)
                .map_err(VaryError::from)?,
        )
    }

    /// Works out a candidate in full, with the whole expectation of its suggestion, and judges it by
    /// that.
    pub(super) fn expect(&self, candidate: &mut Candidate) -> Result<(), ChooseError> {
        *candidate = self.candidate(candidate.fuels.clone(), Heating::of)?;
        let expected = self.expected(&candidate.suggestion.batch)?;
        candidate.suggestion.temperature = expected.temperature;
        candidate.suggestion.expected = Some(expected);
        self.judge(candidate);
        Ok(())
    }

    fn judge(&self, candidate: &mut Candidate) {
        let phases = &self.tables.phases;
        let suggestion = &candidate.suggestion;
        candidate.criteria = judge::judge(self.goal, &candidate.fuels, suggestion, phases);
        candidate.score = judge::score(&candidate.criteria);
        candidate.verdict = self.verdict(suggestion);
    }

    fn verdict(&self, suggestion: &Suggestion) -> Verdict {
        let (temperature, point) = (suggestion.temperature, &suggestion.point);
        self.goal
            .verdict(temperature, point, &suggestion.other_phases)
    }

    /// The expected burn of a batch, as it is made ready by itself.
    fn expected(&self, batch: &Batch) -> Result<Expected, ChooseError> {
        let burns = self.burns(batch, Heating::of(batch, self.tables))?;
        Ok(Expectation::new(batch, &burns.heating, &burns.states, self.tables)?.expected())
    }

    /// Expected peak of the middle of every band, with another start.
    pub(super) fn middle_peak(
        &self,
        batch: &Batch,
    ) -> Option<crate::quantity::ThermodynamicTemperature> {
        let burns = self.burns(batch, Heating::NotStated).ok()?;
        let ready = Expectation::new(batch, &burns.heating, &burns.states, self.tables);
        ready.ok()?.middle(1.0).peak
    }
}
