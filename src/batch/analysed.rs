//! A fuel known by its analysis alone: C, H, N, O in mass percent and the heat of combustion.
//!
//! For polymers, sugars, gums and plant extracts. With the masses m of the elements in 100 g and
//! the gross heat of combustion Q (to CO2, N2 and liquid water, 25 °C),
//! Δ_fH = −Q + n_C Δ_fH°(CO2) + ½ n_H Δ_fH°(H2O, l), per 100 g.
//!
//! Above the heat of its own oxygen in `tables/analysed_fuels.toml`, or with less oxygen to come from
//! outside than there, such a substance is refused, whatever it is called.

use super::section::Section;
use crate::formula::{Element, Formula};
use crate::quantity::units::{kilojoule_per_kilogram, kilojoule_per_mole};
use crate::quantity::{MolarEnergy, MolarHeatCapacity, parse, reference_temperature};
use crate::source::{Seen, SourceId};
use crate::tables::reactants::Hazards;
use crate::tables::unit::JoulePerMoleKelvin;
use crate::tables::{AnalysedFuels, Cited, Reactant, Role, State, Tables};

/// The fuel that `analysis` and `heat_of_combustion` describe, or `None` if the file has neither
/// or a mistake was noted.
pub(super) fn fuel(section: &Section<'_>, name: &str, tables: &Tables) -> Option<Reactant> {
    let heats = "0.5 MJ/kg and 50 MJ/kg";
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
    match Analysis::new(percent, gross, tables).and_then(|analysis| analysis.fuel(name)) {
        Ok(fuel) => Some(fuel),
        Err(message) => {
            section.mistake(span, message);
            None
        }
    }
}

/// 100 g of a fuel.
struct Analysis<'t> {
    rules: &'t AnalysedFuels,
    /// mol of C, H, N and O
    amounts: [f64; 4],
    /// Sum of the analysis as written, percent.
    sum: f64,
    /// Gross heat of combustion, kJ.
    gross: f64,
    /// Enthalpies of formation of CO2, liquid water and steam at 25 °C, kJ/mol.
    products: [f64; 3],
}

/// The elements in the order of an analysis.
const ELEMENTS: [Element; 4] = [
    Element::CARBON,
    Element::HYDROGEN,
    Element::NITROGEN,
    Element::OXYGEN,
];

impl<'t> Analysis<'t> {
    /// `percent` of C, H, N and O by mass, `gross` in kJ per 100 g.
    fn new(percent: [f64; 4], gross: f64, tables: &'t Tables) -> Result<Self, String> {
        let sum: f64 = percent.iter().sum();
        let mut amounts = [0.0; 4];
        for i in 0..4 {
            amounts[i] = 100.0 * percent[i] / sum / ELEMENTS[i].atomic_weight();
        }
        let mut products = [0.0; 3];
        for (value, id) in products.iter_mut().zip(["CO2", "H2O(l)", "H2O"]) {
            let species = tables.species_by_id(id);
            let enthalpy = species.and_then(|s| s.molar_enthalpy(reference_temperature()).ok());
            let Some(enthalpy) = enthalpy else {
                return Err(format!("the tables hold no {id}"));
            };
            *value = enthalpy.get::<kilojoule_per_mole>();
        }
        Ok(Self {
            rules: &tables.analysed_fuels,
            amounts,
            sum,
            gross,
            products,
        })
    }

    /// The fuel of 100 g per formula unit.
    fn fuel(&self, name: &str) -> Result<Reactant, String> {
        let limits = &self.rules.limits;
        let within = limits.sum_within.written();
        if (self.sum - 100.0).abs() > within {
            return Err(format!(
                "the analysis of {name} sums to {:.1} %; give C, H, N and O of the dry substance \
                 without its ash, which sum to 100 %",
                self.sum
            ));
        }
        let [c, h, nitrogen, o] = self.amounts;
        if c <= 0.0 {
            return Err(format!("{name} has no carbon: it is no organic fuel"));
        }
        self.check_harmless(name)?;
        let text = format!("C{c:.4}H{h:.4}N{nitrogen:.4}O{o:.4}");
        let text = text.replace("H0.0000", "").replace("N0.0000", "");
        let formula =
            Formula::parse(text.trim_end_matches("O0.0000")).map_err(|e| e.to_string())?;
        let source = || SourceId("batch-file".to_owned());
        let band = limits.heat_band.value * MolarEnergy::new::<kilojoule_per_mole>(self.gross);
        Ok(Reactant {
            hazard_groups: Vec::new(),
            id: format!("analysed_{}", name.trim()),
            name: name.trim().to_owned(),
            aliases: Vec::new(),
            formula,
            cas: None,
            cas_seen: None,
            role: Role::Fuel,
            usual_hydrate: false,
            state: State::Solid,
            metal: None,
            redox_valence: Some(4.0 * c + h - 2.0 * o),
            formation_enthalpy: Some(Cited {
                value: MolarEnergy::new::<kilojoule_per_mole>(self.formation()),
                uncertainty: Some(band),
                source: source(),
                locator: "heat of combustion and analysis of the file, per 100 g".to_owned(),
                seen: Seen::Computed,
            }),
            heat_capacity: Some(self.heat_capacity()),
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

    /// Formation enthalpy, kJ per 100 g.
    fn formation(&self) -> f64 {
        let [c, h, ..] = self.amounts;
        let [carbon_dioxide, water, _] = self.products;
        self.gross + c * carbon_dioxide + 0.5 * h * water
    }

    fn heat_capacity(&self) -> Cited<JoulePerMoleKelvin> {
        let each = &self.rules.heat_capacity;
        let each = [&each.c, &each.h, &each.n, &each.o];
        let terms = self
            .amounts
            .iter()
            .zip(each)
            .map(|(n, each)| *n * each.value);
        let value = terms.fold(MolarHeatCapacity::default(), |sum, term| sum + term);
        Cited {
            value,
            uncertainty: Some(self.rules.limits.heat_capacity_band.value * value),
            source: each[0].source.clone(),
            locator: "element contributions (solid)".to_owned(),
            seen: Seen::Estimated,
        }
    }

    /// Refuses what burns by itself, by the heat of its own oxygen and by the oxygen that it lacks.
    fn check_harmless(&self, name: &str) -> Result<(), String> {
        let [c, h, _, o] = self.amounts;
        let missing = Element::OXYGEN.atomic_weight() * (2.0 * c + 0.5 * h - o);
        // of 100 g, so grams are percent
        if missing < self.rules.limits.outside_oxygen.written() {
            return Err(format!(
                "{name} is refused: by its analysis it lacks only {missing:.0} g of oxygen per 100 g; \
                 such a substance is an oxidiser or an explosive, not a fuel"
            ));
        }
        let [carbon_dioxide, _, steam] = self.products;
        let as_steam = o.min(0.5 * h);
        let as_dioxide = (0.5 * (o - as_steam)).min(c);
        let own_heat = self.formation() - as_steam * steam - as_dioxide * carbon_dioxide;
        // kJ per 100 g
        let most = self.rules.limits.own_heat.written() / 10.0;
        if own_heat > most {
            return Err(format!(
                "{name} is refused: its analysis and heat of combustion leave {:.1} kJ/g to its own \
                 oxygen, as explosives do and sugars, starch or protein (below 2) do not; check \
                 both, and take one of the tabulated fuels",
                own_heat / 100.0
            ));
        }
        if own_heat < -most {
            return Err(format!(
                "the heat of combustion of {name} does not fit its analysis: too small for these \
                 elements; give the gross heat of the dry substance without its ash"
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mass percent of a composition.
    fn percent(n: [f64; 4]) -> [f64; 4] {
        let mut m = [0.0; 4];
        for i in 0..4 {
            m[i] = n[i] * ELEMENTS[i].atomic_weight();
        }
        let sum: f64 = m.iter().sum();
        m.map(|x| 100.0 * x / sum)
    }

    #[test]
    fn glucose_by_its_analysis_is_glucose() {
        // heat of combustion 2803 kJ/mol (CRC Handbook), C6H12O6 180.16 g/mol
        let gross = 2803.0 / 1.8016;
        let tables = Tables::built_in().unwrap();
        let analysis = Analysis::new(percent([6.0, 12.0, 0.0, 6.0]), gross, &tables).unwrap();
        let fuel = analysis.fuel("glucose").unwrap();
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
        let tables = Tables::built_in().unwrap();
        let outcome = |(formation, n): (f64, [f64; 4])| {
            let mass: f64 = n
                .iter()
                .zip(ELEMENTS)
                .map(|(n, e)| n * e.atomic_weight())
                .sum();
            // CO2 −393.51 and liquid water −285.83 kJ/mol (CODATA key values)
            let gross = (formation + n[0] * 393.51 + 0.5 * n[1] * 285.83) / mass * 100.0;
            Analysis::new(percent(n), gross, &tables)?.fuel("powder of mine")
        };
        for case in explosives {
            assert!(outcome(case).is_err(), "{case:?}");
        }
        for case in fuels {
            assert!(outcome(case).is_ok(), "{case:?} {:?}", outcome(case).err());
        }
    }
}
