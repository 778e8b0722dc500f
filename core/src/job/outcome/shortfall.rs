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
    /// Ids of points that no plan levels by themselves, held to the limits below alone.
    pub points: Vec<String>,
    /// The limits that stand in the way.
    pub limits: Vec<ConflictLimitOutcome>,
    /// Thicknesses of the kinds of which there are too few.
    pub scarce: Vec<Length>,
    /// Whether the most pieces under one point stand in the way.
    pub max_pieces: bool,
    /// Whether the thickest stack stands in the way.
    pub max_stack: bool,
    /// Whether nothing of this can be left out.
    pub minimal: bool,
    /// The cheapest pieces that make a plan possible; null where nothing of the catalogue does.
    pub addition: Option<AdditionOutcome>,
}

/// A limit that stands in the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ConflictLimitOutcome {
    /// Which limit.
    pub limit: LimitKind,
    /// Ids of the points that it binds.
    pub points: Vec<String>,
    /// The largest difference that it allows, mm.
    pub allowed_mm: f64,
}

/// Pieces to get.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AdditionOutcome {
    /// Pieces of each kind.
    pub pieces: Vec<AddedShim>,
    /// The sum of their prices, or where no kind has one, their number.
    pub price: u64,
    /// Whether no other pieces that make a plan possible cost less.
    pub proven: bool,
}

/// Pieces of one kind to get.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddedShim {
    /// Thickness of the kind.
    pub thickness: Length,
    /// How many.
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
        let added = |(shim, &count): (&Shim, &u32)| AddedShim { thickness: shim.thickness, count };
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
