//! The goals of one level problem, settled one after the other.

use super::budget::Budgeted;
use super::levels::Levels;
use super::problem::Order;
use super::stacking::Stacking;

/// The plan that is best in the order of goals; none where the limits cannot be met.
pub(super) fn solve(levels: &mut Levels<'_>, order: Order) -> Budgeted<Option<Stacking>> {
    let width = levels.model.width;
    let Some(least) = levels.least_cost(width)? else {
        return Ok(None);
    };
    let least = if order == Order::Flattest { levels.flattest(least)? } else { least };
    levels.narrow(least).map(Some)
}
