//! What the marks of a sheet or a picture mean.

use crate::units::Units;

/// Which way heights and places run.
pub(crate) const DIRECTIONS: &str = "Heights are positive upwards; x runs along the bed, y across.";

/// When the slates may be shimmed.
pub(crate) const SLATES_AFTER_LEGS: &str =
    "Only from readings taken with the legs done. Has a leg moved since, read again.";

/// The plan of a bed.
pub(crate) fn of_plan(named: bool, joints: bool, loose: bool, tips: bool) -> String {
    let mut legend =
        "Seen from above; x runs to the right, y upwards. Square: nothing under it, it \
                      stays. Round: shims under it."
            .to_owned();
    if !named {
        legend.push_str(" Numbers are those of the list below.");
    }
    if joints {
        legend.push_str(" A thick broken line between two marks: a joint of two slates.");
    }
    if loose {
        legend.push_str(" A broken outline: it bears nothing.");
    }
    if tips {
        legend.push_str(" A thick line between two marks: a slate TIPS OVER it.");
    }
    legend
}

/// Figures that are not on a map.
pub(crate) const NOT_ALL_FIT: &str =
    "Patches without a figure have no room for it: it stands in the list.";

/// The map of the slates' surface.
pub(crate) fn of_surface(step_mm: f64, units: Units) -> String {
    format!(
        "By the plan the slates show as they bend and lie. Their lines of equal height are {} apart.",
        units.figure("", step_mm)
    )
}

/// The maps of heights.
pub(crate) const OF_MAPS: &str = "Each map has a scale of its own. Every patch has the colour of its point. A triangle points up where the point is too \
     high, down where it is too low; a dot is within a hair of it (1 \u{b5}m).";

/// Of more points than a picture draws.
pub(crate) fn only_the_first(shown: usize, all: usize) -> String {
    format!("Shown are the first {shown} of {all} points.")
}
