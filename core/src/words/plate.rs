//! A surface plate.

use crate::units::Units;

/// How flat it is.
pub(crate) fn flat_within(flatness_mm: f64, units: Units) -> String {
    let flatness = units.fine(flatness_mm);
    format!("Flat within {flatness}, from its lowest station to its highest.")
}

/// By how much the centre lines miss the centre, mm.
pub(crate) fn closures(e_w_mm: f64, n_s_mm: f64, units: Units) -> String {
    let [e_w, n_s] = [e_w_mm, n_s_mm].map(|mm| units.fine(mm.abs()));
    format!(
        "How well the readings close: the centre line from east to west misses the centre by {e_w}, the one from north to south by {n_s}."
    )
}
