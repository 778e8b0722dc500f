//! How points lie, and the plan of a stage, support by support.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::Error;
use crate::length::{self, Length};
use crate::plane::{PlaneKind, fit_plane};
use crate::points::{Point, Role};
use crate::shim::{Placed, ShimPlan, Status};
use crate::stock::{Shim, piece_names, thicknesses};

/// The height of a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointHeight {
    /// The id of the point.
    pub id: String,
    /// The height of the point, mm.
    pub height_mm: f64,
    /// The standard uncertainty of the height, mm. It is null where no reading states one.
    pub sigma_mm: Option<f64>,
}

/// How points lie: the least-squares plane through them, and how far they are from it and from a
/// level plane.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Surface {
    /// The slope of the plane along the bed, mm/m.
    pub slope_along_mm_per_m: f64,
    /// The slope of the plane across the bed, mm/m.
    pub slope_across_mm_per_m: f64,
    /// The peak-to-valley of the points about the plane, mm.
    pub flatness_mm: f64,
    /// The largest distance of a point from the best level plane, mm: half the difference between
    /// the highest and the lowest point.
    pub worst_mm: f64,
}

/// A plan as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanOutcome {
    /// How the search ended.
    pub status: Status,
    /// The number of pieces.
    pub pieces: usize,
    /// The proven lower bound of the first goal, in the unit of that goal: pieces, mm of worst
    /// deviation, supports lifted, or price. When proven, the plan reaches it. When infeasible, it
    /// is the bound of the worst deviation, mm.
    pub bound: f64,
    /// The level that the supports are brought to, mm.
    pub target_mm: f64,
    /// The ids of the points that have to be lifted, because their stack is not the one in place.
    pub lifted: Vec<String>,
    /// The number of pieces to put in, take out or set anew.
    pub moved: usize,
    /// The slope of the target along the bed, mm/m. It is 0 where the limits allow none.
    pub slope_along_mm_per_m: f64,
    /// The slope of the target across the bed, mm/m. It is 0 where the limits allow none.
    pub slope_across_mm_per_m: f64,
    /// The ids of the supports that no stack from the stock brings within the limits.
    pub unreachable: Vec<String>,
    /// The number of search nodes spent.
    pub nodes: u64,
}

/// The stack of one support.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StackOutcome {
    /// The id of the point.
    pub id: String,
    /// The slate piece that the point belongs to. It is null for a leg.
    pub piece: Option<String>,
    /// The thickness of each piece, the thickest first. An adjustable piece comes last, as it is
    /// set. A bare support has none.
    pub shims: Vec<Length>,
    /// The name of the kind of each of these pieces. There are none where no kind of the stack has a
    /// name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<String>,
    /// The thickness of each piece in place, in the same order. It is null in a first pass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<Vec<Length>>,
    /// The name of the kind of each piece in place. There are none where no kind of them has a name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub before_names: Vec<String>,
    /// True where the plan of the stage does not meet its limits: nobody should put these shims in. It
    /// is left out where the plan meets them.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub not_to_be_worked_by: bool,
    /// The lift by the stack, mm.
    pub lift_mm: f64,
    /// The height of the top of the stack, mm.
    pub top_mm: f64,
    /// The height of the top of the stack above the target, mm.
    pub deviation_mm: f64,
}

/// What becomes of one kind of the stock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StockOutcome {
    /// The thickness of the kind; of an adjustable kind, the least thickness.
    pub thickness: Length,
    /// The name of the kind. It is left out where the kind has none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The greatest thickness of an adjustable kind. It is null for a plain kind.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Length>,
    /// The number of pieces in the plan, those already in place included.
    pub used: u32,
    /// The number of pieces left. It is null where the kind does not run out.
    pub left: Option<u32>,
}

impl Surface {
    /// How heights lie over their places in plan.
    pub(in crate::job) fn new(xy: &[[Length; 2]], heights: &[Length]) -> Result<Self, Error> {
        let xy_mm: Vec<_> = xy.iter().map(|xy| xy.map(Length::mm)).collect();
        let z_mm: Vec<_> = heights.iter().copied().map(Length::mm).collect();
        let worst_mm = length::range(heights.iter().copied()).nm() as f64 / 2e6;
        Ok(Self { worst_mm, ..Self::of_mm(&xy_mm, &z_mm)? })
    }

    /// How heights lie over their places, all in mm.
    pub(in crate::job) fn of_mm(xy_mm: &[[f64; 2]], z_mm: &[f64]) -> Result<Self, Error> {
        let plane = fit_plane(xy_mm, z_mm, PlaneKind::LeastSquares, None)?;
        let ends = z_mm
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], &z| [low.min(z), high.max(z)]);
        Ok(Self {
            slope_along_mm_per_m: plane.slope_x * 1e3,
            slope_across_mm_per_m: plane.slope_y * 1e3,
            flatness_mm: plane.flatness_mm,
            worst_mm: (ends[1] - ends[0]) / 2.0,
        })
    }
}

impl PlanOutcome {
    /// A plan as a whole, by the ids of its supports.
    pub(in crate::job) fn new(plan: &ShimPlan, ids: &[&str]) -> Self {
        let named = |of: &[usize]| of.iter().map(|&at| ids[at].to_owned()).collect();
        Self {
            status: plan.status,
            pieces: plan.pieces,
            bound: plan.bound,
            target_mm: plan.target_mm(),
            lifted: named(&plan.lifted),
            moved: plan.moved,
            slope_along_mm_per_m: plan.tilt_um_per_m[0] as f64 / 1e3,
            slope_across_mm_per_m: plan.tilt_um_per_m[1] as f64 / 1e3,
            unreachable: named(&plan.unreachable),
            nodes: plan.nodes,
        }
    }
}

impl StackOutcome {
    /// What a plan puts under one point, and what is in place there.
    pub(in crate::job) fn new(
        point: &Point,
        at: usize,
        plan: &ShimPlan,
        placed: Option<&Placed>,
        stock: &[Shim],
    ) -> Self {
        let of = |placed: &Placed| thicknesses(&placed.stacks[at], placed.settings[at], stock);
        Self {
            id: point.id.clone(),
            piece: match &point.role {
                Role::Leg => None,
                Role::Slate(piece) => Some(piece.clone()),
            },
            shims: thicknesses(&plan.stacks[at], plan.settings[at], stock),
            names: piece_names(&plan.stacks[at], stock),
            before: placed.map(of),
            before_names: placed
                .map(|placed| piece_names(&placed.stacks[at], stock))
                .unwrap_or_default(),
            not_to_be_worked_by: !plan.meets_limits,
            lift_mm: plan.lifts[at].mm(),
            top_mm: plan.tops[at].mm(),
            deviation_mm: plan.deviation_mm(at),
        }
    }
}

impl StockOutcome {
    /// What becomes of a kind of which a plan uses so many, where `left` is what it leaves.
    pub(in crate::job) fn new(left: &Shim, used: u32) -> Self {
        Self {
            thickness: left.thickness,
            name: left.name.clone(),
            to: left.adjusts.map(|adjusts| adjusts.to),
            used,
            left: left.count,
        }
    }
}
