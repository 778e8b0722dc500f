//! What a slate does on its supports.

use crate::units::Units;

/// Newtons to pounds-force (exact: 0.45359237 kg times 9.80665 m/s²).
const N_PER_LBF: f64 = 4.448_221_615_260_5;

/// A force in newtons and pounds-force.
pub(crate) fn force(newtons: f64) -> String {
    format!("{newtons:.0} N ({:.0} lbf)", newtons / N_PER_LBF)
}

/// What every point of a slate bears.
pub(crate) fn bears(piece: &str, forces: &[(&str, f64)]) -> String {
    let each = forces.iter().map(|(id, newtons)| format!("{id} {}", force(*newtons)));
    format!("Slate {piece} bears on: {}.", each.collect::<Vec<_>>().join(", "))
}

/// Points that carry nothing.
pub(crate) fn loose(piece: &str, names: &[String]) -> String {
    format!("LOOSE under slate {piece}: {} carry nothing.", names.join(", "))
}

/// A slate that falls.
pub(crate) fn tips(piece: &str, about: &[String; 2]) -> String {
    format!("Slate {piece} TIPS OVER about {} and {}: do not lay it so.", about[0], about[1])
}

/// How far a slate sags.
pub(crate) fn sags(piece: &str, sag_mm: f64, flatness_mm: f64, units: Units) -> String {
    let [sag, flatness] = [sag_mm, flatness_mm].map(|mm| units.figure("", mm));
    format!(
        "Slate {piece} sags by {sag} between its points; its whole surface is flat within {flatness}."
    )
}

/// How a slate's stress stands to what is allowed.
pub(crate) fn stress(piece: &str, mpa: f64, ratio: Option<f64>) -> String {
    let ratio = ratio
        .map_or_else(String::new, |ratio| format!(", {:.0} % of what is allowed", 100.0 * ratio));
    format!("Slate {piece} bends with up to {mpa:.2} MPa{ratio}.")
}

/// What a test load does.
pub(crate) fn test_load(piece: &str, newtons: f64, mm: f64, limit_mm: f64, units: Units) -> String {
    let [by, limit] = units.against("", mm, limit_mm);
    let met = if mm <= limit_mm { "within" } else { "BEYOND" };
    format!("Under {} slate {piece} goes down by {by}, {met} the limit of {limit}.", force(newtons))
}

/// What the computation of slates leaves out.
pub(crate) const NOT_MODELLED: &str = "Slates are computed as plates of one thickness: pockets, \
     holes, grain, glue, creep and the bending of the frame are not in it.";
