//! Product species: what a burn can leave or give off, with H(T), S(T) and where they come from.
//!
//! Enthalpies count from the elements at 298.15 K, entropies from 0 K, and the standard state is
//! 1 bar, so that G = H − T S serves equilibrium between all of them.
//!
//! # How far a species may be used
//!
//! The data of a species end somewhere; the balance must not. [`Species::usable`] says
//! where the public functions and the equilibrium may use it:
//!
//! * a **gas** from 200 to 6000 K;
//! * a **condensed phase that turns into another one of the tables** (a polymorph, the liquid) up
//!   to 50 K above that temperature, and the phase it turns into from 50 K below it: in the
//!   overlap both are there and the lower Gibbs energy decides, so that the transition comes out
//!   where the two curves cross;
//! * a **condensed phase without such a successor** up to 6000 K. It is carried on with the last
//!   heat capacity, since leaving it out would leave its metal nowhere to go.
//!   [`Species::is_extrapolated`] tells when that happens, and [`Species::no_liquid_data`] whether
//!   a melt is missing: the report then says that the heat of fusion is not in the balance and
//!   that the temperature is too high for it.
//! * a **metastable form** up to the temperature the tables set for it (`usable_to_k`, `usable_from_k`);
//! * data that start at 298.15 K serve down to 200 K, with the heat capacity of 298.15 K.

use super::cited::Cited;
use super::curve::Curve;
use super::unit::{JoulePerMoleKelvin, Kelvin, KilojoulePerMole};
use crate::formula::{Element, Formula};
use crate::quantity::units::{joule_per_kelvin_mole, joule_per_mole, kelvin, kelvins};
use crate::quantity::{
    MolarEnergy, MolarHeatCapacity, REFERENCE_TEMPERATURE, Ratio, ThermodynamicTemperature,
};
use crate::source::{Seen, SourceId};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::sync::Arc;
use thiserror::Error;

/// Width of the overlap of two phases about their transition, in K. Assumed: wide enough for a
/// solver to see the curves cross, narrow enough that the stable one stays the lower one.
const OVERLAP: f64 = 50.0;
/// Lowest temperature at which anything is used, in K: the nine-term fits of gases start there.
const COLDEST: f64 = 200.0;
/// Highest temperature at which anything is used, in K: most nine-term fits end there.
const HOTTEST: f64 = 6000.0;

/// State of aggregation, by the IUPAC letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize)]
pub enum Phase {
    /// Ideal gas at 1 bar, `g`.
    #[serde(rename = "g")]
    Gas,
    /// Liquid, `l`.
    #[serde(rename = "l")]
    Liquid,
    /// Crystal, `cr`.
    #[serde(rename = "cr")]
    Crystal,
}

impl Phase {
    /// Solid or liquid.
    pub fn is_condensed(self) -> bool {
        self != Self::Gas
    }
}

impl fmt::Display for Phase {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.serialize(f)
    }
}

/// Where a set of numbers that is not one value (a heat-capacity equation) comes from.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Origin {
    /// Key of the source in the bibliography.
    pub source: SourceId,
    /// Page, table, equation or method.
    #[serde(rename = "at")]
    pub locator: String,
    /// How it was found.
    pub seen: Seen,
}

/// How the heat capacity of a species is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HeatCapacityKind {
    /// An equation for this very phase.
    Own,
    /// The sum of the component oxides' heat capacities (Kopp–Neumann), an estimate.
    SumOfComponents,
    /// Taken over from the crystal of the same compound, an estimate for a melt.
    FromCrystal,
}

/// What a phase turns into on heating.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    /// The [`Species::id`] of the phase above.
    pub id: String,
    /// Temperature of the transition or of melting, as the source gives it.
    pub temperature: ThermodynamicTemperature,
}

/// One gas or one condensed phase.
#[derive(Debug, Clone)]
pub struct Species {
    /// Name in the tables: `CO2`, `Al2O3(l)`, `Al2O3(cr,alpha)`.
    pub id: String,
    /// Composition.
    pub formula: Formula,
    /// State of aggregation.
    pub phase: Phase,
    /// Other names (minerals, common names).
    pub names: Vec<String>,
    /// Formation enthalpy Δ_fH° from the elements at 298.15 K. Absent for a form that exists only
    /// at high temperature; its H(T) then comes from [`Species::heat_capacity_origin`].
    pub formation_enthalpy: Option<Cited<KilojoulePerMole>>,
    /// Whether the band of the formation enthalpy was assessed here, the source giving none.
    pub band_is_assessed: bool,
    /// Entropy S° at 298.15 K. Absent as for the formation enthalpy.
    pub entropy: Option<Cited<JoulePerMoleKelvin>>,
    /// Formation enthalpy from the [`Species::components`], where that was measured and the
    /// value from the elements follows from it.
    pub enthalpy_from_components: Option<Cited<KilojoulePerMole>>,
    /// The simple oxides (or other species) it can be thought to consist of, by id, and how much
    /// of each a formula unit takes.
    pub components: Vec<(String, f64)>,
    /// Source of the heat-capacity equation.
    pub heat_capacity_origin: Origin,
    /// How the heat capacity is known.
    pub heat_capacity_kind: HeatCapacityKind,
    /// Relative half width of the band of the heat capacity, an assumption of the tables.
    pub heat_capacity_uncertainty: Ratio,
    /// Phase above it, if that is in the tables.
    pub next: Option<Next>,
    /// Melting point, if known.
    pub melting_point: Option<Cited<Kelvin>>,
    /// A crystal whose melt is not in the tables: above its melting point the balance lacks the
    /// heat of fusion.
    pub no_liquid_data: bool,
    /// Why a value is to be doubted, if it is.
    pub doubt: Option<String>,
    /// What else to know.
    pub note: Option<String>,
    pub(super) lower_limit: f64,
    pub(super) upper_limit: Option<f64>,
    pub(crate) curve: Arc<Curve>,
}

/// Why a property of a species cannot be given.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SpeciesError {
    #[error(
        "{id} has no usable data at {temperature_k:.1} K, only from {low_k:.1} to {high_k:.1} K; \
         take the phase that is stable there"
    )]
    OutOfRange {
        id: String,
        temperature_k: f64,
        low_k: f64,
        high_k: f64,
    },
}

impl Species {
    /// Temperatures for which the heat capacity has data of its own.
    pub fn data_range(&self) -> (ThermodynamicTemperature, ThermodynamicTemperature) {
        let (low, high) = self.curve.range();
        (
            ThermodynamicTemperature::new::<kelvin>(low),
            ThermodynamicTemperature::new::<kelvin>(high),
        )
    }

    /// Temperatures between which the species may be used, in K; see the head of this module.
    pub(crate) fn usable(&self) -> (f64, f64) {
        let high = match (self.upper_limit, &self.next) {
            (Some(limit), _) => limit,
            (None, Some(next)) => next.temperature.get::<kelvin>() + OVERLAP,
            (None, None) => HOTTEST,
        };
        let low = if self.lower_limit > REFERENCE_TEMPERATURE {
            self.lower_limit - OVERLAP
        } else {
            COLDEST
        };
        (low, high)
    }

    /// Whether `t` (K) lies in the usable range.
    pub(crate) fn is_usable(&self, t: f64) -> bool {
        let (low, high) = self.usable();
        low <= t && t <= high
    }

    /// Whether a property at this temperature rests on extrapolation beyond the data.
    pub fn is_extrapolated(&self, temperature: ThermodynamicTemperature) -> bool {
        let (low, high) = self.data_range();
        // one kelvin of slack: sources round transition temperatures and 298.15 K
        let slack = crate::quantity::TemperatureInterval::new::<kelvins>(1.0);
        temperature < low - slack || temperature > high + slack
    }

    /// The temperature in K, if it may be used.
    fn checked(&self, temperature: ThermodynamicTemperature) -> Result<f64, SpeciesError> {
        let t = temperature.get::<kelvin>();
        if self.is_usable(t) {
            return Ok(t);
        }
        let (low_k, high_k) = self.usable();
        Err(SpeciesError::OutOfRange {
            id: self.id.clone(),
            temperature_k: t,
            low_k,
            high_k,
        })
    }

    /// Molar enthalpy H_m(T), the elements at 298.15 K being 0, per mole of formula units.
    ///
    /// # Errors
    /// [`SpeciesError::OutOfRange`] outside the usable range.
    pub fn molar_enthalpy(
        &self,
        at: ThermodynamicTemperature,
    ) -> Result<MolarEnergy, SpeciesError> {
        Ok(MolarEnergy::new::<joule_per_mole>(
            self.h(self.checked(at)?),
        ))
    }

    /// Molar Gibbs energy G_m(T) = H_m − T S_m at 1 bar.
    ///
    /// # Errors
    /// [`SpeciesError::OutOfRange`] outside the usable range.
    pub fn gibbs_energy(&self, at: ThermodynamicTemperature) -> Result<MolarEnergy, SpeciesError> {
        Ok(MolarEnergy::new::<joule_per_mole>(
            self.g(self.checked(at)?),
        ))
    }

    /// Molar heat capacity C_p,m(T).
    ///
    /// # Errors
    /// [`SpeciesError::OutOfRange`] outside the usable range.
    pub fn molar_heat_capacity(
        &self,
        at: ThermodynamicTemperature,
    ) -> Result<MolarHeatCapacity, SpeciesError> {
        Ok(MolarHeatCapacity::new::<joule_per_kelvin_mole>(
            self.cp(self.checked(at)?),
        ))
    }

    /// Enthalpy taken up on heating from one temperature to another in this phase.
    ///
    /// # Errors
    /// [`SpeciesError::OutOfRange`] if one of them is outside [`Species::usable`].
    pub fn enthalpy_change(
        &self,
        from: ThermodynamicTemperature,
        to: ThermodynamicTemperature,
    ) -> Result<MolarEnergy, SpeciesError> {
        Ok(self.molar_enthalpy(to)? - self.molar_enthalpy(from)?)
    }

    /// Whether the species holds nothing but these elements.
    pub fn consists_of(&self, elements: &[Element]) -> bool {
        self.formula
            .amounts()
            .keys()
            .all(|element| elements.contains(element))
    }

    /// The worst way in which one of its numbers was found.
    pub fn reliability(&self) -> Seen {
        let mut worst = self.heat_capacity_origin.seen;
        for seen in [
            self.formation_enthalpy.as_ref().map(|v| v.seen),
            self.entropy.as_ref().map(|v| v.seen),
            self.enthalpy_from_components.as_ref().map(|v| v.seen),
        ] {
            worst = worst.max(seen.unwrap_or(worst));
        }
        worst
    }

    /// H_m in J/mol at `t` in K, at any temperature.
    pub(crate) fn h(&self, t: f64) -> f64 {
        self.curve.h(t)
    }

    /// S_m in J/(mol K) at `t` in K, at any temperature.
    #[cfg(test)]
    pub(crate) fn s(&self, t: f64) -> f64 {
        self.curve.s(t)
    }

    /// G_m in J/mol at `t` in K, at any temperature.
    pub(crate) fn g(&self, t: f64) -> f64 {
        self.curve.h(t) - t * self.curve.s(t)
    }

    /// C_p,m in J/(mol K) at `t` in K, at any temperature.
    pub(crate) fn cp(&self, t: f64) -> f64 {
        self.curve.cp(t)
    }
}
