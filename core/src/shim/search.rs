//! Depth-first search for a plan inside one window of height.
//!
//! Supports are taken from the lowest up, since the deepest gaps take most of the stock; where
//! spans bind them, those bound to one already set come next. A branch is left when the stock or a
//! span forbids it; when what is chosen and the least that the others weigh pass the Lagrangian
//! bound for the cost allowed; or when the stock that is left cannot fill the thickness still needed within the cost. States that failed
//! are remembered: what matters of the supports already set is only what they took.

use rustc_hash::FxHashMap;

use super::budget::{Budgeted, Meter};
use super::candidate::{Candidate, LISTED_A_NODE};
use super::model::{Model, spans_of};
use super::opening::{Opening, Query};
use super::split::{Range, Rest, Split};

/// What was found.
#[derive(Debug)]
pub(super) struct Found {
    /// A candidate for every support.
    pub(super) plan: Option<Vec<Candidate>>,
    /// A lower bound on the cost of the plans left out for their cost.
    pub(super) next: i64,
}

/// Searches for a plan.
pub(super) fn find(model: &Model, query: &Query<'_>, meter: &mut Meter) -> Budgeted<Found> {
    // Looking through the lists is work too where they are long.
    meter.spend(query.lists.len() as u64 / LISTED_A_NODE)?;
    if let (true, None) = (model.is_ample(), query.width) {
        return Ok(apart(model, query));
    }
    let mut next = i64::MAX;
    let Some(opening) = Opening::of(model, query, &mut next, meter)? else {
        return Ok(Found { plan: None, next });
    };
    let mut search = Search::new(model, query, opening);
    search.run(meter)?;
    let by_support = |best: Vec<Candidate>| {
        let mut plan: Vec<_> = search.order.iter().copied().zip(best).collect();
        plan.sort_unstable_by_key(|&(support, _)| support);
        plan.into_iter().map(|(_, candidate)| candidate).collect()
    };
    Ok(Found { plan: search.best.map(by_support), next: next.min(search.next_cost) })
}

/// The cheapest plan where no support takes what another needs: each has the lightest of its stacks.
fn apart(model: &Model, query: &Query<'_>) -> Found {
    let Query { lists, window: [low, high], .. } = *query;
    let inside = |c: &&Candidate| (low..=high).contains(&c.top) && c.kinds & !query.kinds == 0;
    let first = |list: &Vec<Candidate>| {
        let by = |a: &&Candidate, b: &&Candidate| {
            a.weight.cmp(&b.weight).then_with(|| lists.prefer(a, b))
        };
        list.iter().filter(inside).min_by(by).copied()
    };
    let mut plan = Vec::with_capacity(lists.of.len());
    for list in &lists.of {
        let Some(first) = first(list) else { return Found { plan: None, next: i64::MAX } };
        plan.push(first);
    }
    // What is not listed weighs more than what is.
    let next = model.unscaled(plan.iter().map(|candidate| candidate.weight).sum());
    Found { plan: (next <= query.cost).then_some(plan), next }
}

/// What identifies a state: the depth, the stock used, whether an anchor is bare, and the extent
/// of every span that is partly set.
type Key = (usize, u128, bool, Box<[(i64, i64)]>);

struct Search<'a> {
    model: &'a Model,
    query: &'a Query<'a>,
    /// The supports in the order in which they are set; all that follows is in that order.
    order: Vec<usize>,
    anchors: Vec<bool>,
    spans: Vec<(Vec<usize>, i64)>,
    /// The least weight of the members of each span that are not yet set.
    rests: Vec<Rest>,
    lists: Vec<Vec<Candidate>>,
    /// For each support and candidate, the windows of each of its spans that are around the top.
    around: Vec<Vec<Range>>,
    /// The least of the part of each support's weight that no span has.
    least: Vec<i64>,
    /// Sums from each support on: the least cost, the thickness needed, the supports that must be
    /// lifted.
    cost_after: Vec<i64>,
    need_after: Vec<i64>,
    lifts_after: Vec<i64>,
    /// Spans of each support.
    spans_of: Vec<Vec<usize>>,
    /// Spans of which some members are set and some are not, at each depth.
    partly_set: Vec<Vec<usize>>,
    /// States without a plan, and how much cost each had left.
    failed: FxHashMap<Key, i64>,

    chosen: Vec<Candidate>,
    used: Vec<u32>,
    used_number: u128,
    /// Extent of each span over the supports set, and what it was before each was.
    extents: Vec<Extent>,
    undo: Vec<(usize, Extent)>,
    cost: i64,
    /// Lagrangian bound: weights of the supports set; of the others the least that no span has, and
    /// the least that each span has; less the worth of the stock.
    bound: i64,
    bare_anchors: usize,
    /// The most that a plan may still cost, and the least cost of what was left out for it.
    limit: i64,
    best: Option<Vec<Candidate>>,
    next_cost: i64,
}

/// The set members of a span: their lowest and highest top, their number, and the windows around
/// them; and the least weight of the other members.
#[derive(Debug, Clone, Copy)]
struct Extent {
    low: i64,
    high: i64,
    set: usize,
    windows: Range,
    rest: i64,
}

impl<'a> Search<'a> {
    /// The tables of a search, in the order in which it sets the supports.
    fn new(model: &'a Model, query: &'a Query<'a>, opening: Opening) -> Self {
        let Opening { order, mut lists, mut spans, split, bound } = opening;
        let supports = order.len();
        let mut place = vec![0; supports];
        order.iter().enumerate().for_each(|(at, &support)| place[support] = at);
        let members = spans.iter_mut().flat_map(|(members, _)| members);
        members.for_each(|member| *member = place[*member]);
        let spans_of = spans_of(supports, &spans);
        let lists: Vec<_> = order.iter().map(|&at| std::mem::take(&mut lists[at])).collect();
        let [low, high] = query.window;
        let need = |at: usize| (low - model.could_stand(order[at])).max(0);
        let lifts = |at: usize| i64::from(!(low..=high).contains(&model.standing(order[at])));
        let cheapest = |at: usize| lists[at].iter().map(|c| c.cost).min().unwrap_or(0);
        let (rests, extents) = unset_spans(&spans, &split);
        Self {
            cost_after: sums_from(supports, cheapest),
            need_after: sums_from(supports, need),
            lifts_after: sums_from(supports, lifts),
            anchors: order.iter().map(|&at| model.anchors[at]).collect(),
            around: windows_around(&order, &lists, &spans_of, &split),
            partly_set: partly_set(supports, &spans),
            least: order.iter().map(|&at| split.least_own(at)).collect(),
            failed: FxHashMap::default(),
            chosen: Vec::with_capacity(supports),
            used: vec![0; model.thickness.len()],
            used_number: 0,
            undo: Vec::new(),
            cost: 0,
            bare_anchors: 0,
            limit: query.cost,
            best: None,
            next_cost: i64::MAX,
            model,
            query,
            order,
            spans_of,
            spans,
            rests,
            extents,
            bound,
            lists,
        }
    }

    /// Runs to a plan that is good enough, or to the end.
    fn run(&mut self, meter: &mut Meter) -> Budgeted<()> {
        /// Subtrees smaller than this are quicker to search again than to look up.
        const WORTH_KEEPING: u64 = 6;
        /// Some 50 megabytes of remembered states.
        const MOST_KEPT: usize = 1 << 19;
        let supports = self.lists.len();
        let mut next = vec![0; supports + 1];
        let mut entered = vec![0; supports + 1];
        let mut marks = vec![0; supports + 1];
        entered[0] = meter.nodes;
        loop {
            let depth = self.chosen.len();
            if depth == supports {
                self.best = Some(self.chosen.clone());
                self.limit = self.cost - 1;
                if self.cost <= self.query.enough {
                    return Ok(());
                }
                self.unset(marks[depth - 1]);
                continue;
            }
            if let Some(&candidate) = self.lists[depth].get(next[depth]) {
                next[depth] += 1;
                meter.step()?;
                marks[depth] = self.undo.len();
                let Some(tied) = self.tie(depth, next[depth] - 1) else { continue };
                let bound = self.bound + candidate.weight - self.least[depth] + tied;
                if bound > self.limit * self.model.scale {
                    self.next_cost = self.next_cost.min(self.model.unscaled(bound));
                    if !self.query.ties && self.spans_of[depth].is_empty() {
                        // What follows is no lighter.
                        next[depth] = self.lists[depth].len();
                    }
                    self.untie(marks[depth]);
                    continue;
                }
                if self.set(depth, candidate, bound) {
                    next[depth + 1] = 0;
                    entered[depth + 1] = meter.nodes;
                } else {
                    self.unset(marks[depth]);
                }
                continue;
            }
            if meter.nodes - entered[depth] >= WORTH_KEEPING
                && self.failed.len() < MOST_KEPT
                && let Some(key) = self.key()
            {
                let rest = self.limit - self.cost;
                let most = self.failed.entry(key).or_insert(rest);
                *most = rest.max(*most);
            }
            if depth == 0 {
                return Ok(());
            }
            self.unset(marks[depth - 1]);
        }
    }

    /// Puts a candidate under the next support. False where no plan can follow. In either case
    /// `unset` takes it out again.
    fn set(&mut self, depth: usize, candidate: Candidate, bound: i64) -> bool {
        let model = self.model;
        self.chosen.push(candidate);
        self.cost += candidate.cost;
        self.bound = bound;
        if self.anchors[depth] && candidate.kinds == 0 {
            self.bare_anchors += 1;
        }
        let mut in_stock = true;
        for (kind, &count) in self.query.lists.counts(&candidate).iter().enumerate() {
            self.used[kind] += count;
            in_stock &= model.counts[kind].is_none_or(|most| self.used[kind] <= most);
            if let Some(radix) = &self.model.radix {
                self.used_number =
                    self.used_number.wrapping_add(radix[kind].wrapping_mul(count.into()));
            }
        }
        if !in_stock {
            return false;
        }
        if depth + 1 == self.lists.len() && self.bare_anchors == 0 {
            return false;
        }
        let Some(fill) = self.fill_cost(depth + 1) else {
            return false;
        };
        let bound = self.cost + self.cost_after[depth + 1].max(fill);
        if bound > self.limit {
            self.next_cost = self.next_cost.min(bound.max(model.unscaled(self.bound)));
            return false;
        }
        if self.failed.is_empty() {
            return true;
        }
        let known = self.key().and_then(|key| self.failed.get(&key).copied());
        known.is_none_or(|rest| self.limit - self.cost > rest)
    }

    fn unset(&mut self, mark: usize) {
        let Some(candidate) = self.chosen.pop() else { return };
        let depth = self.chosen.len();
        self.cost -= candidate.cost;
        self.bound -= candidate.weight - self.least[depth];
        if self.anchors[depth] && candidate.kinds == 0 {
            self.bare_anchors -= 1;
        }
        for (kind, &count) in self.query.lists.counts(&candidate).iter().enumerate() {
            self.used[kind] -= count;
            if let Some(radix) = &self.model.radix {
                self.used_number =
                    self.used_number.wrapping_sub(radix[kind].wrapping_mul(count.into()));
            }
        }
        self.bound -= self.untie(mark);
    }

    /// Widens the spans of a support by one of its candidates; returns what that adds to the bound,
    /// or none, with the spans as they were, where one of them does not hold.
    fn tie(&mut self, depth: usize, candidate: usize) -> Option<i64> {
        let (mark, mut added) = (self.undo.len(), 0);
        let top = self.lists[depth][candidate].top;
        let spans = self.spans_of[depth].len();
        let around = candidate * spans;
        for at in 0..spans {
            let span = self.spans_of[depth][at];
            let [first, last] = self.around[depth][around + at];
            let before = self.extents[span];
            let windows = [before.windows[0].max(first), before.windows[1].min(last)];
            let (low, high) = (before.low.min(top), before.high.max(top));
            if high - low > self.spans[span].1 || windows[0] >= windows[1] {
                self.untie(mark);
                return None;
            }
            let set = before.set + 1;
            let rest = self.rests[span].weight(set, windows);
            self.undo.push((span, before));
            self.extents[span] = Extent { low, high, set, windows, rest };
            added += rest - before.rest;
        }
        Some(added)
    }

    /// Restores the spans, and returns what widening them had added to the bound.
    fn untie(&mut self, mark: usize) -> i64 {
        let mut added = 0;
        for (span, before) in self.undo.drain(mark..).rev() {
            added += self.extents[span].rest - before.rest;
            self.extents[span] = before;
        }
        added
    }

    /// The least cost at which the stock that is left fills the thickness that the supports from
    /// `depth` on need; none where it cannot.
    fn fill_cost(&self, depth: usize) -> Option<i64> {
        let model = self.model;
        let mut need = self.need_after[depth];
        let mut cost = model.costs.lift * self.lifts_after[depth];
        for &kind in &model.by_density {
            if need <= 0 {
                break;
            }
            if self.query.kinds >> kind & 1 == 0 {
                continue;
            }
            let thickness = model.thickness[kind];
            match model.counts[kind].map(|count| i64::from(count - self.used[kind])) {
                Some(left) if left.saturating_mul(thickness) < need => {
                    need -= left * thickness;
                    cost += left * model.costs.piece[kind];
                }
                _ => {
                    let part = need as f64 / thickness as f64 * model.costs.piece[kind] as f64;
                    let part = part * (1.0 - 1e-12);
                    let whole = part as i64;
                    return Some(cost + whole + i64::from((whole as f64) < part));
                }
            }
        }
        (need <= 0).then_some(cost)
    }

    fn key(&self) -> Option<Key> {
        self.model.radix.as_ref()?;
        let depth = self.chosen.len();
        let extent = |&span: &usize| (self.extents[span].low, self.extents[span].high);
        let extents = self.partly_set[depth].iter().map(extent).collect();
        Some((depth, self.used_number, self.bare_anchors > 0, extents))
    }
}

/// What the members of each span weigh that are not yet set, and the extents of spans of which none
/// is.
fn unset_spans(spans: &[(Vec<usize>, i64)], split: &Split) -> (Vec<Rest>, Vec<Extent>) {
    let of_span = |((members, _), part): (&(Vec<usize>, i64), _)| {
        let mut seats: Vec<usize> = (0..members.len()).collect();
        seats.sort_unstable_by_key(|&seat| members[seat]);
        let rest = Rest::new(part, &seats);
        let windows = [0, part.windows()];
        let weight = rest.weight(0, windows);
        (rest, Extent { low: i64::MAX, high: i64::MIN, set: 0, windows, rest: weight })
    };
    spans.iter().zip(&split.parts).map(of_span).unzip()
}

/// For each support and candidate, the windows of each of its spans that are around the top.
fn windows_around(
    order: &[usize],
    lists: &[Vec<Candidate>],
    spans_of: &[Vec<usize>],
    split: &Split,
) -> Vec<Vec<Range>> {
    let mut around = vec![Vec::new(); order.len()];
    for (at, list) in lists.iter().enumerate().filter(|(at, _)| !spans_of[*at].is_empty()) {
        let support = order[at];
        for candidate in list {
            let top = split.tops[support].partition_point(|&top| top < candidate.top);
            for &span in &spans_of[at] {
                around[at].push(split.parts[span].around(support, top));
            }
        }
    }
    around
}

/// The spans of which some members are set and some are not, at each depth.
fn partly_set(supports: usize, spans: &[(Vec<usize>, i64)]) -> Vec<Vec<usize>> {
    let mut partly_set = vec![Vec::new(); supports + 1];
    for (span, (members, _)) in spans.iter().enumerate() {
        if let (Some(&first), Some(&last)) = (members.iter().min(), members.iter().max()) {
            partly_set[first + 1..=last].iter_mut().for_each(|set| set.push(span));
        }
    }
    partly_set
}

/// The sums of a quantity over the supports from each one on.
fn sums_from(supports: usize, of: impl Fn(usize) -> i64) -> Vec<i64> {
    let mut sums = vec![0; supports + 1];
    for at in (0..supports).rev() {
        sums[at] = sums[at + 1] + of(at);
    }
    sums
}
