//! A field of one colour, with its name and its numbers beside it.

use super::canvas::{Anchor, Canvas};
use super::picture::Picture;

/// Height of the picture and side of the field.
const HEIGHT: f64 = 56.0;

/// The colour `rgb` as a field, the one at `place` of its page; `name` and `hex` stand beside it for
/// those who do not see it.
pub(in crate::report) fn swatch(
    place: usize,
    rgb: [u8; 3],
    name: &str,
    hex: &str,
    from: &str,
) -> Picture {
    let mut canvas = Canvas::default();
    canvas.field(rgb, (4.0, 4.0), (100.0, HEIGHT - 4.0));
    let words = [
        format!("{name}, {hex}"),
        from.to_owned(),
        "an impression: screens differ".to_owned(),
    ];
    for (at, line) in words.iter().enumerate() {
        canvas.text("", (110.0, 16.0 + 15.0 * at as f64), Anchor::Start, line);
    }
    let title = format!("Colour: {name}");
    let description = format!("A field of {name} ({hex}), {from}; {}.", words[2]);
    Picture::new(
        format!("colour-{place}"),
        title,
        description,
        canvas,
        HEIGHT,
    )
    .with_numbers(
        &["colour", "red", "green", "blue"],
        vec![vec![
            name.to_owned(),
            rgb[0].to_string(),
            rgb[1].to_string(),
            rgb[2].to_string(),
        ]],
    )
}
