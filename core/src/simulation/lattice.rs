//! Korobov lattices: points {k a^j / N} for k = 0 … N − 1 and variables j = 0, 1, …, moved by shifts
//! that never change and folded (Hickernell 2002), so that smooth functions are integrated as if they
//! were periodic.
//!
//! Sizes are primes. Of all generators a (of 600 at random from 2039 on) those listed have the least
//! P₂ = −1 + N⁻¹ Σₖ Πⱼ (1 + 2π² B₂({k a^j / N}) / j²), B₂(x) = x² − x + 1/6, over 32 variables
//! j = 1, 2, … (Sloan & Joe, Lattice Methods for Multiple Integration, 1994; from memory).

/// So many draws are made side by side, since each value of a draw waits for the one before it.
pub(crate) const LANES: usize = 32;

/// A number of each draw.
pub(crate) type Lanes = [f64; LANES];

/// Sizes and generators.
pub(super) const LATTICES: [(u64, u64); 13] = [
    (31, 7),
    (61, 10),
    (89, 33),
    (127, 44),
    (181, 86),
    (251, 60),
    (359, 137),
    (509, 129),
    (719, 243),
    (1021, 455),
    (2039, 196),
    (4093, 1716),
    (8191, 1123),
];

/// How often each lattice is shifted.
pub(super) const SHIFTS: usize = 12;

/// A lattice with so many variables; numbers from 0 to 1 are 64 bits of them.
pub(super) struct Lattice {
    pub(super) points: u64,
    steps: Vec<u64>,
    shifts: Vec<u64>,
}

impl Lattice {
    /// The shifts are others in every round.
    pub(super) fn new((points, generator): (u64, u64), size: usize, round: u64) -> Self {
        let mut power = 1;
        let steps = (0..size).map(|_| {
            let step = ((u128::from(power) << 64) / u128::from(points)) as u64;
            power = power * generator % points;
            step
        });
        Self {
            points,
            steps: steps.collect(),
            shifts: (0..(SHIFTS * size) as u64).map(|at| bits(at + (round << 32))).collect(),
        }
    }

    /// A variable of a point, from 0 to 1.
    pub(super) fn at(&self, point: u64, shift: usize, variable: usize) -> f64 {
        let shift = self.shifts[shift * self.steps.len() + variable];
        folded(shift.wrapping_add(self.steps[variable].wrapping_mul(point)))
    }

    /// A variable of as many points as there are lanes.
    #[inline(always)]
    pub(super) fn lanes(&self, first: u64, shift: usize, variable: usize) -> Lanes {
        let (shift, step) =
            (self.shifts[shift * self.steps.len() + variable], self.steps[variable]);
        let start = shift.wrapping_add(step.wrapping_mul(first));
        let mut places = [0.0; LANES];
        for (lane, place) in places.iter_mut().enumerate() {
            *place = folded(start.wrapping_add(step.wrapping_mul(lane as u64)));
        }
        places
    }
}

/// Folded: twice as far as the middle, and back.
#[inline(always)]
fn folded(place: u64) -> f64 {
    let folded = if place >> 63 == 0 { place << 1 } else { !place << 1 };
    f64::from_bits(1.0_f64.to_bits() | folded >> 12) - 1.0
}

/// 64 bits that look like chance (Steele, Lea & Flood's SplitMix64, from memory).
fn bits(seed: u64) -> u64 {
    let mut z = (seed + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn criterion(points: u64, generator: u64) -> f64 {
        let mean: f64 = (0..points)
            .map(|point| {
                let mut at = point;
                let factor = |j: i32| {
                    let x = at as f64 / points as f64;
                    at = at * generator % points;
                    let b2 = x * x - x + 1.0 / 6.0;
                    1.0 + 2.0 * std::f64::consts::PI.powi(2) * b2 / f64::from(j).powi(2)
                };
                (1..=32).map(factor).product::<f64>()
            })
            .sum();
        mean / points as f64 - 1.0
    }

    #[test]
    fn generators_are_the_best() {
        for (points, generator) in &LATTICES[..6] {
            let least = criterion(*points, *generator);
            assert!((2..points / 2).all(|other| criterion(*points, other) >= least - 1e-12));
        }
    }

    /// The mean of Π (1 + (xⱼ − ½)/j) is 1, of any of the lattices.
    #[test]
    fn a_product_is_integrated() {
        for lattice in LATTICES {
            let within = 0.3 / lattice.0 as f64;
            let lattice = Lattice::new(lattice, 12, 0);
            let product = |shift: usize, at: u64| -> f64 {
                let factor = |j: usize| 1.0 + (lattice.at(at, shift, j) - 0.5) / (j + 1) as f64;
                (0..12).map(factor).product()
            };
            let of_shift = |shift| (0..lattice.points).map(|at| product(shift, at)).sum::<f64>();
            let sum: f64 = (0..SHIFTS).map(of_shift).sum();
            let first: Lanes = std::array::from_fn(|lane| lattice.at(3 + lane as u64, 1, 5));
            assert_eq!(lattice.lanes(3, 1, 5), first);
            let mean = sum / (SHIFTS as u64 * lattice.points) as f64;
            assert!((mean - 1.0).abs() < within, "{}: {mean}", lattice.points);
        }
    }
}
