//! Writing SVG elements. Coordinates are user units with one decimal, y downwards.

use super::style::Marker;

/// Text with the characters that XML keeps for itself written out.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // XML 1.0 has no other control characters.
            '\t' | '\n' => out.push(' '),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A coordinate with at most one decimal, so that platforms agree.
pub(super) fn short(value: f64) -> String {
    let text = format!("{:.1}", (value * 10.0).round() / 10.0 + 0.0);
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

/// Where a text is fastened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Estimated width of a text in units at this font size: 0.54 em a character suits the usual
/// sans-serif faces (0.5 on average) with some room.
pub(super) fn text_width(text: &str, size: f64) -> f64 {
    0.54 * size * text.chars().count() as f64
}

/// The elements drawn so far.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    body: String,
}

impl Canvas {
    pub(super) fn into_body(self) -> String {
        self.body
    }

    fn push(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }

    pub(super) fn line(&mut self, class: &str, from: (f64, f64), to: (f64, f64)) {
        let element = format!(
            "<line class=\"{class}\" x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"/>",
            short(from.0),
            short(from.1),
            short(to.0),
            short(to.1)
        );
        self.push(&element);
    }

    /// A line through points; nothing for fewer than two.
    pub(super) fn path(&mut self, class: &str, points: &[(f64, f64)]) {
        if points.len() < 2 {
            return;
        }
        let element = format!("<path class=\"{class}\" d=\"{}\"/>", commands(points));
        self.push(&element);
    }

    /// A closed area; nothing for fewer than three points.
    pub(super) fn area(&mut self, class: &str, points: &[(f64, f64)]) {
        if points.len() < 3 {
            return;
        }
        let element = format!("<path class=\"{class}\" d=\"{}Z\"/>", commands(points));
        self.push(&element);
    }

    /// A rectangle by two opposite corners.
    pub(super) fn rectangle(&mut self, class: &str, a: (f64, f64), b: (f64, f64)) {
        let element = format!(
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            short(a.0.min(b.0)),
            short(a.1.min(b.1)),
            short((a.0 - b.0).abs()),
            short((a.1 - b.1).abs())
        );
        self.push(&element);
    }

    /// A rectangle filled with a colour of its own.
    pub(super) fn field(&mut self, [r, g, b]: [u8; 3], a: (f64, f64), to: (f64, f64)) {
        let element = format!(
            "<rect fill=\"#{r:02x}{g:02x}{b:02x}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
            short(a.0),
            short(a.1),
            short(to.0 - a.0),
            short(to.1 - a.1)
        );
        self.push(&element);
    }

    /// A text with its baseline at `at`.
    pub(super) fn text(&mut self, class: &str, at: (f64, f64), anchor: Anchor, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let class = match class {
            "" => String::new(),
            class => format!(" class=\"{class}\""),
        };
        let element = format!(
            "<text{class} x=\"{}\" y=\"{}\"{anchor}>{}</text>",
            short(at.0),
            short(at.1),
            escaped(text)
        );
        self.push(&element);
    }

    /// A marker about 7 units wide.
    pub(super) fn marker(&mut self, class: &str, shape: Marker, at: (f64, f64)) {
        let (x, y) = at;
        let element = match shape {
            Marker::Disc => format!(
                "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"3.2\"/>",
                short(x),
                short(y)
            ),
            Marker::Square => closed(class, &square(x, y, 2.9)),
            Marker::Triangle => closed(
                class,
                &[(x, y - 3.9), (x + 3.7, y + 2.8), (x - 3.7, y + 2.8)],
            ),
            Marker::Diamond => closed(
                class,
                &[(x, y - 4.2), (x + 4.2, y), (x, y + 4.2), (x - 4.2, y)],
            ),
            Marker::Notch => closed(
                class,
                &[(x, y + 3.9), (x + 3.7, y - 2.8), (x - 3.7, y - 2.8)],
            ),
        };
        self.push(&element);
    }
}

fn square(x: f64, y: f64, half: f64) -> [(f64, f64); 4] {
    [
        (x - half, y - half),
        (x + half, y - half),
        (x + half, y + half),
        (x - half, y + half),
    ]
}

fn closed(class: &str, points: &[(f64, f64)]) -> String {
    format!("<path class=\"{class}\" d=\"{}Z\"/>", commands(points))
}

fn commands(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    for (at, (x, y)) in points.iter().enumerate() {
        out.push(if at == 0 { 'M' } else { 'L' });
        out.push_str(&short(*x));
        out.push(' ');
        out.push_str(&short(*y));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_and_control_characters_are_harmless() {
        assert_eq!(
            escaped("a<b>&\"c\"\u{1}\n"),
            "a&lt;b&gt;&amp;&quot;c&quot; "
        );
    }

    #[test]
    fn coordinates_have_one_decimal_and_no_negative_zero() {
        assert_eq!(short(12.0), "12");
        assert_eq!(short(12.34), "12.3");
        assert_eq!(short(-0.01), "0");
        assert_eq!(short(-3.25), "-3.3");
    }
}
