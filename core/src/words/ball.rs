//! What a bed does to a slow ball.

use crate::units::Units;

/// How far aside a slow ball drifts at most along and across the bed, mm.
pub(crate) fn drift(along_mm: f64, across_mm: f64, units: Units) -> String {
    let [along, across] = [along_mm, across_mm].map(|mm| units.rough(mm));
    format!(
        "Sent so slowly that it would just reach the far end of a level bed, a ball drifts aside by at most {along} along the bed and by at most {across} across it."
    )
}

/// Whether a ball at rest stays, on a bed as steep as this at the most, against a resistance.
pub(crate) fn at_rest(stays: bool, steepest: f64, resistance: f64, units: Units) -> String {
    if stays {
        return "A ball at rest stays where it is.".to_owned();
    }
    let [steepest, held] = [steepest, resistance].map(|ratio| units.steepness(ratio * 1e3));
    format!(
        "A BALL AT REST MAY ROLL OFF: the bed slopes by up to {steepest}, and a ball stays on up to {held}."
    )
}
