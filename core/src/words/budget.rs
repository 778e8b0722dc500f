//! Work that a budget cut short.

/// Without heights.
pub(crate) const NO_HEIGHTS: &str =
    "The budget ran out before the heights were known: there is no plan.";

/// Without a floor.
pub(crate) const NO_FLOOR: &str =
    "The budget ran out before the floor was judged: whether it is even enough is not known.";

/// Beside a shortfall that may not be the last word.
pub(crate) const SHORTFALL: &str = "The budget ran out while it was looked for what would help: less may be in the way, and fewer pieces may help.";

/// Without a verdict.
pub(crate) const NO_VERDICT: &str = "CANNOT TELL: the budget ran out before the verdict. How sure it is that the limits are met by this plan is not known.";

/// Without what further readings would do.
pub(crate) const NO_READ_NEXT: &str = "The budget ran out before it was known what to read next.";

/// Without the slates on their stacks.
pub(crate) const NO_BEARING: &str =
    "The budget ran out before it was known how the slates bear on their stacks.";

/// Without a place for the table.
pub(crate) const NO_PLACE: &str =
    "The budget ran out before a place for the table was found: whether it fits is not known.";

/// Without a ball.
pub(crate) const NO_BALL: &str = "The budget ran out before a ball was rolled.";
