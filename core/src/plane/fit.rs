//! A plane in two forms: as the fits find it, about an origin among the points, where it keeps its
//! digits; and as the result of a call, with the deviations of the points.

use super::blocks;

const BLOCK: usize = 8192;
/// Deviations side by side, as many as the narrowest vector registers hold.
const LANES: usize = 2;

/// A reference plane and how the points lie about it.
///
/// Deviations are heights above the plane or, for the kinds that are defined along the normal,
/// distances from it. They are taken about the middle of the points, so they keep digits that an
/// offset at a far x = y = 0 cannot.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Plane {
    /// Rise per length along x, dimensionless.
    pub slope_x: f64,
    /// Rise per length along y, dimensionless.
    pub slope_y: f64,
    /// Height of the plane at x = y = 0, in millimetres.
    pub offset_mm: f64,
    /// Deviation of each point, upwards positive, in millimetres, in the order of the points.
    pub deviations_mm: Vec<f64>,
    /// Peak-to-valley of the deviations (ISO 12781-1 FLTt), in millimetres.
    pub flatness_mm: f64,
    /// Root mean square of the deviations (ISO 12781-1 FLTq), in millimetres.
    pub rms_mm: f64,
    /// Largest deviation above the plane (ISO 12781-1 FLTp), in millimetres, 0 or more.
    pub above_mm: f64,
    /// Largest deviation below the plane (ISO 12781-1 FLTv), in millimetres, 0 or more.
    pub below_mm: f64,
}

/// z = z₀ + level + slope·(x − x₀, y − y₀).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fit {
    pub(super) origin: [f64; 3],
    pub(super) slope: [f64; 2],
    pub(super) level: f64,
}

/// The ends of the deviations and the sum of their squares.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spread {
    pub(super) highest: f64,
    pub(super) lowest: f64,
    squares: f64,
}

impl Fit {
    /// Height of a point above the plane.
    pub(super) fn above(&self, [x, y]: [f64; 2], z: f64) -> f64 {
        let [x0, y0, z0] = self.origin;
        (z - z0) - self.slope[0] * (x - x0) - self.slope[1] * (y - y0) - self.level
    }

    /// The same plane about another place in plan.
    pub(super) fn moved_to(self, [x, y]: [f64; 2]) -> Self {
        let z = self.origin[2] - self.above([x, y], self.origin[2]);
        Self { origin: [x, y, z], level: 0.0, ..self }
    }

    /// Height of the plane at x = y = 0.
    pub(super) fn offset(&self) -> f64 {
        -self.above([0.0, 0.0], 0.0)
    }

    /// Distances along the normal over those along the vertical.
    pub(super) fn normal(&self) -> f64 {
        self.slope[0].hypot(self.slope[1]).hypot(1.0).recip()
    }

    /// Writes each point's deviation: `scale` times its height above the plane.
    pub(super) fn deviate(
        &self,
        xy: &[[f64; 2]],
        z: &[f64],
        scale: f64,
        out: &mut [f64],
    ) -> Spread {
        let blocks = blocks::fill(out, BLOCK, |range, out| {
            let (xy, z) = (&xy[range.clone()], &z[range]);
            let (chunks, rest) = out.as_chunks_mut::<LANES>();
            let ((places, last), (heights, last_height)) =
                (xy.as_chunks::<LANES>(), z.as_chunks::<LANES>());
            let (mut highest, mut lowest) = ([f64::NEG_INFINITY; LANES], [f64::INFINITY; LANES]);
            let mut squares = [0.0; LANES];
            for ((out, xy), z) in chunks.iter_mut().zip(places).zip(heights) {
                for lane in 0..LANES {
                    let deviation = scale * self.above(xy[lane], z[lane]);
                    out[lane] = deviation;
                    highest[lane] =
                        if deviation > highest[lane] { deviation } else { highest[lane] };
                    lowest[lane] = if deviation < lowest[lane] { deviation } else { lowest[lane] };
                    squares[lane] += deviation * deviation;
                }
            }
            let mut spread = Spread {
                highest: highest.into_iter().fold(f64::NEG_INFINITY, f64::max),
                lowest: lowest.into_iter().fold(f64::INFINITY, f64::min),
                squares: squares.iter().sum(),
            };
            for ((out, xy), z) in rest.iter_mut().zip(last).zip(last_height) {
                *out = scale * self.above(*xy, *z);
                let (highest, lowest, squares) = (*out, *out, *out * *out);
                spread = spread.and(Spread { highest, lowest, squares });
            }
            spread
        });
        blocks.into_iter().fold(Spread::NONE, Spread::and)
    }

    /// The plane with the deviations of all points, which are `scale` times their heights above it.
    pub(super) fn plane(&self, xy: &[[f64; 2]], z: &[f64], scale: f64) -> Plane {
        let mut deviations_mm = vec![0.0; z.len()];
        let spread = self.deviate(xy, z, scale, &mut deviations_mm);
        Plane {
            slope_x: self.slope[0],
            slope_y: self.slope[1],
            offset_mm: self.offset(),
            deviations_mm,
            flatness_mm: spread.highest - spread.lowest,
            rms_mm: spread.rms(z.len()),
            above_mm: spread.highest.max(0.0),
            below_mm: (-spread.lowest).max(0.0),
        }
    }
}

impl Spread {
    const NONE: Self = Self { highest: f64::NEG_INFINITY, lowest: f64::INFINITY, squares: 0.0 };

    fn and(self, other: Self) -> Self {
        Self {
            highest: self.highest.max(other.highest),
            lowest: self.lowest.min(other.lowest),
            squares: self.squares + other.squares,
        }
    }

    pub(super) fn rms(&self, count: usize) -> f64 {
        (self.squares / count as f64).sqrt()
    }
}
