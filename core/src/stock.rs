//! The shims in the van.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;

/// One kind of shim.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shim {
    /// Thickness of one piece: above zero, at most [`Shim::THICKEST`].
    pub thickness: Length,
    /// Pieces on hand; without a count there are as many as it takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Price or weight of one piece, in whole units of the smallest kind that matters (cents,
    /// grams), at most [`Shim::DEAREST`]; what the order of goals
    /// [`Cheapest`](crate::Order::Cheapest) adds up.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub price: u32,
}

fn is_zero(price: &u32) -> bool {
    *price == 0
}

impl Shim {
    /// No shim is thicker than this.
    pub const THICKEST: Length = Length::from_nm(1_000_000_000);
    /// The highest price of one piece.
    pub const DEAREST: u32 = 1_000_000;

    /// A kind with a count on hand and no price; `None` for as many as it takes.
    pub fn new(thickness: Length, count: Option<u32>) -> Self {
        Self { thickness, count, price: 0 }
    }
}

/// The most kinds that a stock can have.
pub(crate) const MOST_KINDS: usize = 128;

/// Checks a stock.
///
/// # Errors
/// No kind at all, more than 128, a thickness that is not above zero or beyond
/// [`Shim::THICKEST`], a price beyond [`Shim::DEAREST`].
pub(crate) fn check(stock: &[Shim]) -> Result<(), Error> {
    let mut found = Problems::default();
    if stock.is_empty() || stock.len() > MOST_KINDS {
        let expected = format!("1 to {MOST_KINDS} kinds of shim");
        found.add(ProblemKind::Shape, "stock", format!("{} kinds", stock.len()), expected);
    }
    for (at, shim) in stock.iter().enumerate() {
        if shim.thickness <= Length::ZERO || shim.thickness > Shim::THICKEST {
            let expected = format!("a thickness above 0 mm and at most {}", Shim::THICKEST);
            found.add(
                ProblemKind::Value,
                format!("stock[{at}].thickness"),
                shim.thickness,
                expected,
            );
        }
        if shim.price > Shim::DEAREST {
            let expected = format!("a price of at most {} units", Shim::DEAREST);
            found.add(ProblemKind::Value, format!("stock[{at}].price"), shim.price, expected);
        }
    }
    found.into_result()
}
