//! G(T), H(T) and Cp(T) of all species of a system at one temperature.
//!
//! Every curve of the tables is flattened into segments of one common form, so that a value is
//! one product of ten coefficients with ten powers of T that all species share:
//!
//! Cp/R = k₀T⁻² + k₁T⁻¹ + k₂ + k₃T + k₄T² + k₅T³ + k₆T⁴ + k₇T^(−½), and k₈, k₉ the constants of
//! integration of H/R and S/R. R is the molar gas constant.

use crate::quantity::GAS_CONSTANT;
use crate::tables::curve::{Curve, FIT_GAS_CONSTANT, Form, Piece};

const TERMS: usize = 10;
type Coefficients = [f64; TERMS];

/// Coefficients that hold below `to` (K), from where the segment before ends.
#[derive(Clone, Copy, Debug)]
struct Segment {
    to: f64,
    k: Coefficients,
}

/// The flattened curves of a list of species.
#[derive(Clone, Debug, Default)]
pub(super) struct Functions {
    segments: Vec<Segment>,
    start: Vec<usize>,
}

/// G/RT, H/RT and Cp/R of every species at one temperature.
#[derive(Clone, Debug, Default)]
pub(super) struct Values {
    pub g: Vec<f64>,
    pub h: Vec<f64>,
    pub cp: Vec<f64>,
}

impl Functions {
    /// Flattens the curves, in order; each with the parts into which its formula unit is cut.
    pub fn new<'c>(curves: impl Iterator<Item = (&'c Curve, f64)>) -> Self {
        let mut functions = Self {
            segments: Vec::new(),
            start: vec![0],
        };
        for (curve, parts) in curves {
            functions
                .segments
                .extend(flatten(curve).into_iter().map(|segment| Segment {
                    to: segment.to,
                    k: segment.k.map(|k| k / parts),
                }));
            functions.start.push(functions.segments.len());
        }
        functions
    }

    /// H/R (K) and Cp/R of species `j` at `t` (K).
    pub fn heat(&self, j: usize, t: f64) -> (f64, f64) {
        let k = self.segment(j, t);
        let (_, of_h, of_cp) = powers(t);
        (t * dot(k, &of_h), dot(k, &of_cp))
    }

    #[inline]
    fn segment(&self, j: usize, t: f64) -> &Coefficients {
        let own = &self.segments[self.start[j]..self.start[j + 1]];
        let here = own.iter().find(|segment| t < segment.to);
        &here.unwrap_or(&own[own.len() - 1]).k
    }

    /// Values of all species at `t` (K).
    pub fn at(&self, t: f64, values: &mut Values) {
        let (of_g, of_h, of_cp) = powers(t);
        let Values { g, h, cp } = values;
        for list in [&mut *g, h, cp] {
            list.resize(self.start.len() - 1, 0.0);
        }
        for (j, ((g, h), cp)) in g.iter_mut().zip(h).zip(cp).enumerate() {
            let k = self.segment(j, t);
            *g = dot(k, &of_g);
            *h = dot(k, &of_h);
            *cp = dot(k, &of_cp);
        }
    }
}

/// What the coefficients are multiplied with for G/RT, H/RT and Cp/R at `t` (K).
fn powers(t: f64) -> (Coefficients, Coefficients, Coefficients) {
    let log = t.ln();
    let inverse = 1.0 / t;
    let root = 1.0 / t.sqrt();
    let (t2, t3, t4) = (t * t, t * t * t, t * t * t * t);
    let inverse2 = inverse * inverse;
    let of_g: Coefficients = [
        -inverse2 / 2.0,
        (log + 1.0) * inverse,
        1.0 - log,
        -t / 2.0,
        -t2 / 6.0,
        -t3 / 12.0,
        -t4 / 20.0,
        4.0 * root,
        inverse,
        -1.0,
    ];
    let of_h: Coefficients = [
        -inverse2,
        log * inverse,
        1.0,
        t / 2.0,
        t2 / 3.0,
        t3 / 4.0,
        t4 / 5.0,
        2.0 * root,
        inverse,
        0.0,
    ];
    let of_cp: Coefficients = [inverse2, inverse, 1.0, t, t2, t3, t4, root, 0.0, 0.0];
    (of_g, of_h, of_cp)
}

/// Two sums side by side: one alone waits for each of its additions.
fn dot(a: &Coefficients, b: &Coefficients) -> f64 {
    let even = a[0] * b[0] + a[2] * b[2] + a[4] * b[4] + a[6] * b[6] + a[8] * b[8];
    let odd = a[1] * b[1] + a[3] * b[3] + a[5] * b[5] + a[7] * b[7] + a[9] * b[9];
    even + odd
}

fn flatten(curve: &Curve) -> Vec<Segment> {
    match curve {
        Curve::Pieces(pieces) => {
            let (first, last) = (&pieces[0], &pieces[pieces.len() - 1]);
            let mut segments = vec![Segment {
                to: first.from,
                k: level(first, first.from),
            }];
            segments.extend(pieces.iter().map(|p| Segment {
                to: p.to,
                k: coefficients(p),
            }));
            segments.push(Segment {
                to: f64::INFINITY,
                k: level(last, last.to),
            });
            segments
        }
        Curve::Sum {
            of,
            plus,
            h_constant,
            s_constant,
        } => {
            let parts: Vec<(f64, Vec<Segment>)> =
                of.iter().map(|(n, part)| (*n, flatten(part))).collect();
            let mut ends: Vec<f64> = parts
                .iter()
                .flat_map(|(_, segments)| segments.iter().map(|s| s.to))
                .collect();
            ends.sort_unstable_by(f64::total_cmp);
            ends.dedup_by(|a, b| a.total_cmp(b).is_eq());
            ends.into_iter()
                .map(|to| Segment {
                    to,
                    k: sum_below(to, &parts),
                })
                .map(|mut s| {
                    s.k[2] += plus / GAS_CONSTANT;
                    s.k[8] += h_constant / GAS_CONSTANT;
                    s.k[9] += s_constant / GAS_CONSTANT;
                    s
                })
                .collect()
        }
    }
}

/// Coefficients of a sum just below `to`.
fn sum_below(to: f64, parts: &[(f64, Vec<Segment>)]) -> Coefficients {
    let mut k = [0.0; TERMS];
    for (n, segments) in parts {
        let here = segments
            .iter()
            .find(|s| to <= s.to)
            .unwrap_or(&segments[segments.len() - 1]);
        for (sum, part) in k.iter_mut().zip(&here.k) {
            *sum += n * part;
        }
    }
    k
}

fn coefficients(piece: &Piece) -> Coefficients {
    let mut k = [0.0; TERMS];
    match piece.form {
        Form::NineTerm(c) => {
            for (k, c) in k.iter_mut().zip(c) {
                *k = c * FIT_GAS_CONSTANT / GAS_CONSTANT;
            }
        }
        Form::SixTerm([c1, c2, c3, c4, c5]) => {
            for (at, c) in [(2, c1), (3, c2), (0, c3), (7, c4), (4, c5)] {
                k[at] = c / GAS_CONSTANT;
            }
        }
    }
    k[8] = piece.h_constant / GAS_CONSTANT;
    k[9] = piece.s_constant / GAS_CONSTANT;
    k
}

/// Coefficients of the constant heat capacity that carries a curve on beyond its end at `t`.
fn level(piece: &Piece, t: f64) -> Coefficients {
    let cp = piece.cp(t);
    let mut k = [0.0; TERMS];
    k[2] = cp / GAS_CONSTANT;
    k[8] = (piece.h(t) - cp * t) / GAS_CONSTANT;
    k[9] = (piece.s(t) - cp * t.ln()) / GAS_CONSTANT;
    k
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Tables;
    use approx::assert_relative_eq;

    #[test]
    fn flattened_curves_equal_the_tables_inside_and_outside_their_ranges() {
        let tables = Tables::built_in().unwrap();
        let curves: Vec<&Curve> = tables.species.iter().map(|s| s.curve.as_ref()).collect();
        let functions = Functions::new(curves.iter().map(|curve| (*curve, 1.0)));
        let mut values = Values::default();
        for t in [200.0, 298.15, 333.0, 777.0, 1234.5, 2327.0, 3500.0, 5999.0] {
            functions.at(t, &mut values);
            for (j, curve) in curves.iter().enumerate() {
                let (h, s) = (curve.h(t), curve.s(t));
                let (g, rt) = (h - t * s, GAS_CONSTANT * t);
                // 1e-11 of the largest term: rounding of sums of ten terms
                let size = h.abs().max(t * s.abs()).max(rt);
                assert_relative_eq!(values.g[j] * rt, g, epsilon = 1e-11 * size);
                assert_relative_eq!(values.h[j] * rt, h, epsilon = 1e-11 * size);
                assert_relative_eq!(
                    values.cp[j] * GAS_CONSTANT,
                    curve.cp(t),
                    max_relative = 1e-9
                );
            }
        }
    }
}
