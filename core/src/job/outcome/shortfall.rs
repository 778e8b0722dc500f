//! Why no plan meets the limits, and what would help.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::length::Length;
use crate::limits::{LimitKind, Span};
use crate::shim::{Addition, Shortfall, Status};
use crate::stock::Shim;

/// Why no plan meets the limits, and what would help.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShortfallOutcome {
    /// The ids of points that no plan levels, even if only they are held to the limits listed here.
    pub points: Vec<String>,
    /// The limits that stand in the way.
    pub limits: Vec<ConflictLimitOutcome>,
    /// The thicknesses of the kinds with too few pieces.
    pub scarce: Vec<Length>,
    /// Whether the limit on pieces under one point stands in the way.
    pub max_pieces: bool,
    /// Whether the limit on the thickness of a stack stands in the way.
    pub max_stack: bool,
    /// Whether all of this is needed for the conflict. It is false where the budget ran out before
    /// that was known.
    pub minimal: bool,
    /// The cheapest pieces that make a plan possible. It is null where no pieces of the catalogue
    /// do.
    pub addition: Option<AdditionOutcome>,
}

/// A limit that stands in the way of a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConflictLimitOutcome {
    /// The kind of limit.
    pub limit: LimitKind,
    /// The ids of the points that the limit binds.
    pub points: Vec<String>,
    /// The largest difference of height allowed, mm.
    pub allowed_mm: f64,
}

/// Pieces to get, so that there is a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AdditionOutcome {
    /// The number of pieces of each kind.
    pub pieces: Vec<AddedShim>,
    /// The sum of the prices; where no kind has a price, the number of pieces.
    pub price: u64,
    /// Whether it is proven that no cheaper pieces make a plan possible.
    pub proven: bool,
}

/// Pieces of one kind to get.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddedShim {
    /// The thickness of the kind.
    pub thickness: Length,
    /// The name of the kind. It is left out where the kind has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The number of pieces.
    pub count: u32,
}

impl ShortfallOutcome {
    /// A shortfall of a stock, by the ids of the supports; what would help is of these kinds.
    pub(in crate::job) fn new(
        shortfall: &Shortfall,
        stock: &[Shim],
        kinds: &[Shim],
        ids: &[&str],
    ) -> Self {
        let Shortfall { conflict, addition, .. } = shortfall;
        Self {
            points: named(&conflict.supports, ids),
            limits: conflict
                .limits
                .iter()
                .map(|span| ConflictLimitOutcome::new(span, ids))
                .collect(),
            scarce: conflict.scarce.iter().map(|&kind| stock[kind].thickness).collect(),
            max_pieces: conflict.max_pieces,
            max_stack: conflict.max_stack,
            minimal: conflict.minimal,
            addition: addition.as_ref().map(|addition| AdditionOutcome::new(addition, kinds)),
        }
    }
}

impl ConflictLimitOutcome {
    fn new(span: &Span, ids: &[&str]) -> Self {
        let points = named(&span.members, ids);
        Self { limit: span.limit, points, allowed_mm: span.width.mm() }
    }
}

impl AdditionOutcome {
    fn new(addition: &Addition, kinds: &[Shim]) -> Self {
        let added = |(shim, &count): (&Shim, &u32)| AddedShim {
            thickness: shim.thickness,
            name: shim.name.clone(),
            count,
        };
        let pieces = kinds.iter().zip(&addition.pieces).filter(|&(_, &count)| count > 0);
        Self {
            pieces: pieces.map(added).collect(),
            price: addition.price,
            proven: addition.plan.status == Status::Proven,
        }
    }
}

fn named(points: &[usize], ids: &[&str]) -> Vec<String> {
    points.iter().map(|&at| ids[at].to_owned()).collect()
}
