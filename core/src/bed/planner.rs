//! The search for the best stacks on which slabs lie level: one, or several that share the stock and
//! the limits.

use std::cmp::Reverse;
use std::time::{Duration, Instant};

use super::laid::LaidSlab;
use super::linear::{Linear, Row, linear};
use super::pieces::{Given, Pieces, Shared, Unshared};
use super::search::{Block, Bound, Case, Guide, Top};
use super::support::SlabSupport;
use crate::length::Length;
use crate::limits::{LimitKind, Span};
use crate::shim::{OnlyUnder, Placed, PlanOptions};
use crate::stock::Shim;

/// A slab, and what each of its stacks should carry.
pub(crate) struct Under<'a> {
    pub(crate) laid: &'a LaidSlab,
    /// N, with what its screws can add; at 0 it is more than nothing.
    pub(crate) least_force_n: f64,
}

/// Slabs that share a stock and limits. Supports stand in the order of the slabs; behind them are those
/// that lift a point each and no slab.
pub(crate) struct Beds<'a> {
    pub(crate) slabs: Vec<Under<'a>>,
    /// Height of the frame at each support, without what is in place.
    pub(crate) frame: Vec<Length>,
    /// The number of each support, by which it is named in `placed` and `only_under`: of two that stand
    /// equally high the one with the lower number is first.
    pub(crate) numbers: Vec<usize>,
    /// Without adjustable pieces.
    pub(crate) stock: &'a [Shim],
    pub(crate) placed: Option<&'a Placed>,
    pub(crate) only_under: &'a [OnlyUnder],
    /// Any order but the flattest, and no risk.
    pub(crate) options: &'a PlanOptions,
    /// What counts as level, at the supports and then at the further places.
    pub(crate) spans: Vec<Span>,
    /// Further places, on the first slab.
    pub(crate) at: &'a [[f64; 2]],
    /// Supports of the first slab that need not carry as long as they are bare.
    pub(crate) idle: &'a [usize],
}

/// What a search came to.
pub(crate) struct Searched {
    /// The stacks of the best plan that was found: indices into the stock, one a piece.
    pub(crate) stacks: Option<Vec<Vec<usize>>>,
    /// Whether it went to its end: no plan is better, or there is none.
    pub(crate) ended: bool,
    /// The least of the first goal that any plan comes to, as far as that is proven: pieces, supports
    /// lifted or price.
    pub(crate) bound: f64,
    /// Nodes spent.
    pub(crate) nodes: u64,
}

/// What does not change in the search.
pub(crate) struct Planner<'a> {
    beds: Beds<'a>,
    /// Of each support, in the order of `frame`.
    supports: Vec<SlabSupport>,
    /// The least force on each support, N, and the tolerance of forces.
    asked: Vec<[f64; 2]>,
    /// How much acts on the slab of each support at the most, N.
    acts: Vec<f64>,
    bounds: Vec<Bound>,
    /// Difference of surface that is allowed between any two supports.
    width: i64,
    /// Supports from the lowest up.
    order: Vec<usize>,
}

/// A part of the problem: which support is the bare one that heights are counted from, and which
/// idle supports touch.
struct Part {
    anchor: usize,
    clear: Vec<usize>,
    /// Bare, and free to carry or not.
    bare: Vec<usize>,
    /// Slab by slab, and then point by point.
    linear: Vec<Linear>,
    /// Whether forces and gaps do not matter.
    any_forces: bool,
}

impl<'a> Planner<'a> {
    pub(crate) fn new(beds: Beds<'a>) -> Self {
        let mut supports = Vec::new();
        let (mut asked, mut acts) = (Vec::new(), Vec::new());
        for Under { laid, least_force_n } in &beds.slabs {
            let (of, tolerance) = (&laid.0, laid.0.tolerance_n());
            let pulls: f64 = of.supports.iter().map(|it| it.pull_n).sum();
            for support in &of.supports {
                supports.push(*support);
                // It is above zero in any case: what touches and carries nothing is loose, and a slab
                // that rocks on it lies in more than one way.
                asked.push([least_force_n.max(2.0 * tolerance), tolerance]);
                acts.push(of.burden[0].abs() + pulls);
            }
        }
        let count = beds.frame.len();
        supports.resize(count, SlabSupport::at([0.0; 2]));
        asked.resize(count, [0.0; 2]);
        acts.resize(count, 0.0);
        let bound =
            |span: &Span| Bound { members: span.members.clone(), width_mm: span.width.mm() };
        let bounds = beds.spans.iter().map(bound).collect();
        let overall = beds.spans.iter().find(|span| span.limit == LimitKind::Overall);
        let width = match overall {
            Some(span) => span.width.nm(),
            // Ties from one to the next: no two supports are further apart than all widths.
            None => beds.spans.iter().map(|span| span.width.nm()).fold(0, i64::saturating_add),
        };
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|&at| (beds.frame[at], beds.numbers[at]));
        Self { beds, supports, asked, acts, bounds, width, order }
    }

    /// Searches for the best stacks with all of them carrying, from a first goal on that is known to be
    /// too little or just enough.
    pub(crate) fn carried(&self, least: f64, stop: &dyn Fn() -> bool) -> Searched {
        self.searched(false, least, stop)
    }

    /// The same, be the forces what they may.
    pub(crate) fn level(&self, least: f64, stop: &dyn Fn() -> bool) -> Searched {
        self.searched(true, least, stop)
    }

    fn searched(&self, any_forces: bool, least: f64, stop: &dyn Fn() -> bool) -> Searched {
        let mut meter = Meter::new(self.beds.options, stop);
        let Beds { stock, options, placed, only_under, numbers, .. } = &self.beds;
        let given = Given { stock, options, placed: *placed, only_under, supports: numbers };
        let Some(mut pieces) = Pieces::new(&given) else {
            return Searched { stacks: None, ended: false, bound: least, nodes: 0 };
        };
        let unit = pieces.costs.unit;
        let first_goal = |cost: i64| (cost / unit) as f64;
        let least = (least.max(0.0) as i64).saturating_mul(unit);
        let found = self.deepen(&self.parts(any_forces), least, &mut pieces, &mut meter);
        let stacks = |best: &Best| best.stacks();
        let nodes = meter.nodes;
        match found {
            Ok(best) => {
                let bound = best.as_ref().map_or(f64::NAN, |best| first_goal(best.rank.0));
                Searched { stacks: best.as_ref().map(stacks), ended: true, bound, nodes }
            }
            Err(bound) => {
                let stacks = meter.best.as_ref().map(stacks);
                Searched { stacks, ended: false, bound: first_goal(bound), nodes }
            }
        }
    }

    /// Which support is bare and what the idle ones do; forces and gaps may be left out of account.
    fn parts(&self, any_forces: bool) -> Vec<Part> {
        let Beds { slabs, frame, idle, options, at, placed, numbers, .. } = &self.beds;
        let on_slabs: usize = slabs.iter().map(|under| under.laid.0.supports.len()).sum();
        let points = (on_slabs..frame.len()).map(|_| Some(Linear::point()));
        let others = slabs.iter().skip(1).map(|under| linear(&under.laid.0, &[], &[]));
        let Some(others) = others.chain(points).collect::<Option<Vec<Linear>>>() else {
            return Vec::new();
        };
        let mut parts = Vec::new();
        // Each idle support is clear, bare and touched, or shimmed.
        for state in 0..3_usize.pow(idle.len() as u32) {
            let of = |wanted: usize| -> Vec<usize> {
                let digit = |at: usize| state / 3_usize.pow(at as u32) % 3;
                (0..idle.len()).filter(|&at| digit(at) == wanted).map(|at| idle[at]).collect()
            };
            let (bare, clear) = (of(1), of(2));
            let first = slabs.first().map(|under| linear(&under.laid.0, &clear, at));
            let Some(first) = first.map_or(Some(None), |first| first.map(Some)) else { continue };
            let linear: Vec<Linear> = first.into_iter().chain(others.iter().cloned()).collect();
            let touched = || (0..frame.len()).filter(|at| !clear.contains(at));
            let highest = touched().map(|at| frame[at]).max();
            let stays_bare =
                |at: usize| placed.is_some_and(|placed| placed.stacks[numbers[at]].is_empty());
            let anchors = touched().filter(|&at| {
                let may_be_bare = !idle.contains(&at) || bare.contains(&at);
                let is_kept = Some(frame[at]) == highest || stays_bare(at);
                may_be_bare && (!options.keep_highest || is_kept)
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

    /// Raises the cost until a plan is found. None where no cost is enough. An error is the cost below
    /// which there is no plan.
    fn deepen(
        &self,
        parts: &[Part],
        least: i64,
        pieces: &mut Pieces,
        meter: &mut Meter<'_>,
    ) -> Result<Option<Best>, i64> {
        let mut cases = Vec::new();
        for part in parts {
            let mut case = self.case(part, pieces).ok_or(least)?;
            match case.bound_blocks(&mut |alone| least_of(alone, meter)) {
                Ok(true) => cases.push((part, case)),
                // One of the slabs cannot lie, whatever the others do.
                Ok(false) => {}
                Err(_) => return Err(least),
            }
        }
        let Some(of_slabs) = cases.iter().map(|(_, case)| case.least_cost()).min() else {
            return Ok(None);
        };
        let (unit, most) = (pieces.costs.unit, pieces.most_cost());
        let mut limit = least.max(of_slabs);
        while limit <= most {
            meter.next = i64::MAX;
            if unit > 1 {
                // Whatever the second goal: it takes many values, and all would be tried in turn.
                limit = limit / unit * unit + (unit - 1);
                self.search(&cases, limit, true, pieces, meter)?;
                limit = meter.best.as_ref().map_or(limit, |best| best.rank.0);
            }
            if unit == 1 || meter.best.is_some() {
                self.search(&cases, limit, false, pieces, meter)?;
            }
            if let Some(best) = meter.best.take() {
                return Ok(Some(best));
            }
            limit = meter.next;
        }
        Ok(None)
    }

    /// Searches all cases up to a cost; for the least cost alone, or for the best plan of that cost. An
    /// error is the cost below which there is no plan.
    fn search(
        &self,
        cases: &[(&Part, Case<'_>)],
        limit: i64,
        cost_alone: bool,
        pieces: &mut Pieces,
        meter: &mut Meter<'_>,
    ) -> Result<(), i64> {
        let bound = if cost_alone { limit / pieces.costs.unit * pieces.costs.unit } else { limit };
        for (part, case) in cases {
            let mut guide = Choice {
                planner: self,
                part,
                pieces: &mut *pieces,
                meter: &mut *meter,
                limit,
                cost_alone,
            };
            // What was found last may have been left unshared.
            if case.search(&mut guide).is_err() || meter.stopped {
                return Err(bound);
            }
        }
        Ok(())
    }

    /// A part as a search has it; none where the stock reaches more thicknesses than can be listed.
    fn case<'b>(&'b self, part: &'b Part, pieces: &Pieces) -> Option<Case<'b>> {
        let Beds { frame, idle, .. } = &self.beds;
        let supports = &self.supports;
        // What a top may be off the surface: as much as its support gives way.
        let gives =
            |at: usize| supports[at].stiffness_n_per_mm.map_or(0.0, |it| 1e6 * self.acts[at] / it);
        let base = frame[part.anchor].nm();
        let window = |at: usize| {
            let off = (gives(at) + gives(part.anchor)).ceil().min(1e15) as i64;
            self.width.saturating_add(off)
        };
        let most = |at: usize| window(at).saturating_add(base - frame[at].nm());
        let reached = pieces.reachable((0..frame.len()).map(most).max().unwrap_or(0))?;
        let list = |at: usize| -> Vec<Top> {
            let top = |lift: i64, cost: i64| {
                let mm = Length::from_nm(frame[at].nm() - base + lift).mm();
                Top { mm, lift, cost }
            };
            if at == part.anchor || part.bare.contains(&at) || part.clear.contains(&at) {
                return vec![top(0, pieces.bare(at))];
            }
            let least = (base - frame[at].nm()).saturating_sub(window(at)).max(0);
            let least = least.max(i64::from(idle.contains(&at)));
            let most = most(at);
            let reached = &reached[pieces.start_of(at)];
            let lifts = reached.range(least..).take_while(|&(&lift, _)| lift <= most);
            lifts.map(|(&lift, &cost)| top(lift, cost)).collect()
        };
        let least = |at: usize| match part.any_forces || part.clear.contains(&at) {
            true => f64::NEG_INFINITY,
            false => self.least(part, at),
        };
        let least: Vec<f64> = (0..frame.len()).map(least).collect();
        let mut first = 0;
        let blocks = part.linear.iter().map(|linear| {
            let supports = first..first + linear.supports();
            first = supports.end;
            // The further places come behind all supports.
            let further = linear.surface.len() - supports.len();
            let places = supports.clone().chain(frame.len()..frame.len() + further).collect();
            let least = least[supports.clone()].to_vec();
            Block { linear, supports, places, least, least_cost: 0 }
        });
        Some(Case {
            blocks: blocks.collect(),
            least_gap: if part.any_forces { f64::NEG_INFINITY } else { -GAP_MM },
            bounds: self.bounds.clone(),
            lists: (0..frame.len()).map(list).collect(),
            most_lift: pieces.most_lift(),
        })
    }

    /// What the force of a support is at the least, N.
    fn least(&self, part: &Part, at: usize) -> f64 {
        let [asked, tolerance] = self.asked[at];
        let asked = if part.bare.contains(&at) { 0.0 } else { asked };
        asked - self.supports[at].pull_n - tolerance
    }

    /// The surface on chosen tops, in nanometres; none where a support carries less than it should.
    fn surface(&self, part: &Part, chosen: &[Top]) -> Option<Vec<i64>> {
        let frame = &self.beds.frame;
        let tops: Vec<f64> = chosen.iter().map(|top| top.mm).collect();
        let base = frame[part.anchor];
        let (mut surface, mut further) = (Vec::new(), Vec::new());
        for linear in &part.linear {
            let first = surface.len();
            let own = &tops[first..first + linear.supports()];
            for (row, at) in linear.forces.iter().zip(first..) {
                let counts = !part.any_forces && !part.clear.contains(&at);
                if counts && row.at(own) < self.least(part, at) {
                    return None;
                }
            }
            let under = |row: &Row| row.at(own) < -GAP_MM;
            if !part.any_forces && linear.gaps.iter().any(under) {
                return None;
            }
            let (rows, more) = linear.surface.split_at(own.len());
            for (row, at) in rows.iter().zip(first..) {
                let is_top =
                    self.supports[at].stiffness_n_per_mm.is_none() && !part.clear.contains(&at);
                surface.push(match is_top {
                    true => frame[at].nm() + chosen[at].lift,
                    false => moved(base, row.at(own))?,
                });
            }
            for row in more {
                further.push(moved(base, row.at(own))?);
            }
        }
        surface.extend(further);
        Some(surface)
    }
}

/// The least that one slab costs by itself; none where it does not lie.
fn least_of(
    alone: &Case<'_>,
    meter: &mut Meter<'_>,
) -> Result<Option<i64>, super::search::Stopped> {
    let mut guide = Least { meter, best: None };
    let searched = alone.search(&mut guide);
    let best = guide.best;
    // At no cost there is nothing left to look for.
    if best == Some(0) { Ok(best) } else { searched.map(|()| best) }
}

/// Whether a surface keeps within limits.
pub(super) fn is_level(spans: &[Span], surface_nm: &[i64]) -> bool {
    spans.iter().all(|span| {
        let members: Vec<i64> = span.members.iter().map(|&at| surface_nm[at]).collect();
        range(&members) <= span.width.nm()
    })
}

/// A gap below 0 counts as none within this, mm.
const GAP_MM: f64 = 1e-6;

/// A height and what it is moved by, to the nearest nanometre; none where that is no number.
pub(super) fn moved(from: Length, by_mm: f64) -> Option<i64> {
    Some(from.nm() + Length::from_mm(by_mm).ok()?.nm())
}

pub(super) fn range(heights: &[i64]) -> i64 {
    let (low, high) = (heights.iter().min(), heights.iter().max());
    high.copied().unwrap_or(0) - low.copied().unwrap_or(0)
}

/// What plans are ordered by: cost, range of the surface, kinds, twice the level, and the stacks from the
/// lowest support up.
type Rank = (i64, i64, u32, i64, Vec<(u32, Vec<Reverse<u32>>)>);

/// The best plan so far.
struct Best {
    rank: Rank,
    /// Index of each kind in the stock,
    kinds: Vec<usize>,
    /// and pieces of each, support by support.
    counts: Vec<Vec<u32>>,
}

impl Best {
    fn stacks(&self) -> Vec<Vec<usize>> {
        let stack = |counts: &Vec<u32>| {
            let kinds = self.kinds.iter().zip(counts);
            kinds.flat_map(|(&kind, &count)| std::iter::repeat_n(kind, count as usize)).collect()
        };
        self.counts.iter().map(stack).collect()
    }
}

/// The budget of a search, and what it has found.
struct Meter<'a> {
    nodes: u64,
    most: u64,
    until: Option<Instant>,
    asked_to_stop: &'a dyn Fn() -> bool,
    stopped: bool,
    /// The least that a plan would have cost beyond what was allowed.
    next: i64,
    best: Option<Best>,
}

impl<'a> Meter<'a> {
    fn new(options: &PlanOptions, asked_to_stop: &'a dyn Fn() -> bool) -> Self {
        let budget = options.budget;
        let time = budget.time_ms.map(Duration::from_millis);
        let until = time.and_then(|time| Instant::now().checked_add(time));
        let (nodes, most) = (0, budget.nodes);
        Self { nodes, most, until, asked_to_stop, stopped: false, next: i64::MAX, best: None }
    }
}

impl Meter<'_> {
    /// Counts a node; whether the search may go on.
    fn step(&mut self) -> bool {
        const NODES_A_LOOK: u64 = 1024;
        let Self { nodes, most, until, asked_to_stop, stopped, .. } = self;
        *nodes += 1;
        let is_over = || until.is_some_and(|until| Instant::now() >= until) || asked_to_stop();
        *stopped |= *nodes > *most || (nodes.is_multiple_of(NODES_A_LOOK) && is_over());
        !*stopped
    }

    /// Counts other work as nodes.
    fn spend(&mut self, nodes: u64) {
        self.nodes += nodes;
        self.stopped |= self.nodes >= self.most;
    }
}

/// Looks for the least that a slab costs by itself.
struct Least<'a, 'b> {
    meter: &'a mut Meter<'b>,
    best: Option<i64>,
}

impl Guide for Least<'_, '_> {
    fn step(&mut self) -> bool {
        self.best != Some(0) && self.meter.step()
    }

    fn limits(&self) -> (i64, f64) {
        (self.best.map_or(i64::MAX, |best| best - 1), f64::INFINITY)
    }

    fn beyond(&mut self, _cost: i64) {}

    fn found(&mut self, chosen: &[Top]) {
        self.best = Some(chosen.iter().map(|top| top.cost).sum());
    }
}

/// Chooses among what a search finds.
struct Choice<'a, 'b> {
    planner: &'a Planner<'a>,
    part: &'a Part,
    pieces: &'a mut Pieces,
    meter: &'a mut Meter<'b>,
    limit: i64,
    /// Whether only the cost matters.
    cost_alone: bool,
}

impl Guide for Choice<'_, '_> {
    fn step(&mut self) -> bool {
        self.meter.step()
    }

    fn limits(&self) -> (i64, f64) {
        match &self.meter.best {
            Some(best) if self.cost_alone => (best.rank.0 - 1, f64::INFINITY),
            Some(best) => (self.limit, Length::from_nm(best.rank.1).mm()),
            None => (self.limit, f64::INFINITY),
        }
    }

    fn beyond(&mut self, cost: i64) {
        self.meter.next = self.meter.next.min(cost);
    }

    fn found(&mut self, chosen: &[Top]) {
        let Some(surface) = self.planner.surface(self.part, chosen) else { return };
        let wide = range(&surface);
        let is_wider = |best: &Best| !self.cost_alone && wide > best.rank.1;
        if !is_level(&self.planner.beds.spans, &surface)
            || self.meter.best.as_ref().is_some_and(is_wider)
        {
            return;
        }
        let lifts: Vec<(i64, i64)> = chosen.iter().map(|top| (top.lift, top.cost)).collect();
        let fuel = self.meter.most.saturating_sub(self.meter.nodes);
        let (limit, _) = self.limits();
        let shared = self.pieces.share(&lifts, limit, &self.planner.order, fuel);
        self.meter.spend(self.pieces.spent);
        let Shared { cost, kinds, stacks } = match shared {
            Ok(shared) => shared,
            Err(Unshared::Beyond(cost)) => return self.beyond(cost),
            Err(Unshared::Never) => return,
        };
        let level =
            surface.iter().max().zip(surface.iter().min()).map_or(0, |(high, low)| high + low);
        let stack = |&at: &usize| {
            let counts: &Vec<u32> = &stacks[at];
            (counts.iter().sum(), counts.iter().map(|&count| Reverse(count)).collect())
        };
        let rank = (cost, wide, kinds, level, self.planner.order.iter().map(stack).collect());
        if self.meter.best.as_ref().is_none_or(|best| rank < best.rank) {
            let kinds = self.pieces.kinds.clone();
            self.meter.best = Some(Best { rank, kinds, counts: stacks });
        }
    }
}
