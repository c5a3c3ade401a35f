//! What the eye saw of a run, held against the draws: colour of the fumes, place of lighting.
//!
//! Both weigh little. A colour is a chance that goes with φ as burnt, and with the nitrate that leaves
//! before as NO2. The place is that of the sampled courses of heating which leave about as much
//! water as the draw; the eye errs.

use crate::batch::{Fumes, LitAt};
use crate::expected::Draw;
use crate::ignition::{CourseDraw, LitPlace};
use crate::learned::Place;
use crate::quantity::Ratio;
use crate::quantity::units::ratio;
use crate::tables::observations::{FumeColours, Observations};

/// Places of the layer that the model tells apart.
const PLACES: f64 = 3.0;

/// What was seen, with what was predicted of it.
#[derive(Debug, Clone, Default)]
pub struct Signs {
    /// Colour of the fumes.
    pub fumes: Option<Fumes>,
    /// Where it lit.
    pub lit_at: Option<LitAt>,
    /// Where the sampled courses light, wettest first.
    pub places: Vec<LitPlace>,
}

/// What was predicted of a sign: the chance that it is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignOutlook {
    pub before: Ratio,
    /// By the other runs of the pot; `None` if there are none.
    pub without: Option<Ratio>,
}

/// Where it lit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceOutlook {
    pub seen: LitAt,
    /// Sampled courses that light there, of those that light; none without a course.
    pub courses: Option<(usize, usize)>,
}

/// Where the sampled courses light, wettest first.
pub fn places(courses: &[CourseDraw]) -> Vec<LitPlace> {
    let mut lit: Vec<(f64, LitPlace)> = courses
        .iter()
        .filter_map(|draw| Some((draw.water_left.get::<ratio>(), draw.place?)))
        .collect();
    lit.sort_by(|a, b| b.0.total_cmp(&a.0));
    lit.into_iter().map(|(_, place)| place).collect()
}

/// The places of the model that are meant. It knows no side wall: what lights there lights at the
/// rim, where floor and surface meet; what lights in many places at once is hot inside.
fn meant(seen: LitAt) -> &'static [LitPlace] {
    match seen {
        LitAt::Floor => &[LitPlace::Wall],
        LitAt::Wall => &[LitPlace::Wall, LitPlace::Top],
        LitAt::Middle | LitAt::Throughout => &[LitPlace::Centre],
        LitAt::Surface => &[LitPlace::Top],
    }
}

impl Signs {
    /// Logarithm of the chance that all of it is seen of a draw.
    pub fn logarithm(&self, draw: &Draw, place: &Place, tables: &Observations) -> f64 {
        let fumes = self
            .fumes
            .map_or(1.0, |seen| fume_chance(seen, draw, tables));
        (fumes * self.place_chance(place, tables)).ln()
    }

    /// Chance that it is seen to light where it was, if heating is as slow as at `place`: by the
    /// courses of about that rank.
    fn place_chance(&self, place: &Place, tables: &Observations) -> f64 {
        let Some(seen) = self.lit_at.filter(|_| !self.places.is_empty()) else {
            return 1.0;
        };
        let near = tables.weight.near_courses.si();
        let count = self.places.len() as f64;
        let (mut there, mut all) = (0.0, 0.0);
        for (at, lit) in self.places.iter().enumerate() {
            let off = ((at as f64 + 0.5) / count - place[0]).abs();
            let weight = (1.0 - off / near).max(1.0 / count);
            all += weight;
            there += weight * f64::from(u8::from(meant(seen).contains(lit)));
        }
        let errs = tables.weight.place_errs.si();
        (1.0 - errs) * there / all + errs * meant(seen).len() as f64 / PLACES
    }

    /// What was predicted of the colour by draws weighted before and by the other runs.
    pub fn fume_outlook(
        &self,
        draws: &[Draw],
        before: &[f64],
        without: Option<&[f64]>,
        tables: &Observations,
    ) -> Option<(Fumes, SignOutlook)> {
        let seen = self.fumes?;
        let chance = |weights: &[f64]| {
            let chances = draws.iter().map(|draw| fume_chance(seen, draw, tables));
            Ratio::new::<ratio>(chances.zip(weights).map(|(c, w)| c * w).sum())
        };
        let outlook = SignOutlook {
            before: chance(before),
            without: without.map(chance),
        };
        Some((seen, outlook))
    }

    /// What the sampled courses say of the place.
    pub fn place_outlook(&self) -> Option<PlaceOutlook> {
        let seen = self.lit_at?;
        let there = self.places.iter().filter(|lit| meant(seen).contains(lit));
        let courses = (there.count(), self.places.len());
        Some(PlaceOutlook {
            seen,
            courses: (courses.1 > 0).then_some(courses),
        })
    }
}

/// Chance that the fumes of a draw have this colour.
fn fume_chance(seen: Fumes, draw: &Draw, tables: &Observations) -> f64 {
    let of: fn(&FumeColours) -> f64 = match seen {
        Fumes::None => |row| row.none,
        Fumes::White => |row| row.white,
        Fumes::Brown => |row| row.brown,
        Fumes::Black => |row| row.black,
        Fumes::Yellow => |row| row.yellow,
    };
    let phi = draw.equivalence_ratio.get::<ratio>();
    let lost = draw.nitrate_lost.get::<ratio>().clamp(0.0, 1.0);
    (1.0 - lost) * tables.fumes.burning(of, phi) + lost * tables.fumes.leaving(of)
}
