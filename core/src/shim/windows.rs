//! Windows of height into which every support's top can come.
//!
//! For a lower end, the narrowest window in which the supports' lightest candidates together
//! stay within a weight is found for all lower ends in one pass: both ends only ever move up, and
//! a queue a support, ascending in weight, holds the candidates inside.

use std::collections::VecDeque;

use super::lists::Lists;

/// The narrowest windows within `cap`, one a lower end in [low, high] at which some candidate's
/// top stands, at most `width` wide, by lower end; and the least weight beyond `cap` of a window
/// that is `width` wide.
pub(super) fn narrowest(
    lists: &Lists,
    [low, high]: [i64; 2],
    width: i64,
    cap: i64,
) -> (Vec<[i64; 2]>, i64) {
    let mut tops: Vec<(i64, usize, i64)> = Vec::new();
    for (support, list) in lists.of.iter().enumerate() {
        tops.extend(list.iter().filter(|c| c.top >= low).map(|c| (c.top, support, c.weight)));
    }
    tops.sort_unstable();
    let mut inside =
        Inside { queues: vec![VecDeque::new(); lists.of.len()], empty: lists.of.len(), weight: 0 };
    let mut windows = Vec::new();
    let mut over = i64::MAX;
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
        } else if inside.empty == 0 {
            over = over.min(inside.weight);
        }
        while first < tops.len() && tops[first].0 == lower {
            if first < next {
                inside.remove(tops[first]);
            }
            first += 1;
        }
        next = next.max(first);
    }
    (windows, over)
}

struct Inside {
    queues: Vec<VecDeque<(i64, i64)>>,
    /// Supports without a candidate inside.
    empty: usize,
    /// Sum of the lightest weights of the others.
    weight: i64,
}

impl Inside {
    fn add(&mut self, (top, support, weight): (i64, usize, i64)) {
        let queue = &mut self.queues[support];
        let before = queue.front().map(|&(_, weight)| weight);
        while queue.back().is_some_and(|&(_, other)| other >= weight) {
            queue.pop_back();
        }
        queue.push_back((top, weight));
        match before {
            None => {
                self.empty -= 1;
                self.weight += weight;
            }
            Some(before) => self.weight += weight.min(before) - before,
        }
    }

    fn remove(&mut self, (top, support, weight): (i64, usize, i64)) {
        let queue = &mut self.queues[support];
        if queue.front() != Some(&(top, weight)) {
            return;
        }
        queue.pop_front();
        self.weight -= weight;
        match queue.front() {
            None => self.empty += 1,
            Some(&(_, lightest)) => self.weight += lightest,
        }
    }
}
