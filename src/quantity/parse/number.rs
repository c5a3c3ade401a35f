//! The number at the start of a written quantity.

use super::error::QuantityError;

/// Largest number that is read: no unit takes it beyond the doubles.
const LARGEST: f64 = 1e100;

/// Splits a text into its number and its unit, the unit freed from surrounding space.
pub(super) fn split<'a>(
    text: &'a str,
    example: &'static str,
) -> Result<(f64, &'a str), QuantityError> {
    let written = text.trim();
    let end = number_length(written);
    let (number, unit) = written.split_at(end);
    if unit.starts_with(',') && unit[1..].starts_with(|c: char| c.is_ascii_digit()) {
        return Err(QuantityError::Comma {
            text: written.to_owned(),
            example,
        });
    }
    let lower = written.to_lowercase();
    if ["nan", "inf", "+inf", "-inf"]
        .iter()
        .any(|word| lower.starts_with(word))
    {
        return Err(QuantityError::NotFinite {
            text: written.to_owned(),
            example,
        });
    }
    let value: f64 = number
        .replace('−', "-")
        .parse()
        .map_err(|_| QuantityError::NotANumber {
            text: written.to_owned(),
            example,
        })?;
    if value.abs() > LARGEST {
        return Err(QuantityError::TooLarge {
            text: written.to_owned(),
            example,
        });
    }
    Ok((value, unit.trim()))
}

/// Length in bytes of the decimal number at the start of `text`.
fn number_length(text: &str) -> usize {
    let mut end = 0;
    let mut previous = ' ';
    for (at, c) in text.char_indices() {
        let next_is_number = || {
            text[at + c.len_utf8()..]
                .starts_with(|n: char| n.is_ascii_digit() || n == '-' || n == '+')
        };
        let belongs = match c {
            '0'..='9' | '.' => true,
            '+' | '-' | '−' => end == 0 || matches!(previous, 'e' | 'E'),
            'e' | 'E' => previous.is_ascii_digit() && next_is_number(),
            _ => false,
        };
        if !belongs {
            break;
        }
        end = at + c.len_utf8();
        previous = c;
    }
    end
}
