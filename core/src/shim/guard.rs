//! Guard bands: limits tightened pair by pair, so that what keeps within them on paper does so in
//! the room with the probability that is asked for.
//!
//! For the difference of two tops with standard uncertainty u and a limit w the guard band g is the
//! least with which every difference found up to w − g is within w with a probability of 1 − risk:
//! Φ(g/u) − Φ((g − 2w)/u) ≥ 1 − risk, which is g = Φ⁻¹(1 − risk) · u where w is many u (JCGM
//! 106:2012, 8.3).

use std::collections::BTreeMap;

use nalgebra::DMatrix;

use super::problem::ShimProblem;
use crate::covariance;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Span;
use crate::normal;

/// The limits with their guard bands; as they are where none is asked for.
pub(super) fn guarded(problem: &ShimProblem, spans: Vec<Span>) -> Vec<Span> {
    let Some(guard) = Guard::new(problem) else { return spans };
    let mut guarded = Vec::new();
    // A pair counts by the tightest of its limits.
    let mut pairs: BTreeMap<[usize; 2], Span> = BTreeMap::new();
    for span in spans {
        let bands: Vec<([usize; 2], Length)> = span
            .pairs()
            .map(|pair| (pair, guard.band(pair, span.width).unwrap_or(span.width)))
            .collect();
        let least = bands.iter().map(|(_, band)| *band).min().unwrap_or_default();
        for (pair, band) in bands.into_iter().filter(|(_, band)| *band > least) {
            let tight = Span { limit: span.limit, members: pair.into(), width: span.width - band };
            let kept = pairs.entry(pair).or_insert_with(|| tight.clone());
            if tight.width < kept.width {
                *kept = tight;
            }
        }
        guarded.push(Span { width: span.width - least, ..span });
    }
    guarded.extend(pairs.into_values());
    guarded
}

/// Finds what is wrong with the covariance and the risk, and pairs that cannot be guarded.
pub(super) fn check(problem: &ShimProblem, found: &mut Problems) {
    let count = problem.supports.len();
    let risk = problem.options.risk;
    found.take(risk.map_or(Ok(()), |risk| check_risk(risk, "risk")));
    match &problem.covariance_mm2 {
        Some(values) => {
            found.take(covariance::semidefinite(values, count));
        }
        None if risk.is_some() => {
            let expected = "the covariance of the heights, which a risk needs";
            found.add(ProblemKind::Value, "covariance", "none", expected);
        }
        None => {}
    }
}

/// Finds pairs that are known too coarsely for their limits, of a problem without other faults.
pub(super) fn check_bands(problem: &ShimProblem) -> Result<(), Error> {
    let Some(guard) = Guard::new(problem) else { return Ok(()) };
    let mut worst: Option<(f64, [usize; 2], Length)> = None;
    for span in problem.limits.spans(&problem.places(), &problem.joints) {
        for pair in span.pairs() {
            let much = guard.sigma(pair) / span.width.mm();
            if guard.band(pair, span.width).is_none() && worst.is_none_or(|(most, ..)| much > most)
            {
                worst = Some((much, pair, span.width));
            }
        }
    }
    let Some((_, [a, b], width)) = worst else { return Ok(()) };
    // Both ends of the limit share the risk.
    let most = width.mm() / normal::quantile(1.0 - guard.risk / 2.0);
    let sigma = guard.sigma([a, b]);
    let got = format!("a standard uncertainty of {sigma:.6} mm between supports {a} and {b}");
    let expected =
        format!("at most {most:.6} mm for a limit of {width} at a risk of {}", guard.risk);
    Err(Error::new(ProblemKind::Value, "covariance", got, expected))
}

/// That a risk is one.
pub(crate) fn check_risk(risk: f64, field: &str) -> Result<(), Error> {
    if risk > 0.0 && risk < 0.5 {
        return Ok(());
    }
    let expected = "a probability above 0 and below 0.5";
    Err(Error::new(ProblemKind::Value, field, risk, expected))
}

struct Guard {
    covariance: DMatrix<f64>,
    risk: f64,
}

impl Guard {
    fn new(problem: &ShimProblem) -> Option<Self> {
        let count = problem.supports.len();
        let covariance = DMatrix::from_row_slice(count, count, problem.covariance_mm2.as_ref()?);
        Some(Self { covariance, risk: problem.options.risk? })
    }

    fn sigma(&self, [a, b]: [usize; 2]) -> f64 {
        covariance::sigma_of_difference(&self.covariance, a, b)
    }

    /// The guard band of a pair, up to the next whole nanometre; none where no difference at all is
    /// within the limit surely enough.
    fn band(&self, pair: [usize; 2], width: Length) -> Option<Length> {
        /// Further out than this many standard uncertainties the other end does not count.
        const FAR: f64 = 9.0;
        let sigma = self.sigma(pair);
        if sigma == 0.0 {
            return Some(Length::ZERO);
        }
        let limit = width.mm() / sigma;
        let sure = |band: f64| {
            1.0 - normal::below(-band) - normal::below(band - 2.0 * limit) >= 1.0 - self.risk
        };
        let mut band = normal::quantile(1.0 - self.risk);
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
}
