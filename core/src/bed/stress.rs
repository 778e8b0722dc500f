//! The bending stress of a slab.
//!
//! Under a point force P the moments of a thin plate grow without end, as those of
//! w = P r² ln r / 8 π D do. So this is taken off, as the mesh has it, and put back as it is, spread
//! over a small circle (Timoshenko & Woinowsky-Krieger §19 and Westergaard's equivalent radius, from
//! memory).

use std::f64::consts::PI;

use libm::log;

use super::laid::Laid;
use super::line::Asked;
use super::load::Load;
use super::plate::{Plate, Shapes};
use super::slab::Slab;

/// A stress and where it is.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Stress {
    /// The largest principal bending stress, MPa: a tension in one face and as much pressure in the
    /// other.
    pub mpa: f64,
    /// Where, mm.
    pub at_mm: [f64; 2],
    /// The stress over what is allowed, which is the strength over the factor that the slab states;
    /// none where no strength is.
    pub ratio: Option<f64>,
}

/// The radius over which a point force counts as spread, in thicknesses.
const RADIUS: f64 = 0.325;

/// Curvatures: along, across and twist, 1/mm.
type Curvatures = [f64; 3];

pub(super) fn stress(laid: &Laid, forces: &[f64]) -> Stress {
    let plate = &laid.mesh.plate;
    let mut times = forces.to_vec();
    times.push(-1.0);
    let shape = plate.sum(&laid.mesh.shapes, &times);
    let points: Vec<([f64; 2], f64)> = laid
        .supports
        .iter()
        .zip(forces)
        .map(|(support, &force)| (support.xy_mm, force))
        .chain(laid.loads.iter().filter_map(|load| match *load {
            Load::Point { xy_mm, newtons } => Some((xy_mm, -newtons)),
            Load::Patch { .. } => None,
        }))
        .filter(|&(at, _)| inland(&laid.slab, at))
        .collect();
    let stiffness = laid.slab.stiffness_n_mm();
    let thickness = laid.slab.thickness_mm;
    let sizes = plate.lines.map(|line| line.size);
    let slab = &laid.slab;
    let of = |xy: [f64; 2], bent: Curvatures| {
        let add = |sum: Curvatures, &(at, force): &([f64; 2], f64)| {
            added(sum, single(at, force / stiffness, xy, RADIUS * thickness), 1.0)
        };
        principal(points.iter().fold(bent, add), slab.nu, stiffness, thickness)
    };
    let regular = |xy: [f64; 2]| regular(plate, &shape, &points, stiffness, xy);
    let [long, wide] = plate.elements();
    let part = |[from, to]: [f64; 2], at: usize, of: usize| {
        from + (to - from) * at as f64 / (2 * of) as f64
    };
    let lattice = (0..=2 * long).flat_map(|x| (0..=2 * wide).map(move |y| [x, y]));
    let lattice = lattice.map(|[x, y]| [part(slab.x_mm, x, long), part(slab.y_mm, y, wide)]);
    // In the elements around a force the mesh has not quite what is taken off, so what is left there
    // is that of a little further off.
    let far = |xy: &[f64; 2]| {
        points.iter().all(|(at, _)| (0..2).any(|way| (xy[way] - at[way]).abs() > sizes[way]))
    };
    let around = |[x, y]: [f64; 2]| {
        let [dx, dy] = sizes.map(|size| 1.5 * size);
        let around = [[x - dx, y], [x + dx, y], [x, y - dy], [x, y + dy]];
        let around: Vec<[f64; 2]> = around.into_iter().filter(|&at| slab.holds(at)).collect();
        let each = 1.0 / around.len() as f64;
        around.iter().fold([0.0; 3], |sum, &at| added(sum, regular(at), each))
    };
    let lattice = lattice.filter(far).map(|at| (of(at, regular(at)), at));
    let forced = points.iter().map(|&(at, _)| (of(at, around(at)), at));
    let largest = lattice.chain(forced).max_by(|a, b| a.0.total_cmp(&b.0));
    let (mpa, at_mm) = largest.unwrap_or((f64::NAN, slab.middle()));
    let allowed = laid.slab.strength_mpa.map(|strength| strength / laid.slab.strength_factor);
    Stress { mpa, at_mm, ratio: allowed.map(|allowed| mpa / allowed) }
}

/// Whether a place is farther from all edges than two thicknesses. Nearer to an edge a force acts
/// by another function, and the value of the mesh is kept.
fn inland(slab: &Slab, [x, y]: [f64; 2]) -> bool {
    let from_ends = |[from, to]: [f64; 2], at: f64| (at - from).min(to - at);
    from_ends(slab.x_mm, x).min(from_ends(slab.y_mm, y)) > 2.0 * slab.thickness_mm
}

/// Curvatures and more of them, so many times.
fn added(to: Curvatures, more: Curvatures, times: f64) -> Curvatures {
    [0, 1, 2].map(|way| to[way] + times * more[way])
}

/// The curvatures that the mesh has at a place, less what it has of point forces.
fn regular(
    plate: &Plate,
    shape: &Shapes,
    points: &[([f64; 2], f64)],
    stiffness: f64,
    xy: [f64; 2],
) -> Curvatures {
    let ways = [
        [Asked::Curvature, Asked::Value],
        [Asked::Value, Asked::Curvature],
        [Asked::Slope, Asked::Slope],
    ];
    let taken = plate.sampled(xy, ways, |node| {
        points.iter().fold([0.0; 4], |sum, &(at, force)| {
            let own = single_at_node(at, force / stiffness, node);
            [sum[0] + own[0], sum[1] + own[1], sum[2] + own[2], sum[3] + own[3]]
        })
    });
    [0, 1, 2].map(|way| {
        let mut bent = [0.0];
        plate.measure(&plate.at(xy, ways[way]), shape, &mut bent);
        bent[0] - taken[way]
    })
}

/// Value, slopes and twist at a node of r² ln r / 8 π, so many times.
fn single_at_node([a, b]: [f64; 2], times: f64, [x, y]: [f64; 2]) -> [f64; 4] {
    let (dx, dy) = (x - a, y - b);
    let square = dx * dx + dy * dy;
    if square == 0.0 {
        return [0.0; 4];
    }
    let by = times / (8.0 * PI);
    let log_square = log(square);
    // r² ln r = s ln s / 2 with s = r²; its derivative by s is (ln s + 1) / 2.
    let slope = log_square + 1.0;
    [0.5 * square * log_square, dx * slope, dy * slope, 2.0 * dx * dy / square].map(|it| it * by)
}

/// Curvatures of r² ln r / 8 π, so many times, as of a force spread over a circle.
fn single([a, b]: [f64; 2], times: f64, [x, y]: [f64; 2], radius: f64) -> Curvatures {
    let by = times / (8.0 * PI);
    let (dx, dy) = (x - a, y - b);
    let square = dx * dx + dy * dy;
    if square < radius * radius {
        let within = by * (2.0 * log(radius) + 1.0);
        return [within, within, 0.0];
    }
    let both = log(square) + 1.0;
    let (along, across) = (2.0 * dx * dx / square, 2.0 * dy * dy / square);
    [by * (both + along), by * (both + across), by * 2.0 * dx * dy / square]
}

/// The largest principal bending stress, MPa: 6 M / h².
fn principal([along, across, twist]: Curvatures, nu: f64, stiffness: f64, thickness: f64) -> f64 {
    let (a, b) = (along + nu * across, across + nu * along);
    let mixed = (1.0 - nu) * twist;
    let (middle, half) = (0.5 * (a + b), 0.5 * (a - b));
    let moment = stiffness * (middle.abs() + (half * half + mixed * mixed).sqrt());
    6.0 * moment / (thickness * thickness)
}
