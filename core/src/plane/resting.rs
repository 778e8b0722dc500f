//! What a rigid frame stands on.
//!
//! A frame with a level underside, put down over supports of uneven height, comes to rest on three
//! of them. They are the corners of the facet of the upper hull under its centre of mass, where the
//! centre lies lowest. So: minimise the height of a plane at the centre, over all planes that no support
//! reaches through.

use nalgebra::Vector3;

use super::check::collinear;
use super::exchange::{Basis, Column, settle};
use super::fit::{Fit, Plane};
use super::hull::{from_edge, hull, turn};
use super::least_squares::checked_moments;
use super::moments::Frame;
use crate::error::{Error, ProblemKind};

/// The most exchanges. There are never more than facets.
const EXCHANGES: usize = 1_000_000;

/// How a rigid frame stands.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Resting {
    /// The plane of its underside; deviations are zero where it stands and negative where it floats.
    pub plane: Plane,
    /// The three supports whose triangle in plan holds the centre of mass; ascending.
    pub supports: [usize; 3],
    /// What each of the three bears of the frame's weight, the frame being rigid.
    pub shares: [f64; 3],
    /// All supports that the frame touches: those three, and any others in their plane.
    pub touching: Vec<usize>,
    /// How far the frame floats above each support, mm; zero where it touches.
    pub floats_mm: Vec<f64>,
    /// Distance in plan from the centre of mass to the nearest edge of what the frame stands on, mm.
    pub margin_mm: f64,
    /// Whether the centre of mass lies within what the frame stands on: by more than 1e-9 of the
    /// spread of the supports. With the centre on an edge the frame may stand on either side of it.
    pub stable: bool,
    /// What happens when it is pushed over each edge of what it stands on, anticlockwise.
    pub rocks: Vec<Rock>,
}

/// A frame pushed over an edge of what it stands on, until it touches the next support.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Rock {
    /// The two supports that it turns about.
    pub edge: [usize; 2],
    /// The support that it comes down on; none where nothing stands beyond the edge, so that it
    /// would fall.
    pub onto: Option<usize>,
    /// How far it comes down there, mm: what it floats above that support. NaN where it falls.
    pub drop_mm: f64,
    /// How far it rises off the support that it leaves by most, mm. NaN where it falls.
    pub rise_mm: f64,
    /// Distance in plan from the centre of mass to the edge, mm: the further, the harder to push.
    pub margin_mm: f64,
}

/// Finds how a rigid frame with a plane underside stands on supports at plan positions `xy` and
/// heights `z`, mm. `centre` is the plan position of its centre of mass; the default is the mean of
/// the supports.
///
/// A support within 64 · 2⁻⁵² of the plane, relative to the largest height of a support above their
/// least-squares plane and the tilt of that plane, counts as touching.
///
/// # Errors
/// Those of [`fit_plane`](crate::fit_plane); a centre that is not finite, or outside the supports,
/// where the frame would fall over.
pub fn resting(xy: &[[f64; 2]], z: &[f64], centre: Option<[f64; 2]>) -> Result<Resting, Error> {
    let stance = Stance::find(xy, z, centre)?;
    let plane = stance.fit.plane(xy, z, 1.0);
    let height = |at: usize| plane.deviations_mm[at];
    let supports = stance.supports();
    let touches = |at: usize| height(at) >= -stance.touch || supports.contains(&at);
    let (touching, floating): (Vec<usize>, Vec<usize>) = (0..z.len()).partition(|&at| touches(at));
    let mut floats_mm = vec![0.0; z.len()];
    for at in floating {
        floats_mm[at] = -height(at);
    }

    let places: Vec<[f64; 2]> = touching.iter().map(|&at| stance.place(xy[at])).collect();
    let corners: Vec<usize> = hull(&places).into_iter().map(|at| touching[at]).collect();
    let edges = (0..corners.len()).map(|at| [corners[at], corners[(at + 1) % corners.len()]]);
    let rocks: Vec<Rock> = edges.map(|edge| stance.rock(edge, xy, &touching, &floats_mm)).collect();
    let margin_mm = rocks.iter().map(|rock| rock.margin_mm).fold(f64::INFINITY, f64::min);
    let mut order = [0, 1, 2];
    order.sort_by_key(|&at| stance.basis.columns[at].point);
    Ok(Resting {
        plane,
        supports,
        shares: order.map(|at| stance.basis.shares[at].clamp(0.0, 1.0)),
        touching,
        floats_mm,
        margin_mm,
        stable: margin_mm > 1e-9 * stance.spread,
        rocks,
    })
}

/// The resting plane alone.
pub(super) fn fit(xy: &[[f64; 2]], z: &[f64]) -> Result<Fit, Error> {
    Stance::find(xy, z, None).map(|stance| stance.fit)
}

struct Stance {
    fit: Fit,
    basis: Basis<3>,
    /// The centre of mass about the origin of the plane, mm.
    centre: [f64; 2],
    /// Largest distance of a support from the origin in plan, mm.
    spread: f64,
    /// A support so far below the plane touches it.
    touch: f64,
}

impl Stance {
    fn find(xy: &[[f64; 2]], z: &[f64], centre: Option<[f64; 2]>) -> Result<Self, Error> {
        let (frame, found) = checked_moments(xy, z, None)?;
        let frame = Frame { fit: found.fit(&frame), ..frame };
        let seen: Vec<[f64; 3]> = xy.iter().zip(z).map(|(xy, z)| frame.see(*xy, *z)).collect();
        let [x0, y0, _] = frame.fit.origin;
        let centre = centre.unwrap_or_else(|| {
            let [dx, dy] = frame.step([found.mean[0], found.mean[1]]);
            [x0 + dx, y0 + dy]
        });
        let outside = || {
            let got = format!("x = {}, y = {}", centre[0], centre[1]);
            Error::new(ProblemKind::Geometry, "centre", got, "a place within the supports")
        };
        if !centre.iter().all(|value| value.is_finite()) {
            return Err(outside());
        }
        let [u, v, _] = frame.see(centre, z[0]);
        let column = |at: usize| Column {
            point: at,
            above: true,
            coefficients: Vector3::new(1.0, seen[at][0], seen[at][1]),
            value: seen[at][2],
        };
        let places: Vec<[f64; 2]> = seen.iter().map(|[u, v, _]| [*u, *v]).collect();
        let triangle = triangle(&places, [u, v]).ok_or_else(outside)?;
        let mut basis = Basis::new(triangle.map(column), Vector3::new(1.0, u, v))
            .ok_or_else(|| collinear(z.len()))?;
        let columns: Vec<Column<3>> = (0..z.len()).map(column).collect();
        let relief = seen.iter().map(|[.., r]| r.abs()).fold(0.0, f64::max);
        let spread = xy.iter().map(|[x, y]| (x - x0).hypot(y - y0)).fold(0.0, f64::max);
        let tilt = spread * frame.fit.slope[0].hypot(frame.fit.slope[1]);
        let touch = 64.0 * f64::EPSILON * (relief + tilt);
        settle(&mut basis, &columns, 0.5 * touch, EXCHANGES);
        let prices = basis.prices();
        let [a, b] = frame.slopes([prices[1], prices[2]]);
        let fit = Fit {
            slope: [frame.fit.slope[0] + a, frame.fit.slope[1] + b],
            level: frame.fit.level + prices[0],
            ..frame.fit
        };
        Ok(Self { fit, basis, centre: [centre[0] - x0, centre[1] - y0], spread, touch })
    }

    fn supports(&self) -> [usize; 3] {
        let mut supports = self.basis.columns.map(|column| column.point);
        supports.sort_unstable();
        supports
    }

    /// A place about the origin of the plane.
    fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [x - self.fit.origin[0], y - self.fit.origin[1]]
    }

    fn rock(&self, edge: [usize; 2], xy: &[[f64; 2]], touching: &[usize], floats: &[f64]) -> Rock {
        let [a, b] = edge.map(|at| self.place(xy[at]));
        let inside = |at: usize| from_edge(a, b, self.place(xy[at]));
        // The first to be met is the one that the frame must turn least to reach.
        let turned = |at: usize| floats[at] / -inside(at);
        let beyond = (0..xy.len()).filter(|&at| inside(at) < -1e-9 * self.spread);
        let onto = beyond.min_by(|&i, &j| turned(i).total_cmp(&turned(j)));
        let behind = touching.iter().map(|&at| inside(at)).fold(0.0, f64::max);
        Rock {
            edge,
            onto,
            drop_mm: onto.map_or(f64::NAN, |at| floats[at]),
            rise_mm: onto.map_or(f64::NAN, |at| turned(at) * behind),
            margin_mm: from_edge(a, b, self.centre).max(0.0),
        }
    }
}

/// Corners of the hull whose triangle holds a place; none where it lies outside by more than a
/// 2⁻⁴⁰ part.
fn triangle(places: &[[f64; 2]], place: [f64; 2]) -> Option<[usize; 3]> {
    let corners = hull(places);
    let (first, rest) = corners.split_first()?;
    let allowed = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| -turn(a, b, c) * 2_f64.powi(-40);
    rest.windows(2).map(|pair| [*first, pair[0], pair[1]]).find(|corners| {
        let [a, b, c] = corners.map(|at| places[at]);
        let allowed = allowed(a, b, c);
        [turn(a, b, place), turn(b, c, place), turn(c, a, place)].iter().all(|&it| it >= allowed)
    })
}
