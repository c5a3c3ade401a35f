//! The choice of fuel: ratios that hold when burnt, dangerous fuels left out, an honest no.

use approx::assert_relative_eq;
use assert_cmd::Command;
use emberpot::batch::Wanted;
use emberpot::internal::choose::{Candidate, HazardClass, Verdict};
use emberpot::internal::expected::{Expectation, HeatingBasis};
use emberpot::internal::report::{Shown, choice_document, choice_json};
use emberpot::quantity::{MolarEnergy, Ratio, ThermodynamicTemperature, Time};
use emberpot::{Batch, Choice, ChooseError, Formula, Prepared, Tables, choose};
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};
use uom::si::time::second;

fn spinel(formula: &str, salts: &[&str], wanted: &str) -> String {
    let salts: String = salts
        .iter()
        .map(|salt| format!("[[ingredient]]\nsubstance = \"{salt}\"\n"))
        .collect();
    format!(
        "name = \"Course spinel\"\n[target]\nformula = \"{formula}\"\nproduct_mass = \"2 g\"\n\
         equivalence_ratio = 1.1\n{salts}[[ingredient]]\nsubstance = \"urea\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"15 mL\"\n{wanted}"
    )
}

fn parse(text: &str, tables: &Tables) -> Batch {
    Batch::parse(text, "test", tables).unwrap_or_else(|error| panic!("{error}"))
}

const ZINC: [&str; 2] = ["Zn(NO3)2·6H2O", "Al(NO3)3·9H2O"];
const MAGNESIUM: [&str; 2] = ["Mg(NO3)2·6H2O", "Al(NO3)3·9H2O"];

fn ready<'t>(batch: &Batch, tables: &'t Tables) -> Prepared<'t> {
    Prepared::new(batch, tables).unwrap_or_else(|error| panic!("{error}"))
}

fn chosen(text: &str, tables: &Tables) -> Choice {
    choose(&ready(&parse(text, tables), tables)).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn the_first_suggestions_are_expected_as_by_themselves() {
    let tables = Tables::built_in().unwrap();
    let choice = chosen(&spinel("ZnAl2O4", &ZINC, ""), &tables);
    assert!(choice.candidates.len() > 10);
    for candidate in choice.candidates.iter().take(5) {
        let suggestion = &candidate.suggestion;
        let alone = ready(&suggestion.batch, &tables);
        assert_eq!(suggestion.expected.as_ref(), Some(&alone.expected));
        assert_relative_eq!(
            alone.redox.equivalence_ratio.get::<ratio>(),
            suggestion.ratio.get::<ratio>(),
            max_relative = 1e-9
        );
    }
}

#[test]
fn every_root_gives_the_wanted_temperature_when_burnt() {
    let tables = Tables::built_in().unwrap();
    // Hot enough that the ends lie within the search, on both sides of φ = 1.
    let roots: usize = [1150, 1250, 1300]
        .map(|celsius| {
            let wanted = format!("[wanted]\ntemperature = \"{celsius} °C\"\n");
            roots_that_hold(
                &chosen(&spinel("ZnAl2O4", &ZINC, &wanted), &tables),
                &tables,
            )
        })
        .iter()
        .sum();
    assert!(roots >= 10, "{roots} roots");
}

/// The ends of ranges that are roots, each held to its level.
fn roots_that_hold(choice: &Choice, tables: &Tables) -> usize {
    let mut roots = 0;
    // The ends are found after the course of heating at φ = 1, of the first candidates in full.
    let same_course = |c: &&Candidate| {
        let phi = c.suggestion.ratio.get::<ratio>();
        c.suggestion.expected.is_some() && (phi - 1.0).abs() < 1e-9
    };
    for candidate in choice.candidates.iter().filter(same_course) {
        let batch = &candidate.suggestion.batch;
        let alone = ready(batch, tables);
        let mut expectation =
            Expectation::new(batch, &alone.heating, &alone.states, tables).unwrap();
        let mut peak = |phi: f64| {
            let draw = expectation.middle(expectation.fuel_for(phi));
            draw.peak.map_or(0.0, |t| t.get::<kelvin>())
        };
        let reach = &candidate.reach;
        for (ranges, level) in [
            (&reach.least, choice.goal.least),
            (&reach.safe, choice.goal.safe),
        ] {
            let level = level.get::<kelvin>();
            for range in ranges {
                for (phi, is_root) in [
                    (range.from, range.from_is_root),
                    (range.to, range.to_is_root),
                ] {
                    if is_root {
                        roots += 1;
                        // 1e-4 in φ is worth up to a kelvin or two.
                        assert_relative_eq!(peak(phi.get::<ratio>()), level, epsilon = 3.0);
                    }
                }
                // Inside it is hotter than the level.
                let middle = 0.5 * (range.from + range.to);
                assert!(peak(middle.get::<ratio>()) >= level);
            }
        }
    }
    roots
}

fn oxide(formula: &str, salt: &str) -> String {
    format!(
        "[target]\nformula = \"{formula}\"\nproduct_mass = \"1 g\"\nequivalence_ratio = 1\n\
         [[ingredient]]\nsubstance = \"{salt}\"\n[[ingredient]]\nsubstance = \"glycine\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n"
    )
}

#[test]
fn no_suggestion_leaves_another_phase_where_a_ratio_leaves_the_wanted_one() {
    // Copper, nickel and cobalt oxides turn to metal in rich gas; lean burns leave the oxides.
    let tables = Tables::built_in().unwrap();
    for (formula, salt) in [
        ("CuO", "Cu(NO3)2·3H2O"),
        ("NiO", "Ni(NO3)2·6H2O"),
        ("Co3O4", "Co(NO3)2·6H2O"),
    ] {
        let choice = chosen(&oxide(formula, salt), &tables);
        let best = &choice.candidates[0];
        let suggestion = &best.suggestion;
        let phi = suggestion.ratio.get::<ratio>();
        assert!(phi <= 1.0, "{formula}: φ = {phi}");
        assert!(
            !suggestion.other_phases.counts(),
            "{formula}: {:?}",
            suggestion.other_phases
        );
        assert_ne!(best.verdict, Verdict::OtherPhases, "{formula}");
    }
}

/// Ceria takes up gadolinia and gives off oxygen; it stays one fluorite crystal, and glycine–nitrate
/// burns that make it are everyday work (common practice).
#[test]
fn what_dissolves_in_the_wanted_crystal_is_no_other_phase() {
    let tables = Tables::built_in().unwrap();
    let salts = ["Ce(NO3)3·6H2O", "Gd(NO3)3·6H2O"];
    let text = spinel("Ce0.8Gd0.2O1.9", &salts, "").replace("urea", "glycine");
    let choice = chosen(&text, &tables);
    let best = &choice.candidates[0];
    assert!(best.verdict.may_do(), "{}", best.verdict);
    assert!(!best.suggestion.other_phases.counts());
    assert!((best.suggestion.ratio.get::<ratio>() - 1.0).abs() < 0.2);
}

/// What does the job comes before what does not, and what the way of the file does not light is
/// never the first answer while another fuel lights and does the job.
#[test]
fn a_fuel_that_lights_goes_first() {
    let tables = Tables::built_in().unwrap();
    let mut unlit = 0;
    for temperature in ["150 °C", "200 °C", "300 °C"] {
        let heating = format!(
            "[heating]\nway = \"hot plate\"\ntemperature = \"{temperature}\"\n\
                               [vessel]\nname = \"250 mL beaker\"\n"
        );
        let choice = chosen(&spinel("ZnAl2O4", &ZINC, &heating), &tables);
        let does = |candidate: &Candidate| {
            let expected = candidate.suggestion.expected.as_ref();
            let lights = expected.map(|e| e.basis != HeatingBasis::NoIgnition);
            Some(lights? && candidate.verdict.may_do())
        };
        let found: Vec<bool> = choice.candidates.iter().filter_map(does).collect();
        unlit += found.iter().filter(|does| !**does).count();
        assert!(
            found.is_sorted_by(|a, b| a >= b),
            "{temperature}: {found:?}"
        );
    }
    assert!(unlit > 0, "every fuel lights: a colder plate shows more");
}

#[test]
fn urea_burns_of_spinels_are_hot_enough() {
    // Common practice: MgAl2O4 and ZnAl2O4 come crystalline from urea burns at φ near 1.
    let tables = Tables::built_in().unwrap();
    for (formula, salts) in [("MgAl2O4", MAGNESIUM), ("ZnAl2O4", ZINC)] {
        let choice = chosen(&spinel(formula, &salts, ""), &tables);
        let urea = choice.candidates.iter().find(|c| c.fuels.ids() == ["urea"]);
        let urea = urea.unwrap();
        assert!(
            matches!(urea.verdict, Verdict::Forms | Verdict::MayForm),
            "{formula}: {}",
            urea.verdict
        );
        let phi = urea.suggestion.ratio.get::<ratio>();
        assert!((0.7..=1.5).contains(&phi), "{formula}: φ = {phi}");
    }
}

#[test]
fn dangerous_fuels_are_left_out_and_hydrazides_come_last() {
    let tables = Tables::built_in().unwrap();
    let choice = chosen(&spinel("ZnAl2O4", &ZINC, ""), &tables);
    let named = |name: &str| {
        choice
            .candidates
            .iter()
            .any(|c| c.fuels.parts.iter().any(|(fuel, _)| fuel.name == name))
    };
    for name in [
        "acrylamide",
        "methanol",
        "ethanol",
        "thiourea",
        "acetylacetone",
        "ammonia solution, 25 %",
        "ammonium hydrogencarbonate",
    ] {
        assert!(!named(name), "{name}");
        assert!(choice.left_out.iter().any(|l| l.fuel == name), "{name}");
    }
    let place = |name: &str| {
        choice
            .candidates
            .iter()
            .position(|c| c.fuels.parts.len() == 1 && c.fuels.parts[0].0.name == name)
    };
    let (urea, hydrazide) = (place("urea").unwrap(), place("carbohydrazide").unwrap());
    assert!(urea < hydrazide);
    // With nitric acid hexamine forms explosive nitramines: no plain "Warning", and it says so.
    let hexamine = &choice.candidates[place("hexamethylenetetramine").unwrap()];
    assert_eq!(
        HazardClass::of(&hexamine.fuels.parts[0].0),
        HazardClass::Danger
    );
    assert!(
        hexamine
            .criteria
            .iter()
            .any(|c| c.words.contains("nitramines"))
    );
    let pairs = choice.candidates.iter().filter(|c| c.fuels.parts.len() > 1);
    for (fuel, _) in pairs.flat_map(|c| &c.fuels.parts) {
        assert!(HazardClass::of(fuel) < HazardClass::Hydrazide);
    }
    for candidate in &choice.candidates {
        let phi = candidate.suggestion.ratio.get::<ratio>();
        assert!((0.5..=4.0).contains(&phi));
    }
}

#[test]
fn the_wanted_gas_decides_the_side() {
    let tables = Tables::built_in().unwrap();
    let side = |gas: &str| {
        let wanted = format!("[wanted]\natmosphere = \"{gas}\"\n");
        let choice = chosen(&spinel("ZnAl2O4", &ZINC, &wanted), &tables);
        let best = &choice.candidates[0];
        assert_ne!(best.verdict, Verdict::TooCold);
        best.suggestion.ratio.get::<ratio>()
    };
    assert!(side("oxidising") <= 1.0);
    assert!(side("reducing") >= 1.05);
}

#[test]
fn what_cannot_be_reached_is_said_with_what_helps() {
    let tables = Tables::built_in().unwrap();
    let wanted = "[wanted]\ntemperature = \"2400 °C\"\n";
    let choice = chosen(&spinel("ZnAl2O4", &ZINC, wanted), &tables);
    assert!(!choice.reached() && !choice.remedies.is_empty());
    // Still the best that can be had, with its temperature.
    let best = &choice.candidates[0].suggestion;
    assert!(best.temperature.unwrap().get::<kelvin>() > 600.0);
    let text = choice_document(&choice, &Shown::Answer).text(80);
    assert!(text.contains("cannot be reached"), "{text}");
    assert_eq!(choice_json(&choice)["reached"], false);
}

#[test]
fn published_burns_count() {
    // Ianos et al. 2008 (abstract): MgAl2O4 pure and crystalline from urea with beta-alanine or
    // glycine, amorphous from any single fuel.
    let tables = Tables::built_in().unwrap();
    let choice = chosen(&spinel("MgAl2O4", &MAGNESIUM, ""), &tables);
    let mixes = |ids: [&str; 2]| {
        choice.candidates.iter().position(|c| {
            let own = c.fuels.ids();
            own.len() == 2 && ids.iter().all(|id| own.contains(id))
        })
    };
    let published = mixes(["urea", "beta_alanine"]).into_iter();
    let best = published.chain(mixes(["urea", "glycine"])).min().unwrap();
    let single = choice
        .candidates
        .iter()
        .position(|c| c.fuels.parts.len() == 1)
        .unwrap();
    assert!(best < single, "mix at {best}, single at {single}");
}

#[test]
fn a_burn_of_seconds_needs_more_than_a_hold_of_hours() {
    // By hand, 2 h against 10 s: ln 720 = 6.5793; 1173.15 K with 800 kJ/mol:
    // 1/(8.52406e-4 − 8.31446 × 6.5793/8e5) = 1275.5 K; with 400 kJ/mol: 1397.5 K.
    let tables = Tables::built_in().unwrap();
    let model = &tables.phases.ranking.time;
    let held = ThermodynamicTemperature::new::<kelvin>(1173.15);
    let floor = |energy| {
        let energy = MolarEnergy::new::<kilojoule_per_mole>(energy);
        let time = Time::new::<second>(10.0);
        model.floor(held, time, energy).unwrap().get::<kelvin>()
    };
    assert_relative_eq!(floor(800.0), 1275.5, epsilon = 0.2);
    assert_relative_eq!(floor(400.0), 1397.5, epsilon = 0.3);
}

#[test]
fn the_nearest_row_speaks_for_a_solid_solution() {
    let tables = Tables::built_in().unwrap();
    let nearest = |text: &str| {
        let found = tables.phases.nearest(&Formula::parse(text).unwrap());
        found.map(|n| (n.phase.name.clone(), n.differing.get::<ratio>()))
    };
    let (name, differing) = nearest("Co0.2Zn0.8Al2O4").unwrap();
    assert_eq!(name, "ZnAl2O4");
    assert_relative_eq!(differing, 0.2 / 3.0, max_relative = 1e-9);
    assert_eq!(nearest("La0.8Sr0.2MnO3").unwrap().0, "La1-xSrxMnO3");
    assert_eq!(nearest("Sr0.97Eu0.02Dy0.01Al2O4").unwrap().0, "SrAl2O4");
    assert_eq!(nearest("Y2.97Ce0.03Al5O12").unwrap().0, "Y3Al5O12");
    // Same cations, other oxygen; and nothing near.
    assert_eq!(nearest("Cu2O"), None);
    assert_eq!(nearest("Nb2O5"), None);
    // Of the forms of one formula the one that needs the higher temperature; the others are named.
    assert_eq!(nearest("Al2O3").unwrap().0, "alpha-Al2O3");
    assert_eq!(nearest("ZrO2").unwrap().0, "ZrO2 monoclinic");
    let choice = chosen(
        &spinel("ZrO2", &["zirconyl nitrate hexahydrate"], ""),
        &tables,
    );
    assert_eq!(choice.goal.other_forms, ["ZrO2 tetragonal"]);
}

#[test]
fn a_mixed_oxide_takes_up_no_carbon_dioxide_on_cooling_and_lime_does() {
    // Carbon dioxide would have to take the crystal of the aluminate apart within seconds; lime
    // binds it that fast near 900 K (common practice).
    let tables = Tables::built_in().unwrap();
    let carbonates = |formula: &str, salts: &[&str]| {
        let batch = parse(&spinel(formula, salts, ""), &tables);
        let plan = emberpot::plan(&batch, &tables).unwrap();
        assert!(plan.powder.len() > 5, "{formula}");
        let solids = plan.powder.iter().flat_map(|step| step.own_gas.condensed());
        solids.filter(|solid| solid.id.contains("CO3")).count()
    };
    let salts = ["Sr(NO3)2", "Al(NO3)3·9H2O"];
    assert_eq!(carbonates("SrAl2O4", &salts), 0);
    assert!(carbonates("CaO", &["Ca(NO3)2·4H2O"]) > 0);
    let choice = chosen(&spinel("SrAl2O4", &salts, ""), &tables);
    assert_ne!(choice.own.verdict, Verdict::OtherPhases);
    assert_eq!(choice.candidates[0].fuels.parts.len(), 1);
}

#[test]
fn every_row_of_the_phases_is_sound() {
    let tables = Tables::built_in().unwrap();
    let phases = &tables.phases;
    assert!(phases.targets.len() >= 60 && phases.dopants.len() >= 40);
    for phase in &phases.targets {
        let at = |value: &Option<
            emberpot::internal::tables::Cited<emberpot::internal::tables::unit::DegreeCelsius>,
        >| { value.as_ref().map(|v| v.value.get::<kelvin>()) };
        if let (Some(lower), Some(melting)) = (at(&phase.lower), at(&phase.melting)) {
            assert!(lower < melting, "{}", phase.name);
        }
        if let (Some(lower), Some(upper)) = (at(&phase.lower), at(&phase.upper)) {
            assert!(lower < upper, "{}", phase.name);
        }
        for pair in phase.typical.windows(2) {
            assert!(pair[0].value <= pair[1].value, "{}", phase.name);
        }
        for trial in &phase.fuels {
            for fuel in trial.fuels.iter().filter(|fuel| *fuel != "any one") {
                assert!(tables.reactants.find(fuel).is_ok(), "{fuel}");
            }
        }
        // A row finds itself, or a polymorph of the same formula.
        let nearest = phases.nearest(&phase.formula).unwrap();
        assert_eq!(nearest.phase.formula.amounts(), phase.formula.amounts());
    }
    for affinity in &phases.ranking.affinities {
        assert!(tables.reactants.find(&affinity.fuel).is_ok());
    }
}

#[test]
fn tests_are_for_what_the_batch_can_form() {
    let tables = Tables::built_in().unwrap();
    let tests = |formula: &str, salts: &[&str]| -> Vec<String> {
        let choice = chosen(&spinel(formula, salts, ""), &tables);
        choice.tests.into_iter().map(|rival| rival.name).collect()
    };
    let white = tests("ZnAl2O4", &ZINC);
    assert!(white.contains(&"ZnO".to_owned()) && !white.contains(&"Co3O4".to_owned()));
    let blue = tests(
        "Co0.2Zn0.8Al2O4",
        &["Co(NO3)2·6H2O", "Zn(NO3)2·6H2O", "Al(NO3)3·9H2O"],
    );
    assert!(blue.contains(&"Co3O4".to_owned()));
}

#[test]
fn without_anything_wanted_there_is_no_choice() {
    let tables = Tables::built_in().unwrap();
    let text = "[[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"3 g\"\n\
                [[ingredient]]\nsubstance = \"urea\"\nmass = \"1 g\"\n";
    let error = choose(&ready(&parse(text, &tables), &tables)).unwrap_err();
    assert!(matches!(error, ChooseError::NothingWanted { target: None }));
    assert!(error.to_string().contains("[wanted]"));
    let batch = parse(
        &format!("{text}[wanted]\ntemperature = \"700 °C\"\n"),
        &tables,
    );
    assert!(choose(&ready(&batch, &tables)).is_ok());
}

#[test]
fn the_section_wanted_is_checked() {
    let tables = Tables::built_in().unwrap();
    let error = |lines: &str| {
        let text = spinel("ZnAl2O4", &ZINC, &format!("[wanted]\n{lines}\n"));
        Batch::parse(&text, "test", &tables)
            .unwrap_err()
            .to_string()
    };
    assert!(error("phase = \"ZnAl2O5\"").contains("did you mean \"ZnAl2O4\""));
    assert!(error("temperature = \"5000 °C\"").contains("2500"));
    assert!(error("atmosphere = \"hydrogen\"").contains("reducing"));
    assert!(error("heat = 3").contains("`heat`"));
    let text = spinel("ZnAl2O4", &ZINC, "[wanted]\ntime = \"30 s\"\n");
    let wanted: Wanted = parse(&text, &tables).wanted.unwrap();
    assert_relative_eq!(wanted.time.unwrap().get::<second>(), 30.0);
}

#[test]
fn a_loss_of_the_file_is_the_only_one() {
    let tables = Tables::built_in().unwrap();
    let conditions = "[conditions]\nheat_loss = \"30 %\"\n";
    let choice = chosen(&spinel("ZnAl2O4", &ZINC, conditions), &tables);
    let draws = &choice.own.expected.draws;
    assert!(
        draws
            .iter()
            .all(|d| d.heat_lost == Ratio::new::<ratio>(0.3))
    );
}

#[test]
fn the_command_writes_text_and_json() {
    let text = spinel("ZnAl2O4", &ZINC, "");
    let run = |format: &str| {
        let run = Command::cargo_bin("emberpot")
            .unwrap()
            .args(["choose", "-", "--format", format])
            .write_stdin(text.clone())
            .assert()
            .success();
        String::from_utf8(run.get_output().stdout.clone()).unwrap()
    };
    let words = run("text");
    assert!(words.contains("Answer") && words.contains("points"));
    assert!(words.lines().count() <= 30, "{words}");
    for line in words.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let json: serde_json::Value = serde_json::from_str(&run("json")).unwrap();
    let floor = json["wanted"]["least_temperature_k"].as_f64().unwrap();
    // 600 °C held 2 h, in 10 s with 800 kJ/mol: 655 °C.
    let expected = ThermodynamicTemperature::new::<degree_celsius>(655.0);
    assert_relative_eq!(floor, expected.get::<kelvin>(), epsilon = 1.0);
}

#[test]
fn an_oxide_takes_no_burn_that_wastes_most_of_its_fuel_unless_a_reducing_gas_is_wanted() {
    let tables = Tables::built_in().unwrap();
    let search = &tables.phases.ranking.search;
    for (rest, most) in [
        ("", search.ratio_to_of_oxides),
        ("[wanted]\natmosphere = \"reducing\"\n", search.ratio_to),
    ] {
        let choice = chosen(&spinel("ZnAl2O4", &ZINC, rest), &tables);
        let richest = |phi: f64| phi <= most * (1.0 + 1e-9);
        for candidate in &choice.candidates {
            assert!(richest(candidate.suggestion.ratio.get::<ratio>()));
            let ranges = candidate.reach.least.iter().chain(&candidate.reach.safe);
            assert!(
                ranges
                    .into_iter()
                    .all(|range| richest(range.to.get::<ratio>()))
            );
        }
    }
}
