//! Φ and Φ⁻¹ from tables, for simulations that need them millions of times: Taylor's series about the
//! nearest node, good to 1e-8.

use std::sync::LazyLock;

use super::{below, density, quantile};

/// Beyond this Φ is 0 or 1 to 1e-15.
const FAR: f64 = 8.0;
/// Intervals of a table in each unit of t,
const FINE: f64 = 16.0;
/// and of p.
const FINE_P: f64 = 512.0;
/// Beyond this, from either end, Φ⁻¹ is too steep for a table.
const END: f64 = 1.0 / 32.0;

/// At a node: Φ or Φ⁻¹, and its first derivatives over 1, 2, 6, 24, for steps of a node.
type Node = [f64; 5];

static BELOW: LazyLock<Vec<Node>> = LazyLock::new(|| {
    let node = |at: u32| {
        let t = f64::from(at) / FINE - FAR;
        let slope = density(t) / FINE;
        let third = (t * t - 1.0) * slope / (6.0 * FINE.powi(2));
        let fourth = t * (3.0 - t * t) * slope / (24.0 * FINE.powi(3));
        [below(t), slope, -0.5 * t * slope / FINE, third, fourth]
    };
    (0..=(2.0 * FAR * FINE) as u32).map(node).collect()
});

static QUANTILES: LazyLock<Vec<Node>> = LazyLock::new(|| {
    let node = |at: u32| {
        let t = quantile((f64::from(at) / FINE_P).clamp(END / 2.0, 1.0 - END / 2.0));
        let slope = 1.0 / density(t) / FINE_P;
        let third = (1.0 + 2.0 * t * t) * slope.powi(3) / 6.0;
        let fourth = t * (7.0 + 6.0 * t * t) * slope.powi(4) / 24.0;
        [t, slope, 0.5 * t * slope * slope, third, fourth]
    };
    (0..=FINE_P as u32).map(node).collect()
});

/// The tables, looked up once.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Table {
    below: &'static [Node],
    quantiles: &'static [Node],
}

impl Table {
    pub(crate) fn new() -> Self {
        Self { below: &BELOW, quantiles: &QUANTILES }
    }

    /// Φ.
    #[inline]
    pub(crate) fn below(&self, t: f64) -> f64 {
        let t = if t > -FAR { t } else { -FAR };
        let t = if t < FAR { t } else { FAR };
        expand(self.below, (t + FAR) * FINE)
    }

    /// Φ⁻¹ of a number from 0 to 1, kept finite.
    #[inline]
    pub(crate) fn quantile(&self, p: f64) -> f64 {
        if p > END && p < 1.0 - END {
            expand(self.quantiles, p * FINE_P)
        } else {
            quantile(p.clamp(1e-300, 1.0 - 1e-16))
        }
    }
}

/// Taylor's series about the nearest node.
#[inline]
fn expand(nodes: &[Node], place: f64) -> f64 {
    let at = (place + 0.5) as u32;
    let t = place - f64::from(at);
    let [value, first, second, third, fourth] = nodes[at as usize];
    value + t * (first + t * (second + t * (third + t * fourth)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_are_as_good_as_they_say() {
        let table = Table::new();
        for at in -9000..=9000 {
            let t = f64::from(at) / 1000.0;
            assert!((table.below(t) - below(t)).abs() < 1e-8, "{t}");
        }
        for at in 1..50_000 {
            let p = f64::from(at) / 50_000.0;
            assert!((table.quantile(p) - quantile(p)).abs() < 1e-8, "{p}");
        }
        assert!(table.quantile(0.0).is_finite() && table.quantile(1.0).is_finite());
    }
}
