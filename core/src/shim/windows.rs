//! Windows of height into which every support's top can come.
//!
//! One pass weighs all windows of a list: both ends of a sliding window only ever move up, and for
//! each support a queue holds the candidates inside, the lightest first.

use std::collections::VecDeque;

use super::lists::Lists;

/// The windows `width` wide whose lower end is a candidate's top in the range, or the range's end,
/// each with a lower bound on the weight of the plans in it and, where no candidate's top stands
/// between, in those below it: the lightest candidates inside, and for a support that has none
/// the least weight that was not listed.
pub(super) fn profile(lists: &Lists, [low, high]: [i64; 2], width: i64) -> Vec<(i64, i64)> {
    let tops = tops(lists, low);
    let mut inside = Inside::new(&lists.floors);
    let mut windows = Vec::new();
    let (mut first, mut next) = (0, 0);
    loop {
        let lower = tops.get(first).map_or(high, |&(top, ..)| top.min(high));
        while next < tops.len() && tops[next].0 - lower <= width {
            inside.add(tops[next]);
            next += 1;
        }
        windows.push((lower, inside.weight()));
        if lower == high {
            return windows;
        }
        while first < next && tops[first].0 == lower {
            inside.remove(tops[first]);
            first += 1;
        }
    }
}

/// The narrowest windows within `cap`, one a lower end in [low, high] at which some candidate's
/// top stands, at most `width` wide, by lower end.
pub(super) fn narrowest(
    lists: &Lists,
    [low, high]: [i64; 2],
    width: i64,
    cap: i64,
) -> Vec<[i64; 2]> {
    let tops = tops(lists, low);
    let mut inside = Inside::new(&lists.floors);
    let mut windows = Vec::new();
    let (mut first, mut next) = (0, 0);
    while first < tops.len() && tops[first].0 <= high {
        let lower = tops[first].0;
        let fits = |inside: &Inside| inside.empty == 0 && inside.weight <= cap;
        while !fits(&inside) && next < tops.len() && tops[next].0 - lower <= width {
            inside.add(tops[next]);
            next += 1;
        }
        if fits(&inside) {
            windows.push([lower, tops[next - 1].0]);
        }
        while first < tops.len() && tops[first].0 == lower {
            if first < next {
                inside.remove(tops[first]);
            }
            first += 1;
        }
        next = next.max(first);
    }
    windows
}

/// Top, support and weight of all candidates from a top on, by top.
fn tops(lists: &Lists, low: i64) -> Vec<(i64, usize, i64)> {
    let mut tops = Vec::new();
    for (support, list) in lists.of.iter().enumerate() {
        tops.extend(list.iter().filter(|c| c.top >= low).map(|c| (c.top, support, c.weight)));
    }
    tops.sort_unstable();
    tops
}

struct Inside<'a> {
    /// The least weight of each support that was not listed.
    floors: &'a [i64],
    queues: Vec<VecDeque<(i64, i64)>>,
    /// Supports without a candidate inside; and those of them that have no other stack at all.
    empty: usize,
    lost: usize,
    /// Sum of the lightest weights of the supports: of what is inside, else not listed.
    weight: i64,
}

const NO_STACK: i64 = i64::MAX;

impl<'a> Inside<'a> {
    fn new(floors: &'a [i64]) -> Self {
        let lost = floors.iter().filter(|&&floor| floor == NO_STACK).count();
        Self {
            floors,
            queues: vec![VecDeque::new(); floors.len()],
            empty: floors.len(),
            lost,
            weight: floors.iter().filter(|&&floor| floor != NO_STACK).sum(),
        }
    }

    /// A lower bound on the weight of the plans inside.
    fn weight(&self) -> i64 {
        if self.lost > 0 { NO_STACK } else { self.weight }
    }

    /// Replaces what a support adds to the weight.
    fn replace(&mut self, support: usize, before: Option<i64>, after: Option<i64>) {
        let missing = self.floors[support];
        self.weight -= match before {
            Some(weight) => weight,
            None if missing == NO_STACK => 0,
            None => missing,
        };
        self.weight += match after {
            Some(weight) => weight,
            None if missing == NO_STACK => 0,
            None => missing,
        };
        let steps = |none: bool| usize::from(none);
        self.empty = self.empty + steps(after.is_none()) - steps(before.is_none());
        if missing == NO_STACK {
            self.lost = self.lost + steps(after.is_none()) - steps(before.is_none());
        }
    }

    fn add(&mut self, (top, support, weight): (i64, usize, i64)) {
        let queue = &mut self.queues[support];
        let before = queue.front().map(|&(_, weight)| weight);
        while queue.back().is_some_and(|&(_, other)| other >= weight) {
            queue.pop_back();
        }
        queue.push_back((top, weight));
        let after = Some(before.map_or(weight, |before| before.min(weight)));
        self.replace(support, before, after);
    }

    fn remove(&mut self, (top, support, weight): (i64, usize, i64)) {
        let queue = &mut self.queues[support];
        if queue.front() == Some(&(top, weight)) {
            queue.pop_front();
            let after = queue.front().map(|&(_, weight)| weight);
            self.replace(support, Some(weight), after);
        }
    }
}
