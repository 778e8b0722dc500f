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
        Conformity::Met => {
            format!("At the points read, the floor is as even as {class} asks{chance}.")
        }
        Conformity::NotMet => {
            format!("At the points read, the floor is not as even as {class} asks{chance}.")
        }
        Conformity::CannotTell => {
            format!(
                "The readings do not tell whether the floor is as even as {class} asks at the points read{chance}."
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
            let [found, limit] = units.against("", found, limit);
            format!("a gap of {found} at {at} between {a} and {b}, where {limit} is allowed")
        }
        [] => format!("{what} {}, where at least {limit} is asked", below(found, limit)),
        of => format!(
            "{what} {} of {}, where at least {limit} is asked",
            below(found, limit),
            of.join(", ")
        ),
    };
    format!("Read: {read}.")
}

/// A figure to the tenth, unless that would look like the limit that it falls short of.
fn below(found: f64, limit: f64) -> String {
    let figure = |digits: usize| format!("{found:.digits$}");
    let tells = |text: &String| text.parse::<f64>().is_ok_and(|shown| shown < limit);
    (1..7).map(figure).find(tells).unwrap_or_else(|| figure(7))
}
