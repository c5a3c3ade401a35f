//! Heat-capacity curves: Cp(T) in pieces, integrated to H(T) and S(T). Plain `f64` in SI.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | `t` | temperature T | K |
//! | `cp` | molar heat capacity C_p,m | J/(mol K) |
//! | `h` | molar enthalpy, elements at 298.15 K = 0 | J/mol |
//! | `s` | molar entropy | J/(mol K) |
//!
//! Two forms are read. `nine_term`: Cp/R = c1 T⁻² + c2 T⁻¹ + c3 + c4 T + c5 T² + c6 T³ + c7 T⁴
//! with integration constants b1 (enthalpy) and b2 (entropy) and R = 8.314510 J/(mol K), the
//! value the coefficients were fitted with (McBride, Zehe & Gordon, NASA/TP-2002-211556, 2002,
//! equations 2 to 4). `six_term`: Cp = c1 + c2 T + c3 T⁻² + c4 T⁻½ + c5 T² in J/(mol K) (Robie &
//! Hemingway, USGS Bulletin 2131, 1995), anchored at 298.15 K by the formation enthalpy and the
//! entropy; a later piece goes on from the end of the one before.
//!
//! Outside its pieces a curve goes on with the heat capacity of its end, which is smooth in H
//! and S and cannot turn negative, as a polynomial could. Whether that may be used is the
//! question of `Species::usable`.

use std::sync::Arc;

/// R that the nine-term coefficients were fitted with, J/(mol K) (NASA/TP-2002-211556, table 1).
pub(crate) const FIT_GAS_CONSTANT: f64 = 8.314_510;

/// The formula of one piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Form {
    /// Powers −2 to 4 of T, in units of R.
    NineTerm([f64; 7]),
    /// Powers 0, 1, −2, −½ and 2 of T.
    SixTerm([f64; 5]),
}

/// Cp(T) between two temperatures with its integration constants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Piece {
    pub from: f64,
    pub to: f64,
    pub form: Form,
    pub h_constant: f64,
    pub s_constant: f64,
}

impl Piece {
    /// A piece with the integration constants b1 (in K) and b2 of the nine-term form.
    pub fn nine_term(from: f64, to: f64, c: [f64; 7], b1: f64, b2: f64) -> Self {
        Self {
            from,
            to,
            form: Form::NineTerm(c),
            h_constant: FIT_GAS_CONSTANT * b1,
            s_constant: FIT_GAS_CONSTANT * b2,
        }
    }

    /// A piece that has enthalpy `h` and entropy `s` at `t` (inside the piece or not).
    pub fn six_term(from: f64, to: f64, c: [f64; 5], t: f64, h: f64, s: f64) -> Self {
        let mut piece = Self {
            from,
            to,
            form: Form::SixTerm(c),
            h_constant: 0.0,
            s_constant: 0.0,
        };
        piece.h_constant = h - piece.h(t);
        piece.s_constant = s - piece.s(t);
        piece
    }

    pub fn cp(&self, t: f64) -> f64 {
        match self.form {
            Form::NineTerm(c) => {
                let poly = c[2] + t * (c[3] + t * (c[4] + t * (c[5] + t * c[6])));
                FIT_GAS_CONSTANT * ((c[0] / t + c[1]) / t + poly)
            }
            Form::SixTerm(c) => c[0] + t * (c[1] + t * c[4]) + c[2] / (t * t) + c[3] / t.sqrt(),
        }
    }

    pub fn h(&self, t: f64) -> f64 {
        let integral = match self.form {
            Form::NineTerm(c) => {
                let poly =
                    c[2] + t * (c[3] / 2.0 + t * (c[4] / 3.0 + t * (c[5] / 4.0 + t * c[6] / 5.0)));
                FIT_GAS_CONSTANT * (-c[0] / t + c[1] * t.ln() + t * poly)
            }
            Form::SixTerm(c) => {
                t * (c[0] + t * (c[1] / 2.0 + t * c[4] / 3.0)) - c[2] / t + 2.0 * c[3] * t.sqrt()
            }
        };
        integral + self.h_constant
    }

    pub fn s(&self, t: f64) -> f64 {
        let integral = match self.form {
            Form::NineTerm(c) => {
                let poly = t * (c[3] + t * (c[4] / 2.0 + t * (c[5] / 3.0 + t * c[6] / 4.0)));
                FIT_GAS_CONSTANT * (-c[0] / (2.0 * t * t) - c[1] / t + c[2] * t.ln() + poly)
            }
            Form::SixTerm(c) => {
                c[0] * t.ln() + t * (c[1] + t * c[4] / 2.0)
                    - c[2] / (2.0 * t * t)
                    - 2.0 * c[3] / t.sqrt()
            }
        };
        integral + self.s_constant
    }
}

/// H(T), S(T) and Cp(T) of one species.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Curve {
    /// Pieces in rising order of temperature, each starting where the one before ends.
    Pieces(Vec<Piece>),
    /// Kopp–Neumann: the sum of the components' curves and of a constant heat capacity, moved by
    /// constants of integration.
    Sum {
        of: Vec<(f64, Arc<Curve>)>,
        plus: f64,
        h_constant: f64,
        s_constant: f64,
    },
}

impl Curve {
    /// The sum of `of` (number and curve) and of the constant heat capacity `plus`, with
    /// enthalpy `h` and entropy `s` at `t`.
    pub fn sum(of: Vec<(f64, Arc<Curve>)>, plus: f64, t: f64, h: f64, s: f64) -> Self {
        let bare = Self::Sum {
            of,
            plus,
            h_constant: 0.0,
            s_constant: 0.0,
        };
        let (h_constant, s_constant) = (h - bare.h(t), s - bare.s(t));
        match bare {
            Self::Sum { of, plus, .. } => Self::Sum {
                of,
                plus,
                h_constant,
                s_constant,
            },
            pieces @ Self::Pieces(_) => pieces,
        }
    }

    /// Lowest and highest temperature with data of its own.
    pub fn range(&self) -> (f64, f64) {
        match self {
            Self::Pieces(pieces) => {
                let low = pieces.first().map_or(f64::NAN, |p| p.from);
                let high = pieces.last().map_or(f64::NAN, |p| p.to);
                (low, high)
            }
            Self::Sum { of, .. } => of.iter().fold((0.0, f64::INFINITY), |(low, high), (_, c)| {
                let (c_low, c_high) = c.range();
                (f64::max(low, c_low), f64::min(high, c_high))
            }),
        }
    }

    /// The piece that holds `t`, and `t` moved into it; nothing for a sum.
    fn piece_at(pieces: &[Piece], t: f64) -> (&Piece, f64) {
        let last = pieces.len() - 1;
        let piece = pieces[..last]
            .iter()
            .find(|p| t < p.to)
            .unwrap_or(&pieces[last]);
        (piece, t.clamp(piece.from, piece.to))
    }

    pub fn cp(&self, t: f64) -> f64 {
        match self {
            Self::Pieces(pieces) => {
                let (piece, inside) = Self::piece_at(pieces, t);
                piece.cp(inside)
            }
            Self::Sum { of, plus, .. } => of.iter().map(|(n, c)| n * c.cp(t)).sum::<f64>() + plus,
        }
    }

    pub fn h(&self, t: f64) -> f64 {
        match self {
            Self::Pieces(pieces) => {
                let (piece, inside) = Self::piece_at(pieces, t);
                piece.h(inside) + piece.cp(inside) * (t - inside)
            }
            Self::Sum {
                of,
                plus,
                h_constant,
                ..
            } => of.iter().map(|(n, c)| n * c.h(t)).sum::<f64>() + plus * t + h_constant,
        }
    }

    pub fn s(&self, t: f64) -> f64 {
        match self {
            Self::Pieces(pieces) => {
                let (piece, inside) = Self::piece_at(pieces, t);
                piece.s(inside) + piece.cp(inside) * (t / inside).ln()
            }
            Self::Sum {
                of,
                plus,
                s_constant,
                ..
            } => of.iter().map(|(n, c)| n * c.s(t)).sum::<f64>() + plus * t.ln() + s_constant,
        }
    }

    /// Jumps of Cp, H and S from one piece to the next, with their temperatures.
    pub fn joins(&self) -> Vec<Join> {
        let Self::Pieces(pieces) = self else {
            return Vec::new();
        };
        pieces
            .windows(2)
            .map(|pair| Join {
                t: pair[1].from,
                gap: pair[1].from - pair[0].to,
                #[cfg(test)]
                cp: pair[1].cp(pair[1].from) - pair[0].cp(pair[1].from),
                h: pair[1].h(pair[1].from) - pair[0].h(pair[1].from),
                s: pair[1].s(pair[1].from) - pair[0].s(pair[1].from),
            })
            .collect()
    }
}

/// Where two pieces meet: later minus earlier.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Join {
    pub t: f64,
    pub gap: f64,
    #[cfg(test)]
    pub cp: f64,
    pub h: f64,
    pub s: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn check_derivatives(curve: &Curve, t: f64) {
        let d = 1e-3;
        let dh = (curve.h(t + d) - curve.h(t - d)) / (2.0 * d);
        let ds = (curve.s(t + d) - curve.s(t - d)) / (2.0 * d);
        // central difference: error of order d², rounding of order 1e-16 h/d
        assert_relative_eq!(dh, curve.cp(t), max_relative = 1e-6);
        assert_relative_eq!(ds * t, curve.cp(t), max_relative = 1e-6);
    }

    #[test]
    fn enthalpy_and_entropy_are_integrals_of_the_heat_capacity() {
        let nine = Piece::nine_term(
            300.0,
            1000.0,
            [1.0e5, -600.0, 8.0, 2.0e-3, -1.0e-6, 3.0e-10, -2.0e-14],
            -1.0e4,
            3.0,
        );
        let six = Piece::six_term(
            300.0,
            1000.0,
            [60.0, 0.02, -1.0e6, -100.0, 1.0e-6],
            298.15,
            -5.0e5,
            40.0,
        );
        for piece in [nine, six] {
            let curve = Curve::Pieces(vec![piece]);
            for t in [250.0, 400.0, 700.0, 950.0, 1500.0] {
                check_derivatives(&curve, t);
            }
        }
    }

    #[test]
    fn a_curve_is_anchored_and_goes_on_with_its_last_heat_capacity() {
        let c = [50.0, 0.01, 0.0, 0.0, 0.0];
        let curve = Curve::Pieces(vec![Piece::six_term(
            298.15, 1000.0, c, 298.15, -1000.0, 30.0,
        )]);
        assert_relative_eq!(curve.h(298.15), -1000.0, max_relative = 1e-12);
        assert_relative_eq!(curve.s(298.15), 30.0, max_relative = 1e-12);
        assert_relative_eq!(curve.cp(2000.0), 60.0, max_relative = 1e-12);
        assert_relative_eq!(
            curve.h(1500.0) - curve.h(1000.0),
            3.0e4,
            max_relative = 1e-9
        );
    }

    #[test]
    fn a_sum_adds_increments() {
        let part = |cp: f64| {
            Arc::new(Curve::Pieces(vec![Piece::six_term(
                298.15,
                2000.0,
                [cp, 0.0, 0.0, 0.0, 0.0],
                298.15,
                0.0,
                10.0,
            )]))
        };
        let of = vec![(1.0, part(40.0)), (2.0, part(30.0))];
        let sum = Curve::sum(of, 5.0, 298.15, -7.0, 90.0);
        assert_relative_eq!(sum.h(398.15), -7.0 + 105.0 * 100.0, max_relative = 1e-12);
        assert_relative_eq!(sum.cp(500.0), 105.0, max_relative = 1e-12);
        check_derivatives(&sum, 600.0);
    }
}
