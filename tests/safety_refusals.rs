//! What the safety side refuses, one test each, through the batch made ready.

use emberpot::internal::advice::worst;
use emberpot::{Batch, PrepareError, Prepared, Severity, Tables, Warning};
use std::sync::OnceLock;

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

/// A small spinel and urea batch, with more sections behind it.
fn small_batch(more: &str) -> Vec<Warning> {
    of(&small_text(more))
}

fn small_text(more: &str) -> String {
    format!(
        r#"
name = "spinel"
[[ingredient]]
substance = "Al(NO3)3·9H2O"
mass = "1.5 g"
[[ingredient]]
substance = "Mg(NO3)2·6H2O"
mass = "0.51 g"
[[ingredient]]
substance = "urea"
mass = "0.8 g"
[[ingredient]]
substance = "water"
volume = "5 mL"
{more}
"#
    )
}

fn of(text: &str) -> Vec<Warning> {
    let batch = Batch::parse(text, "test", tables()).unwrap_or_else(|error| panic!("{error}"));
    match Prepared::new(&batch, tables()) {
        Ok(prepared) => {
            assert_ne!(worst(&prepared.advice.warnings), Some(Severity::Stop));
            prepared.advice.warnings
        }
        Err(PrepareError::Refused(refused)) => refused.warnings,
        Err(error) => panic!("{error}"),
    }
}

fn warning<'a>(warnings: &'a [Warning], code: &str) -> Option<&'a Warning> {
    warnings.iter().find(|warning| warning.code == code)
}

/// The plan stops, and says so with this code and these words.
fn stops(advice: &[Warning], code: &str, words: &str) {
    let found = warning(advice, code).unwrap_or_else(|| panic!("no {code}"));
    assert_eq!(found.severity, Severity::Stop, "{code}");
    assert!(found.text.contains(words), "{}", found.text);
    assert_eq!(worst(advice), Some(Severity::Stop));
}

#[test]
fn a_plain_small_batch_in_an_open_dish_in_a_hood_neither_stops_nor_endangers() {
    let advice = small_batch(
        r#"
[vessel]
name = "640 mL evaporating dish"
outer = "5 L steel pot"
[heating]
way = "hot plate"
temperature = "300 °C"
[room]
place = "hood"
face_velocity = "0.5 m/s"
opening_width = "1.2 m"
opening_height = "0.4 m"
"#,
    );
    let worst = worst(&advice).unwrap();
    assert!(worst >= Severity::Caution, "{:#?}", advice);
    // the usual cautions are there all the same
    for code in [
        "nanopowder",
        "never-store-gel",
        "fire-and-splash",
        "hot-vessel",
        "local-rules",
    ] {
        assert!(warning(&advice, code).is_some(), "no {code}");
    }
}

#[test]
fn every_cover_that_holds_gas_back_is_refused_with_its_pressure() {
    for cover in ["lid", "stopper", "plug", "foil"] {
        let advice = small_batch(&format!(
            "[vessel]\nname = \"250 mL beaker\"\ncover = \"{cover}\""
        ));
        stops(&advice, "closed-vessel", cover);
        stops(&advice, "closed-vessel", "bar by the ideal-gas law");
    }
}

#[test]
fn a_loose_cover_is_not_refused() {
    for cover in ["open", "steel mesh", "loose dish"] {
        let advice = small_batch(&format!(
            "[vessel]\nname = \"1 L beaker\"\ncover = \"{cover}\""
        ));
        assert!(warning(&advice, "closed-vessel").is_none(), "{cover}");
    }
}

#[test]
fn a_pressure_vessel_is_refused_even_when_open() {
    let advice = small_batch("[vessel]\nname = \"autoclave\"");
    stops(&advice, "closed-vessel", "pressure vessel");
}

#[test]
fn the_pressure_named_as_the_reason_is_that_of_the_ideal_gas() {
    let advice = small_batch("[vessel]\nname = \"250 mL beaker\"\ncover = \"lid\"");
    // The gas does not know of the lid.
    let open = small_text("[vessel]\nname = \"250 mL beaker\"");
    let open = Batch::parse(&open, "test", tables()).unwrap();
    let open = Prepared::new(&open, tables()).unwrap();
    let checked = open.advice.vessel.as_ref().unwrap();
    let state = |name| open.states.iter().find(|s| s.state.name == name).unwrap();
    use emberpot::WaterStateName::{BoiledDown, Dried};
    // n R T / V by hand, with the most gas and the hottest flame of the burns in question, on top
    // of the bar of air that was there
    let hottest = state(Dried).complete.flame.temperature().unwrap().value;
    let (dry, wet) = (state(Dried), state(BoiledDown));
    let hot_volume = |s: &emberpot::StateResult| {
        s.gas.amount.value * s.complete.flame.temperature().map_or(373.15, |t| t.value)
    };
    let gas = if hot_volume(wet) > hot_volume(dry) {
        wet
    } else {
        dry
    };
    let pascals = 1.0e5 + gas.gas.amount.value * 8.314_462_618 * hottest / checked.brimful.value;
    approx::assert_relative_eq!(
        checked.pressure_if_closed.value,
        pascals,
        max_relative = 1e-9
    );
    let named = format!("about {:.0} bar", pascals / 1.0e5);
    stops(&advice, "closed-vessel", &named);
}

#[test]
fn necks_and_tubes_are_refused() {
    for (name, words) in [
        ("250 mL conical flask", "% of its widest section"),
        ("250 mL Erlenmeyer flask", "% of its widest section"),
        ("250 mL round-bottom flask", "% of its widest section"),
        ("100 mL volumetric flask", "% of its widest section"),
        ("250 mL laboratory bottle", "% of its widest section"),
        ("scintillation vial", "% of its widest section"),
        ("test tube", "times as deep as its mouth"),
    ] {
        let advice = small_batch(&format!("[vessel]\nname = \"{name}\""));
        stops(&advice, "narrow-vessel", words);
    }
    let own = "[vessel]\nmaterial = \"borosilicate\"\nmouth = \"25 mm\"\ndepth = \"80 mm\"";
    stops(&small_batch(own), "narrow-vessel", "times as deep");
    let own = "[vessel]\nmaterial = \"fused-silica\"\nmouth = \"25 mm\"\ndepth = \"50 mm\"\nbody = \"60 mm\"";
    stops(&small_batch(own), "narrow-vessel", "widest section");
}

#[test]
fn soda_lime_aluminium_and_plastic_are_refused() {
    for (name, words) in [
        ("drinking glass", "soda-lime"),
        ("jam jar", "soda-lime"),
        ("aluminium foil tray", "660"),
        ("250 mL plastic beaker", "softens"),
    ] {
        let advice = small_batch(&format!("[vessel]\nname = \"{name}\""));
        stops(&advice, "vessel-material", words);
    }
}

#[test]
fn an_outer_vessel_that_cannot_serve_is_refused() {
    for (outer, words) in [
        ("preserving jar", "soda-lime"),
        ("250 mL laboratory bottle", "neck"),
        ("100 mL beaker", "does not take in"),
    ] {
        let more = format!("[vessel]\nname = \"250 mL beaker\"\nouter = \"{outer}\"");
        stops(&small_batch(&more), "outer-vessel", words);
    }
}

#[test]
fn metal_in_a_microwave_oven_is_refused_wherever_it_is() {
    let oven = "[heating]\nway = \"microwave oven\"";
    for (vessel, words) in [
        ("name = \"1 L steel pot\"", "steel pot"),
        (
            "name = \"1 L beaker\"\ncover = \"steel mesh\"",
            "steel mesh",
        ),
        (
            "name = \"1 L beaker\"\nouter = \"5 L steel pot\"",
            "steel pot",
        ),
    ] {
        let advice = small_batch(&format!("[vessel]\n{vessel}\n{oven}"));
        stops(&advice, "metal-in-microwave", words);
        let plate = small_batch(&format!(
            "[vessel]\n{vessel}\n[heating]\nway = \"hot plate\""
        ));
        assert!(warning(&plate, "metal-in-microwave").is_none());
    }
}

#[test]
fn froth_that_cannot_fit_is_refused() {
    // 21 mL to the brim, against at least five times 6.5 mL
    let own = "[vessel]\nmaterial = \"porcelain\"\nmouth = \"30 mm\"\ndepth = \"30 mm\"";
    stops(&small_batch(own), "froth-does-not-fit", "% of the vessel");
    let advice = small_batch("[vessel]\nname = \"100 mL beaker\"");
    assert_eq!(
        warning(&advice, "froth-may-run-over").unwrap().severity,
        Severity::Danger
    );
}

#[test]
fn a_batch_far_beyond_the_bench_is_refused_and_one_above_20_g_is_a_danger() {
    let of_mass = |salt: &str, urea: &str| {
        of(&format!(
            "[[ingredient]]\nsubstance = \"Al(NO3)3·9H2O\"\nmass = \"{salt}\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"{urea}\"\n\
             [[ingredient]]\nsubstance = \"water\"\nvolume = \"50 mL\"\n"
        ))
    };
    stops(
        &of_mass("150 g", "60 g"),
        "batch-refused-size",
        "beyond the bench",
    );
    let large = of_mass("30 g", "12 g");
    assert_eq!(
        warning(&large, "batch-large").unwrap().severity,
        Severity::Danger
    );
    assert!(warning(&large, "batch-refused-size").is_none());
    assert!(warning(&of_mass("3 g", "1.2 g"), "batch-large").is_none());
}

#[test]
fn ammonium_nitrate_is_a_danger_above_a_tenth_and_refused_above_half() {
    let with = |mass: &str| {
        of(&format!(
            "[[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\nmass = \"3 g\"\n\
             [[ingredient]]\nsubstance = \"NH4NO3\"\nmass = \"{mass}\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"1.5 g\"\n\
             [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n"
        ))
    };
    // 3 g of zinc nitrate bring 0.101 mol of oxidising valence, 80 g of ammonium nitrate 2 mol
    let little = with("0.3 g");
    assert!(warning(&little, "ammonium-nitrate").is_none());
    let much = with("1 g");
    let found = warning(&much, "ammonium-nitrate").unwrap();
    assert_eq!(found.severity, Severity::Danger);
    assert!(found.text.contains("20 %"), "{}", found.text);
    stops(&with("6 g"), "ammonium-nitrate-main", "explode");
}

#[test]
fn fuels_that_nitric_acid_turns_into_explosives_are_refused_with_it() {
    let with = |fuel: &str, strength: &str| {
        of(&format!(
            "[[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\nmass = \"3 g\"\n\
             [[ingredient]]\nsubstance = \"nitric acid {strength}\"\nassay = \"{strength}\"\nmass = \"0.5 g\"\n\
             [[ingredient]]\nsubstance = \"{fuel}\"\nmass = \"1 g\"\n\
             [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n"
        ))
    };
    stops(
        &with("hexamethylenetetramine", "65 %"),
        "acid-with-hexamine",
        "nitramines",
    );
    stops(
        &with("hexamethylenetetramine", "30 %"),
        "acid-with-hexamine",
        "nitramines",
    );
    stops(
        &with("carbohydrazide", "65 %"),
        "acid-with-hydrazide",
        "leave the acid out",
    );
    stops(
        &with("ethylene glycol", "65 %"),
        "acid-with-alcohol",
        "ethylene glycol",
    );
    assert!(warning(&with("urea", "65 %"), "acid-with-hexamine").is_none());
}

/// A gram of a salt with a little of another substance in water.
fn mixed(salt: &str, other: &str) -> Vec<Warning> {
    of(&format!(
        "[[ingredient]]\nsubstance = \"{salt}\"\nmass = \"1 g\"\n\
         [[ingredient]]\nsubstance = \"{other}\"\nmass = \"0.2 g\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n"
    ))
}

#[test]
fn silver_and_gold_with_what_makes_them_explosive_are_refused() {
    for other in [
        "hexamine",
        "ammonia 25 %",
        "ammonium acetate",
        "carbohydrazide",
        "ethanol",
    ] {
        stops(
            &mixed("AgNO3", other),
            "silver-with-ammonia-or-alcohol",
            "explode at a touch",
        );
    }
    for other in ["oxalic acid dihydrate", "ammonium oxalate anhydrous"] {
        stops(
            &mixed("AgNO3", other),
            "silver-with-oxalate",
            "explodes once it is dry",
        );
    }
    stops(
        &mixed("chloroauric acid trihydrate", "ammonia 25 %"),
        "gold-with-ammonia",
        "fulminating gold",
    );
    for fuel in ["urea", "glycine", "citric acid"] {
        let codes: Vec<_> = mixed("AgNO3", fuel)
            .iter()
            .map(|w| w.code.clone())
            .collect();
        assert!(
            !codes.iter().any(|code| code.starts_with("silver-with")),
            "{fuel}: {codes:?}"
        );
    }
}

#[test]
fn ammines_tin_chloride_alkoxides_and_oxalates_are_told() {
    let severity = |salt, other, code| warning(&mixed(salt, other), code).map(|w| w.severity);
    assert_eq!(
        severity("Cu(NO3)2·3H2O", "ammonia 25 %", "ammine-complex"),
        Some(Severity::Danger)
    );
    assert_eq!(
        severity("Al(NO3)3·9H2O", "ammonia 25 %", "ammine-complex"),
        None
    );
    assert_eq!(
        severity("Zn(NO3)2·6H2O", "SnCl2·2H2O", "tin2-chloride-with-nitrate"),
        Some(Severity::Danger)
    );
    assert_eq!(
        severity("Zn(NO3)2·6H2O", "TEOS", "alkoxide"),
        Some(Severity::Danger)
    );
    assert_eq!(
        severity(
            "Zn(NO3)2·6H2O",
            "oxalic acid dihydrate",
            "oxalate-precipitates"
        ),
        Some(Severity::Caution)
    );
    // An acetate is acetic acid in free nitric acid, whatever metal comes with it.
    let acetate = of(
        "[[ingredient]]\nsubstance = \"Ni(NO3)2·6H2O\"\nmass = \"2 g\"\n\
         [[ingredient]]\nsubstance = \"nickel acetate tetrahydrate\"\nmass = \"1 g\"\n\
         [[ingredient]]\nsubstance = \"nitric acid 65 %\"\nmass = \"0.3 g\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n",
    );
    assert!(warning(&acetate, "acid-with-light-acid").is_some());
}

#[test]
fn substances_outside_of_this_synthesis_do_not_even_make_a_batch() {
    for name in ["KClO4", "KMnO4", "NaN3"] {
        let text = format!(
            "[[ingredient]]\nsubstance = \"{name}\"\nmass = \"1 g\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"1 g\"\n"
        );
        let error = Batch::parse(&text, "test", tables())
            .unwrap_err()
            .to_string();
        assert!(error.contains("refused"), "{error}");
    }
}

#[test]
fn hydrazides_toxic_metals_and_lean_batches_are_dangers() {
    let advice = of(
        "[[ingredient]]\nsubstance = \"Ni(NO3)2·6H2O\"\nmass = \"2 g\"\n\
         [[ingredient]]\nsubstance = \"carbohydrazide\"\nmass = \"0.5 g\"\n\
         [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n",
    );
    for code in [
        "hydrazide-fuel",
        "carcinogenic-product",
        "nitrogen-oxides-lean",
    ] {
        assert_eq!(
            warning(&advice, code).unwrap().severity,
            Severity::Danger,
            "{code}"
        );
    }
    assert!(
        warning(&advice, "carcinogenic-product")
            .unwrap()
            .text
            .contains("nickel")
    );
    assert_eq!(worst(&advice), Some(Severity::Danger));
}

#[test]
fn chromium_is_flagged_unless_the_batch_is_clearly_rich_and_free_of_bases() {
    let with = |urea: &str, more: &str| {
        of(&format!(
            "[[ingredient]]\nsubstance = \"Cr(NO3)3·9H2O\"\nmass = \"2 g\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"{urea}\"\n\
             [[ingredient]]\nsubstance = \"water\"\nvolume = \"5 mL\"\n{more}"
        ))
    };
    let balanced = with("0.75 g", "");
    assert!(
        warning(&balanced, "chromium-six")
            .unwrap()
            .text
            .contains("not clearly rich")
    );
    // A balanced flame over chromia carries chromium(VI) as vapour; a clearly rich one does not.
    let text = &warning(&balanced, "chromium-six").unwrap().text;
    assert!(text.contains("CrO2(OH)2"), "{text}");
    assert!(warning(&with("1.5 g", ""), "chromium-six").is_none());
    let base = "[[ingredient]]\nsubstance = \"Ca(NO3)2·4H2O\"\nmass = \"0.2 g\"\n";
    assert!(
        warning(&with("1.5 g", base), "chromium-six")
            .unwrap()
            .text
            .contains("chromate")
    );
}

#[test]
fn ethylenediamine_is_refused_and_glycols_and_alcohols_are_told_apart() {
    let with = |fuel: &str| {
        of(&format!(
            "[[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\nmass = \"3 g\"\n\
             [[ingredient]]\nsubstance = \"{fuel}\"\nmass = \"0.5 g\"\n\
             [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n"
        ))
    };
    stops(
        &with("ethylenediamine"),
        "amine-complex",
        "explode when dry",
    );
    let alcohol = with("ethanol");
    assert_eq!(
        warning(&alcohol, "alcohol-co-solvent").unwrap().severity,
        Severity::Danger
    );
    let glycol = with("ethylene glycol");
    assert_eq!(
        warning(&glycol, "glycol-with-nitrates").unwrap().severity,
        Severity::Caution
    );
    assert!(warning(&glycol, "alcohol-co-solvent").is_none());
}

#[test]
fn alkali_nitrates_as_the_main_oxidiser_are_a_danger() {
    let with = |nickel: &str, lithium: &str| {
        of(&format!(
            "[[ingredient]]\nsubstance = \"Zn(NO3)2·6H2O\"\nmass = \"{nickel}\"\n\
             [[ingredient]]\nsubstance = \"LiNO3\"\nmass = \"{lithium}\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"1 g\"\n\
             [[ingredient]]\nsubstance = \"water\"\nvolume = \"8 mL\"\n"
        ))
    };
    // 0.5 g LiNO3 bring 36 mmol of valence, 0.5 g zinc nitrate 17 mmol, 3 g 101 mmol
    let main = with("0.5 g", "0.5 g");
    let found = warning(&main, "alkali-nitrate-main").unwrap();
    assert_eq!(found.severity, Severity::Danger);
    assert!(found.text.contains("68 %"), "{}", found.text);
    assert!(warning(&with("3 g", "0.5 g"), "alkali-nitrate").is_some());
    assert!(warning(&with("3 g", "0.1 g"), "alkali-nitrate").is_none());
}
