//! The probability that heights keep within spans.

use nalgebra::DMatrix;

use super::rule::DecisionRule;
use super::slopes::Slopes;
use crate::covariance;
use crate::length::Length;
use crate::limits::Span;
use crate::normal::{Interval, density};
use crate::simulation::{self, Bounds, Chance, LANES, Lanes, NOTHING, root};

/// What does not happen more often than this does not count.
const NEVER: f64 = 1e-9;

/// Heights and what is known of their errors.
pub(super) struct Errors<'a> {
    heights: &'a [Length],
    /// mm above the lowest.
    mm: Vec<f64>,
    covariance: &'a DMatrix<f64>,
}

impl<'a> Errors<'a> {
    pub(super) fn new(heights: &'a [Length], covariance: &'a DMatrix<f64>) -> Self {
        let lowest = heights.iter().min().copied().unwrap_or_default();
        let mm = heights.iter().map(|&height| (height - lowest).mm()).collect();
        Self { heights, mm, covariance }
    }

    fn sigma(&self, a: usize, b: usize) -> f64 {
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
        let groups: Vec<(Vec<usize>, f64)> = groups
            .map(|(mut members, span)| {
                members.sort_unstable();
                members.dedup();
                (members, span.width.mm())
            })
            .collect();
        let (order, mut within) = self.order(&groups, first);
        let (start, others) = (order[0], &order[1..]);
        let means: Vec<f64> = others.iter().map(|&at| self.mm[at]).collect();
        let root = root(&self.differences(start, others));
        let slack = 1e-7;
        simulation::chance(&means, &root, slack, &mut within, |chance| rule.is_settled(chance))
    }

    /// The probability that the limits are met above one of the slopes.
    pub(super) fn chance_above(
        &self,
        spans: &[Span],
        slopes: &Slopes,
        rule: DecisionRule,
    ) -> Chance {
        let others: Vec<usize> = (1..self.mm.len()).collect();
        let root = root(&self.differences(0, &others));
        let mut heights = self.mm.clone();
        let meets = |drawn: &[f64]| {
            heights[1..].copy_from_slice(drawn);
            slopes.some_meets(&heights, spans)
        };
        simulation::frequency(&self.mm[1..], &root, |chance| rule.is_settled(chance), meets)
    }

    /// Covariance of the heights of points above that of one.
    fn differences(&self, start: usize, others: &[usize]) -> DMatrix<f64> {
        let of = |i: usize, j: usize| self.covariance[(i, j)];
        DMatrix::from_fn(others.len(), others.len(), |a, b| {
            let (a, b) = (others[a], others[b]);
            of(a, b) - of(a, start) - of(b, start) + of(start, start)
        })
    }

    /// The points of groups in the order in which they are best drawn, from the pair that is most
    /// surely apart on: next comes what is least surely within, by what those before it are expected
    /// to be (Gibson, Glasbey & Elston 1994; from memory).
    fn order(&self, groups: &[(Vec<usize>, f64)], [start, _]: [usize; 2]) -> (Vec<usize>, Within) {
        let mut open: Vec<usize> =
            groups.iter().flat_map(|(members, _)| members).copied().collect();
        open.sort_unstable();
        open.dedup();
        open.retain(|&at| at != start);
        let groups_of = |point: usize| -> Vec<usize> {
            (0..groups.len()).filter(|&at| groups[at].0.binary_search(&point).is_ok()).collect()
        };
        let mut within = Within::new(groups.iter().map(|(_, width)| *width).collect());
        within.start(self.mm[start], groups_of(start));
        let mut order = vec![start];
        let differences = self.differences(start, &open);
        // Of each point: its groups, what it is expected to be, what variance is left to it, and
        // the rows of the root so far.
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
        while !open.is_empty() {
            let interval = |point: &Open| {
                let [[least, ..], [most, ..]] = within.bounds(&point.groups);
                let sigma =
                    point.left.max(NOTHING * differences[(point.place, point.place)]).sqrt();
                if sigma > 0.0 {
                    [(least - point.mean) / sigma, (most - point.mean) / sigma]
                } else {
                    [f64::NEG_INFINITY, f64::INFINITY]
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
            let Open { at, place, groups, mean, left, row } = open.swap_remove(next);
            let chance = chances[next];
            let error = match chance > NEVER {
                true => (density(least) - density(most)) / chance,
                // Beyond its bounds it is as near to them as can be.
                false => 0.0_f64.clamp(least.min(most), most.max(least)),
            };
            let pivot = left.max(0.0).sqrt();
            within.groups.push(groups);
            within.put(&[mean + pivot * error; LANES]);
            order.push(at);
            for other in &mut open {
                let known: f64 = row.iter().zip(&other.row).map(|(a, b)| a * b).sum();
                let own = differences[(place, place)];
                let by = match left > NOTHING * own {
                    true => (differences[(place, other.place)] - known) / pivot,
                    false => 0.0,
                };
                other.row.push(by);
                other.left -= by * by;
                other.mean += by * error;
            }
        }
        (order, within)
    }
}

/// The points of groups keep within the group's width of each other.
struct Within {
    widths: Vec<f64>,
    /// The first point, and
    first: f64,
    first_groups: Vec<usize>,
    /// the groups of each point after it.
    groups: Vec<Vec<usize>>,
    /// How many have come after the first.
    at: usize,
    /// The lowest and the highest of each group so far.
    ends: Vec<[Lanes; 2]>,
}

/// No value has come yet.
const NONE: [Lanes; 2] = [[f64::INFINITY; LANES], [f64::NEG_INFINITY; LANES]];

impl Within {
    fn new(widths: Vec<f64>) -> Self {
        let ends = vec![NONE; widths.len()];
        Self { widths, first: 0.0, first_groups: Vec::new(), groups: Vec::new(), at: 0, ends }
    }

    fn start(&mut self, first: f64, groups: Vec<usize>) {
        (self.first, self.first_groups) = (first, groups);
        self.clear();
    }

    fn bounds(&self, groups: &[usize]) -> [Lanes; 2] {
        let [mut least, mut most] = [[f64::NEG_INFINITY; LANES], [f64::INFINITY; LANES]];
        for &group in groups {
            let ([low, high], width) = (&self.ends[group], self.widths[group]);
            // No number here is NaN, which min and max would look for.
            for lane in 0..LANES {
                let (from, to) = (high[lane] - width, low[lane] + width);
                least[lane] = if from > least[lane] { from } else { least[lane] };
                most[lane] = if to < most[lane] { to } else { most[lane] };
            }
        }
        [least, most]
    }
}

impl Bounds for Within {
    fn clear(&mut self) {
        self.at = 0;
        self.ends.fill(NONE);
        for &group in &self.first_groups {
            self.ends[group] = [[self.first; LANES]; 2];
        }
    }

    fn next(&self) -> [Lanes; 2] {
        self.bounds(&self.groups[self.at])
    }

    fn put(&mut self, values: &Lanes) {
        for &group in &self.groups[self.at] {
            let [low, high] = &mut self.ends[group];
            for lane in 0..LANES {
                let value = values[lane];
                low[lane] = if value < low[lane] { value } else { low[lane] };
                high[lane] = if value > high[lane] { value } else { high[lane] };
            }
        }
        self.at += 1;
    }
}
