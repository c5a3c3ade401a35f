//! Phases that change composition: on by default, against what is known of them, and as steady as
//! pure phases.

use emberpot::equilibrium::{SpeciesSet, System, element_amounts};
use emberpot::internal::burn::Burner;
use emberpot::internal::enthalpy::water_states;
use emberpot::quantity::{AmountOfSubstance, ThermodynamicTemperature, standard_pressure};
use emberpot::{Batch, Element, Plan, Tables, plan};
use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use std::collections::BTreeMap;
use std::sync::LazyLock;
use uom::si::amount_of_substance::mole;
use uom::si::energy::joule;
use uom::si::thermodynamic_temperature::kelvin;

/// Amounts of elements, mol.
type Mixed = &'static [(&'static str, f64)];

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

fn amounts(list: &[(&str, f64)]) -> BTreeMap<Element, AmountOfSubstance> {
    let element = |symbol| Element::from_symbol(symbol).unwrap();
    list.iter()
        .map(|(e, n)| (element(e), AmountOfSubstance::new::<mole>(*n)))
        .collect()
}

#[test]
fn ceria_gives_off_oxygen_as_measured() {
    // δ of CeO2−δ, temperature, log10(p O2/bar), from memory. The first sets the table; the second
    // is the isotherm of Panlener, Blumenthal and Garnier, J. Phys. Chem. Solids 36 (1975) 1213.
    // One decade: the ideal solution has the slope −1/4, measured −1/5 to −1/6.
    for (delta, t, measured) in [(0.066, 1773.15, -5.0), (0.01, 1273.15, -12.0)] {
        let mix = amounts(&[("Ce", 1.0), ("O", 2.0 - delta)]);
        let elements: Vec<Element> = mix.keys().copied().collect();
        let found = System::new(&TABLES, &elements, SpeciesSet::Full, true)
            .equilibrium(
                &mix,
                ThermodynamicTemperature::new::<kelvin>(t),
                standard_pressure(),
            )
            .unwrap();
        let log = found.log10_oxygen_pressure.unwrap();
        assert!((log - measured).abs() < 1.0, "{delta} at {t} K: {log}");
    }
}

#[test]
fn ceria_takes_up_little_zirconia() {
    // The regular solution of Lee et al., J. Mater. Res. 23 (2008), with +51.0 kJ/mol, solved for
    // the zirconium that cubic ceria holds beside monoclinic zirconia at 1400 K:
    // RT ln x + 51 (1 − x)² − T ΔS = 0 with 6.6 J/(mol K) for the change of form: x = 0.039. Within
    // a factor of two: here the interaction does not fall with x.
    let mix = amounts(&[("Ce", 0.8), ("Zr", 0.2), ("O", 2.0 + 0.4), ("N", 1.5)]);
    let elements: Vec<Element> = mix.keys().copied().collect();
    let t = ThermodynamicTemperature::new::<kelvin>(1400.0);
    let mut system = System::new(&TABLES, &elements, SpeciesSet::Full, true);
    let found = system.equilibrium(&mix, t, standard_pressure()).unwrap();
    let of = |id: &str| {
        let found = found.amounts.iter().find(|s| s.id == id);
        found.map_or(0.0, |s| s.amount.get::<mole>())
    };
    let (ceria, zirconia) = (of("CeO2(cr)"), of("ZrO2(cr,fluorite)"));
    let x = zirconia / (ceria + zirconia);
    assert!((0.019..0.078).contains(&x), "x = {x}");
}

/// A manganite at equilibrium.
struct Manganite {
    /// log10(p O2/bar).
    log: f64,
    /// Share of the manganese in the perovskite.
    share: f64,
    /// Oxygen per manganese of the perovskite.
    oxygen: f64,
}

/// La1-xSrxMnO(3-δ) with this much air, mol.
fn manganite(x: f64, delta: f64, air: f64, t: f64) -> Manganite {
    let mix = amounts(&[
        ("La", 1.0 - x),
        ("Sr", x),
        ("Mn", 1.0),
        ("O", 3.0 - delta + 2.0 * 0.21 * air),
        ("N", 2.0 * 0.79 * air),
    ]);
    let elements: Vec<Element> = mix.keys().copied().collect();
    let t = ThermodynamicTemperature::new::<kelvin>(t);
    let mut system = System::new(&TABLES, &elements, SpeciesSet::Full, true);
    let found = system.equilibrium(&mix, t, standard_pressure()).unwrap();
    let (mut share, mut oxygen) = (0.0, 0.0);
    for species in &found.amounts {
        let starts = |name: &&str| species.id.starts_with(*name);
        if ["LaMnO3", "SrMnO3", "SrMnO2.5"].iter().any(starts) {
            let formula = &TABLES.species_by_id(&species.id).unwrap().formula;
            let n = species.amount.get::<mole>();
            share += n;
            oxygen += n * formula.amount_of(Element::OXYGEN);
        }
    }
    Manganite {
        log: found.log10_oxygen_pressure.unwrap(),
        share,
        oxygen: oxygen / share,
    }
}

/// Oxygen potential and share of the perovskite, without air.
fn over_manganite(x: f64, delta: f64, t: f64) -> (f64, f64) {
    let found = manganite(x, delta, 0.0, t);
    (found.log, found.share)
}

#[test]
fn strontium_manganites_are_one_perovskite_until_they_are_reduced() {
    // Made in air at 1250 °C as one phase (La0.8Sr0.2MnO3, Channu et al., New J. Glass Ceram. 3
    // (2013) 29, abstract); oxygen near 3.00 over decades of pressure at x = 0.4 and loss before
    // they fall apart (Mizusaki et al., Solid State Ionics 49 (1991) 111, abstract).
    let in_air = |x, t| {
        let found = manganite(x, 0.0, 100.0, t);
        assert!(found.share > 0.999, "{x}: {}", found.share);
        found.oxygen
    };
    in_air(0.2, 1523.0);
    // Strontium takes the place of the oxygen above 3.00.
    let oxygen = [0.0, 0.2, 0.4].map(|x| in_air(x, 1273.0));
    assert!(oxygen.is_sorted_by(|a, b| a > b), "{oxygen:?}");
    // Measured 3.00 at x = 0.4, by thermogravimetry (0.01 as such work is done): a miss, told in
    // DEVELOPERS.md. Who mends the model finds it met here and takes it off that list.
    assert!((oxygen[2] - 3.0).abs() > 0.01, "{oxygen:?}");
    // At x = 0.4 the oxygen stays within 0.02 of 3.00 for decades below air, then it is lost step by
    // step while the perovskite holds.
    let logs = [0.02, 0.05, 0.1].map(|delta| {
        let (log, share) = over_manganite(0.4, delta, 1273.0);
        assert!(share > 0.99, "{delta}: {share}");
        log
    });
    assert!(
        logs[0] < -3.0 && logs.is_sorted_by(|a, b| a > b),
        "{logs:?}"
    );
    // To MnO at 1e-15 bar without strontium (Jacob and Attaluri 2003: -15.0 at 1273 K), at more with
    // it. The first sets the lanthanum member, the second is one decade: the strontium member was
    // set to it.
    let broken = [0.0, 0.2, 0.4].map(|x| {
        let (log, share) = over_manganite(x, 0.5 * x + 0.1, 1273.0);
        assert!(share < 0.99, "{x}: {share}");
        log
    });
    assert!((broken[0] + 15.0).abs() < 0.3, "{broken:?}");
    assert!((broken[1] - broken[0]).abs() < 1.0, "{broken:?}");
    assert!(broken[2] < logs[2], "{broken:?}");
}

#[test]
fn lanthanum_manganite_takes_up_oxygen() {
    // δ = 0.07 at 1273 K in 1 bar sets the table (remembered); in air at 873 to 1000 K the powder
    // holds up to 0.18 (remembered).
    let (log, _) = over_manganite(0.0, -0.07, 1273.0);
    assert!(log.abs() < 1.0, "{log}");
    let (log, share) = over_manganite(0.0, -0.15, 950.0);
    assert!(log < 0.0 && share > 0.999, "{log}, {share}");
}

#[test]
fn nickel_zinc_ferrite_stays_spinel_in_air() {
    // It is sintered at 1200 to 1350 °C in air and stays a spinel: common practice.
    let mix = amounts(&[
        ("Ni", 0.5),
        ("Zn", 0.5),
        ("Fe", 2.0),
        ("O", 4.0 + 2.0),
        ("N", 7.52),
    ]);
    let elements: Vec<Element> = mix.keys().copied().collect();
    for t in [1300.0, 1500.0] {
        let found = System::new(&TABLES, &elements, SpeciesSet::Full, true)
            .equilibrium(
                &mix,
                ThermodynamicTemperature::new::<kelvin>(t),
                standard_pressure(),
            )
            .unwrap();
        let spinel: f64 = found
            .amounts
            .iter()
            .filter(|s| ["NiFe2O4(cr)", "ZnFe2O4(cr)", "Fe3O4(cr)"].contains(&s.id.as_str()))
            .map(|s| s.amount.get::<mole>())
            .sum();
        assert!(spinel > 0.95, "{spinel} mol of spinel at {t} K");
    }
}

fn text(metals: &[&str], urea: f64, more: &str) -> String {
    let salts: String = metals
        .iter()
        .map(|salt| format!("[[ingredient]]\nsubstance = \"{salt}\"\namount = \"5 mmol\"\n"))
        .collect();
    format!("{salts}[[ingredient]]\nsubstance = \"urea\"\namount = \"{urea} mmol\"\n{more}")
}

fn planned(text: &str) -> Plan<'static> {
    plan(&Batch::parse(text, "test", &TABLES).unwrap(), &TABLES).unwrap()
}

#[test]
fn asking_for_solutions_that_are_not_there_is_told() {
    let on = "[conditions]\nsolid_solutions = true\n";
    let told = |text: &str| {
        let failures = planned(text).failures;
        failures.iter().any(|line| line.contains("solid solution"))
    };
    let alumina = text(&["Al(NO3)3·9H2O"], 12.5, on);
    assert!(told(&alumina));
    assert!(!told(&text(&["Al(NO3)3·9H2O"], 12.5, "")));
    assert!(!told(&text(&["Ni(NO3)2·6H2O", "Mg(NO3)2·6H2O"], 16.0, on)));
}

#[test]
fn what_settles_as_pure_phases_settles_with_solutions() {
    let salts = [
        "Ni(NO3)2·6H2O",
        "Co(NO3)2·6H2O",
        "Mg(NO3)2·6H2O",
        "Zn(NO3)2·6H2O",
        "Mn(NO3)2·4H2O",
        "Fe(NO3)3·9H2O",
        "Al(NO3)3·9H2O",
        "Ce(NO3)3·6H2O",
        "Gd(NO3)3·6H2O",
    ];
    let (mut tried, mut wrong) = (0, Vec::new());
    for (at, first) in salts.iter().enumerate() {
        for second in &salts[..at] {
            for urea in [12.0, 18.0, 30.0, 60.0] {
                let burnt = |more: &str| -> Vec<bool> {
                    let text = text(&[first, second], urea, more);
                    let batch = Batch::parse(&text, "test", &TABLES).unwrap();
                    let mut burner = Burner::new(&batch, &TABLES).unwrap();
                    let states = water_states(&batch, None);
                    let settled = |state| burner.burn(state).unwrap().equilibrium.is_ok();
                    states.iter().map(settled).collect()
                };
                let pure = burnt("[conditions]\nsolid_solutions = false\n");
                for (state, (mixed, pure)) in burnt("").into_iter().zip(pure).enumerate() {
                    tried += 1;
                    if pure && !mixed {
                        wrong.push(format!("{first} {second} {urea} state {state}"));
                    }
                }
            }
        }
    }
    assert!(tried > 400);
    assert!(
        wrong.is_empty(),
        "{} of {tried}: {}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Amounts in mol of the condensed species of a mixture at equilibrium.
fn settled(list: &[(&str, f64)], t: f64) -> Vec<(String, Option<String>, f64)> {
    let mix = amounts(list);
    let elements: Vec<Element> = mix.keys().copied().collect();
    let mut system = System::new(&TABLES, &elements, SpeciesSet::Full, true);
    let t = ThermodynamicTemperature::new::<kelvin>(t);
    let found = system.equilibrium(&mix, t, standard_pressure()).unwrap();
    for (symbol, n) in list {
        // what goes in comes out: the kernel counts members by the ions that mix
        let element = Element::from_symbol(symbol).unwrap();
        let of = |id: &str| TABLES.species_by_id(id).unwrap().formula.amount_of(element);
        let sum: f64 = found
            .amounts
            .iter()
            .map(|s| of(&s.id) * s.amount.get::<mole>())
            .sum();
        assert!(
            (sum - n).abs() < 1e-8 * n.max(1.0),
            "{symbol}: {sum} of {n}"
        );
    }
    found
        .condensed()
        .map(|s| (s.id.clone(), s.solution.clone(), s.amount.get::<mole>()))
        .collect()
}

#[test]
fn doped_powders_are_one_phase() {
    // Lamp phosphors, laser hosts, electrolytes and pigments that are sold as one phase (common
    // practice), at 1500 to 1900 K in nitrogen with a little oxygen: N2 40 mol, O2 0.1 mol.
    let cases: [(&str, f64, Mixed); 11] = [
        (
            "rare-earth oxide",
            1700.0,
            &[("Y", 1.9), ("Eu", 0.1), ("O", 3.0)],
        ),
        (
            "rare-earth oxide",
            1700.0,
            &[("Y", 1.0), ("Gd", 0.9), ("Eu", 0.1), ("O", 3.0)],
        ),
        (
            "garnet",
            1900.0,
            &[("Y", 2.94), ("Ce", 0.06), ("Al", 5.0), ("O", 12.0)],
        ),
        (
            "garnet",
            1700.0,
            &[("Y", 2.85), ("Nd", 0.15), ("Al", 5.0), ("O", 12.0)],
        ),
        (
            "garnet",
            1700.0,
            &[("Y", 2.85), ("Eu", 0.15), ("Al", 5.0), ("O", 12.0)],
        ),
        ("fluorite", 1700.0, &[("Ce", 0.8), ("Sm", 0.2), ("O", 1.9)]),
        (
            "stabilised zirconia",
            1700.0,
            &[("Zr", 0.84), ("Y", 0.16), ("O", 1.92)],
        ),
        (
            "corundum",
            1500.0,
            &[("Al", 1.98), ("Cr", 0.02), ("O", 3.0)],
        ),
        (
            "spinel",
            1500.0,
            &[("Mg", 1.0), ("Al", 1.6), ("Cr", 0.4), ("O", 4.0)],
        ),
        (
            "monazite",
            1500.0,
            &[("La", 0.95), ("Eu", 0.05), ("P", 1.0), ("O", 4.0)],
        ),
        (
            "zinc oxide",
            1500.0,
            &[("Zn", 0.95), ("Co", 0.05), ("O", 1.0)],
        ),
    ];
    for (name, t, list) in cases {
        let mut list = list.to_vec();
        let oxygen = list.iter_mut().find(|(e, _)| *e == "O").unwrap();
        oxygen.1 += 0.2;
        list.push(("N", 80.0));
        let found = settled(&list, t);
        let all: f64 = found.iter().map(|s| s.2).sum();
        let within: f64 = found
            .iter()
            .filter(|s| s.1.as_deref() == Some(name))
            .map(|s| s.2)
            .sum();
        assert!(within > 0.97 * all, "{name}: {found:?}");
    }
}

#[test]
fn garnet_holds_as_much_neodymium_as_was_found() {
    // 18 % of the yttrium at 1200 °C (Bakradze, as quoted by Klimm et al. 2006), which sets the
    // neodymium member. The rest lies beside it as NdAlO3, in this table without yttrium: within 4 %.
    let found = settled(
        &[
            ("Y", 2.0),
            ("Nd", 1.0),
            ("Al", 5.0),
            ("O", 12.2),
            ("N", 40.0),
        ],
        1473.15,
    );
    let of = |id: &str| found.iter().find(|s| s.0 == id).map_or(0.0, |s| s.2);
    let (y, nd) = (of("Y3Al5O12(cr)"), of("Nd3Al5O12(cr,garnet)"));
    let x = nd / (y + nd);
    assert!((0.14..0.22).contains(&x), "{x}");
}

#[test]
fn garnet_holds_as_much_cerium_as_was_found() {
    // 7.5 % at 1450 °C in nitrogen (Liu et al., Chin. Phys. B 23 (2014) 048106, abstract). The cerium
    // member rests on neodymium and the radii alone, ± 20 kJ for three ions: a factor 1.6 at 1723 K.
    let found = settled(
        &[
            ("Y", 2.4),
            ("Ce", 0.6),
            ("Al", 5.0),
            ("O", 12.0),
            ("N", 40.0),
        ],
        1723.15,
    );
    let of = |id: &str| found.iter().find(|s| s.0 == id).map_or(0.0, |s| s.2);
    let (y, ce) = (of("Y3Al5O12(cr)"), of("Ce3Al5O12(cr,garnet)"));
    let x = ce / (y + ce);
    assert!((0.075 / 1.6..0.075 * 1.6).contains(&x), "{x}: {found:?}");
}

#[test]
fn guests_do_not_form_without_their_host() {
    let found = settled(&[("La", 1.9), ("Eu", 0.1), ("O", 3.2), ("N", 40.0)], 1500.0);
    assert!(
        found.iter().all(|s| !s.0.ends_with(",fluorite)")),
        "{found:?}"
    );
    let mix = amounts(&[("Nd", 3.0), ("Al", 5.0), ("O", 12.0)]);
    let elements: Vec<Element> = mix.keys().copied().collect();
    for solutions in [true, false] {
        let system = System::new(&TABLES, &elements, SpeciesSet::Full, solutions);
        assert!(
            system.solid_solutions().is_empty(),
            "no garnet of neodymium alone"
        );
    }
}

#[test]
fn enthalpy_rises_with_temperature_through_the_solutions() {
    for list in [
        [
            ("Y", 2.94),
            ("Ce", 0.06),
            ("Al", 5.0),
            ("O", 12.2),
            ("N", 40.0),
        ],
        [
            ("Zr", 0.84),
            ("Y", 0.16),
            ("Ce", 0.1),
            ("O", 2.3),
            ("N", 40.0),
        ],
        [
            ("Zn", 0.9),
            ("Co", 0.1),
            ("Al", 2.0),
            ("O", 4.2),
            ("N", 40.0),
        ],
    ] {
        let mix = amounts(&list);
        let elements: Vec<Element> = mix.keys().copied().collect();
        let mut system = System::new(&TABLES, &elements, SpeciesSet::Full, true);
        let mut last = f64::NEG_INFINITY;
        for step in 0..35 {
            let t = ThermodynamicTemperature::new::<kelvin>(800.0 + 50.0 * f64::from(step));
            let found = system.equilibrium(&mix, t, standard_pressure()).unwrap();
            let h = found.enthalpy.get::<joule>();
            assert!(h > last, "{list:?} at {t:?}");
            last = h;
        }
    }
}

/// Crystals of one solution in random amounts, with oxygen and nitrogen, at random temperatures.
#[test]
fn random_mixtures_of_solid_solutions_settle() {
    let mut random = StdRng::seed_from_u64(0x736f_6c69);
    let one = |n: f64| AmountOfSubstance::new::<mole>(n);
    let [oxygen, nitrogen] = ["O2", "N2"].map(|gas| &TABLES.species_by_id(gas).unwrap().formula);
    let (mut solved, mut failed) = (0, Vec::new());
    for solution in TABLES.solutions.iter() {
        let forms: Vec<&String> = solution.members.iter().chain(&solution.guests).collect();
        for _ in 0..60 {
            let count = random.random_range(2..=4.min(forms.len()));
            let parts: Vec<_> = (0..count)
                .map(|_| {
                    (
                        forms.choose(&mut random).unwrap(),
                        random.random_range(0.02..1.0),
                    )
                })
                .collect();
            let solids = parts.iter().map(|(id, n)| {
                let species = TABLES.species_by_id(id).unwrap();
                (&species.formula, one(*n))
            });
            let gases = [(oxygen, one(0.5)), (nitrogen, one(2.0))];
            let mix = element_amounts(solids.chain(gases));
            let elements: Vec<Element> = mix.keys().copied().collect();
            let mut system = System::new(&TABLES, &elements, SpeciesSet::Full, true);
            for _ in 0..4 {
                let t = random.random_range(700.0..2800.0);
                solved += 1;
                let at = ThermodynamicTemperature::new::<kelvin>(t);
                if let Err(error) = system.equilibrium(&mix, at, standard_pressure()) {
                    failed.push(format!("{} {t:.1} K {parts:?}: {error}", solution.name));
                }
            }
        }
    }
    println!(
        "{solved} mixtures of solid solutions: {} failed",
        failed.len()
    );
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}

/// Targets by what the tables hold of them; a stoichiometric one comes out pure, whatever bottles err by.
#[test]
fn a_target_without_data_is_told_from_a_solution_and_from_a_phase() {
    let [y, al, la] = ["Y(NO3)3·6H2O", "Al(NO3)3·9H2O", "La(NO3)3·6H2O"];
    let [ce, gd, ti] = ["Ce(NO3)3·6H2O", "Gd(NO3)3·6H2O", "TiO(NO3)2"];
    for (target, salts, model) in [
        ("Y3Al5O12", [y, al], "Tabulated"),
        ("Ce0.8Gd0.2O1.9", [ce, gd], "EndMembers"),
        ("La2Ti2O7", [la, ti], "NoPhase"),
    ] {
        let mut text = format!(
            "[target]\nformula = \"{target}\"\nproduct_mass = \"1 g\"\nequivalence_ratio = 1\n"
        );
        for substance in salts.iter().chain(&["glycine"]) {
            text += &format!("[[ingredient]]\nsubstance = \"{substance}\"\n");
        }
        let plan = planned(&text);
        assert_eq!(format!("{:?}", plan.product.model), model, "{target}");
        let peak = plan.powder.first().unwrap();
        if model == "Tabulated" {
            // less than a millionth of the powder is rounding
            let there = peak
                .own_gas
                .condensed()
                .filter(|s| s.amount.get::<mole>() > 1e-8);
            let found: Vec<_> = there.map(|s| &s.id).collect();
            assert_eq!(found, ["Y3Al5O12(cr)"]);
        }
    }
}
