//! Units, and texts that are no quantity.

use super::*;
use approx::assert_relative_eq;

#[test]
fn units_are_converted() {
    assert_relative_eq!(mass("250 mg").unwrap().get::<uom::si::mass::gram>(), 0.25);
    assert_relative_eq!(
        temperature("95 °C")
            .unwrap()
            .get::<thermodynamic_temperature::kelvin>(),
        368.15
    );
    assert_relative_eq!(
        concentration("100 mM")
            .unwrap()
            .get::<molar_concentration::mole_per_liter>(),
        0.1,
        max_relative = 1e-12
    );
    assert_relative_eq!(
        ratio("98.5 %").unwrap().get::<uom::si::ratio::ratio>(),
        0.985
    );
    assert_relative_eq!(
        ratio("0.985").unwrap().get::<uom::si::ratio::ratio>(),
        0.985
    );
    assert_relative_eq!(
        volume("2.5e-3 L")
            .unwrap()
            .get::<uom::si::volume::milliliter>(),
        2.5,
        max_relative = 1e-12
    );
    assert_relative_eq!(
        energy("−2 kJ").unwrap().get::<uom::si::energy::joule>(),
        -2000.0
    );
}

#[test]
fn signs_that_look_alike_and_powers_of_calculators_are_read() {
    for text in ["95 °C", "95 ºC", "95 ˚C"] {
        assert_eq!(temperature(text), temperature("95 °C"), "{text}");
    }
    for text in ["60 m3", "60 m³", "60 m^3"] {
        assert_eq!(volume(text), volume("60 m3"), "{text}");
    }
    for text in ["2", "2 1/h", "2 /h"] {
        assert_eq!(changes_per_hour(text), ratio("2"), "{text}");
    }
}

#[test]
fn a_missing_or_wrong_unit_is_named() {
    assert!(matches!(mass("3"), Err(QuantityError::MissingUnit { .. })));
    assert!(matches!(
        mass("3 mL"),
        Err(QuantityError::UnknownUnit { .. })
    ));
    assert!(matches!(
        mass("three g"),
        Err(QuantityError::NotANumber { .. })
    ));
    assert!(matches!(mass("3,5 g"), Err(QuantityError::Comma { .. })));
}

#[test]
fn numbers_that_are_none_are_refused() {
    for text in ["NaN g", "inf g", "-inf g"] {
        assert!(
            matches!(mass(text), Err(QuantityError::NotFinite { .. })),
            "{text}"
        );
    }
    for text in ["1e999 bar", "1e308 bar", "-1e305 atm"] {
        assert!(
            matches!(pressure(text), Err(QuantityError::TooLarge { .. })),
            "{text}"
        );
    }
    assert!(matches!(mass(""), Err(QuantityError::NotANumber { .. })));
    assert!(matches!(
        mass("1.2.3 g"),
        Err(QuantityError::NotANumber { .. })
    ));
    assert!(matches!(
        temperature("-300 °C"),
        Err(QuantityError::BelowAbsoluteZero { .. })
    ));
}
