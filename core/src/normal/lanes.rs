//! Φ and Φ⁻¹ for simulations that need them millions of times, good to 1e-8: sums, products and
//! quotients alone, so that many are made side by side, with the same digits on every machine.
//!
//! The polynomials were fitted for the least largest error (linear least squares of P − Q f, weighted
//! anew by 1/Q and by the errors until these are even: Sanathanan & Koerner 1963, Lawson 1961; both
//! from memory).

use std::f64::consts::{FRAC_1_SQRT_2, LOG2_E};

/// Beyond this Φ is as there: 1e-9 or 1 less that.
const FAR: f64 = 6.0;
/// (Φ(t) − ½)/t as a quotient in t², up to [`FAR`]: 1.4e-9 of Φ.
const BELOW: [[f64; 7]; 2] = [
    [
        3.989422896e-1,
        3.410225985e-2,
        4.957471145e-3,
        1.887847655e-4,
        9.428531097e-6,
        8.157437256e-8,
        0.0,
    ],
    [
        1.0,
        2.521485333e-1,
        2.945089651e-2,
        2.05457985e-3,
        9.064491245e-5,
        2.401740595e-6,
        4.576526611e-9,
    ],
];

/// Below 2 to this power, and as close to 1, Φ⁻¹ is as there.
const LEAST: i32 = -32;
/// Φ⁻¹(1 − p) as a quotient in −log₂ p, from p = ½ to 2^[`LEAST`]: 4.1e-9.
const ABOVE: [[f64; 8]; 2] = [
    [
        -2.08257214932,
        -7.0512738945,
        2.0692255049,
        5.63380386302,
        1.34997791039,
        7.97630690901e-2,
        1.07426430336e-3,
        1.52488198257e-6,
    ],
    [
        1.0,
        7.79760834295,
        10.1381642938,
        3.48543177812,
        3.53623594222e-1,
        9.82250026728e-3,
        5.12615529212e-5,
        0.0,
    ],
];
/// log₂(1 + f)/f, from 1 + f = √½ to √2: 1.2e-9 of the logarithm.
const LOG: [f64; 10] = [
    LOG2_E,
    -7.2134716012e-1,
    4.8089814544e-1,
    -3.6070881491e-1,
    2.8857917576e-1,
    -2.393928991e-1,
    2.0428940091e-1,
    -1.9235300228e-1,
    1.8839054097e-1,
    -1.0975120392e-1,
];

/// Φ.
#[inline(always)]
pub(crate) fn below<const N: usize>(t: &[f64; N]) -> [f64; N] {
    let mut below = *t;
    for t in &mut below {
        *t = if *t > -FAR { *t } else { -FAR };
        *t = if *t < FAR { *t } else { FAR };
        *t = 0.5 + *t * quotient(&BELOW, *t * *t);
    }
    below
}

/// Φ⁻¹ of numbers from 0 to 1, kept finite.
#[inline(always)]
pub(crate) fn quantiles<const N: usize>(p: &[f64; N]) -> [f64; N] {
    // Step by step for all of them, since in each step the next ones need not wait.
    let mut powers = *p;
    for p in &mut powers {
        let tail = if *p < 0.5 { *p } else { 1.0 - *p };
        let least = f64::from_bits(((1023 + LEAST) as u64) << 52);
        *p = -log2(if tail > least { tail } else { least });
    }
    let mut quantiles = powers;
    for lane in 0..N {
        let above = quotient(&ABOVE, powers[lane]);
        quantiles[lane] = if p[lane] < 0.5 { -above } else { above };
    }
    quantiles
}

/// log₂ of a number from 2^[`LEAST`] to 1.
#[inline(always)]
fn log2(p: f64) -> f64 {
    /// A whole number below 2⁵² as the last bits of this one is added to it.
    const WHOLE: f64 = (1_u64 << 52) as f64;
    const MORE: u64 = 1024;
    // The power of 2 next to it, and what is left: √½ ≤ m < √2.
    let from_half = p.to_bits() + (MORE << 52) - FRAC_1_SQRT_2.to_bits();
    let m = f64::from_bits((from_half & ((1 << 52) - 1)) + FRAC_1_SQRT_2.to_bits());
    let power = f64::from_bits(WHOLE.to_bits() | from_half >> 52) - (WHOLE + MORE as f64);
    power + (m - 1.0) * polynomial(&LOG, m - 1.0)
}

#[inline(always)]
fn quotient<const N: usize>([above, below]: &[[f64; N]; 2], x: f64) -> f64 {
    polynomial(above, x) / polynomial(below, x)
}

/// Pairs first, so that the sum is known sooner than term by term (Estrin 1960; from memory).
#[inline(always)]
fn polynomial<const N: usize>(coefficients: &[f64; N], x: f64) -> f64 {
    let pair = |at: usize| match coefficients.get(at..at + 2) {
        Some(pair) => pair[0] + pair[1] * x,
        None => coefficients[at],
    };
    let xx = x * x;
    let mut sum = 0.0;
    for at in (0..N).step_by(4).rev() {
        let low = pair(at);
        let four = if at + 2 < N { low + pair(at + 2) * xx } else { low };
        sum = if at + 4 < N { sum * (xx * xx) + four } else { four };
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::super as exact;
    use super::*;

    #[test]
    fn they_are_as_good_as_they_say() {
        for at in -9000..=9000 {
            let t = f64::from(at) / 1000.0;
            let [found] = below(&[t]);
            assert!((found - exact::below(t)).abs() < 1e-8, "{t}");
        }
        for at in 1..50_000 {
            let p = f64::from(at) / 50_000.0;
            let [found] = quantiles(&[p]);
            assert!((found - exact::quantile(p)).abs() < 1e-8, "{p}");
        }
        for power in 0..210 {
            let p = 0.5 * 0.905_f64.powi(power);
            let [low, high] = quantiles(&[p, 1.0 - p]);
            assert!((low - exact::quantile(p)).abs() < 1e-8, "{p}");
            assert!((high - exact::quantile(1.0 - p)).abs() < 1e-7, "{p}");
        }
        assert!(quantiles(&[0.0, 1.0]).iter().all(|t| t.is_finite() && t.abs() > 6.0));
    }
}
