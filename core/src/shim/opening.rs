//! What a search in a window starts from: the order of the supports, the stacks of each that are
//! light enough, and the bound on all plans of them.

use std::cmp::Reverse;

use super::budget::{Budgeted, Meter};
use super::candidate::Candidate;
use super::lists::Lists;
use super::model::{Model, spans_of};
use super::split::Split;

/// What is searched.
#[derive(Debug, Clone, Copy)]
pub(super) struct Query<'a> {
    pub(super) lists: &'a Lists,
    /// Scaled multipliers of the stock in the candidates' weights.
    pub(super) multipliers: &'a [i64],
    pub(super) window: [i64; 2],
    /// The greatest difference between the tops of all supports, where that is less than the
    /// window.
    pub(super) width: Option<i64>,
    /// The most that the plan may cost.
    pub(super) cost: i64,
    /// A cost that is good enough to stop at; the cheapest plan is sought otherwise.
    pub(super) enough: i64,
    /// The kinds that it may use.
    pub(super) kinds: u128,
    /// Whether the plan found must be the first by the tie rule rather than the first met.
    pub(super) ties: bool,
}

/// What the search starts from. Members of spans are supports.
pub(super) struct Opening {
    /// The supports in the order in which they are set.
    pub(super) order: Vec<usize>,
    /// The stacks of each support, the first to try first.
    pub(super) lists: Vec<Vec<Candidate>>,
    pub(super) spans: Vec<(Vec<usize>, i64)>,
    pub(super) split: Split,
    /// The Lagrangian bound on plans from these lists, scaled.
    pub(super) bound: i64,
}

impl Opening {
    /// What a query starts from; none where no plan is within its cost. Lowers `next` to a bound on
    /// the cost of what is left out.
    pub(super) fn of(
        model: &Model,
        query: &Query<'_>,
        next: &mut i64,
        meter: &mut Meter,
    ) -> Budgeted<Option<Self>> {
        let worth = model.worth(query.multipliers);
        let Some((mut lists, least)) = light_enough(model, query, worth, next) else {
            return Ok(None);
        };
        let mut spans = model.spans.clone();
        spans.extend(query.width.map(|width| ((0..lists.len()).collect(), width)));
        let order =
            if query.ties { (0..lists.len()).collect() } else { order(model, &model.spans) };
        let split = if spans.is_empty() {
            Split::none(least)
        } else {
            let start = query.lists.split.as_ref();
            let cap = (query.cost * model.scale).saturating_add(worth);
            let effort = (cap, Split::PASSES);
            let mut left_out = i64::MAX;
            let split =
                Split::within(&spans, &mut lists, &order, start, effort, &mut left_out, meter)?;
            *next = (*next).min(model.unscaled(left_out.saturating_sub(worth)));
            let Some(split) = split else { return Ok(None) };
            split
        };
        for list in &mut lists {
            if query.ties {
                list.sort_by(|a, b| query.lists.prefer(a, b));
            } else {
                list.sort_by(|a, b| a.weight.cmp(&b.weight).then_with(|| query.lists.prefer(a, b)));
            }
        }
        if !query.ties && model.adjustable < model.thickness.len() {
            drop_alike(&spans, &mut lists);
        }
        let bound = split.bound() - worth;
        Ok(Some(Self { order, lists, spans, split, bound }))
    }
}

/// The stacks of each support that are part of a plan within the cost by the bound on stacks alone,
/// with the least weight of each support; none where no plan is.
fn light_enough(
    model: &Model,
    query: &Query<'_>,
    worth: i64,
    next: &mut i64,
) -> Option<(Vec<Vec<Candidate>>, Vec<i64>)> {
    let [low, high] = query.window;
    let inside = |c: &&Candidate| (low..=high).contains(&c.top) && c.kinds & !query.kinds == 0;
    let all = &query.lists.of;
    let lightest = |list: &Vec<Candidate>| list.iter().filter(inside).map(|c| c.weight).min();
    let least = all.iter().map(lightest).collect::<Option<Vec<i64>>>()?;
    let base = least.iter().sum::<i64>() - worth;
    for (floor, least) in query.lists.floors.iter().zip(&least) {
        *next = (*next).min(model.unscaled((base - least).saturating_add(*floor)));
    }
    let slack = query.cost * model.scale - base;
    if slack < 0 {
        *next = (*next).min(model.unscaled(base));
        return None;
    }
    let mut fits = |c: &&Candidate, least: i64| {
        let fits = c.weight - least <= slack;
        if !fits {
            *next = (*next).min(model.unscaled(base + c.weight - least));
        }
        fits
    };
    let listed = |(list, &least): (&Vec<Candidate>, &i64)| {
        list.iter().filter(inside).filter(|c| fits(c, least)).copied().collect()
    };
    let lists = all.iter().zip(&least).map(listed).collect();
    Some((lists, least))
}

/// The order in which to set supports: from the lowest up, but first those that the tightest spans
/// bind to one set.
pub(super) fn order(model: &Model, spans: &[(Vec<usize>, i64)]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..model.heights.len()).collect();
    if spans.is_empty() {
        return order;
    }
    let spans_of = spans_of(order.len(), spans);
    let mut ties = vec![0_i64; order.len()];
    for at in 0..order.len() {
        let first = |&place: &usize| (Reverse(ties[order[place]]), order[place]);
        let Some(next) = (at..order.len()).min_by_key(first) else { break };
        order.swap(at, next);
        for &span in &spans_of[order[at]] {
            let (members, width) = &spans[span];
            members.iter().for_each(|&member| ties[member] += model.width / width.max(&1));
        }
    }
    order
}

/// Under supports that no span binds, keeps the first of the lightest of the stacks that differ
/// only in the setting of a piece: any of them does.
fn drop_alike(spans: &[(Vec<usize>, i64)], lists: &mut [Vec<Candidate>]) {
    let spans_of = spans_of(lists.len(), spans);
    for (list, spans) in lists.iter_mut().zip(spans_of) {
        if spans.is_empty() {
            list.dedup_by_key(|candidate| candidate.counts);
        }
    }
}
