//! The flattest slab around points in a given frame: the vertical minimum zone.
//!
//! Minimise t over planes with |rᵢ − c − α uᵢ − β vᵢ| ≤ t. Each pass over the points takes the
//! highest and the lowest of every block that stand out of the slab; the exchange then settles
//! those few, and the next pass looks again. Shares bear witness: with σ = +1 above and −1 below,
//! Σ λ σ (1, u, v) = 0 and Σ λ = 1, so that for any plane at all the largest |r| is at least
//! Σ λ σ r.

use nalgebra::{SVector, Vector3, Vector4};

use super::blocks;
use super::exchange::{self, Basis, Column};
use super::fit::Fit;

/// Far more passes and exchanges than any points met so far have needed.
const PASSES: usize = 500;
const EXCHANGES: usize = 100_000;

/// Along which way the thickness of a zone is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum Direction {
    /// Along z: what levels and indicators read.
    #[default]
    Vertical,
    /// Along the normal of the plane, as ISO 12781-1 defines flatness.
    Normal,
}

/// A point that holds a zone.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Contact {
    /// Index of the point.
    pub point: usize,
    /// On the upper plane; else on the lower one.
    pub above: bool,
    /// What it bears, λ: those of the upper plane add up to ½, and so do those of the lower one.
    pub share: f64,
}

/// A zone without the deviations.
pub(super) struct Zone {
    pub(super) fit: Fit,
    pub(super) contacts: Vec<Contact>,
    pub(super) bound: f64,
    pub(super) rounding: f64,
    pub(super) proven: bool,
}

/// Coordinates of points in a frame: two in plan and a height.
pub(super) trait Seen: Sync {
    fn count(&self) -> usize;
    fn see(&self, at: usize) -> [f64; 3];
    /// How far rounding may put a height off.
    fn rounding(&self) -> f64;
}

/// A slab: its middle plane in the frame, half its thickness, and what proves it.
#[derive(Debug, Clone)]
pub(super) struct Slab {
    /// Height of the middle plane at u = v = 0.
    pub(super) level: f64,
    /// Slopes of the middle plane along u and v.
    pub(super) slope: [f64; 2],
    /// Half the thickness by which the contacts hold the plane.
    pub(super) half: f64,
    pub(super) basis: Basis<4>,
    /// Points that stood out at some time, the contacts among them.
    pub(super) met: Vec<Column<4>>,
}

fn column(at: usize, above: bool, [u, v, r]: [f64; 3]) -> Column<4> {
    let side = if above { 1.0 } else { -1.0 };
    Column {
        point: at,
        above,
        coefficients: Vector4::new(1.0, side, side * u, side * v),
        value: side * r,
    }
}

/// The flattest slab around four or more points whose plan is round in the frame.
pub(super) fn slab(points: &impl Seen) -> Option<Slab> {
    let mut basis = first(points)?;
    let mut met: Vec<Column<4>> = basis.columns.to_vec();
    let mut exchanges = EXCHANGES;
    for _ in 0..PASSES {
        let prices = basis.prices();
        let out = outstanding(points, &prices);
        if out.is_empty() {
            break;
        }
        met.extend(out);
        let done = exchange::settle(&mut basis, &met, points.rounding(), exchanges);
        exchanges -= done;
        if done == 0 {
            break;
        }
    }
    let prices = basis.prices();
    Some(Slab {
        level: prices[1],
        slope: [prices[2], prices[3]],
        half: basis.objective(),
        basis,
        met,
    })
}

/// The points that stand out of the slab by more than rounding: the worst above and below of each
/// block.
fn outstanding(points: &impl Seen, prices: &SVector<f64, 4>) -> Vec<Column<4>> {
    let [half, level, a, b] = [prices[0], prices[1], prices[2], prices[3]];
    let allowed = half + points.rounding();
    let height = |at: usize| {
        let [u, v, r] = points.see(at);
        r - level - a * u - b * v
    };
    let size = (points.count() / 32).clamp(32, 1 << 16);
    let blocks = blocks::over(points.count(), size, |range| {
        let (mut high, mut low) = ([f64::NEG_INFINITY; 2], [f64::INFINITY; 2]);
        let mut at = range.start;
        while at + 1 < range.end {
            for lane in 0..2 {
                let height = height(at + lane);
                high[lane] = if height > high[lane] { height } else { high[lane] };
                low[lane] = if height < low[lane] { height } else { low[lane] };
            }
            at += 2;
        }
        for at in at..range.end {
            high[0] = high[0].max(height(at));
            low[0] = low[0].min(height(at));
        }
        // Few blocks have any that stand out; only those are looked through for which it is.
        let (high, low) = (high[0].max(high[1]), low[0].min(low[1]));
        let find = |wanted: f64| range.clone().find(|&at| height(at) == wanted);
        let above = if high > allowed { find(high) } else { None };
        let below = if low < -allowed { find(low) } else { None };
        [(above, true), (below, false)]
    });
    let found = |(at, above): (Option<usize>, bool)| at.map(|at| column(at, above, points.see(at)));
    blocks.into_iter().flatten().filter_map(found).collect()
}

/// Four points to begin with: three far apart in plan, and the one furthest from their plane.
fn first(points: &impl Seen) -> Option<Basis<4>> {
    let furthest = |value: &(dyn Fn([f64; 3]) -> f64 + Sync)| -> usize {
        let size = (points.count() / 8).clamp(1024, 1 << 16);
        let blocks = blocks::over(points.count(), size, |range| {
            range.fold((0, f64::NEG_INFINITY), |best, at| {
                let value = value(points.see(at));
                if value > best.1 { (at, value) } else { best }
            })
        });
        blocks.into_iter().fold((0, f64::NEG_INFINITY), |a, b| if b.1 > a.1 { b } else { a }).0
    };
    let distance = |a: [f64; 3]| move |b: [f64; 3]| (a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2);
    let area = |a: [f64; 3], b: [f64; 3], c: [f64; 3]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let i = furthest(&distance([0.0; 3]));
    let a = points.see(i);
    let j = furthest(&distance(a));
    let b = points.see(j);
    let k = furthest(&move |c| area(a, b, c).abs());
    let c = points.see(k);
    let whole = area(a, b, c);
    // Weights of the three that make up a place, and what their plane has there.
    let parts =
        move |p: [f64; 3]| [area(p, b, c) / whole, area(a, p, c) / whole, area(a, b, p) / whole];
    let off = move |p: [f64; 3]| {
        let [x, y, z] = parts(p);
        p[2] - x * a[2] - y * b[2] - z * c[2]
    };
    let last = {
        let high = furthest(&off);
        let low = furthest(&move |p| -off(p));
        if off(points.see(high)) >= -off(points.see(low)) { high } else { low }
    };
    let last = if [i, j, k].contains(&last) {
        // All lie in one plane: any fourth point will do.
        (0..points.count()).find(|at| ![i, j, k].contains(at))?
    } else {
        last
    };
    let d = points.see(last);
    let above = off(d) >= 0.0;
    let sides = parts(d).map(|part| (part > 0.0) != above);
    let columns = [
        column(i, sides[0], a),
        column(j, sides[1], b),
        column(k, sides[2], c),
        column(last, above, d),
    ];
    Basis::new(columns, Vector4::new(1.0, 0.0, 0.0, 0.0))
}

/// The contacts that bear anything, in the order of the points.
pub(super) fn contacts(slab: &Slab) -> Vec<Contact> {
    let shares = slab.basis.shares.iter();
    let mut contacts: Vec<Contact> = slab
        .basis
        .columns
        .iter()
        .zip(shares)
        .filter(|(_, share)| **share > 1e-12)
        .map(|(column, share)| Contact { point: column.point, above: column.above, share: *share })
        .collect();
    contacts.sort_by_key(|contact| contact.point);
    contacts
}

/// Rounding of a height above a plane, over the sum of the largest parts that it is made of.
pub(super) const ROUNDING: f64 = 32.0 * f64::EPSILON;

/// The most by which rounding may change a height above a plane.
pub(super) fn reach(fit: &Fit, xy: &[[f64; 2]], z: &[f64]) -> f64 {
    let [a, b] = fit.slope;
    ROUNDING * extent(fit, xy, z).dot(&Vector3::new(a.abs(), b.abs(), 1.0))
}

/// The furthest that points are from the origin of a plane along x, y and z.
pub(super) fn extent(fit: &Fit, xy: &[[f64; 2]], z: &[f64]) -> Vector3<f64> {
    let [x0, y0, z0] = fit.origin;
    let most = blocks::over(z.len(), 8192, |range| {
        let mut most = [0.0_f64; 3];
        for ([x, y], z) in xy[range.clone()].iter().zip(&z[range]) {
            let parts = [x - x0, y - y0, z - z0];
            for (most, part) in most.iter_mut().zip(parts) {
                *most = if part.abs() > *most { part.abs() } else { *most };
            }
        }
        Vector3::from(most)
    });
    most.into_iter().fold(Vector3::zeros(), |a, b| a.sup(&b))
}
