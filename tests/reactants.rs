//! Finding reactants, families of hydrates, refused substances, solubility, nitric acid.

use approx::assert_relative_eq;
use emberpot::Tables;
use emberpot::internal::source::Seen;
use emberpot::internal::tables::{
    FamilyError, HydrateMethod, LookupError, Reactant, Role, State,
    reactants::{AuditLine, Content, PropertyRow, SolubilityError},
};
use std::sync::LazyLock;
use uom::si::f64::{Ratio, ThermodynamicTemperature};
use uom::si::mass_density::gram_per_cubic_centimeter;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::ratio::{percent, ratio};
use uom::si::temperature_interval::kelvin;
use uom::si::thermodynamic_temperature::degree_celsius;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

fn find(name: &str) -> &'static Reactant {
    TABLES.find_reactant(name).unwrap()
}

fn enthalpy(row: &Reactant) -> f64 {
    let value = row.formation_enthalpy.as_ref().unwrap().value;
    value.get::<kilojoule_per_mole>()
}

fn celsius(t: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(t)
}

#[test]
fn a_substance_goes_by_many_names() {
    for (name, id) in [
        ("aluminum nitrate nonahydrate", "al_nitrate_9"),
        ("Aluminium Nitrate Nonahydrate", "al_nitrate_9"),
        ("Al(NO3)3·9H2O", "al_nitrate_9"),
        ("Al(NO3)3.9H2O", "al_nitrate_9"),
        ("Al(NO3)3*9H2O", "al_nitrate_9"),
        ("Al(NO₃)₃ • 9 H₂O", "al_nitrate_9"),
        ("7784-27-2", "al_nitrate_9"),
        ("cobalt(II) nitrate hexahydrate", "co_nitrate_6"),
        ("cobalt nitrate hexahydrate", "co_nitrate_6"),
        ("ferric nitrate nonahydrate", "fe_nitrate_9"),
        ("Cu(NO3)2·2.5H2O", "cu_nitrate_2_5"),
        ("urea", "urea"),
        ("CO(NH2)2", "urea"),
        ("CH4N2O", "urea"),
        ("glycine", "glycine"),
        ("C2H5NO2", "glycine"),
        ("citric acid monohydrate", "citric_acid_mono"),
        ("C6H10O8", "citric_acid_mono"),
        ("Sr(CH3COO)2", "sr_acetate"),
        ("HMTA", "hexamine"),
        ("water", "water"),
        ("H2O", "water"),
        ("boric acid", "boric_acid"),
        ("B(OH)3", "boric_acid"),
    ] {
        assert_eq!(find(name).id, id, "{name}");
    }
}

#[test]
fn a_name_that_leaves_the_hydrate_open_is_asked_back() {
    let error = TABLES.find_reactant("copper nitrate").unwrap_err();
    let LookupError::Ambiguous { candidates, .. } = &error else {
        panic!("{error}");
    };
    assert!(candidates.contains(&"copper(II) nitrate trihydrate".to_owned()));
    assert!(candidates.contains(&"copper(II) nitrate anhydrous".to_owned()));
    let error = TABLES.find_reactant("Y(NO3)3·xH2O").unwrap_err();
    assert!(matches!(error, LookupError::WaterUnknown { .. }), "{error}");
    let error = TABLES.find_reactant("C6H12O6").unwrap_err();
    assert!(matches!(error, LookupError::Ambiguous { .. }), "{error}");
    let error = TABLES.find_reactant("nitric acid").unwrap_err();
    assert!(error.to_string().contains("strength"), "{error}");
}

#[test]
fn a_trade_name_takes_the_hydrate_that_is_sold() {
    for (name, id) in [
        ("aluminum nitrate", "al_nitrate_9"),
        ("aluminium nitrate", "al_nitrate_9"),
        ("nickel nitrate", "ni_nitrate_6"),
        ("iron nitrate", "fe_nitrate_9"),
        ("ferric nitrate", "fe_nitrate_9"),
        ("Cerium(III) Nitrate", "ce_nitrate_6"),
        ("strontium nitrate", "sr_nitrate_0"),
        ("zinc acetate", "zn_acetate_2"),
    ] {
        assert_eq!(find(name).id, id, "{name}");
    }
    // The ligands as chemists write them; what is known without crystal water leaves none open.
    for (name, id) in [
        ("ammonium molybdate", "ahm"),
        ("Zn(OAc)2·2H2O", "zn_acetate_2"),
        ("Ti(OiPr)4", "ttip"),
        ("Ti(OBu)4", "ti_butoxide"),
        ("zirconium propoxide", "zr_propoxide"),
    ] {
        assert_eq!(find(name).id, id, "{name}");
    }
    // sold as solutions alone: the strength is asked for
    for name in ["H3PO4", "NH3"] {
        let error = TABLES.find_reactant(name).unwrap_err();
        assert!(error.to_string().contains("strength"), "{error}");
    }
    // A hydrate that is named is never exchanged for the one that is sold.
    assert!(
        TABLES
            .find_reactant("aluminium nitrate trihydrate")
            .is_err()
    );
    assert_eq!(find("Al(NO3)3").id, "al_nitrate_0");
}

#[test]
fn a_slip_gets_close_matches() {
    for (slip, meant) in [
        ("glycin", "glycine"),
        (
            "aluminum nitrate nonahydrat",
            "aluminium nitrate nonahydrate",
        ),
        (
            "magnesum nitrate hexahydrate",
            "magnesium nitrate hexahydrate",
        ),
        ("Co(NO3)2·5H2O", "cobalt(II) nitrate hexahydrate"),
        ("uera", "urea"),
    ] {
        let error = TABLES.find_reactant(slip).unwrap_err();
        let LookupError::NotFound { close, .. } = &error else {
            panic!("{slip}: {error}");
        };
        assert!(close.iter().any(|c| c == meant), "{slip}: {close:?}");
    }
    let error = TABLES.find_reactant("unobtainium nitrate").unwrap_err();
    assert!(error.to_string().contains("table of your own"), "{error}");
}

#[test]
fn what_has_no_place_here_is_refused_by_name_and_formula() {
    for name in [
        "KClO3",
        "potassium chlorate",
        "Ba(ClO3)2",
        "NaClO2",
        "KClO4",
        "NH4ClO4",
        "ammonium perchlorate",
        "Mg(ClO4)2",
        "KMnO4",
        "potassium permanganate",
        "K2Cr2O7",
        "H2O2",
        "hydrogen peroxide",
        "BaO2",
        "Na2O2",
        "NaN3",
        "Pb(N3)2",
        "sodium azide",
        "HN3",
        "nitromethane",
        "nitrocellulose",
        "picric acid",
        "C3H5(ONO2)3",
        "ethyl nitrate",
        "N2H4",
        "N2H4·H2O",
        "hydrazine",
        "hydrazine hydrate",
        "hydrazine nitrate",
        "Al",
        "Mg",
        "magnesium powder",
        "aluminum powder",
        "zinc",
        "Fe",
        "MgAl",
        "S",
        "sulfur",
        "charcoal",
        "LiAlH4",
        "NaBH4",
        "silver fulminate",
        "AgCNO",
    ] {
        assert!(
            TABLES.reactants.refusal(name).is_some(),
            "{name} is let through"
        );
        let error = TABLES.find_reactant(name).unwrap_err();
        assert!(
            matches!(error, LookupError::Refused { .. }),
            "{name}: {error}"
        );
    }
}

#[test]
fn nothing_in_the_tables_and_no_common_reactant_is_refused() {
    for row in TABLES.reactants.iter() {
        let formula = row.formula.to_string();
        for name in row.aliases.iter().chain([&row.name]) {
            assert_eq!(TABLES.reactants.refusal(name), None, "{name}");
        }
        if let Err(error) = TABLES.find_reactant(&formula) {
            assert!(
                matches!(error, LookupError::Ambiguous { .. }),
                "{formula}: {error}"
            );
        }
    }
    for name in [
        "adipic dihydrazide",
        "acetic anhydride",
        "tetraethoxysilane",
        "guanidine",
        "CH5N3",
        "melamine",
        "CeO2",
        "ZrO2",
        "NiMn2O4",
        "CuS",
        "Fe3N4",
        "cesium nitrate",
        "CsNO3",
        "dicyandiamide",
        "nitrilotriacetic acid",
    ] {
        assert_eq!(TABLES.reactants.refusal(name), None, "{name}");
    }
}

#[test]
fn every_name_leads_to_one_row() {
    for row in TABLES.reactants.iter() {
        for name in row.aliases.iter().chain([&row.name, &row.id]) {
            let found = TABLES.find_reactant(name);
            assert_eq!(found.map(|r| r.id.as_str()), Ok(row.id.as_str()), "{name}");
        }
    }
}

#[test]
fn a_family_gives_the_tabulated_hydrate_as_it_is() {
    let family = TABLES.reactants.family(find("al_nitrate_9"));
    let waters: Vec<f64> = family
        .members()
        .iter()
        .map(|r| r.formula.crystal_water())
        .collect();
    assert_eq!(waters, [0.0, 6.0, 9.0]);
    let six = family.at(6.0).unwrap();
    assert!(matches!(six.method, HydrateMethod::Tabulated { .. }));
    assert_relative_eq!(
        six.formation_enthalpy.value.get::<kilojoule_per_mole>(),
        enthalpy(find("al_nitrate_6"))
    );
}

#[test]
fn between_two_hydrates_the_enthalpy_is_linear() {
    let family = TABLES.reactants.family(find("al_nitrate_9"));
    let mixed = family.at(7.5).unwrap();
    let mean = 0.5 * (enthalpy(find("al_nitrate_6")) + enthalpy(find("al_nitrate_9")));
    let value = mixed.formation_enthalpy.value.get::<kilojoule_per_mole>();
    assert_relative_eq!(value, mean, max_relative = 1e-12);
    assert!(matches!(mixed.method, HydrateMethod::Interpolated { .. }));
    assert!(mixed.formation_enthalpy.uncertainty.is_some());
}

fn band(row: &Reactant) -> f64 {
    let value = row.formation_enthalpy.as_ref().unwrap();
    value.uncertainty.unwrap().get::<kilojoule_per_mole>()
}

#[test]
fn a_dry_salt_without_a_row_follows_from_the_water_rule() {
    let salt = find("fe_nitrate_9");
    let dry = TABLES.reactants.with_water(salt, 0.0).unwrap();
    assert_eq!(dry.formula.to_string(), "Fe(NO3)3");
    // −298.6 ± 4 kJ per mol of water: Jenkins and Glasser, J. Am. Chem. Soc. 126 (2004) 15809
    assert_relative_eq!(
        enthalpy(&dry),
        enthalpy(salt) + 9.0 * 298.6,
        max_relative = 1e-9
    );
    assert_relative_eq!(band(&dry), band(salt).hypot(36.0), max_relative = 1e-9);
    assert!(dry.melting.is_none() && dry.density.is_none());
}

#[test]
fn rare_earth_nitrates_lose_their_water_like_lanthanum_nitrate() {
    let salt = find("y_nitrate_6");
    let dry = TABLES.reactants.with_water(salt, 0.0).unwrap();
    // by hand from the heats of solution 22.79 and −85.06 kJ/mol of the lanthanum salts with 6
    // and 0 water (Guo and others 1984): 6 · 285.83 + 22.79 + 85.06
    assert_relative_eq!(enthalpy(&dry) - enthalpy(salt), 1822.83, epsilon = 0.2);
    assert_relative_eq!(band(&dry), band(salt).hypot(18.0), max_relative = 1e-9);
    // 5.92 kJ/mol with 4 water: 2 · 285.83 + 22.79 − 5.92
    let four = TABLES.reactants.with_water(salt, 4.0).unwrap();
    assert_relative_eq!(enthalpy(&four) - enthalpy(salt), 588.53, epsilon = 0.2);
    let method = TABLES.reactants.family(salt).at(4.0).unwrap().method;
    assert!(matches!(method, HydrateMethod::Analogue { .. }), "{method}");
    // beyond the hexahydrate lanthanum shows nothing: the general rule
    let more = TABLES.reactants.family(salt).at(6.5).unwrap().method;
    assert!(matches!(more, HydrateMethod::WaterRule { .. }), "{more}");
}

#[test]
fn fractional_water_of_an_x_hydrate_is_taken() {
    let salt = TABLES.reactants.resolve("Y(NO3)3·xH2O", Some(5.3)).unwrap();
    assert_relative_eq!(salt.formula.crystal_water(), 5.3);
    assert_eq!(salt.name, "yttrium nitrate, 5.3 H2O");
    let cobalt = TABLES.reactants.resolve("Co(NO3)2·5H2O", None).unwrap();
    let expected = 0.5 * (enthalpy(find("co_nitrate_4")) + enthalpy(find("co_nitrate_6")));
    assert_relative_eq!(enthalpy(&cobalt), expected, max_relative = 1e-12);
    for water in [-1.0, 25.0, f64::NAN] {
        let error = TABLES
            .reactants
            .with_water(find("y_nitrate_6"), water)
            .unwrap_err();
        assert!(
            matches!(error, FamilyError::WaterOutOfRange { .. }),
            "{error}"
        );
    }
}

#[test]
fn isomers_are_no_family() {
    let glucose = TABLES.reactants.family(find("glucose"));
    assert_eq!(glucose.members().len(), 1);
    let citric = TABLES.reactants.family(find("citric_acid"));
    assert_eq!(citric.members().len(), 2);
}

#[test]
fn solubility_is_interpolated_in_its_range_only() {
    let salt = find("mg_nitrate_6");
    let curve = salt.solubility.as_ref().unwrap();
    // mass percent of Mg(NO3)2: 40.8 at 20 °C, 41.6 at 25 °C (CRC Handbook, 98th edition)
    let w = curve.mass_fraction("salt", celsius(22.5)).unwrap();
    assert_relative_eq!(w.get::<percent>(), 41.2, max_relative = 1e-9);
    let s = curve.per_water("salt", celsius(20.0)).unwrap();
    assert_relative_eq!(s.get::<ratio>(), 40.8 / 59.2, max_relative = 1e-9);
    let error = curve.mass_fraction("salt", celsius(101.0)).unwrap_err();
    assert!(
        matches!(error, SolubilityError::OutOfRange { .. }),
        "{error}"
    );
    // one point only: 63.8 % at 25 °C
    let holmium = find("ho_nitrate_5").solubility.as_ref().unwrap();
    assert!(holmium.mass_fraction("salt", celsius(21.0)).is_ok());
    assert!(holmium.mass_fraction("salt", celsius(35.0)).is_err());
}

#[test]
fn a_hydrate_brings_part_of_its_solvent() {
    let salt = find("mg_nitrate_6");
    let water = salt
        .water_to_dissolve(celsius(20.0))
        .unwrap()
        .get::<ratio>();
    // by hand: 1 g of hexahydrate holds 148.313/256.403 g of dry salt; saturated at 40.8 %
    let dry: f64 = 148.313 / 256.403;
    assert_relative_eq!(dry / (1.0 + water), 0.408, max_relative = 1e-4);
    // zinc nitrate hexahydrate, 87.5 % at 60 °C, melts in its own water: none needed
    let zinc = find("zn_nitrate_6")
        .water_to_dissolve(celsius(60.0))
        .unwrap();
    assert_relative_eq!(zinc.get::<ratio>(), 0.0);
    // the curve is stated once for a salt and serves all its hydrates
    assert_eq!(find("mg_nitrate_0").solubility, salt.solubility);
}

#[test]
fn ammonia_is_found_as_it_is_ordered() {
    let row = find("ammonia solution, 25 %");
    for name in [
        "ammonia 25 %",
        "Ammonia solution 25%",
        "ammonia water, 25 %",
        "ammonium hydroxide",
    ] {
        assert_eq!(find(name).id, row.id, "{name}");
    }
}

#[test]
fn nitric_acid_is_described_at_any_strength() {
    let acid = TABLES.reactants.resolve("nitric acid 65 %", None).unwrap();
    assert_eq!(
        TABLES.reactants.resolve("nitric acid, 65%", None).unwrap(),
        acid
    );
    assert_eq!((acid.role, acid.state), (Role::Acid, State::Solution));
    assert_relative_eq!(acid.formula.crystal_water(), 1.8834, max_relative = 1e-3);
    // HNO3 in 2 H2O −194.556 kJ/mol (NBS tables 1982); HNO3 in 2.775 H2O gives off 9.498 kJ/mol on
    // dilution to infinity (CRC Handbook, after Parker 1965): an independent point between two
    // of the table, for which the interpolation is allowed 0.3 kJ/mol
    let acid = TABLES.reactants.nitric_acid().unwrap();
    let strength = |water: f64| Ratio::new::<ratio>(63.012 / (63.012 + water * 18.015));
    let two = acid.solution(strength(2.0)).unwrap();
    assert_relative_eq!(enthalpy(&two) + 2.0 * 285.83, -194.556, epsilon = 0.01);
    let between = acid.solution(strength(2.775)).unwrap();
    let left = -enthalpy(&between) - 2.775 * 285.83 - 207.36;
    assert_relative_eq!(left, -9.498, epsilon = 0.3);
    // pure acid: −174.1 kJ/mol (CRC Handbook)
    let pure = acid.solution(Ratio::new::<percent>(100.0)).unwrap();
    assert_relative_eq!(enthalpy(&pure), -174.1, epsilon = 0.01);
    let density = two
        .density
        .unwrap()
        .value
        .get::<gram_per_cubic_centimeter>();
    assert!((1.35..1.41).contains(&density), "{density}");
    for w in [0.0, -3.0, 101.0, f64::NAN] {
        assert!(acid.solution(Ratio::new::<percent>(w)).is_err());
    }
}

#[test]
fn sensible_heat_of_a_reactant_is_cp_times_the_difference() {
    let urea = find("urea");
    let change = urea.enthalpy_change(celsius(25.0), celsius(95.0)).unwrap();
    // 93.14 J/(mol K) · 70 K
    assert_relative_eq!(
        change.get::<kilojoule_per_mole>(),
        6.5198,
        max_relative = 1e-9
    );
}

#[test]
fn a_dilute_acid_keeps_its_dilution_heat() {
    let acid = TABLES.reactants.resolve("nitric acid 10 %", None).unwrap();
    let family = TABLES.reactants.family(&acid);
    let whole = family.at(acid.formula.crystal_water()).unwrap();
    let stated = acid.formation_enthalpy.as_ref().unwrap().value;
    assert_relative_eq!(
        whole.formation_enthalpy.value.get::<kilojoule_per_mole>(),
        stated.get::<kilojoule_per_mole>(),
        max_relative = 1e-5 // the water number is rounded to four decimals
    );
    // without its water it is the pure acid, −174.1 kJ/mol (CRC Handbook), not a dry salt
    let pure = family.at(0.0).unwrap().formation_enthalpy.value;
    assert_relative_eq!(pure.get::<kilojoule_per_mole>(), -174.1, epsilon = 0.01);
}

fn property(name: &str, key: &str) -> PropertyRow {
    let rows = TABLES.reactants.describe(find(name));
    rows.into_iter().find(|r| r.key == key).unwrap()
}

#[test]
fn a_description_holds_value_band_source_and_reliability() {
    let row = property("Mg(NO3)2", "formation_enthalpy_kj_per_mol");
    // −790.65 kJ/mol: NBS tables (1982)
    assert_eq!(
        row.content,
        Content::Number {
            value: -790.65,
            uncertainty: Some(1.0),
            unit: "kJ/mol"
        }
    );
    assert_eq!(row.seen, Some(Seen::Document));
    assert!(TABLES.sources.get(&row.source.unwrap()).is_some());
    // 334 °C: the key, the number and its unit say the same.
    let melting = property("potassium nitrate", "melting_point_c");
    let Content::Number { value, unit, .. } = melting.content else {
        panic!("{melting:?}");
    };
    assert_relative_eq!(value, 334.0);
    assert_eq!(unit, "°C");
    let states = TABLES.reactants.describe(find("y_nitrate_6"));
    let dry = states
        .iter()
        .find(|r| r.label == "formation enthalpy with 0 H2O")
        .unwrap();
    assert_eq!(dry.seen, Some(Seen::Estimated));
    let other = property("Fe(NO3)3·9H2O", "alternative");
    assert!(other.locator.contains("rejected"), "{other:?}");
}

#[test]
fn every_row_can_be_described_and_hazards_refer_to_the_supplier() {
    for row in TABLES.reactants.iter() {
        let rows = TABLES.reactants.describe(row);
        let hazards = rows.iter().find(|r| r.key == "hazard_statements").unwrap();
        assert!(hazards.label.contains("supplier"));
        for r in &rows {
            let finite = match &r.content {
                Content::Number { value, .. } => value.is_finite(),
                Content::Curve(points) => points
                    .iter()
                    .all(|(t, s)| t.is_finite() && s.is_finite() && *s >= 0.0),
                Content::Text(text) => !text.is_empty(),
                Content::List(list) => !list.is_empty(),
            };
            assert!(finite, "{}: {r:?}", row.id);
        }
    }
}

#[test]
fn the_audit_puts_the_value_first_that_matters_most() {
    let lines = TABLES.audit_reactants().unwrap();
    let effect = |l: &AuditLine| l.temperature_effect.get::<kelvin>();
    assert!(
        lines
            .windows(2)
            .all(|pair| effect(&pair[0]) >= effect(&pair[1]))
    );
    assert!(
        lines
            .iter()
            .all(|l| effect(l).is_finite() && effect(l) > 0.0)
    );
    assert!(
        ["zirconyl nitrate", "hafnyl nitrate", "titanyl sulfate"]
            .iter()
            .any(|name| lines[0].name.starts_with(name)),
        "{}",
        lines[0].name
    );
    assert!(
        !lines
            .iter()
            .any(|l| l.name == "urea" && l.quantity == "formation enthalpy")
    );
    // by hand for 45 kJ/mol on Al(NO3)3 with 2.5 urea: 2.5 CO2, 5 H2O and 4 N2 at 1500 K have
    // 58.4, 47.1 and 34.8 J/(mol K) (NIST-JANAF), 2.5 atoms of oxide 24.9 each: 583 J/K
    let dry = lines
        .iter()
        .find(|l| l.name == "aluminium nitrate anhydrous")
        .unwrap();
    assert_relative_eq!(effect(dry), 45_000.0 / 583.0, max_relative = 0.01);
    // a carbonate is burnt as its nitrate: its well-known enthalpy matters little
    assert!(!lines.iter().any(|l| l.name == "calcium carbonate"));
}

#[test]
fn a_solution_is_found_at_any_strength_and_by_what_is_counted() {
    let tables = Tables::built_in().unwrap();
    let find = |name: &str| tables.reactants.resolve(name, None).unwrap();
    let kj = |name: &str| {
        let row = find(name);
        let h = row.formation_enthalpy.unwrap().value;
        (h.get::<kilojoule_per_mole>(), row.formula.crystal_water())
    };
    // platinum in 100 g of solution, and nitrate and water for the rest
    let water = (195.084 / 0.10 - 443.10) / 18.015;
    assert!((kj("platinum nitrate 10 % Pt").1 - water).abs() < 0.01);
    let tabulated = kj("platinum(IV) nitrate solution, 15 % Pt");
    assert!((kj("platinum nitrate 15 % Pt").1 - tabulated.1).abs() < 0.01);
    // the same bottle by metal and by oxide: 16 % Zr is 16 × 123.22/91.224 % ZrO2
    let zirconia = format!("zirconium acetate {} % ZrO2", 16.0 * 123.222 / 91.224);
    assert!((kj("zirconium acetate 16 % Zr").1 - kj(&zirconia).1).abs() < 0.01);
    // ammonia: the NBS tables (1982) have NH3 in 5 H2O at −79.27 and in 10 H2O at −79.81 kJ/mol
    let (h, n) = kj("ammonia 10 %");
    assert!((n - 9.0 * 17.031 / 18.015).abs() < 0.01);
    let band = find("ammonia 10 %")
        .formation_enthalpy
        .unwrap()
        .uncertainty
        .unwrap();
    assert!((h + n * 285.83 + 79.6).abs() < band.get::<kilojoule_per_mole>());
    assert!(band.get::<kilojoule_per_mole>() < 6.0);
    for name in [
        "NH4OH 28%",
        "ammonium hydroxide 28 %",
        "Ammonia solution, 28 wt%",
    ] {
        assert_eq!(find(name).formula, find("ammonia 28 %").formula, "{name}");
    }
    for name in [
        "platinum nitrate",
        "Ru(NO)(NO3)3",
        "zirconium acetate",
        "ammonia",
    ] {
        let error = tables.reactants.resolve(name, None).unwrap_err();
        assert!(error.to_string().contains("give its strength"), "{error}");
    }
    for name in [
        "H2O2 30 %",
        "perchloric acid 70 %",
        "[Pt(NH3)4](NO3)2 5 % Pt",
    ] {
        assert!(tables.reactants.refusal(name).is_some(), "{name}");
    }
    assert!(
        tables
            .reactants
            .resolve("platinum nitrate 60 % Pt", None)
            .is_err()
    );
    assert!(
        tables
            .reactants
            .resolve("zirconium acetate 16 % Ti", None)
            .is_err()
    );
}

#[test]
fn crystal_water_is_read_as_chemists_write_it() {
    let tables = Tables::built_in().unwrap();
    let id = |name: &str| tables.reactants.resolve(name, None).unwrap().id;
    assert_eq!(id("Al(NO3)3 9H2O"), "al_nitrate_9");
    assert_eq!(id("Al(NO3)3 9 H2O"), "al_nitrate_9");
    assert_eq!(id("Cu(NO3)2·2½H2O"), "cu_nitrate_2_5");
}

#[test]
fn a_label_is_read_as_it_is_written() {
    let tables = Tables::built_in().unwrap();
    let id = |name: &str| tables.reactants.resolve(name, None).map(|row| row.id);
    for (label, meant) in [
        ("Al nitrate nonahydrate", "al_nitrate_9"),
        ("Al nitrate", "al_nitrate_9"),
        ("aluminium(III) nitrate nonahydrate", "al_nitrate_9"),
        ("Al(NO3)3 x 9 H2O", "al_nitrate_9"),
        ("Al(NO3)3 - 9H2O", "al_nitrate_9"),
        ("aluminium nitrate [Al(NO3)3·9H2O]", "al_nitrate_9"),
        ("CAS 7784-27-2", "al_nitrate_9"),
        ("zinc nitrate (Zn(NO3)2·6H2O), ACS reagent", "zn_nitrate_6"),
        ("Zn(NO3)2 hexahydrate", "zn_nitrate_6"),
        ("citric acid·H2O", "citric_acid_mono"),
        ("citric acid 1-hydrate", "citric_acid_mono"),
        ("tin chloride dihydrate", "tin2_chloride_2"),
        ("69% nitric acid", "hno3_69"),
        ("conc. HNO3", "hno3_65"),
        ("H3PO4 85 %", "h3po4_85_at_85"),
        ("NH4Ac", "nh4_acetate"),
        ("methenamine USP", "hexamine"),
        ("TU", "thiourea"),
    ] {
        assert_eq!(id(label).as_deref(), Ok(meant), "{label}");
    }
    // the purity of a solid is no strength of a solution
    for label in ["urea 99 %", "Al(NO3)3·9H2O, 98%"] {
        let error = id(label).unwrap_err().to_string();
        assert!(error.contains("assay"), "{label}: {error}");
    }
    // nor does the way of writing a label lift a refusal
    for label in [
        "Th nitrate",
        "U nitrate, ACS",
        "Be(NO3)2 x 4H2O",
        "Ac2O3",
        "UO2(NO3)2 hexahydrate",
        "ammonium perchlorate (NH4ClO4) p.a.",
        "CAS 7790-98-9",
        "99 % NH4ClO4",
    ] {
        let error = id(label).unwrap_err();
        assert!(
            matches!(error, LookupError::Refused { .. }),
            "{label}: {error}"
        );
    }
}

#[test]
fn every_hydrate_is_found_by_its_symbol_and_its_water() {
    let tables = Tables::built_in().unwrap();
    let mut tried = 0;
    for row in tables.reactants.iter() {
        let water = row.formula.crystal_water();
        let Some((salt, _)) = row
            .name
            .rsplit_once(' ')
            .filter(|_| row.name.ends_with("hydrate") && water > 0.0 && water.fract() == 0.0)
        else {
            continue;
        };
        let mut labels = vec![
            format!("{salt} {water}-hydrate"),
            format!("{salt} x {water} H2O"),
        ];
        // not by the formula of isomers
        if tables.find_reactant(&row.formula.to_string()).is_ok() {
            let formula = row.formula.anhydrous();
            labels.push(format!("{formula} x {water}H2O"));
            labels.push(format!("{formula} * {water} H2O"));
        }
        let element = row.metal.as_ref().map(|m| m.element);
        if let Some((element, rest)) = element.and_then(|e| {
            let rest = row
                .name
                .strip_prefix(&*e.name().to_lowercase())?
                .split_once(' ')?
                .1;
            Some((e, rest))
        }) {
            labels.push(format!("{} {rest}", element.symbol()));
        }
        for label in labels {
            let found = tables
                .reactants
                .resolve(&label, None)
                .map(|found| found.formula);
            let found = found.unwrap_or_else(|error| panic!("{label}: {error}"));
            assert_eq!(found.amounts(), row.formula.amounts(), "{label}");
            tried += 1;
        }
    }
    assert!(tried > 300, "{tried}");
}
