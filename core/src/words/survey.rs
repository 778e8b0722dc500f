//! How well readings check each other. Readings are named by their places in the job.

use crate::survey::Unchecked;

/// A group of readings of which one is suspected to be wrong, and no data can say which; each with what
/// it read, and about by how much, mm.
pub(crate) fn suspected(readings: &[usize], names: &[String], blunder_mm: f64) -> String {
    let named: Vec<String> =
        readings.iter().zip(names).map(|(at, name)| format!("readings[{at}] ({name})")).collect();
    match &named[..] {
        [one] => format!(
            "The other readings speak against {one}: it is wrong by about {blunder_mm:.2} mm. Read it again, or leave it out."
        ),
        _ => format!(
            "One of {} is wrong by about {blunder_mm:.2} mm, and no data can say which: read these again.",
            named.join(", ")
        ),
    }
}

/// More groups that are suspected: a blunder makes good readings look bad.
pub(crate) const MORE_SUSPECTS: &str = "Other readings are suspected too. Read those above again first: one wrong reading makes good ones look wrong.";

/// A level or a laser whose error nothing checks.
pub(crate) fn unchecked(what: &Unchecked) -> String {
    match what {
        Unchecked::Level { name } => format!(
            "Nothing checks the zero error of the level {name:?}: the uncertainties rest on what is stated for it. Read a line with the level turned end for end."
        ),
        Unchecked::Setup { name, counted } => {
            let counted = match counted {
                true => "the uncertainties rest on what is stated for its slope",
                false => {
                    "the uncertainties leave its slope out, since the places of the points are not known"
                }
            };
            format!(
                "Nothing checks whether the laser of the set-up {name:?} throws a level plane: {counted}. Read the same points from a second set-up on the other side, or some rises another way."
            )
        }
    }
}

/// What a failed global test means where no reading is suspected.
pub(crate) const DISAGREE: &str = "The readings disagree by more than their uncertainties allow, though none stands out: the uncertainties are too small, or several readings are mistaken.";

/// Readings that are left out.
pub(crate) fn left_out(readings: &[usize]) -> String {
    format!("Left out of the heights: {}.", named(readings))
}

fn named(readings: &[usize]) -> String {
    let names: Vec<_> = readings.iter().map(|at| format!("readings[{at}]")).collect();
    names.join(", ")
}
