//! How even a floor is.

use super::percent;
use crate::plane::FloorClass;
use crate::units::Units;
use crate::verify::Conformity;

/// Whether the floor is as even as a class asks.
pub(crate) fn as_asked(
    class: FloorClass,
    conformity: Conformity,
    probability: Option<f64>,
) -> String {
    let chance = match probability {
        Some(probability) => format!(" (probability that it is: {})", percent(probability)),
        None => String::new(),
    };
    match conformity {
        Conformity::Met => format!("The floor is as even as {class} asks{chance}."),
        Conformity::NotMet => format!("The floor is not as even as {class} asks{chance}."),
        Conformity::CannotTell => {
            format!(
                "The readings do not tell whether the floor is as even as {class} asks{chance}."
            )
        }
    }
}

/// Where the floor is not as even as asked: what was found, the limit, and at which points.
pub(crate) fn beyond(
    what: &str,
    found: f64,
    limit: f64,
    points: &[String],
    units: Units,
) -> String {
    let read = match points {
        [a, at, b] if what == "gap" => {
            let [found, limit] = [found, limit].map(|mm| units.figure("", mm));
            format!("a gap of {found} at {at} between {a} and {b}, where {limit} is allowed")
        }
        [] => format!("{what} {found:.1}, where at least {limit} is asked"),
        of => format!("{what} {found:.1} of {}, where at least {limit} is asked", of.join(", ")),
    };
    format!("Read: {read}.")
}
