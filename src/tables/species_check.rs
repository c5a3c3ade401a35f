//! What the loader checks of every species: physics that a slipped digit breaks.

use super::error::Fault;
use super::species::{Phase, Species};
use crate::quantity::REFERENCE_TEMPERATURE;
use crate::quantity::units::{joule_per_kelvin_mole, joule_per_mole};

/// Largest jump of H at a join, J/mol. The nine-term fits are printed with ten digits and were
/// constrained to join; what is left comes from rounding of transition temperatures.
const H_JUMP: f64 = 60.0;
/// Largest jump of S at a join, J/(mol K): the same, divided by about 1000 K.
const S_JUMP: f64 = 0.1;
/// Largest difference between stated H or S at 298.15 K and the curve's, J/mol and J/(mol K):
/// sources round formation enthalpies to 0.1 kJ/mol at worst in this respect.
const ANCHOR_H: f64 = 60.0;
const ANCHOR_S: f64 = 0.06;

/// How many steps of a species' range are looked at on loading.
const CHECKED: u32 = 6;

/// Refuses a species that breaks one of the rules.
pub(super) fn check(species: &Species) -> Result<(), Fault> {
    let curve = &species.curve;
    let (low, high) = curve.range();
    if !(low.is_finite() && high.is_finite() && 0.0 < low && low < high) {
        return Err(Fault::value(
            "lowest temperature in K",
            low,
            "it has to be below the highest",
        ));
    }
    for join in curve.joins() {
        let at = format!("at {} K", join.t);
        if join.gap.abs() > 0.01 {
            return Err(Fault::value(
                format!("gap between pieces {at} in K"),
                join.gap,
                "pieces have to meet",
            ));
        }
        if join.h.is_nan() || join.h.abs() > H_JUMP {
            return Err(Fault::value(
                format!("jump of H {at} in J/mol"),
                join.h,
                "H has to be continuous",
            ));
        }
        if join.s.is_nan() || join.s.abs() > S_JUMP {
            return Err(Fault::value(
                format!("jump of S {at} in J/(mol K)"),
                join.s,
                "S has to be continuous",
            ));
        }
    }
    check_values(species)?;
    // a few points over the range, both ends included; the tests look at many more
    for step in 0..=CHECKED {
        let t = low + (high - low) * f64::from(step) / f64::from(CHECKED);
        let (cp, s) = (curve.cp(t), curve.s(t));
        if !(cp > 0.0 && cp.is_finite()) {
            return Err(Fault::value(
                format!("heat capacity at {t:.1} K in J/(mol K)"),
                cp,
                "it has to be positive",
            ));
        }
        if !(s > 0.0 && s.is_finite() && curve.h(t).is_finite()) {
            return Err(Fault::value(
                format!("entropy at {t:.1} K in J/(mol K)"),
                s,
                "it has to be positive",
            ));
        }
    }
    Ok(())
}

/// Values at 298.15 K: finite, agreeing with the curve, and 0 for an element's reference state.
fn check_values(species: &Species) -> Result<(), Fault> {
    let t0 = REFERENCE_TEMPERATURE;
    let (low, _) = species.curve.range();
    if let Some(h) = &species.formation_enthalpy {
        let stated = h.value.get::<joule_per_mole>();
        let off = species.curve.h(t0) - stated;
        if off.is_nan() || off.abs() > ANCHOR_H {
            return Err(Fault::value(
                "difference between the curve's and the stated formation enthalpy in J/mol",
                off,
                "the two have to agree",
            ));
        }
    }
    if let Some(s) = &species.entropy {
        let stated = s.value.get::<joule_per_kelvin_mole>();
        let off = species.curve.s(t0) - stated;
        if stated <= 0.0 || off.is_nan() || off.abs() > ANCHOR_S {
            return Err(Fault::value(
                "difference between the curve's and the stated entropy in J/(mol K)",
                off,
                "the two have to agree, and the entropy has to be positive",
            ));
        }
    }
    if species.formation_enthalpy.is_none() && low <= t0 && species.phase != Phase::Liquid {
        return Err(Fault::value(
            "lowest temperature in K",
            low,
            "a species with data at 298.15 K has to state its formation enthalpy",
        ));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use crate::tables::Tables;

    /// Where the heat capacity itself jumps: magnetic or order-disorder transitions without heat,
    /// carried as pieces of one phase.
    const LAMBDA_POINTS: [(&str, f64); 5] = [
        ("NaOH(cr,alpha)", 514.0),
        ("Fe3O4(cr)", 850.0),
        ("Fe2O3(cr,hematite)", 960.0),
        ("NiO(cr)", 525.0),
        ("NiO(cr)", 565.0),
    ];

    #[test]
    fn heat_capacity_and_entropy_are_positive_and_entropy_grows() {
        for species in Tables::built_in().unwrap().species.iter() {
            let (low, high) = species.usable();
            let mut last = 0.0;
            for step in 0..=400 {
                let t = low + (high - low) * f64::from(step) / 400.0;
                let (cp, s) = (species.cp(t), species.s(t));
                assert!(
                    cp > 0.0 && cp.is_finite(),
                    "{} at {t} K: Cp {cp}",
                    species.id
                );
                assert!(s > last && s.is_finite(), "{} at {t} K: S {s}", species.id);
                last = s;
            }
        }
    }

    #[test]
    fn pieces_join_in_heat_capacity_enthalpy_and_entropy() {
        let tables = Tables::built_in().unwrap();
        let mut wrong = Vec::new();
        let mut joins = 0;
        for species in tables.species.iter() {
            for join in species.curve.joins() {
                joins += 1;
                // 0.5 %: the fits were constrained to join; separate fits to one table differ by
                // less than the tables' own smoothness. 2 J/mol and 0.005 J/(mol K): chromium takes up
                // 1 J/mol where its magnetic order ends (311.5 K); all others join to 0.01 J/mol.
                let lambda = LAMBDA_POINTS
                    .iter()
                    .any(|(id, t)| species.id == *id && (t - join.t).abs() < 0.5);
                let cp = join.cp.abs() / species.cp(join.t);
                if (cp > 0.005 && !lambda) || join.h.abs() > 2.0 || join.s.abs() > 0.005 {
                    wrong.push(format!("{} {join:?}", species.id));
                }
            }
        }
        assert!(joins > 250, "only {joins} joins were looked at");
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
