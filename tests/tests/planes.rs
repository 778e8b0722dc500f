//! Planes against outside numbers, brute force and what must hold whatever the numbers.

use proptest::prelude::*;
use truebed::{
    Contact, Direction, MinimumZone, PlaneKind, ProblemKind, Uncertainty, fit_plane, fit_planes,
    least_squares, minimum_zone, resting,
};
use truebed_tests::moody::stations;
use truebed_tests::random::Random;

type Places = Vec<[f64; 2]>;

const KINDS: [PlaneKind; 5] = [
    PlaneKind::LeastSquares,
    PlaneKind::Orthogonal,
    PlaneKind::MinimumZone,
    PlaneKind::MinimumZoneNormal,
    PlaneKind::Resting,
];

fn near(got: f64, expected: f64, within: f64) {
    assert!((got - expected).abs() <= within, "got {got}, expected {expected} ± {within}");
}

fn vertical(xy: &[[f64; 2]], z: &[f64]) -> MinimumZone {
    minimum_zone(xy, z, Direction::Vertical).unwrap()
}

fn cloud(random: &mut Random, count: usize, height: f64) -> (Places, Vec<f64>) {
    let mut within = |size: f64| (2.0 * random.unit() - 1.0) * size;
    (0..count).map(|_| ([within(1200.0), within(600.0)], within(height))).unzip()
}

/// A grid of whole millimetres with heights of a few steps: ties everywhere.
fn coarse(random: &mut Random, count: usize) -> (Places, Vec<f64>) {
    let mut whole = |most: i64| random.between(0, most) as f64;
    (0..count).map(|_| ([whole(3), whole(3)], whole(2))).unzip()
}

/// Twice the greatest lower bound that any four points (or three on a line, or two in one place)
/// give of the largest deviation: by linear programming's duality the half width of the zone.
fn widest_of_four(xy: &[[f64; 2]], z: &[f64]) -> f64 {
    let turn = |a: usize, b: usize, c: usize| {
        (xy[b][0] - xy[a][0]) * (xy[c][1] - xy[a][1])
            - (xy[b][1] - xy[a][1]) * (xy[c][0] - xy[a][0])
    };
    let mut widest: f64 = 0.0;
    for a in 0..xy.len() {
        for b in 0..a {
            for c in 0..b {
                for d in 0..c {
                    // The affine dependence of four places in plan, by areas.
                    let shares = [turn(b, c, d), -turn(a, c, d), turn(a, b, d), -turn(a, b, c)];
                    let total: f64 = shares.iter().map(|share| share.abs()).sum();
                    if total > 0.0 {
                        let heights = [z[a], z[b], z[c], z[d]];
                        let sum: f64 = shares.iter().zip(heights).map(|(share, z)| share * z).sum();
                        widest = widest.max(2.0 * sum.abs() / total);
                    }
                }
            }
        }
    }
    widest
}

/// That the contacts prove the width, from nothing but the data.
fn proves(xy: &[[f64; 2]], z: &[f64], zone: &MinimumZone) {
    let sum = |of: &dyn Fn(&Contact) -> f64| -> f64 {
        let side = |contact: &Contact| if contact.above { 1.0 } else { -1.0 };
        zone.contacts.iter().map(|contact| side(contact) * contact.share * of(contact)).sum()
    };
    let size = xy.iter().flatten().fold(1e-300, |most: f64, value| most.max(value.abs()));
    let high = z.iter().fold(1e-300, |most: f64, value| most.max(value.abs()));
    assert!(zone.contacts.iter().all(|contact| contact.share > 0.0));
    near(zone.contacts.iter().map(|contact| contact.share).sum(), 1.0, 1e-12);
    near(sum(&|_| 1.0), 0.0, 1e-12);
    near(sum(&|contact| xy[contact.point][0]) / size, 0.0, 1e-11);
    near(sum(&|contact| xy[contact.point][1]) / size, 0.0, 1e-11);
    near(2.0 * sum(&|contact| z[contact.point]), zone.plane.flatness_mm, 1e-11 * high);
    near(zone.bound_mm, zone.plane.flatness_mm, 1e-11 * high);
    for contact in &zone.contacts {
        let deviation = zone.plane.deviations_mm[contact.point];
        let expected = 0.5 * if contact.above { 1.0 } else { -1.0 } * zone.plane.flatness_mm;
        near(deviation, expected, 1e-11 * high);
    }
    assert!(zone.proven);
}

/// The published plate. Least squares over all stations and the minimum zone were recomputed with
/// NumPy and with SciPy's linprog from the readings; Moody's own figure is 178.41 µin.
#[test]
fn surface_plate() {
    let (xy, z) = stations();
    assert_eq!(z.len(), 126);
    let height = |fold: fn(f64, f64) -> f64| z.iter().copied().reduce(fold).unwrap();
    near(height(f64::max) - height(f64::min), 178.41143, 1e-4);
    let least = fit_plane(&xy, &z, PlaneKind::LeastSquares, None).unwrap();
    near(least.flatness_mm, 175.37148, 1e-4);
    near(least.above_mm + least.below_mm, least.flatness_mm, 1e-12);
    let zone = vertical(&xy, &z);
    near(zone.plane.flatness_mm, 163.67310, 1e-4);
    proves(&xy, &z, &zone);
    // Microinches of relief on inches of plate: the normal is the vertical to nine digits.
    let z: Vec<f64> = z.iter().map(|z| z * 1e-6).collect();
    let normal = minimum_zone(&xy, &z, Direction::Normal).unwrap();
    assert!(normal.proven);
    near(normal.plane.flatness_mm * 1e6, 163.67310, 1e-4);
}

/// Exact by hand: corners in a twist of ± c; corners level with the centre h higher; a trough.
#[test]
fn exact_zones() {
    let mut xy = vec![[-600.0, -300.0], [600.0, -300.0], [600.0, 300.0], [-600.0, 300.0]];
    let twist = vertical(&xy, &[0.5, -0.5, 0.5, -0.5]);
    assert_eq!(twist.contacts.len(), 4);
    near(twist.plane.flatness_mm, 1.0, 1e-14);
    near(twist.plane.slope_x.hypot(twist.plane.slope_y), 0.0, 1e-17);
    xy.push([0.0, 0.0]);
    let z = [0.0, 0.0, 0.0, 0.0, 0.3];
    near(vertical(&xy, &z).plane.flatness_mm, 0.3, 1e-15);
    proves(&xy, &z, &vertical(&xy, &z));
    let trough: Places = (0..21 * 21)
        .map(|at| [f64::from(at % 21 - 10) * 10.0, f64::from(at / 21 - 10) * 7.0])
        .collect();
    let z: Vec<f64> = trough.iter().map(|[x, _]| 1e-4 * x * x).collect();
    for direction in [Direction::Vertical, Direction::Normal] {
        let zone = minimum_zone(&trough, &z, direction).unwrap();
        near(zone.plane.flatness_mm, 1.0, 1e-13);
        assert!(zone.proven);
    }
    proves(&trough, &z, &vertical(&trough, &z));
    let three = vertical(&xy[..3], &[1.0, 2.0, 4.0]);
    assert!(three.plane.flatness_mm < 1e-14 && three.contacts.is_empty() && three.proven);
}

#[test]
fn vertical_zones_are_those_of_brute_force() {
    let mut random = Random(7);
    for round in 0..400 {
        let count = random.between(4, 14) as usize;
        let (xy, z) = if round % 2 == 0 {
            cloud(&mut random, count, 3.0)
        } else {
            coarse(&mut random, count)
        };
        match minimum_zone(&xy, &z, Direction::Vertical) {
            Ok(zone) => {
                near(zone.plane.flatness_mm, widest_of_four(&xy, &z), 1e-12);
                proves(&xy, &z, &zone);
            }
            Err(error) => assert_eq!(error.problems()[0].kind, ProblemKind::Geometry),
        }
    }
}

/// The width of points in space by trying the normal of every three and of every two pairs: the
/// least is at one of them.
fn least_width(xy: &[[f64; 2]], z: &[f64]) -> f64 {
    let points: Vec<[f64; 3]> = xy.iter().zip(z).map(|([x, y], z)| [*x, *y, *z]).collect();
    let less = |a: usize, b: usize| [0, 1, 2].map(|k| points[a][k] - points[b][k]);
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
    };
    let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let mut least = f64::INFINITY;
    let edges: Vec<[f64; 3]> =
        (0..points.len()).flat_map(|a| (0..a).map(move |b| less(a, b))).collect();
    for (at, first) in edges.iter().enumerate() {
        for second in &edges[..at] {
            let normal = cross(*first, *second);
            let length = dot(normal, normal).sqrt();
            if length > 1e-9 * (dot(*first, *first) * dot(*second, *second)).sqrt() {
                let heights = points.iter().map(|point| dot(normal, *point) / length);
                let (low, high) = heights
                    .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), it| (l.min(it), h.max(it)));
                least = least.min(high - low);
            }
        }
    }
    least
}

#[test]
fn normal_zones_are_those_of_brute_force() {
    let mut random = Random(11);
    for round in 0..150 {
        let count = random.between(4, 12) as usize;
        // From plates to clouds as high as they are wide, and higher.
        let height = [0.01, 3.0, 300.0, 900.0, 2000.0][round % 5];
        let (xy, z) = cloud(&mut random, count, height);
        let least = least_width(&xy, &z);
        match minimum_zone(&xy, &z, Direction::Normal) {
            Ok(zone) => {
                near(zone.plane.flatness_mm, least, 1e-9);
                assert!(zone.proven, "{round}: {zone:?}");
                near(zone.bound_mm, least, 1e-9);
                let scale = zone.plane.slope_x.hypot(zone.plane.slope_y).hypot(1.0);
                let [x, y] = xy[0];
                let height =
                    z[0] - zone.plane.offset_mm - zone.plane.slope_x * x - zone.plane.slope_y * y;
                near(zone.plane.deviations_mm[0], height / scale, 1e-8);
            }
            Err(error) => assert_eq!(error.problems()[0].kind, ProblemKind::Geometry),
        }
    }
}

/// Points of a cube's corners lie as flat in three directions, all of them proven.
#[test]
fn a_tilted_cube() {
    let axes = [[2.0, 1.0, -2.0], [-2.0, 2.0, -1.0], [1.0, 2.0, 2.0]];
    let corner = |bits: usize, k: usize| -> f64 {
        (0..3).map(|axis| if bits >> axis & 1 == 1 { axes[axis][k] } else { 0.0 }).sum()
    };
    let xy: Places = (0..8).map(|bits| [corner(bits, 0), corner(bits, 1)]).collect();
    let z: Vec<f64> = (0..8).map(|bits| corner(bits, 2)).collect();
    let zone = minimum_zone(&xy, &z, Direction::Normal).unwrap();
    near(zone.plane.flatness_mm, 3.0, 1e-12);
    assert!(zone.proven);
}

/// The distances along the normal that least squares leaves, against a search over slopes.
#[test]
fn orthogonal_is_least_along_the_normal() {
    let mut random = Random(3);
    for height in [1e-3, 10.0, 500.0] {
        let (xy, z) = cloud(&mut random, 30, height);
        let plane = fit_plane(&xy, &z, PlaneKind::Orthogonal, None).unwrap();
        let squares = |a: f64, b: f64| -> f64 {
            let heights: Vec<f64> =
                xy.iter().zip(&z).map(|([x, y], z)| z - a * x - b * y).collect();
            let mean = heights.iter().sum::<f64>() / heights.len() as f64;
            let sum: f64 = heights.iter().map(|height| (height - mean).powi(2)).sum();
            sum / (1.0 + a * a + b * b)
        };
        let least = squares(plane.slope_x, plane.slope_y);
        near(plane.rms_mm.powi(2) * 30.0, least, 1e-12 * least);
        for step in [1e-3, 1e-5] {
            for (da, db) in [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step), (step, step)] {
                assert!(squares(plane.slope_x + da, plane.slope_y + db) > least);
            }
        }
    }
    // Three level lines, turned about y by the 3-4-5 triangle: the plane turns with them.
    let xy = [[-4.0, 0.0], [4.0, 0.0], [0.0, 9.0], [0.0, -9.0]];
    let plane = fit_plane(&xy, &[-3.0, 3.0, 0.0, 0.0], PlaneKind::Orthogonal, None).unwrap();
    near(plane.slope_x, 0.75, 1e-14);
    near(plane.rms_mm, 0.0, 1e-14);
}

/// NIST StRD "Norris" (US Government work), certified standard deviations: each point once at
/// y = −1 and once at y = +1 has half the variance of the line's parameters, but for the degrees of
/// freedom.
#[test]
fn covariance_of_norris() {
    let (mut xy, mut z) = (Vec::new(), Vec::new());
    for line in include_str!("../data/norris.csv").lines().skip(1) {
        let (y, x) = line.split_once(',').unwrap();
        for side in [-1.0, 1.0] {
            xy.push([x.parse().unwrap(), side]);
            z.push(y.parse().unwrap());
        }
    }
    let fit = least_squares(&xy, &z, Uncertainty::Alike).unwrap();
    assert_eq!(fit.dof, 69);
    // 72 points leave twice the residuals of 36: Σ r² = 2 · 26.6173985294224.
    near(fit.residual_sd, (2.0 * 26.6173985294224_f64 / 69.0).sqrt(), 1e-11);
    let of_line = |at: usize| {
        (fit.covariance[at][at] / fit.residual_sd.powi(2) * 2.0).sqrt() * 0.884796396144373
    };
    near(of_line(0), 0.232818234301152, 1e-11);
    near(of_line(1), 0.429796848199937e-3, 1e-13);
    near(fit.covariance[2][2], fit.residual_sd.powi(2) / 72.0, 1e-13);
}

#[test]
fn a_covariance_of_like_heights_changes_nothing() {
    let mut random = Random(5);
    let (xy, z) = cloud(&mut random, 12, 2.0);
    let sigmas: Vec<f64> = (0..12).map(|_| 0.1 + random.unit()).collect();
    let weights: Vec<f64> = sigmas.iter().map(|sigma| sigma.powi(-2)).collect();
    let mut covariance = vec![0.0; 144];
    for at in 0..12 {
        covariance[13 * at] = sigmas[at].powi(2);
    }
    let fits = [
        least_squares(&xy, &z, Uncertainty::Sigmas(&sigmas)).unwrap(),
        least_squares(&xy, &z, Uncertainty::Covariance(&covariance)).unwrap(),
        least_squares(&xy, &z, Uncertainty::Weights(&weights)).unwrap(),
    ];
    for other in &fits[1..] {
        near(other.plane.slope_x, fits[0].plane.slope_x, 1e-16);
        near(other.residual_sd, fits[0].residual_sd, 1e-13);
    }
    let posterior = fits[0].residual_sd.powi(2);
    for (i, j) in [(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)] {
        let a_priori = fits[0].covariance[i][j];
        near(fits[1].covariance[i][j], a_priori, 1e-12 * a_priori.abs());
        near(fits[2].covariance[i][j], a_priori * posterior, 1e-12 * a_priori.abs());
    }
    // A shift that all heights share moves the offset alone, by just its variance.
    let shared: Vec<f64> = covariance.iter().map(|value| value + 4.0).collect();
    let moved = least_squares(&xy, &z, Uncertainty::Covariance(&shared)).unwrap();
    near(moved.covariance[0][0], fits[1].covariance[0][0] + 4.0, 1e-11);
    near(moved.covariance[1][1], fits[1].covariance[1][1], 1e-17);
    near(moved.plane.slope_y, fits[1].plane.slope_y, 1e-15);
    for bad in [vec![1.0; 143], vec![1.0; 144], vec![f64::NAN; 144]] {
        let error = least_squares(&xy, &z, Uncertainty::Covariance(&bad)).unwrap_err();
        assert!(error.problems()[0].field.starts_with("covariance"), "{error}");
    }
}

/// The stance by trying every three supports: no other stands above their plane, and the centre is
/// within.
#[test]
fn stances_are_those_of_brute_force() {
    let mut random = Random(17);
    for round in 0..400 {
        let count = random.between(3, 9) as usize;
        let (xy, z) = if round % 2 == 0 {
            cloud(&mut random, count, 3.0)
        } else {
            coarse(&mut random, count)
        };
        let Ok(stance) = resting(&xy, &z, None) else { continue };
        let mean = |axis: usize| xy.iter().map(|xy| xy[axis]).sum::<f64>() / count as f64;
        let centre = [mean(0), mean(1)];
        let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
            (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        };
        // The height of the hull over the centre is the greatest that three supports have there.
        let mut top = f64::NEG_INFINITY;
        for a in 0..count {
            for b in 0..count {
                for c in 0..count {
                    let whole = turn(xy[a], xy[b], xy[c]);
                    if whole > 0.0 {
                        let parts = [
                            turn(xy[b], xy[c], centre) / whole,
                            turn(xy[c], xy[a], centre) / whole,
                            turn(xy[a], xy[b], centre) / whole,
                        ];
                        if parts.iter().all(|&part| part >= -1e-12) {
                            top = top.max(parts[0] * z[a] + parts[1] * z[b] + parts[2] * z[c]);
                        }
                    }
                }
            }
        }
        let plane = &stance.plane;
        near(plane.offset_mm + plane.slope_x * centre[0] + plane.slope_y * centre[1], top, 1e-10);
        for (at, float) in stance.floats_mm.iter().enumerate() {
            assert!(*float >= 0.0 && plane.deviations_mm[at] <= 1e-12);
            near(*float, -plane.deviations_mm[at], 1e-12);
        }
        near(stance.shares.iter().sum(), 1.0, 1e-12);
        for axis in 0..2 {
            let held: f64 = stance
                .supports
                .iter()
                .zip(stance.shares)
                .map(|(&at, share)| share * xy[at][axis])
                .sum();
            near(held, centre[axis], 1e-9);
        }
        // Pushed over an edge it stands on what it came down on, and floats nowhere below.
        for rock in &stance.rocks {
            let Some(onto) = rock.onto else { continue };
            let [a, b] = rock.edge;
            let three = [xy[a], xy[b], xy[onto]];
            let other =
                fit_plane(&three, &[z[a], z[b], z[onto]], PlaneKind::LeastSquares, None).unwrap();
            for at in 0..count {
                let height =
                    z[at] - other.offset_mm - other.slope_x * xy[at][0] - other.slope_y * xy[at][1];
                assert!(height <= 1e-9, "{round}: support {at} stands {height} above");
            }
            near(rock.drop_mm, stance.floats_mm[onto], 0.0);
        }
    }
}

/// Exact by hand: a leg 2 mm short on a square table, its centre a little off towards the others.
#[test]
fn a_table_that_rocks() {
    let xy = [[0.0, 0.0], [1000.0, 0.0], [1000.0, 1000.0], [0.0, 1000.0]];
    let stance = resting(&xy, &[0.0, 0.0, 0.0, -2.0], Some([510.0, 490.0])).unwrap();
    assert_eq!((stance.supports, &stance.touching[..]), ([0, 1, 2], &[0, 1, 2][..]));
    assert!(stance.stable);
    near(stance.floats_mm[3], 2.0, 1e-12);
    near(stance.margin_mm, 200.0_f64.sqrt(), 1e-9);
    let rock = stance.rocks.iter().find(|rock| rock.onto.is_some()).unwrap();
    assert_eq!((rock.edge, rock.onto), ([2, 0], Some(3)));
    near(rock.drop_mm, 2.0, 1e-12);
    near(rock.rise_mm, 2.0, 1e-12);
    assert_eq!(stance.rocks.iter().filter(|rock| rock.onto.is_none()).count(), 2);
    // Just over the diagonal it stands on either side; with all four level, on all of them.
    assert!(!resting(&xy, &[0.0, 0.0, 0.0, -2.0], None).unwrap().stable);
    let level = resting(&xy, &[7.0; 4], None).unwrap();
    assert_eq!(level.touching, [0, 1, 2, 3]);
    assert!(level.stable);
    near(level.margin_mm, 500.0, 1e-9);
    for centre in [[1001.0, 500.0], [f64::NAN, 0.0]] {
        let error = resting(&xy, &[0.0; 4], Some(centre)).unwrap_err();
        assert_eq!(error.problems()[0].field, "centre");
    }
}

#[test]
fn batches_are_one_by_one() {
    let mut random = Random(23);
    let (tables, points) = (700, 4);
    let (xy, z) = cloud(&mut random, tables * points, 3.0);
    for kind in KINDS {
        for shared in [true, false] {
            let all = if shared { &xy[..points] } else { &xy };
            // Random four may lie so that the mean of them is an edge; never outside.
            let planes = fit_planes(all, &z, points, kind).unwrap();
            for table in 0..tables {
                let own = table * points..(table + 1) * points;
                let xy = if shared { all } else { &all[own.clone()] };
                let plane = fit_plane(xy, &z[own.clone()], kind, None).unwrap();
                assert_eq!(planes.slope_x[table], plane.slope_x);
                near(planes.flatness_mm[table], plane.flatness_mm, 1e-12);
                near(planes.deviations_mm[own.start], plane.deviations_mm[0], 1e-12);
            }
        }
    }
    let mut spoilt = z.clone();
    spoilt[4 * 77 + 2] = f64::NAN;
    let error = fit_planes(&xy, &spoilt, 4, PlaneKind::LeastSquares).unwrap_err();
    assert_eq!(error.problems()[0].field, "tables[77].z[2]");
    for (places, heights, points) in [(4, 9, 4), (5, 8, 4), (2, 8, 2), (0, 0, 0)] {
        assert!(fit_planes(&xy[..places], &z[..heights], points, PlaneKind::LeastSquares).is_err());
    }
    assert_eq!(fit_planes(&xy[..4], &[], 4, PlaneKind::Resting).unwrap().slope_x.len(), 0);
}

/// Micrometres of relief on offsets of a thousand kilometres, sizes from 1e-9 to 1e9, heights all
/// alike: flatness keeps the digits that the coordinates have.
#[test]
fn far_and_near_large_and_small() {
    let mut random = Random(29);
    let (xy, z) = cloud(&mut random, 40, 1.0);
    for kind in KINDS {
        let plain = fit_plane(&xy, &z, kind, None).unwrap();
        for size in [1e-9, 1e-3, 1e3, 1e6] {
            let xy: Places = xy.iter().map(|[x, y]| [x * size, y * size]).collect();
            let z: Vec<f64> = z.iter().map(|z| z * size).collect();
            let scaled = fit_plane(&xy, &z, kind, None).unwrap();
            near(scaled.flatness_mm / size, plain.flatness_mm, 1e-11);
            near(scaled.slope_x, plain.slope_x, 1e-13);
        }
        // Whole micrometres, which an offset of 2³⁰ leaves as they are.
        let small = |value: f64| (value * 1024.0).round() / 1024.0;
        let far = 2.0_f64.powi(30);
        let here: Places = xy.iter().map(|xy| xy.map(small)).collect();
        let there: Places = here.iter().map(|[x, y]| [x + far, y - far]).collect();
        let low: Vec<f64> = z.iter().map(|z| small(*z)).collect();
        let high: Vec<f64> = low.iter().map(|z| z + far).collect();
        let near_by = fit_plane(&here, &low, kind, None).unwrap();
        let far_off = fit_plane(&there, &high, kind, None).unwrap();
        near(far_off.flatness_mm, near_by.flatness_mm, 1e-11);
        near(far_off.slope_y, near_by.slope_y, 1e-13);
        let level = fit_plane(&there, &vec![far + 3.0; 40], kind, None).unwrap();
        assert!(level.flatness_mm == 0.0 && level.slope_x == 0.0, "{kind}: {}", level.flatness_mm);
    }
}

#[test]
fn points_near_one_line() {
    // All but one on a line, that one off by less and less.
    for off in [1.0, 1e-3, 1e-6, 1e-9, 1e-11] {
        let mut xy: Places = (0..20).map(|at| [f64::from(at), 2.0 * f64::from(at)]).collect();
        xy.push([9.5 - 2.0 * off, 19.0 + off]);
        let z: Vec<f64> = xy.iter().map(|[x, _]| 0.25 * x).collect();
        for kind in KINDS {
            match fit_plane(&xy, &z, kind, None) {
                Ok(plane) => near(plane.flatness_mm, 0.0, 1e-12),
                Err(error) => assert_eq!(error.problems()[0].kind, ProblemKind::Geometry),
            }
        }
        if off >= 1e-6 {
            let plane = fit_plane(&xy, &z, PlaneKind::LeastSquares, None).unwrap();
            near(plane.slope_x + 2.0 * plane.slope_y, 0.25, 1e-12);
        }
    }
    for kind in KINDS {
        for xy in
            [vec![[1.0, 1.0]; 5], (0..5).map(|i| [f64::from(i), 3.0 * f64::from(i)]).collect()]
        {
            let error = fit_plane(&xy, &[0.0, 1.0, 0.0, 2.0, 0.0], kind, None).unwrap_err();
            assert_eq!(error.problems()[0].kind, ProblemKind::Geometry);
        }
    }
}

/// Numbers of every size, ties, duplicates, what is not finite: an answer or an error, never a
/// panic, and finite answers.
#[test]
fn hostile_numbers() {
    let mut random = Random(31);
    let wild = [0.0, -0.0, 1.0, -1.0, 1e-300, 1e300, f64::MAX, f64::MIN_POSITIVE, 1e9, 1e-9];
    for _ in 0..1000 {
        let count = random.between(0, 7) as usize;
        let spoil = random.once_in(8);
        let mut value = || match random.between(0, 3) {
            0 => wild[random.between(0, 9) as usize],
            1 if spoil => [f64::NAN, f64::INFINITY][random.between(0, 1) as usize],
            _ => random.between(-2, 2) as f64,
        };
        let xy: Places = (0..count).map(|_| [value(), value()]).collect();
        let z: Vec<f64> = (0..count).map(|_| value()).collect();
        for kind in KINDS {
            if let Ok(plane) = fit_plane(&xy, &z, kind, None) {
                assert!(
                    plane.flatness_mm >= 0.0 && plane.slope_x.is_finite(),
                    "{kind} {xy:?} {z:?}"
                );
            }
        }
        let _ = resting(&xy, &z, Some([0.5, 0.5]));
        let _ = least_squares(&xy, &z, Uncertainty::Sigmas(&z));
    }
}

#[test]
fn weights_are_for_least_squares() {
    let xy = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]];
    for kind in &KINDS[2..] {
        let error = fit_plane(&xy, &[0.0; 4], *kind, Some(&[1.0; 4])).unwrap_err();
        assert_eq!(error.problems()[0].field, "weights");
    }
    for (kind, name) in PlaneKind::ALL {
        assert_eq!((name.parse::<PlaneKind>().unwrap(), kind.to_string()), (kind, name.to_owned()));
    }
    assert!("flattest".parse::<PlaneKind>().is_err());
}

/// Domes and grids with ties: large enough that blocks and threads take part.
#[test]
fn many_points() {
    for (count, bend) in [(400_i32, 1.0), (400, -1.0), (400, 0.0)] {
        let xy: Places = (0..count * count)
            .map(|at| [f64::from(at % count) * 5.0, f64::from(at / count) * 3.0])
            .collect();
        let middle = f64::from(count - 1) * 2.5;
        let z: Vec<f64> = xy
            .iter()
            .map(|[x, y]| 0.01 * x - 0.02 * y + bend * 1e-6 * (x - middle).powi(2))
            .collect();
        let zone = vertical(&xy, &z);
        near(zone.plane.flatness_mm, bend.abs() * 1e-6 * middle.powi(2), 1e-5);
        assert!(zone.proven);
        if bend != 0.0 {
            proves(&xy, &z, &zone);
        }
    }
    let mut random = Random(37);
    let (xy, z) = cloud(&mut random, 300_000, 1.0);
    let zone = vertical(&xy, &z);
    proves(&xy, &z, &zone);
    assert!(zone.plane.flatness_mm < 2.0);
    let normal = minimum_zone(&xy, &z, Direction::Normal).unwrap();
    assert!(normal.proven && normal.plane.flatness_mm <= zone.plane.flatness_mm);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// A tilt added to the heights comes back in the slopes and leaves the flatness.
    #[test]
    fn a_tilt_comes_back(seed in any::<u64>(), a in -0.01..0.01_f64, b in -0.01..0.01_f64) {
        let mut random = Random(seed);
        let (xy, z) = cloud(&mut random, 12, 3.0);
        let tilted: Vec<f64> = z.iter().zip(&xy).map(|(z, [x, y])| z + a * x + b * y + 5.0).collect();
        for kind in [PlaneKind::LeastSquares, PlaneKind::MinimumZone, PlaneKind::Resting] {
            let (before, after) = (fit_plane(&xy, &z, kind, None).unwrap(), fit_plane(&xy, &tilted, kind, None).unwrap());
            prop_assert!((after.slope_x - before.slope_x - a).abs() < 1e-12, "{}", kind);
            prop_assert!((after.slope_y - before.slope_y - b).abs() < 1e-12);
            prop_assert!((after.flatness_mm - before.flatness_mm).abs() < 1e-11);
            prop_assert!((after.rms_mm - before.rms_mm).abs() < 1e-11);
        }
    }

    /// The zone is no wider than what least squares leaves, and that of the normal no wider than
    /// the vertical one; no three points' plane has less than the zone.
    #[test]
    fn no_plane_is_flatter_than_the_zone(seed in any::<u64>(), grid in any::<bool>()) {
        let mut random = Random(seed);
        let (xy, z) = if grid { coarse(&mut random, 9) } else { cloud(&mut random, 9, 3.0) };
        let Ok(least) = fit_plane(&xy, &z, PlaneKind::LeastSquares, None) else { return Ok(()) };
        let zone = fit_plane(&xy, &z, PlaneKind::MinimumZone, None).unwrap();
        let tiny = 1e-12;
        prop_assert!(zone.flatness_mm <= least.flatness_mm + tiny);
        prop_assert!((zone.above_mm - zone.below_mm).abs() <= tiny);
        if let Ok(normal) = fit_plane(&xy, &z, PlaneKind::MinimumZoneNormal, None) {
            prop_assert!(normal.flatness_mm <= zone.flatness_mm + tiny);
        }
        for three in [[0, 1, 2], [3, 4, 5], [6, 7, 8], [0, 4, 8]] {
            let (places, heights) = (three.map(|at| xy[at]), three.map(|at| z[at]));
            if let Ok(plane) = fit_plane(&places, &heights, PlaneKind::LeastSquares, None) {
                let off: Vec<f64> = xy.iter().zip(&z).map(|([x, y], z)| {
                    z - plane.offset_mm - plane.slope_x * x - plane.slope_y * y
                }).collect();
                let range = off.iter().copied().fold(f64::MIN, f64::max) - off.iter().copied().fold(f64::MAX, f64::min);
                prop_assert!(zone.flatness_mm <= range + 1e-9);
            }
        }
    }

    /// Points in another order have the same plane.
    #[test]
    fn the_order_of_points_does_not_count(seed in any::<u64>()) {
        let mut random = Random(seed);
        let (xy, z) = cloud(&mut random, 20, 3.0);
        let mut order: Vec<usize> = (0..20).collect();
        order.sort_by_key(|_| random.bits());
        let (places, heights): (Places, Vec<f64>) = order.iter().map(|&at| (xy[at], z[at])).unzip();
        for kind in KINDS {
            let (one, other) = (fit_plane(&xy, &z, kind, None).unwrap(), fit_plane(&places, &heights, kind, None).unwrap());
            prop_assert!((one.flatness_mm - other.flatness_mm).abs() < 1e-11, "{}", kind);
            prop_assert!((one.slope_x - other.slope_x).abs() < 1e-13);
            for (at, &from) in order.iter().enumerate() {
                prop_assert!((other.deviations_mm[at] - one.deviations_mm[from]).abs() < 1e-10);
            }
        }
    }
}
