//! The probability that heights keep within spans.

use nalgebra::DMatrix;

use super::rule::DecisionRule;
use super::slopes::Slopes;
use super::within::Within;
use crate::covariance;
use crate::deadline::Deadline;
use crate::length::Length;
use crate::limits::Span;
use crate::normal::{Interval, density};
use crate::simulation::{self, Chance, NOTHING, root};

/// A smaller probability counts as 0.
const NEVER: f64 = 1e-9;

/// Heights and what is known of their errors.
pub(super) struct Errors<'a> {
    pub(super) heights: &'a [Length],
    /// mm above the lowest.
    pub(super) mm: Vec<f64>,
    covariance: &'a DMatrix<f64>,
    pub(super) deadline: &'a Deadline<'a>,
}

impl<'a> Errors<'a> {
    /// Once the time is over the probabilities are meaningless: the caller checks the time.
    pub(super) fn new(
        heights: &'a [Length],
        covariance: &'a DMatrix<f64>,
        deadline: &'a Deadline<'a>,
    ) -> Self {
        let lowest = heights.iter().min().copied().unwrap_or_default();
        let mm = heights.iter().map(|&height| (height - lowest).mm()).collect();
        Self { heights, mm, covariance, deadline }
    }

    pub(super) fn sigma(&self, a: usize, b: usize) -> f64 {
        covariance::sigma_of_difference(self.covariance, a, b)
    }

    /// Standard uncertainty of the difference between the highest and the lowest of a span.
    pub(super) fn sigma_of_range(&self, span: &Span, heights: &[Length]) -> f64 {
        let ends = [
            span.members.iter().min_by_key(|&&at| heights[at]),
            span.members.iter().max_by_key(|&&at| heights[at]),
        ];
        match ends {
            [Some(&low), Some(&high)] => self.sigma(low, high),
            _ => 0.0,
        }
    }

    /// Whether all differences that count are known exactly.
    pub(super) fn are_exact(&self, spans: &[Span]) -> bool {
        spans.iter().flat_map(Span::pairs).all(|[a, b]| self.sigma(a, b) == 0.0)
    }

    /// The probability that two points are too far apart.
    fn apart(&self, a: usize, b: usize, width: Length) -> f64 {
        let sigma = self.sigma(a, b);
        if sigma == 0.0 {
            return f64::from(u8::from((self.heights[a] - self.heights[b]).abs() > width));
        }
        let (found, width) = ((self.mm[a] - self.mm[b]).abs(), width.mm());
        let beyond = |limit: f64| Interval::new(limit / sigma, f64::INFINITY).probability;
        beyond(width - found) + beyond(width + found)
    }

    /// The probability that level limits are met.
    pub(super) fn chance(&self, spans: &[Span], rule: DecisionRule) -> Chance {
        if self.deadline.is_over() {
            return Chance::exact(0.0);
        }
        // Of all pairs, those count that may be apart.
        let never =
            NEVER / spans.iter().map(|span| span.members.len().pow(2)).sum::<usize>() as f64;
        let mut doubtful = Vec::new();
        for (at, span) in spans.iter().enumerate() {
            for [b, a] in span.pairs() {
                let apart = self.apart(a, b, span.width);
                if apart > never {
                    doubtful.push((apart, at, [a, b]));
                }
            }
        }
        let worst = doubtful.iter().copied().max_by(|(a, ..), (b, ..)| a.total_cmp(b));
        let Some((most, _, first)) = worst else { return Chance::exact(1.0) };
        let pair = |&(_, _, [a, b]): &(f64, usize, [usize; 2])| [a.min(b), a.max(b)];
        if 1.0 - most < NEVER || doubtful.iter().all(|it| pair(it) == pair(&doubtful[0])) {
            return Chance::exact(1.0 - most);
        }
        let all: f64 = doubtful.iter().map(|(apart, ..)| apart).sum();
        if all < NEVER {
            return Chance { probability: 1.0 - all, error: all };
        }
        let mut groups = vec![Vec::new(); spans.len()];
        for &(_, at, pair) in &doubtful {
            groups[at].extend(pair);
        }
        let groups = groups.into_iter().zip(spans).filter(|(members, _)| !members.is_empty());
        let groups: Vec<Group> = groups
            .map(|(mut members, span)| {
                members.sort_unstable();
                members.dedup();
                Group { members, width: span.width.mm() }
            })
            .collect();
        let (order, root) = self.order(&groups, first);
        let means: Vec<f64> = order[1..].iter().map(|&at| self.mm[at]).collect();
        let mut within = within(&groups, &order, self.mm[order[0]]);
        let slack = 1e-7;
        let settled = |chance| rule.is_settled(chance);
        simulation::chance(&means, &root, slack, &mut within, self.deadline, settled)
    }

    /// The probability that the limits are met above one of the slopes.
    pub(super) fn chance_above(
        &self,
        spans: &[Span],
        slopes: &Slopes,
        rule: DecisionRule,
    ) -> Chance {
        let others: Vec<usize> = (1..self.mm.len()).collect();
        let root = root(&self.differences(0, &others), self.deadline);
        let mut heights = self.mm.clone();
        let meets = |drawn: &[f64]| {
            heights[1..].copy_from_slice(drawn);
            slopes.some_meets(&heights, spans, self.deadline)
        };
        let settled = |chance| rule.is_settled(chance);
        simulation::frequency(&self.mm[1..], &root, self.deadline, settled, meets)
    }

    /// Covariance of the heights of points above that of one.
    pub(super) fn differences(&self, start: usize, others: &[usize]) -> DMatrix<f64> {
        let of = |i: usize, j: usize| self.covariance[(i, j)];
        DMatrix::from_fn(others.len(), others.len(), |a, b| {
            let (a, b) = (others[a], others[b]);
            of(a, b) - of(a, start) - of(b, start) + of(start, start)
        })
    }

    /// The points of groups in the order in which to draw them: first the pair that is most surely too
    /// far apart, then the point that is least surely within its bounds, given the expected values of
    /// those before it (Gibson, Glasbey & Elston 1994; from memory). Also the root of the covariance of
    /// their heights above the first.
    fn order(&self, groups: &[Group], [start, _]: [usize; 2]) -> (Vec<usize>, DMatrix<f64>) {
        let mut open: Vec<usize> =
            groups.iter().flat_map(|group| &group.members).copied().collect();
        open.sort_unstable();
        open.dedup();
        open.retain(|&at| at != start);
        let differences = self.differences(start, &open);
        let groups_of = |point: usize| -> Vec<usize> {
            let is_in = |&at: &usize| groups[at].members.binary_search(&point).is_ok();
            (0..groups.len()).filter(is_in).collect()
        };
        let mut ends = vec![[f64::INFINITY, f64::NEG_INFINITY]; groups.len()];
        let put = |ends: &mut [[f64; 2]], of: &[usize], value: f64| {
            of.iter().for_each(|&at| ends[at] = [ends[at][0].min(value), ends[at][1].max(value)]);
        };
        put(&mut ends, &groups_of(start), self.mm[start]);
        // Of each point: its groups, what it is expected to be, what variance is left to it, and
        // its row of the root so far.
        struct Open {
            at: usize,
            place: usize,
            groups: Vec<usize>,
            mean: f64,
            left: f64,
            row: Vec<f64>,
        }
        let mut open: Vec<Open> = (open.iter().enumerate())
            .map(|(place, &at)| Open {
                at,
                place,
                groups: groups_of(at),
                mean: self.mm[at],
                left: differences[(place, place)],
                row: Vec::new(),
            })
            .collect();
        let (mut order, mut root) = (vec![start], DMatrix::zeros(open.len(), open.len()));
        while !open.is_empty() {
            let work = open.len() * (order.len() + 100);
            if self.deadline.spend(work as u64).is_err() {
                order.extend(open.iter().map(|point| point.at));
                break;
            }
            let interval = |point: &Open| {
                let bounds = point.groups.iter().map(|&at| {
                    let ([low, high], width) = (ends[at], groups[at].width);
                    [high - width, low + width]
                });
                let all = [f64::NEG_INFINITY, f64::INFINITY];
                let [least, most] =
                    bounds.fold(all, |all, [from, to]| [all[0].max(from), all[1].min(to)]);
                let sigma =
                    point.left.max(NOTHING * differences[(point.place, point.place)]).sqrt();
                if sigma > 0.0 {
                    [(least - point.mean) / sigma, (most - point.mean) / sigma]
                } else {
                    all
                }
            };
            let chance = |point: &Open| {
                let [least, most] = interval(point);
                Interval::new(least, most).probability
            };
            let chances: Vec<f64> = open.iter().map(chance).collect();
            let next = (0..open.len()).min_by(|&a, &b| chances[a].total_cmp(&chances[b]));
            let Some(next) = next else { break };
            let [least, most] = interval(&open[next]);
            let Open { at, place, groups: of, mean, left, row } = open.swap_remove(next);
            let chance = chances[next];
            let error = match chance > NEVER {
                true => (density(least) - density(most)) / chance,
                // Beyond its bounds it is as near to them as can be.
                false => 0.0_f64.clamp(least.min(most), most.max(least)),
            };
            let pivot =
                if left > NOTHING * differences[(place, place)] { left.sqrt() } else { 0.0 };
            put(&mut ends, &of, mean + pivot * error);
            for other in &mut open {
                let known: f64 = row.iter().zip(&other.row).map(|(a, b)| a * b).sum();
                let by = match pivot > 0.0 {
                    true => (differences[(place, other.place)] - known) / pivot,
                    false => 0.0,
                };
                other.row.push(by);
                other.left -= by * by;
                other.mean += by * error;
            }
            let last = order.len() - 1;
            row.iter().enumerate().for_each(|(column, &by)| root[(last, column)] = by);
            root[(last, last)] = pivot;
            order.push(at);
        }
        (order, root)
    }
}

/// Points that keep within a width of each other, by index, ascending; width in mm.
struct Group {
    members: Vec<usize>,
    width: f64,
}

/// The groups by the places of their points in an order, of which the first is held.
fn within(groups: &[Group], order: &[usize], start: f64) -> Within {
    let mut place: Vec<(usize, usize)> = order.iter().copied().zip(0..).collect();
    place.sort_unstable();
    let places = |group: &Group| {
        let place_of = |at: &usize| place.binary_search_by_key(at, |&(at, _)| at).ok();
        let mut places: Vec<usize> =
            group.members.iter().filter_map(place_of).map(|at| place[at].1).collect();
        places.sort_unstable();
        places
    };
    let members: Vec<Vec<usize>> = groups.iter().map(places).collect();
    Within::new(order.len(), start, &members, groups.iter().map(|group| group.width).collect())
}
