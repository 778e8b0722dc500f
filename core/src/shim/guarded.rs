//! Plans whose guard bands depend on the pieces that they use, or that must meet all limits
//! together at a risk.
//!
//! Branch and bound over parts of all plans (`pieces`), the best bound first. The bound of a part
//! is its best plan within the least bands that all of its plans need. If that plan does not keep
//! its own bands, its part is split by the number of pieces whose fixing tells most about the
//! bands. So the first plan that keeps its bands is the best of all, in every goal and by the tie
//! rule.

use std::cmp::Ordering;

use super::asked::Asked;
use super::budget::{Budgeted, Exhausted, Meter};
use super::goals::solve;
use super::guard::Guard;
use super::levels::Levels;
use super::model::Model;
use super::pieces::Pieces;
use super::plan::ShimPlan;
use super::problem::Order;
use super::stacking::Stacking;
use crate::error::Error;
use crate::limits::{LimitKind, Span};
use crate::tilt::Tilt;

/// The first goals: the cost in the first goal's own unit, what is left of it, and the range of tops;
/// or the range before the cost.
pub(super) type Goals = [i64; 3];

/// A search above one slope.
pub(super) struct Guarded<'s, 'm> {
    asked: &'s Asked<'s>,
    guard: &'s Guard,
    /// The widest range of tops, if one is given.
    range: Option<i64>,
    tilt: Tilt,
    order: Order,
    meter: &'s mut Meter<'m>,
    best: Option<Found>,
}

/// A plan with its goals.
pub(super) struct Found {
    pub(super) goals: Goals,
    stacking: Stacking,
    pub(super) plan: ShimPlan,
}

/// How a search ended.
pub(super) struct Ended {
    /// The best plan so far that keeps its guard bands.
    pub(super) best: Option<Found>,
    /// A proven bound on the goals of all such plans. None where there is no plan at all.
    pub(super) floor: Option<Goals>,
    /// Whether that is the end of the proof.
    pub(super) proven: bool,
}

impl<'s, 'm> Guarded<'s, 'm> {
    /// A search for plans above a slope whose tops lie within a range, if one is given.
    pub(super) fn new(
        asked: &'s Asked<'s>,
        guard: &'s Guard,
        tilt: Tilt,
        range: Option<i64>,
        order: Order,
        meter: &'s mut Meter<'m>,
    ) -> Self {
        Self { asked, guard, range, tilt, order, meter, best: None }
    }

    /// Searches to the end of the proof, or of the budget.
    ///
    /// # Errors
    /// Those of [`Model::above`].
    pub(super) fn run(mut self) -> Result<Ended, Error> {
        /// The most parts to search. A joint risk is known of whole plans only, so further parts
        /// tell little.
        const MOST_PARTS: usize = 2_000;
        const MOST_JOINT: usize = 200;
        let most = if self.guard.is_joint() { MOST_JOINT } else { MOST_PARTS };
        let problem = self.asked.problem;
        let all = Pieces::all(problem.supports.len(), problem.stock.len());
        let mut open: Vec<(Found, Pieces)> = Vec::new();
        let mut ended: Budgeted<()> = Ok(());
        let mut floor = None;
        match self.relax(&all)? {
            Ok(found) => open.extend(found.map(|found| (found, all))),
            Err(exhausted) => {
                ended = Err(exhausted);
                floor = Some([0; 3]);
            }
        }
        let mut parts = 0;
        // Settings of adjustable pieces are no part of what is split.
        let mut unsettled = false;
        while ended.is_ok()
            && let Some(at) = (0..open.len()).min_by(|&a, &b| compare(&open[a].0, &open[b].0))
        {
            let (found, pieces) = open.swap_remove(at);
            floor = Some(found.goals);
            if self.best.as_ref().is_some_and(|best| compare(best, &found).is_le()) {
                break;
            }
            if found.plan.meets_limits {
                self.best = Some(found);
                break;
            }
            if parts == 0 {
                ended = self.look_ahead(&found)?;
            }
            parts += 1;
            if parts > most {
                ended = Err(Exhausted);
            }
            let split = self.split(&found, &pieces);
            unsettled |= split.is_empty() && found.plan.settings.iter().any(Option::is_some);
            for part in split {
                if ended.is_err() {
                    break;
                }
                match self.relax(&part)? {
                    Ok(found) => open.extend(found.map(|found| (found, part))),
                    Err(exhausted) => ended = Err(exhausted),
                }
            }
        }
        let proven = ended.is_ok() && !unsettled;
        let floor = match (&self.best, proven) {
            (Some(best), true) => Some(best.goals),
            (None, true) => None,
            _ => floor,
        };
        Ok(Ended { best: self.best, floor, proven })
    }

    /// The best plan of a part within the least bands that all of its plans need. None where there
    /// is no plan.
    fn relax(&mut self, pieces: &Pieces) -> Result<Budgeted<Option<Found>>, Error> {
        if let Err(exhausted) = self.meter.spend_operations(self.asked.bands()) {
            return Ok(Err(exhausted));
        }
        match self.guard.tighten_within(&self.asked.limits, pieces) {
            Some(spans) => self.solve(spans, Some(pieces)),
            None => Ok(Ok(None)),
        }
    }

    fn solve(
        &mut self,
        spans: Vec<Span>,
        pieces: Option<&Pieces>,
    ) -> Result<Budgeted<Option<Found>>, Error> {
        let spans = match self.range {
            Some(range) => self.asked.narrowed(spans, range),
            None => spans,
        };
        let mut model = Model::above(self.asked.problem, self.tilt, spans, self.order)?;
        model.pieces = pieces.cloned();
        let mut levels = Levels::new(&model, self.meter.clone());
        let solved = solve(&mut levels, self.order);
        self.meter.spent(&levels.meter);
        let (asked, tilt, order) = (self.asked, self.tilt, self.order);
        let found = |stacking: Stacking| Found {
            goals: goals(&model, &stacking, order),
            plan: asked.plan(&model, &stacking, tilt),
            stacking,
        };
        let found = solved.map(|stacking| stacking.map(found));
        // What was found stays; without anything left it is the last.
        let _ = self.meter.spend_operations(asked.bands() + asked.deadline.counted());
        Ok(found)
    }

    /// Finds a good plan to begin with. Repeats the search with the bands that the pieces of the
    /// last plan need, until a plan keeps its own. For a joint risk: with the loosest bands of each
    /// pair at which a plan is sure.
    fn look_ahead(&mut self, first: &Found) -> Result<Budgeted<()>, Error> {
        const ROUNDS: usize = 3;
        const HALVINGS: usize = 6;
        let problem = self.asked.problem;
        let mut of_pieces = first.plan.covariance_of_pieces(problem);
        let pairs = self.asked.limits.iter().flat_map(Span::pairs).count().max(1);
        let (mut loose, mut tight) = (self.guard.risk(), self.guard.risk() / pairs as f64);
        let halvings = if self.guard.is_joint() { HALVINGS } else { 0 };
        let mut risk = if self.guard.is_joint() { tight } else { loose };
        for halving in 0..=halvings {
            let mut is_too_tight = false;
            let mut kept = false;
            for _ in 0..ROUNDS {
                if let Err(exhausted) = self.meter.spend_operations(self.asked.bands()) {
                    return Ok(Err(exhausted));
                }
                let spans = self.guard.tighten_for(&self.asked.limits, risk, &of_pieces);
                let found = match spans {
                    Some(spans) => match self.solve(spans, None)? {
                        Ok(found) => found,
                        Err(exhausted) => return Ok(Err(exhausted)),
                    },
                    None => None,
                };
                let Some(found) = found else {
                    is_too_tight = true;
                    break;
                };
                of_pieces = found.plan.covariance_of_pieces(problem);
                if found.plan.meets_limits {
                    kept = true;
                    if self.best.as_ref().is_none_or(|best| compare(&found, best).is_lt()) {
                        self.best = Some(found);
                    }
                    break;
                }
            }
            if halving > 0 && !kept && !is_too_tight {
                loose = risk;
            } else {
                tight = risk;
            }
            risk = (loose * tight).sqrt();
        }
        Ok(Ok(()))
    }

    /// Splits a part by the number of some pieces of the plan that does not keep its bands.
    fn split(&self, found: &Found, pieces: &Pieces) -> Vec<Pieces> {
        let (plan, stock) = (&found.plan, self.asked.problem.stock.len());
        let count = |support: usize, kind: usize| -> u32 {
            plan.stacks[support].iter().filter(|&&of| of == kind).count() as u32
        };
        let is_open = |support: usize, kind: usize| {
            let [from, to] = pieces.of(support, kind);
            from < to
        };
        let of_pieces = plan.covariance_of_pieces(self.asked.problem);
        let beyond = self.guard.beyond(&self.asked.limits, &plan.above, &of_pieces);
        for pair in beyond {
            let worth = |kind: usize| {
                let counts = pair.map(|support| count(support, kind));
                self.guard.worth_fixing(pieces, pair, kind, counts)
            };
            let most = (0..stock)
                .filter(|&kind| pair.iter().any(|&support| is_open(support, kind)))
                .max_by(|&a, &b| worth(a).total_cmp(&worth(b)));
            let Some(kind) = most.filter(|&kind| worth(kind) > 0.0) else { continue };
            // The one with more pieces first: fixing it tells more.
            let open = pair.into_iter().filter(|&support| is_open(support, kind));
            if let Some(support) = open.max_by_key(|&support| count(support, kind)) {
                return pieces.split(support, kind, count(support, kind));
            }
        }
        // Nothing is told by a pair, so this very plan is left out.
        let all = (0..plan.stacks.len()).flat_map(|at| (0..stock).map(move |kind| (at, kind)));
        let open = all.filter(|&(at, kind)| is_open(at, kind));
        let most = open.max_by_key(|&(at, kind)| count(at, kind));
        most.map_or(Vec::new(), |(at, kind)| pieces.split(at, kind, count(at, kind)))
    }
}

/// The goals that a stacking comes to.
pub(super) fn goals(model: &Model, stacking: &Stacking, order: Order) -> Goals {
    let (first, rest) = (stacking.cost / model.costs.unit, stacking.cost % model.costs.unit);
    match order {
        Order::Flattest => [stacking.range(), first, rest],
        _ => [first, rest, stacking.range()],
    }
}

/// The better of two plans above one slope, by goals, kinds and the tie rule.
fn compare(a: &Found, b: &Found) -> Ordering {
    let lowest = |found: &Found| found.stacking.tops.iter().min().copied();
    let kinds = |found: &Found| found.stacking.kinds.count_ones();
    (a.goals.cmp(&b.goals))
        .then_with(|| kinds(a).cmp(&kinds(b)))
        .then_with(|| lowest(a).cmp(&lowest(b)))
        .then_with(|| a.stacking.prefer(&b.stacking))
}

impl Asked<'_> {
    /// Limits of which the overall one is no wider than a range.
    pub(super) fn narrowed(&self, limits: Vec<Span>, range: i64) -> Vec<Span> {
        let supports = self.problem.supports.len();
        let is_overall =
            |span: &Span| span.limit == LimitKind::Overall && span.members.len() == supports;
        let width = crate::length::Length::from_nm(range);
        let overall = limits.iter().filter(|span| is_overall(span)).map(|span| span.width).min();
        let width = overall.map_or(width, |overall| overall.min(width));
        let members = (0..supports).collect();
        let narrow = Span { limit: LimitKind::Overall, members, width };
        limits.into_iter().filter(|span| !is_overall(span)).chain([narrow]).collect()
    }
}
