//! Recrystallising a salt from water: how much water, how much comes back, what stays behind.
//!
//! A salt of dry share f and mass M in water W holds D = f M of dry salt. Cooled until its liquor
//! has the dry share w, it leaves crystals of dry share f′ and mass C with
//! D − f′ C = w (M + W − C), so C = (D − w (M + W)) / (f′ − w).
//!
//! A foreign ion parts by its distribution coefficient K, foreign over host in the crystal by that
//! in the liquor. With the share Y of the host in the crystals, these hold K Y / (1 − Y + K Y) of
//! the foreign ion if crystals and liquor stay in balance, and 1 − (1 − Y)^K if each layer is
//! buried as it grows (H. A. Doerner and W. M. Hoskins, J. Am. Chem. Soc. 47 (1925) 662, recalled).
//! The truth lies between. Liquor that clings to the crystals comes on top, and is often the more.

use crate::formula::Element;
use crate::quantity::units::{degree_celsius, gram, kilogram, ratio};
use crate::quantity::{Band, Mass, Ratio, ThermodynamicTemperature};
use crate::source::Seen;
use crate::tables::crystallising::{Crystal, Step};
use crate::tables::reactants::{Basis, LookupError, Solubility, SolubilityError};
use crate::tables::{HazardGroup, Reactant, Role, Tables};
use thiserror::Error;

/// What is asked.
#[derive(Debug, Clone)]
pub struct Request {
    /// Mass of the salt as it stands on the bottle.
    pub mass: Mass,
    /// Temperature at which it is dissolved; by default as hot as the tables advise and know.
    pub hot: Option<ThermodynamicTemperature>,
    /// Temperature to which the solution is cooled.
    pub cold: ThermodynamicTemperature,
    /// Water added; by default what the tables advise.
    pub water: Option<Mass>,
    /// Foreign ions with their mass fraction in the bottle.
    pub impurities: Vec<(Element, Ratio)>,
    /// Distribution coefficient of all foreign ions; by default that of the tables.
    pub distribution: Option<f64>,
    /// How many times in a row.
    pub times: u32,
}

/// Why a salt cannot be recrystallised, or not so.
#[derive(Debug, Error)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum RecrystalliseError {
    #[error(transparent)]
    Lookup(#[from] LookupError),
    #[error("{name} is not to be recrystallised here: {reason}")]
    Refused { name: String, reason: &'static str },
    #[error(transparent)]
    Solubility(#[from] SolubilityError),
    #[error("{name} mixes with water in all proportions: nothing crystallises from it")]
    Miscible { name: String },
    #[error("the hot solution, {hot_c:.0} °C, should be hotter than the cold one, {cold_c:.0} °C")]
    NotHotter { hot_c: f64, cold_c: f64 },
    #[error(
        "{given_g:.4} g of water do not dissolve it at {hot_c:.0} °C: take at least {least_g:.4} g"
    )]
    TooLittleWater {
        given_g: f64,
        hot_c: f64,
        least_g: f64,
    },
    #[error(
        "nothing crystallises at {cold_c:.0} °C: take less water than {most_g:.4} g, or cool further"
    )]
    NoCrop { cold_c: f64, most_g: f64 },
    #[error(
        "with {given_g:.4} g of water all of it turns into {crystal} and no liquor is left to hold \
         what is unwanted: take more water"
    )]
    NoLiquor { given_g: f64, crystal: String },
    #[error("the mass should be above 0 and `times` from 1 to 10")]
    Nothing,
    #[error("a distribution coefficient of {given} should be from 0 to 100")]
    Distribution { given: f64 },
}

/// What becomes of one foreign ion.
#[derive(Debug, Clone, PartialEq)]
pub struct Foreign {
    /// The element; `None` for any that the file does not name.
    pub element: Option<Element>,
    /// Distribution coefficient taken.
    pub distribution: Band<f64>,
    /// Whether it fits the crystal.
    pub fits: bool,
    /// Share of it that comes back in the crystals, one pass.
    pub kept: Band<Ratio>,
    /// Mass fraction in the bottle and in the crystals after all passes, if that is known.
    pub content: Option<(Ratio, Band<Ratio>)>,
}

/// One recrystallisation.
#[derive(Debug, Clone)]
pub struct Recrystallised {
    /// The salt.
    pub salt: Reactant,
    /// What was asked.
    pub mass: Mass,
    /// Hot temperature.
    pub hot: ThermodynamicTemperature,
    /// Cold temperature.
    pub cold: ThermodynamicTemperature,
    /// Water to add.
    pub water: Mass,
    /// The crystal that comes.
    pub crystal: Reactant,
    /// Row that says so; `None` if the tables do not know and it is taken as the salt.
    pub known: Option<Crystal>,
    /// Mass of the crystals, one pass.
    pub crop: Mass,
    /// Share of the dry salt in the crystals, one pass.
    pub recovered: Ratio,
    /// Mass of the liquor, one pass.
    pub liquor: Mass,
    /// How many times in a row.
    pub times: u32,
    /// Share of the dry salt that is left after all passes.
    pub recovered_in_all: Ratio,
    /// Foreign ions: those named, else one that fits nowhere.
    pub foreign: Vec<Foreign>,
    /// What to watch for and to do.
    pub steps: Vec<Step>,
    /// How the solubility was found.
    pub solubility: Solubility,
    /// How the least certain number was found.
    pub seen: Seen,
}

/// Mass of crystals of dry share `crystal` from a solution of mass `total` with `dry` of dry
/// salt, once the liquor has the dry share `saturated`. Negative if nothing crystallises.
pub fn crop(dry: Mass, total: Mass, saturated: Ratio, crystal: Ratio) -> Mass {
    (dry - saturated * total) / (crystal - saturated)
}

/// Share of a foreign ion that crystals hold which took the share `host` of the host: in balance
/// with the liquor, and with each layer buried as it grows.
pub fn share_in_crystals(distribution: f64, host: Ratio) -> Band<Ratio> {
    let y = host.get::<ratio>().clamp(0.0, 1.0);
    let balanced = distribution * y / (1.0 - y + distribution * y);
    let buried = 1.0 - (1.0 - y).powf(distribution);
    Band::between(balanced, buried).map(Ratio::new::<ratio>)
}

/// Plans the recrystallisation of the salt called `name`.
///
/// # Errors
/// [`RecrystalliseError`] if the salt or its curve is unknown, if it is refused, or if the
/// temperatures or the water do not serve.
pub fn recrystallise(
    name: &str,
    request: &Request,
    tables: &Tables,
) -> Result<Recrystallised, RecrystalliseError> {
    check(request)?;
    let salt = tables.reactants.find(name)?.clone();
    refuse(&salt)?;
    let curve = curve(&salt)?;
    let (hot, cold) = temperatures(&salt, &curve, request, tables)?;
    let (crystal, known) = crystal_at(&salt, cold, tables);
    let bath = Bath {
        dry: request.mass * dry_share(&salt, &curve),
        mass: request.mass,
        hot: curve.mass_fraction(&salt.name, hot)?,
        cold: curve.mass_fraction(&salt.name, cold)?,
        crystal: dry_share(&crystal, &curve),
    };
    let water = bath.water(request.water, hot, tables)?;
    let total = request.mass + water;
    let crop = bath.crop(water, cold, &crystal)?;
    let recovered: Ratio = bath.crystal * crop / bath.dry;
    let liquor = total - crop;
    let times = i32::try_from(request.times).unwrap_or(1);
    let passes = Passes {
        host: recovered,
        growth: crop / request.mass,
        clinging: crop / liquor,
        times,
    };
    let foreign = foreign(&salt, request, &passes, tables);
    let seen = known.as_ref().map_or(Seen::Estimated, |row| row.seen);
    Ok(Recrystallised {
        mass: request.mass,
        hot,
        cold,
        water,
        crop,
        recovered,
        liquor,
        times: request.times,
        recovered_in_all: Ratio::new::<ratio>(recovered.get::<ratio>().powi(times)),
        foreign,
        steps: steps(&salt, tables),
        seen: seen.max(curve.seen),
        solubility: curve,
        salt,
        crystal,
        known,
    })
}

fn check(request: &Request) -> Result<(), RecrystalliseError> {
    if request.mass <= Mass::new::<gram>(0.0) || !(1..=10).contains(&request.times) {
        return Err(RecrystalliseError::Nothing);
    }
    match request.distribution {
        Some(given) if !(0.0..=100.0).contains(&given) => {
            Err(RecrystalliseError::Distribution { given })
        }
        _ => Ok(()),
    }
}

fn refuse(salt: &Reactant) -> Result<(), RecrystalliseError> {
    let groups = &salt.hazard_groups;
    let nitrate = salt.role == Role::Oxidiser;
    let without_metal = nitrate && !salt.formula.amounts().keys().any(|e| e.is_metal());
    let dangerous = [
        HazardGroup::Hydrazide,
        HazardGroup::HydrazineDerivative,
        HazardGroup::ComplexingAmine,
        HazardGroup::ExplosiveWithNitricAcid,
    ];
    let reason = if without_metal {
        "a dry crop of an ammonium or organic nitrate is an explosive risk; buy it in the grade needed"
    } else if dangerous.iter().any(|group| groups.contains(group)) {
        "warm solutions of it decompose or are poisonous; buy it in the grade needed"
    } else if matches!(salt.role, Role::Acid | Role::Solvent) {
        "it is a liquid"
    } else {
        return Ok(());
    };
    let name = salt.name.clone();
    Err(RecrystalliseError::Refused { name, reason })
}

fn curve(salt: &Reactant) -> Result<Solubility, RecrystalliseError> {
    let name = salt.name.clone();
    match &salt.solubility {
        Some(curve) if curve.miscible => Err(RecrystalliseError::Miscible { name }),
        Some(curve) if !curve.points.is_empty() => Ok(curve.clone()),
        other => {
            let note = other.as_ref().map_or_else(String::new, |c| c.note.clone());
            Err(SolubilityError::Unknown { name, note }.into())
        }
    }
}

/// Share of what the curve counts as dissolved in the substance as written.
fn dry_share(substance: &Reactant, curve: &Solubility) -> Ratio {
    match curve.basis {
        Basis::AsWritten => Ratio::new::<ratio>(1.0),
        Basis::Anhydrous => {
            substance.formula.anhydrous().molar_mass() / substance.formula.molar_mass()
        }
    }
}

fn temperatures(
    salt: &Reactant,
    curve: &Solubility,
    request: &Request,
    tables: &Tables,
) -> Result<(ThermodynamicTemperature, ThermodynamicTemperature), RecrystalliseError> {
    let unknown = || SolubilityError::Unknown {
        name: salt.name.clone(),
        note: curve.note.clone(),
    };
    let (_, top) = curve.range().ok_or_else(unknown)?;
    let advised = tables.crystallising.assumed.hottest.value;
    let melting = salt.melting.as_ref().filter(|m| m.in_own_water);
    let mut hottest = if top < advised { top } else { advised };
    if let Some(melting) = melting.map(|m| m.temperature.value) {
        if melting < hottest {
            hottest = melting;
        }
    }
    let (hot, cold) = (request.hot.unwrap_or(hottest), request.cold);
    if hot <= cold {
        return Err(RecrystalliseError::NotHotter {
            hot_c: hot.get::<degree_celsius>(),
            cold_c: cold.get::<degree_celsius>(),
        });
    }
    Ok((hot, cold))
}

/// The crystal that comes at `cold`, and the row that says so.
fn crystal_at(
    salt: &Reactant,
    cold: ThermodynamicTemperature,
    tables: &Tables,
) -> (Reactant, Option<Crystal>) {
    let dry = salt.formula.anhydrous();
    let rows = &tables.crystallising.crystals;
    let row = rows
        .iter()
        .find(|row| row.of.amounts() == dry.amounts() && (row.from..=row.to).contains(&cold));
    let found = row.and_then(|row| {
        let text = row.comes.to_string();
        Some((tables.reactants.resolve(&text, None).ok()?, row.clone()))
    });
    match found {
        Some((crystal, row)) => (crystal, Some(row)),
        None => (salt.clone(), None),
    }
}

/// One solution before it is cooled.
struct Bath {
    dry: Mass,
    mass: Mass,
    /// Dry share of the saturated solutions.
    hot: Ratio,
    cold: Ratio,
    /// Dry share of the crystal.
    crystal: Ratio,
}

impl Bath {
    /// The water to add: what is given, if it dissolves the salt; else enough to dissolve it and
    /// to leave some liquor.
    fn water(
        &self,
        given: Option<Mass>,
        hot: ThermodynamicTemperature,
        tables: &Tables,
    ) -> Result<Mass, RecrystalliseError> {
        let none = Mass::new::<kilogram>(0.0);
        let least = self.dry / self.hot - self.mass;
        if let Some(given) = given {
            if given < least {
                return Err(RecrystalliseError::TooLittleWater {
                    given_g: given.get::<gram>(),
                    hot_c: hot.get::<degree_celsius>(),
                    least_g: least.get::<gram>(),
                });
            }
            return Ok(given);
        }
        let assumed = &tables.crystallising.assumed;
        let to_dissolve = self.dry / (self.hot * assumed.hot_saturation.value) - self.mass;
        // The water at which the largest yield crystallises: C = Y D / f′ in the balance above.
        let crop = assumed.most_yield.value * self.dry / self.crystal;
        let for_liquor = (self.dry - self.crystal * crop) / self.cold + crop - self.mass;
        let more = if to_dissolve > for_liquor {
            to_dissolve
        } else {
            for_liquor
        };
        Ok(if more > none { more } else { none })
    }

    fn crop(
        &self,
        water: Mass,
        cold: ThermodynamicTemperature,
        crystal: &Reactant,
    ) -> Result<Mass, RecrystalliseError> {
        let total = self.mass + water;
        let found = crop(self.dry, total, self.cold, self.crystal);
        let none = Mass::new::<kilogram>(0.0);
        if self.crystal <= self.cold || self.crystal * found >= self.dry || found >= total {
            return Err(RecrystalliseError::NoLiquor {
                given_g: water.get::<gram>(),
                crystal: crystal.formula.to_string(),
            });
        }
        if found <= none {
            return Err(RecrystalliseError::NoCrop {
                cold_c: cold.get::<degree_celsius>(),
                most_g: (self.dry / self.cold - self.mass).get::<gram>(),
            });
        }
        Ok(found)
    }
}

/// What the shares of foreign ions hang on.
struct Passes {
    /// Share of the host in the crystals.
    host: Ratio,
    /// Mass of the crystals over that of the salt.
    growth: Ratio,
    /// Mass of the crystals over that of the liquor.
    clinging: Ratio,
    times: i32,
}

fn foreign(salt: &Reactant, request: &Request, passes: &Passes, tables: &Tables) -> Vec<Foreign> {
    let given = request.distribution.map(Band::exactly);
    let of = |element: Option<Element>, content: Option<Ratio>| {
        let (known, fits) = distribution(salt, element, tables);
        let distribution = given.unwrap_or(known);
        let kept = kept(distribution, passes, tables);
        // Each pass multiplies the content by the share kept over the share of mass that is left.
        let factor = kept.map(|kept| (kept / passes.growth).get::<ratio>().powi(passes.times));
        Foreign {
            element,
            distribution,
            fits,
            kept,
            content: content.map(|before| (before, factor.map(|factor| factor * before))),
        }
    };
    if request.impurities.is_empty() {
        return vec![of(None, None)];
    }
    let list = request.impurities.iter();
    list.map(|(element, content)| of(Some(*element), Some(*content)))
        .collect()
}

/// The distribution coefficient of an ion in this salt, and whether it fits the crystal.
fn distribution(salt: &Reactant, element: Option<Element>, tables: &Tables) -> (Band<f64>, bool) {
    let host = salt.metal.as_ref().map(|metal| metal.element);
    let crystallising = &tables.crystallising;
    let pair = crystallising.pairs.iter().find(|pair| {
        host.is_some_and(|host| pair.host.contains(&host))
            && element.is_some_and(|element| pair.foreign.contains(&element))
    });
    let fits = pair.is_some();
    let band = pair.map_or(&crystallising.assumed.distribution, |p| &p.distribution);
    (band.value.map(|k| k.get::<ratio>()), fits)
}

/// Share of a foreign ion in the crystals with the liquor that clings to them, one pass.
fn kept(distribution: Band<f64>, passes: &Passes, tables: &Tables) -> Band<Ratio> {
    let ends = [distribution.low, distribution.high].map(|k| share_in_crystals(k, passes.host));
    let within = ends[0].hull(ends[1]);
    let adhering = tables.crystallising.assumed.adhering.value;
    let with = |inside: Ratio, adhering: Ratio| {
        let inside = inside.get::<ratio>();
        let clinging = (adhering * passes.clinging).get::<ratio>().min(1.0);
        Ratio::new::<ratio>(inside + (1.0 - inside) * clinging)
    };
    Band {
        low: with(within.low, adhering.low),
        high: with(within.high, adhering.high),
    }
}

fn steps(salt: &Reactant, tables: &Tables) -> Vec<Step> {
    let dry = salt.formula.anhydrous();
    let of_salt = |step: &&Step| {
        let named = step.of.is_empty() || step.of.iter().any(|f| f.amounts() == dry.amounts());
        named && step.role.is_none_or(|role| role == salt.role)
    };
    tables
        .crystallising
        .steps
        .iter()
        .filter(of_salt)
        .cloned()
        .collect()
}
