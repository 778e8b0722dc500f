//! Why the stock does not serve a job.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Why a job cannot be done with the stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Reason {
    /// More pieces of the same kinds would do.
    Counts,
    /// A limit on stacks: they may not be as thick, or have as many pieces, as the floor asks.
    Stacks,
    /// The thicknesses: no sums of them keep the limits, even with pieces without end.
    Kinds,
    /// The slates: points could be level, but no plan has every slate lie on all its stacks.
    Loose,
    /// The search ended before it was known whether the stock does.
    Unsettled,
}

impl Reason {
    /// Its name in every language.
    pub fn name(self) -> &'static str {
        match self {
            Self::Counts => "counts",
            Self::Stacks => "stacks",
            Self::Kinds => "kinds",
            Self::Loose => "loose",
            Self::Unsettled => "unsettled",
        }
    }
}
