//! The thicknesses that the stock can be stacked to, and stacks that share the stock.

use std::cmp::Reverse;
use std::collections::{BTreeMap, HashMap};

use crate::shim::PlanOptions;
use crate::stock::Shim;

/// Kinds from the thickest down, lengths in nanometres.
pub(super) struct Pieces {
    /// Index of each kind in the stock.
    pub(super) kinds: Vec<usize>,
    thickness: Vec<i64>,
    /// Pieces on hand; as many as it takes where there is no count.
    counts: Vec<u32>,
    most: u32,
    thickest: i64,
    /// Stacks of a thickness with at most so many pieces.
    known: HashMap<(i64, u32), Vec<Vec<u32>>>,
    /// What the last call spent, in steps.
    pub(super) spent: u64,
}

/// Stacks for all supports.
pub(super) struct Shared {
    pub(super) pieces: u32,
    pub(super) kinds: u32,
    /// Pieces of each kind, support by support.
    pub(super) stacks: Vec<Vec<u32>>,
}

impl Pieces {
    pub(super) fn new(stock: &[Shim], options: &PlanOptions) -> Self {
        let mut kinds: Vec<usize> =
            (0..stock.len()).filter(|&kind| stock[kind].count != Some(0)).collect();
        kinds.sort_by_key(|&kind| (-stock[kind].thickness.nm(), kind));
        let most = options.max_pieces.unwrap_or(PlanOptions::MOST_PIECES);
        Self {
            thickness: kinds.iter().map(|&kind| stock[kind].loaded(None).nm()).collect(),
            counts: kinds.iter().map(|&kind| stock[kind].count.unwrap_or(u32::MAX)).collect(),
            kinds,
            most: most.min(PlanOptions::MOST_PIECES),
            thickest: options.max_stack.map_or(i64::MAX, |thickest| thickest.nm()),
            known: HashMap::new(),
            spent: 0,
        }
    }

    /// The thicknesses of one stack up to a limit, each with the fewest pieces. None where there
    /// are too many to list.
    pub(super) fn reachable(&self, limit: i64) -> Option<BTreeMap<i64, u32>> {
        const MOST: usize = 200_000;
        let limit = limit.min(self.thickest);
        let mut reached = BTreeMap::from([(0, 0)]);
        for (&thickness, &count) in self.thickness.iter().zip(&self.counts) {
            let before: Vec<(i64, u32)> =
                reached.iter().map(|(&sum, &pieces)| (sum, pieces)).collect();
            for (sum, pieces) in before {
                let most = i64::from(count.min(self.most - pieces));
                for more in 1..=most {
                    let sum = sum.saturating_add(thickness.saturating_mul(more));
                    if sum > limit {
                        break;
                    }
                    let pieces = pieces + more as u32;
                    let fewest = reached.entry(sum).or_insert(pieces);
                    *fewest = pieces.min(*fewest);
                }
            }
            if reached.len() > MOST {
                return None;
            }
        }
        Some(reached)
    }

    /// The most pieces that a stack of a thickness can have.
    pub(super) fn most_in(&self, lift: i64) -> u64 {
        let thinnest = self.thickness.last().map_or(1, |&thinnest| thinnest.max(1));
        u64::from(self.most).min((lift / thinnest) as u64)
    }

    /// Stacks of these thicknesses from the stock that is shared: the fewest pieces, then the fewest
    /// kinds, then those that come first, support by support in this order. None where the stock does
    /// not do with at most so many pieces, or where it takes more steps than `fuel`.
    pub(super) fn share(
        &mut self,
        lifts: &[(i64, u32)],
        limit: u32,
        order: &[usize],
        fuel: u64,
    ) -> Option<Shared> {
        self.spent = 0;
        let least: u32 = lifts.iter().map(|(_, fewest)| fewest).sum();
        let slack = limit.checked_sub(least)?;
        for &(lift, fewest) in lifts {
            let most = (fewest + slack).min(self.most);
            if !self.known.contains_key(&(lift, most)) {
                let stacks = self.stacks(lift, most, fuel)?;
                self.known.insert((lift, most), stacks);
            }
        }
        let lists: Vec<&Vec<Vec<u32>>> = order
            .iter()
            .map(|&at| {
                let (lift, fewest) = lifts[at];
                &self.known[&(lift, (fewest + slack).min(self.most))]
            })
            .collect();
        let fuel = fuel.saturating_sub(self.spent);
        let mut search = Sharing { lists, left: self.counts.clone(), best: None, limit, fuel };
        let mut chosen = Vec::new();
        let rest: Vec<u32> = order.iter().map(|&at| lifts[at].1).collect();
        search.choose(0, &rest, &mut chosen);
        self.spent += fuel - search.fuel;
        let (pieces, kinds, chosen) = search.best?;
        let mut stacks = vec![Vec::new(); lifts.len()];
        for ((&at, list), which) in order.iter().zip(&search.lists).zip(chosen) {
            stacks[at] = list[which].clone();
        }
        Some(Shared { pieces, kinds, stacks })
    }

    /// All stacks of a thickness with at most so many pieces: fewer pieces first, then more of the
    /// thickest kind, and so on.
    fn stacks(&mut self, thickness: i64, most: u32, fuel: u64) -> Option<Vec<Vec<u32>>> {
        let mut found = Vec::new();
        let mut counts = vec![0; self.kinds.len()];
        self.stack(0, thickness, most, &mut counts, &mut found, fuel);
        if self.spent >= fuel {
            return None;
        }
        found.sort_by_key(|counts| {
            let pieces: u32 = counts.iter().sum();
            (pieces, counts.iter().map(|&count| Reverse(count)).collect::<Vec<_>>())
        });
        Some(found)
    }

    fn stack(
        &mut self,
        kind: usize,
        rest: i64,
        most: u32,
        counts: &mut Vec<u32>,
        found: &mut Vec<Vec<u32>>,
        fuel: u64,
    ) {
        self.spent += 1;
        if self.spent >= fuel {
            return;
        }
        if rest == 0 {
            found.push(counts.clone());
            return;
        }
        let Some(&thickness) = self.thickness.get(kind) else { return };
        if thickness.saturating_mul(i64::from(most)) < rest {
            return;
        }
        let fit = (rest / thickness).min(i64::from(most.min(self.counts[kind]))) as u32;
        for count in (0..=fit).rev() {
            counts[kind] = count;
            let rest = rest - thickness * i64::from(count);
            self.stack(kind + 1, rest, most - count, counts, found, fuel);
        }
        counts[kind] = 0;
    }
}

struct Sharing<'a> {
    lists: Vec<&'a Vec<Vec<u32>>>,
    left: Vec<u32>,
    best: Option<(u32, u32, Vec<usize>)>,
    limit: u32,
    fuel: u64,
}

impl Sharing<'_> {
    /// Tries the stacks of one support and all that follow. Of equal results the first is kept,
    /// since lists are in the order of the tie rule.
    fn choose(&mut self, pieces: u32, rest: &[u32], chosen: &mut Vec<usize>) {
        let most = self.best.as_ref().map_or(self.limit, |best| best.0);
        if self.fuel == 0 {
            self.best = None;
            return;
        }
        self.fuel -= 1;
        if pieces + rest.iter().sum::<u32>() > most {
            return;
        }
        let Some(list) = self.lists.get(chosen.len()) else {
            let mut used = vec![false; self.left.len()];
            for (list, &which) in self.lists.iter().zip(&*chosen) {
                list[which].iter().zip(&mut used).for_each(|(&count, used)| *used |= count > 0);
            }
            let kinds = used.iter().filter(|&&used| used).count() as u32;
            if self.best.as_ref().is_none_or(|best| (pieces, kinds) < (best.0, best.1)) {
                self.best = Some((pieces, kinds, chosen.clone()));
            }
            return;
        };
        let list = *list;
        for (which, counts) in list.iter().enumerate() {
            if counts.iter().zip(&self.left).any(|(count, left)| count > left) {
                continue;
            }
            let own: u32 = counts.iter().sum();
            self.left.iter_mut().zip(counts).for_each(|(left, count)| *left -= count);
            chosen.push(which);
            self.choose(pieces + own, &rest[1..], chosen);
            chosen.pop();
            self.left.iter_mut().zip(counts).for_each(|(left, count)| *left += count);
        }
    }
}
