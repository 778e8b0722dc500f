//! What weighs how much, what stands on each leg, and how many people a lift takes.

use super::floor_model::check_places;
use crate::error::{Error, ProblemKind, Problems};

/// A slate, or any plate of one thickness.
#[derive(Debug, Clone, PartialEq)]
pub struct SlateWeight {
    /// The corners of its outline in plan in their order, mm.
    pub outline: Vec<[f64; 2]>,
    /// Its thickness, mm.
    pub thickness_mm: f64,
    /// Its density, kg/m³.
    pub density_kg_per_m3: f64,
}

/// A weight and where it acts in plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mass {
    /// kg.
    pub kg: f64,
    /// The centre of mass in plan, mm.
    pub at: [f64; 2],
}

impl SlateWeight {
    /// The mass of the slate: the area of its outline × thickness × density.
    ///
    /// # Errors
    /// Fewer than three corners, corners without an area, values that are not finite or not above 0.
    pub fn mass(&self) -> Result<Mass, Error> {
        let mut found = Problems::default();
        found.take(check_places("outline", &self.outline));
        for (field, value, unit) in
            [("thickness", self.thickness_mm, "mm"), ("density", self.density_kg_per_m3, "kg/m³")]
        {
            if !(value.is_finite() && value > 0.0) {
                found.add(ProblemKind::Value, field, value, format!("above 0 {unit}"));
            }
        }
        found.into_result()?;
        // Twice the area, and six times the moments, by the corners (Green's theorem); about the first
        // corner, so that nothing cancels.
        let [x0, y0] = self.outline[0];
        let (mut twice, mut along, mut across) = (0.0, 0.0, 0.0);
        for (at, a) in self.outline.iter().enumerate() {
            let b = self.outline[(at + 1) % self.outline.len()];
            let (a, b) = ([a[0] - x0, a[1] - y0], [b[0] - x0, b[1] - y0]);
            let cross = a[0] * b[1] - b[0] * a[1];
            twice += cross;
            along += (a[0] + b[0]) * cross;
            across += (a[1] + b[1]) * cross;
        }
        if twice.abs() < 1e-3 || self.outline.len() < 3 {
            let got = format!("{} corners without an area", self.outline.len());
            let expected = "three corners or more, in their order around the slate";
            return Err(Error::new(ProblemKind::Geometry, "outline", got, expected));
        }
        let volume_m3 = 0.5 * twice.abs() * self.thickness_mm * 1e-9;
        Ok(Mass {
            kg: volume_m3 * self.density_kg_per_m3,
            at: [x0 + along / (3.0 * twice), y0 + across / (3.0 * twice)],
        })
    }
}

/// All of it as one mass; none where there is nothing.
pub(crate) fn together(masses: &[Mass]) -> Option<Mass> {
    let kg: f64 = masses.iter().map(|mass| mass.kg).sum();
    let centre = |axis: usize| masses.iter().map(|mass| mass.kg * mass.at[axis]).sum::<f64>() / kg;
    (kg > 0.0).then(|| Mass { kg, at: [centre(0), centre(1)] })
}

/// What one leg of a table carries.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct LegLoad {
    /// What stands on it while the table stands on all legs, kg: a rigid table on equal springs, which
    /// is how the load is shared where nothing else is known (assumed).
    pub stands_kg: f64,
    /// The most that it takes to raise it, kg: the table then hangs on this leg and on what lies
    /// beyond its centre of mass. NaN where the centre of mass is not between the legs.
    pub raises_kg: f64,
}

/// What each leg at the places `xy`, mm, carries of a mass.
///
/// # Errors
/// Places that are not finite, or none; a mass that is not a finite number of kg, 0 or more.
pub fn leg_loads(xy: &[[f64; 2]], mass: Mass) -> Result<Vec<LegLoad>, Error> {
    check_places("xy", xy)?;
    let mut found = Problems::default();
    if !(mass.kg.is_finite() && mass.kg >= 0.0) {
        found.add(ProblemKind::Value, "kg", mass.kg, "a finite number of kg, 0 or more");
    }
    found.take(check_places("at", &[mass.at]));
    found.into_result()?;
    let shares = spring_shares(xy, mass.at);
    let load = |(at, share): (usize, f64)| LegLoad {
        stands_kg: mass.kg * share,
        raises_kg: mass.kg * most_share(xy, mass.at, at),
    };
    Ok(shares.into_iter().enumerate().map(load).collect())
}

/// The shares of a load on equal springs: 1/n and a linear part that brings the moments about.
fn spring_shares(xy: &[[f64; 2]], centre: [f64; 2]) -> Vec<f64> {
    let n = xy.len() as f64;
    let mean = [0, 1].map(|axis| xy.iter().map(|at| at[axis]).sum::<f64>() / n);
    let off = |at: &[f64; 2]| [at[0] - mean[0], at[1] - mean[1]];
    let sum = |a: usize, b: usize| xy.iter().map(|at| off(at)[a] * off(at)[b]).sum::<f64>();
    let (xx, yy, xy_) = (sum(0, 0), sum(1, 1), sum(0, 1));
    let det = xx * yy - xy_ * xy_;
    let [x, y] = off(&centre);
    // Legs on one line take no moment across it.
    let (a, b) = if det > 1e-9 * (xx + yy).powi(2) {
        ((x * yy - y * xy_) / det, (y * xx - x * xy_) / det)
    } else {
        (0.0, 0.0)
    };
    xy.iter().map(|at| 1.0 / n + a * off(at)[0] + b * off(at)[1]).collect()
}

/// The largest share that one leg can take in equilibrium, where legs only push: λ with centre = λ leg +
/// (1 − λ) q, q as far from the leg as the other legs reach on that line.
fn most_share(xy: &[[f64; 2]], centre: [f64; 2], leg: usize) -> f64 {
    let to = [centre[0] - xy[leg][0], centre[1] - xy[leg][1]];
    let length = libm::hypot(to[0], to[1]);
    if length == 0.0 {
        return 1.0;
    }
    let unit = [to[0] / length, to[1] / length];
    // How far along the line and how far to its left each other leg lies.
    let place = |at: &[f64; 2]| {
        let [x, y] = [at[0] - xy[leg][0], at[1] - xy[leg][1]];
        [x * unit[0] + y * unit[1], y * unit[0] - x * unit[1]]
    };
    let others: Vec<[f64; 2]> =
        xy.iter().enumerate().filter(|(at, _)| *at != leg).map(|(_, at)| place(at)).collect();
    let (left, right): (Vec<&[f64; 2]>, Vec<&[f64; 2]>) =
        others.iter().partition(|at| at[1] >= 0.0);
    // Where the line between one leg on each side crosses.
    let mut reach = f64::NEG_INFINITY;
    for a in &others {
        if a[1].abs() < 1e-9 * length {
            reach = reach.max(a[0]);
        }
    }
    for a in left {
        for b in &right {
            let part = a[1] / (a[1] - b[1]);
            reach = reach.max(a[0] + part * (b[0] - a[0]));
        }
    }
    if reach < length { f64::NAN } else { 1.0 - length / reach }
}

/// What one person lifts by default, kg: the load constant of the revised NIOSH lifting equation, 1994 (from
/// memory). It is what a fit person may lift once in a good posture with a good grip, no more.
pub const LIFT_A_PERSON_KG: f64 = 23.0;

/// How many people a lift takes at so much for each.
///
/// # Errors
/// Values that are not finite; a weight below 0; a share that is not above 0.
pub fn people(kg: f64, share_kg: f64) -> Result<u32, Error> {
    let mut found = Problems::default();
    if !(kg.is_finite() && kg >= 0.0) {
        found.add(ProblemKind::Value, "kg", kg, "a finite number of kg, 0 or more");
    }
    if !(share_kg.is_finite() && share_kg > 0.0) {
        found.add(ProblemKind::Value, "kg_a_person", share_kg, "a finite number of kg above 0");
    }
    found.into_result()?;
    Ok((kg / share_kg).ceil() as u32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    const LEGS: [[f64; 2]; 4] = [[0.0, 0.0], [2000.0, 0.0], [2000.0, 1000.0], [0.0, 1000.0]];

    #[test]
    fn a_slate_weighs_its_volume() {
        let outline = vec![[100.0, 50.0], [1100.0, 50.0], [1100.0, 550.0], [100.0, 550.0]];
        let slate = SlateWeight { outline, thickness_mm: 25.0, density_kg_per_m3: 2800.0 };
        let mass = slate.mass().unwrap();
        assert_relative_eq!(mass.kg, 1.0 * 0.5 * 0.025 * 2800.0, max_relative = 1e-12);
        assert_relative_eq!(mass.at[0], 600.0, max_relative = 1e-12);
        assert_relative_eq!(mass.at[1], 300.0, max_relative = 1e-12);
        // A triangle, turned the other way.
        let outline = vec![[0.0, 0.0], [0.0, 300.0], [600.0, 0.0]];
        let triangle = SlateWeight { outline, ..slate.clone() }.mass().unwrap();
        assert_relative_eq!(triangle.kg, 0.09 * 0.025 * 2800.0, max_relative = 1e-12);
        assert_relative_eq!(triangle.at[0], 200.0, max_relative = 1e-12);
        for outline in [vec![], vec![[0.0; 2]; 4], vec![[0.0, 0.0], [1.0, f64::NAN], [3.0, 4.0]]] {
            assert!(SlateWeight { outline, ..slate.clone() }.mass().is_err());
        }
        assert!(SlateWeight { thickness_mm: 0.0, ..slate }.mass().is_err());
    }

    #[test]
    fn loads_are_in_equilibrium() {
        let mass = Mass { kg: 400.0, at: [900.0, 600.0] };
        let loads = leg_loads(&LEGS, mass).unwrap();
        let sum = |of: &dyn Fn(usize) -> f64| {
            loads.iter().enumerate().map(|(at, load)| load.stands_kg * of(at)).sum::<f64>()
        };
        assert_relative_eq!(sum(&|_| 1.0), 400.0, max_relative = 1e-12);
        assert_relative_eq!(sum(&|at| LEGS[at][0]), 400.0 * 900.0, max_relative = 1e-12);
        assert_relative_eq!(sum(&|at| LEGS[at][1]), 400.0 * 600.0, max_relative = 1e-12);
        // In the middle each carries a quarter, and raising a corner takes half.
        for load in leg_loads(&LEGS, Mass { kg: 400.0, at: [1000.0, 500.0] }).unwrap() {
            assert_relative_eq!(load.stands_kg, 100.0, max_relative = 1e-12);
            assert_relative_eq!(load.raises_kg, 200.0, max_relative = 1e-12);
        }
    }

    /// The most that a leg can carry, against every pair and triple of legs that can hold the table.
    #[test]
    fn raising_a_leg_takes_the_most_that_equilibrium_allows() {
        let legs = [
            [0.0, 0.0],
            [1000.0, -50.0],
            [2000.0, 30.0],
            [2100.0, 1000.0],
            [900.0, 1100.0],
            [-20.0, 980.0],
        ];
        let centre = [950.0, 480.0];
        let loads = leg_loads(&legs, Mass { kg: 1.0, at: centre }).unwrap();
        for (leg, load) in loads.iter().enumerate() {
            let mut most = 0.0_f64;
            for a in 0..6 {
                for b in 0..6 {
                    if a == b || a == leg || b == leg {
                        continue;
                    }
                    let side = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
                        (q[0] - p[0]) * (r[1] - p[1]) - (r[0] - p[0]) * (q[1] - p[1])
                    };
                    let all = side(legs[leg], legs[a], legs[b]);
                    let parts = [
                        side(centre, legs[a], legs[b]) / all,
                        side(legs[leg], centre, legs[b]) / all,
                        side(legs[leg], legs[a], centre) / all,
                    ];
                    if parts.iter().all(|part| *part >= 0.0) {
                        most = most.max(parts[0]);
                    }
                }
            }
            assert_abs_diff_eq!(load.raises_kg, most, epsilon = 1e-12);
        }
        let beyond = leg_loads(&LEGS, Mass { kg: 1.0, at: [3000.0, 500.0] }).unwrap();
        assert!(beyond[0].raises_kg.is_nan());
    }

    #[test]
    fn people_for_a_lift() {
        assert_eq!(
            [0.0, 23.0, 23.1, 115.0].map(|kg| people(kg, LIFT_A_PERSON_KG).unwrap()),
            [0, 1, 2, 5]
        );
        assert!(people(f64::NAN, 23.0).is_err() && people(10.0, 0.0).is_err());
    }
}
