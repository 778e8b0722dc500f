//! How a slab bears on its supports.

use super::laid::{LaidSlab, Settled, check_tops, from_mean, mean};
use super::linear::{Row, linear};
use super::stress::{Stress, stress};
use super::tipping::Tipping;
use crate::error::{Error, ProblemKind, Problems};

/// How a slab bears on supports with tops at given heights. For a slab that tips, only the edge
/// over which it falls is known: all numbers are NaN.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Bearing {
    /// The edge of its supports over which the slab falls; none where they hold it.
    pub tips: Option<Tipping>,
    /// What each support does to the slab, N: pushes are positive, the pull of a screw negative.
    pub forces_n: Vec<f64>,
    /// Whether each support carries: the slab touches it and presses on it, its screw being able to
    /// pull as it does. A shim that does not carry is loose.
    pub carries: Vec<bool>,
    /// How far the slab clears each support, mm: 0 where it touches.
    pub gaps_mm: Vec<f64>,
    /// The tops, from their mean, mm.
    tops: Vec<f64>,
    /// That mean.
    middle: f64,
    /// How it lies without bending, from there.
    lies: [f64; 3],
    laid: LaidSlab,
}

/// What forces, N, and heights over the supports, mm, gain with each top, per mm: a row for each.
pub(crate) struct ByTops {
    pub(crate) forces: Vec<Vec<f64>>,
    pub(crate) surface: Vec<Vec<f64>>,
}

impl LaidSlab {
    /// Finds how the slab bears on supports with tops at these heights, mm.
    ///
    /// # Errors
    /// Another number of heights than supports; heights that are not finite or beyond 1000 km.
    pub fn bear(&self, tops_mm: &[f64]) -> Result<Bearing, Error> {
        check_tops(tops_mm, self.0.supports.len())?;
        Ok(Bearing::new(self, tops_mm))
    }
}

impl Bearing {
    pub(super) fn new(laid: &LaidSlab, tops_mm: &[f64]) -> Self {
        let of = &laid.0;
        let count = tops_mm.len();
        let (tops, middle) = (from_mean(tops_mm), mean(tops_mm));
        let settled = of.settle(&tops);
        let laid = laid.clone();
        let Some(Settled { forces, gaps, lies }) = settled else {
            let (forces_n, gaps_mm) = (vec![f64::NAN; count], vec![f64::NAN; count]);
            let carries = vec![false; count];
            let lies = [f64::NAN; 3];
            return Self { tips: of.tips, forces_n, carries, gaps_mm, tops, middle, lies, laid };
        };
        let nothing = of.nothing_n();
        let carries = |(at, &force): (usize, &f64)| {
            gaps[at] == 0.0 && force + of.supports[at].pull_n > nothing
        };
        let carries = forces.iter().enumerate().map(carries).collect();
        Self { tips: None, carries, forces_n: forces, gaps_mm: gaps, tops, middle, lies, laid }
    }

    /// How far the mesh may put the heights off, mm: the difference from the heights on a mesh half
    /// as fine. NaN where it tips.
    pub fn accuracy_mm(&self) -> f64 {
        let settled = Settled { forces: self.forces_n.clone(), gaps: Vec::new(), lies: self.lies };
        if self.tips.is_some() { f64::NAN } else { self.laid.0.accuracy(&self.tops, &settled) }
    }

    /// Heights of the slab's underside at places in plan, mm; NaN where it tips. Its top is higher by
    /// the thickness everywhere.
    ///
    /// # Errors
    /// Places that are not on the slab.
    pub fn at(&self, xy_mm: &[[f64; 2]]) -> Result<Vec<f64>, Error> {
        let of = &self.laid.0;
        let mut found = Problems::default();
        for (at, &[x, y]) in xy_mm.iter().enumerate().filter(|(_, xy)| !of.slab.holds(**xy)) {
            let got = format!("x = {x}, y = {y}");
            found.add(ProblemKind::Value, format!("at[{at}]"), got, of.slab.outline());
        }
        found.into_result()?;
        let mut row = vec![0.0; self.forces_n.len() + 1];
        Ok(xy_mm.iter().map(|&xy| self.height(xy, &mut row)).collect())
    }

    /// The largest principal bending stress and where it is; none where the slab tips.
    ///
    /// Found at the corners and middles of the mesh's elements and where forces act. At a point force
    /// a thin plate has no stress that is finite: the force counts as spread over a circle of radius
    /// 0.325 of the thickness, which gives what a thick plate has there (Westergaard's equivalent
    /// radius, from memory). A force nearer to an edge than two thicknesses is not refined so: there
    /// the stress is that of the mesh, which is too low.
    pub fn stress(&self) -> Option<Stress> {
        self.tips.is_none().then(|| stress(&self.laid.0, &self.forces_n))
    }

    /// How far the surface hangs below the least-squares plane of its heights at the supports, mm, on
    /// a lattice of 33 by 33 places; NaN where it tips.
    pub fn sag_mm(&self) -> f64 {
        let of = &self.laid.0;
        let mut row = vec![0.0; self.forces_n.len() + 1];
        let mut sums = nalgebra::Matrix3::zeros();
        let mut right = nalgebra::Vector3::zeros();
        for support in &of.supports {
            let way = nalgebra::Vector3::from(of.rigid(support.xy_mm));
            sums += way * way.transpose();
            right += way * self.height(support.xy_mm, &mut row);
        }
        let Some(plane) = sums.try_inverse().map(|inverse| inverse * right) else {
            return f64::NAN;
        };
        let part = |[from, to]: [f64; 2], at: usize| from + (to - from) * at as f64 / 32.0;
        let below = |at: usize| {
            let xy = [part(of.slab.x_mm, at / 33), part(of.slab.y_mm, at % 33)];
            plane.dot(&nalgebra::Vector3::from(of.rigid(xy))) - self.height(xy, &mut row.clone())
        };
        if self.tips.is_some() { f64::NAN } else { (0..33 * 33).map(below).fold(0.0, f64::max) }
    }

    /// Whether it lies on all its supports: each presses, with what its screw can add, by at least this,
    /// N, and by more than nothing.
    pub(crate) fn lies(&self, least_force_n: f64) -> bool {
        let of = &self.laid.0;
        let least = of.least_n(least_force_n);
        (0..self.forces_n.len()).all(|at| {
            self.gaps_mm[at] == 0.0 && self.forces_n[at] + of.supports[at].pull_n >= least
        })
    }

    /// How forces and surface follow the tops as long as the same supports touch; none where it tips, or
    /// where what touches does not hold it.
    pub(crate) fn by_tops(&self) -> Option<ByTops> {
        let clear: Vec<usize> =
            (0..self.gaps_mm.len()).filter(|&at| self.gaps_mm[at] > 0.0).collect();
        let linear = self.tips.is_none().then(|| linear(&self.laid.0, &clear, &[]))??;
        let rows = |rows: Vec<Row>| rows.into_iter().map(|row| row.by).collect();
        Some(ByTops { forces: rows(linear.forces), surface: rows(linear.surface) })
    }

    /// The slab on its supports.
    pub fn laid(&self) -> &LaidSlab {
        &self.laid
    }

    fn height(&self, xy: [f64; 2], row: &mut [f64]) -> f64 {
        let of = &self.laid.0;
        row.fill(0.0);
        of.mesh.plate.measure(&of.mesh.plate.height(xy), &of.mesh.shapes, row);
        let bent: f64 = self.forces_n.iter().zip(&*row).map(|(force, by)| force * by).sum();
        let lies: f64 = self.lies.iter().zip(of.rigid(xy)).map(|(lies, by)| lies * by).sum();
        self.middle + lies + bent - row[self.forces_n.len()]
    }
}
