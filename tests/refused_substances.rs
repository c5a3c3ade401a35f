//! Substances that are refused: by name in any spelling, by formula in any order, by registry
//! number, by composition; in the batch, in the look-up and in a table of one's own.

use emberpot::internal::choose::HazardClass;
use emberpot::internal::tables::{HazardGroup, LookupError, Role};
use emberpot::{Batch, Tables};
use std::fs;
use std::sync::OnceLock;

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| Tables::built_in().unwrap())
}

/// Names, formulas and numbers of refused substances, a line a class.
const REFUSED: [&str; 20] = [
    "NaClO;Ca(ClO)2;Ca(OCl)2;CaCl2O2;ClNaO;sodium hypochlorite;calcium-hypochlorite;Natriumhypochlorit;bleach;HTH;7681-52-9;7778-54-3;HOCl;LiClO;Ba(ClO)2·2H2O",
    "NaClO2;KClO3;ClKO3;ClO3K;AgClO3;chlorite;Potassium Chlorate;Kaliumchlorat;3811-04-9;KBrO3;BrKO3;sodium bromate;KIO3;Mg(ClO3)2·6H2O;Cl2O7;trichloroisocyanuric acid;ICl3O3",
    "KClO4;ClO4K;NH4ClO4;ClH4NO4;HClO4;LiClO4·3H2O;ammonium perchlorate;Perchlorsäure;7790-98-9;periodic acid",
    "KMnO4;MnKO4;O4MnK;Ca(MnO4)2;K2Cr2O7;Cr2K2O7;CrO3;Na2CrO4;K2FeO4;potassium permanganate;Kaliumpermanganat;7722-64-7;condy's crystals;OsO4",
    "H2O2;HOOH;hydrogen peroxide;hydrogen peroxide 30 %;Wasserstoffperoxid;7722-84-1;Na2O2;BaO2;BaO2·8H2O;KO2;K2S2O8;(NH4)2S2O8;oxone;Na2CO3·1.5H2O2;CO(NH2)2·H2O2;NaBO3·4H2O;sodium percarbonate;KO3;peracetic acid;TATP",
    "NaN3;N3Na;Pb(N3)2;AgN3;HN3;NH4N3;Ba(N3)2;sodium azide;Natriumazid;26628-22-8;hydrazoic acid;carbohydrazide azide",
    "AgCNO;silver fulminate;KCN;NaCN;CaC2;Ag2C2;K3Fe(CN)6;K4[Fe(CN)6]·3H2O;143-33-9;prussian blue;628-86-4",
    "NaNO2;KNO2;NNaO2;NH4NO2;Ca(NO2)2;Ba(NO2)2·H2O;HNO2;sodium nitrite;Natriumnitrit;7632-00-0;Na3Co(NO2)6",
    "guanidine nitrate;guanidinium nitrate;CH6N4O3;CH5N3·HNO3;C(NH2)3NO3;[C(NH2)3]NO3;N4CH6O3;Guanidinnitrat;506-93-4;urea nitrate;CH5N3O4;CO(NH2)2·HNO3;CH4N2O·HNO3;124-47-0;uronium nitrate",
    "methylammonium nitrate;CH3NH3NO3;CH6N2O3;ethylenediamine dinitrate;C2H10N4O6;melamine nitrate;hexamine dinitrate;aminoguanidine nitrate;imidazolium nitrate;glycine nitrate;sorbitol hexanitrate;ethyl nitrate;cellulose nitrate;triaminoguanidinium nitrate",
    "nitromethane;CH3NO2;nitro-methane;nitroguanidine;CH4N4O2;TNT;C6H2(NO2)3CH3;C7H5N3O6;picric acid;C6H3N3O7;RDX;C3H6N6O6;HMX;C4H8N8O8;PETN;C(CH2ONO2)4;nitrocellulose;C2H4N4O4;ETN;isosorbide dinitrate;118-96-7;C2H4(NO3)2;nitrourea",
    "hydrazine;N2H4·H2O;hydrazine hydrate;hydrazinium nitrate;N2H5NO3;hydroxylamine;NH2OH;302-01-2;Ni(N2H4)3(NO3)2;[Co(NH3)6](NO3)3;Cu(NH3)4(NO3)2;Zn(NO3)2·CH4N2O;5-aminotetrazole;CH3N5",
    "Ag2C2O4;silver oxalate;533-51-7;Ag3N;semicarbazide nitrate",
    "Ni(CO)4;nickel carbonyl;iron pentacarbonyl;Fe(CO)5;13463-39-3;MEKP;XeO3;oleum",
    "F2;ClF3;bromine;chlorine trifluoride;nitrogen triiodide;NI3;NCl3",
    "diethyl ether;Ether;60-29-7;THF;petrol;Gasoline;n-hexane;toluene;C7H8;carbon disulfide;CS2;acetylene;74-86-2;butane;propane;CH4;hydrogen gas;H2",
    "charcoal;S;sulfur;thermite;Mg;Al;aluminum;AlMg;zinc dust;Al powder;Al dust, fine;aluminum flakes;Ti sponge;tungsten powder 325 mesh;magnesium ribbon;ammonium nitrate fuel oil;7429-90-5;7440-44-0",
    "NaBH4;LiAlH4;CaH2 hydride;sodium borohydride;16940-66-2",
    "As2O3;arsenic trioxide;Na3AsO4;1327-53-3;Be(NO3)2·4H2O;beryllium nitrate;BeO;Tl(NO3)3·3H2O;TlNO3;thallium(I) nitrate;Hg(NO3)2·H2O;mercuric nitrate;mercury(II) oxide;HgO;Hg(CH3COO)2;10045-94-0",
    "Th(NO3)4·5H2O;thorium nitrate;UO2(NO3)2·6H2O;uranyl nitrate;U3O8;uranium oxide;Ra(NO3)2;PuO2;Pu(NO3)4;TcO2;Am2O3;10102-06-4",
];

fn all() -> impl Iterator<Item = &'static str> {
    REFUSED.iter().flat_map(|line| line.split(';'))
}

#[test]
fn every_spelling_of_a_refused_substance_is_refused_with_a_reason() {
    let mut wrong = Vec::new();
    let mut count = 0;
    for name in all() {
        count += 1;
        match tables().reactants.resolve(name, None) {
            Err(LookupError::Refused { reason, .. }) if reason.len() > 40 => {}
            other => wrong.push(format!("{name}: {:?}", other.map(|r| r.name))),
        }
    }
    assert!(count > 190, "{count}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_batch_with_one_says_so_and_never_asks_for_a_table_of_ones_own() {
    for name in all() {
        let text = format!(
            "[[ingredient]]\nsubstance = \"{name}\"\nmass = \"1 g\"\n\
             [[ingredient]]\nsubstance = \"urea\"\nmass = \"1 g\"\n"
        );
        let error = Batch::parse(&text, "test", tables())
            .unwrap_err()
            .to_string();
        assert!(error.contains("is refused:"), "{name}: {error}");
        assert!(!error.contains("your own"), "{name}: {error}");
    }
}

#[test]
fn usual_substances_that_are_not_tabulated_are_not_taken_for_dangerous_ones() {
    for name in [
        "ZrOCl2·8H2O",
        "BiOCl",
        "SnCl4·5H2O",
        "NH4Cl",
        "Zn5(OH)8Cl2·H2O",
        "Bi5O(OH)9(NO3)4",
        "(BiO)NO3",
        "CuCO3·Cu(OH)2",
        "KHCO3",
        "NH4VO3",
        "(NH4)2TiO(C2O4)2",
        "nickel nitrate",
        "tin nitrate",
        "titanyl nitrate",
        "zirconyl nitrate",
        "ammonium nitrate",
        "ammonium lanthanum nitrate",
        "Fe(C5H7O2)3",
        "FeC6H5O7",
        "Cr(CH3COO)3",
        "MnO2",
        "Pr6O11",
        "Tb4O7",
        "Co3O4",
        "cytosine",
        "C3H3N3O3",
        "C2H4N2O2",
        "CH6N2O2",
        "nitrilotriacetic acid",
        "cyanuric acid",
        "phthalic anhydride",
        "copper oxide",
        "tetraethoxysilane",
        "C8H8",
        "C2H4",
        "polyethylene",
        "polystyrene spheres",
        "paraffin wax",
        "1,4-butanediol",
        "hexanediol",
        "ethylene carbonate",
        "hydrogen citrate",
        "furan resin",
    ] {
        let refusal = tables().reactants.refusal(name);
        assert!(refusal.is_none(), "{name}: {refusal:?}");
    }
}

/// An own row with these spellings; everything else is harmless.
fn own_row(id: &str, name: &str, alias: &str, formula: &str, cas: &str) -> String {
    format!(
        "units = {{ enthalpy = \"kJ/mol\" }}\n[[reactant]]\nid = \"{id}\"\nname = \"{name}\"\n\
         aliases = [\"{alias}\"]\nformula = \"{formula}\"\n{cas}role = \"fuel\"\nphase = \"cr\"\n\
         redox_valence = 1\nhazards = {{ signal = \"none\", statements = [], source = \"own\", \
         seen = \"estimated\" }}\n"
    )
}

fn load(row: &str) -> Result<Tables, String> {
    let root = std::env::temp_dir().join(format!(
        "emberpot-refused-{}-{:?}",
        std::process::id(),
        std::thread::current().id()
    ));
    let _ = fs::remove_dir_all(&root);
    fs::create_dir_all(root.join("reactants")).unwrap();
    fs::write(
        root.join("sources.toml"),
        "[[source]]\nkey = \"own\"\ntitle = \"Invented for this test\"\n",
    )
    .unwrap();
    fs::write(root.join("reactants/own.toml"), row).unwrap();
    let loaded = Tables::with_directory(&root).map_err(|error| error.to_string());
    fs::remove_dir_all(&root).unwrap();
    loaded
}

#[test]
fn a_table_of_ones_own_cannot_lift_a_refusal() {
    let harmless = own_row("my_fuel", "my fuel", "mine", "C5H9NO3", "");
    assert!(load(&harmless).is_ok(), "{:?}", load(&harmless).err());
    let cases = [
        own_row("oxygen_salt", "my salt", "mine", "KClO4", ""),
        own_row("oxygen_salt", "my salt", "mine", "ClO4K", ""),
        own_row("fuel_2", "my fuel", "mine", "CH6N4O3", ""),
        own_row("urea", "urea", "mine", "CH5N3O4", ""),
        own_row("sodium azide", "my salt", "mine", "C5H9NO3", ""),
        own_row("fuel_3", "Hydrogen Peroxide", "mine", "C5H9NO3", ""),
        own_row("fuel_4", "my salt", "Natriumchlorat", "C5H9NO3", ""),
        own_row(
            "fuel_5",
            "my salt",
            "mine",
            "C5H9NO3",
            "cas = \"7778-74-7\"\n",
        ),
        own_row("fuel_6", "my salt", "mine", "Hg(C2H3O2)2", ""),
        own_row("fuel_7", "my salt", "mine", "UO3", ""),
        own_row("fuel_8", "my salt", "mine", "Al", ""),
    ];
    for row in cases {
        let error = load(&row).map(|_| row.clone()).unwrap_err();
        assert!(
            error.contains("is refused, in a table of your own too"),
            "{error}"
        );
        assert!(error.contains("own.toml"), "{error}");
    }
}

#[test]
fn no_hazard_class_changed_when_it_became_a_column() {
    // The classes as they were read from remarks and names before the column was there.
    let class = |name: HazardClass| -> Vec<&str> {
        tables()
            .reactants
            .iter()
            .filter(|r| r.role == Role::Fuel && HazardClass::of(r) == name)
            .map(|r| r.id.as_str())
            .collect()
    };
    assert_eq!(
        class(HazardClass::Hydrazide),
        ["carbohydrazide", "odh", "mdh"]
    );
    assert_eq!(
        class(HazardClass::Ammonium),
        [
            "nh4_acetate",
            "nh4_citrate_2",
            "nh4_citrate_3",
            "nh4_oxalate",
            "nh4_bicarbonate",
            "ammonium_formate",
            "nh4_tartrate",
            "ammonium_carbonate"
        ]
    );
    assert_eq!(
        class(HazardClass::Danger),
        [
            "hexamine",
            "oxalic_acid",
            "oxalic_acid_2",
            "tartaric_acid",
            "succinic_acid",
            "lactic_acid_l",
            "ethanol",
            "methanol",
            "acetylacetone",
            "semicarbazide",
            "acrylamide",
            "monoethanolamine",
            "malonic_acid",
            "glutaric_acid",
            "acetic_acid",
            "formic_acid",
            "formamide",
            "methoxyethanol",
            "isopropanol",
            "diethanolamine",
            "ethylenediamine",
            "ammonia_25",
            "benzoic_acid"
        ]
    );
    let group = |group: HazardGroup| -> Vec<&str> {
        tables()
            .reactants
            .iter()
            .filter(|r| r.is_in(group))
            .map(|r| r.id.as_str())
            .collect()
    };
    assert_eq!(
        group(HazardGroup::DangerousWithNitricAcid),
        ["hexamine", "ethanol", "isopropanol"]
    );
    assert_eq!(
        group(HazardGroup::PrecipitatesMetals),
        ["oxalic_acid", "oxalic_acid_2", "nh4_oxalate"]
    );
}
