//! The thicknesses that the stock can be stacked to, and stacks that share the stock.

use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};

use super::start::Start;
use crate::shim::{Costs, OnlyUnder, Order, Placed, PlanOptions, pieces_in_place};
use crate::stock::Shim;

/// The stock that is shared, and what the supports start from.
pub(super) struct Given<'a> {
    pub(super) stock: &'a [Shim],
    pub(super) options: &'a PlanOptions,
    pub(super) placed: Option<&'a Placed>,
    pub(super) only_under: &'a [OnlyUnder],
    /// The number of each support in `placed` and `only_under`.
    pub(super) supports: &'a [usize],
}

/// Kinds from the thickest down, lengths in nanometres.
pub(super) struct Pieces {
    /// Index of each kind in the stock.
    pub(super) kinds: Vec<usize>,
    thickness: Vec<i64>,
    /// Pieces on hand and in place; as many as it takes where there is no count.
    counts: Vec<u32>,
    most: u32,
    thickest: i64,
    pub(super) costs: Costs,
    /// The least that a piece costs.
    cheapest: i64,
    /// What supports start from, each once,
    starts: Vec<Start>,
    /// and which of them each support has.
    start_of: Vec<usize>,
    /// Stacks of a thickness from a start for at most such a cost.
    known: HashMap<(usize, i64, i64), Stacks>,
    /// What the last call spent, in steps.
    pub(super) spent: u64,
}

/// Stacks of one thickness, in the order of the tie rule.
#[derive(Debug, Clone, Default)]
struct Stacks {
    /// Pieces of each kind, and what they cost.
    of: Vec<(Vec<u32>, i64)>,
    /// How much more than was allowed the next one would cost at the least.
    beyond: Option<i64>,
}

/// Stacks for all supports.
pub(super) struct Shared {
    pub(super) cost: i64,
    pub(super) kinds: u32,
    /// Pieces of each kind, support by support.
    pub(super) stacks: Vec<Vec<u32>>,
}

/// Why no stacks were shared out.
pub(super) enum Unshared {
    /// With a cost from this on there may be some.
    Beyond(i64),
    /// At no cost, or not for the steps allowed.
    Never,
}

impl Pieces {
    /// None where costs would not fit into their number.
    pub(super) fn new(given: &Given<'_>) -> Option<Self> {
        let Given { stock, options, placed, only_under, supports } = *given;
        let in_place = pieces_in_place(placed, stock.len());
        let usable = |kind: &usize| stock[*kind].count != Some(0) || in_place[*kind] > 0;
        let mut kinds: Vec<usize> = (0..stock.len()).filter(usable).collect();
        kinds.sort_by_key(|&kind| (-stock[kind].thickness.nm(), kind));
        let count = |&kind: &usize| {
            stock[kind].count.map_or(u32::MAX, |count| count.saturating_add(in_place[kind]))
        };
        let counts: Vec<u32> = kinds.iter().map(count).collect();
        let (mut starts, mut start_of) = (Vec::new(), Vec::new());
        for &support in supports {
            let start = Start::new(&kinds, placed, only_under, support);
            let known = starts.iter().position(|it| *it == start);
            start_of.push(known.unwrap_or_else(|| {
                starts.push(start);
                starts.len() - 1
            }));
        }
        let most = options.max_pieces.unwrap_or(PlanOptions::MOST_PIECES);
        let most = most.min(PlanOptions::MOST_PIECES);
        let all = counts.iter().map(|&count| i64::from(count)).sum::<i64>();
        let moved = all.min(supports.len() as i64 * i64::from(most));
        // More than any plan moves.
        let end = moved + in_place.iter().map(|&pieces| i64::from(pieces)).sum::<i64>() + 1;
        let prices: Vec<i64> = kinds.iter().map(|&kind| i64::from(stock[kind].price)).collect();
        let dearest = prices.iter().copied().max().filter(|_| options.order == Order::Cheapest);
        let dearest = dearest.unwrap_or(0).max(1);
        if dearest.saturating_mul(end).saturating_mul(end) > 1 << 60 {
            return None;
        }
        let costs = Costs::new(options.order, placed.is_some(), &prices, end);
        Some(Self {
            thickness: kinds.iter().map(|&kind| stock[kind].loaded(None).nm()).collect(),
            counts,
            cheapest: costs.piece.iter().min().copied().unwrap_or(1),
            costs,
            kinds,
            most,
            thickest: options.max_stack.map_or(i64::MAX, |thickest| thickest.nm()),
            starts,
            start_of,
            known: HashMap::new(),
            spent: 0,
        })
    }

    /// No plan costs more, since the stock has no more.
    pub(super) fn most_cost(&self) -> i64 {
        let supports = self.start_of.len() as i64;
        let pieces = |&count: &u32| i64::from(count).min(supports * i64::from(self.most));
        let put_in = self.counts.iter().zip(&self.costs.piece);
        let put_in = put_in.map(|(count, &piece)| pieces(count).saturating_mul(piece));
        let taken_out =
            self.start_of.iter().map(|&start| i64::from(self.starts[start].pieces()) * Costs::MOVE);
        put_in.chain(taken_out).fold(supports * self.costs.lift, i64::saturating_add)
    }

    /// No plan lifts by more, all supports together.
    pub(super) fn most_lift(&self) -> i64 {
        let lifts = self.counts.iter().zip(&self.thickness);
        let lifts = lifts.map(|(&count, thickness)| thickness.saturating_mul(i64::from(count)));
        lifts.fold(0, i64::saturating_add)
    }

    /// Which of the starts a support has.
    pub(super) fn start_of(&self, support: usize) -> usize {
        self.start_of[support]
    }

    /// What it costs to have a support bare.
    pub(super) fn bare(&self, support: usize) -> i64 {
        let in_place = self.starts[self.start_of[support]].pieces();
        self.costs.of(i64::from(in_place) * Costs::MOVE)
    }

    /// The thicknesses of one stack up to a limit, each with the least cost, for every start. None
    /// where there are too many to list.
    pub(super) fn reachable(&self, limit: i64) -> Option<Vec<BTreeMap<i64, i64>>> {
        self.starts.iter().map(|start| self.reachable_from(start, limit)).collect()
    }

    fn reachable_from(&self, start: &Start, limit: i64) -> Option<BTreeMap<i64, i64>> {
        const MOST: usize = 200_000;
        let limit = limit.min(self.thickest);
        // The fewest pieces, and the least that is moved.
        let mut reached = BTreeMap::from([(0, (0, 0))]);
        for (kind, (&thickness, &count)) in self.thickness.iter().zip(&self.counts).enumerate() {
            let (in_place, count) = (start.in_place[kind], self.allowed(start, kind, count));
            let without = self.costs.moved(kind, in_place, 0);
            let before: Vec<(i64, (u32, i64))> =
                reached.iter().map(|(&sum, &found)| (sum, found)).collect();
            reached.values_mut().for_each(|(_, moved)| *moved += without);
            for (sum, (pieces, moved)) in before {
                for more in 1..=count.min(self.most - pieces) {
                    let sum = sum.saturating_add(thickness.saturating_mul(i64::from(more)));
                    if sum > limit {
                        break;
                    }
                    let with = (pieces + more, moved + self.costs.moved(kind, in_place, more));
                    let least = reached.entry(sum).or_insert(with);
                    *least = (with.0.min(least.0), with.1.min(least.1));
                }
            }
            if reached.len() > MOST {
                return None;
            }
        }
        Some(reached.into_iter().map(|(sum, (_, moved))| (sum, self.costs.of(moved))).collect())
    }

    fn allowed(&self, start: &Start, kind: usize, count: u32) -> u32 {
        if start.allows[kind] { count } else { 0 }
    }

    /// Stacks of these thicknesses from the stock that is shared, each with the least that it costs by
    /// itself: the least cost, then the fewest kinds, then those that come first, support by support
    /// in this order.
    pub(super) fn share(
        &mut self,
        lifts: &[(i64, i64)],
        limit: i64,
        order: &[usize],
        fuel: u64,
    ) -> Result<Shared, Unshared> {
        self.spent = 0;
        let least: i64 = lifts.iter().map(|(_, least)| least).sum();
        let slack = limit - least;
        if slack < 0 {
            return Err(Unshared::Beyond(least));
        }
        for (at, &(lift, least)) in lifts.iter().enumerate() {
            let key = (self.start_of[at], lift, least + slack);
            if !self.known.contains_key(&key) {
                let stacks = self.stacks(key, fuel).ok_or(Unshared::Never)?;
                self.known.insert(key, stacks);
            }
        }
        let list = |&at: &usize| {
            let (lift, least) = lifts[at];
            &self.known[&(self.start_of[at], lift, least + slack)]
        };
        let lists: Vec<&Stacks> = order.iter().map(list).collect();
        let beyond = lists.iter().filter_map(|stacks| stacks.beyond).min();
        let fuel = fuel.saturating_sub(self.spent);
        let mut search =
            Sharing { lists, left: self.counts.clone(), best: None, limit, beyond, fuel };
        let mut rest = vec![0];
        rest.extend(order.iter().rev().scan(0, |sum, &at| {
            *sum += lifts[at].1;
            Some(*sum)
        }));
        rest.reverse();
        search.choose(0, &rest, &mut Vec::new());
        self.spent += fuel - search.fuel;
        let Some((cost, kinds, chosen)) = search.best else {
            let beyond = search.beyond.filter(|_| search.fuel > 0);
            return Err(beyond.map_or(Unshared::Never, |more| Unshared::Beyond(limit + more)));
        };
        let mut stacks = vec![Vec::new(); lifts.len()];
        for ((&at, list), which) in order.iter().zip(&search.lists).zip(chosen) {
            stacks[at] = list.of[which].0.clone();
        }
        Ok(Shared { cost, kinds, stacks })
    }

    /// All stacks of a thickness from a start for at most such a cost: fewer pieces first, then more
    /// of the thickest kind, and so on. None where that takes too many steps.
    fn stacks(&mut self, (start, thickness, most): (usize, i64, i64), fuel: u64) -> Option<Stacks> {
        let start = self.starts[start].clone();
        let in_place = start.pieces();
        // No stack for such a cost has more.
        let more = (most - self.costs.lift).max(0) / self.cheapest;
        let pieces = in_place.saturating_add(u32::try_from(more).unwrap_or(u32::MAX));
        let pieces = self.most.min(pieces);
        let mut listing = Listing {
            pieces: &*self,
            start,
            in_place,
            most,
            fuel,
            spent: 0,
            found: Stacks::default(),
        };
        listing.stack(0, thickness, [0, pieces], 0, &mut vec![0; listing.pieces.kinds.len()]);
        let Listing { spent, mut found, .. } = listing;
        self.spent += spent;
        if self.spent >= fuel {
            return None;
        }
        found.of.sort_by_key(|(counts, _)| {
            let pieces: u32 = counts.iter().sum();
            (pieces, counts.iter().map(|&count| Reverse(count)).collect::<Vec<_>>())
        });
        Some(found)
    }
}

/// Lists the stacks of one thickness.
struct Listing<'a> {
    pieces: &'a Pieces,
    start: Start,
    /// Pieces that the start has.
    in_place: u32,
    most: i64,
    fuel: u64,
    spent: u64,
    found: Stacks,
}

impl Listing<'_> {
    /// Goes on with a kind: so much thickness to go, with so many pieces used and so many to be used.
    fn stack(
        &mut self,
        kind: usize,
        rest: i64,
        [used, left]: [u32; 2],
        moved: i64,
        counts: &mut Vec<u32>,
    ) {
        let Self { pieces, in_place, most, .. } = *self;
        self.spent += 1;
        if pieces.spent + self.spent >= self.fuel {
            return;
        }
        let cost = pieces.costs.of(moved);
        if cost > most {
            self.beyond(cost);
            return;
        }
        if rest == 0 {
            let taken_out = |kind: usize| pieces.costs.moved(kind, self.start.in_place[kind], 0);
            let moved = moved + (kind..counts.len()).map(taken_out).sum::<i64>();
            match pieces.costs.of(moved) {
                cost if cost > most => self.beyond(cost),
                cost => self.found.of.push((counts.clone(), cost)),
            }
            return;
        }
        let Some(&thickness) = pieces.thickness.get(kind) else { return };
        // The kinds from here on are no thicker.
        let needed = u32::try_from((rest - 1) / thickness + 1).unwrap_or(u32::MAX);
        if needed > left {
            let all = used.saturating_add(needed);
            if all <= pieces.most {
                let moved = i64::from(all.saturating_sub(in_place)) * pieces.cheapest;
                self.beyond(pieces.costs.of(moved).max(most + 1));
            }
            return;
        }
        let count = pieces.allowed(&self.start, kind, pieces.counts[kind]);
        let fit = (rest / thickness).min(i64::from(left.min(count))) as u32;
        let before = self.start.in_place[kind];
        for count in (0..=fit).rev() {
            counts[kind] = count;
            let rest = rest - thickness * i64::from(count);
            let moved = moved + pieces.costs.moved(kind, before, count);
            self.stack(kind + 1, rest, [used + count, left - count], moved, counts);
        }
        counts[kind] = 0;
    }

    /// A stack of at least this cost was left out.
    fn beyond(&mut self, cost: i64) {
        let more = cost - self.most;
        self.found.beyond = Some(self.found.beyond.map_or(more, |least| least.min(more)));
    }
}

struct Sharing<'a> {
    lists: Vec<&'a Stacks>,
    left: Vec<u32>,
    best: Option<(i64, u32, Vec<usize>)>,
    limit: i64,
    /// By how much the limit would have to be higher, at the least, for more to be tried.
    beyond: Option<i64>,
    fuel: u64,
}

impl Sharing<'_> {
    /// Tries the stacks of one support and all that follow, which cost at least what comes first in
    /// `rest`. Of equal results the first is kept, since lists are in the order of the tie rule.
    fn choose(&mut self, cost: i64, rest: &[i64], chosen: &mut Vec<usize>) {
        let most = self.best.as_ref().map_or(self.limit, |best| best.0);
        if self.fuel == 0 {
            self.best = None;
            return;
        }
        self.fuel -= 1;
        if cost + rest[0] > most {
            let more = cost + rest[0] - self.limit;
            if more > 0 {
                self.beyond = Some(self.beyond.map_or(more, |least| least.min(more)));
            }
            return;
        }
        let Some(list) = self.lists.get(chosen.len()) else {
            let mut used = vec![false; self.left.len()];
            for (list, &which) in self.lists.iter().zip(&*chosen) {
                let counts = &list.of[which].0;
                counts.iter().zip(&mut used).for_each(|(&count, used)| *used |= count > 0);
            }
            let kinds = used.iter().filter(|&&used| used).count() as u32;
            if self.best.as_ref().is_none_or(|best| (cost, kinds) < (best.0, best.1)) {
                self.best = Some((cost, kinds, chosen.clone()));
            }
            return;
        };
        let list = *list;
        for (which, (counts, own)) in list.of.iter().enumerate() {
            if counts.iter().zip(&self.left).any(|(count, left)| count > left) {
                continue;
            }
            self.left.iter_mut().zip(counts).for_each(|(left, count)| *left -= count);
            chosen.push(which);
            self.choose(cost + own, &rest[1..], chosen);
            chosen.pop();
            self.left.iter_mut().zip(counts).for_each(|(left, count)| *left += count);
        }
    }
}
