//! How well readings check each other. Readings are named by what they read.

use crate::survey::{Instrument, Reading, Unchecked};
use crate::units::Units;

/// A group of readings of which one is suspected to be wrong, and no data can say which; and about by
/// how much, mm.
pub(crate) fn suspected(names: &[String], blunder_mm: f64, units: Units) -> String {
    let blunder = units.figure("", blunder_mm.abs());
    match names {
        [one] => format!(
            "The other readings speak against {one}: it is wrong by about {blunder}. Read it again, or leave it out."
        ),
        _ => format!(
            "One of these readings is wrong by about {blunder}, and no data can say which: {}. Read them again.",
            names.join("; ")
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
pub(crate) fn left_out(names: &[String]) -> String {
    format!("Left out of the heights: {}.", names.join("; "))
}

/// A reading by what it read: `A2→A3, bubble, 2.5 divisions`.
pub(crate) fn reading(reading: &Reading, units: Units) -> String {
    let what = match reading {
        Reading::Height { value, .. }
        | Reading::Rise { value, .. }
        | Reading::Gap { value, .. }
        | Reading::LegGap { value, .. }
        | Reading::SlateGap { value, .. } => units.figure("", value.0),
        Reading::Bubble { divisions, .. } => match divisions.steps() {
            [one] => format!("{one} divisions"),
            steps => format!("{} steps", steps.len()),
        },
        Reading::Slope { value, .. } => units.slope(value.mm_per_m),
    };
    format!("{}, {what}", to_take(reading))
}

/// A reading that is still to be taken: `A2→A3, bubble`.
pub(crate) fn to_take(reading: &Reading) -> String {
    let kind = match reading {
        Reading::Height { setup: Some(_), instrument, .. } => {
            instrument_name(instrument.unwrap_or_default())
        }
        Reading::Height { .. } => "height",
        Reading::Rise { .. } => "rise",
        Reading::Bubble { .. } => "bubble",
        Reading::Slope { .. } => "slope",
        Reading::Gap { .. } | Reading::LegGap { .. } | Reading::SlateGap { .. } => "gap",
    };
    format!("{}, {kind}", reading.label())
}

/// What reads from a set-up.
pub(crate) fn instrument_name(instrument: Instrument) -> &'static str {
    match instrument {
        Instrument::Staff => "staff",
        Instrument::WaterLevel => "water level",
        Instrument::Laser => "laser",
        Instrument::Indicator => "dial indicator",
    }
}
