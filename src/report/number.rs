//! Numbers for people: as many digits as mean something.

use crate::quantity::units::{
    cubic_meter, degree_celsius, gram, kelvin, kelvins, liter, milligram, milliliter,
};
use crate::quantity::{Mass, TemperatureInterval, ThermodynamicTemperature, Volume};
use serde_json::Value;

/// `value` rounded to `digits` significant digits, without exponent between 1e-4 and 1e7.
pub fn significant(value: f64, digits: i32) -> String {
    if value.abs() <= 0.0 || !value.is_finite() {
        return if value.is_finite() {
            "0".to_owned()
        } else {
            "–".to_owned()
        };
    }
    let magnitude = value.abs().log10().floor() as i32;
    if !(-4..7).contains(&magnitude) {
        let decimals = usize::try_from(digits - 1).unwrap_or(0);
        return format!("{value:.decimals$e}").replace('-', "−");
    }
    // Rounding may carry into the next decade (9.996 to 10.00): then one decimal less.
    let scale = 10f64.powi(digits - 1 - magnitude);
    let rounded = (value * scale).round() / scale;
    let magnitude = rounded.abs().log10().floor() as i32;
    let decimals = usize::try_from(digits - 1 - magnitude).unwrap_or(0);
    format!("{rounded:.decimals$}").replace('-', "−")
}

/// Place of the last of `digits` significant digits of `value`, as a power of ten; 0 for zero.
fn last_place(value: f64, digits: i32) -> i32 {
    if value.abs() > 0.0 && value.is_finite() {
        value.abs().log10().floor() as i32 - digits + 1
    } else {
        0
    }
}

/// The ends of a band, both to the last of `digits` digits of the larger one; the smaller keeps one
/// digit at least: `9 to 60`, `0.07 to 8.9`.
pub(super) fn ends(low: f64, high: f64, digits: i32) -> (String, String) {
    let last = last_place(low.abs().max(high.abs()), digits);
    let end = |value: f64| {
        let kept = last_place(value, 1) - last + 1;
        significant(value, kept.clamp(1, digits))
    };
    (end(low), end(high))
}

/// `value ± half` to the same place: two digits of the half width, no finer than `digits` digits of
/// the value, and never so coarse that the half width is lost.
pub(super) fn with_band(value: f64, half: f64, digits: i32) -> String {
    if half <= 0.0 {
        return significant(value, digits);
    }
    let last = last_place(half, 2).max(last_place(value, digits));
    let last = last.min(last_place(half, 1));
    let decimals = usize::try_from(-last).unwrap_or(0);
    format!("{value:.decimals$} ± {half:.decimals$}").replace('-', "−")
}

/// A decimal logarithm, one decimal: its digits in front of the point only tell the decade.
pub(super) fn log_text(value: f64) -> String {
    format!("{:.1}", value + 0.0).replace('-', "−")
}

/// Digits of a number that is read by other programs. More would tell machines apart: the
/// solvers prove their answers to about 1e-9.
const DIGITS: usize = 10;

/// `value` as other programs read it: to ten significant digits.
fn for_programs(value: f64) -> f64 {
    let decimals = DIGITS - 1;
    format!("{value:.decimals$e}").parse().unwrap_or(value)
}

/// `value` as a cell of a table for other programs.
pub(super) fn cell_text(value: f64) -> String {
    for_programs(value).to_string()
}

/// A JSON value as it is written: indented, numbers to ten significant digits, a final line break.
pub fn json_text(value: &Value) -> String {
    let mut value = value.clone();
    round_numbers(&mut value);
    format!("{value:#}\n")
}

fn round_numbers(value: &mut Value) {
    match value {
        Value::Number(number) if number.is_f64() => {
            if let Some(exact) = number.as_f64() {
                *value = Value::from(for_programs(exact));
            }
        }
        Value::Array(items) => items.iter_mut().for_each(round_numbers),
        Value::Object(fields) => fields.values_mut().for_each(round_numbers),
        _ => {}
    }
}

/// A temperature as `776 °C (1049 K)`.
pub fn temperature_text(temperature: ThermodynamicTemperature) -> String {
    let celsius = temperature.get::<degree_celsius>();
    format!(
        "{} °C ({:.0} K)",
        whole(celsius),
        temperature.get::<kelvin>()
    )
}

/// A temperature in °C, whole.
pub(super) fn celsius_text(temperature: ThermodynamicTemperature) -> String {
    format!("{} °C", whole(temperature.get::<degree_celsius>()))
}

/// A temperature in °C, whole; a dash for none.
pub(super) fn celsius_or_dash(temperature: Option<ThermodynamicTemperature>) -> String {
    temperature.map_or("–".to_owned(), celsius_text)
}

/// A temperature difference in K, whole; below 1 K one digit.
pub(super) fn interval_text(interval: TemperatureInterval) -> String {
    let value = interval.get::<kelvins>();
    if value.abs() < 0.95 {
        format!("{} K", significant(value, 1))
    } else {
        format!("{} K", whole(value))
    }
}

/// A whole number with a true minus sign.
pub(super) fn whole(value: f64) -> String {
    format!("{:.0}", value + 0.0)
        .replace("-0", "0")
        .replace('-', "−")
}

/// A mass in g, or in mg below 0.1 g, four significant digits without trailing zeros.
pub(super) fn mass_text(mass: Mass) -> String {
    if mass.get::<gram>() < 0.1 {
        format!("{} mg", plain(mass.get::<milligram>(), 4))
    } else {
        format!("{} g", plain(mass.get::<gram>(), 4))
    }
}

/// A volume that is measured out, with the decimals that its glassware can tell: the last place is
/// no finer than half a standard uncertainty.
pub(super) fn drawn_text(volume: Volume, uncertainty: Volume) -> String {
    let (drawn, unsure) = (volume.get::<milliliter>(), uncertainty.get::<milliliter>());
    if drawn <= 0.0 || unsure <= 0.0 {
        return volume_text(volume);
    }
    let last = (0.5 * unsure).log10().ceil();
    let digits = (drawn.log10().floor() - last) as i32 + 1;
    format!("{} mL", plain(drawn, digits.clamp(1, 6)))
}

/// A volume in mL, L or m³, three significant digits; one in mL as one writes it, "8 mL".
pub(super) fn volume_text(volume: Volume) -> String {
    let litres = volume.get::<liter>();
    if litres < 1.0 {
        format!("{} mL", plain(volume.get::<milliliter>(), 3))
    } else if litres < 10_000.0 {
        format!("{} L", significant(litres, 3))
    } else {
        format!("{} m³", significant(volume.get::<cubic_meter>(), 3))
    }
}

/// A number without trailing zeros.
pub(super) fn plain(value: f64, digits: i32) -> String {
    let text = significant(value, digits);
    if text.contains('.') && !text.contains('e') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Words with the counts in their formulas as subscripts; `P3` and `N100` are no formulas.
pub fn formulas(text: &str) -> String {
    text.split_inclusive([' ', '/', ':', ';'])
        .map(|word| {
            if is_formula(word) {
                subscripts(word)
            } else {
                word.to_owned()
            }
        })
        .collect()
}

/// Whether a word looks like a formula: two elements at least, or a gas of one.
fn is_formula(word: &str) -> bool {
    let word = word.trim_end_matches([' ', '/', ':', ';', ',', '.']);
    let capitals = word.chars().filter(char::is_ascii_uppercase).count();
    let known = || {
        let end = word.find("(cr").or(word.find("(l)")).or(word.find("(g)"));
        let formula = word[..end.unwrap_or(word.len())].trim_matches(['(', ',']);
        // M stands for any metal: MAl2O4.
        let any_metal = formula.strip_prefix('M');
        let any_metal = any_metal.filter(|rest| rest.starts_with(|c: char| c.is_ascii_uppercase()));
        let formula = any_metal.unwrap_or(formula);
        crate::formula::Formula::parse(formula).is_ok()
    };
    word.chars().any(|c| c.is_ascii_digit())
        && (capitals >= 2 || matches!(word, "O2" | "N2" | "H2"))
        && known()
}

/// A formula or id with its counts as subscripts: `CO2` becomes `CO₂`, `Al(NO3)3·9H2O` becomes
/// `Al(NO₃)₃·9H₂O`.
pub fn subscripts(formula: &str) -> String {
    let mut counting = false;
    formula
        .chars()
        .map(|c| {
            let digit = c.to_digit(10);
            // A count follows a letter or a bracket; a decimal point goes on with it.
            counting = match c {
                'a'..='z' | 'A'..='Z' | ')' | ']' => true,
                '0'..='9' | '.' => counting,
                _ => false,
            };
            match digit {
                Some(digit) if counting => char::from_u32(0x2080 + digit).unwrap_or(c),
                _ => c,
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn programs_read_ten_digits() {
        let value = serde_json::json!({"a": [1.099_999_999_999_999_9, 3, null], "b": 8.9e-300});
        let text = json_text(&value);
        let read: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(
            read,
            serde_json::json!({"a": [1.1, 3, null], "b": 8.9e-300})
        );
        assert!(text.contains("1.1,"), "{text}");
        assert!(for_programs(f64::INFINITY).is_infinite());
    }

    #[test]
    fn digits_are_significant_ones() {
        assert_eq!(significant(0.0, 3), "0");
        assert_eq!(significant(1234.567, 3), "1230");
        assert_eq!(significant(0.012345, 3), "0.0123");
        assert_eq!(significant(9.996, 3), "10.0");
        assert_eq!(significant(-2.5, 3), "−2.50");
        assert_eq!(significant(1.5e-9, 2), "1.5e−9");
        assert_eq!(significant(f64::NAN, 2), "–");
    }

    #[test]
    fn ends_of_a_band_share_their_last_place() {
        let ends = |low, high| {
            let (low, high) = ends(low, high, 2);
            format!("{low} to {high}")
        };
        assert_eq!(ends(9.0, 60.2), "9 to 60");
        assert_eq!(ends(9.6, 60.2), "10 to 60");
        assert_eq!(ends(0.073, 8.9), "0.07 to 8.9");
        assert_eq!(ends(0.15, 0.6), "0.15 to 0.60");
        assert_eq!(ends(3.2, 640.0), "3 to 640");
        assert_eq!(ends(-62.0, 4.4), "−62 to 4");
        assert_eq!(ends(0.0, 12.0), "0 to 12");
    }

    #[test]
    fn a_value_stops_where_its_band_does() {
        assert_eq!(with_band(1154.6, 5.8, 3), "1155 ± 6");
        assert_eq!(with_band(937.7, 11.2, 3), "938 ± 11");
        assert_eq!(with_band(858.7, 3.4, 3), "859 ± 3");
        assert_eq!(with_band(1154.6, 0.31, 3), "1154.6 ± 0.3");
        assert_eq!(with_band(1.4, 0.0077, 9), "1.4000 ± 0.0077");
        assert_eq!(with_band(2176.0, 51.0, 3), "2176 ± 51");
        assert_eq!(with_band(-3.0, 0.0, 3), "−3.00");
    }

    #[test]
    fn only_formulas_get_subscripts() {
        assert_eq!(
            formulas("filter P3 or N100, NO2 from Al2O3(cr,alpha)."),
            "filter P3 or N100, NO₂ from Al₂O₃(cr,alpha)."
        );
        assert_eq!(formulas("CO/CO2, EU 2017/164"), "CO/CO₂, EU 2017/164");
        assert_eq!(formulas("spinel MAl2O4 in M12"), "spinel MAl₂O₄ in M12");
    }

    #[test]
    fn counts_become_subscripts_and_factors_do_not() {
        assert_eq!(subscripts("Al(NO3)3·9H2O"), "Al(NO₃)₃·9H₂O");
        assert_eq!(subscripts("Co0.2Zn0.8Al2O4"), "Co₀.₂Zn₀.₈Al₂O₄");
        assert_eq!(subscripts("2 H2O(l)"), "2 H₂O(l)");
    }
}
