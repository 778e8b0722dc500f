//! Sums and products over points, about a frame in which they are well conditioned.
//!
//! Normal equations square the condition of a problem, and sums of squares lose the digits that an
//! offset takes. Both faults come from the coordinates. So the sums are taken in a frame whose origin
//! lies among the points, in which they spread alike in every direction of the plan, and with most of
//! the plane subtracted from the heights. A sample of the points gives the first frame. If its sums show
//! that it is bad, they give a better one and the sums are taken again. A pass reads each point once.

use std::ops::Range;

use super::blocks;
use super::fit::Fit;

/// How many points the first frame is made from.
const SAMPLE: usize = 256;
const BLOCK: usize = 8192;
/// The most passes. If so many do not find a good frame, none will.
const PASSES: usize = 5;

/// u = rows[0]·(x − x₀, y − y₀), v = rows[1]·(x − x₀, y − y₀), and r: the height above a plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// The plane that is subtracted from the heights; its origin is the frame's.
    pub(super) fit: Fit,
    pub(super) rows: [[f64; 2]; 2],
}

impl Frame {
    pub(super) fn see(&self, [x, y]: [f64; 2], z: f64) -> [f64; 3] {
        let (dx, dy) = (x - self.fit.origin[0], y - self.fit.origin[1]);
        let [[a, b], [c, d]] = self.rows;
        [a * dx + b * dy, c * dx + d * dy, self.fit.above([x, y], z)]
    }

    /// Whether places spread enough alike along x and y that sums over them keep their digits.
    fn is_plain(&self) -> bool {
        let [a, b] = self.rows.map(|[x, y]| x.hypot(y));
        a <= 32.0 * b && b <= 32.0 * a
    }

    /// What slopes along u and v are along x and y.
    pub(super) fn slopes(&self, [along_u, along_v]: [f64; 2]) -> [f64; 2] {
        let [[a, b], [c, d]] = self.rows;
        [a * along_u + c * along_v, b * along_u + d * along_v]
    }

    /// What a step along u and v is in plan.
    pub(super) fn step(&self, [u, v]: [f64; 2]) -> [f64; 2] {
        let [[a, b], [c, d]] = self.rows;
        let det = a * d - b * c;
        [(d * u - b * v) / det, (a * v - c * u) / det]
    }
}

/// Weight, and the mean and the central products of u, v and r.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moments {
    pub(super) weight: f64,
    pub(super) mean: [f64; 3],
    /// uu, uv, vv, ur, vr, rr.
    pub(super) products: [f64; 6],
}

/// Why no frame was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Unfit {
    /// Something is not finite, or its square is not.
    NotFinite,
    /// The points lie in one place or on one line.
    Collinear,
}

/// The points' moments in a good frame; there are at least three points.
pub(super) fn moments(
    xy: &[[f64; 2]],
    z: &[f64],
    weights: Option<&[f64]>,
) -> Result<(Frame, Moments), Unfit> {
    let all = |frame: &Frame| {
        let sums = blocks::over(z.len(), BLOCK, |range| sums(frame, xy, z, weights, range));
        central(frame, &sums)
    };
    let mut frame = Frame {
        fit: Fit { origin: [xy[0][0], xy[0][1], z[0]], ..Fit::default() },
        rows: [[1.0, 0.0], [0.0, 1.0]],
    };
    if z.len() > SAMPLE {
        // A first frame is as good as the sample allows: its faults show in the first pass.
        let some = || (0..z.len()).step_by(z.len().div_ceil(SAMPLE));
        let places: Vec<[f64; 2]> = some().map(|at| xy[at]).collect();
        let heights: Vec<f64> = some().map(|at| z[at]).collect();
        let weights: Option<Vec<f64>> =
            weights.map(|weights| some().map(|at| weights[at]).collect());
        for _ in 0..2 {
            let range = 0..heights.len();
            let found =
                central(&frame, &[sums(&frame, &places, &heights, weights.as_deref(), range)]);
            if let Ok(better) = improve(&frame, &found, z.len()) {
                frame = better;
            }
        }
    }
    for _ in 0..PASSES {
        let found = all(&frame);
        if is_good(&frame, &found) {
            return improve(&frame, &found, z.len()).map(|_| (frame, found));
        }
        frame = improve(&frame, &found, z.len())?;
    }
    let found = all(&frame);
    improve(&frame, &found, z.len()).map(|_| (frame, found))
}

/// Whether sums in this frame have lost a few bits at most: the origin lies among the points, they
/// spread alike in all directions, and the best plane leaves most of the squares of the heights.
fn is_good(frame: &Frame, found: &Moments) -> bool {
    let [uu, uv, vv, .., rr] = found.products.map(|sum| sum / found.weight);
    let [u, v, r] = found.mean;
    // What is left of points on a plane is rounding, of which no frame makes less.
    let rise = |step: [f64; 2]| frame.fit.slope[0] * step[0] + frame.fit.slope[1] * step[1];
    let heights = rise(frame.step([1.0, 0.0])).abs()
        + rise(frame.step([0.0, 1.0])).abs()
        + frame.fit.origin[2].abs();
    let rounding = (16.0 * f64::EPSILON * heights).powi(2);
    let near = u * u <= 16.0 * uu && v * v <= 16.0 * vv && r * r <= 16.0 * rr + rounding;
    let round = uu * vv - uv * uv >= 1e-4 * (uu + vv).powi(2);
    let left = found.residual() / found.weight;
    near && round && (left >= 1e-6 * rr || rr <= rounding)
}

/// The frame that makes these moments round: about the mean, along the principal axes of the plan,
/// each of unit spread, with the fitted plane taken off.
fn improve(frame: &Frame, found: &Moments, count: usize) -> Result<Frame, Unfit> {
    if !found.products.iter().all(|sum| sum.is_finite()) {
        return Err(Unfit::NotFinite);
    }
    let [uu, uv, vv, ..] = found.products.map(|sum| sum / found.weight);
    let axes = [frame.step([1.0, 0.0]), frame.step([0.0, 1.0])];
    // What the spreads along u and v make of a direction of the plan, and of two.
    let seen = |[x, y]: [f64; 2]| axes.map(|axis| axis[0] * x + axis[1] * y);
    let product = |p: [f64; 2], q: [f64; 2]| {
        let ([a, b], [c, d]) = (seen(p), seen(q));
        a * c * uu + (a * d + b * c) * uv + b * d * vv
    };
    let (x, y) = ([1.0, 0.0], [0.0, 1.0]);
    let (cos, sin) = principal(product(x, x), product(x, y), product(y, y));
    let spread = |axis: [f64; 2]| product(axis, axis).max(0.0).sqrt();
    let (long, short) = (spread([cos, sin]), spread([-sin, cos]));
    let [x0, y0, _] = frame.fit.origin;
    let least =
        (count as f64 * f64::EPSILON * long).max(4.0 * f64::EPSILON * x0.abs().max(y0.abs()));
    // From squares a spread is known to half the digits only; the next frame shows more of it.
    let resolved = 1e-7 * uu.max(vv).sqrt() / frame.rows[1][0].hypot(frame.rows[1][1]);
    let short = short.max(resolved);
    if !(long * long >= f64::MIN_POSITIVE && short > least) {
        return Err(Unfit::Collinear);
    }
    let [dx, dy] = frame.step([found.mean[0], found.mean[1]]);
    Ok(Frame {
        fit: found.fit(frame).moved_to([x0 + dx, y0 + dy]),
        rows: [[cos / long, sin / long], [-sin / short, cos / short]],
    })
}

/// Cosine and sine of the direction in which a spread is largest, by square roots alone, which are
/// the same to the last bit on every machine.
fn principal(xx: f64, xy: f64, yy: f64) -> (f64, f64) {
    let half = 0.5 * (xx - yy);
    let length = (half * half + xy * xy).sqrt();
    if length == 0.0 {
        return (1.0, 0.0);
    }
    // Of the half angle the larger of the two first; the other from sin 2φ.
    let larger = (0.5 * (1.0 + half.abs() / length)).sqrt();
    let smaller = 0.5 * xy / (length * larger);
    if half >= 0.0 {
        (larger, smaller)
    } else {
        (smaller.abs(), larger.copysign(if smaller < 0.0 { -1.0 } else { 1.0 }))
    }
}

impl Moments {
    /// The sum of the squares of r about the best plane.
    pub(super) fn residual(&self) -> f64 {
        let [.., ur, vr, rr] = self.products;
        let [u, v] = self.slopes();
        (rr - u * ur - v * vr).max(0.0)
    }

    /// Slopes of the least-squares plane along u and v.
    pub(super) fn slopes(&self) -> [f64; 2] {
        let [uu, uv, vv, ur, vr, _] = self.products;
        let det = uu * vv - uv * uv;
        if det <= 0.0 {
            return [0.0; 2];
        }
        [(vv * ur - uv * vr) / det, (uu * vr - uv * ur) / det]
    }

    /// The least-squares plane.
    pub(super) fn fit(&self, frame: &Frame) -> Fit {
        let more = self.slopes();
        let [a, b] = frame.slopes(more);
        let [u, v, r] = self.mean;
        Fit {
            slope: [frame.fit.slope[0] + a, frame.fit.slope[1] + b],
            level: frame.fit.level + r - more[0] * u - more[1] * v,
            ..frame.fit
        }
    }
}

/// Weight and Σ of u, v, r, uu, uv, vv, ur, vr, rr over a range, each with its weight; in a plain
/// frame with x − x₀ and y − y₀ in place of u and v.
type Sums = [f64; 10];

fn sums(
    frame: &Frame,
    xy: &[[f64; 2]],
    z: &[f64],
    weights: Option<&[f64]>,
    range: Range<usize>,
) -> Sums {
    let (xy, z) = (&xy[range.clone()], &z[range.clone()]);
    // In plain coordinates there is less to compute; they are turned when all is added up.
    match (weights.map(|weights| &weights[range]), frame.is_plain()) {
        (None, true) => lanes::<true>(frame, xy, z, |_| 1.0),
        (None, false) => lanes::<false>(frame, xy, z, |_| 1.0),
        (Some(weights), true) => lanes::<true>(frame, xy, z, |at| weights[at]),
        (Some(weights), false) => lanes::<false>(frame, xy, z, |at| weights[at]),
    }
}

/// Sums side by side, as many as two of the narrowest vector registers hold.
const LANES: usize = 4;

fn lanes<const PLAIN: bool>(
    frame: &Frame,
    xy: &[[f64; 2]],
    z: &[f64],
    weight: impl Fn(usize) -> f64,
) -> Sums {
    let ((places, last), (heights, last_height)) =
        (xy.as_chunks::<LANES>(), z.as_chunks::<LANES>());
    let mut sums = [[0.0; LANES]; 10];
    for (at, (xy, z)) in places.iter().zip(heights).enumerate() {
        let weights = std::array::from_fn(|lane| weight(LANES * at + lane));
        add::<PLAIN>(&mut sums, frame, xy, z, weights);
    }
    if !last.is_empty() {
        // What fills up the last lanes weighs nothing.
        let at = |lane: usize| lane.min(last.len() - 1);
        let done = LANES * places.len();
        let weights = |lane| if lane < last.len() { weight(done + lane) } else { 0.0 };
        add::<PLAIN>(
            &mut sums,
            frame,
            &std::array::from_fn(|lane| last[at(lane)]),
            &std::array::from_fn(|lane| last_height[at(lane)]),
            std::array::from_fn(weights),
        );
    }
    sums.map(|lanes| lanes.iter().sum())
}

/// Inlined, so that the sums stay in registers.
#[inline(always)]
fn add<const PLAIN: bool>(
    sums: &mut [[f64; LANES]; 10],
    frame: &Frame,
    xy: &[[f64; 2]; LANES],
    z: &[f64; LANES],
    weights: [f64; LANES],
) {
    for lane in 0..LANES {
        let w = weights[lane];
        let [x, y] = xy[lane];
        let [u, v, r] = if PLAIN {
            let [x0, y0, _] = frame.fit.origin;
            [x - x0, y - y0, frame.fit.above([x, y], z[lane])]
        } else {
            frame.see([x, y], z[lane])
        };
        let (wu, wv, wr) = (w * u, w * v, w * r);
        let terms = [w, wu, wv, wr, wu * u, wu * v, wv * v, wu * r, wv * r, wr * r];
        for (sum, term) in sums.iter_mut().zip(terms) {
            sum[lane] += term;
        }
    }
}

fn central(frame: &Frame, sums: &[Sums]) -> Moments {
    let mut total = [0.0; 10];
    for sums in sums {
        for (total, sum) in total.iter_mut().zip(sums) {
            *total += sum;
        }
    }
    let [weight, u, v, r, uu, uv, vv, ur, vr, rr] = total;
    let mean = [u / weight, v / weight, r / weight];
    let products = [
        uu - u * mean[0],
        uv - u * mean[1],
        vv - v * mean[1],
        ur - u * mean[2],
        vr - v * mean[2],
        rr - r * mean[2],
    ];
    if !frame.is_plain() {
        return Moments { weight, mean, products };
    }
    let [xx, xy, yy, xr, yr, rr] = products;
    let along = |[a, b]: [f64; 2], [x, y]: [f64; 2]| a * x + b * y;
    let both = |[a, b]: [f64; 2], [c, d]: [f64; 2]| a * c * xx + (a * d + b * c) * xy + b * d * yy;
    let [first, second] = frame.rows;
    let middle = [mean[0], mean[1]];
    Moments {
        weight,
        mean: [along(first, middle), along(second, middle), mean[2]],
        products: [
            both(first, first),
            both(first, second),
            both(second, second),
            along(first, [xr, yr]),
            along(second, [xr, yr]),
            rr,
        ],
    }
}
