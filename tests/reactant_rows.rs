//! Every row of the reactant tables: sources, molar masses, valences, plausible values, and
//! checks against published heats and rules.

use approx::assert_relative_eq;
use emberpot::internal::redox::{self, OxidationStates};
use emberpot::internal::source::Seen;
use emberpot::internal::tables::Cited;
use emberpot::internal::tables::unit::KilojoulePerMole;
use emberpot::internal::tables::{Reactant, Role, State};
use emberpot::quantity::MolarHeatCapacity;
use emberpot::{Element, Tables};
use serde::Deserialize;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;
use uom::si::mass_density::gram_per_cubic_centimeter;
use uom::si::molar_energy::kilojoule_per_mole;
use uom::si::molar_heat_capacity::joule_per_kelvin_mole;
use uom::si::molar_mass::gram_per_mole;
use uom::si::ratio::percent;
use uom::si::thermodynamic_temperature::degree_celsius;

static TABLES: LazyLock<Tables> = LazyLock::new(|| Tables::built_in().unwrap());

fn rows() -> impl Iterator<Item = &'static Reactant> {
    TABLES.reactants.iter()
}

fn row(id: &str) -> &'static Reactant {
    rows().find(|r| r.id == id).unwrap()
}

fn kj(value: &Cited<KilojoulePerMole>) -> f64 {
    value.value.get::<kilojoule_per_mole>()
}

fn enthalpy(row: &Reactant) -> f64 {
    kj(row.formation_enthalpy.as_ref().unwrap())
}

fn atoms(row: &Reactant, symbol: &str) -> f64 {
    row.formula.amount_of(Element::from_symbol(symbol).unwrap())
}

#[derive(Deserialize)]
struct Collected {
    oxidisers: Part,
    fuels: Part,
    others: Part,
    further: Part,
    lower_hydrates: Part,
    bench: Part,
    changed: BTreeMap<String, String>,
}

#[derive(Deserialize)]
struct Part {
    rows: Vec<(String, f64, f64, f64)>,
    sums: [f64; 3],
}

fn collected() -> Collected {
    toml::from_str(include_str!("reference/reactants.toml")).unwrap()
}

#[test]
fn the_digest_of_the_collected_rows_is_whole() {
    let all = collected();
    for (part, count) in [
        (&all.oxidisers, 61),
        (&all.fuels, 49),
        (&all.others, 20),
        (&all.further, 44),
        (&all.lower_hydrates, 23),
        (&all.bench, 141),
    ] {
        assert_eq!(part.rows.len(), count);
        let sum = |column: fn(&(String, f64, f64, f64)) -> f64| -> f64 {
            part.rows.iter().map(column).sum()
        };
        assert_relative_eq!(sum(|r| r.1), part.sums[0], epsilon = 1e-6);
        assert_relative_eq!(sum(|r| r.2), part.sums[1], epsilon = 1e-6);
        assert_relative_eq!(sum(|r| r.3), part.sums[2], epsilon = 1e-6);
    }
}

#[test]
fn rows_agree_with_what_was_collected() {
    let all = collected();
    let reference: Vec<_> = [
        &all.oxidisers,
        &all.fuels,
        &all.others,
        &all.further,
        &all.lower_hydrates,
        &all.bench,
    ]
    .into_iter()
    .flat_map(|part| &part.rows)
    .collect();
    assert_eq!(reference.len(), rows().count());
    for (id, molar_mass, valence, formation) in reference {
        let row = row(id);
        let m = row.formula.molar_mass().get::<gram_per_mole>();
        // atomic weights: conventional ones to three decimals there, abridged ones of five digits
        // here (caesium 132.905 and 132.91)
        assert_relative_eq!(m, *molar_mass, max_relative = 4e-5, epsilon = 2e-3);
        assert_relative_eq!(row.redox_valence.unwrap(), *valence);
        let differs = (enthalpy(row) - formation).abs() > 1e-9;
        assert_eq!(
            differs,
            all.changed.contains_key(id),
            "{id}: {} {formation}",
            enthalpy(row)
        );
    }
}

#[test]
fn the_valence_sum_of_each_formula_is_the_conventional_one() {
    for row in rows() {
        let mut chosen = BTreeMap::new();
        if let Some(metal) = &row.metal {
            chosen.insert(metal.element, f64::from(metal.oxidation_state));
        }
        let states = OxidationStates::with_choice(&chosen);
        let sum = redox::valence(&row.formula, &states).unwrap();
        assert_relative_eq!(sum, row.redox_valence.unwrap(), epsilon = 1e-9);
    }
}

#[test]
fn every_citation_resolves_and_every_estimate_says_how() {
    for row in rows() {
        let mut cited = vec![(&row.hazards.source, "see the statement", row.hazards.seen)];
        for value in [&row.formation_enthalpy, &row.enthalpy_of_solution]
            .into_iter()
            .flatten()
        {
            cited.push((&value.source, &value.locator, value.seen));
        }
        for value in [&row.heat_capacity, &row.entropy].into_iter().flatten() {
            cited.push((&value.source, &value.locator, value.seen));
        }
        for value in row.density.iter() {
            cited.push((&value.source, &value.locator, value.seen));
        }
        for value in row
            .melting
            .iter()
            .map(|m| &m.temperature)
            .chain(&row.decomposition_onset)
        {
            cited.push((&value.source, &value.locator, value.seen));
        }
        for value in row.solubility.iter() {
            cited.push((&value.source, &value.locator, value.seen));
        }
        for value in &row.alternatives {
            cited.push((&value.source, &value.locator, value.seen));
            assert!(value.reason.len() > 5, "{}: no reason", row.id);
        }
        for (source, locator, seen) in cited {
            assert!(TABLES.sources.get(source).is_some(), "{}: {source}", row.id);
            assert!(
                !locator.is_empty(),
                "{}: {source} without a locator",
                row.id
            );
            if source.0 == "memory" {
                assert_eq!(seen, Seen::FromMemory, "{}: {locator}", row.id);
            }
            if source.0 == "estimate" {
                assert!(seen >= Seen::Computed, "{}: {locator}", row.id);
            }
        }
    }
}

/// Nitrates, fuels, acids and sources used most, and oxides that are made or left by them (common practice).
const MOST_USED: [&str; 47] = [
    "al_nitrate_9",
    "mg_nitrate_6",
    "ca_nitrate_4",
    "sr_nitrate_0",
    "ba_nitrate",
    "y_nitrate_6",
    "la_nitrate_6",
    "ce_nitrate_6",
    "ceric_ammonium_nitrate",
    "pr_nitrate_6",
    "nd_nitrate_6",
    "sm_nitrate_6",
    "eu_nitrate_6",
    "gd_nitrate_6",
    "tb_nitrate_6",
    "dy_nitrate_5",
    "er_nitrate_5",
    "yb_nitrate_5",
    "fe_nitrate_9",
    "co_nitrate_6",
    "ni_nitrate_6",
    "cu_nitrate_3",
    "zn_nitrate_6",
    "mn_nitrate_4",
    "cr_nitrate_9",
    "bi_nitrate_5",
    "ag_nitrate",
    "li_nitrate",
    "ga_nitrate_8",
    "zro_nitrate_6",
    "urea",
    "glycine",
    "citric_acid",
    "citric_acid_mono",
    "carbohydrazide",
    "odh",
    "hexamine",
    "l_alanine",
    "oxalic_acid_2",
    "tartaric_acid",
    "sucrose",
    "glucose",
    "ethylene_glycol",
    "ammonia_25",
    "hno3_65",
    "h3po4_85",
    "teos",
];
const MOST_MADE: [&str; 14] = [
    "MgO(cr)",
    "Al2O3(cr,alpha)",
    "ZnO(cr)",
    "NiO(cr)",
    "CoO(cr)",
    "Co3O4(cr)",
    "CuO(cr)",
    "Fe2O3(cr,hematite)",
    "Mn2O3(cr)",
    "Cr2O3(cr)",
    "TiO2(cr,rutile)",
    "ZrO2(cr,monoclinic)",
    "CeO2(cr)",
    "Y2O3(cr,C)",
];

/// Whether memory decides how hot a reactant burns: by its enthalpy, or where a volume is weighed
/// out, by its density. Molar masses follow from the formulas.
fn recalled(row: &Reactant) -> bool {
    let enthalpy = row.formation_enthalpy.as_ref().unwrap().seen;
    let poured = row.density.as_ref().filter(|_| row.state != State::Solid);
    enthalpy == Seen::FromMemory || poured.is_some_and(|d| d.seen == Seen::FromMemory)
}

#[test]
fn memory_decides_no_burn_of_what_is_used_most() {
    for id in MOST_USED {
        assert!(!recalled(row(id)), "{id}");
    }
    for id in MOST_MADE {
        let species = TABLES.species_by_id(id).unwrap();
        assert_ne!(species.reliability(), Seen::FromMemory, "{id}");
    }
    // both ways of failing are seen where they are left
    assert!(recalled(row("lu_nitrate_5")) && recalled(row("silica_sol_30")));
    let silver = TABLES.species_by_id("Ag2O(cr)").unwrap();
    assert_eq!(silver.reliability(), Seen::FromMemory);
}

#[test]
fn every_row_has_an_enthalpy_with_a_band_and_a_heat_capacity() {
    for row in rows() {
        let h = row.formation_enthalpy.as_ref().unwrap();
        assert!(h.uncertainty.is_some(), "{}: no band", row.id);
        assert!(row.heat_capacity.is_some(), "{}: no heat capacity", row.id);
        let estimated = row
            .heat_capacity
            .as_ref()
            .filter(|cp| cp.seen == Seen::Estimated);
        assert!(
            estimated.is_none_or(|cp| cp.uncertainty.is_some()),
            "{}: no band",
            row.id
        );
    }
}

#[test]
fn ids_names_and_registry_numbers_are_unique() {
    let (mut ids, mut names, mut numbers) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
    for row in rows() {
        assert!(ids.insert(&row.id) && names.insert(&row.name), "{}", row.id);
        if let Some(cas) = &row.cas {
            // the registry has one number for nitric acid of any strength
            let again = !numbers.insert(cas);
            assert_eq!(again, row.id == "hno3_65", "{}: {cas}", row.id);
        }
    }
}

#[test]
fn only_explained_solubilities_fall() {
    let falling: Vec<&str> = rows()
        .filter(|r| r.solubility.as_ref().is_some_and(|s| s.falling.is_some()))
        .map(|r| r.id.as_str())
        .collect();
    assert_eq!(falling, ["sr_acetate", "ca_acetate", "li2co3", "na2co3"]);
}

#[test]
fn all_hydrates_of_a_salt_share_one_solubility() {
    for row in rows().filter(|r| r.role == Role::Oxidiser) {
        let family = TABLES.reactants.family(row);
        let known: Vec<_> = family.members().iter().map(|m| &m.solubility).collect();
        assert!(
            known.windows(2).all(|pair| pair[0] == pair[1]),
            "{}",
            row.id
        );
    }
}

#[test]
fn densities_are_those_of_condensed_matter() {
    for row in rows() {
        let Some(density) = &row.density else {
            continue;
        };
        let volume = row.formula.molar_mass().get::<gram_per_mole>()
            / density.value.get::<gram_per_cubic_centimeter>();
        let hydrogen = atoms(row, "H");
        // a potassium or caesium ion takes the room of two, a chloride ion that of 2.2 oxide ions
        // (cubes of the ionic radii, 1.81 and 1.40 Å)
        let large = atoms(row, "Cs") + atoms(row, "K") + 1.2 * atoms(row, "Cl");
        let heavy: f64 = row.formula.amounts().values().sum::<f64>() - hydrogen + large;
        // hydrogen takes about a third of a heavier atom's room; solids and liquids of these
        // elements need 5.5 to 13 cm³ per mole of such atoms, the light alcohols most
        let per_atom = volume / (heavy + 0.3 * hydrogen);
        let limits = if row.state == State::Solid {
            5.5..10.7
        } else {
            8.5..13.0
        };
        assert!(
            limits.contains(&per_atom),
            "{}: {per_atom:.2} cm3/mol",
            row.id
        );
    }
}

#[test]
fn melting_and_decomposition_are_in_order() {
    for row in rows() {
        if let Some(melting) = &row.melting {
            let t = melting.temperature.value.get::<degree_celsius>();
            let liquid = row.state != State::Solid;
            assert!(if liquid { t < 25.0 } else { t > 20.0 }, "{}: {t}", row.id);
            assert!(
                !melting.in_own_water || row.formula.crystal_water() > 0.0,
                "{}",
                row.id
            );
        }
        if let Some(assay) = row.assay.as_ref().filter(|_| row.role != Role::Acid) {
            assert!(assay.from.get::<percent>() > 80.0, "{}", row.id);
        }
        if let Some((low, high)) = row.water_range.as_ref().and_then(|w| w.limits) {
            let n = row.formula.crystal_water();
            assert!(
                low - 1e-9 <= n && n <= high + 1e-9 || n == 0.0,
                "{}: {n}",
                row.id
            );
        }
    }
}

/// Heat of combustion to CO2(g), H2O(l), N2(g) and SO2(g), kJ/mol, positive; the enthalpies of
/// the products are those of the CODATA Key Values (1989): −393.51, −285.83, −296.81.
fn heat_of_combustion(row: &Reactant) -> f64 {
    enthalpy(row)
        + 393.51 * atoms(row, "C")
        + 285.83 * atoms(row, "H") / 2.0
        + 296.81 * atoms(row, "S")
}

#[derive(Deserialize)]
struct Combustion {
    fuel: Vec<Published>,
}

#[derive(Deserialize)]
struct Published {
    name: String,
    value: f64,
    tolerance: f64,
    reason: String,
    source: String,
}

#[test]
fn heats_of_combustion_agree_with_published_ones() {
    let published: Combustion = toml::from_str(include_str!("reference/combustion.toml")).unwrap();
    assert!(published.fuel.len() >= 14);
    for fuel in published.fuel {
        let key = emberpot::internal::source::SourceId(fuel.source.clone());
        assert!(TABLES.sources.get(&key).is_some() && !fuel.reason.is_empty());
        let ours = heat_of_combustion(TABLES.find_reactant(&fuel.name).unwrap());
        assert!(
            (ours - fuel.value).abs() <= fuel.tolerance,
            "{}: {ours:.1} against {} ± {} ({})",
            fuel.name,
            fuel.value,
            fuel.tolerance,
            fuel.source
        );
    }
}

#[test]
fn each_fuel_gives_the_usual_heat_per_reducing_valence() {
    // mean 115 kJ per electron with a standard deviation of 6 to 7 over the compounds of table
    // 4.3 of Bioreaction Engineering Principles (Villadsen, Nielsen, Lidén); three deviations
    let usual = 95.0..=135.0;
    // each N–N single bond stores energy that the rule does not know: the dihydrazides lie high,
    // carbohydrazide with two of them on one carbon above the band; the carbon of a
    // hydrogencarbonate is burnt already
    let known = ["carbohydrazide", "nh4_bicarbonate"];
    for row in rows().filter(|r| r.role == Role::Fuel) {
        let heat = heat_of_combustion(row) / row.redox_valence.unwrap();
        let outside = !usual.contains(&heat);
        assert_eq!(
            outside,
            known.contains(&row.id.as_str()),
            "{}: {heat:.1}",
            row.id
        );
    }
}

#[test]
fn one_crystal_water_is_worth_290_to_312_kilojoules() {
    // difference rule for hydrates (Jenkins and Glasser 2004), −298.6 kJ/mol; the bracket is that
    // of the hydrates of nitrates and organic acids in the NBS tables
    let mut pairs = 0;
    for row in rows().filter(|r| r.role != Role::Acid) {
        let family = TABLES.reactants.family(row);
        if family.members()[0].id != row.id {
            continue;
        }
        for pair in family.members().windows(2) {
            let water = pair[1].formula.crystal_water() - pair[0].formula.crystal_water();
            let each = (enthalpy(pair[1]) - enthalpy(pair[0])) / water;
            // the last molecule is worth more: lanthanum (heats of solution, Guo and others 1984),
            // zinc (NBS tables 1982)
            let last = ["la_nitrate_1", "zn_nitrate_1"].contains(&pair[1].id.as_str())
                && (-322.0..-312.0).contains(&each);
            assert!(
                last || (-312.0..=-290.0).contains(&each),
                "{}: {each:.1}",
                pair[1].id
            );
            let measured = pair
                .iter()
                .all(|r| r.formation_enthalpy.as_ref().unwrap().seen <= Seen::FromMemory);
            pairs += usize::from(measured);
        }
    }
    assert!(pairs >= 28, "only {pairs} pairs rest on tabulated values");
}

#[test]
fn heats_of_solution_close_the_cycle_with_the_aqueous_ions() {
    // aqueous ions, kJ/mol: CRC Handbook, Thermodynamic Properties of Aqueous Ions; nitrate −207.4
    let ions = [
        ("mg_nitrate_6", -466.9),
        ("ca_nitrate_4", -542.8),
        ("sr_nitrate_0", -545.8),
        ("ba_nitrate", -537.6),
        ("al_nitrate_9", -531.0),
        ("co_nitrate_6", -58.2),
        ("ni_nitrate_6", -54.0),
        ("cu_nitrate_3", 64.8),
        ("zn_nitrate_6", -153.9),
        ("mn_nitrate_6", -220.8),
        ("cd_nitrate_4", -75.9),
        ("pb_nitrate", -1.7),
        ("ag_nitrate", 105.6),
        ("li_nitrate", -278.5),
        ("na_nitrate", -240.1),
        ("k_nitrate", -252.4),
        ("fe_nitrate_9", -48.5),
        ("la_nitrate_6", -707.1),
        ("nh4_nitrate", -132.5),
    ];
    for (id, ion) in ions {
        let row = row(id);
        let nitrates = row.redox_valence.unwrap() / -5.0;
        let nitrates = if id == "nh4_nitrate" { 1.0 } else { nitrates };
        let water = row.formula.crystal_water();
        let solution = ion - 207.4 * nitrates - 285.83 * water - enthalpy(row);
        // hydrated salts dissolve with −5 to +50 kJ/mol; the anhydrous alkali and alkaline-earth
        // nitrates too. The rejected iron value (−3338.8) would give 95
        assert!((-5.0..50.0).contains(&solution), "{id}: {solution:.1}");
        if let Some(stated) = &row.enthalpy_of_solution {
            // 6 kJ/mol: bands of salt and ion
            assert_relative_eq!(kj(stated), solution, epsilon = 6.0);
        }
    }
}

#[test]
fn estimated_heat_capacities_follow_the_stated_contributions() {
    // Hurst and Harrison, Chem. Eng. Commun. 112 (1992) 21: contributions in J/(mol K), recalled,
    // average error 9 % for solids (abstract). Measured ones among the rows must agree so well.
    let solid: BTreeMap<&str, f64> = [
        ("C", 10.89),
        ("H", 7.56),
        ("O", 13.42),
        ("N", 18.74),
        ("S", 12.36),
        ("Al", 18.07),
        ("B", 10.10),
        ("Ba", 32.37),
        ("Ca", 28.25),
        ("Co", 25.71),
        ("Cu", 26.92),
        ("Fe", 29.08),
        ("K", 28.78),
        ("Li", 23.25),
        ("Mg", 22.69),
        ("Mn", 28.06),
        ("Mo", 29.44),
        ("Na", 26.19),
        ("Ni", 25.46),
        ("Pb", 31.60),
        ("Sr", 28.41),
        ("Ti", 27.24),
        ("V", 29.36),
        ("Zr", 26.82),
    ]
    .into();
    let by_atoms = |row: &Reactant| -> f64 {
        let dry = row.formula.anhydrous();
        let sum: f64 = dry
            .amounts()
            .iter()
            .map(|(e, n)| n * solid.get(e.symbol()).copied().unwrap_or(26.63))
            .sum();
        sum + 41.0 * row.formula.crystal_water()
    };
    // ammonium ions turn in their crystals and hold more heat; the cage of hexamine is stiff:
    // measured, and right
    let known = ["nh4_nitrate", "hexamine", "nh4_oxalate"];
    let mut compared = 0;
    for row in rows().filter(|r| r.state == State::Solid) {
        let cp = row.heat_capacity.as_ref().unwrap();
        if cp.locator.starts_with("as the product") {
            continue; // the curve of a product species, checked with the species
        }
        let value = cp.value.get::<joule_per_kelvin_mole>();
        let rule = by_atoms(row);
        // 26 %: three average errors of the method
        let off = (value / rule - 1.0).abs() > 0.26;
        assert_eq!(
            off,
            known.contains(&row.id.as_str()),
            "{}: {value} against {rule:.0}",
            row.id
        );
        if cp.source.0 == "hurst-1992" {
            assert_relative_eq!(value, rule, epsilon = 0.51);
            compared += 1;
        }
    }
    assert!(compared > 20);
    let rule = emberpot::quantity::MolarHeatCapacity::new::<joule_per_kelvin_mole>(41.0);
    let dry = TABLES
        .reactants
        .with_water(row("y_nitrate_6"), 0.0)
        .unwrap();
    let change: MolarHeatCapacity =
        row("y_nitrate_6").heat_capacity.as_ref().unwrap().value - dry.heat_capacity.unwrap().value;
    assert_relative_eq!(
        change.get::<joule_per_kelvin_mole>(),
        6.0 * rule.get::<joule_per_kelvin_mole>(),
        max_relative = 1e-9
    );
}

#[test]
fn other_compilations_agree_or_the_row_says_why_not() {
    for row in rows() {
        let Some(h) = &row.formation_enthalpy else {
            continue;
        };
        let band = h.uncertainty.map_or(0.0, |u| u.get::<kilojoule_per_mole>());
        for other in row
            .alternatives
            .iter()
            .filter(|a| a.quantity == "formation_enthalpy")
        {
            let apart = (other.value - kj(h)).abs();
            // 4 kJ: two compilations of their own bands of 2
            let explained = ["apart", "rejected"]
                .iter()
                .any(|w| other.reason.contains(w));
            assert!(
                apart <= band + 4.0 || explained,
                "{}: {apart:.1} kJ apart",
                row.id
            );
        }
    }
}
