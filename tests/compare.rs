//! Batches side by side.

use assert_cmd::Command;
use emberpot::internal::compare::{Comparison, FactValue};
use emberpot::{Batch, CompareError, Prepared, Tables, compare};

fn file(phi: f64, extra: &str) -> String {
    format!(
        r#"
        name = "Zinc aluminate at {phi}"
        [target]
        formula = "ZnAl2O4"
        product_mass = "1 g"
        equivalence_ratio = {phi}
        [[ingredient]]
        substance = "Zn(NO3)2·6H2O"
        [[ingredient]]
        substance = "Al(NO3)3·9H2O"
        [[ingredient]]
        substance = "urea"
        {extra}
        "#
    )
}

fn compared(texts: &[String]) -> Result<Comparison, CompareError> {
    let tables = Tables::built_in().unwrap();
    let batches: Vec<Prepared<'_>> = texts
        .iter()
        .map(|text| Batch::parse(text, "test", &tables).unwrap())
        .map(|batch| Prepared::new(&batch, &tables).unwrap())
        .collect();
    compare(&batches)
}

#[test]
fn a_batch_does_not_differ_from_itself() {
    let same = compared(&[file(1.2, ""), file(1.2, "")]).unwrap();
    assert_eq!(same.differences().count(), 0);
    assert!(same.shared().count() > 20);
}

#[test]
fn more_fuel_differs_in_fuel_and_flame_not_in_salts() {
    let comparison = compared(&[file(1.0, ""), file(1.5, "")]).unwrap();
    let differs: Vec<&str> = comparison.differences().map(|f| f.name.as_str()).collect();
    assert!(differs.iter().any(|name| name.starts_with("urea")));
    assert!(differs.contains(&"fuel ratio φ") && differs.contains(&"mixture"));
    assert!(differs.contains(&"flame, equilibrium"));
    let shared: Vec<&str> = comparison.shared().map(|f| f.name.as_str()).collect();
    assert!(shared.iter().any(|name| name.starts_with("zinc nitrate")));
    assert!(shared.contains(&"mass of powder"));
}

#[test]
fn what_only_one_has_is_a_difference() {
    let flux = "[[ingredient]]\nsubstance = \"boric acid\"\nper_product = 0.1\n";
    let comparison = compared(&[file(1.0, ""), file(1.0, flux)]).unwrap();
    let acid = comparison
        .differences()
        .find(|f| f.name.starts_with("boric acid"))
        .unwrap();
    assert_eq!(acid.values[0], FactValue::Absent);
}

#[test]
fn a_difference_inside_the_bands_is_marked() {
    // Half a percent of fuel moves the flame by a kelvin or two; the data are known to ± 5 K.
    let comparison = compared(&[file(0.97, ""), file(0.968, "")]).unwrap();
    let flames = |comparison: &Comparison| {
        let facts = comparison.facts.iter();
        let flames = facts.filter(|fact| fact.name == "flame, complete combustion");
        flames.cloned().collect::<Vec<_>>()
    };
    let near = flames(&comparison);
    assert!(
        near.len() > 1 && near.iter().all(|flame| flame.within_bands()),
        "{near:?}"
    );
    let far = flames(&compared(&[file(1.0, ""), file(1.6, "")]).unwrap());
    assert_eq!(far.len(), near.len());
    assert!(
        far.iter()
            .all(|flame| flame.differs() && !flame.within_bands()),
        "{far:?}"
    );
}

#[test]
fn one_batch_is_no_comparison() {
    assert!(matches!(
        compared(&[file(1.0, "")]),
        Err(CompareError::Count { count: 1 })
    ));
}

#[test]
fn the_command_takes_several_files() {
    let folder = std::env::temp_dir().join(format!("emberpot-compare-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let (a, b) = (folder.join("a.toml"), folder.join("b.toml"));
    std::fs::write(&a, file(1.0, "")).unwrap();
    std::fs::write(&b, file(1.4, "")).unwrap();
    let run = Command::cargo_bin("emberpot")
        .unwrap()
        .args(["compare", "--full"])
        .args([&a, &b])
        .assert()
        .success();
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    let (differs, shares) = (
        text.find("What differs").unwrap(),
        text.find("What they share").unwrap(),
    );
    assert!(differs < shares && text[differs..shares].contains("fuel ratio"));
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}
