//! Impurity budget: sums by hand, laws, mistakes of the file.

use approx::assert_relative_eq;
use emberpot::internal::purity::{Budget, Standing, Trace};
use emberpot::internal::tables::purity::Grade;
use emberpot::quantity::Mass;
use emberpot::{Batch, Element, Prepared, Tables};
use proptest::prelude::*;
use std::sync::LazyLock;
use uom::si::area::square_meter;
use uom::si::mass::{gram, milligram};
use uom::si::ratio::part_per_million;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

/// Zinc aluminate from three bottles and water, each with its label; no vessel.
fn text(zinc: &str, aluminium: &str, urea: &str, water: &str, rest: &str) -> String {
    format!(
        "[[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\nmass = \"2.975 g\"\n{zinc}\n\
         [[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"7.503 g\"\n{aluminium}\n\
         [[ingredient]]\nsubstance = \"urea\"\nmass = \"4 g\"\n{urea}\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"15 mL\"\n{water}\n{rest}"
    )
}

fn budget(text: &str) -> Option<Budget> {
    let batch = Batch::parse(text, "test", &TABLES).unwrap();
    Prepared::new(&batch, &TABLES).unwrap().purity
}

fn trace<'b>(budget: &'b Budget, symbol: &str) -> Option<&'b Trace> {
    let element = Element::from_symbol(symbol).unwrap();
    budget.traces.iter().find(|trace| trace.element == element)
}

fn ppm(trace: &Trace) -> (f64, f64) {
    let of = |x: emberpot::quantity::Ratio| x.get::<part_per_million>();
    (of(trace.content.low), of(trace.content.high))
}

#[test]
fn labels_add_up_as_by_hand() {
    // 10 mmol of Zn and 20 mmol of Al make 10 mmol of ZnAl2O4, 1.8334 g (183.34 g/mol; weights
    // of IUPAC 2021). Iron: 20 ppm of 2.975 g and at most 10 ppm of 7.503 g, 59.5 and 75.03 µg.
    let file = text(
        "impurities = { Fe = \"20 ppm\" }",
        "impurities = { Fe = \"< 10 ppm\" }",
        "",
        "",
        "",
    );
    let budget = budget(&file).unwrap();
    assert_relative_eq!(
        budget.powder_mass.get::<gram>(),
        1.8334,
        max_relative = 1e-3
    );
    let (low, high) = ppm(trace(&budget, "Fe").unwrap());
    assert_relative_eq!(low, 59.5 / 1.8334, max_relative = 1e-3);
    assert_relative_eq!(high, (59.5 + 75.03) / 1.8334, max_relative = 1e-3);
    assert_eq!(budget.traces.len(), 1);
    assert!(budget.not_counted.iter().any(|name| name == "urea"));
}

#[test]
fn distilled_water_brings_what_its_standard_allows() {
    // GOST 6709-72: at most 0.8 mg/L of calcium. 15 mL weigh 14.96 g: 12.0 µg in 1.8334 g.
    let budget = budget(&text("", "", "", "grade = \"distilled\"", "")).unwrap();
    let (_, high) = ppm(trace(&budget, "Ca").unwrap());
    assert_relative_eq!(high, 0.8 * 14.96 / 1.8334, max_relative = 5e-3);
    // Zinc and aluminium are what the batch is made of.
    assert!(trace(&budget, "Zn").is_none() && trace(&budget, "Al").is_none());
}

#[test]
fn cobalt_nitrate_brings_nickel_up_to_its_specification() {
    // GOST 4528-78, first grade: at most 0.01 % of nickel. 0.1 mol of CoO, 7.4932 g, comes from
    // 29.103 g of the hexahydrate: 2.91 mg, 388 ppm.
    let file = "[[ingredient]]\nsubstance = \"Co(NO3)2·6H2O\"\nmass = \"2.9103 g\"\n\
                grade = \"for analysis\"\n\
                [[ingredient]]\nsubstance = \"urea\"\nmass = \"0.8 g\"\n";
    let budget = budget(file).unwrap();
    let mass = budget.powder_mass.get::<gram>();
    let (low, high) = ppm(trace(&budget, "Ni").unwrap());
    assert_relative_eq!(high * mass, 291.03, max_relative = 1e-3);
    assert_relative_eq!(low, high / 10.0, max_relative = 1e-9);
}

#[test]
fn what_leaves_in_part_widens_the_band_to_below() {
    let budget = budget(&text("impurities = { Cl = \"100 ppm\" }", "", "", "", "")).unwrap();
    let portion = &trace(&budget, "Cl").unwrap().portions[0];
    let stays = TABLES.purity.stays(Element::from_symbol("Cl").unwrap());
    // 100 ppm of 2.975 g, of which the upper share stays at most.
    let most = Mass::new::<gram>(2.975e-4) * stays.high;
    assert_relative_eq!(portion.mass.high.value, most.value, max_relative = 1e-9);
    assert!(portion.mass.low < portion.mass.high);
}

#[test]
fn a_wall_sheds_by_its_composition() {
    let rest = "[vessel]\nname = \"250 mL beaker\"\n";
    let budget = budget(&text("", "", "", "grade = \"deionised\"", rest)).unwrap();
    let of_glass = |symbol| {
        let portions = &trace(&budget, symbol).unwrap().portions;
        let glass = portions.iter().find(|p| p.from == "250 mL beaker").unwrap();
        glass.mass
    };
    // 80.6 % SiO2 and 12.6 % B2O3: 37.7 % silicon, 3.91 % boron.
    let silicon = of_glass("Si");
    let boron = of_glass("B");
    assert_relative_eq!(
        (silicon.high / boron.high).value,
        0.806 * 28.085 / 60.083 / (0.126 * 21.62 / 69.617),
        // The table rounds to 0.001: 0.13 % of the silicon, 1.3 % of the boron.
        max_relative = 0.014
    );
    // The whole inner wall of a 250 mL beaker has some 2.5 dm2, so at most 0.2 g/m2 of glass
    // give 5 mg, with 1.9 mg of silicon.
    let shape = &TABLES.safety.vessels.vessel("250 mL beaker").unwrap().shape;
    let wall = shape.inner_area().get::<square_meter>();
    let most = 0.377 * 0.2 * wall * 1e3;
    assert!(silicon.high.get::<milligram>() <= most * (1.0 + 1e-9) && most < 2.0);
    assert!(silicon.low.get::<milligram>() > 0.0);
}

#[test]
fn a_use_selects_its_spoilers_and_no_verdict_is_sharper_than_its_band() {
    let spoilt = "impurities = { Fe = \"300 ppm\" }";
    let wanted = "[wanted]\nuse = \"phosphor\"\ntemperature = \"900 °C\"\n";
    let budget = budget(&text(spoilt, "", "", "", wanted)).unwrap();
    let spoils = &trace(&budget, "Fe").unwrap().spoils;
    assert_eq!(spoils.len(), 1);
    assert_eq!(spoils[0].standing, Standing::Above);
    let open = text("impurities = { Fe = \"< 300 ppm\" }", "", "", "", wanted);
    let budget = self::budget(&open).unwrap();
    assert_eq!(
        trace(&budget, "Fe").unwrap().spoils[0].standing,
        Standing::Open
    );
}

#[test]
fn nothing_stated_gives_no_budget() {
    assert!(budget(&text("", "", "", "", "")).is_none());
}

#[test]
fn the_bottle_that_helps_most_is_the_one_that_brings_most() {
    let file = text(
        "grade = \"high purity\"",
        "grade = \"high purity\"",
        "grade = \"technical\"",
        "grade = \"deionised\"",
        "",
    );
    let better = budget(&file).unwrap().better.unwrap();
    assert_eq!(better.name, "urea");
    assert_eq!((better.from, better.to), (Grade::Technical, Grade::Pure));
    for (_, now, then) in &better.changes {
        assert!(then.high < now.high);
    }
}

#[test]
fn a_better_grade_is_nowhere_worse() {
    for reactant in TABLES.reactants.iter() {
        for grade in Grade::OF_BOTTLES.into_iter().chain(Grade::OF_WATER) {
            let Some(better) = grade.better() else {
                continue;
            };
            let now = TABLES.purity.typical(reactant, grade);
            for (element, then) in TABLES.purity.typical(reactant, better) {
                let now = now.get(&element);
                let sound = now.is_some_and(|now| {
                    then.content.low <= now.content.low && then.content.high <= now.content.high
                });
                assert!(sound, "{element} in {} {better}", reactant.name);
            }
        }
    }
}

#[test]
fn mistakes_of_a_label_are_told_with_what_to_do() {
    let cases = [
        ("grade = \"tap\"", "\"for analysis\""),
        ("impurities = { Qq = \"5 ppm\" }", "no element"),
        ("impurities = { Fe = \"5\" }", "needs its unit"),
        ("impurities = { Fe = 5 }", "\"5 ppm\""),
        ("impurities = { Fe = \"30 %\" }", "0 to 20 %"),
        ("impurities = { Fe = \"-1 ppm\" }", "Fe"),
        (
            "impurities = { Zn = \"5 ppm\" }",
            "part of the substance itself",
        ),
    ];
    for (label, wanted) in cases {
        let error = Batch::parse(&text(label, "", "", "", ""), "test", &TABLES).unwrap_err();
        assert!(error.to_string().contains(wanted), "{label}: {error}");
    }
    let error = Batch::parse(&text("", "", "", "grade = \"pure\"", ""), "test", &TABLES);
    assert!(error.unwrap_err().to_string().contains("\"deionised\""));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn a_purer_bottle_never_makes_the_powder_worse(
        grades in proptest::array::uniform3(0..4usize),
        which in 0..3usize,
    ) {
        let label = |at: usize| format!("grade = \"{}\"", Grade::OF_BOTTLES[at]);
        let of = |g: [usize; 3]| {
            let file = text(&label(g[0]), &label(g[1]), &label(g[2]), "grade = \"tap\"", "");
            let batch = Batch::parse(&file, "test", &TABLES).unwrap();
            let powder = Mass::new::<gram>(1.8334);
            emberpot::internal::purity::budget(&batch, powder, None, &TABLES).unwrap()
        };
        let now = of(grades);
        let mut purer = grades;
        purer[which] = (purer[which] + 1).min(3);
        for trace in of(purer).traces {
            let before = now.traces.iter().find(|t| t.element == trace.element).unwrap();
            prop_assert!(trace.content.high <= before.content.high * (1.0 + 1e-12));
            prop_assert!(trace.content.low <= before.content.low * (1.0 + 1e-12));
            // The sum over the bottles is the whole.
            let sum: f64 = trace.portions.iter().map(|p| p.mass.high.value).sum();
            let whole = (trace.content.high * now.powder_mass).value;
            prop_assert!((sum - whole).abs() <= 1e-12 * whole);
        }
    }
}
