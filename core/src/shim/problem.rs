//! What the solver is asked.

use foldhash::{HashMap, HashMapExt};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::guard::{Guard, RiskOf};
use super::placed::Placed;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{self, Limits};
use crate::stock::{self, Shim};
use crate::survey::SelfCheck;

/// A support: where it stands in plan and how high it reaches without a shim.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Support {
    /// Position along the bed.
    pub x: Length,
    /// Position across the bed.
    pub y: Length,
    /// Height, positive upwards.
    pub height: Length,
}

/// The order of goals. Each goal is settled, with proof, before the next one counts. A fixed tie
/// rule decides between plans that are equal in all goals.
///
/// With stacks in place it is the change that counts: a support is lifted if its stack changes,
/// pieces are those put in or taken out, and the price is the price of the pieces put in. Every
/// order but `cheapest` then asks for the fewest supports lifted before the fewest pieces moved. An
/// adjustable piece that is set anew in place counts as a piece moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Order {
    /// Fewest pieces, then smallest worst deviation, then fewest kinds.
    #[default]
    FewestPieces,
    /// Smallest worst deviation, then fewest pieces, then fewest kinds.
    Flattest,
    /// Fewest supports lifted, then fewest pieces, then smallest worst deviation, then fewest
    /// kinds.
    FewestLifts,
    /// Lowest total price, then fewest pieces, then smallest worst deviation, then fewest kinds.
    Cheapest,
}

/// The limit of a search. A search that reaches it ends without a proof.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Budget {
    /// The most search nodes. The same number gives the same plan on every machine. The default is
    /// 20 million.
    pub nodes: u64,
    /// The longest time, in milliseconds. The default is no limit. Where the clock ends a search,
    /// the plan depends on the machine.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time_ms: Option<u64>,
}

impl Budget {
    /// No limit of nodes and none of time.
    pub const UNLIMITED: Self = Self { nodes: u64::MAX, time_ms: None };
}

impl Default for Budget {
    fn default() -> Self {
        Self { nodes: 20_000_000, time_ms: None }
    }
}

/// How to choose a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct PlanOptions {
    /// The order of goals.
    pub order: Order,
    /// Whether every support that stands highest stays bare. The default is true. At least one
    /// support stays bare in any case.
    pub keep_highest: bool,
    /// The most pieces under one support. The default is 1000, which is also the most allowed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_pieces: Option<u32>,
    /// The thickest stack under one support.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub max_stack: Option<Length>,
    /// The greatest probability that the finished bed does not meet a limit, by what is known of the
    /// heights and of the pieces put in or taken out. The field `risk_of` says whether it holds for
    /// each difference of tops by itself or for all limits together. It is above 0 and below 0.5. By
    /// default the plan keeps no distance from the limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub risk: Option<f64>,
    /// Whether the risk holds for each difference of tops by itself, which is the default, or for all
    /// limits together.
    #[serde(skip_serializing_if = "RiskOf::is_default")]
    pub risk_of: RiskOf,
    /// The limit of the search.
    pub budget: Budget,
}

impl PlanOptions {
    /// No stack holds more pieces than this.
    pub const MOST_PIECES: u32 = 1_000;
}

impl Default for PlanOptions {
    fn default() -> Self {
        Self {
            order: Order::default(),
            keep_highest: true,
            max_pieces: None,
            max_stack: None,
            risk: None,
            risk_of: RiskOf::default(),
            budget: Budget::default(),
        }
    }
}

/// Supports, stock and limits: all that [`plan_shims`](crate::plan_shims) needs.
///
/// Bad input is: no support; a place taken twice; heights or coordinates beyond
/// [`Length::MAX`]; a joint of a support with itself, of one that is not there, or given twice; no
/// stock, or thicknesses out of range; kinds or supports that are not there; stacks in place that
/// cannot be; no limits, negative ones, or limits that leave two supports without any tie between
/// them; a covariance that is none, a risk that is none or lacks a covariance, and limits that the
/// readings are too coarse for at that risk; for the order [`Order::Cheapest`], prices and numbers of pieces whose sums could pass 2⁶⁰.
#[derive(Debug, Clone, PartialEq)]
pub struct ShimProblem {
    /// The supports.
    pub supports: Vec<Support>,
    /// The shims on hand, shared by all supports.
    pub stock: Vec<Shim>,
    /// What counts as level.
    pub limits: Limits,
    /// Pairs of supports (by index) on the two sides of a slate joint.
    pub joints: Vec<[usize; 2]>,
    /// Kinds that may go under some supports only; the others may go under each.
    pub only_under: Vec<OnlyUnder>,
    /// The stacks in place, where this is not the first pass. Pieces taken out go back to the
    /// stock. A support that is bare then counts as one that stands highest, so that it may stay
    /// bare though the readings have it a hair below another.
    pub placed: Option<Placed>,
    /// Covariance of the heights, mm², n × n row by row, where it is known: for guard bands
    /// ([`PlanOptions::risk`]) and for the verdict that a plan foresees
    /// ([`ShimPlan::predict`](crate::ShimPlan::predict)).
    pub covariance_mm2: Option<Vec<f64>>,
    /// What the survey of the heights says of its own readings, for the verdict that a plan foresees:
    /// [`Heights::self_check`](crate::Heights::self_check). By default nothing is known of them.
    pub self_check: SelfCheck,
    /// How to choose.
    pub options: PlanOptions,
}

/// A kind that may go under some supports only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnlyUnder {
    /// Index into the stock.
    pub kind: usize,
    /// Indices of the supports.
    pub supports: Vec<usize>,
}

impl ShimProblem {
    /// A problem without joints, with the default options.
    pub fn new(supports: Vec<Support>, stock: Vec<Shim>, limits: Limits) -> Self {
        Self {
            supports,
            stock,
            limits,
            joints: Vec::new(),
            only_under: Vec::new(),
            placed: None,
            covariance_mm2: None,
            self_check: SelfCheck::default(),
            options: PlanOptions::default(),
        }
    }

    /// Height of each support without a shim.
    pub(crate) fn bare_heights(&self) -> Vec<Length> {
        let lift = |at| self.placed.as_ref().map_or(Length::ZERO, |it| it.lift(at, &self.stock));
        self.supports.iter().enumerate().map(|(at, support)| support.height - lift(at)).collect()
    }

    /// What the risk that is asked for comes to; checks it and the covariance.
    fn guard(&self, deadline: &Deadline<'_>) -> Result<Option<Guard>, Error> {
        let (covariance, risk) = (self.covariance_mm2.as_deref(), self.options.risk);
        let guard = Guard::of(covariance, risk, self.supports.len(), deadline)?;
        let (risk_of, placed) = (self.options.risk_of, self.placed.as_ref());
        Ok(guard.map(|guard| guard.with_pieces(risk_of, &self.stock, placed)))
    }

    /// Where each support stands in plan.
    pub(crate) fn places(&self) -> Vec<[Length; 2]> {
        self.supports.iter().map(|support| [support.x, support.y]).collect()
    }

    /// Finds what is wrong with the fields, whatever the guard bands come to.
    pub(crate) fn check_fields(&self, deadline: &Deadline<'_>) -> Result<(), Error> {
        self.checked_fields(deadline).map(drop)
    }

    /// Finds what is wrong with the fields; the guard bands that they ask for.
    pub(super) fn checked_fields(&self, deadline: &Deadline<'_>) -> Result<Option<Guard>, Error> {
        let mut found = Problems::default();
        if self.supports.is_empty() {
            found.add(ProblemKind::Shape, "supports", "none", "at least one support");
        }
        for (at, support) in self.supports.iter().enumerate() {
            for (name, value) in [("x", support.x), ("y", support.y), ("height", support.height)] {
                if value.abs() > Length::MAX {
                    let expected = format!("a length within ±{}", Length::MAX);
                    found.add(
                        ProblemKind::Value,
                        format!("supports[{at}].{name}"),
                        value,
                        expected,
                    );
                }
            }
        }
        self.check_places(&mut found);
        limits::check_joints(&self.joints, self.supports.len(), &mut found);
        found.take(stock::check_stock(&self.stock, "stock"));
        found.take(self.limits.check_values(self.supports.len()));
        found.take(self.limits.check_binding(&self.places(), &self.joints));
        self.check_only_under(&mut found);
        let guard = found.take(self.guard(deadline)).flatten();
        if let Some(placed) = &self.placed {
            placed.check(self.supports.len(), &self.stock, &mut found);
        }
        if let Some(thickest) = self.options.max_stack
            && thickest < Length::ZERO
        {
            found.add(ProblemKind::Value, "max_stack", thickest, "a length of at least 0 mm");
        }
        found.into_result()?;
        Ok(guard)
    }

    fn check_only_under(&self, found: &mut Problems) {
        for (at, only) in self.only_under.iter().enumerate() {
            let kinds = self.stock.len();
            if only.kind >= kinds {
                let expected = format!("an index below {kinds}");
                found.add(
                    ProblemKind::Unknown,
                    format!("only_under[{at}].kind"),
                    only.kind,
                    expected,
                );
            } else if self.only_under[..at].iter().any(|other| other.kind == only.kind) {
                let expected = "a kind that is named once";
                found.add(
                    ProblemKind::Duplicate,
                    format!("only_under[{at}].kind"),
                    only.kind,
                    expected,
                );
            }
            let count = self.supports.len();
            for support in only.supports.iter().filter(|&&support| support >= count) {
                let expected = format!("indices below {count}");
                found.add(
                    ProblemKind::Unknown,
                    format!("only_under[{at}].supports"),
                    support,
                    expected,
                );
            }
        }
    }

    /// Two supports may share a place only as the two sides of a joint.
    fn check_places(&self, found: &mut Problems) {
        let mut places = HashMap::with_capacity(self.supports.len());
        for (at, support) in self.supports.iter().enumerate() {
            if let Some(other) = places.insert((support.x, support.y), at)
                && !self.joints.iter().any(|joint| *joint == [other, at] || *joint == [at, other])
            {
                let got = format!("x = {}, y = {}", support.x, support.y);
                let expected = format!("a place where supports[{other}] does not stand");
                found.add(ProblemKind::Duplicate, format!("supports[{at}]"), got, expected);
            }
        }
    }
}
