//! Kinds of shim, and stocks of them.

use truebed::{Length, Shim};

use crate::floor::Floor;

/// Nanometres in a thousandth of an inch.
pub const THOU: i64 = 25_400;

/// The nine inch kinds: .002, .003, .005, .010, .015, .020, 1/32, 1/16 and 1/8 in.
pub const INCH: [i64; 9] =
    [2 * THOU, 3 * THOU, 5 * THOU, 10 * THOU, 15 * THOU, 20 * THOU, 793_750, 1_587_500, 3_175_000];

/// The nine inch kinds in whole micrometres.
pub const MICRON: [i64; 9] =
    [51_000, 76_000, 127_000, 254_000, 381_000, 508_000, 794_000, 1_588_000, 3_175_000];

/// Metric and inch kinds of nearly the same thickness: .25 mm, .010 in, .26 mm, .5 mm, .020 in,
/// 1 mm, .040 in.
pub const NEAR_EQUAL: [i64; 7] =
    [250_000, 10 * THOU, 260_000, 500_000, 20 * THOU, 1_000_000, 40 * THOU];

/// Primes in micrometres: no two stacks of few pieces are equally thick.
pub const PRIMES: [i64; 6] = [53_000, 101_000, 211_000, 503_000, 1_009_000, 2_003_000];

/// The pieces of each kind that a floor needs: the gap of every support to the highest one,
/// filled from the thickest kind down, as many of each as fit, to what is left below the thinnest.
/// Kinds go from thin to thick.
pub fn need(floor: &Floor, kinds: &[i64]) -> Vec<u32> {
    let highest = floor.heights.iter().copied().max().unwrap_or(0);
    let mut need = vec![0; kinds.len()];
    for height in &floor.heights {
        let mut gap = highest - height;
        for (need, kind) in need.iter_mut().zip(kinds).rev() {
            *need += (gap / kind) as u32;
            gap %= kind;
        }
    }
    need
}

/// As many of every kind as it takes.
pub fn unlimited(kinds: &[i64]) -> Vec<Shim> {
    kinds.iter().map(|&nm| Shim::new(Length::from_nm(nm), None)).collect()
}

/// These pieces of each kind.
pub fn counted(kinds: &[i64], counts: &[u32]) -> Vec<Shim> {
    let shim = |(&nm, &count)| Shim::new(Length::from_nm(nm), Some(count));
    kinds.iter().zip(counts).map(shim).collect()
}

/// A stock of so many hundredths of the [`need`], rounded up.
pub fn percent_of_need(floor: &Floor, kinds: &[i64], percent: u32) -> Vec<Shim> {
    let counts: Vec<u32> =
        need(floor, kinds).iter().map(|need| (need * percent).div_ceil(100)).collect();
    counted(kinds, &counts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_filled_from_the_thickest_kind_down() {
        let floor = Floor { xy: vec![[0, 0], [1, 0], [2, 0]], heights: vec![5, -2, 0] };
        assert_eq!(need(&floor, &[2, 3]), [1, 3]); // 7 = 3 + 3 + 1 left, 5 = 3 + 2
        let counts: Vec<_> =
            percent_of_need(&floor, &[2, 3], 150).iter().map(|shim| shim.count).collect();
        assert_eq!(counts, [Some(2), Some(5)]);
    }
}
