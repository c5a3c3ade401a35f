//! Oxygen potential: which oxide of a metal, or the metal itself, goes with a gas.
//!
//! The condensed phases of one metal with oxygen follow each other as p(O2) rises: metal, lower
//! oxide, higher oxide. At given T the stable one has the least (G_m − y μ(O2)/2)/x for M_xO_y, and
//! neighbours meet on a line of log10 p(O2). [`fields`] computes them from the species of the
//! tables; [`OxygenLine`](crate::tables::OxygenLine) holds published lines for comparison.
//!
//! A dopant in a host does not follow these lines: dilution and the site move them by many
//! decades. A dopant gets a band, and [`DopantOutlook`] says in a sentence what is
//! assumed; it never gives a verdict from the pure oxides.

use crate::formula::Element;
use crate::quantity::units::{joule_per_mole, kelvin, percent, ratio};
use crate::quantity::{GAS_CONSTANT, Ratio, ThermodynamicTemperature};
use crate::tables::species::Phase;
use crate::tables::{Dopant, HostFinding, Species, Tables};
use std::fmt;

/// The range of oxygen pressures in which one phase of a metal is stable.
#[derive(Debug, Clone, PartialEq)]
pub struct OxygenField {
    /// Id of the phase.
    pub id: String,
    /// Oxidation state of the metal in it, mean over the formula.
    pub oxidation_state: f64,
    /// log10(p(O2)/bar) of the line to the next lower phase, with the half width of its band in
    /// decades from the bands of the formation enthalpies; none for the lowest.
    pub from: Option<(f64, f64)>,
    /// The same to the next higher phase; none for the highest.
    pub to: Option<(f64, f64)>,
}

/// One condensed phase of a metal with oxygen, per mole of metal.
struct Candidate<'t> {
    species: &'t Species,
    /// G_m/(RT) per metal atom.
    g: f64,
    /// O2 per metal atom.
    oxygen: f64,
    /// Half width of the band of H/(RT) per metal atom.
    band: f64,
}

/// The phases of `metal` with oxygen at a temperature, from the metal to the highest oxide.
///
/// Vapour is left out: zinc, for instance, has no field of its own as a gas here; see the
/// equilibrium for what evaporates.
pub fn fields(
    metal: Element,
    temperature: ThermodynamicTemperature,
    tables: &Tables,
) -> Vec<OxygenField> {
    let t = temperature.get::<kelvin>();
    let rt = GAS_CONSTANT * t;
    let Some(oxygen) = tables.species_by_id("O2") else {
        return Vec::new();
    };
    let g_oxygen = oxygen.g(t) / rt;
    let mut candidates: Vec<Candidate<'_>> = tables
        .species
        .iter()
        .filter(|s| s.phase != Phase::Gas && s.is_usable(t))
        .filter(|s| s.consists_of(&[metal, Element::OXYGEN]))
        .filter_map(|species| {
            let x = species.formula.amount_of(metal);
            let band = species
                .formation_enthalpy
                .as_ref()
                .and_then(|h| h.uncertainty);
            (x > 0.0).then(|| Candidate {
                species,
                g: species.g(t) / rt / x,
                oxygen: species.formula.amount_of(Element::OXYGEN) / (2.0 * x),
                band: band.map_or(0.0, |h| h.get::<joule_per_mole>()) / rt / x,
            })
        })
        .collect();
    candidates.sort_by(|a, b| a.oxygen.total_cmp(&b.oxygen).then(a.g.total_cmp(&b.g)));
    candidates.dedup_by(|b, a| (b.oxygen - a.oxygen).abs() < 1e-6);
    // Lower convex hull of g against oxygen: each corner is stable at the slopes around it.
    let slope = |a: &Candidate<'_>, b: &Candidate<'_>| (b.g - a.g) / (b.oxygen - a.oxygen);
    let mut hull: Vec<Candidate<'_>> = Vec::new();
    for candidate in candidates {
        while hull.len() >= 2
            && slope(&hull[hull.len() - 2], &hull[hull.len() - 1])
                >= slope(&hull[hull.len() - 1], &candidate)
        {
            hull.pop();
        }
        hull.push(candidate);
    }
    let line = |a: &Candidate<'_>, b: &Candidate<'_>| {
        let log = (slope(a, b) - g_oxygen) / std::f64::consts::LN_10;
        let band = a.band.hypot(b.band) / (b.oxygen - a.oxygen) / std::f64::consts::LN_10;
        (log, band)
    };
    (0..hull.len())
        .map(|i| OxygenField {
            id: hull[i].species.id.clone(),
            oxidation_state: 4.0 * hull[i].oxygen,
            from: (i > 0).then(|| line(&hull[i - 1], &hull[i])),
            to: (i + 1 < hull.len()).then(|| line(&hull[i], &hull[i + 1])),
        })
        .collect()
}

/// How a metal stands against the oxygen of a gas.
#[derive(Debug, Clone, PartialEq)]
pub struct MetalState {
    pub metal: Element,
    /// Its stable phase with oxygen at this temperature and p(O2), other elements left out.
    pub field: OxygenField,
    /// Whether a neighbouring field lies within the band of the line between them.
    pub on_the_line: bool,
}

/// The stable phase of `metal` at a temperature and log10(p(O2)/bar); none if the tables hold no
/// condensed phase of it.
pub fn metal_state(
    metal: Element,
    temperature: ThermodynamicTemperature,
    log10_pressure: f64,
    tables: &Tables,
) -> Option<MetalState> {
    let field = fields(metal, temperature, tables)
        .into_iter()
        .find(|field| field.to.is_none_or(|(log, _)| log10_pressure < log))?;
    let near = |line: Option<(f64, f64)>| {
        line.is_some_and(|(log, band)| (log10_pressure - log).abs() <= band)
    };
    let on_the_line = near(field.from) || near(field.to);
    Some(MetalState {
        metal,
        field,
        on_the_line,
    })
}

impl fmt::Display for MetalState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.metal, self.field.id)?;
        if self.field.oxidation_state > 0.0 {
            let text = format!("{:.2}", self.field.oxidation_state);
            write!(
                f,
                " (+{})",
                text.trim_end_matches('0').trim_end_matches('.')
            )?;
        } else {
            write!(f, " (metal)")?;
        }
        if let Some((log, _)) = self.field.from {
            write!(f, ", reduced below 10^{log:.1} bar")?;
        }
        if let Some((log, _)) = self.field.to {
            write!(f, ", oxidised above 10^{log:.1} bar")?;
        }
        if self.on_the_line {
            write!(f, "; too close to a line to tell")?;
        }
        Ok(())
    }
}

/// log10(p(O2)/bar) between which the change of state of a dopant may lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DopantBand {
    /// Pure couple, no help from the host, less the band of the line.
    pub low: f64,
    /// Only the reduced cation diluted and held by the host as well as assumed, plus the band of
    /// the line.
    pub high: f64,
}

/// The band in which a dopant changes its state.
///
/// * `share`: of the host's cations of that site, 0 to 1
///
/// The low end is the line of the pure couple; the high end adds −ν log10(`share`) for dilution
/// of the reduced cation alone and ν ΔG/(RT ln 10) for the host, ν cations per O2, and the
/// line's own uncertainty widens both. None if the table of dopants has no such element.
fn dopant_band(
    dopant: &Dopant,
    share: Ratio,
    temperature: ThermodynamicTemperature,
    tables: &Tables,
) -> Option<DopantBand> {
    let line = tables
        .oxygen
        .lines
        .iter()
        .find(|line| line.couple == dopant.line)?;
    let t = temperature.get::<kelvin>();
    let pure = line.log10_pressure(temperature);
    let nu = dopant.cations_per_oxygen;
    let share = share.get::<ratio>().clamp(1e-6, 1.0);
    let [least, most] = dopant
        .stabilisation
        .map(|g| nu * g.get::<joule_per_mole>() / (GAS_CONSTANT * t * std::f64::consts::LN_10));
    Some(DopantBand {
        low: pure + least - line.uncertainty,
        high: pure + most - nu * share.log10() + line.uncertainty,
    })
}

/// Where the gas stands against a dopant's band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BandPlace {
    /// Less oxygen than the whole band.
    Below,
    /// Inside the band.
    Inside,
    /// More oxygen than the whole band.
    Above,
}

/// What can be said about the state of a dopant.
#[derive(Debug, Clone, PartialEq)]
pub struct DopantOutlook<'t> {
    pub dopant: &'t Dopant,
    /// Its share of the site.
    pub share: Ratio,
    pub band: DopantBand,
    /// log10(p(O2)/bar) of the gas.
    pub log10_pressure: f64,
    /// Where that lies.
    pub place: BandPlace,
    /// What was found in hosts, for comparison.
    pub findings: Vec<&'t HostFinding>,
}

/// The outlook for `element` at a share of its site in the gas; none if the table of dopants has
/// no band for it (findings may exist all the same, see [`findings`]).
pub fn dopant_outlook<'t>(
    element: Element,
    share: Ratio,
    temperature: ThermodynamicTemperature,
    log10_pressure: f64,
    tables: &'t Tables,
) -> Option<DopantOutlook<'t>> {
    let dopant = tables
        .oxygen
        .dopants
        .iter()
        .find(|d| d.element == element)?;
    let band = dopant_band(dopant, share, temperature, tables)?;
    let place = if log10_pressure < band.low {
        BandPlace::Below
    } else if log10_pressure > band.high {
        BandPlace::Above
    } else {
        BandPlace::Inside
    };
    let findings = findings(element, tables);
    Some(DopantOutlook {
        dopant,
        share,
        band,
        log10_pressure,
        place,
        findings,
    })
}

/// Findings about the oxidation state of an element in hosts.
pub fn findings(element: Element, tables: &Tables) -> Vec<&HostFinding> {
    tables
        .oxygen
        .hosts
        .iter()
        .filter(|finding| finding.element == element)
        .collect()
}

impl fmt::Display for DopantOutlook<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Dopant {
            reduced,
            oxidised,
            why,
            ..
        } = self.dopant;
        let DopantBand { low, high } = self.band;
        let share = self.share.get::<percent>();
        write!(
            f,
            "{oxidised} to {reduced} at {share:.2} % of the cations: somewhere between 10^{low:.0} and \
             10^{high:.0} bar O2; this gas has 10^{:.1} bar, ",
            self.log10_pressure
        )?;
        match self.place {
            BandPlace::Below => write!(
                f,
                "less than the whole band: {reduced} is favoured while the powder stays in it"
            )?,
            BandPlace::Inside => {
                write!(
                    f,
                    "inside the band: the host's site decides, which is not computed here"
                )?;
            }
            BandPlace::Above => write!(
                f,
                "more than the whole band: {oxidised} is favoured unless the host holds {reduced} \
                 better than assumed"
            )?,
        }
        write!(
            f,
            ". Assumed: {why}; an open pot lets air reoxidise it on cooling"
        )
    }
}
