//! Guard bands: limits tightened pair by pair, so that what keeps within them on paper does so in
//! the room with the probability that is asked for.
//!
//! For the difference of two tops with standard uncertainty u and a limit w the guard band g is the
//! least with which every difference found up to w − g is within w with a probability of 1 − risk:
//! Φ(g/u) − Φ((g − 2w)/u) ≥ 1 − risk, which is g = Φ⁻¹(1 − risk) · u where w is many u (JCGM
//! 106:2012, 8.3).
//!
//! u is that of the heights and of the pieces put in or taken out. What a piece adds depends on the
//! plan, so a band is known for a plan; for a part of all plans (`pieces`) there is a least band, and
//! that makes a bound (`guarded`).

use std::collections::BTreeMap;

use nalgebra::DMatrix;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pieces::Pieces;
use super::placed::Placed;
use crate::covariance;
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Span;
use crate::normal;
use crate::simulation::{self, Chance};
use crate::stock::Shim;

/// What a risk holds for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum RiskOf {
    /// Each difference of tops that a limit binds is within it with a probability of at least one
    /// less the risk. All limits together are met less often.
    #[default]
    Each,
    /// All limits together are met with a probability of at least one less the risk, by simulation.
    /// A plan that is not proven to be the best of those has the status `budget` and a bound.
    All,
}

impl RiskOf {
    pub(super) fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

/// What guard bands rest on.
pub(super) struct Guard {
    covariance: DMatrix<f64>,
    risk: f64,
    risk_of: RiskOf,
    /// The variance of a piece of each kind, mm²: its own part, and the part that all pieces of the
    /// kind share.
    kinds: Vec<[f64; 2]>,
    /// Pieces of each kind in place under each support.
    in_place: Vec<Vec<u32>>,
}

/// A pair of supports whose difference is too uncertain for a limit: by how much, the pair, and the
/// limit.
type TooCoarse = (f64, [usize; 2], Length);

impl Guard {
    /// The guard for a risk, from the covariance, mm², of `count` heights. None where no risk is
    /// asked for.
    ///
    /// # Errors
    /// A risk that is none or lacks a covariance; a covariance that is none, though nobody asks for
    /// a risk; that the time is over.
    pub(super) fn of(
        covariance_mm2: Option<&[f64]>,
        risk: Option<f64>,
        count: usize,
        deadline: &Deadline<'_>,
    ) -> Result<Option<Self>, Error> {
        let mut found = Problems::default();
        found.take(risk.map_or(Ok(()), |risk| normal::check_risk(risk, "risk")));
        let covariance = match covariance_mm2 {
            Some(values) => found.take(covariance::semidefinite_until(values, count, deadline)),
            None => None,
        };
        if covariance_mm2.is_none() && risk.is_some() {
            let expected = "the covariance of the heights, which a risk needs";
            found.add(ProblemKind::Value, "covariance", "none", expected);
        }
        found.into_result()?;
        let guard = |(covariance, risk)| Self {
            covariance,
            risk,
            risk_of: RiskOf::Each,
            kinds: Vec::new(),
            in_place: Vec::new(),
        };
        Ok(covariance.zip(risk).map(guard))
    }

    /// The same, with the variance that pieces add. The pieces are those of a stock, in its order.
    pub(super) fn with_pieces(
        self,
        risk_of: RiskOf,
        stock: &[Shim],
        placed: Option<&Placed>,
    ) -> Self {
        let of = |shim: &Shim| {
            [shim.sigma, shim.common_sigma].map(|sigma| (sigma.mm() * shim.loaded_factor).powi(2))
        };
        let none = || vec![Vec::new(); self.covariance.nrows()];
        let stacks = placed.map_or_else(none, |placed| placed.stacks.clone());
        let count =
            |stack: &Vec<usize>, kind| stack.iter().filter(|&&of| of == kind).count() as u32;
        let counts = |stack: &Vec<usize>| (0..stock.len()).map(|kind| count(stack, kind)).collect();
        let in_place = stacks.iter().map(counts).collect();
        Self { risk_of, kinds: stock.iter().map(of).collect(), in_place, ..self }
    }

    /// Whether the bands depend on the plan, or the risk is a joint one of all limits. If so,
    /// limits that are tightened before the search do not settle it.
    pub(super) fn rests_on_the_plan(&self) -> bool {
        self.risk_of == RiskOf::All || self.kinds.iter().flatten().any(|&variance| variance > 0.0)
    }

    pub(super) fn is_joint(&self) -> bool {
        self.risk_of == RiskOf::All
    }

    pub(super) fn risk(&self) -> f64 {
        self.risk
    }

    /// The limits with the guard bands that all plans need: as they are where no pair needs one.
    ///
    /// # Errors
    /// A pair whose difference is known too coarsely for its limit, whatever the plan.
    pub(super) fn tighten(&self, spans: &[Span]) -> Result<Vec<Span>, Error> {
        let sigma = |pair| self.sigma(pair);
        self.tightened(spans, self.risk, &sigma)
            .map_err(|(_, pair, width)| self.too_coarse(pair, width))
    }

    /// The limits with the least guard bands of the plans that have so many pieces; none where no
    /// band is wide enough.
    pub(super) fn tighten_within(&self, spans: &[Span], pieces: &Pieces) -> Option<Vec<Span>> {
        let sigma = |pair| (self.sigma(pair).powi(2) + self.least_of_pieces(pieces, pair)).sqrt();
        self.tightened(spans, self.risk, &sigma).ok()
    }

    /// The limits with the guard bands, at a risk, of a plan whose pieces have this covariance; none
    /// where no band is wide enough.
    pub(super) fn tighten_for(
        &self,
        spans: &[Span],
        risk: f64,
        of_pieces: &DMatrix<f64>,
    ) -> Option<Vec<Span>> {
        let covariance = &self.covariance + of_pieces;
        let sigma = |[a, b]: [usize; 2]| covariance::sigma_of_difference(&covariance, a, b);
        self.tightened(spans, risk, &sigma).ok()
    }

    fn tightened(
        &self,
        spans: &[Span],
        risk: f64,
        sigma: &dyn Fn([usize; 2]) -> f64,
    ) -> Result<Vec<Span>, TooCoarse> {
        let mut guarded = Vec::new();
        // A pair counts by the tightest of its limits.
        let mut pairs: BTreeMap<[usize; 2], Span> = BTreeMap::new();
        let mut too_coarse: Option<TooCoarse> = None;
        for span in spans {
            let mut bands: Vec<([usize; 2], Length)> = Vec::new();
            for pair in span.pairs() {
                let sigma = sigma(pair);
                if let Some(band) = band(sigma, span.width, risk) {
                    bands.push((pair, band));
                    continue;
                }
                let much = sigma / span.width.mm();
                if too_coarse.is_none_or(|(most, ..)| much > most) {
                    too_coarse = Some((much, pair, span.width));
                }
            }
            let least = bands.iter().map(|(_, band)| *band).min().unwrap_or_default();
            for (pair, band) in bands.into_iter().filter(|(_, band)| *band > least) {
                let tight =
                    Span { limit: span.limit, members: pair.into(), width: span.width - band };
                let kept = pairs.entry(pair).or_insert_with(|| tight.clone());
                if tight.width < kept.width {
                    *kept = tight;
                }
            }
            guarded.push(Span { width: span.width - least, ..span.clone() });
        }
        guarded.extend(pairs.into_values());
        too_coarse.map_or(Ok(guarded), Err)
    }

    /// The pairs of a plan that exceed their limits less their bands, by how much, the largest
    /// first.
    pub(super) fn beyond(
        &self,
        spans: &[Span],
        heights: &[Length],
        of_pieces: &DMatrix<f64>,
    ) -> Vec<[usize; 2]> {
        let covariance = &self.covariance + of_pieces;
        let mut beyond = Vec::new();
        for span in spans {
            for [a, b] in span.pairs() {
                let found = (heights[a] - heights[b]).abs();
                let sigma = covariance::sigma_of_difference(&covariance, a, b);
                let allowed = band(sigma, span.width, self.risk).map(|band| span.width - band);
                match allowed {
                    Some(allowed) if found <= allowed => (),
                    Some(allowed) => beyond.push(((found - allowed).mm() / sigma, [a, b])),
                    None => beyond.push((f64::INFINITY, [a, b])),
                }
            }
        }
        beyond.sort_by(|(a, _), (b, _)| b.total_cmp(a));
        beyond.into_iter().map(|(_, pair)| pair).collect()
    }

    /// Whether all limits together are met with a probability of one less the risk, by simulation.
    /// The simulation's own uncertainty is subtracted first. False where there was no time to tell.
    pub(super) fn is_sure(
        &self,
        spans: &[Span],
        heights: &[Length],
        of_pieces: &DMatrix<f64>,
        deadline: &Deadline<'_>,
    ) -> bool {
        /// So many standard errors are taken off.
        const SURE: f64 = 3.0;
        const FINE: f64 = 2.5e-4;
        let lowest = heights.iter().min().copied().unwrap_or_default();
        let mm: Vec<f64> = heights.iter().map(|&height| (height - lowest).mm()).collect();
        let covariance = &self.covariance + of_pieces;
        let above_first = DMatrix::from_fn(mm.len() - 1, mm.len() - 1, |a, b| {
            let of = |i: usize, j: usize| covariance[(i, j)];
            of(a + 1, b + 1) - of(a + 1, 0) - of(b + 1, 0) + of(0, 0)
        });
        let least = 1.0 - self.risk;
        let is_enough = |chance: Chance| {
            chance.error <= FINE || (chance.probability - least).abs() > SURE * chance.error
        };
        let keeps = |span: &Span, drawn: &[f64]| {
            let of = |&at: &usize| if at == 0 { mm[0] } else { drawn[at - 1] };
            let ends = span
                .members
                .iter()
                .map(of)
                .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], height| {
                    [low.min(height), high.max(height)]
                });
            // What is exact keeps what rounding takes off it.
            ends[1] - ends[0] <= span.width.mm() + 1e-9
        };
        let root = simulation::root(&above_first, deadline);
        let chance = simulation::frequency(&mm[1..], &root, deadline, is_enough, |drawn| {
            spans.iter().all(|span| keeps(span, drawn))
        });
        deadline.spend(0).is_ok() && chance.probability - SURE * chance.error >= least
    }

    /// The least that pieces can add to the variance of a difference, mm².
    fn least_of_pieces(&self, pieces: &Pieces, [a, b]: [usize; 2]) -> f64 {
        let of = |kind: usize| {
            let [own, common] = self.kinds[kind];
            let [of_a, of_b] = [a, b].map(|at| self.change(pieces, at, kind));
            let moved = |[from, to]: [f64; 2]| if from > 0.0 { from } else { (-to).max(0.0) };
            let apart = (of_a[0] - of_b[1]).max(of_b[0] - of_a[1]).max(0.0);
            (moved(of_a) + moved(of_b)) * own + apart * apart * common
        };
        (0..self.kinds.len()).map(of).sum()
    }

    /// The most that fixing the number of pieces of a kind under a support can add to that
    /// variance.
    pub(super) fn worth_fixing(
        &self,
        pieces: &Pieces,
        [a, b]: [usize; 2],
        kind: usize,
        counts: [u32; 2],
    ) -> f64 {
        let [own, common] = self.kinds[kind];
        let [of_a, of_b] = [a, b].map(|at| self.change(pieces, at, kind));
        let change = |at: usize, count: u32| f64::from(count) - f64::from(self.in_place[at][kind]);
        let [to_a, to_b] = [change(a, counts[0]), change(b, counts[1])];
        let moved = |[from, to]: [f64; 2]| if from > 0.0 { from } else { (-to).max(0.0) };
        let apart = (of_a[0] - of_b[1]).max(of_b[0] - of_a[1]).max(0.0);
        (to_a.abs() - moved(of_a)) * own + ((to_a - to_b).powi(2) - apart * apart) * common
    }

    /// The least and the greatest number of pieces beyond those in place.
    fn change(&self, pieces: &Pieces, support: usize, kind: usize) -> [f64; 2] {
        let in_place = f64::from(self.in_place[support][kind]);
        pieces.of(support, kind).map(|count| f64::from(count) - in_place)
    }

    fn too_coarse(&self, [a, b]: [usize; 2], width: Length) -> Error {
        // Both ends of the limit share the risk.
        let most = width.mm() / normal::quantile(1.0 - self.risk / 2.0);
        let sigma = self.sigma([a, b]);
        let got = format!("a standard uncertainty of {sigma:.6} mm of the difference");
        let expected =
            format!("at most {most:.6} mm for a limit of {width} at a risk of {}", self.risk);
        Error::new(ProblemKind::Value, format!("covariance[{a}, {b}]"), got, expected)
    }

    fn sigma(&self, [a, b]: [usize; 2]) -> f64 {
        covariance::sigma_of_difference(&self.covariance, a, b)
    }
}

/// The guard band, at a risk, of a difference with this standard uncertainty in mm, rounded up to a
/// whole nanometre. None where no difference at all is surely enough within the limit.
fn band(sigma: f64, width: Length, risk: f64) -> Option<Length> {
    /// Beyond this many standard uncertainties the other end of the limit no longer counts.
    const FAR: f64 = 9.0;
    if sigma == 0.0 {
        return Some(Length::ZERO);
    }
    let limit = width.mm() / sigma;
    let sure =
        |band: f64| 1.0 - normal::below(-band) - normal::below(band - 2.0 * limit) >= 1.0 - risk;
    let mut band = normal::quantile(1.0 - risk);
    if band > limit || 2.0 * limit - band < FAR {
        if !sure(limit) {
            return None;
        }
        // Sure at the far end of an interval and not at the near one, which is halved.
        let (mut near, mut far) = (band.min(limit), limit);
        for _ in 0..60 {
            let middle = 0.5 * (near + far);
            if sure(middle) { far = middle } else { near = middle }
        }
        band = far;
    }
    let nm = (band * sigma * 1e6).ceil() as i64;
    Some(Length::from_nm(nm).min(width))
}
