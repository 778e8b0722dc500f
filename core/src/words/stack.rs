//! A stack of shims.

use crate::length::Length;
use crate::units::Units;

/// Holds words together where lines are broken.
pub(crate) const HARD_SPACE: char = '\u{a0}';

/// A stack, and what of it is in place; broken between pieces only.
pub(crate) fn stack(shims: &[Length], placed: Option<&[Length]>, units: Units) -> String {
    let pieces = |shims: &[Length]| match shims {
        [] => "none".to_owned(),
        shims => {
            let held = |run: String| run.replace(' ', &HARD_SPACE.to_string());
            units.stack(shims).into_iter().map(held).collect::<Vec<_>>().join(" + ")
        }
    };
    match placed {
        Some(placed) if placed == shims => format!("{}, as it is", pieces(shims)),
        Some(placed) => format!("{}, not {}", pieces(shims), pieces(placed)),
        None => pieces(shims),
    }
}
