//! The order of the candidates, each set of fuels once.

use super::choice::Candidate;
use crate::expected::HeatingBasis;
use crate::quantity::units::cubic_meter_per_kilogram;

/// Scores nearer than this count as a tie.
const TIE: f64 = 0.01;

/// Best first: what does the job and lights on the way of the file, then by score; of scores within
/// [`TIE`] the fuel of the file goes first, then by less gas.
pub(super) fn rank(candidates: &mut [Candidate]) {
    let falls_short = |c: &Candidate| {
        let expected = c.suggestion.expected.as_ref();
        let lights = expected.is_none_or(|e| e.basis != HeatingBasis::NoIgnition);
        !(lights && c.verdict.may_do())
    };
    let steps = |c: &Candidate| (c.score / TIE).round();
    let gas = |c: &Candidate| {
        let point = &c.suggestion.point;
        point.gas_per_product.get::<cubic_meter_per_kilogram>()
    };
    candidates.sort_by(|a, b| {
        falls_short(a)
            .cmp(&falls_short(b))
            .then(steps(b).total_cmp(&steps(a)))
            .then(b.fuels.of_the_file.cmp(&a.fuels.of_the_file))
            .then(gas(a).total_cmp(&gas(b)))
            .then_with(|| a.fuels.name().cmp(&b.fuels.name()))
    });
}

/// The file's own single fuel stands in the list once, marked as the file's.
pub(super) fn drop_own_twin(candidates: &mut Vec<Candidate>) {
    let own = candidates
        .iter()
        .find(|c| c.fuels.of_the_file && c.fuels.parts.len() == 1)
        .map(|c| c.fuels.parts[0].0.id.clone());
    if let Some(own) = own {
        candidates.retain(|c| {
            c.fuels.of_the_file || c.fuels.parts.len() != 1 || c.fuels.parts[0].0.id != own
        });
    }
}

/// Of each pair of fuels the best share stays. The list is ranked.
pub(super) fn keep_best_mix(candidates: &mut Vec<Candidate>) {
    let mut seen: Vec<Vec<String>> = Vec::new();
    candidates.retain(|c| {
        if c.fuels.of_the_file || c.fuels.parts.len() < 2 {
            return true;
        }
        let mut ids: Vec<String> = c.fuels.parts.iter().map(|(f, _)| f.id.clone()).collect();
        ids.sort_unstable();
        if seen.contains(&ids) {
            return false;
        }
        seen.push(ids);
        true
    });
}
