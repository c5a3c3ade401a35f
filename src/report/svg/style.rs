//! The look: palette, dashes, markers and the style sheet.
//!
//! Colour only repeats what dash, marker, hatch and a written name already say.

use crate::enthalpy::WaterStateName;
use std::fmt::Write;

/// Shape of a marker.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Marker {
    Disc,
    Square,
    Triangle,
    Diamond,
    /// A triangle that points downwards.
    Notch,
}

/// Markers of the series, in order.
pub(super) const MARKERS: [Marker; 5] = [
    Marker::Disc,
    Marker::Square,
    Marker::Triangle,
    Marker::Diamond,
    Marker::Notch,
];
/// Dashes of the series, in order; empty is a full line.
const DASHES: [&str; 5] = ["", "7 3", "2 2.5", "9 3 2 3", "4 2"];

/// Number of the series that stands for a state of the water in every picture.
pub(super) fn series_of(state: WaterStateName) -> usize {
    match state {
        WaterStateName::AsMixed => 0,
        WaterStateName::BoiledDown => 1,
        WaterStateName::Dried => 2,
        WaterStateName::AtIgnition => 3,
    }
}

/// Colours of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Palette {
    /// Behind everything.
    pub paper: &'static str,
    /// Text and axes.
    pub ink: &'static str,
    /// Secondary text and ticks.
    pub pale_ink: &'static str,
    /// Grid lines.
    pub grid: &'static str,
    /// Lines and markers of the series, dark enough against the paper.
    pub series: [&'static str; 5],
    /// Fills of stacked bars, pale enough for text upon them.
    pub fills: [&'static str; 7],
}

impl Palette {
    /// On white, for paper and light screens.
    pub const LIGHT: Self = Self {
        paper: "#ffffff",
        ink: "#22262b",
        pale_ink: "#565d66",
        grid: "#dfe2e6",
        series: ["#173a63", "#b8480f", "#1f7a8c", "#8a3d78", "#7a6200"],
        fills: [
            "#bcd3ec", "#f4cfa8", "#d9e8c8", "#e6cfe4", "#f1e7a9", "#d5d9de", "#ffffff",
        ],
    };
    /// On black-brown, for dark screens.
    pub const DARK: Self = Self {
        paper: "#17191c",
        ink: "#eceef0",
        pale_ink: "#b3bac2",
        grid: "#3a3f46",
        series: ["#8fbcf0", "#ff9a5c", "#5fd0df", "#e39ad2", "#d9c14a"],
        fills: [
            "#27496e", "#6e4218", "#3e5a2a", "#5b3358", "#5c5213", "#454b53", "#17191c",
        ],
    };
}

/// The style sheet of every picture in one palette. A page that follows the reader's wish for a
/// dark screen holds it twice, the dark one within its media query.
pub fn stylesheet(palette: &Palette) -> String {
    let mut css = String::new();
    let mut rule = |selector: &str, body: String| {
        let _ = write!(css, ".picture {selector}{{{body}}}");
    };
    let Palette {
        paper,
        ink,
        pale_ink,
        grid,
        ..
    } = palette;
    let family = "font-family:system-ui,'DejaVu Sans',Helvetica,Arial,sans-serif";
    rule("text", format!("fill:{ink};{family};font-size:11px"));
    rule("text.small", "font-size:10px".to_owned());
    rule("text.pale", format!("fill:{pale_ink}"));
    rule("text.strong", "font-weight:600".to_owned());
    rule(".paper", format!("fill:{paper}"));
    rule(
        ".halo",
        format!("paint-order:stroke;stroke:{paper};stroke-width:3px;stroke-linejoin:round"),
    );
    rule(".axis", format!("stroke:{ink};stroke-width:1;fill:none"));
    rule(".tick", format!("stroke:{pale_ink};stroke-width:.8"));
    rule(".grid", format!("stroke:{grid};stroke-width:.8"));
    rule(
        ".here",
        format!("stroke:{ink};stroke-width:1.1;stroke-dasharray:1 2.5;stroke-linecap:round"),
    );
    rule(
        ".floor",
        format!("stroke:{ink};stroke-width:1.4;stroke-dasharray:11 3"),
    );
    rule(".zone", format!("fill:{grid};opacity:.45"));
    rule(".edge", format!("stroke:{ink};stroke-width:.9;fill:none"));
    rule(
        ".hatch",
        format!("stroke:{ink};stroke-width:.6;opacity:.55;fill:none"),
    );
    rule(
        ".gain",
        format!("fill:{};stroke:{ink};stroke-width:.9", palette.fills[1]),
    );
    rule(
        ".drain",
        format!("fill:{};stroke:{ink};stroke-width:.9", palette.fills[0]),
    );
    rule(
        ".lack",
        format!("fill:{paper};stroke:{ink};stroke-width:1.1;stroke-dasharray:3 2"),
    );
    rule(".cut", format!("stroke:{paper};stroke-width:4;fill:none"));
    series_rules(palette, &mut rule);
    css
}

/// Tints of a map from the coldest to the hottest, opacity of one colour: pale enough for text.
pub(super) const TINTS: [f64; 6] = [0.04, 0.13, 0.22, 0.31, 0.4, 0.5];

/// The lines, bands, points and fills of the series.
fn series_rules(palette: &Palette, rule: &mut impl FnMut(&str, String)) {
    let Palette { paper, ink, .. } = palette;
    for (at, colour) in palette.series.iter().enumerate() {
        let dash = match DASHES[at] {
            "" => String::new(),
            dash => format!(";stroke-dasharray:{dash}"),
        };
        rule(
            &format!(".line{at}"),
            format!("stroke:{colour};stroke-width:1.9;fill:none;stroke-linejoin:round{dash}"),
        );
        rule(
            &format!(".thin{at}"),
            format!("stroke:{colour};stroke-width:1.2;fill:none"),
        );
        rule(&format!(".band{at}"), format!("fill:{colour};opacity:.16"));
        rule(
            &format!(".dot{at}"),
            format!("fill:{colour};stroke:{paper};stroke-width:.7"),
        );
        rule(
            &format!(".ring{at}"),
            format!("fill:{paper};stroke:{colour};stroke-width:1.3"),
        );
        rule(
            &format!("text.name{at}"),
            format!("fill:{colour};font-weight:600"),
        );
    }
    for (at, opacity) in TINTS.iter().enumerate() {
        let hot = palette.series[1];
        rule(
            &format!(".tint{at}"),
            format!("fill:{hot};fill-opacity:{opacity};stroke:{paper};stroke-width:1"),
        );
    }
    for (at, colour) in palette.fills.iter().enumerate() {
        rule(
            &format!(".fill{at}"),
            format!("fill:{colour};stroke:{ink};stroke-width:.9"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance and contrast ratio: W3C, Web Content Accessibility Guidelines 2.1,
    /// definitions "relative luminance" and "contrast ratio" (from memory).
    fn luminance(colour: &str) -> f64 {
        let channel = |at: usize| {
            let c = f64::from(u8::from_str_radix(&colour[at..at + 2], 16).unwrap()) / 255.0;
            if c <= 0.040_45 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_and_lines_stand_out_from_the_paper() {
        // 4.5 for text and 3 for graphics: the same guidelines, success criteria 1.4.3 and 1.4.11
        // (from memory). Names are written in the colours of the series, so these need 4.5 too.
        for palette in [Palette::LIGHT, Palette::DARK] {
            for colour in [palette.ink, palette.pale_ink]
                .iter()
                .chain(&palette.series)
            {
                let ratio = contrast(colour, palette.paper);
                assert!(ratio >= 4.5, "{colour} on {}: {ratio:.2}", palette.paper);
            }
            for fill in palette.fills {
                let ratio = contrast(palette.ink, fill);
                assert!(ratio >= 4.5, "text on {fill}: {ratio:.2}");
            }
        }
    }

    #[test]
    fn no_two_series_share_a_dash_or_a_marker() {
        for a in 0..DASHES.len() {
            for b in 0..a {
                assert_ne!(DASHES[a], DASHES[b]);
                assert_ne!(MARKERS[a], MARKERS[b]);
            }
        }
    }
}
