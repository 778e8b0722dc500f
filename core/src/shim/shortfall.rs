//! Why a stock cannot do it, and what would help.
//!
//! The conflict is found by taking things out of the problem as long as what is left still has no
//! plan (a deletion filter: Chinneck & Dravnieks, Locating minimal infeasible constraint sets in
//! linear programs, 1991, from memory), blocks first and then one by one. The addition is the
//! cheapest plan from a stock that costs nothing and a catalogue that does not run out.

use super::asked::Asked;
use super::budget::{Budgeted, Meter, NEVER};
use super::placed::Placed;
use super::plan::ShimPlan;
use super::problem::{OnlyUnder, Order, PlanOptions, ShimProblem};
use super::solver::{flattest_without_limits, has_plan, plan_within_limits};
use crate::error::Error;
use crate::length::Length;
use crate::limits::{LimitKind, Limits, NamedLimit, Span};
use crate::stock::{self, MOST_KINDS, Shim};

/// What stands in the way of a plan, and what would make one possible.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Shortfall {
    /// A part of the problem that has no plan by itself.
    pub conflict: Conflict,
    /// The cheapest pieces that make a plan possible; `None` where none of the catalogue do, or
    /// where the budget ran out before a plan was found.
    pub addition: Option<Addition>,
    /// The flattest plan that the stock allows, whatever the limits; that no plan is flatter is
    /// proven where its worst deviation is the bound.
    pub flattest: ShimPlan,
}

/// A part of a problem that has no plan by itself, so that anyone can check it:
/// [`Conflict::problem`] is that part.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Conflict {
    /// Indices of the supports, ascending. Those that may stay bare are always among them.
    pub supports: Vec<usize>,
    /// The limits over the supports that they bind.
    pub limits: Vec<Span>,
    /// Indices of the kinds of which too few are on hand; of the others there could be as many as
    /// it takes, and still there would be no plan.
    pub scarce: Vec<usize>,
    /// All supports together stay within this of each other, as follows from the limits of the whole
    /// problem; it stands in for an overall limit where that is left out.
    pub spread: Length,
    /// Whether the most pieces under one support stand in the way,
    pub max_pieces: bool,
    /// and whether the thickest stack does.
    pub max_stack: bool,
    /// Whether nothing of this can be left out: not known where the budget ran out.
    pub minimal: bool,
}

/// Pieces that make a plan possible.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Addition {
    /// Pieces of each kind of the catalogue.
    pub pieces: Vec<u32>,
    /// What they cost: the sum of their prices, or where no kind of the catalogue has one, their
    /// number.
    pub price: u64,
    /// No other pieces that make a plan possible cost less than this; the price itself where the
    /// search ended with a proof.
    pub bound: f64,
    /// A plan with them: its kinds are those of the stock and then those of the catalogue. Of the
    /// plans at this price it has the fewest pieces, then the smallest worst deviation.
    pub plan: ShimPlan,
}

/// Finds why no plan meets the limits, and the cheapest addition to the stock with which one does:
/// from a catalogue, or without one from more of the kinds at hand, where these are 64 at the most. `None`
/// where the stock suffices.
///
/// The budget is for all of it: a third for the conflict, then half of what is left for the
/// addition, and the rest for the flattest plan.
///
/// # Errors
/// Those of [`plan_shims`](crate::plan_shims), also for the stock with the catalogue: in all at most
/// 128 kinds.
pub fn shortfall(
    problem: &ShimProblem,
    catalogue: Option<&[Shim]>,
) -> Result<Option<Shortfall>, Error> {
    shortfall_until(problem, catalogue, NEVER)
}

/// Finds a shortfall as [`shortfall`] does, until `stop` says true: see
/// [`plan_shims_until`](crate::plan_shims_until).
///
/// # Errors
/// Those of [`shortfall`].
pub fn shortfall_until(
    problem: &ShimProblem,
    catalogue: Option<&[Shim]>,
    stop: &dyn Fn() -> bool,
) -> Result<Option<Shortfall>, Error> {
    let mut meter = Meter::new(&problem.options.budget, stop);
    let asked = Asked::new(problem, meter.deadline())?;
    let model = asked.model()?;
    if let Some(catalogue) = catalogue {
        stock::check_stock(catalogue, "catalogue")?;
    }
    let mut search = Search { asked: &asked, meter: meter.part(3) };
    let Some(conflict) = search.run() else { return Ok(None) };
    meter.spent_in_part(&search.meter);
    let mut part = meter.part(2);
    let addition = addition(problem, catalogue, &mut part)?;
    meter.spent_in_part(&part);
    let before = meter.nodes;
    let mut flattest = flattest_without_limits(&asked, &model, &mut meter)?;
    flattest.nodes -= before;
    Ok(Some(Shortfall { conflict, addition, flattest }))
}

fn addition(
    problem: &ShimProblem,
    catalogue: Option<&[Shim]>,
    meter: &mut Meter<'_>,
) -> Result<Option<Addition>, Error> {
    let kinds = problem.stock.len();
    if catalogue.is_none() && 2 * kinds > MOST_KINDS {
        return Ok(None);
    }
    let mut wider = problem.clone();
    wider.options.order = Order::Cheapest;
    wider.stock.iter_mut().for_each(|shim| shim.price = 0);
    if catalogue.is_none() {
        let more = |only: &OnlyUnder| OnlyUnder { kind: only.kind + kinds, ..only.clone() };
        wider.only_under.extend(problem.only_under.iter().map(more));
    }
    let mut catalogue = catalogue.unwrap_or(&problem.stock).to_vec();
    if catalogue.iter().all(|shim| shim.price == 0) {
        catalogue.iter_mut().for_each(|shim| shim.price = 1);
    }
    for shim in &mut catalogue {
        shim.count = None;
    }
    wider.stock.extend(catalogue.iter().cloned());
    let asked = Asked::new(&wider, meter.deadline())?;
    let before = meter.nodes;
    let plan = plan_within_limits(&asked, &asked.model()?, meter)?;
    let Some(mut plan) = plan.filter(|plan| plan.meets_limits) else { return Ok(None) };
    plan.nodes -= before;
    let pieces = plan.used[kinds..].to_vec();
    let price = |(&count, shim): (&u32, &Shim)| u64::from(count) * u64::from(shim.price);
    let price = pieces.iter().zip(&catalogue).map(price).sum();
    Ok(Some(Addition { pieces, price, bound: plan.bound, plan }))
}

struct Search<'a> {
    asked: &'a Asked<'a>,
    meter: Meter<'a>,
}

impl Search<'_> {
    /// A conflict; none where the problem has a plan, or it is not known that it has none.
    fn run(&mut self) -> Option<Conflict> {
        let problem = self.asked.problem;
        let options = &problem.options;
        let spread = self.asked.spread().ok()?;
        let mut part = Conflict {
            supports: (0..problem.supports.len()).collect(),
            limits: self.asked.limits.clone(),
            spread,
            scarce: (0..problem.stock.len())
                .filter(|&k| problem.stock[k].count.is_some())
                .collect(),
            max_pieces: options.max_pieces.is_some(),
            max_stack: options.max_stack.is_some(),
            minimal: false,
        };
        if self.has_plan(&part) != Ok(false) {
            return None;
        }
        part.minimal = self.reduce(&mut part).is_ok();
        Some(part)
    }

    /// Leaves out what can be left out.
    fn reduce(&mut self, part: &mut Conflict) -> Budgeted<()> {
        let drops: [fn(&mut Conflict); 2] =
            [|part| part.max_stack = false, |part| part.max_pieces = false];
        for drop in drops {
            let mut less = part.clone();
            drop(&mut less);
            if !self.has_plan(&less)? {
                *part = less;
            }
        }
        let kept = may_stay_bare(self.asked);
        self.thin(part, |part| &mut part.scarce, |_| false)?;
        self.thin(part, |part| &mut part.limits, |_| false)?;
        self.thin(part, |part| &mut part.supports, |&support| kept[support])?;
        // A limit binds what supports are left, and may now bind none.
        let bound = |span: &Span, part: &Conflict| {
            let members = span.members.iter().filter(|at| part.supports.contains(at));
            Span { members: members.copied().collect(), ..span.clone() }
        };
        part.limits = part.limits.iter().map(|span| bound(span, part)).collect();
        self.thin(part, |part| &mut part.limits, |_| false)
    }

    /// Leaves out of one list what can be left out: in blocks, each half as large as before.
    fn thin<T: Clone>(
        &mut self,
        part: &mut Conflict,
        list: fn(&mut Conflict) -> &mut Vec<T>,
        keep: impl Fn(&T) -> bool,
    ) -> Budgeted<()> {
        let mut block = list(part).len();
        while block > 0 {
            let mut end = list(part).len();
            while end > 0 {
                let start = end.saturating_sub(block);
                let mut less = part.clone();
                let all = list(&mut less);
                let mut at = 0;
                all.retain(|item| {
                    at += 1;
                    !(start..end).contains(&(at - 1)) || keep(item)
                });
                if all.len() < list(part).len() && !self.has_plan(&less)? {
                    *part = less;
                }
                end = start;
            }
            block /= 2;
        }
        Ok(())
    }

    /// Whether a part has a plan. A part that is no valid problem counts as having one.
    fn has_plan(&mut self, part: &Conflict) -> Budgeted<bool> {
        let problem = part.problem(self.asked.problem);
        let deadline = self.meter.deadline();
        let Ok(asked) = Asked::new(&problem, deadline) else { return Ok(true) };
        let Ok(model) = asked.model() else { return Ok(true) };
        self.meter.spend_operations(asked.bands())?;
        has_plan(&asked, &model, &mut self.meter)
    }
}

impl Conflict {
    /// The part of a problem that has no plan by itself: only these supports, held to these limits
    /// alone (at the risk that is asked for), with as many pieces as it takes of all kinds but the
    /// scarce ones.
    pub fn problem(&self, whole: &ShimProblem) -> ShimProblem {
        let mut place = vec![None; whole.supports.len()];
        for (at, &support) in self.supports.iter().enumerate() {
            place[support] = Some(at);
        }
        let kept = |of: &[usize]| of.iter().filter_map(|&at| place[at]).collect::<Vec<_>>();
        let mut limits = Limits { overall: None, named: Vec::new(), ..whole.limits.clone() };
        (limits.along, limits.across, limits.joint_step) = (None, None, None);
        for span in &self.limits {
            let points = kept(&span.members);
            if span.limit == LimitKind::Overall {
                limits.overall = whole.limits.overall;
            } else if points.len() > 1 {
                limits.named.push(NamedLimit { points, within: span.width });
            }
        }
        let half = Length::from_nm(self.spread.nm() / 2 + self.spread.nm() % 2);
        limits.overall = limits.overall.or(Some(half.min(Length::MAX)));
        let mut stock = whole.stock.clone();
        for (kind, shim) in stock.iter_mut().enumerate() {
            if !self.scarce.contains(&kind) {
                shim.count = None;
            }
        }
        let placed = whole.placed.as_ref().map(|placed| {
            // What stands under the supports that are left out is on hand for the others.
            for support in (0..place.len()).filter(|&at| place[at].is_none()) {
                for &kind in &placed.stacks[support] {
                    stock[kind].count = stock[kind].count.map(|count| count.saturating_add(1));
                }
            }
            Placed {
                stacks: self.supports.iter().map(|&at| placed.stacks[at].clone()).collect(),
                settings: self.supports.iter().map(|&at| placed.settings[at]).collect(),
            }
        });
        let joint = |&[a, b]: &[usize; 2]| Some([place[a]?, place[b]?]);
        let only = |only: &OnlyUnder| OnlyUnder { supports: kept(&only.supports), ..*only };
        let options = whole.options.clone();
        ShimProblem {
            supports: self.supports.iter().map(|&at| whole.supports[at]).collect(),
            stock,
            limits,
            joints: whole.joints.iter().filter_map(joint).collect(),
            only_under: whole.only_under.iter().map(only).collect(),
            placed,
            covariance_mm2: whole.covariance_mm2.as_ref().map(|values| {
                let count = whole.supports.len();
                let row =
                    |&at: &usize| self.supports.iter().map(move |&to| values[at * count + to]);
                self.supports.iter().flat_map(row).collect()
            }),
            self_check: whole.self_check.clone(),
            options: PlanOptions {
                max_pieces: options.max_pieces.filter(|_| self.max_pieces),
                max_stack: options.max_stack.filter(|_| self.max_stack),
                ..options
            },
        }
    }
}

/// The supports of which one has to stay bare: without them a part of the problem would be another
/// problem.
fn may_stay_bare(asked: &Asked<'_>) -> Vec<bool> {
    let problem = asked.problem;
    let mut may = vec![false; problem.supports.len()];
    match asked.model() {
        Ok(model) if !problem.limits.allow_tilt() => {
            model.supports.iter().zip(&model.anchors).for_each(|(&at, &anchor)| may[at] = anchor);
        }
        // Above some slope others may.
        _ => may.fill(true),
    }
    may
}
