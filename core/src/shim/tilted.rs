//! Plans on a target that may slope.
//!
//! Branch and bound over boxes of slopes. What any slope of a box allows is allowed above its middle
//! with every span widened by as much as heights can differ (`tilt`), so the plan for that bounds
//! the goals of all plans in the box; the plan above the slope nearest to level is one of them. The
//! goals are those of the order with one after the first: of the plans that are equal in pieces (or
//! lifts or price) and in worst deviation, the one whose target is nearest to level.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use super::asked::Asked;
use super::budget::{Budgeted, Exhausted, Meter};
use super::goals::solve;
use super::guard::Guard;
use super::guarded::{Ended, Goals, Guarded, goals};
use super::levels::Levels;
use super::model::Model;
use super::plan::{ShimPlan, Status};
use super::problem::Order;
use crate::error::Error;
use crate::length::Length;
use crate::limits::{LimitKind, Span};
use crate::tilt::{self, Tilt, Tilts};

/// The best plan of a search over slopes so far, and its bounds.
pub(super) struct Tilted<'a> {
    asked: &'a Asked<'a>,
    xy: Vec<[Length; 2]>,
    spans: Vec<Span>,
    /// The guard bands that depend on the plan, and the widest range of tops, where they count.
    guard: Option<(&'a Guard, Option<i64>)>,
    order: Order,
    meter: Meter<'a>,
    best: Option<(Goals, ShimPlan)>,
    /// No plan has better goals.
    floor: Goals,
}

impl<'a> Tilted<'a> {
    /// The best plan of all, or what the budget allowed; none where no slope has one.
    ///
    /// # Errors
    /// Those of [`Model::above`].
    pub(super) fn plan(mut self) -> Result<(Option<ShimPlan>, Meter<'a>), Error> {
        let ended = self.run()?;
        let proven = ended.is_ok();
        let floor = if proven { self.best.as_ref().map(|best| best.0) } else { Some(self.floor) };
        let Some(floor) = floor else { return Ok((None, self.meter)) };
        let bound = match self.order {
            Order::Flattest => floor[0] as f64 / 2e6,
            _ => floor[0] as f64,
        };
        let status = if proven { Status::Proven } else { Status::Budget };
        let plan = self.best.map_or_else(|| self.asked.standing(), |(_, plan)| plan);
        let nodes = self.meter.nodes;
        Ok((Some(ShimPlan { status, bound, nodes, ..plan }), self.meter))
    }

    pub(super) fn new(
        asked: &'a Asked<'a>,
        spans: Vec<Span>,
        order: Order,
        meter: Meter<'a>,
    ) -> Self {
        Self {
            asked,
            xy: asked.problem.places(),
            spans,
            guard: None,
            order,
            meter,
            best: None,
            floor: [0; 3],
        }
    }

    /// The same with guard bands that depend on the plan, and tops within a range if one is given.
    pub(super) fn guarded(mut self, range: Option<i64>) -> Self {
        self.guard = self.asked.guard.as_ref().map(|guard| (guard, range));
        self
    }

    /// Searches all slopes to the end of the proof, or of the budget.
    fn run(&mut self) -> Result<Budgeted<()>, Error> {
        let mut open =
            BinaryHeap::from([Reverse(([0; 3], 0, Tilts::new(&self.asked.problem.limits)))]);
        while let Some(Reverse((goals, distance, tilts))) = open.pop() {
            self.floor = goals;
            if self.best.as_ref().is_some_and(|best| rank(best) <= (goals, distance)) {
                break;
            }
            // Above the middle of the box, with wider spans; above one slope, as it is.
            let solved = match tilts.is_single() {
                true => self.solve(tilts.middle())?,
                false => self.bound(tilts.middle(), tilts.widened(&self.xy, &self.spans))?,
            };
            let Some((mut goals, found)) = (match solved {
                Ok(found) => found,
                Err(exhausted) => return Ok(Err(exhausted)),
            }) else {
                continue;
            };
            if tilts.is_single() {
                self.offer((goals, found));
                continue;
            }
            let everywhere: Vec<usize> = (0..self.xy.len()).collect();
            let range = if self.order == Order::Flattest { 0 } else { 2 };
            let allowance = tilts.allowance(&self.xy, &everywhere).nm();
            goals[range] = (goals[range] - allowance).max(0);
            if self.best.as_ref().is_some_and(|best| rank(best) <= (goals, tilts.distance())) {
                continue;
            }
            match self.solve(tilts.nearest())? {
                Ok(Some(found)) => self.offer(found),
                Ok(None) => (),
                Err(exhausted) => return Ok(Err(exhausted)),
            }
            open.extend(tilts.halves(&self.xy).map(|half| Reverse((goals, half.distance(), half))));
        }
        Ok(Ok(()))
    }

    fn offer(&mut self, found: (Goals, ShimPlan)) {
        if self.best.as_ref().is_none_or(|best| rank(&found) < rank(best)) {
            self.best = Some(found);
        }
    }

    /// The best plan above one slope.
    fn solve(&mut self, tilt: Tilt) -> Result<Budgeted<Option<(Goals, ShimPlan)>>, Error> {
        let Some((guard, range)) = self.guard else {
            return self.bound(tilt, self.spans.clone());
        };
        let search = Guarded::new(self.asked, guard, tilt, range, self.order, &mut self.meter);
        let Ended { best, proven, .. } = search.run()?;
        let best = best.map(|found| (found.goals, found.plan));
        if proven {
            return Ok(Ok(best));
        }
        best.into_iter().for_each(|best| self.offer(best));
        Ok(Err(Exhausted))
    }

    /// The best plan above one slope within spans.
    fn bound(
        &mut self,
        tilt: Tilt,
        spans: Vec<Span>,
    ) -> Result<Budgeted<Option<(Goals, ShimPlan)>>, Error> {
        // Making the problem above a slope is work too: a support or a tie takes as long as a node.
        let members: usize = spans.iter().map(|span| span.members.len()).sum();
        let overall = spans.iter().any(|span| span.limit == LimitKind::Overall);
        let ties = members * if overall { 1 } else { self.xy.len().min(Model::ALL_PAIRS) };
        if let Err(exhausted) = self.meter.spend((self.xy.len() + ties) as u64) {
            return Ok(Err(exhausted));
        }
        let model = Model::above(self.asked.problem, tilt, spans, self.order)?;
        let mut levels = Levels::new(&model, self.meter.clone());
        let solved = solve(&mut levels, self.order);
        self.meter.spent(&levels.meter);
        Ok(solved.map(|found| {
            found.map(|stacking| {
                (goals(&model, &stacking, self.order), self.asked.plan(&model, &stacking, tilt))
            })
        }))
    }
}

fn rank((goals, plan): &(Goals, ShimPlan)) -> (Goals, i64) {
    (*goals, tilt::distance(plan.tilt_um_per_m))
}

/// What follows the first plan in the whole trade-off: the best plan with a narrower range than the
/// last, again and again.
///
/// # Errors
/// Those of [`Model::above`].
pub(super) fn tradeoff<'a>(
    asked: &'a Asked<'a>,
    first: ShimPlan,
    mut meter: Meter<'a>,
) -> Result<Vec<ShimPlan>, Error> {
    let mut plans = vec![first];
    while let Some(last) = plans.last()
        && last.status == Status::Proven
        && last.range() > Length::ZERO
    {
        let range = last.range().nm() - 1;
        let spans = asked.narrowed(asked.spans.clone(), range);
        let next = Tilted::new(asked, spans, Order::FewestPieces, meter).guarded(Some(range));
        let (plan, spent) = next.plan()?;
        meter = spent;
        match plan {
            Some(plan) if plan.meets_limits => plans.push(plan),
            _ => break,
        }
    }
    Ok(plans)
}
