//! Laws of the bench sheet over random batches.

use emberpot::{Batch, Element, Sheet, SheetOptions, Tables, sheet};
use proptest::prelude::*;
use std::sync::OnceLock;
use uom::si::mass::gram;
use uom::si::ratio::ratio;

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

fn made(text: &str) -> Sheet {
    let batch = Batch::parse(text, "law", tables()).unwrap_or_else(|e| panic!("{e}\n{text}"));
    sheet(&batch, tables(), &SheetOptions::default()).unwrap()
}

/// A spinel with a random cobalt share, fuel ratio, mass and assays.
fn target(cobalt: f64, phi: f64, mass_g: f64, assays: [f64; 4]) -> String {
    let zinc = 1.0 - cobalt;
    let mut text = format!(
        "[target]\nformula = \"Co{cobalt:.4}Zn{zinc:.4}Al2O4\"\nproduct_mass = \"{mass_g} g\"\n\
         equivalence_ratio = {phi}\n"
    );
    let names = ["Co(NO3)2·6H2O", "Zn(NO3)2·6H2O", "Al(NO3)3·9H2O", "glycine"];
    for (name, assay) in names.iter().zip(assays) {
        text += &format!("[[ingredient]]\nsubstance = \"{name}\"\nassay = {assay}\n");
    }
    text
}

/// The masses of a sheet as a batch that was weighed so.
fn as_weighed(sheet: &Sheet) -> String {
    sheet
        .lines
        .iter()
        .map(|line| {
            let ingredient = &line.ingredient;
            format!(
                "[[ingredient]]\nsubstance = \"{}\"\nassay = {}\nmass = \"{} g\"\n",
                ingredient.reactant.name,
                ingredient.assay.get::<ratio>(),
                ingredient.mass.get::<gram>()
            )
        })
        .collect()
}

fn share(sheet: &Sheet, symbol: &str) -> f64 {
    let metal = Element::from_symbol(symbol).unwrap();
    sheet.bands.metal_shares[&metal].value.get::<ratio>()
}

proptest! {
    // A sheet samples its bands 20 000 times: few cases, as each takes tens of milliseconds.
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    #[test]
    fn weighing_the_sheet_gives_the_target_back(
        cobalt in 0.01..0.99_f64,
        phi in 0.5..3.0_f64,
        mass_g in 0.2..20.0_f64,
        assays in prop::array::uniform4(0.9..1.0_f64),
    ) {
        let forward = made(&target(cobalt, phi, mass_g, assays));
        let back = made(&as_weighed(&forward));
        let phi_back = back.bands.equivalence_ratio.value.get::<ratio>();
        prop_assert!((phi_back / phi - 1.0).abs() < 1e-9, "{phi_back} {phi}");
        // The target's subscripts are written with four decimals.
        let cobalt = (cobalt * 1e4).round() / 1e4;
        prop_assert!((share(&back, "Co") * 3.0 - cobalt).abs() < 1e-4);
        prop_assert!((share(&back, "Al") - 2.0 / 3.0).abs() < 1e-4);
        for metal in ["Co", "Zn", "Al"] {
            prop_assert!((share(&back, metal) - share(&forward, metal)).abs() < 1e-12);
        }
        let product = back.bands.product_mass.value.get::<gram>();
        prop_assert!((product / mass_g - 1.0).abs() < 1e-4, "{product} {mass_g}");
    }

    #[test]
    fn the_order_of_the_file_is_nothing(
        cobalt in 0.01..0.99_f64,
        order in Just([0_usize, 1, 2, 3]).prop_shuffle(),
    ) {
        let whole = target(cobalt, 1.2, 2.0, [0.98; 4]);
        let (head, rest) = whole.split_once("[[ingredient]]").unwrap();
        let parts: Vec<&str> = rest.split("[[ingredient]]").collect();
        let shuffled: String =
            order.iter().map(|at| format!("[[ingredient]]{}", parts[*at])).collect();
        let (a, b) = (made(&whole), made(&format!("{head}{shuffled}")));
        for (x, y) in a.lines.iter().zip(&b.lines) {
            prop_assert_eq!(&x.ingredient.reactant.name, &y.ingredient.reactant.name);
            let (x, y) = (x.ingredient.mass.get::<gram>(), y.ingredient.mass.get::<gram>());
            prop_assert!((x / y - 1.0).abs() < 1e-12);
        }
        let half = |s: &Sheet| s.bands.equivalence_ratio.half_width.get::<ratio>();
        prop_assert!((half(&a) / half(&b) - 1.0).abs() < 1e-6);
    }
}
