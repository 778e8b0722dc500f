//! A smooth surface through surveyed points: the thin-plate spline, which bends the least of all
//! (Duchon 1977): z = a + b x + c y + Σ wᵢ r² ln r, with weights that add up to nothing and have no
//! moment. Points on a plane give just that plane.

use libm::{hypot, log};
use nalgebra::{DMatrix, DVector};

use crate::error::{Error, ProblemKind};
use crate::plane::{PlaneKind, fit_plane};

/// A surface through the points of a bed.
#[derive(Debug, Clone)]
pub struct BedSurface {
    /// Places in plan from the middle, in units of `scale`.
    places: Vec<[f64; 2]>,
    weights: Vec<f64>,
    /// Height in the middle, and slopes, mm for each unit.
    plane: [f64; 3],
    middle: [f64; 2],
    /// mm of a unit.
    scale: f64,
    corners: [[f64; 2]; 2],
}

impl BedSurface {
    /// More points than this are refused: the spline is solved densely.
    pub const MOST_POINTS: usize = 500;

    /// The surface through heights `z` at plan positions `xy`, mm. Points at one place, as the two
    /// sides of a joint can be, count with their mean height.
    ///
    /// # Errors
    /// Those of [`fit_plane`]: sizes that differ, values that are not finite, fewer than three places,
    /// all on one line. More than [`BedSurface::MOST_POINTS`] points.
    pub fn new(xy: &[[f64; 2]], z: &[f64]) -> Result<Self, Error> {
        if xy.len() > Self::MOST_POINTS {
            let expected = format!("at most {} points", Self::MOST_POINTS);
            return Err(Error::new(
                ProblemKind::Shape,
                "xy",
                format!("{} points", xy.len()),
                expected,
            ));
        }
        let fit = fit_plane(xy, z, PlaneKind::LeastSquares, None)?;
        let ends = |axis: usize| {
            xy.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], at| {
                [low.min(at[axis]), high.max(at[axis])]
            })
        };
        let ([x0, x1], [y0, y1]) = (ends(0), ends(1));
        let middle = [0.5 * (x0 + x1), 0.5 * (y0 + y1)];
        let scale = 0.5 * (x1 - x0).max(y1 - y0);
        // Above the plane, so that what is flat has weights of just nothing.
        let mut points: Vec<([f64; 2], f64, f64)> = Vec::with_capacity(xy.len());
        for (at, &deviation) in xy.iter().zip(&fit.deviations_mm) {
            let place = [(at[0] - middle[0]) / scale, (at[1] - middle[1]) / scale];
            let near = |other: &[f64; 2]| {
                (place[0] - other[0]).abs() < 1e-9 && (place[1] - other[1]).abs() < 1e-9
            };
            match points.iter_mut().find(|(other, ..)| near(other)) {
                Some((_, sum, count)) => {
                    *sum += deviation;
                    *count += 1.0;
                }
                None => points.push((place, deviation, 1.0)),
            }
        }
        let places: Vec<[f64; 2]> = points.iter().map(|(place, ..)| *place).collect();
        let count = places.len();
        let matrix = DMatrix::from_fn(count + 3, count + 3, |row, column| {
            let (row, column) = (row.min(column), row.max(column));
            match (row < count, column < count) {
                (true, true) => kernel(square(places[row], places[column])),
                (true, false) => [1.0, places[row][0], places[row][1]][column - count],
                _ => 0.0,
            }
        });
        let heights = DVector::from_fn(count + 3, |row, _| {
            points.get(row).map_or(0.0, |(_, sum, count)| sum / count)
        });
        let solved =
            matrix.lu().solve(&heights).filter(|solved| solved.iter().all(|x| x.is_finite()));
        let Some(solved) = solved else {
            let expected = "places that are not all but on one line";
            return Err(Error::new(
                ProblemKind::Geometry,
                "xy",
                "points too close together",
                expected,
            ));
        };
        let level = fit.offset_mm + fit.slope_x * middle[0] + fit.slope_y * middle[1];
        Ok(Self {
            places,
            weights: solved.iter().take(count).copied().collect(),
            plane: [
                level + solved[count],
                fit.slope_x * scale + solved[count + 1],
                fit.slope_y * scale + solved[count + 2],
            ],
            middle,
            scale,
            corners: [[x0, y0], [x1, y1]],
        })
    }

    /// The corners of the rectangle around the points that have the least x and y, and the greatest, mm.
    pub fn corners_mm(&self) -> [[f64; 2]; 2] {
        self.corners
    }

    /// The height at a place in plan, mm.
    pub fn height_mm(&self, xy_mm: [f64; 2]) -> f64 {
        let place = self.place(xy_mm);
        let [level, x, y] = self.plane;
        let bent = self.places.iter().zip(&self.weights);
        let bent: f64 = bent.map(|(other, by)| by * kernel(square(place, *other))).sum();
        level + x * place[0] + y * place[1] + bent
    }

    /// The slopes along x and y at a place in plan, as ratios.
    pub fn slope(&self, xy_mm: [f64; 2]) -> [f64; 2] {
        let place = self.place(xy_mm);
        let mut slope = [self.plane[1], self.plane[2]];
        for (other, by) in self.places.iter().zip(&self.weights) {
            let square = square(place, *other);
            if square > 0.0 {
                // d(½ s ln s) with s = r².
                let along = by * (log(square) + 1.0);
                slope[0] += along * (place[0] - other[0]);
                slope[1] += along * (place[1] - other[1]);
            }
        }
        slope.map(|slope| slope / self.scale)
    }

    /// About how many operations a step of a ball takes: four slopes, each a sum over the points.
    pub(super) fn operations(&self) -> u64 {
        200 + 100 * self.places.len() as u64
    }

    /// How steep it is at a place, m, as the sine of the angle.
    pub(super) fn steepness(&self, at_m: [f64; 2]) -> f64 {
        let [x, y] = self.slope(at_m.map(|m| m * 1e3));
        let slope = hypot(x, y);
        slope / hypot(1.0, slope)
    }

    /// The steepest slope at any of the points or of a grid between them.
    pub(super) fn steepest(&self) -> f64 {
        const STEPS: usize = 24;
        let [[x0, y0], [x1, y1]] = self.corners;
        let on_grid = (0..=STEPS * STEPS + 2 * STEPS).map(|at| {
            let part = |at: usize| at as f64 / STEPS as f64;
            let [i, j] = [part(at / (STEPS + 1)), part(at % (STEPS + 1))];
            [x0 + i * (x1 - x0), y0 + j * (y1 - y0)]
        });
        let at_points = self
            .places
            .iter()
            .map(|place| [0, 1].map(|axis| self.middle[axis] + self.scale * place[axis]));
        let steep = |at: [f64; 2]| {
            let [x, y] = self.slope(at);
            hypot(x, y)
        };
        on_grid.chain(at_points).map(steep).fold(0.0, f64::max)
    }

    pub(super) fn holds(&self, [x, y]: [f64; 2]) -> bool {
        let [[x0, y0], [x1, y1]] = self.corners;
        (x0..=x1).contains(&x) && (y0..=y1).contains(&y)
    }

    /// How far from one place to another the rectangle reaches, as a part of the way.
    pub(super) fn part_inside(&self, from: [f64; 2], to: [f64; 2]) -> f64 {
        let [low, high] = self.corners;
        let part = |axis: usize| {
            let edge = if to[axis] > high[axis] { high[axis] } else { low[axis] };
            let inside = (low[axis]..=high[axis]).contains(&to[axis]);
            if inside { 1.0 } else { (edge - from[axis]) / (to[axis] - from[axis]) }
        };
        part(0).min(part(1))
    }

    fn place(&self, xy: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis| (xy[axis] - self.middle[axis]) / self.scale)
    }
}

fn square(a: [f64; 2], b: [f64; 2]) -> f64 {
    let [x, y] = [a[0] - b[0], a[1] - b[1]];
    x * x + y * y
}

/// r² ln r, of r².
fn kernel(square: f64) -> f64 {
    if square > 0.0 { 0.5 * square * log(square) } else { 0.0 }
}
