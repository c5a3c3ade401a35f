//! A fuel known by its analysis alone: C, H, N, O in mass percent and the heat of combustion.
//!
//! For polymers, sugars, gums and plant extracts. With the masses m of the elements in 100 g and
//! the gross heat of combustion Q (to CO2, N2 and liquid water, 25 °C),
//! Δ_fH = −Q + n_C Δ_fH°(CO2) + ½ n_H Δ_fH°(H2O, l), per 100 g.
//!
//! What an explosive has and a fuel has not is heat of its own: burnt with its own oxygen alone
//! (to steam first, then CO2) it gives 4 to 6 kJ/g, sugars and starch 1.0 to 1.6 (from the
//! tabulated enthalpies). Above 2.5 kJ/g, or with oxygen for more than a fifth of its mass in
//! CO2 still missing or to spare, such a substance is refused, whatever it is called.

use super::section::Section;
use crate::formula::Formula;
use crate::quantity::{AvailableEnergy, MolarEnergy, MolarHeatCapacity, parse};
use crate::source::{Seen, SourceId};
use crate::tables::reactants::Hazards;
use crate::tables::{Cited, Reactant, Role, State, Tables};
use uom::si::available_energy::kilojoule_per_kilogram;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;

/// Most heat from its own oxygen, kJ per 100 g: see the head of the file.
const MOST_OWN_HEAT: f64 = 250.0;
/// Least oxygen that has to come from outside to burn 100 g, g: below, the substance is an
/// oxidiser by itself (oxalic acid, the barest of the fuels, needs 18).
const LEAST_OXYGEN: f64 = 15.0;
/// Enthalpies of formation at 25 °C in kJ/mol: CO2, liquid water, steam (CODATA key values).
const CARBON_DIOXIDE: f64 = -393.51;
const WATER: f64 = -285.83;
const STEAM: f64 = -241.83;
/// Heat capacities of the elements in a solid, J/(mol K): Hurst & Harrison, Chem. Eng. Commun.
/// 112 (1992) 21, recalled; C, H, N, O.
const HEAT_CAPACITY: [f64; 4] = [10.89, 7.56, 18.74, 13.42];
/// Atomic masses of C, H, N, O in g/mol (IUPAC 2021, abridged).
const ATOMIC_MASS: [f64; 4] = [12.011, 1.008, 14.007, 15.999];
/// Mass percent that the analysis may miss of 100 or exceed it by: ash and moisture are to be
/// left out, and the sum is brought to 100.
const SUM_WITHIN: f64 = 3.0;

/// The fuel that `analysis` and `heat_of_combustion` describe, or `None` if the file has neither
/// or a mistake was noted.
pub(super) fn fuel(section: &Section<'_>, name: &str, tables: &Tables) -> Option<Reactant> {
    let heats = (
        AvailableEnergy::new::<kilojoule_per_kilogram>(500.0),
        AvailableEnergy::new::<kilojoule_per_kilogram>(50_000.0),
        "between 0.5 MJ/kg and 50 MJ/kg",
    );
    let heat = section.quantity_within("heat_of_combustion", parse::specific_energy, heats);
    let Some(analysis) = section.section("analysis") else {
        section.missing("analysis", "{ C = 43.9, H = 6.2, N = 0.3, O = 49.6 }");
        return None;
    };
    let share = |key| {
        analysis
            .number_within(key, (0.0, 100.0))
            .map_or(0.0, |w| w.value)
    };
    let percent = ["C", "H", "N", "O"].map(share);
    let span = analysis.span.clone();
    analysis.finish();
    let Some(heat) = heat else {
        if !section.has("heat_of_combustion") {
            section.missing("heat_of_combustion", "\"16.5 MJ/kg\"");
        }
        return None;
    };
    let refused = tables.reactants.refusal(name);
    if let Some(reason) = refused {
        section.mistake(span, format!("`{name}` is refused: {reason}"));
        return None;
    }
    // 10 kJ/kg = 1 kJ per 100 g
    let gross = heat.value.get::<kilojoule_per_kilogram>() / 10.0;
    match analysed(name, percent, gross) {
        Ok(fuel) => Some(fuel),
        Err(message) => {
            section.mistake(span, message);
            None
        }
    }
}

/// The fuel of 100 g per formula unit; `gross` in kJ per 100 g.
fn analysed(name: &str, percent: [f64; 4], gross: f64) -> Result<Reactant, String> {
    let sum: f64 = percent.iter().sum();
    if (sum - 100.0).abs() > SUM_WITHIN {
        return Err(format!(
            "the analysis of {name} sums to {sum:.1} %; give C, H, N and O of the dry substance \
             without its ash, which sum to 100 %"
        ));
    }
    let mut n = [0.0; 4];
    for i in 0..4 {
        n[i] = 100.0 * percent[i] / sum / ATOMIC_MASS[i];
    }
    let [c, h, nitrogen, o] = n;
    if c <= 0.0 {
        return Err(format!("{name} has no carbon: it is no organic fuel"));
    }
    let formation = gross + c * CARBON_DIOXIDE + 0.5 * h * WATER;
    check_harmless(name, n, formation)?;
    let text = format!("C{c:.4}H{h:.4}N{nitrogen:.4}O{o:.4}");
    let text = text.replace("H0.0000", "").replace("N0.0000", "");
    let formula = Formula::parse(text.trim_end_matches("O0.0000")).map_err(|e| e.to_string())?;
    let heat_capacity: f64 = n.iter().zip(HEAT_CAPACITY).map(|(n, cp)| n * cp).sum();
    let source = || SourceId("batch-file".to_owned());
    let unit = MolarHeatCapacity::new::<joule_per_kelvin_mole>;
    Ok(Reactant {
        hazard_groups: Vec::new(),
        id: format!("analysed_{}", name.trim()),
        name: name.trim().to_owned(),
        aliases: Vec::new(),
        formula,
        cas: None,
        cas_seen: None,
        role: Role::Fuel,
        state: State::Solid,
        metal: None,
        redox_valence: Some(4.0 * c + h - 2.0 * o),
        formation_enthalpy: Some(Cited {
            value: MolarEnergy::new::<kilojoule_per_mole>(formation),
            // 2 % of the heat of combustion: bomb calorimetry and an analysis to a few tenths
            uncertainty: Some(MolarEnergy::new::<kilojoule_per_mole>(0.02 * gross)),
            source: source(),
            locator: "heat of combustion and analysis of the file, per 100 g".to_owned(),
            seen: Seen::Computed,
        }),
        heat_capacity: Some(Cited {
            value: unit(heat_capacity),
            uncertainty: Some(unit(0.09 * heat_capacity)),
            source: SourceId("hurst-1992".to_owned()),
            locator: "element contributions (solid)".to_owned(),
            seen: Seen::Estimated,
        }),
        entropy: None,
        enthalpy_of_solution: None,
        density: None,
        melting: None,
        thermal_steps: String::new(),
        decomposition_onset: None,
        solubility: None,
        hygroscopic: String::new(),
        water_range: None,
        assay: None,
        gases: None,
        hazards: Hazards {
            signal: "see the supplier's sheet".to_owned(),
            statements: Vec::new(),
            source: source(),
            seen: Seen::Estimated,
        },
        toxicity: String::new(),
        alternatives: Vec::new(),
    })
}

/// Refuses what burns by itself, by the heat of its own oxygen and by the oxygen that it lacks.
fn check_harmless(name: &str, n: [f64; 4], formation: f64) -> Result<(), String> {
    let [c, h, _, o] = n;
    let missing = ATOMIC_MASS[3] * (2.0 * c + 0.5 * h - o);
    if missing < LEAST_OXYGEN {
        return Err(format!(
            "{name} is refused: by its analysis it lacks only {missing:.0} g of oxygen per 100 g; \
             such a substance is an oxidiser or an explosive, not a fuel"
        ));
    }
    let steam = o.min(0.5 * h);
    let carbon_dioxide = (0.5 * (o - steam)).min(c);
    let own_heat = formation - steam * STEAM - carbon_dioxide * CARBON_DIOXIDE;
    if own_heat > MOST_OWN_HEAT {
        return Err(format!(
            "{name} is refused: its analysis and heat of combustion leave {:.1} kJ/g to its own \
             oxygen, as explosives do and sugars, starch or protein (below 2) do not; check both, \
             and take one of the tabulated fuels",
            own_heat / 100.0
        ));
    }
    if own_heat < -MOST_OWN_HEAT {
        return Err(format!(
            "the heat of combustion of {name} does not fit its analysis: too small for these \
             elements; give the gross heat of the dry substance without its ash"
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mass percent of a composition.
    fn percent(n: [f64; 4]) -> [f64; 4] {
        let mut m = [0.0; 4];
        for i in 0..4 {
            m[i] = n[i] * ATOMIC_MASS[i];
        }
        let sum: f64 = m.iter().sum();
        m.map(|x| 100.0 * x / sum)
    }

    #[test]
    fn glucose_by_its_analysis_is_glucose() {
        // heat of combustion 2803 kJ/mol (CRC Handbook), C6H12O6 180.16 g/mol
        let gross = 2803.0 / 1.8016;
        let fuel = analysed("glucose", percent([6.0, 12.0, 0.0, 6.0]), gross).unwrap();
        let h = fuel.formation_enthalpy.unwrap().value;
        let per_mole = h.get::<kilojoule_per_mole>() * 1.8016;
        // −1273.3 kJ/mol (CRC Handbook)
        assert!((per_mole + 1273.3).abs() < 1.5, "{per_mole}");
        assert!((fuel.redox_valence.unwrap() * 1.8016 - 24.0).abs() < 0.01);
    }

    #[test]
    fn explosives_are_refused_by_any_name_and_fuels_pass() {
        // formation enthalpy in kJ/mol, composition C, H, N, O: handbook values, recalled
        let explosives = [
            (-67.0, [7.0, 5.0, 3.0, 6.0]),
            (-215.0, [6.0, 3.0, 3.0, 7.0]),
            (-113.0, [1.0, 3.0, 1.0, 2.0]),
            (-539.0, [5.0, 8.0, 4.0, 12.0]),
            (70.0, [3.0, 6.0, 6.0, 6.0]),
            (-92.0, [1.0, 4.0, 4.0, 2.0]),
            (-360.0, [6.0, 12.0, 2.0, 6.0]),
        ];
        let fuels = [
            (-333.1, [1.0, 4.0, 2.0, 1.0]),
            (-528.5, [2.0, 5.0, 1.0, 2.0]),
            (-1543.8, [6.0, 8.0, 0.0, 7.0]),
            (-829.9, [2.0, 2.0, 0.0, 4.0]),
            (124.1, [6.0, 12.0, 4.0, 0.0]),
            (-956.0, [6.0, 10.0, 0.0, 5.0]),
            (-258.0, [2.0, 4.0, 0.0, 1.0]),
        ];
        let outcome = |(formation, n): (f64, [f64; 4])| {
            let mass: f64 = n.iter().zip(ATOMIC_MASS).map(|(n, m)| n * m).sum();
            let gross = (formation - n[0] * CARBON_DIOXIDE - 0.5 * n[1] * WATER) / mass * 100.0;
            analysed("powder of mine", percent(n), gross)
        };
        for case in explosives {
            assert!(outcome(case).is_err(), "{case:?}");
        }
        for case in fuels {
            assert!(outcome(case).is_ok(), "{case:?} {:?}", outcome(case).err());
        }
    }
}
