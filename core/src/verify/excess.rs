//! How far heights that were read are beyond their limits, compared with what chance alone does to
//! heights that meet them.
//!
//! A test of the maximum type: over the pairs that limits bind, T = max (|zᵢ − zⱼ| − w) / σᵢⱼ. If the
//! true heights meet the limits, no pair is truly further apart than w, so T is at most
//! max |eᵢ − eⱼ| / σᵢⱼ, whose distribution is simulated (of equal and independent errors it is that of
//! the studentized range over √2, Tukey's simultaneous intervals; Miller, Simultaneous Statistical
//! Inference, 1981, from memory). Above the target's slope T is the least of all slopes that the limits
//! allow, since the true heights meet the limits above one of them.

use super::errors::Errors;
use super::rule::DecisionRule;
use super::slopes::Slopes;
use crate::length::Length;
use crate::limits::Span;
use crate::normal;
use crate::simulation::{self, Chance, root};

/// Two points that a limit binds, with the standard uncertainty of their difference, mm.
struct Pair {
    ends: [usize; 2],
    width: Length,
    sigma: f64,
}

/// An upper bound on the probability that any of a number of pairs is off by `beyond` standard
/// uncertainties.
fn bound(pairs: usize, beyond: f64) -> f64 {
    2.0 * pairs as f64 * normal::below(-beyond)
}

impl Errors<'_> {
    /// An upper bound on [`Errors::excess`] for a level target, without simulation (Bonferroni).
    pub(super) fn excess_at_most(&self, spans: &[Span]) -> Chance {
        let pairs = self.pairs(spans);
        match self.beyond(&pairs) {
            None => Chance::exact(0.0),
            Some(beyond) => Chance::exact(bound(pairs.len(), beyond).min(1.0)),
        }
    }

    /// The probability of heights read at least so far beyond the limits although the true heights
    /// meet them: at most this. It is 1 for heights within the limits.
    pub(super) fn excess(
        &self,
        spans: &[Span],
        slopes: Option<&Slopes>,
        rule: DecisionRule,
    ) -> Chance {
        let pairs = self.pairs(spans);
        let beyond = match slopes {
            None => self.beyond(&pairs),
            Some(slopes) => self.beyond_above(&pairs, slopes),
        };
        let Some(beyond) = beyond else { return Chance::exact(0.0) };
        if beyond <= 0.0 {
            return Chance::exact(1.0);
        }
        let uncertain: Vec<&Pair> = pairs.iter().filter(|pair| pair.sigma > 0.0).collect();
        if let ([only], None) = (&uncertain[..], slopes) {
            let other_end = -beyond - 2.0 * only.width.mm() / only.sigma;
            return Chance::exact(normal::below(-beyond) + normal::below(other_end));
        }
        // Bonferroni's bound, where it is small enough to say it all.
        const SMALL: f64 = 1e-3;
        let bound = bound(uncertain.len(), beyond);
        if bound <= SMALL {
            return Chance::exact(bound);
        }
        let mut points: Vec<usize> = uncertain.iter().flat_map(|pair| pair.ends).collect();
        points.sort_unstable();
        points.dedup();
        let place = |point: usize| points.partition_point(|&other| other < point);
        let limits: Vec<(usize, usize, f64)> = (uncertain.iter())
            .map(|Pair { ends: [a, b], sigma, .. }| (place(*a), place(*b), beyond * sigma))
            .collect();
        let (first, others) = (points[0], &points[1..]);
        let root = root(&self.differences(first, others), self.deadline);
        let mut errors = vec![0.0; points.len()];
        let is_beyond = |drawn: &[f64]| {
            errors[1..].copy_from_slice(drawn);
            limits.iter().any(|&(a, b, limit)| (errors[a] - errors[b]).abs() >= limit)
        };
        let means = vec![0.0; others.len()];
        let settled = |chance| rule.is_settled(chance);
        simulation::frequency(&means, &root, self.deadline, settled, is_beyond)
    }

    /// All pairs that limits bind, each by the tightest of them.
    fn pairs(&self, spans: &[Span]) -> Vec<Pair> {
        let mut all = Vec::new();
        for span in spans {
            for [a, b] in span.pairs() {
                all.push(([a.min(b), a.max(b)], span.width));
            }
        }
        all.sort_unstable();
        all.dedup_by_key(|(ends, _)| *ends);
        let pair = |(ends, width): ([usize; 2], Length)| Pair {
            ends,
            width,
            sigma: self.sigma(ends[0], ends[1]),
        };
        all.into_iter().map(pair).collect()
    }

    /// The greatest distance beyond a limit, in standard uncertainties; none where a difference that
    /// is known exactly is beyond its limit.
    fn beyond(&self, pairs: &[Pair]) -> Option<f64> {
        pairs.iter().try_fold(f64::NEG_INFINITY, |most, &Pair { ends: [a, b], width, sigma }| {
            let beyond = (self.heights[a] - self.heights[b]).abs() - width;
            match sigma > 0.0 {
                true => Some(most.max(beyond.mm() / sigma)),
                false if beyond > Length::ZERO => None,
                false => Some(most),
            }
        })
    }

    /// The least of that above the slopes that are allowed.
    fn beyond_above(&self, pairs: &[Pair], slopes: &Slopes) -> Option<f64> {
        /// Halves of an interval.
        const HALVES: usize = 30;
        /// A height that could be within its limit is no further beyond it than this, in standard
        /// uncertainties.
        const FAR: f64 = 40.0;
        let meets = |by: f64| {
            let widened = pairs.iter().map(|pair| Span {
                limit: crate::limits::LimitKind::Named,
                members: pair.ends.to_vec(),
                width: pair.width
                    + Length::from_nm((by * pair.sigma * 1e6).min(1e15).ceil() as i64),
            });
            slopes.some_meets(&self.mm, &widened.collect::<Vec<_>>(), self.deadline)
        };
        if meets(0.0) {
            return Some(0.0);
        }
        if !meets(FAR) {
            return None;
        }
        let (mut low, mut high) = (0.0, FAR);
        for _ in 0..HALVES {
            let middle = 0.5 * (low + high);
            if meets(middle) { high = middle } else { low = middle }
        }
        Some(low)
    }
}
