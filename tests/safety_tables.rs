//! Exposure limits and unit conversion against published figures; a user's own files.

use approx::assert_relative_eq;
use emberpot::internal::source::Seen;
use emberpot::internal::tables::limits::{Agent, Concentration, ExposureLimit, LimitKind};
use emberpot::{Formula, Tables};
use std::path::PathBuf;
use uom::si::mass_density::milligram_per_cubic_meter;
use uom::si::ratio::part_per_million;

fn limit<'a>(
    tables: &'a Tables,
    agent: &str,
    body: &str,
    list: &str,
    kind: LimitKind,
) -> &'a ExposureLimit {
    let same = |limit: &&ExposureLimit| {
        let name = match &limit.agent {
            Agent::Gas(formula) => formula.to_string(),
            Agent::Element(element) => element.symbol().to_owned(),
            Agent::Dust => "dust".to_owned(),
        };
        name == agent && limit.body == body && limit.list == list && limit.kind == kind
    };
    tables
        .safety
        .limits
        .iter()
        .find(same)
        .unwrap_or_else(|| panic!("{agent} {body} {list} {kind}"))
}

#[test]
fn limits_are_those_of_the_official_pages() {
    let tables = Tables::built_in().unwrap();
    // read on the NIOSH IDLH pages (May 1994), OSHA chemical sampling pages, the Pocket Guide
    for (agent, body, list, kind, value) in [
        ("NO2", "NIOSH", "REL", LimitKind::ShortTerm, 1.0),
        ("NO2", "OSHA", "PEL", LimitKind::Ceiling, 5.0),
        ("NO2", "NIOSH", "IDLH", LimitKind::ImmediateDanger, 20.0),
        ("NO2", "ACGIH", "TLV", LimitKind::EightHour, 0.2),
        ("NO", "NIOSH", "REL", LimitKind::EightHour, 25.0),
        ("CO", "NIOSH", "REL", LimitKind::Ceiling, 200.0),
        ("CO", "EU", "OELV", LimitKind::EightHour, 20.0),
        ("NH3", "NIOSH", "REL", LimitKind::ShortTerm, 35.0),
        ("HNO3", "NIOSH", "REL", LimitKind::ShortTerm, 4.0),
        ("HCN", "NIOSH", "REL", LimitKind::ShortTerm, 4.7),
        ("CH2O", "NIOSH", "REL", LimitKind::EightHour, 0.016),
        ("CO2", "NIOSH", "IDLH", LimitKind::ImmediateDanger, 40_000.0),
        ("SO2", "NIOSH", "REL", LimitKind::EightHour, 2.0),
        ("HCl", "NIOSH", "IDLH", LimitKind::ImmediateDanger, 45.0),
        ("Co", "OSHA", "PEL", LimitKind::EightHour, 0.1),
        // Directives (EU) 2022/431, 2019/983, 2024/869, as public notices and the annex tell them.
        ("Ni", "EU", "OELV", LimitKind::EightHour, 0.01),
        ("Cd", "EU", "OELV", LimitKind::EightHour, 0.001),
        ("Be", "EU", "OELV", LimitKind::EightHour, 0.0002),
        ("Cr", "EU", "OELV", LimitKind::EightHour, 0.005),
        ("Pb", "EU", "OELV", LimitKind::EightHour, 0.03),
        ("CH2O", "EU", "OELV", LimitKind::EightHour, 0.3),
        ("CH2O", "EU", "OELV", LimitKind::ShortTerm, 0.6),
        ("Cd", "OSHA", "PEL", LimitKind::EightHour, 0.005),
        ("Pb", "OSHA", "PEL", LimitKind::EightHour, 0.05),
        ("Ag", "NIOSH", "REL", LimitKind::EightHour, 0.01),
        ("Zr", "NIOSH", "IDLH", LimitKind::ImmediateDanger, 25.0),
    ] {
        let found = limit(&tables, agent, body, list, kind);
        let number = match found.value {
            Concentration::OfGas(fraction) => fraction.get::<part_per_million>(),
            Concentration::OfDust(density) => density.get::<milligram_per_cubic_meter>(),
        };
        assert_relative_eq!(number, value, max_relative = 1e-12);
        assert_eq!(found.seen, Seen::Document, "{agent} {body} {list}");
    }
}

#[test]
fn metals_that_may_be_asked_for_have_a_limit() {
    let tables = Tables::built_in().unwrap();
    for symbol in ["Tl", "Hg", "Se", "Te", "Sb", "Mo", "W", "Al"] {
        let has = |l: &ExposureLimit| match &l.agent {
            Agent::Element(element) => element.symbol() == symbol,
            _ => false,
        };
        assert!(tables.safety.limits.iter().any(has), "{symbol}");
    }
}

#[test]
fn every_gas_of_the_brackets_but_methane_has_a_limit() {
    let tables = Tables::built_in().unwrap();
    for bracket in &tables.safety.fumes.brackets {
        let formula = Formula::parse(&bracket.gas).unwrap();
        let has = tables
            .safety
            .limits
            .iter()
            .any(|l| l.agent == Agent::Gas(formula.clone()));
        // methane is a simple asphyxiant without a limit of its own
        assert!(has || bracket.gas == "CH4", "{}", bracket.gas);
    }
}

#[test]
fn a_level_dangerous_at_once_lies_above_every_other_limit_of_the_agent() {
    let tables = Tables::built_in().unwrap();
    let number = |limit: &ExposureLimit| match limit.value {
        Concentration::OfGas(fraction) => fraction.get::<part_per_million>(),
        Concentration::OfDust(density) => density.get::<milligram_per_cubic_meter>(),
    };
    let limits = &tables.safety.limits;
    for danger in limits
        .iter()
        .filter(|l| l.kind == LimitKind::ImmediateDanger)
    {
        for other in limits
            .iter()
            .filter(|l| l.agent == danger.agent && l.kind != danger.kind)
        {
            assert!(
                number(danger) > number(other),
                "{}: {}",
                danger.name,
                other.list
            );
        }
    }
}

#[test]
fn a_short_mean_is_never_stricter_than_the_long_one_of_the_same_list() {
    let tables = Tables::built_in().unwrap();
    let limits = &tables.safety.limits;
    let number = |limit: &ExposureLimit| match limit.value {
        Concentration::OfGas(fraction) => fraction.get::<part_per_million>(),
        Concentration::OfDust(density) => density.get::<milligram_per_cubic_meter>(),
    };
    for short in limits.iter().filter(|l| l.kind == LimitKind::ShortTerm) {
        for long in limits.iter().filter(|l| {
            l.kind == LimitKind::EightHour
                && l.agent == short.agent
                && l.body == short.body
                && l.list == short.list
        }) {
            assert!(
                number(short) >= number(long),
                "{} {}",
                short.name,
                short.list
            );
        }
    }
}

/// A folder of its own for the files of one test.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR"))
        .join("safety_tables")
        .join(name);
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).unwrap();
    for (file, text) in files {
        std::fs::write(path.join(file), text).unwrap();
    }
    path
}

const NO_UNITS_NEEDED: &str = r#"units = { "dry mass" = "g", "ammonium nitrate share" = "%", "alkali nitrate share" = "%", "flame temperature" = "°C", "gas per dry mass" = "L/g", "liquid depth" = "mm", "wall over limit" = "K", "wall at least over limit" = "K", "wall over softening" = "K", "wall at least over softening" = "K", "flame over limit" = "K", "shock over limit" = "K", "nitrogen oxides" = "mmol", "rich gas" = "mmol", "hood face velocity" = "m/s", "hood load" = "%" }
"#;

fn rule(id: &str, severity: &str, when: &str) -> String {
    format!(
        "{NO_UNITS_NEEDED}\n[[caution]]\nid = \"{id}\"\nseverity = \"{severity}\"\nmoment = \"flame\"\nwhen = [{when}]\n\
         text = \"own words\"\nsource = [\"common-practice\"]\nat = \"here\"\nseen = \"estimated\"\n"
    )
}

#[test]
fn a_users_caution_comes_on_top_and_may_be_stricter_but_not_softer() {
    let always = "{ always = true }";
    let own = rule("house-rule", "danger", always);
    let path = folder("own", &[("cautions.toml", &own)]);
    let tables = Tables::with_directory(&path).unwrap();
    assert!(
        tables
            .safety
            .rules
            .iter()
            .any(|rule| rule.id == "house-rule")
    );
    let count = Tables::built_in().unwrap().safety.rules.len();
    assert_eq!(tables.safety.rules.len(), count + 1);

    let stricter = rule("hot-vessel", "danger", always);
    let path = folder("stricter", &[("cautions.toml", &stricter)]);
    let tables = Tables::with_directory(&path).unwrap();
    let hot = tables
        .safety
        .rules
        .iter()
        .find(|rule| rule.id == "hot-vessel")
        .unwrap();
    assert_eq!(hot.severity.to_string(), "danger");

    for (name, text) in [
        ("softer", rule("hot-vessel", "note", always)),
        (
            "narrower",
            rule(
                "hot-vessel",
                "caution",
                "{ measure = \"dry mass\", above = 50 }",
            ),
        ),
        (
            "stop",
            rule("closed-vessel", "note", "{ flag = \"vessel closed\" }"),
        ),
    ] {
        let path = folder(name, &[("cautions.toml", &text)]);
        let error = Tables::with_directory(&path).unwrap_err().to_string();
        assert!(error.contains("soften"), "{name}: {error}");
    }
}

#[test]
fn a_users_vessel_is_found_by_name() {
    let text = r#"
units = { temperature = "degC", temperature_difference = "K", length = "mm", agglomerate_diameter = "um", volume = "mL", density = "g/cm3", heat_capacity = "J/(kg K)", thermal_conductivity = "W/(m K)", heat_transfer = "W/(m2 K)", time = "s", viscosity = "Pa s" }
[[vessel]]
name = "our silica pan"
material = "fused-silica"
shape = "cylinder"
mouth = 180
depth = 60
wall = 3
source = "common-practice"
at = "measured"
seen = "estimated"
"#;
    let path = folder("vessel", &[("vessels.toml", text)]);
    let tables = Tables::with_directory(&path).unwrap();
    let vessel = tables.safety.vessels.vessel("Our silica pan").unwrap();
    assert_eq!(vessel.material.id, "fused-silica");
    assert!(tables.safety.vessels.vessel("250 mL beaker").is_some());
}

#[test]
fn a_users_vessels_lift_no_refusal() {
    let units = r#"units = { temperature = "degC", temperature_difference = "K", length = "mm", agglomerate_diameter = "um", volume = "mL", density = "g/cm3", heat_capacity = "J/(kg K)", thermal_conductivity = "W/(m K)", heat_transfer = "W/(m2 K)", time = "s", viscosity = "Pa s" }
"#;
    let built_in = include_str!("../tables/vessels.toml");
    let soda_lime = built_in
        .split("[[material]]")
        .find(|m| m.contains("\"soda-lime\""))
        .unwrap();
    let allowed: String = soda_lime
        .lines()
        .filter(|line| !line.starts_with("refused"))
        .map(|line| format!("{line}\n"))
        .collect();
    let pan = |name: &str| {
        format!(
            "[[vessel]]\nname = \"{name}\"\nmaterial = \"fused-silica\"\nshape = \"cylinder\"\n\
             mouth = 180\ndepth = 60\nwall = 3\nsource = \"common-practice\"\nat = \"x\"\n\
             seen = \"estimated\"\n"
        )
    };
    for (name, row) in [
        ("material", format!("[[material]]\n{allowed}")),
        ("closed", pan("autoclave")),
        ("jar", pan("Jam jar")),
        ("neck", pan("250 mL conical flask")),
    ] {
        let text = format!("{units}{row}");
        let path = folder(name, &[("vessels.toml", text.as_str())]);
        let error = Tables::with_directory(&path).unwrap_err().to_string();
        assert!(error.contains("lift a refusal"), "{name}: {error}");
    }
}

#[test]
fn mistakes_in_the_safety_tables_are_named() {
    let bad = [
        ("unit", "cautions.toml", NO_UNITS_NEEDED.replace("\"g\"", "\"kg\""), "convert"),
        ("kinds", "cautions.toml", rule("x", "note", "{ always = true, flag = \"outdoors\" }"), "exactly one kind"),
        ("bound", "cautions.toml", rule("x", "note", "{ measure = \"dry mass\" }"), "above"),
        ("measure", "cautions.toml", rule("x", "note", "{ measure = \"colour\", above = 1 }"), "colour"),
        ("severity", "cautions.toml", rule("x", "fine", "{ always = true }"), "fine"),
        ("class", "cautions.toml", rule("x", "note", "{ toxic = \"smelly\" }"), "smelly"),
        ("element", "cautions.toml", rule("x", "note", "{ product_has = [\"Xx\"] }"), "Xx"),
        (
            "place",
            "cautions.toml",
            rule("x", "note", "{ always = true }").replace("own words", "{value} of it"),
            "{value}",
        ),
        (
            "source",
            "cautions.toml",
            rule("x", "note", "{ always = true }").replace("common-practice", "nobody"),
            "nobody",
        ),
        (
            "agent",
            "exposure_limits.toml",
            "units = { gas = \"ppm\", dust = \"mg/m3\" }\n[[limit]]\nname = \"x\"\nbody = \"x\"\nlist = \"x\"\n\
             kind = \"ceiling\"\nvalue = 1\nyear = 2000\nsource = \"memory\"\nat = \"x\"\nseen = \"from memory\"\n"
                .to_owned(),
            "exactly one of",
        ),
        (
            "negative",
            "exposure_limits.toml",
            "units = { gas = \"ppm\", dust = \"mg/m3\" }\n[[limit]]\ngas = \"NO\"\nname = \"x\"\nbody = \"x\"\nlist = \"x\"\n\
             kind = \"ceiling\"\nvalue = -1\nyear = 2000\nsource = \"memory\"\nat = \"x\"\nseen = \"from memory\"\n"
                .to_owned(),
            "above zero",
        ),
    ];
    for (name, file, text, words) in bad {
        let path = folder(name, &[(file, text.as_str())]);
        let error = Tables::with_directory(&path).unwrap_err().to_string();
        assert!(error.contains(words), "{name}: {error}");
    }
}
