//! How far the flame temperature is uncertain, and which data are to blame.
//!
//! Each formation enthalpy with a band, and each heat capacity with one, moves the temperature by
//! its share of the heat over the heat capacity of the products. The contributions are taken as
//! independent and added in quadrature.

use crate::enthalpy::ReactantEnthalpy;
use crate::flame::CompleteCombustion;
use crate::quantity::units::{kelvins, ratio};
use crate::quantity::{Energy, Ratio, TemperatureInterval, reference_temperature};
use crate::tables::Tables;

/// One datum's part in the uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Contribution {
    /// What is uncertain, such as "formation enthalpy of Al(NO3)3".
    pub what: String,
    /// By how much it moves the temperature.
    pub temperature: TemperatureInterval,
}

/// Band of a flame temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct FlameBand {
    /// Half width, about two standard deviations as the tabulated bands are.
    pub half_width: TemperatureInterval,
    /// Contributions, largest first.
    pub contributions: Vec<Contribution>,
    /// Data without any band, which the half width cannot hold.
    pub without_band: Vec<String>,
}

/// Band of the temperature of `burn` from the data of its reactants and products.
pub fn flame_band(
    burn: &CompleteCombustion,
    reactants: &ReactantEnthalpy,
    tables: &Tables,
) -> FlameBand {
    let mut contributions = Vec::new();
    let mut without_band = Vec::new();
    let mut add = |what: String, heat: Energy| {
        let temperature = burn.temperature_change(heat);
        let size = temperature.get::<kelvins>().abs();
        if size > 0.0 {
            contributions.push(Contribution {
                what,
                temperature: TemperatureInterval::new::<kelvins>(size),
            });
        }
    };
    for line in &reactants.lines {
        let what = format!("formation enthalpy of {}", line.substance);
        match line.band {
            Some(band) => add(what, band * line.amount),
            None => without_band.push(what),
        }
    }
    let hot = burn
        .flame
        .temperature()
        .unwrap_or_else(reference_temperature);
    for product in burn.condensed.iter().chain(&burn.gas) {
        let Some(species) = tables.species_by_id(&product.id) else {
            continue;
        };
        if let Some(enthalpy) = &species.formation_enthalpy {
            let what = format!("formation enthalpy of {}", product.id);
            match enthalpy.uncertainty {
                Some(band) => add(what, band * product.amount),
                // Gases of combustion are known to 0.1 kJ/mol and better: not worth a line.
                None if species.phase.is_condensed() => without_band.push(what),
                None => {}
            }
        }
        let rise = species
            .molar_enthalpy(hot)
            .ok()
            .zip(species.molar_enthalpy(reference_temperature()).ok());
        if let Some((end, start)) = rise {
            let heat: Energy = (end - start) * product.amount;
            let share: Ratio = species.heat_capacity_uncertainty;
            add(
                format!("heat capacity of {}", product.id),
                share.get::<ratio>() * heat,
            );
        }
    }
    contributions.sort_by(|a, b| {
        b.temperature
            .get::<kelvins>()
            .total_cmp(&a.temperature.get::<kelvins>())
    });
    let squares: f64 = contributions
        .iter()
        .map(|c| c.temperature.get::<kelvins>().powi(2))
        .sum();
    FlameBand {
        half_width: TemperatureInterval::new::<kelvins>(squares.sqrt()),
        contributions,
        without_band,
    }
}
