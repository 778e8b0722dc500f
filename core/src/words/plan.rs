//! A plan, and what to look at before it is carried out.

use crate::length::Length;
use crate::limits::LimitKind;
use crate::shim::{Order, Status};
use crate::units::Units;

/// How the search for a plan ended.
pub(crate) fn ended(status: Status, met: bool, pieces: usize, order: Order) -> String {
    let pieces = if pieces == 1 { "1 piece".to_owned() } else { format!("{pieces} pieces") };
    match status {
        Status::Proven => {
            let better = match order {
                Order::FewestPieces => "uses fewer pieces",
                Order::Flattest => "is flatter",
                Order::FewestLifts => "lifts fewer points",
                Order::Cheapest => "is cheaper",
            };
            format!("{pieces}. No plan from these shims {better} (proven).")
        }
        Status::Budget if met => {
            format!("{pieces}. The search was cut short; a better plan may exist.")
        }
        Status::Budget => "NO PLAN. The search was cut short before it found one.".to_owned(),
        Status::Infeasible => "NO PLAN from this stock meets the limits.".to_owned(),
    }
}

/// What has to be lifted again, in a pass that is not the first.
pub(crate) fn lift_again(lifted: &[String], moved: usize) -> String {
    let lift = if lifted.is_empty() { "none".to_owned() } else { lifted.join(", ") };
    format!("Lift again: {lift}. Pieces put in, taken out or set anew: {moved}.")
}

/// How the target slopes, if it does.
pub(crate) fn sloping(slopes_mm_per_m: [f64; 2], units: Units) -> Option<String> {
    let [along, across] = slopes_mm_per_m.map(|slope| units.slope(slope));
    (slopes_mm_per_m != [0.0, 0.0])
        .then(|| format!("The target slopes by {along} along and {across} across."))
}

/// Supports that no stack from the stock brings within the limits.
pub(crate) fn out_of_reach(names: &[&str]) -> String {
    format!("Out of reach of every stack from this stock: {}.", names.join(", "))
}

/// The flattest that a stock allows that cannot meet the limits, ± mm, and what is proven of it.
pub(crate) fn flattest(worst_mm: f64, bound_mm: f64, units: Units) -> String {
    let [worst, bound] = units.against("±", worst_mm, bound_mm);
    let proven = if worst_mm > bound_mm {
        format!("; it is proven that {bound} is not beaten")
    } else {
        String::new()
    };
    let found = if worst_mm > bound_mm { "found for" } else { "possible with" };
    format!("The flattest {found} this stock is {worst} overall{proven}.")
}

/// Points that a limit on lines does not bind.
pub(crate) fn on_no_line(
    limit: LimitKind,
    line_width: Length,
    names: &[&str],
    units: Units,
) -> String {
    let line_width = units.thickness(line_width);
    let way = if limit == LimitKind::Across { "crosswise" } else { "lengthwise" };
    format!(
        "On no {way} line with another point (within {line_width}), so not held to that limit: {}.",
        names.join(", ")
    )
}

/// What it means to ask for no overall limit.
pub(crate) const NO_OVERALL: &str =
    "No overall limit is asked for: the bed may tilt as far as its lines and joints allow.";

/// Stacks of more than so many pieces, or thicker than this.
pub(crate) fn tall_stacks(pieces: usize, thick: Length, names: &[&str], units: Units) -> String {
    let thick = units.thickness(thick);
    format!(
        "Tall stacks, of more than {pieces} pieces or {thick}: {}. Thicker pieces, or max_pieces and max_stack in the options, make them safer.",
        names.join(", ")
    )
}

/// Which points make which line.
pub(crate) fn lines(kind: LimitKind, width: Length, lines: &[String], units: Units) -> String {
    let width = units.thickness(width);
    let way = if kind == LimitKind::Along { "Lengthwise" } else { "Crosswise" };
    format!("{way} lines, of points within {width} of each other: {}.", lines.join("; "))
}
