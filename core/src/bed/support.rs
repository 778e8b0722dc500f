//! What a slab lies on.

use super::slab::Slab;
use crate::error::{ProblemKind, Problems};

/// A support under a slab. It pushes; where a screw holds the slab to it, it pulls too, up to a
/// force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlabSupport {
    /// Where it stands, mm.
    pub xy_mm: [f64; 2],
    /// What a screw holds, N: with that force it still pulls where the slab is lifted off; 0 without
    /// a screw.
    pub pull_n: f64,
    /// How stiff the support is, N/mm: it gives way by the force over this; none where it is rigid.
    pub stiffness_n_per_mm: Option<f64>,
}

impl SlabSupport {
    /// The most supports that a slab can have.
    pub const MOST: usize = 500;
    /// The greatest hold of a screw, N.
    pub const MOST_PULL_N: f64 = 1e9;

    /// A rigid support that only pushes.
    pub fn at(xy_mm: [f64; 2]) -> Self {
        Self { xy_mm, pull_n: 0.0, stiffness_n_per_mm: None }
    }
}

/// Places nearer to each other than this count as one, mm.
const ONE_PLACE_MM: f64 = 1e-3;

pub(super) fn check(supports: &[SlabSupport], slab: &Slab, found: &mut Problems) {
    let count = supports.len();
    if !(3..=SlabSupport::MOST).contains(&count) {
        let expected = format!("3 to {} supports", SlabSupport::MOST);
        let kind = if count < 3 { ProblemKind::Geometry } else { ProblemKind::Shape };
        found.add(kind, "supports", format!("{count} supports"), expected);
    }
    for (at, support) in supports.iter().enumerate() {
        let SlabSupport { xy_mm: [x, y], pull_n, stiffness_n_per_mm } = *support;
        if !slab.holds([x, y]) {
            let got = format!("x = {x}, y = {y}");
            found.add(ProblemKind::Value, format!("supports[{at}].xy"), got, slab.outline());
        }
        if !(0.0..=SlabSupport::MOST_PULL_N).contains(&pull_n) {
            let expected = "a force from 0 to 1e9 N";
            found.add(ProblemKind::Value, format!("supports[{at}].pull_n"), pull_n, expected);
        }
        if let Some(stiffness) = stiffness_n_per_mm
            && !(stiffness >= 1e-6 && stiffness.is_finite())
        {
            let field = format!("supports[{at}].stiffness_n_per_mm");
            found.add(ProblemKind::Value, field, stiffness, "a stiffness of at least 1e-6 N/mm");
        }
        let near = |other: &SlabSupport| {
            let [a, b] = other.xy_mm;
            (a - x).abs() < ONE_PLACE_MM && (b - y).abs() < ONE_PLACE_MM
        };
        if let Some(other) = supports[..at].iter().position(near) {
            let got = format!("x = {x}, y = {y}");
            let expected = format!("a place where supports[{other}] does not stand");
            found.add(ProblemKind::Duplicate, format!("supports[{at}].xy"), got, expected);
        }
    }
}

/// Notes supports that are all on one line, of a list without other faults.
pub(super) fn check_spread(supports: &[SlabSupport], slab: &Slab, found: &mut Problems) {
    let far = |from: [f64; 2], to: [f64; 2]| (to[0] - from[0]).hypot(to[1] - from[1]);
    let first = supports[0].xy_mm;
    let by =
        |a: &&SlabSupport, b: &&SlabSupport| far(first, a.xy_mm).total_cmp(&far(first, b.xy_mm));
    let Some(end) = supports.iter().max_by(by) else { return };
    let [dx, dy] = [end.xy_mm[0] - first[0], end.xy_mm[1] - first[1]];
    let off = |support: &SlabSupport| {
        let [x, y] = [support.xy_mm[0] - first[0], support.xy_mm[1] - first[1]];
        (dx * y - dy * x).abs() / dx.hypot(dy)
    };
    let off = supports.iter().map(off).fold(0.0, f64::max);
    let [long, wide] = slab.sides();
    if off < 1e-6 * long.hypot(wide) {
        let got = format!("{} supports on one line", supports.len());
        found.add(ProblemKind::Geometry, "supports", got, "three or more that are not on one line");
    }
}
