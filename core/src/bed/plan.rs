//! The fewest pieces on which a slab lies level, with every stack carrying.

use std::cmp::Reverse;
use std::time::{Duration, Instant};

use super::bearing::Bearing;
use super::laid::{self, BearSettings, LaidSlab};
use super::linear::{Linear, Row, linear};
use super::load::Load;
use super::pieces::{Pieces, Shared};
use super::search::{Bound, Case, Guide, Top};
use super::slab::Slab;
use super::support::SlabSupport;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{LimitKind, Limits, Span};
use crate::shim::{Order, PlanOptions, ShimPlan, ShimProblem, Status, Support, plan_shims_until};
use crate::stock::Shim;

/// A slab, what it is to lie on, and what counts as level.
#[derive(Debug, Clone, PartialEq)]
pub struct BedProblem {
    /// The slab.
    pub slab: Slab,
    /// What it lies on.
    pub supports: Vec<SlabSupport>,
    /// Height of the frame at each support.
    pub frame: Vec<Length>,
    /// The shims on hand, shared by all supports; none of them adjustable.
    pub stock: Vec<Shim>,
    /// What counts as level. The limits hold for the slab's surface at the supports, in their order,
    /// and then at the places `at`; they allow no slope.
    pub limits: Limits,
    /// Further places where they hold, mm.
    pub at: Vec<[f64; 2]>,
    /// Loads beside the weight.
    pub loads: Vec<Load>,
    /// Supports that need not carry as long as they are bare, by index: at most
    /// [`BedProblem::MOST_IDLE`], and not all.
    pub idle: Vec<usize>,
    /// What presses on every stack, and on every bare support that is not idle, N: its force, and
    /// what its screw can add to it. At 0 it is more than nothing.
    pub least_force_n: f64,
    /// How to choose. The order is [`Order::FewestPieces`], and there is no risk.
    pub options: PlanOptions,
    /// How the slab is computed.
    pub settings: BearSettings,
}

impl BedProblem {
    /// The most supports that may be idle.
    pub const MOST_IDLE: usize = 4;

    /// A problem without loads, idle supports or further places, with the default options.
    pub fn new(
        slab: Slab,
        supports: Vec<SlabSupport>,
        frame: Vec<Length>,
        stock: Vec<Shim>,
        limits: Limits,
    ) -> Self {
        Self {
            slab,
            supports,
            frame,
            stock,
            limits,
            at: Vec::new(),
            loads: Vec::new(),
            idle: Vec::new(),
            least_force_n: 0.0,
            options: PlanOptions::default(),
            settings: BearSettings::default(),
        }
    }

    /// Places of the supports, and then the further ones.
    fn places(&self) -> Vec<[f64; 2]> {
        let supports = self.supports.iter().map(|support| support.xy_mm);
        supports.chain(self.at.iter().copied()).collect()
    }

    /// The supports and frame alone, as points that every stack lifts by itself.
    fn points(&self) -> Result<ShimProblem, Error> {
        let support = |(support, &height): (&SlabSupport, &Length)| {
            let [x, y] = support.xy_mm;
            Ok(Support { x: Length::from_mm(x)?, y: Length::from_mm(y)?, height })
        };
        let supports: Result<Vec<Support>, Error> =
            self.supports.iter().zip(&self.frame).map(support).collect();
        let mut limits = self.limits.clone();
        let count = self.supports.len();
        limits.named.retain(|named| named.points.iter().all(|&point| point < count));
        let problem = ShimProblem::new(supports?, self.stock.clone(), limits);
        Ok(ShimProblem { options: self.options.clone(), ..problem })
    }

    /// The limits as spans over the places.
    fn spans(&self) -> Result<Vec<Span>, Error> {
        let length = |[x, y]: [f64; 2]| Ok([Length::from_mm(x)?, Length::from_mm(y)?]);
        let places: Result<Vec<[Length; 2]>, Error> =
            self.places().into_iter().map(length).collect();
        Ok(self.limits.spans(&places?, &[]))
    }

    /// Finds what is wrong with the problem, without solving it.
    ///
    /// # Errors
    /// Those of [`plan_bed`].
    pub fn check(&self) -> Result<(), Error> {
        let mut found = Problems::default();
        let known = laid::check(&self.slab, &self.supports, &self.loads, self.settings);
        let known = found.take(known).is_some();
        let count = self.supports.len();
        if self.frame.len() != count {
            let (got, expected) =
                (format!("{} values", self.frame.len()), format!("{count}, one for each support"));
            found.add(ProblemKind::Shape, "frame", got, expected);
        } else if known {
            let points = found.take(self.points().and_then(|points| points.check()));
            if points.is_some() {
                found.take(self.limits.check_values(count + self.at.len()));
            }
        }
        for (at, &[x, y]) in self.at.iter().enumerate().filter(|(_, xy)| !self.slab.holds(**xy)) {
            let got = format!("x = {x}, y = {y}");
            found.add(ProblemKind::Value, format!("at[{at}]"), got, self.slab.outline());
        }
        if !self.least_force_n.is_finite() || self.least_force_n < 0.0 {
            let expected = "a force of at least 0 N";
            found.add(ProblemKind::Value, "least_force_n", self.least_force_n, expected);
        }
        for (at, idle) in self.idle.iter().enumerate() {
            if *idle >= count {
                let expected = format!("an index below {count}");
                found.add(ProblemKind::Unknown, format!("idle[{at}]"), idle, expected);
            } else if self.idle[..at].contains(idle) {
                let expected = "a support that is named once";
                found.add(ProblemKind::Duplicate, format!("idle[{at}]"), idle, expected);
            }
        }
        if self.idle.len() > Self::MOST_IDLE || (count > 0 && self.idle.len() >= count) {
            let expected = format!("at most {}, and not all supports", Self::MOST_IDLE);
            found.add(
                ProblemKind::Shape,
                "idle",
                format!("{} supports", self.idle.len()),
                expected,
            );
        }
        for (at, shim) in self.stock.iter().enumerate().filter(|(_, shim)| shim.adjusts.is_some()) {
            let expected = "plain pieces: an adjustable one is set once the slab lies";
            found.add(ProblemKind::Value, format!("stock[{at}].adjusts"), shim.thickness, expected);
        }
        if self.limits.allow_tilt() {
            found.add(ProblemKind::Value, "limits.slope", "a slope", "limits that ask for level");
        }
        if self.options.order != Order::FewestPieces || self.options.risk.is_some() {
            let got = format!("{:?}, risk {:?}", self.options.order, self.options.risk);
            found.add(ProblemKind::Value, "options", got, "the order FewestPieces and no risk");
        }
        found.into_result()
    }
}

/// Why the stock cannot do it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum NoBed {
    /// No plan brings the slab's surface within the limits.
    NotLevel,
    /// Some do, but on none of them does every stack carry.
    NotCarried,
}

/// Stacks for a slab, and how it bears on them.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct BedPlan {
    /// How the search ended. [`Status::Proven`] means that no plan is better, for a slab as it is
    /// modelled, a force counting as enough within a millionth of what acts, and heights to the
    /// nanometre. Where it is [`Status::Infeasible`] the stacks are the best that are only level, or
    /// the flattest: see `why`.
    pub status: Status,
    /// Why there is no plan; none unless the status is [`Status::Infeasible`].
    pub why: Option<NoBed>,
    /// The stack under each support: indices into the stock, one a piece, thickest first.
    pub stacks: Vec<Vec<usize>>,
    /// What each stack lifts by.
    pub lifts: Vec<Length>,
    /// Height of each stack's top.
    pub tops: Vec<Length>,
    /// Pieces of each kind used.
    pub used: Vec<u32>,
    /// Pieces in all.
    pub pieces: usize,
    /// The fewest pieces that any plan has, as far as that is proven.
    pub bound: f64,
    /// Half the difference between the highest and the lowest of the slab's heights at the supports
    /// and the further places, mm.
    pub worst_mm: f64,
    /// Those heights of the slab's underside, mm; NaN where it tips.
    pub surface_mm: Vec<f64>,
    /// Whether they meet every limit.
    pub meets_limits: bool,
    /// Whether every stack, and every bare support that is not idle, carries what it should.
    pub carried: bool,
    /// How the slab bears on these stacks.
    pub bearing: Bearing,
    /// Search nodes spent, beside those of the plan for points.
    pub nodes: u64,
}

/// Finds the fewest pieces on which a slab lies level, with every stack carrying.
///
/// The goals are: fewest pieces, then the smallest worst deviation of the surface, then the fewest
/// kinds, then the tie rule of [`plan_shims`](crate::plan_shims). Of the supports that the slab
/// touches, one that stands highest stays bare; where the options do not keep it so, any one of them
/// does.
///
/// Where all supports are rigid and none is idle, the plan for points comes first: a slab that touches
/// everywhere is as high over its supports as the tops are, so no plan has fewer pieces, and where
/// that one carries it is the answer.
///
/// # Errors
/// Those of [`LaidSlab::new`]; what is wrong with supports, stock and limits, as in
/// [`ShimProblem`]; heights of the frame that are not one a support; places outside the slab; idle
/// supports that are not there, named twice, too many or all; a least force below 0 or not finite;
/// adjustable pieces, a target that may slope, a risk, another order. That the stock cannot do it, or
/// that the budget ran out, is no error but the plan's status.
pub fn plan_bed(problem: &BedProblem) -> Result<BedPlan, Error> {
    plan_bed_until(problem, &|| false)
}

/// Finds the plan as [`plan_bed`] does, until `stop` says true: see
/// [`plan_shims_until`](crate::plan_shims_until).
///
/// # Errors
/// Those of [`plan_bed`].
pub fn plan_bed_until(problem: &BedProblem, stop: &dyn Fn() -> bool) -> Result<BedPlan, Error> {
    problem.check()?;
    let points = problem.points()?;
    let planner = Planner::new(problem)?;
    let rigid = problem.supports.iter().all(|support| support.stiffness_n_per_mm.is_none());
    let mut fewest = 0;
    let mut flattest = None;
    if rigid && problem.idle.is_empty() {
        let plan = plan_shims_until(&points, stop)?;
        if plan.status == Status::Infeasible {
            let plan = planner.of_points(&plan, Status::Infeasible)?;
            return Ok(BedPlan { why: Some(NoBed::NotLevel), bound: f64::NAN, ..plan });
        }
        fewest = if plan.status == Status::Proven { plan.pieces as u32 } else { plan.bound as u32 };
        let found = planner.of_points(&plan, plan.status)?;
        let same_limits = points.limits.named.len() == problem.limits.named.len();
        if found.carried && found.meets_limits && problem.at.is_empty() && same_limits {
            return Ok(found);
        }
        flattest = Some(found);
    }
    planner.search(fewest, flattest, &points, stop)
}

/// What does not change in the search.
struct Planner<'a> {
    problem: &'a BedProblem,
    laid: LaidSlab,
    spans: Vec<Span>,
    bounds: Vec<Bound>,
    /// Difference of surface that is allowed between any two supports.
    width: i64,
    /// Supports from the lowest up.
    order: Vec<usize>,
    /// Forces count within this, N.
    tolerance: f64,
}

/// A part of the problem: which support is the bare one that heights are counted from, and which
/// idle supports touch.
struct Part {
    anchor: usize,
    clear: Vec<usize>,
    /// Bare, and free to carry or not.
    bare: Vec<usize>,
    linear: Linear,
    /// Whether forces and gaps do not matter.
    any_forces: bool,
}

impl<'a> Planner<'a> {
    fn new(problem: &'a BedProblem) -> Result<Self, Error> {
        let level = vec![0.0; problem.supports.len()];
        let laid = LaidSlab::fine_enough(
            &problem.slab,
            &problem.supports,
            &problem.loads,
            problem.settings,
            &level,
        )?;
        let spans = problem.spans()?;
        let bounds = spans
            .iter()
            .map(|span| Bound { members: span.members.clone(), width_mm: span.width.mm() })
            .collect();
        let overall = spans.iter().find(|span| span.limit == LimitKind::Overall);
        let width = match overall {
            Some(span) => span.width.nm(),
            // Ties from one to the next: no two supports are further apart than all widths.
            None => spans.iter().map(|span| span.width.nm()).fold(0, i64::saturating_add),
        };
        let mut order: Vec<usize> = (0..problem.supports.len()).collect();
        order.sort_by_key(|&at| problem.frame[at]);
        let tolerance = laid.0.tolerance_n();
        Ok(Self { problem, laid, spans, bounds, width, order, tolerance })
    }

    /// The least force on a stack, N. It is above zero in any case: what touches and carries
    /// nothing is loose, and a slab that rocks on it lies in more than one way.
    fn asked(&self) -> f64 {
        self.problem.least_force_n.max(2.0 * self.tolerance)
    }

    /// The stacks of a plan for points, with how the slab bears on them.
    fn of_points(&self, plan: &ShimPlan, status: Status) -> Result<BedPlan, Error> {
        self.answer(plan.stacks.clone(), status, plan.bound)
    }

    fn answer(
        &self,
        mut stacks: Vec<Vec<usize>>,
        status: Status,
        bound: f64,
    ) -> Result<BedPlan, Error> {
        let BedProblem { stock, frame, supports, idle, .. } = self.problem;
        let mut used = vec![0; stock.len()];
        for stack in &mut stacks {
            stack.sort_by_key(|&kind| (-stock[kind].thickness, kind));
            stack.iter().for_each(|&kind| used[kind] += 1);
        }
        let lifts: Vec<Length> = stacks
            .iter()
            .map(|stack| stack.iter().map(|&kind| stock[kind].loaded(None)).sum())
            .collect();
        let tops: Vec<Length> =
            frame.iter().zip(&lifts).map(|(&frame, &lift)| frame + lift).collect();
        let tops_mm: Vec<f64> = tops.iter().map(|top| top.mm()).collect();
        let bearing = self.laid.bear(&tops_mm)?;
        let mut surface: Vec<Option<i64>> = Vec::new();
        for (at, support) in supports.iter().enumerate() {
            let gives = support.stiffness_n_per_mm.map_or(0.0, |it| bearing.forces_n[at] / it);
            surface.push(moved(tops[at], bearing.gaps_mm[at] - gives));
        }
        let further = bearing.at(&self.problem.at)?;
        surface.extend(further.iter().map(|&height| moved(Length::ZERO, height)));
        let found: Option<Vec<i64>> = surface.into_iter().collect();
        let carried = (0..tops.len()).all(|at| {
            let pressed = bearing.forces_n[at] + supports[at].pull_n;
            let enough = bearing.gaps_mm[at] == 0.0 && pressed >= self.asked() - self.tolerance;
            enough || (idle.contains(&at) && stacks[at].is_empty() && bearing.tips.is_none())
        });
        let surface_nm = found.unwrap_or_default();
        let is_known = !surface_nm.is_empty();
        let surface_mm = match is_known {
            true => surface_nm.iter().map(|&nm| Length::from_nm(nm).mm()).collect(),
            false => vec![f64::NAN; tops.len() + self.problem.at.len()],
        };
        Ok(BedPlan {
            status,
            why: None,
            pieces: stacks.iter().map(Vec::len).sum(),
            stacks,
            lifts,
            tops,
            used,
            bound,
            worst_mm: if is_known { range(&surface_nm) as f64 / 2e6 } else { f64::NAN },
            meets_limits: is_known && self.is_level(&surface_nm),
            surface_mm,
            carried,
            bearing,
            nodes: 0,
        })
    }

    fn is_level(&self, surface_nm: &[i64]) -> bool {
        self.spans.iter().all(|span| {
            let members: Vec<i64> = span.members.iter().map(|&at| surface_nm[at]).collect();
            range(&members) <= span.width.nm()
        })
    }

    /// Searches all parts for the fewest pieces, from a number on that is known to be too few or just
    /// enough.
    fn search(
        &self,
        fewest: u32,
        of_points: Option<BedPlan>,
        points: &ShimProblem,
        stop: &dyn Fn() -> bool,
    ) -> Result<BedPlan, Error> {
        let mut meter = Meter::new(self.problem, stop);
        let found = self.deepen(&self.parts(false), fewest, &mut meter);
        let nodes = meter.nodes;
        let plan = match found {
            Ok(Some(best)) => {
                let bound = f64::from(best.pieces);
                self.answer(self.stacks(&best), Status::Proven, bound)?
            }
            Err(bound) => {
                let best = match meter.best.take() {
                    Some(best) => self.answer(self.stacks(&best), Status::Budget, 0.0)?,
                    None => match of_points {
                        Some(plan) => plan,
                        None => self.of_points(&plan_shims_until(points, stop)?, Status::Budget)?,
                    },
                };
                BedPlan { status: Status::Budget, bound: f64::from(bound), ..best }
            }
            Ok(None) => {
                // Whether any plan is level, be the forces what they may.
                let mut meter = Meter::new(self.problem, stop);
                match self.deepen(&self.parts(true), fewest, &mut meter) {
                    Ok(Some(best)) => {
                        let plan = self.answer(self.stacks(&best), Status::Infeasible, f64::NAN)?;
                        BedPlan { why: Some(NoBed::NotCarried), ..plan }
                    }
                    _ => {
                        let plan = match of_points {
                            Some(plan) => plan,
                            None => self
                                .of_points(&plan_shims_until(points, stop)?, Status::Infeasible)?,
                        };
                        let (status, bound) = (Status::Infeasible, f64::NAN);
                        BedPlan { status, bound, why: Some(NoBed::NotLevel), ..plan }
                    }
                }
            }
        };
        Ok(BedPlan { nodes, ..plan })
    }

    /// Which support is bare and what the idle ones do; forces and gaps may be left out of account.
    fn parts(&self, any_forces: bool) -> Vec<Part> {
        let BedProblem { supports, frame, idle, options, .. } = self.problem;
        let mut parts = Vec::new();
        // Each idle support is clear, bare and touched, or shimmed.
        for state in 0..3_usize.pow(idle.len() as u32) {
            let of = |wanted: usize| -> Vec<usize> {
                let digit = |at: usize| state / 3_usize.pow(at as u32) % 3;
                (0..idle.len()).filter(|&at| digit(at) == wanted).map(|at| idle[at]).collect()
            };
            let (bare, clear) = (of(1), of(2));
            let Some(linear) = linear(&self.laid.0, &clear, &self.problem.at) else { continue };
            let touched = || (0..supports.len()).filter(|at| !clear.contains(at));
            let highest = touched().map(|at| frame[at]).max();
            let anchors = touched().filter(|&at| {
                let may_be_bare = !idle.contains(&at) || bare.contains(&at);
                may_be_bare && (!options.keep_highest || Some(frame[at]) == highest)
            });
            parts.extend(anchors.map(|anchor| Part {
                anchor,
                clear: clear.clone(),
                bare: bare.clone(),
                linear: linear.clone(),
                any_forces,
            }));
        }
        parts
    }

    /// Raises the number of pieces until a plan is found. None where no number is enough. An error
    /// is the number of pieces up to which there is no plan.
    fn deepen(
        &self,
        parts: &[Part],
        fewest: u32,
        meter: &mut Meter<'_>,
    ) -> Result<Option<Best>, u32> {
        let mut limit = fewest;
        let mut pieces = Pieces::new(&self.problem.stock, &self.problem.options);
        let mut cases = Vec::new();
        for part in parts {
            cases.push((part, self.case(part, &pieces).ok_or(limit)?));
        }
        loop {
            meter.next = u32::MAX;
            for (part, case) in &cases {
                let mut guide =
                    Choice { planner: self, part, pieces: &mut pieces, meter: &mut *meter, limit };
                if case.search(&mut guide).is_err() {
                    return Err(limit);
                }
            }
            if let Some(best) = meter.best.take() {
                return Ok(Some(best));
            }
            if meter.next == u32::MAX {
                return Ok(None);
            }
            limit = meter.next;
        }
    }
    /// A part as a search has it; none where the stock reaches more thicknesses than can be listed.
    fn case<'b>(&'b self, part: &'b Part, pieces: &Pieces) -> Option<Case<'b>> {
        let BedProblem { supports, frame, idle, .. } = self.problem;
        // What a top may be off the surface: as much as its support gives way.
        let acts = self.laid.0.burden[0].abs() + supports.iter().map(|it| it.pull_n).sum::<f64>();
        let gives = |at: usize| supports[at].stiffness_n_per_mm.map_or(0.0, |it| 1e6 * acts / it);
        let base = frame[part.anchor].nm();
        let window = |at: usize| {
            let off = (gives(at) + gives(part.anchor)).ceil().min(1e15) as i64;
            self.width.saturating_add(off)
        };
        let most = |at: usize| window(at).saturating_add(base - frame[at].nm());
        let reached = pieces.reachable((0..frame.len()).map(most).max().unwrap_or(0))?;
        let list = |at: usize| -> Vec<Top> {
            let top = |lift: i64, pieces: u32| {
                let mm = Length::from_nm(frame[at].nm() - base + lift).mm();
                Top { mm, lift, pieces }
            };
            if at == part.anchor || part.bare.contains(&at) || part.clear.contains(&at) {
                return vec![top(0, 0)];
            }
            let least = (base - frame[at].nm()).saturating_sub(window(at)).max(0);
            let least = least.max(i64::from(idle.contains(&at)));
            let most = most(at);
            let lifts = reached.range(least..).take_while(|&(&lift, _)| lift <= most);
            lifts.map(|(&lift, &pieces)| top(lift, pieces)).collect()
        };
        let least = |at: usize| match part.any_forces || part.clear.contains(&at) {
            true => f64::NEG_INFINITY,
            false => {
                let asked = if part.bare.contains(&at) { 0.0 } else { self.asked() };
                asked - supports[at].pull_n - self.tolerance
            }
        };
        Some(Case {
            linear: &part.linear,
            least: (0..frame.len()).map(least).collect(),
            least_gap: if part.any_forces { f64::NEG_INFINITY } else { -GAP_MM },
            bounds: &self.bounds,
            lists: (0..frame.len()).map(list).collect(),
        })
    }

    /// The slab's surface on chosen tops, in nanometres; none where a support carries less than it
    /// should.
    fn surface(&self, part: &Part, chosen: &[Top]) -> Option<Vec<i64>> {
        let BedProblem { supports, frame, .. } = self.problem;
        let tops: Vec<f64> = chosen.iter().map(|top| top.mm).collect();
        let base = frame[part.anchor];
        for (at, force) in part.linear.forces.iter().enumerate() {
            let asked = if part.bare.contains(&at) { 0.0 } else { self.asked() };
            let counts = !part.any_forces && !part.clear.contains(&at);
            if counts && force.at(&tops) + supports[at].pull_n < asked - self.tolerance {
                return None;
            }
        }
        let under = |row: &Row| row.at(&tops) < -GAP_MM;
        if !part.any_forces && part.linear.gaps.iter().any(under) {
            return None;
        }
        let rows = part.linear.surface.iter().enumerate();
        rows.map(|(at, row)| match supports.get(at) {
            Some(support) if support.stiffness_n_per_mm.is_none() && !part.clear.contains(&at) => {
                Some(frame[at].nm() + chosen[at].lift)
            }
            _ => moved(base, row.at(&tops)),
        })
        .collect()
    }

    fn stacks(&self, best: &Best) -> Vec<Vec<usize>> {
        let stack = |counts: &Vec<u32>| {
            let kinds = best.kinds.iter().zip(counts);
            kinds.flat_map(|(&kind, &count)| std::iter::repeat_n(kind, count as usize)).collect()
        };
        best.counts.iter().map(stack).collect()
    }
}

/// A gap below 0 counts as none within this, mm.
const GAP_MM: f64 = 1e-6;

/// A height and what it is moved by, to the nearest nanometre; none where that is no number.
fn moved(from: Length, by_mm: f64) -> Option<i64> {
    Some(from.nm() + Length::from_mm(by_mm).ok()?.nm())
}

fn range(heights: &[i64]) -> i64 {
    let (low, high) = (heights.iter().min(), heights.iter().max());
    high.copied().unwrap_or(0) - low.copied().unwrap_or(0)
}

/// What plans are ordered by: pieces, range of the surface, kinds, twice the level, and the stacks
/// from the lowest support up.
type Rank = (u32, i64, u32, i64, Vec<(u32, Vec<Reverse<u32>>)>);

/// The best plan so far.
struct Best {
    pieces: u32,
    rank: Rank,
    /// Index of each kind in the stock,
    kinds: Vec<usize>,
    /// and pieces of each, support by support.
    counts: Vec<Vec<u32>>,
}

/// The budget of a search, and what it has found.
struct Meter<'a> {
    nodes: u64,
    most: u64,
    until: Option<Instant>,
    asked_to_stop: &'a dyn Fn() -> bool,
    stopped: bool,
    /// The fewest pieces that a plan would have needed beyond the number allowed.
    next: u32,
    best: Option<Best>,
}

impl<'a> Meter<'a> {
    fn new(problem: &BedProblem, asked_to_stop: &'a dyn Fn() -> bool) -> Self {
        let budget = problem.options.budget;
        let time = budget.time_ms.map(Duration::from_millis);
        let until = time.and_then(|time| Instant::now().checked_add(time));
        let (nodes, most) = (0, budget.nodes);
        Self { nodes, most, until, asked_to_stop, stopped: false, next: u32::MAX, best: None }
    }
}

/// Chooses among what a search finds.
struct Choice<'a, 'b> {
    planner: &'a Planner<'a>,
    part: &'a Part,
    pieces: &'a mut Pieces,
    meter: &'a mut Meter<'b>,
    limit: u32,
}

impl Guide for Choice<'_, '_> {
    fn step(&mut self) -> bool {
        const NODES_A_LOOK: u64 = 1024;
        let Meter { nodes, most, until, asked_to_stop, stopped, .. } = &mut *self.meter;
        *nodes += 1;
        let is_over = || until.is_some_and(|until| Instant::now() >= until) || asked_to_stop();
        *stopped |= *nodes > *most || (nodes.is_multiple_of(NODES_A_LOOK) && is_over());
        !*stopped
    }

    fn limits(&self) -> (u32, f64) {
        let widest = |best: &Best| Length::from_nm(best.rank.1).mm();
        (self.limit, self.meter.best.as_ref().map_or(f64::INFINITY, widest))
    }

    fn beyond(&mut self, pieces: u32) {
        self.meter.next = self.meter.next.min(pieces);
    }

    fn found(&mut self, chosen: &[Top]) {
        let Some(surface) = self.planner.surface(self.part, chosen) else { return };
        let wide = range(&surface);
        let is_wider = |best: &Best| wide > best.rank.1;
        if !self.planner.is_level(&surface) || self.meter.best.as_ref().is_some_and(is_wider) {
            return;
        }
        let lifts: Vec<(i64, u32)> = chosen.iter().map(|top| (top.lift, top.pieces)).collect();
        let fuel = self.meter.most.saturating_sub(self.meter.nodes);
        let shared = self.pieces.share(&lifts, self.limit, &self.planner.order, fuel);
        self.meter.nodes += self.pieces.spent;
        let Some(Shared { pieces, kinds, stacks }) = shared else {
            if lifts.iter().map(|&(lift, _)| self.pieces.most_in(lift)).sum::<u64>()
                > u64::from(self.limit)
            {
                self.beyond(self.limit + 1);
            }
            return;
        };
        let level =
            surface.iter().max().zip(surface.iter().min()).map_or(0, |(high, low)| high + low);
        let stack = |&at: &usize| {
            let counts: &Vec<u32> = &stacks[at];
            (counts.iter().sum(), counts.iter().map(|&count| Reverse(count)).collect())
        };
        let rank = (pieces, wide, kinds, level, self.planner.order.iter().map(stack).collect());
        if self.meter.best.as_ref().is_none_or(|best| rank < best.rank) {
            let kinds = self.pieces.kinds.clone();
            self.meter.best = Some(Best { pieces, rank, kinds, counts: stacks });
        }
    }
}
