//! Batches made up for tests of laws: spinels, perovskites and single oxides with usual and unusual
//! fuels, ratios, waters, heating ways and vessels. All numbers invented.

use emberpot::Tables;
use emberpot::internal::tables::{Reactant, Role};

/// A generator of numbers from 0 to 1, the same on every machine.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn number(&mut self) -> f64 {
        // xorshift64*, 53 bits of it
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn one_of<'a, T>(&mut self, list: &'a [T]) -> &'a T {
        &list[(self.number() * list.len() as f64) as usize]
    }
}

const TARGETS: [(&str, &[&str]); 8] = [
    ("ZnAl2O4", &["Zn(NO3)2·6H2O", "Al(NO3)3·9H2O"]),
    ("MgAl2O4", &["Mg(NO3)2·6H2O", "Al(NO3)3·9H2O"]),
    ("Al2O3", &["Al(NO3)3·9H2O"]),
    ("LaMnO3", &["La(NO3)3·6H2O", "Mn(NO3)2·4H2O"]),
    ("CuO", &["Cu(NO3)2·3H2O"]),
    ("NiO", &["Ni(NO3)2·6H2O"]),
    ("Y2O3", &["Y(NO3)3·6H2O"]),
    ("CaAl2O4", &["Ca(NO3)2·4H2O", "Al(NO3)3·9H2O"]),
];
const FUELS: [&str; 5] = ["urea", "glycine", "citric acid", "sucrose", "alanine"];
const HEATINGS: [&str; 5] = [
    "",
    "",
    "[heating]\nway = \"muffle furnace\"\ntemperature = \"500 °C\"\n",
    "[heating]\nway = \"hot plate\"\n",
    "[heating]\nway = \"microwave oven\"\n",
];
const WATERS: [&str; 4] = [
    "",
    "",
    "[water]\nleft_at_ignition = \"10 %\"\n",
    "[water]\nleft_at_ignition = 0.3\n",
];
const VESSELS: [&str; 4] = [
    "",
    "[vessel]\nname = \"640 mL evaporating dish\"\n",
    "[vessel]\nname = \"250 mL beaker\"\n",
    "[vessel]\nname = \"250 mL beaker\"\ncover = \"lid\"\n",
];

/// One batch file.
pub fn batch(dice: &mut Dice) -> String {
    let (formula, salts) = *dice.one_of(&TARGETS);
    let ingredients: String = salts
        .iter()
        .chain([dice.one_of(&FUELS)])
        .map(|substance| format!("[[ingredient]]\nsubstance = \"{substance}\"\n"))
        .collect();
    format!(
        "name = \"made-up {formula}\"\n[target]\nformula = \"{formula}\"\n\
         product_mass = \"{:.2} g\"\nequivalence_ratio = {:.3}\n{ingredients}\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"{:.1} mL\"\n{}{}{}",
        0.3 + 1.2 * dice.number(),
        0.5 + 1.5 * dice.number(),
        2.0 + 15.0 * dice.number(),
        dice.one_of(&WATERS),
        dice.one_of(&HEATINGS),
        dice.one_of(&VESSELS),
    )
}

/// `count` batch files, the same for the same `seed`.
pub fn batches(count: usize, seed: u64) -> Vec<String> {
    let mut dice = Dice::new(seed);
    (0..count).map(|_| batch(&mut dice)).collect()
}

/// A batch as weighed of any nitrates and fuels of the tables, amounts from milligrams to grams and
/// fuel ratios from far too lean to far too rich.
fn weighed(dice: &mut Dice, tables: &Tables) -> String {
    let of_role = |role| -> Vec<&Reactant> {
        let rows = tables.reactants.iter();
        rows.filter(|row| row.role == role && row.formation_enthalpy.is_some())
            .collect()
    };
    let (oxidisers, fuels) = (of_role(Role::Oxidiser), of_role(Role::Fuel));
    let mut text = String::from("name = \"as weighed\"\n");
    let mut ingredient = |id: &str, mass: f64| {
        text += &format!("[[ingredient]]\nsubstance = \"{id}\"\nmass = \"{mass:.4e} g\"\n");
    };
    // A part of 1 in 8 is a dopant.
    let scale = 10.0_f64.powf(-1.5 + 2.0 * dice.number());
    for _ in 0..1 + (2.99 * dice.number()) as usize {
        let dopant = if dice.number() < 0.125 { 1e-3 } else { 1.0 };
        let mass = scale * dopant * (0.2 + dice.number());
        ingredient(&dice.one_of(&oxidisers).id, mass);
    }
    let lean_or_rich = 10.0_f64.powf(-1.2 + 1.8 * dice.number());
    ingredient(&dice.one_of(&fuels).id, scale * lean_or_rich);
    if dice.number() < 0.6 {
        ingredient("water", scale * (1.0 + 9.0 * dice.number()));
    }
    format!("{text}{}{}", dice.one_of(&HEATINGS), dice.one_of(&WATERS))
}

/// `count` batches as weighed, the same for the same `seed` and tables.
pub fn weighed_batches(count: usize, seed: u64, tables: &Tables) -> Vec<String> {
    let mut dice = Dice::new(seed);
    (0..count).map(|_| weighed(&mut dice, tables)).collect()
}
