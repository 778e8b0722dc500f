//! A slab laid on supports: all that does not change with the shims.
//!
//! With forces f of the supports, what acts is in equilibrium (Rᵀ f = F), and the slab is as high
//! over its supports as it bends and lies: C f − d + R a, with the compliance C of the free plate at
//! its supports (and theirs), its sag d under what it carries, and the three ways a to lie without
//! bending. Where all supports touch, these heights are the tops, so f and a come of the tops and F
//! by one symmetric matrix, the inverse of [C R; Rᵀ 0]. Its first block S is what the slab resists
//! when its supports are moved, and all that [`contact`](super::contact) needs.

use std::fmt;
use std::sync::Arc;

use nalgebra::{DMatrix, DVector};

use super::contact;
use super::load::Load;
use super::plate::{Functional, Plate, Shapes};
use super::slab::Slab;
use super::support::{self, SlabSupport};
use super::tipping::{Tipping, tipping};
use crate::error::{Error, ProblemKind, Problems};

/// How a slab is to be computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BearSettings {
    /// Whether the slab's own weight acts; true by default.
    pub weight: bool,
    /// The accuracy asked of heights, mm: 1 µm by default,
    pub within_mm: f64,
    /// or this share of how far the slab bends, where that is more: 0.005 by default.
    pub within_share: f64,
}

impl Default for BearSettings {
    fn default() -> Self {
        Self { weight: true, within_mm: 1e-3, within_share: 5e-3 }
    }
}

/// A slab on its supports under its loads, whatever the heights of the supports: the costly part is
/// done, and [`LaidSlab::bear`] finds for any heights how it bears. A copy shares what is computed.
#[derive(Clone)]
pub struct LaidSlab(pub(super) Arc<Laid>);

impl fmt::Debug for LaidSlab {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut shown = f.debug_struct("LaidSlab");
        shown.field("slab", self.slab()).field("supports", &self.supports());
        shown.field("loads", &self.loads()).field("elements", &self.elements()).finish()
    }
}

/// Whether the same slab lies on the same supports under the same loads, computed in the same way.
impl PartialEq for LaidSlab {
    fn eq(&self, other: &Self) -> bool {
        let of = |Self(laid): &Self| (laid.slab, laid.settings);
        of(self) == of(other)
            && self.supports() == other.supports()
            && self.loads() == other.loads()
    }
}

#[derive(Debug)]
pub(super) struct Laid {
    pub(super) slab: Slab,
    pub(super) supports: Vec<SlabSupport>,
    pub(super) settings: BearSettings,
    /// Loads on top of the weight,
    pub(super) loads: Vec<Load>,
    /// and all of it in N, and its moments about the middle, along and across.
    pub(super) burden: [f64; 3],
    pub(super) tips: Option<Tipping>,
    pub(super) mesh: Mesh,
    /// One half as fine.
    coarse: Mesh,
    /// Where the two are compared: at supports and loads, and over the slab, in half sides.
    probes: DMatrix<f64>,
}

/// How a slab bears for many sets of tops: of each set, one behind the other, what
/// [`Bearing`](crate::Bearing) has of one. NaN where it tips.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Bearings {
    /// What each support does to the slab, N.
    pub forces_n: Vec<f64>,
    /// How far the slab clears each support, mm.
    pub gaps_mm: Vec<f64>,
}

/// The plate on one mesh, with what acts on it.
#[derive(Debug)]
pub(super) struct Mesh {
    pub(super) plate: Plate,
    /// Under 1 N upwards at each support; last, under what the slab carries, downwards.
    pub(super) shapes: Shapes,
    /// The inverse of [C R; Rᵀ 0].
    pub(super) inverse: DMatrix<f64>,
    /// Sag at each support under what the slab carries, being held in the middle.
    pub(super) sag: Vec<f64>,
    /// Heights at the probes for each force of 1 N, and last the sag there.
    bent: DMatrix<f64>,
}

/// How the slab lies on one mesh.
pub(super) struct Settled {
    pub(super) forces: Vec<f64>,
    pub(super) gaps: Vec<f64>,
    /// How it lies without bending: at the middle, and up to the end along and across, mm.
    pub(super) lies: [f64; 3],
}

/// The most operations that factorising a mesh may take.
const MOST_WORK: usize = 300_000_000;

impl LaidSlab {
    /// Lays a slab on supports.
    ///
    /// The mesh is as fine as the accuracy asks that the settings state: heights on it are held
    /// against those on one half as fine, with the supports level.
    ///
    /// # Errors
    /// A slab, supports or loads that cannot be: sizes, a modulus, a density or a strength not above
    /// 0, a Poisson's ratio outside 0 to 0.5, supports or loads outside the slab, two supports at
    /// one place, fewer than three or all on one line, more than [`SlabSupport::MOST`], a stiffness
    /// not above 0, a negative hold, values that are not finite; nothing that presses the slab down.
    pub fn new(
        slab: &Slab,
        supports: &[SlabSupport],
        loads: &[Load],
        settings: BearSettings,
    ) -> Result<Self, Error> {
        check(slab, supports, loads, settings)?;
        Self::fine_enough(slab, supports, loads, settings, &vec![0.0; supports.len()])
    }

    /// Lays a checked slab, on a mesh that is fine enough for supports with these tops.
    pub(super) fn fine_enough(
        slab: &Slab,
        supports: &[SlabSupport],
        loads: &[Load],
        settings: BearSettings,
        tops: &[f64],
    ) -> Result<Self, Error> {
        let beyond = || {
            let got = "a slab that is too stiff or too soft to compute";
            Error::new(
                ProblemKind::Value,
                "slab",
                got,
                "sizes and a modulus nearer to those of slate",
            )
        };
        let burden = burden(slab, loads, settings);
        let tips = tipping(slab, supports, burden);
        let sides = slab.sides();
        let shorter = sides[0].min(sides[1]);
        let mut elements = sides.map(|side| ((side / shorter).round() as usize).clamp(1, 24));
        let probes = probes(slab, supports, loads);
        let mesh = |elements| {
            Mesh::new(slab, supports, loads, settings, elements, &probes).ok_or_else(beyond)
        };
        let mut coarse = mesh(elements)?;
        loop {
            elements = elements.map(|count| 2 * count);
            let laid = Laid {
                slab: *slab,
                supports: supports.to_vec(),
                settings,
                loads: loads.to_vec(),
                burden,
                tips,
                mesh: mesh(elements)?,
                coarse,
                probes: DMatrix::from_fn(probes.len(), 3, |at, way| rigid(slab, probes[at])[way]),
            };
            if work(elements) > MOST_WORK || laid.is_within(tops) {
                return Ok(Self(Arc::new(laid)));
            }
            coarse = laid.mesh;
        }
    }

    /// Finds how the slab bears for many sets of tops, mm, each with one for each support, one set
    /// behind the other.
    ///
    /// # Errors
    /// Heights that do not fill whole sets; heights that are not finite or beyond 1000 km.
    pub fn bear_many(&self, tops_mm: &[f64]) -> Result<Bearings, Error> {
        let count = self.0.supports.len();
        if !tops_mm.len().is_multiple_of(count) {
            let expected = format!("a multiple of {count}, one for each support");
            let got = format!("{} values", tops_mm.len());
            return Err(Error::new(ProblemKind::Shape, "tops", got, expected));
        }
        check_tops(tops_mm, tops_mm.len())?;
        let mut bearings = Bearings {
            forces_n: Vec::with_capacity(tops_mm.len()),
            gaps_mm: Vec::with_capacity(tops_mm.len()),
        };
        for tops in tops_mm.chunks_exact(count) {
            match self.0.settle(&from_mean(tops)) {
                Some(settled) => {
                    bearings.forces_n.extend(settled.forces);
                    bearings.gaps_mm.extend(settled.gaps);
                }
                None => {
                    bearings.forces_n.extend(std::iter::repeat_n(f64::NAN, count));
                    bearings.gaps_mm.extend(std::iter::repeat_n(f64::NAN, count));
                }
            }
        }
        Ok(bearings)
    }

    /// Elements of the mesh along and across.
    pub fn elements(&self) -> [usize; 2] {
        self.0.mesh.plate.elements()
    }

    /// The slab.
    pub fn slab(&self) -> &Slab {
        &self.0.slab
    }

    /// The supports.
    pub fn supports(&self) -> &[SlabSupport] {
        &self.0.supports
    }

    /// The loads, the slab's own weight apart.
    pub fn loads(&self) -> &[Load] {
        &self.0.loads
    }

    /// Whether it tips, whatever the tops.
    pub(crate) fn tips(&self) -> bool {
        self.0.tips.is_some()
    }

    /// How it is computed.
    pub fn settings(&self) -> BearSettings {
        self.0.settings
    }
}

impl Laid {
    /// A force below this counts as none, N.
    pub(super) fn nothing_n(&self) -> f64 {
        let weight = if self.settings.weight { self.slab.weight_n() } else { 0.0 };
        let loads: f64 = self.loads.iter().map(|load| load.newtons().abs()).sum();
        1e-9 * (weight + loads)
    }

    /// The least force, N, that counts as carrying so much: within a millionth of what acts, and
    /// more than nothing in any case.
    pub(super) fn least_n(&self, asked: f64) -> f64 {
        let tolerance = self.tolerance_n();
        asked.max(2.0 * tolerance) - tolerance
    }

    /// Forces count within this, N.
    pub(super) fn tolerance_n(&self) -> f64 {
        1e3 * self.nothing_n()
    }

    /// How the slab settles on tops from their mean; none where it falls.
    pub(super) fn settle(&self, tops: &[f64]) -> Option<Settled> {
        if self.tips.is_some() { None } else { self.mesh.settle(self, tops) }
    }

    /// Heights at the probes from the mean of the tops, on the mesh and on the coarse one.
    fn probed(&self, tops: &[f64], settled: &Settled) -> Option<[DVector<f64>; 2]> {
        let heights = |mesh: &Mesh, settled: &Settled| {
            let mut acts = settled.forces.clone();
            acts.push(-1.0);
            &mesh.bent * DVector::from(acts) + &self.probes * DVector::from_row_slice(&settled.lies)
        };
        let coarse = self.coarse.settle(self, tops)?;
        Some([heights(&self.mesh, settled), heights(&self.coarse, &coarse)])
    }

    /// How far the heights of the two meshes are apart, mm.
    pub(super) fn accuracy(&self, tops: &[f64], settled: &Settled) -> f64 {
        self.probed(tops, settled).map_or(f64::NAN, |[fine, coarse]| (fine - coarse).amax())
    }

    /// Whether the heights are known as well as is asked.
    fn is_within(&self, tops: &[f64]) -> bool {
        let tops = from_mean(tops);
        let Some(settled) = self.settle(&tops) else { return true };
        let Some([fine, coarse]) = self.probed(&tops, &settled) else { return true };
        let apart = (&fine - coarse).amax();
        let square = self.probes.transpose() * &self.probes;
        let bends = square.try_inverse().map_or(0.0, |inverse| {
            let plane = inverse * (self.probes.transpose() * &fine);
            (&fine - &self.probes * plane).amax()
        });
        apart <= self.settings.within_mm.max(self.settings.within_share * bends)
    }

    /// 1 and how far a place lies from the middle, in half sides.
    pub(super) fn rigid(&self, xy: [f64; 2]) -> [f64; 3] {
        rigid(&self.slab, xy)
    }
}

impl Mesh {
    fn new(
        slab: &Slab,
        supports: &[SlabSupport],
        loads: &[Load],
        settings: BearSettings,
        elements: [usize; 2],
        probes: &[[f64; 2]],
    ) -> Option<Self> {
        let plate = Plate::new(slab, elements)?;
        let places: Vec<Functional> =
            supports.iter().map(|support| plate.height(support.xy_mm)).collect();
        let mut acts: Vec<Vec<(f64, Functional)>> =
            places.iter().map(|place| vec![(1.0, place.clone())]).collect();
        let weight = settings.weight.then(|| (slab.weight_n(), plate.mean(slab.x_mm, slab.y_mm)));
        let load = |load: &Load| match *load {
            Load::Point { xy_mm, newtons } => (newtons, plate.height(xy_mm)),
            Load::Patch { x_mm, y_mm, newtons } => (newtons, plate.mean(x_mm, y_mm)),
        };
        acts.push(weight.into_iter().chain(loads.iter().map(load)).collect());
        let shapes = plate.shapes(&acts);
        let count = supports.len();
        let heights = |places: &mut dyn Iterator<Item = Functional>, rows: usize| {
            let mut heights = DMatrix::zeros(rows, count + 1);
            let mut row = vec![0.0; count + 1];
            for (at, place) in places.enumerate() {
                row.fill(0.0);
                plate.measure(&place, &shapes, &mut row);
                row.iter().enumerate().for_each(|(column, &value)| heights[(at, column)] = value);
            }
            heights
        };
        let rows = heights(&mut places.into_iter(), count);
        let bent = heights(&mut probes.iter().map(|&probe| plate.height(probe)), probes.len());
        let sag = rows.column(count).iter().copied().collect();
        let inverse = inverse(slab, supports, &rows)?;
        Some(Self { plate, shapes, inverse, sag, bent })
    }

    /// The forces with every support touching, be they pushes or pulls, for tops at these heights.
    pub(super) fn all_touching(&self, laid: &Laid, tops: &[f64]) -> Vec<f64> {
        (0..tops.len()).map(|row| self.solved(row, laid, tops, |_| 0.0)).collect()
    }

    /// What the inverse makes of heights over the tops and of what acts, in one of its rows.
    pub(super) fn solved(
        &self,
        row: usize,
        laid: &Laid,
        tops: &[f64],
        gap: impl Fn(usize) -> f64,
    ) -> f64 {
        let count = tops.len();
        let of = |at: usize| self.inverse[(row, at)] * (tops[at] + self.sag[at] + gap(at));
        let heights: f64 = (0..count).map(of).sum();
        let acts = laid.burden.iter().enumerate();
        heights + acts.map(|(at, it)| self.inverse[(row, count + at)] * it).sum::<f64>()
    }

    /// How the slab settles on tops from their mean; none where it falls.
    fn settle(&self, laid: &Laid, tops: &[f64]) -> Option<Settled> {
        let mut forces = self.all_touching(laid, tops);
        let pulls = laid.supports.iter().map(|support| support.pull_n);
        let pressed: Vec<f64> =
            forces.iter().zip(pulls).map(|(force, pull)| force + pull).collect();
        let gaps = contact::gaps(&self.inverse, &pressed, laid.nothing_n()).ok()?;
        for (at, force) in forces.iter_mut().enumerate() {
            if gaps[at] > 0.0 {
                // Not -0 where there is no screw.
                *force = 0.0 - laid.supports[at].pull_n;
            } else {
                let by = gaps.iter().enumerate().filter(|(_, gap)| **gap > 0.0);
                *force += by.map(|(of, gap)| self.inverse[(at, of)] * gap).sum::<f64>();
            }
        }
        let count = tops.len();
        let lies = [0, 1, 2].map(|way| self.solved(count + way, laid, tops, |at| gaps[at]));
        Some(Settled { forces, gaps, lies })
    }
}

/// The inverse of [C R; Rᵀ 0]; none where it is beyond the arithmetic.
fn inverse(slab: &Slab, supports: &[SlabSupport], rows: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    /// What every support gives way by, as a part of the most that the slab bends: far below what is
    /// computed, but supports of which only the sum matters then share it.
    const GIVES: f64 = 1e-9;
    let count = supports.len();
    let most = (0..count).map(|at| rows[(at, at)]).fold(0.0, f64::max);
    let scale = supports
        .iter()
        .filter_map(|support| support.stiffness_n_per_mm)
        .fold(most, |most, stiffness| most.max(1.0 / stiffness));
    let mut matrix = DMatrix::zeros(count + 3, count + 3);
    for at in 0..count {
        for other in 0..count {
            matrix[(at, other)] = 0.5 * (rows[(at, other)] + rows[(other, at)]) / scale;
        }
        let gives = supports[at].stiffness_n_per_mm.map_or(0.0, f64::recip);
        matrix[(at, at)] += gives / scale + GIVES;
        for (column, value) in rigid(slab, supports[at].xy_mm).into_iter().enumerate() {
            matrix[(at, count + column)] = value;
            matrix[(count + column, at)] = value;
        }
    }
    let mut inverse = matrix.try_inverse()?;
    for row in 0..count + 3 {
        for column in 0..=row {
            let by = match (row < count, column < count) {
                (true, true) => 1.0 / scale,
                (false, false) => scale,
                _ => 1.0,
            };
            let value = 0.5 * by * (inverse[(row, column)] + inverse[(column, row)]);
            inverse[(row, column)] = value;
            inverse[(column, row)] = value;
        }
    }
    inverse.iter().all(|value| value.is_finite()).then_some(inverse)
}

/// The operations that factorising a quarter of the plate takes on a mesh.
fn work([along, across]: [usize; 2]) -> usize {
    let unknowns = 4 * (along + 1) * (across + 1);
    let reach = 4 * (along.min(across) + 2);
    // The next mesh has four times the unknowns and twice the reach.
    16 * unknowns * reach * reach
}

/// Heights from their mean, which loses no digits far from 0.
pub(super) fn from_mean(tops: &[f64]) -> Vec<f64> {
    let mean = mean(tops);
    tops.iter().map(|top| top - mean).collect()
}

pub(super) fn mean(tops: &[f64]) -> f64 {
    tops.iter().sum::<f64>() / tops.len() as f64
}

fn rigid(slab: &Slab, [x, y]: [f64; 2]) -> [f64; 3] {
    let ([u, v], [long, wide]) = (slab.middle(), slab.sides());
    [1.0, 2.0 * (x - u) / long, 2.0 * (y - v) / wide]
}

/// All that acts downwards: N, and its moments in N times half sides.
fn burden(slab: &Slab, loads: &[Load], settings: BearSettings) -> [f64; 3] {
    let mut burden = [0.0; 3];
    let weight = settings.weight.then(|| (slab.weight_n(), slab.middle()));
    let loads = loads.iter().map(|load| (load.newtons(), load.middle_mm()));
    for (newtons, at) in weight.into_iter().chain(loads) {
        let rigid = rigid(slab, at);
        burden.iter_mut().zip(rigid).for_each(|(sum, by)| *sum += newtons * by);
    }
    burden
}

/// Where meshes are compared: at supports and loads, and over the slab.
fn probes(slab: &Slab, supports: &[SlabSupport], loads: &[Load]) -> Vec<[f64; 2]> {
    let part = |[from, to]: [f64; 2], at: usize| from + 0.25 * at as f64 * (to - from);
    let grid = (0..25).map(|at| [part(slab.x_mm, at / 5), part(slab.y_mm, at % 5)]);
    let supports = supports.iter().map(|support| support.xy_mm);
    grid.chain(supports).chain(loads.iter().map(Load::middle_mm)).collect()
}

/// Checks all but the heights.
pub(super) fn check(
    slab: &Slab,
    supports: &[SlabSupport],
    loads: &[Load],
    settings: BearSettings,
) -> Result<(), Error> {
    let mut found = Problems::default();
    if found.take(slab.check()).is_some() {
        support::check(supports, slab, &mut found);
        loads.iter().enumerate().for_each(|(at, load)| load.check(at, slab, &mut found));
    }
    for (name, value, most) in
        [("within_mm", settings.within_mm, 1.0), ("within_share", settings.within_share, 0.5)]
    {
        if !(value >= 0.0 && value <= most) {
            found.add(ProblemKind::Value, name, value, format!("a number from 0 to {most}"));
        }
    }
    found.into_result()?;
    let mut found = Problems::default();
    support::check_spread(supports, slab, &mut found);
    if !settings.weight && loads.iter().all(|load| load.newtons() == 0.0) {
        let expected = "the slab's weight, or a load that presses it down";
        found.add(ProblemKind::Value, "loads", "nothing that acts", expected);
    }
    found.into_result()
}

/// Checks the heights of tops.
pub(super) fn check_tops(tops: &[f64], count: usize) -> Result<(), Error> {
    let mut found = Problems::default();
    if tops.len() != count {
        let expected = format!("{count}, one for each support");
        found.add(ProblemKind::Shape, "tops", format!("{} values", tops.len()), expected);
    }
    for (at, top) in tops.iter().enumerate() {
        if top.is_nan() || top.abs() > 1e9 {
            let expected = "a height within ±1000 km, in mm";
            found.add(ProblemKind::Value, format!("tops[{at}]"), top, expected);
        }
    }
    found.into_result()
}
