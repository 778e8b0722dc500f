//! Weights split among the spans that bind a support.
//!
//! By itself a support may take its lightest stack; the members of a line or a joint may not, if
//! those do not come within its width of each other. Each span is weighed by itself: its members'
//! tops lie in a window of its width, so the least that they weigh is found by one sweep over the
//! windows. A support in several spans has its weight split among them, so that the sum of what the
//! spans weigh is a lower bound of the whole (Lagrangian decomposition: Guignard & Kim 1987, from
//! memory). The split is improved support by support, there and back: what a support's stacks add to
//! the least weight of each of its spans (their min-marginals) is taken out of the spans and dealt out
//! evenly among those that have members still to come (sequential message passing: Kolmogorov,
//! A new look at reweighted message passing, 2015, from memory). Nothing is ever lost in it: the
//! parts of a weight always add up to it, in whole numbers, so a bound is a proof.

use super::budget::{Budgeted, Meter};
use super::candidate::{Candidate, LISTED_A_NODE};

/// The weight of every support's tops, split among its spans.
#[derive(Debug, Clone)]
pub(super) struct Split {
    /// Of each support the tops that its stacks reach, ascending.
    pub(super) tops: Vec<Vec<i64>>,
    /// The least weight of the stacks that reach each,
    least: Vec<Vec<i64>>,
    /// and the part of it that no span has.
    own: Vec<Vec<i64>>,
    pub(super) parts: Vec<Part>,
    /// For each support its seats: part and place among its members.
    seats: Vec<Vec<(usize, usize)>>,
    /// The top of each support with which a plan weighed least by the bound when it was settled last.
    lightest: Vec<usize>,
    /// A part of a weight is not made larger than this, so that sums stay in range.
    most: i64,
    /// How many candidates were left when it was split, for which cap, in how many passes at the most.
    settled: Option<(usize, i64, usize)>,
    room: Room,
}

/// Room that the sweeps use again and again.
#[derive(Debug, Clone, Default)]
pub(super) struct Room {
    /// What each top of a support adds to its parts, one after the other.
    added: Vec<i64>,
    /// What is taken out of them, and what each that goes on gets; or what each candidate adds.
    taken: Vec<i64>,
    each: Vec<i64>,
    /// The weight of the other members of a part in each window,
    others: Vec<i64>,
    /// and the least from each place on.
    from: Vec<i64>,
}

/// A span, and the part that it has of its members' weights.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) members: Vec<usize>,
    width: i64,
    /// Windows, by where their lower ends lie: from the first to the last, which are the same but
    /// where there are too many.
    lows: Vec<[i64; 2]>,
    pub(super) shares: Vec<Share>,
    /// The least that all members weigh in each window.
    total: Vec<i64>,
}

/// What a part has of one member's weights.
#[derive(Debug, Clone)]
pub(super) struct Share {
    /// Of each top.
    of: Vec<i64>,
    /// The tops in each window.
    inside: Vec<Range>,
    /// The windows around each top.
    pub(super) around: Vec<Range>,
    /// The least weight in each window.
    pub(super) lightest: Vec<i64>,
}

/// From the first to before the last.
pub(super) type Range = [u32; 2];

impl Split {
    /// No part has more windows than this; neighbouring ones are taken together beyond it.
    const MOST_WINDOWS: usize = 512;
    /// So many tops are sorted in the time of one node.
    const SORTED_A_NODE: u64 = 4;

    /// The weights of these candidates, as yet not split; none where the members of some span cannot
    /// come together. Takes out candidates that no window of some span has room for, and leaves the
    /// others in the order of their tops.
    pub(super) fn new(
        spans: &[(Vec<usize>, i64)],
        lists: &mut [Vec<Candidate>],
        meter: &mut Meter,
    ) -> Budgeted<Option<Self>> {
        lists.iter_mut().for_each(|list| list.sort_by_key(|candidate| candidate.top));
        let mut tops: Vec<Vec<i64>> = lists.iter().map(|list| distinct_tops(list)).collect();
        let mut parts: Vec<Part> = Vec::with_capacity(spans.len());
        // Tops that are lost to one span may be what another needs.
        let mut changed = vec![true; tops.len()];
        while changed.contains(&true) {
            let mut lost: Vec<Vec<bool>> =
                tops.iter().map(|tops| vec![false; tops.len()]).collect();
            for (at, (members, width)) in spans.iter().enumerate() {
                if at < parts.len() && !members.iter().any(|&member| changed[member]) {
                    continue;
                }
                let listed: usize = members.iter().map(|&member| tops[member].len()).sum();
                meter.spend(listed as u64 / Self::SORTED_A_NODE)?;
                let Some(part) = Part::new(members.clone(), *width, &tops) else {
                    return Ok(None);
                };
                meter.spend(part.nodes())?;
                for (&member, share) in members.iter().zip(&part.shares) {
                    let outside = share.around.iter().map(|[first, last]| first == last);
                    lost[member].iter_mut().zip(outside).for_each(|(lost, out)| *lost |= out);
                }
                match parts.get_mut(at) {
                    Some(before) => *before = part,
                    None => parts.push(part),
                }
            }
            for ((tops, lost), changed) in tops.iter_mut().zip(&lost).zip(&mut changed) {
                *changed = lost.contains(&true);
                if *changed {
                    let mut lost = lost.iter();
                    tops.retain(|_| lost.next() != Some(&true));
                }
            }
        }
        for (list, tops) in lists.iter_mut().zip(&tops) {
            let mut at = 0;
            list.retain(|candidate| {
                while tops.get(at).is_some_and(|&top| top < candidate.top) {
                    at += 1;
                }
                tops.get(at) == Some(&candidate.top)
            });
        }
        let least = least(&tops, lists);
        let own = least.clone();
        let mut seats = vec![Vec::new(); tops.len()];
        for (at, part) in parts.iter().enumerate() {
            part.members.iter().enumerate().for_each(|(seat, &m)| seats[m].push((at, seat)));
        }
        let seated: usize = seats.iter().map(Vec::len).sum();
        let most = (1 << 56) / (seated + tops.len() + 1) as i64;
        let lightest = vec![0; tops.len()];
        let room = Room::default();
        Ok(Some(Self { tops, least, own, parts, seats, lightest, most, settled: None, room }))
    }

    /// Of supports that no span binds, by their lightest weights.
    pub(super) fn none(least: Vec<i64>) -> Self {
        let own = least.into_iter().map(|least| vec![least]).collect();
        Self {
            tops: Vec::new(),
            least: Vec::new(),
            own,
            parts: Vec::new(),
            seats: Vec::new(),
            lightest: Vec::new(),
            most: 0,
            settled: None,
            room: Room::default(),
        }
    }

    /// The windows of all members of all parts.
    pub(super) fn work(&self) -> u64 {
        self.parts.iter().map(Part::work).sum()
    }

    /// A lower bound on what one candidate for each support weighs.
    pub(super) fn bound(&self) -> i64 {
        let own: i64 = (0..self.own.len()).map(|support| self.least_own(support)).sum();
        own + self.parts.iter().map(Part::least).sum::<i64>()
    }

    /// The least of what no span has of a support's weight.
    pub(super) fn least_own(&self, support: usize) -> i64 {
        self.own[support].iter().min().copied().unwrap_or(0)
    }

    /// Improves the split, support by support in this order or, if not `forward`, from its end.
    pub(super) fn improve(
        &mut self,
        order: &[usize],
        forward: bool,
        meter: &mut Meter,
    ) -> Budgeted<()> {
        meter.spend(self.work() / LISTED_A_NODE)?;
        let mut place = vec![0; order.len()];
        order.iter().enumerate().for_each(|(at, &support)| place[support] = at);
        // The first and the last place of each part's members.
        let ends: Vec<[usize; 2]> = self
            .parts
            .iter()
            .map(|part| {
                let places = part.members.iter().map(|&member| place[member]);
                [places.clone().min().unwrap_or(0), places.max().unwrap_or(0)]
            })
            .collect();
        for step in 0..order.len() {
            let at = if forward { step } else { order.len() - 1 - step };
            self.settle(order[at], |part| ends[part].map(|end| end != at), forward);
        }
        Ok(())
    }

    /// Takes what a support adds to its parts, and deals it out among those that go on: in both
    /// directions it is told whether members of a part come before, and behind.
    fn settle(&mut self, support: usize, goes_on: impl Fn(usize) -> [bool; 2], forward: bool) {
        let (seats, own) = (&self.seats[support], &mut self.own[support]);
        let Room { added, taken, each, others, from } = &mut self.room;
        let tops = own.len();
        added.resize(seats.len() * tops, 0);
        taken.clone_from(own);
        let mut small = true;
        for (added, &(part, seat)) in added.chunks_exact_mut(tops).zip(seats) {
            let part = &self.parts[part];
            part.added(seat, others, from, added);
            for ((taken, added), of) in taken.iter_mut().zip(added).zip(&part.shares[seat].of) {
                *taken = taken.saturating_add(*added);
                small &= (*added - of).abs() <= self.most && taken.abs() <= self.most;
            }
        }
        if !small {
            return;
        }
        let ends = seats.iter().map(|&(part, _)| goes_on(part));
        let (before, behind) = ends.fold((0, 0), |(before, behind), ends| {
            (before + i64::from(ends[0]), behind + i64::from(ends[1]))
        });
        let lightest = taken.iter().enumerate().min_by_key(|&(_, weight)| *weight);
        let (at, least) = lightest.map_or((0, 0), |(at, weight)| (at, *weight));
        self.lightest[support] = at;
        let among = before.max(behind).max(1);
        each.clear();
        each.extend(taken.iter().map(|weight| (weight - least) / among));
        for (added, &(part, seat)) in added.chunks_exact(tops).zip(seats) {
            let gets = goes_on(part)[usize::from(forward)];
            if gets {
                taken.iter_mut().zip(&*each).for_each(|(taken, each)| *taken -= each);
            }
            self.parts[part].exchange(seat, added, gets.then_some(&each[..]), from);
        }
        own.clone_from(taken);
    }

    /// The least weight of a plan beyond the bound, if it has each top of a support.
    fn beyond(&self, support: usize, room: &mut Room) {
        let least = self.least_own(support);
        let Room { added, taken, others, from, .. } = room;
        taken.clear();
        taken.extend(self.own[support].iter().map(|own| own - least));
        added.resize(taken.len(), 0);
        for &(part, seat) in &self.seats[support] {
            let part = &self.parts[part];
            let least = part.least();
            part.added(seat, others, from, added);
            taken.iter_mut().zip(&*added).for_each(|(beyond, added)| {
                *beyond = beyond.saturating_add(added - least);
            });
        }
    }

    /// The same with each of its candidates, which ascend by their tops.
    pub(super) fn beyond_each<'r>(
        &self,
        support: usize,
        list: &[Candidate],
        room: &'r mut Room,
    ) -> &'r [i64] {
        self.beyond(support, room);
        let (tops, least) = (&self.tops[support], &self.least[support]);
        let (mut at, taken) = (0, &room.taken);
        room.each.clear();
        room.each.extend(list.iter().map(|candidate| {
            while tops[at] < candidate.top {
                at += 1;
            }
            taken[at].saturating_add(candidate.weight - least[at])
        }));
        &room.each
    }

    /// The most passes there and back that improve the split.
    pub(super) const PASSES: usize = 12;

    /// Splits the weights in so many `passes` at the most, from the `start` of more candidates if there is one, and takes out
    /// candidates with which a plan would weigh more than `cap`: `left_out` gets the least that it
    /// would weigh. None where no plan is within the cap.
    pub(super) fn within(
        spans: &[(Vec<usize>, i64)],
        lists: &mut [Vec<Candidate>],
        order: &[usize],
        start: Option<&Self>,
        (cap, passes): (i64, usize),
        left_out: &mut i64,
        meter: &mut Meter,
    ) -> Budgeted<Option<Self>> {
        if let Some(start) = start.filter(|start| start.is_of(spans, lists, cap, passes)) {
            meter.spend(start.parts.iter().map(Part::nodes).sum())?;
            return Ok(Some(start.clone()));
        }
        let Some(mut split) = Self::new(spans, lists, meter)? else { return Ok(None) };
        if let Some(start) = start {
            split.take_over(start);
            if split.prune(lists, cap, left_out, meter)? {
                match split.renewed(spans, lists, meter)? {
                    Some(renewed) => split = renewed,
                    None => return Ok(None),
                }
            }
        }
        let mut bound = split.bound();
        for pass in 1..=passes {
            if bound > cap {
                *left_out = bound.min(*left_out);
                return Ok(None);
            }
            split.improve(order, true, meter)?;
            split.improve(order, false, meter)?;
            let before = std::mem::replace(&mut bound, split.bound());
            let stalled = bound - before <= (cap - bound) / 32;
            if (pass % 3 == 0 || stalled) && split.prune(lists, cap, left_out, meter)? {
                let Some(renewed) = split.renewed(spans, lists, meter)? else { return Ok(None) };
                split = renewed;
                bound = split.bound();
            } else if stalled {
                break;
            }
        }
        if bound > cap {
            *left_out = bound.min(*left_out);
            return Ok(None);
        }
        split.settled = Some((lists.iter().map(Vec::len).sum(), cap, passes));
        Ok(Some(split))
    }

    /// Takes out candidates with which a plan would weigh more than `cap`, of which `left_out` gets
    /// the least weight; whether there were any.
    pub(super) fn prune(
        &self,
        lists: &mut [Vec<Candidate>],
        cap: i64,
        left_out: &mut i64,
        meter: &mut Meter,
    ) -> Budgeted<bool> {
        let listed: usize = lists.iter().map(Vec::len).sum();
        meter.spend(self.work() / LISTED_A_NODE + listed as u64 / LISTED_A_NODE)?;
        let bound = self.bound();
        let mut pruned = false;
        let mut room = Room::default();
        for (support, list) in lists.iter_mut().enumerate() {
            let before = list.len();
            let mut beyond = self.beyond_each(support, list, &mut room).iter();
            list.retain(|_| {
                let weight = bound.saturating_add(beyond.next().copied().unwrap_or(0));
                if weight > cap {
                    *left_out = weight.min(*left_out);
                }
                weight <= cap
            });
            pruned |= list.len() < before;
        }
        Ok(pruned)
    }

    /// Whether it was split in no fewer passes for these spans, this cap and just these of its
    /// candidates.
    fn is_of(
        &self,
        spans: &[(Vec<usize>, i64)],
        lists: &[Vec<Candidate>],
        cap: i64,
        passes: usize,
    ) -> bool {
        let mut both = self.parts.iter().zip(spans);
        let listed = lists.iter().map(Vec::len).sum();
        self.settled
            .is_some_and(|settled| (listed, cap) == (settled.0, settled.1) && passes <= settled.2)
            && self.parts.len() == spans.len()
            && both.all(|(part, (members, width))| part.width == *width && part.members == *members)
    }

    /// For each support a candidate with which a plan weighed least when it was settled last.
    pub(super) fn lightest<'l>(
        &self,
        lists: &'l [Vec<Candidate>],
    ) -> impl Iterator<Item = &'l Candidate> {
        lists.iter().enumerate().filter_map(|(support, list)| {
            let top = self.tops[support].get(self.lightest[support])?;
            list.iter().filter(|candidate| candidate.top == *top).min_by_key(|c| c.weight)
        })
    }

    /// Takes over the weights of the same candidates by other multipliers.
    pub(super) fn weigh(&mut self, lists: &[Vec<Candidate>]) {
        let least = least(&self.tops, lists);
        for ((own, before), now) in self.own.iter_mut().zip(&self.least).zip(&least) {
            for ((own, before), now) in own.iter_mut().zip(before).zip(now) {
                *own += now - before;
            }
        }
        self.least = least;
        self.settled = None;
    }

    /// The same split of what is left of the candidates; none where that is too little.
    pub(super) fn renewed(
        self,
        spans: &[(Vec<usize>, i64)],
        lists: &mut [Vec<Candidate>],
        meter: &mut Meter,
    ) -> Budgeted<Option<Self>> {
        let Some(mut split) = Self::new(spans, lists, meter)? else { return Ok(None) };
        split.take_over(&self);
        Ok(Some(split))
    }

    /// Splits the weights as another split does that has all of the tops, and more.
    fn take_over(&mut self, other: &Self) {
        for (part, before) in self.parts.iter_mut().zip(&other.parts) {
            for (seat, &member) in part.members.iter().enumerate() {
                let mut old = other.tops[member].iter().zip(&before.shares[seat].of);
                let now = self.tops[member].iter().zip(&mut self.own[member]);
                for (of, (top, own)) in part.shares[seat].of.iter_mut().zip(now) {
                    *of = old.find(|(old, _)| *old == top).map_or(0, |(_, had)| *had);
                    *own -= *of;
                }
            }
            part.weigh();
        }
    }
}

impl Part {
    fn new(members: Vec<usize>, width: i64, all: &[Vec<i64>]) -> Option<Self> {
        let mut ends: Vec<i64> =
            members.iter().flat_map(|&member| all[member].iter().copied()).collect();
        ends.sort_unstable();
        ends.dedup();
        let together = ends.len().div_ceil(Split::MOST_WINDOWS).max(1);
        let mut lows: Vec<[i64; 2]> =
            ends.chunks(together).map(|ends| [ends[0], ends[ends.len() - 1]]).collect();
        // A window that holds no top more than one before it is of no use.
        let mut reach = 0;
        lows.retain(|&[_, to]| {
            let before =
                std::mem::replace(&mut reach, ends.partition_point(|&end| end <= to + width));
            reach > before
        });
        let mut next = vec![0; members.len()];
        lows.retain(|&[from, to]| {
            members.iter().zip(&mut next).all(|(&member, next)| {
                let tops = &all[member];
                while tops.get(*next).is_some_and(|&top| top < from) {
                    *next += 1;
                }
                tops.get(*next).is_some_and(|&top| top <= to + width)
            })
        });
        if lows.is_empty() {
            return None;
        }
        let shares = members.iter().map(|&member| Share::new(&all[member], width, &lows)).collect();
        let total = vec![0; lows.len()];
        Some(Self { members, width, lows, shares, total })
    }

    /// The windows of all its members.
    fn work(&self) -> u64 {
        (self.lows.len() * self.members.len()) as u64
    }

    /// The nodes that it takes the time of to lay it out: one a member beside its windows.
    fn nodes(&self) -> u64 {
        self.members.len() as u64 + self.work() / LISTED_A_NODE
    }

    /// How many windows there are.
    pub(super) fn windows(&self) -> u32 {
        self.lows.len() as u32
    }

    /// The windows around a top of a member.
    pub(super) fn around(&self, member: usize, top: usize) -> Range {
        let seat = self.members.iter().position(|&other| other == member);
        seat.map_or([0, 0], |seat| self.shares[seat].around[top])
    }

    /// The least that the members weigh together.
    fn least(&self) -> i64 {
        self.total.iter().min().copied().unwrap_or(0)
    }

    /// The least weight of all members together with each top of one of them.
    fn added(&self, seat: usize, others: &mut Vec<i64>, from: &mut Vec<i64>, added: &mut [i64]) {
        let share = &self.shares[seat];
        others.clear();
        others.extend(self.total.iter().zip(&share.lightest).map(|(total, own)| total - own));
        sliding_least(others, &share.around, from, added);
        added.iter_mut().zip(&share.of).for_each(|(added, of)| *added += of);
    }

    /// Moves what each top of a member adds out of the part and other weight into it, and weighs it
    /// anew.
    fn exchange(&mut self, seat: usize, added: &[i64], gets: Option<&[i64]>, from: &mut Vec<i64>) {
        let share = &mut self.shares[seat];
        share.of.iter_mut().zip(added).for_each(|(of, added)| *of -= added);
        if let Some(gets) = gets {
            share.of.iter_mut().zip(gets).for_each(|(of, gets)| *of += gets);
        }
        self.total.iter_mut().zip(&share.lightest).for_each(|(total, own)| *total -= own);
        sliding_least(&share.of, &share.inside, from, &mut share.lightest);
        self.total.iter_mut().zip(&share.lightest).for_each(|(total, own)| *total += own);
    }

    /// Weighs all members anew.
    fn weigh(&mut self) {
        self.total.fill(0);
        let mut from = Vec::new();
        for share in &mut self.shares {
            sliding_least(&share.of, &share.inside, &mut from, &mut share.lightest);
            self.total.iter_mut().zip(&share.lightest).for_each(|(total, own)| *total += own);
        }
    }
}

impl Share {
    fn new(tops: &[i64], width: i64, lows: &[[i64; 2]]) -> Self {
        let mut share = Self {
            of: vec![0; tops.len()],
            inside: Vec::with_capacity(lows.len()),
            around: Vec::with_capacity(tops.len()),
            lightest: vec![0; lows.len()],
        };
        let (mut first, mut last) = (0, 0);
        for &[from, to] in lows {
            while first < tops.len() && tops[first] < from {
                first += 1;
            }
            while last < tops.len() && tops[last] <= to + width {
                last += 1;
            }
            share.inside.push([first as u32, last as u32]);
        }
        let (mut first, mut last) = (0, 0);
        for &top in tops {
            while first < lows.len() && lows[first][1] < top - width {
                first += 1;
            }
            while last < lows.len() && lows[last][0] <= top {
                last += 1;
            }
            share.around.push([first as u32, (last as u32).max(first as u32)]);
        }
        share
    }
}

/// The least weight of the candidates at each of the tops, both of which ascend.
fn least(tops: &[Vec<i64>], lists: &[Vec<Candidate>]) -> Vec<Vec<i64>> {
    let of = |(tops, list): (&Vec<i64>, &Vec<Candidate>)| {
        let mut least = vec![i64::MAX; tops.len()];
        let mut at = 0;
        for candidate in list {
            while tops[at] < candidate.top {
                at += 1;
            }
            least[at] = least[at].min(candidate.weight);
        }
        least
    };
    tops.iter().zip(lists).map(of).collect()
}

/// The tops of candidates that ascend by them.
fn distinct_tops(list: &[Candidate]) -> Vec<i64> {
    let mut tops: Vec<i64> = list.iter().map(|candidate| candidate.top).collect();
    tops.dedup();
    tops
}

/// The least value in each of the ranges, whose ends only ever move up. From a turn on, the least of
/// what was in the range then is known from each place on, so that no value is looked at more than
/// twice.
fn sliding_least(values: &[i64], ranges: &[Range], from: &mut Vec<i64>, least: &mut [i64]) {
    from.resize(values.len().max(from.len()), 0);
    let (mut turn, mut next, mut since) = (0, 0, i64::MAX);
    for (&[first, last], least) in ranges.iter().zip(least) {
        let (first, last) = (first as usize, last as usize);
        if next < last {
            since = values[next..last].iter().fold(since, |least, &value| least.min(value));
            next = last;
        }
        if first >= turn {
            turn = next;
            let mut least = i64::MAX;
            for at in (first..next).rev() {
                least = least.min(values[at]);
                from[at] = least;
            }
            since = i64::MAX;
        }
        *least = if first < last { from[first].min(since) } else { 0 };
    }
}

/// The least that the members of a part weigh that are still to be set, by how many are set, and by
/// which windows are left.
#[derive(Debug)]
pub(super) struct Rest {
    /// By how many are set, the least over 2ᵏ windows from each on.
    least: Vec<Vec<Vec<i64>>>,
}

impl Rest {
    /// For members that are set in this order of their seats.
    pub(super) fn new(part: &Part, order: &[usize]) -> Self {
        let mut sum = vec![0; part.lows.len()];
        let mut least = vec![Vec::new(); order.len() + 1];
        for (set, &seat) in order.iter().enumerate().rev() {
            sum.iter_mut().zip(&part.shares[seat].lightest).for_each(|(sum, own)| *sum += own);
            let mut levels = vec![sum.clone()];
            let mut step = 1;
            while 2 * step <= sum.len() {
                let Some(below) = levels.last() else { break };
                let pairs = below.iter().zip(&below[step..]);
                levels.push(pairs.map(|(a, b)| *a.min(b)).collect());
                step *= 2;
            }
            least[set] = levels;
        }
        Self { least }
    }

    /// The least that the others weigh in these windows once so many are set.
    pub(super) fn weight(&self, set: usize, [first, last]: Range) -> i64 {
        let levels = &self.least[set];
        if levels.is_empty() {
            return 0;
        }
        let level = (last - first).ilog2() as usize;
        let levels = &levels[level];
        levels[first as usize].min(levels[last as usize - (1 << level)])
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::shim::budget::NEVER;
    use crate::shim::problem::Budget;

    type Lists = Vec<Vec<Candidate>>;

    /// Every choice of one candidate each that the spans allow, with what it weighs.
    fn choices(lists: &Lists, spans: &[(Vec<usize>, i64)]) -> Vec<(Vec<i64>, i64)> {
        let mut all = vec![(Vec::new(), 0)];
        for list in lists {
            let longer = |(tops, weight): &(Vec<i64>, i64)| {
                let (tops, weight) = (tops.clone(), *weight);
                list.iter().map(move |c| ([&tops[..], &[c.top]].concat(), weight + c.weight))
            };
            all = all.iter().flat_map(longer).collect();
        }
        all.retain(|(tops, _)| {
            spans.iter().all(|(members, width)| {
                let tops = members.iter().map(|&member| tops[member]);
                tops.clone().max().zip(tops.min()).is_none_or(|(high, low)| high - low <= *width)
            })
        });
        all
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(3000))]

        /// Whatever is split how often: no plan weighs less than the bound, none within the cap loses
        /// a candidate, and none weighs less than what its first supports and the rests tell.
        #[test]
        fn a_bound_is_a_bound(
            tops in prop::collection::vec(
                prop::collection::vec((0..20_i64, 0..3000_i64), 1..5), 2..6),
            ties in prop::collection::vec((any::<[bool; 5]>(), 0..12_i64), 1..5),
            slack in 0..2500_i64,
        ) {
            let count = tops.len();
            let mut lists: Lists = tops
                .iter()
                .map(|list| {
                    let of = |&(top, weight)| Candidate { top, weight, cost: 0, kinds: 0, counts: 0 };
                    list.iter().map(of).collect()
                })
                .collect();
            let mut spans: Vec<(Vec<usize>, i64)> = ties
                .iter()
                .map(|(of, width)| ((0..count).filter(|&at| of[at]).collect(), *width))
                .collect();
            spans.retain(|(members, _): &(Vec<usize>, i64)| members.len() > 1);
            spans.push(((0..count).collect(), 15));
            let order: Vec<usize> = (0..count).collect();
            let mut meter = Meter::new(&Budget::default(), NEVER);
            let all = choices(&lists, &spans);
            let least = all.iter().map(|&(_, weight)| weight).min();
            let lightest: i64 = tops.iter().map(|l| l.iter().map(|t| t.1).min().unwrap()).sum();
            let cap = lightest + slack;
            let mut left_out = i64::MAX;
            let split =
                Split::within(&spans, &mut lists, &order, None, (cap, Split::PASSES), &mut left_out, &mut meter)
                    .unwrap();
            let Some(split) = split else {
                prop_assert!(least.is_none_or(|least| least > cap && least >= left_out));
                return Ok(());
            };
            prop_assert!(least.is_none_or(|least| least.min(left_out) >= split.bound().min(left_out)));
            let left = choices(&lists, &spans);
            let within = |all: &[(Vec<i64>, i64)]| {
                let mut all = all.to_vec();
                all.retain(|(_, weight)| *weight <= cap);
                all.sort();
                all
            };
            prop_assert_eq!(within(&all), within(&left));

            for (part, (members, _)) in split.parts.iter().zip(&spans) {
                prop_assert_eq!(&part.members, members);
            }
            let rests: Vec<Rest> = split
                .parts
                .iter()
                .map(|part| Rest::new(part, &(0..part.members.len()).collect::<Vec<_>>()))
                .collect();
            for set in 0..=count {
                for (tops, weight) in &left {
                    let mut bound: i64 = (set..count).map(|at| split.least_own(at)).sum();
                    for (at, &top) in tops.iter().enumerate().take(set) {
                        let place = split.tops[at].binary_search(&top).unwrap();
                        bound += split.least[at][place];
                    }
                    for (part, rest) in split.parts.iter().zip(&rests) {
                        let mut windows = [0, part.windows()];
                        let members = part.members.iter().take_while(|&&member| member < set);
                        let mut seated = 0;
                        for &member in members {
                            let place = split.tops[member].binary_search(&tops[member]).unwrap();
                            let [first, last] = part.around(member, place);
                            windows = [windows[0].max(first), windows[1].min(last)];
                            seated += 1;
                        }
                        prop_assert!(windows[0] < windows[1]);
                        bound += rest.weight(seated, windows);
                    }
                    prop_assert!(bound <= *weight, "{bound} of {weight} with {set} set");
                }
            }
        }
    }
}
