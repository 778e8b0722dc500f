//! How the values of a sample are distributed.

/// The smallest value that at least a part `p` of the values do not exceed, without those that are NaN;
/// NaN where there is none, or unless 0 ≤ p ≤ 1.
pub fn quantile(values: &[f64], p: f64) -> f64 {
    Distribution::new(values).map_or(f64::NAN, |of| of.quantile(p))
}

/// Values that were drawn, without those that are not known: at least one.
#[derive(Debug, Clone, PartialEq)]
pub struct Distribution {
    /// The smallest first.
    sorted: Vec<f64>,
}

impl Distribution {
    /// The most bars of a histogram.
    const MOST_BARS: usize = 24;

    /// From values of which the unknown ones are NaN. None where no value is known.
    pub fn new(values: &[f64]) -> Option<Self> {
        let mut sorted: Vec<f64> = values.iter().copied().filter(|it| !it.is_nan()).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        (!sorted.is_empty()).then_some(Self { sorted })
    }

    /// How many values there are.
    pub fn count(&self) -> usize {
        self.sorted.len()
    }

    /// The mean of the values.
    pub fn mean(&self) -> f64 {
        self.sorted.iter().sum::<f64>() / self.sorted.len() as f64
    }

    /// The smallest value that at least a part `p` of the values do not exceed; NaN unless 0 ≤ p ≤ 1.
    pub fn quantile(&self, p: f64) -> f64 {
        if !(0.0..=1.0).contains(&p) {
            return f64::NAN;
        }
        let at = (p * self.sorted.len() as f64).ceil() as usize;
        self.sorted[at.saturating_sub(1)]
    }

    /// The part of the values that are below this one, and the part that do not exceed it.
    pub fn place(&self, value: f64) -> [f64; 2] {
        let part = |count: usize| count as f64 / self.sorted.len() as f64;
        [
            part(self.sorted.partition_point(|it| *it < value)),
            part(self.sorted.partition_point(|it| *it <= value)),
        ]
    }

    /// Where each bar of a histogram begins and how many values are in it. All bars are as wide as the
    /// second number says: one for whole numbers that are near enough together.
    pub fn histogram(&self) -> (Vec<(f64, usize)>, f64) {
        let (least, most) = (self.quantile(0.0), self.quantile(1.0));
        let whole = self.sorted.iter().all(|value| value.fract() == 0.0);
        let range = most - least + f64::from(u8::from(whole));
        // No bar is so narrow that rounding moves values from one to the next.
        let least_width = most.abs().max(least.abs()) * 1e-9;
        let width = round_step((range / Self::MOST_BARS as f64).max(least_width), whole);
        let first = (least / width).floor() * width;
        let bars = ((most - first) / width).floor() as usize + 1;
        let mut counts = vec![0; bars];
        for value in &self.sorted {
            let bar = ((value - first) / width).floor() as usize;
            counts[bar.min(bars - 1)] += 1;
        }
        let begin = |at: usize| first + at as f64 * width;
        (counts.into_iter().enumerate().map(|(at, count)| (begin(at), count)).collect(), width)
    }
}

/// The smallest 1, 2 or 5 times a power of ten that is at least so much, and a whole number where
/// that is asked.
fn round_step(least: f64, whole: bool) -> f64 {
    let mut ten = if whole { 1.0 } else { 1e-6 };
    while ten < f64::MAX / 100.0 {
        if let Some(step) = [ten, 2.0 * ten, 5.0 * ten].into_iter().find(|step| *step >= least) {
            return step;
        }
        ten *= 10.0;
    }
    ten
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_and_places() {
        let values = [4.0, f64::NAN, 1.0, 2.0, 2.0];
        let of = Distribution::new(&values).unwrap();
        assert_eq!(of.count(), 4);
        assert_eq!(
            [0.0, 0.25, 0.5, 0.75, 0.76, 1.0].map(|p| of.quantile(p)),
            [1., 1., 2., 2., 4., 4.]
        );
        assert_eq!(of.place(2.0), [0.25, 0.75]);
        assert_eq!(of.place(0.0), [0.0, 0.0]);
        assert_eq!(of.mean(), 2.25);
        assert!(of.quantile(1.1).is_nan() && quantile(&[], 0.5).is_nan());
    }

    #[test]
    fn histograms_hold_every_value() {
        for values in [vec![3.0], vec![0.0, 1.0, 5.0], vec![0.1, 0.30001, 17.0], vec![0.0; 9]] {
            let of = Distribution::new(&values).unwrap();
            let (bars, width) = of.histogram();
            assert_eq!(bars.iter().map(|(_, count)| count).sum::<usize>(), values.len());
            assert!(bars.len() <= Distribution::MOST_BARS + 1, "{values:?}: {bars:?}");
            for value in &values {
                let within = |(from, count): &(f64, usize)| {
                    *count > 0 && from - 1e-9 <= *value && *value < from + width + 1e-9
                };
                assert!(bars.iter().any(within));
            }
        }
        let (bars, width) = Distribution::new(&[0.0, 1.0, 5.0]).unwrap().histogram();
        assert_eq!((bars.len(), width), (6, 1.0));
    }
}
