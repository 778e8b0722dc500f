//! Guard bands: limits tightened pair by pair, so that what keeps within them on paper does so in
//! the room with the probability that is asked for.
//!
//! For the difference of two tops with standard uncertainty u and a limit w the guard band g is the
//! least with which every difference found up to w − g is within w with a probability of 1 − risk:
//! Φ(g/u) − Φ((g − 2w)/u) ≥ 1 − risk, which is g = Φ⁻¹(1 − risk) · u where w is many u (JCGM
//! 106:2012, 8.3).

use std::collections::BTreeMap;

use nalgebra::DMatrix;

use crate::covariance;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::Span;
use crate::normal;

/// What guard bands rest on.
pub(super) struct Guard {
    covariance: DMatrix<f64>,
    risk: f64,
}

impl Guard {
    /// The guard for a risk by the covariance, mm², of `count` heights; none where no risk is asked
    /// for.
    ///
    /// # Errors
    /// A risk that is none or lacks a covariance; a covariance that is none, though nobody asks for
    /// a risk.
    pub(super) fn of(
        covariance_mm2: Option<&[f64]>,
        risk: Option<f64>,
        count: usize,
    ) -> Result<Option<Self>, Error> {
        let mut found = Problems::default();
        found.take(risk.map_or(Ok(()), |risk| normal::check_risk(risk, "risk")));
        let covariance = match covariance_mm2 {
            Some(values) => found.take(covariance::semidefinite(values, count)),
            None => None,
        };
        if covariance_mm2.is_none() && risk.is_some() {
            let expected = "the covariance of the heights, which a risk needs";
            found.add(ProblemKind::Value, "covariance", "none", expected);
        }
        found.into_result()?;
        Ok(covariance.zip(risk).map(|(covariance, risk)| Self { covariance, risk }))
    }

    /// The limits with their guard bands: as they are where no pair needs one.
    ///
    /// # Errors
    /// A pair whose difference is known too coarsely for its limit.
    pub(super) fn tighten(&self, spans: Vec<Span>) -> Result<Vec<Span>, Error> {
        let mut guarded = Vec::new();
        // A pair counts by the tightest of its limits.
        let mut pairs: BTreeMap<[usize; 2], Span> = BTreeMap::new();
        let mut too_coarse: Option<(f64, [usize; 2], Length)> = None;
        for span in spans {
            let mut bands: Vec<([usize; 2], Length)> = Vec::new();
            for pair in span.pairs() {
                if let Some(band) = self.band(pair, span.width) {
                    bands.push((pair, band));
                    continue;
                }
                let much = self.sigma(pair) / span.width.mm();
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
            guarded.push(Span { width: span.width - least, ..span });
        }
        guarded.extend(pairs.into_values());
        match too_coarse {
            Some((_, pair, width)) => Err(self.too_coarse(pair, width)),
            None => Ok(guarded),
        }
    }

    fn too_coarse(&self, [a, b]: [usize; 2], width: Length) -> Error {
        // Both ends of the limit share the risk.
        let most = width.mm() / normal::quantile(1.0 - self.risk / 2.0);
        let sigma = self.sigma([a, b]);
        let got = format!("a standard uncertainty of {sigma:.6} mm between supports {a} and {b}");
        let expected =
            format!("at most {most:.6} mm for a limit of {width} at a risk of {}", self.risk);
        Error::new(ProblemKind::Value, "covariance", got, expected)
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
