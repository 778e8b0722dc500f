//! Slabs on supports against plates and beams of the literature, and what must hold of any.
//!
//! "[C]" marks a value that was computed beforehand by another method (Ritz with Legendre polynomials,
//! or a separate program of plate elements) and converged to the digits given; the other sources are
//! named beside each value.

use proptest::prelude::*;
use truebed::{
    BearSettings, Bearing, LaidSlab, Load, LoadTest, ProblemKind, Slab, SlabSupport, bear, resting,
};

/// Slate, more or less: the data sheet of a Virginia slate gives 48.36 GPa and 2793.6 kg/m³.
fn slab(sides: [f64; 2], thickness: f64, nu: f64) -> Slab {
    Slab::new([0.0, sides[0]], [0.0, sides[1]], thickness, 48.36, nu, 2793.6)
}

/// Supports that push only.
fn push(places: &[[f64; 2]]) -> Vec<SlabSupport> {
    places.iter().map(|&place| SlabSupport::at(place)).collect()
}

/// Supports that hold the slab down too.
fn hold(places: &[[f64; 2]]) -> Vec<SlabSupport> {
    let hold = |mut support: SlabSupport| {
        support.pull_n = 1e8;
        support
    };
    push(places).into_iter().map(hold).collect()
}

/// Places along the edges of a rectangle that are chosen: near, right, far and left one.
fn edges([long, wide]: [f64; 2], count: [usize; 2], chosen: [bool; 4]) -> Vec<[f64; 2]> {
    let part = |of: f64, at: usize, count: usize| of * at as f64 / count as f64;
    let mut places = Vec::new();
    for at in 0..=count[0] {
        let x = part(long, at, count[0]);
        places.extend(chosen[0].then_some([x, 0.0]));
        places.extend(chosen[2].then_some([x, wide]));
    }
    for at in 0..=count[1] {
        let y = part(wide, at, count[1]);
        places.extend(chosen[1].then_some([long, y]));
        places.extend(chosen[3].then_some([0.0, y]));
    }
    places.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    places.dedup();
    places
}

/// How far the slab hangs at places under its weight, in q a⁴ / D for a length a.
fn hangs(slab: &Slab, supports: &[SlabSupport], a: f64, places: &[[f64; 2]]) -> Vec<f64> {
    let settings = BearSettings { within_mm: 0.0, within_share: 1e-3, ..BearSettings::default() };
    let bearing = bear(slab, supports, &vec![0.0; supports.len()], &[], settings).unwrap();
    let area = (slab.x_mm[1] - slab.x_mm[0]) * (slab.y_mm[1] - slab.y_mm[0]);
    let unit = slab.weight_n() / area * a.powi(4) / slab.stiffness_n_mm();
    bearing.at(places).unwrap().iter().map(|height| -height / unit).collect()
}

/// The same under a load of 1 kN and no weight, in P a² / D.
fn hangs_by(slab: &Slab, supports: &[SlabSupport], load: [f64; 2], a: f64, at: [f64; 2]) -> f64 {
    let settings = BearSettings { weight: false, within_mm: 0.0, within_share: 1e-3 };
    let loads = [Load::Point { xy_mm: load, newtons: 1000.0 }];
    let bearing = bear(slab, supports, &vec![0.0; supports.len()], &loads, settings).unwrap();
    -bearing.at(&[at]).unwrap()[0] * slab.stiffness_n_mm() / (1000.0 * a * a)
}

#[track_caller]
fn near(got: f64, expected: f64, part: f64) {
    assert!((got / expected - 1.0).abs() <= part, "{got}, expected {expected}");
}

#[test]
fn simply_supported_plates_under_their_weight() {
    // α of w = α q a⁴ / D, a the shorter side: Timoshenko & Woinowsky-Krieger table 8 (from memory,
    // as Navier's series gives it); 4.06 and 12.97 (a thousandth each) in the tests of xcfem/xc, too.
    for (ratio, alpha) in
        [(1.0, 0.004_062), (1.4, 0.007_08), (2.0, 0.010_13), (3.0, 0.012_23), (5.0, 0.012_97)]
    {
        let sides = [800.0 * ratio, 800.0];
        let slab = slab(sides, 20.0, 0.3);
        let count = [(16.0 * ratio) as usize, 16];
        let supports = hold(&edges(sides, count, [true; 4]));
        let got = hangs(&slab, &supports, 800.0, &[[400.0 * ratio, 400.0]])[0];
        near(got, alpha, 0.004);
    }
}

#[test]
fn simply_supported_plates_under_a_load_in_the_middle() {
    // α of w = α W b² / E t³, b the shorter side, ν = 0.3: Roark, 7th edition, table 11.4 case 1b.
    for (ratio, alpha) in [(1.0, 0.1267), (1.2, 0.1478), (1.4, 0.1621)] {
        let sides = [800.0 * ratio, 800.0];
        let supports = hold(&edges(sides, [16, 16], [true; 4]));
        let middle = [400.0 * ratio, 400.0];
        let got = hangs_by(&slab(sides, 20.0, 0.3), &supports, middle, 800.0, middle);
        near(got * 12.0 * (1.0 - 0.3 * 0.3), alpha, 0.006);
    }
}

#[test]
fn plates_with_one_free_edge() {
    // α of w = α q b⁴ / E t³, b the free edge, ν = 0.3: Roark case 2a (idoc.tips); [C] with one more
    // digit.
    for (ratio, roark, computed) in [
        (2.0 / 3.0, 0.106, 0.1057),
        (1.0, 0.140, 0.1403),
        (1.5, 0.160, 0.1595),
        (2.0, 0.165, 0.1646),
        (4.0, 0.167, 0.1662),
    ] {
        let sides = [600.0 * ratio, 600.0];
        let count = [(16.0_f64 * ratio).round() as usize, 16];
        let supports = hold(&edges(sides, count, [true, false, true, true]));
        let slab = slab(sides, 20.0, 0.3);
        let got = hangs(&slab, &supports, 600.0, &[[600.0 * ratio, 300.0]])[0];
        let got = got * 12.0 * (1.0 - 0.3 * 0.3);
        near(got, roark, 0.01);
        near(got, computed, 0.005);
    }
}

#[test]
fn a_square_on_its_corners() {
    // Centre and middle of an edge in q a⁴ / D [C]; Timoshenko & Woinowsky-Krieger have 0.0257 and
    // 0.0255 for ν = 0.25 and 0.3 (p. 219, from memory).
    let corners = push(&[[0.0, 0.0], [900.0, 0.0], [900.0, 900.0], [0.0, 900.0]]);
    for (nu, centre, edge) in [
        (0.20, 0.025_948_7, 0.017_272_8),
        (0.25, 0.025_669_5, 0.017_457_8),
        (0.30, 0.025_506_5, 0.017_747_4),
        (0.35, 0.025_468_1, 0.018_156_7),
    ] {
        let slab = slab([900.0, 900.0], 20.0, nu);
        let got = hangs(&slab, &corners, 900.0, &[[450.0, 450.0], [450.0, 0.0], [900.0, 450.0]]);
        near(got[0], centre, 5e-4);
        near(got[1], edge, 5e-4);
        near(got[2], edge, 5e-4);
        let load = [450.0, 450.0];
        near(
            hangs_by(&slab, &corners, load, 900.0, load),
            0.03914,
            if nu == 0.3 { 5e-3 } else { 0.1 },
        );
        let bearing = bear(&slab, &corners, &[7.0; 4], &[], BearSettings::default()).unwrap();
        bearing.forces_n.iter().for_each(|&force| near(force, slab.weight_n() / 4.0, 1e-9));
    }
    // Under a load in the middle, ν = 0.3, in P a² / D [C].
    let slab = slab([900.0, 900.0], 20.0, 0.3);
    near(hangs_by(&slab, &corners, [450.0, 450.0], 900.0, [450.0, 0.0]), 0.022_913, 2e-3);
}

#[test]
fn a_rectangle_of_two_to_one_on_its_corners() {
    // In q a⁴ / D, a the shorter side, ν = 0.3 [C].
    let corners = push(&[[0.0, 0.0], [1600.0, 0.0], [1600.0, 800.0], [0.0, 800.0]]);
    let places = [[800.0, 400.0], [800.0, 0.0], [0.0, 400.0]];
    let got = hangs(&slab([1600.0, 800.0], 25.0, 0.3), &corners, 800.0, &places);
    for (got, expected) in got.iter().zip([0.231_162, 0.241_842, 0.025_956]) {
        near(*got, expected, 2e-3);
    }
}

#[test]
fn a_panel_of_many() {
    // The middle of a panel of an endless slab on points, ν = 0.2: 0.00581 q a⁴ / D (Timoshenko &
    // Woinowsky-Krieger, from memory), 0.00580 [C]. Here it is the middle one of seven by seven, with
    // edges that overhang so far (q c² / 2 = q a² / 12) that the outer lines hardly turn.
    let side = 400.0;
    let over = 0.408 * side;
    let line = |at: i32| over + side * f64::from(at);
    let places = (0..8).flat_map(|x| (0..8).map(move |y| [line(x), line(y)]));
    let supports = hold(&places.collect::<Vec<_>>());
    let middle = over + 3.5 * side;
    let slab = slab([2.0 * middle; 2], 20.0, 0.2);
    near(hangs(&slab, &supports, side, &[[middle, middle]])[0], 0.0058, 0.005);
}

/// A strip without Poisson's effect, on lines of three supports across it.
fn strip(length: f64, lines: &[f64]) -> (Slab, Vec<SlabSupport>) {
    let places: Vec<[f64; 2]> =
        lines.iter().flat_map(|&x| [0.0, 20.0, 40.0].map(|y| [x, y])).collect();
    (slab([length, 40.0], 12.0, 0.0), push(&places))
}

/// The tops of these lines.
fn tops(lines: &[f64]) -> Vec<f64> {
    lines.iter().flat_map(|&top| [top; 3]).collect()
}

/// Force on each line over the weight of the strip.
fn by_line(bearing: &Bearing, weight: f64) -> Vec<f64> {
    bearing.forces_n.chunks(3).map(|line| line.iter().sum::<f64>() / weight).collect()
}

/// Load a length of the strip, N/mm, and its stiffness E I, N mm².
fn beam(slab: &Slab) -> (f64, f64) {
    (slab.weight_n() / (slab.x_mm[1] - slab.x_mm[0]), slab.stiffness_n_mm() * 40.0)
}

#[test]
fn two_equal_spans() {
    // Reactions 3/8, 10/8, 3/8 w L and 0.00541 w L⁴ / E I at 0.4215 L (engineersedge 16062).
    let length = 700.0;
    let (slab, supports) = strip(2.0 * length, &[0.0, length, 2.0 * length]);
    let bearing = bear(&slab, &supports, &tops(&[3.0; 3]), &[], BearSettings::default()).unwrap();
    for (got, expected) in by_line(&bearing, 0.5 * slab.weight_n()).iter().zip([0.375, 1.25, 0.375])
    {
        near(*got, expected, 1e-3);
    }
    let (load, stiffness) = beam(&slab);
    let unit = load * length.powi(4) / stiffness;
    let at = |x: f64| (3.0 - bearing.at(&[[x, 20.0]]).unwrap()[0]) / unit;
    near(at(0.4215 * length), 0.00541, 3e-3);
    assert!(at(0.39 * length) < at(0.4215 * length) && at(0.45 * length) < at(0.4215 * length));

    // One span loaded alone: the far reaction is −w L / 16 where the end is held, and none where it
    // is not (engineersedge 16063).
    let load = Load::Patch { x_mm: [0.0, length], y_mm: [0.0, 40.0], newtons: 160.0 };
    let settings = BearSettings { weight: false, ..BearSettings::default() };
    let held = hold(&supports.iter().map(|it| it.xy_mm).collect::<Vec<_>>());
    let bearing = bear(&slab, &held, &[0.0; 9], &[load], settings).unwrap();
    near(by_line(&bearing, 160.0)[2], -1.0 / 16.0, 2e-3);
    let bearing = bear(&slab, &supports, &[0.0; 9], &[load], settings).unwrap();
    assert_eq!(bearing.carries[6..], [false; 3]);
    assert!(bearing.gaps_mm[6..].iter().all(|&gap| gap > 0.0));
    // The shares of a single span.
    near(by_line(&bearing, 160.0)[0], 0.5, 1e-9);

    // Point load P at a of one span: −P a b (L + a) / 4 L³ (engineersedge 16065).
    let (a, b) = (0.3 * length, 0.7 * length);
    let load = Load::Point { xy_mm: [a, 20.0], newtons: 160.0 };
    let bearing = bear(&slab, &held, &[0.0; 9], &[load], settings).unwrap();
    near(by_line(&bearing, 160.0)[2], -a * b * (length + a) / (4.0 * length.powi(3)), 3e-3);
}

#[test]
fn the_far_end_of_two_spans_lifts() {
    // Under P in the middle of the other span, from P = 4 q L on [C, from the rows above].
    let length = 700.0;
    let (slab, supports) = strip(2.0 * length, &[0.0, length, 2.0 * length]);
    let most = 2.0 * slab.weight_n();
    for (part, carries) in [(0.99, true), (1.01, false)] {
        let load = Load::Point { xy_mm: [0.5 * length, 20.0], newtons: part * most };
        let bearing = bear(&slab, &supports, &[0.0; 9], &[load], BearSettings::default()).unwrap();
        assert_eq!(bearing.carries[6..].contains(&true), carries, "{part}: {bearing:?}");
    }
}

#[test]
fn a_middle_support_that_is_too_low_and_one_that_is_too_high() {
    // It carries nothing where it is lower by more than 5 q (2 L)⁴ / 384 E I, and the ends carry
    // nothing where it is higher by more than q L⁴ / 8 E I (exact for a beam).
    let length = 600.0;
    let (slab, supports) = strip(2.0 * length, &[0.0, length, 2.0 * length]);
    let (load, stiffness) = beam(&slab);
    let unit = load * length.powi(4) / stiffness;
    let bearing_at = |middle: f64| {
        let tops = tops(&[0.0, middle, 0.0]);
        bear(&slab, &supports, &tops, &[], BearSettings::default()).unwrap()
    };
    let low = -5.0 * 16.0 / 384.0 * unit;
    assert!(bearing_at(0.995 * low).carries[3..6].contains(&true));
    assert!(!bearing_at(1.005 * low).carries[3..6].contains(&true));
    let high = unit / 8.0;
    let ends = |bearing: &Bearing| bearing.forces_n[..3].iter().sum::<f64>() / slab.weight_n();
    assert!(ends(&bearing_at(0.99 * high)) > 1e-4);
    // Beyond that it balances on the middle, and comes to lie on one of the ends with nothing.
    assert!(ends(&bearing_at(1.01 * high)).abs() < 1e-6);
}

#[test]
fn a_heavy_strip_on_a_floor_with_one_end_raised() {
    // It lifts over a with a⁴ = 24 E I h / q, and the end bears q a / 2 (exact for a beam).
    let length = 2000.0;
    let lines: Vec<f64> = (0..=100).map(|at| 20.0 * f64::from(at)).collect();
    let (slab, supports) = strip(length, &lines);
    let (load, stiffness) = beam(&slab);
    let lifted = 900.0_f64;
    let raised = load * lifted.powi(4) / (24.0 * stiffness);
    let mut heights = vec![0.0; 101];
    heights[0] = raised;
    let bearing = bear(&slab, &supports, &tops(&heights), &[], BearSettings::default()).unwrap();
    near(bearing.forces_n[..3].iter().sum::<f64>(), 0.5 * load * lifted, 0.01);
    let first = (1..101).find(|at| bearing.carries[3 * at..3 * at + 3].contains(&true)).unwrap();
    assert!((lines[first] - lifted).abs() <= 20.0, "{}", lines[first]);
}

/// A strip on a bed of springs, pressed down at both ends by 50 N, whose α times its length is this.
fn pressed_at_its_ends(product: f64) -> (Slab, Bearing) {
    const LENGTH: f64 = 1500.0;
    const COUNT: u32 = 75;
    let lines: Vec<f64> = (0..=COUNT).map(|at| LENGTH * f64::from(at) / f64::from(COUNT)).collect();
    let (slab, mut supports) = strip(LENGTH, &lines);
    let (_, stiffness) = beam(&slab);
    let alpha = product / LENGTH;
    let each = 4.0 * stiffness * alpha.powi(4) * LENGTH / f64::from(COUNT) / 3.0;
    for (at, support) in supports.iter_mut().enumerate() {
        let end = at / 3 == 0 || at / 3 == COUNT as usize;
        support.stiffness_n_per_mm = Some(if end { 0.5 * each } else { each });
    }
    let ends = [0.0, LENGTH].map(|x| Load::Point { xy_mm: [x, 20.0], newtons: 50.0 });
    let settings = BearSettings { weight: false, ..BearSettings::default() };
    let bearing = bear(&slab, &supports, &vec![0.0; supports.len()], &ends, settings).unwrap();
    (slab, bearing)
}

#[test]
fn a_strip_on_springs_parts_from_them() {
    // Pressed down at both ends it parts from its bed in the middle once α l > π, with
    // α⁴ = k / 4 E I (ivdon.ru, n10y2025/10480).
    for (product, all) in [(3.08, true), (3.2, false)] {
        let (_, bearing) = pressed_at_its_ends(product);
        assert_eq!(bearing.carries.iter().all(|&it| it), all, "{product}");
    }
}

#[test]
fn the_middle_of_a_strip_about_to_part_from_its_springs() {
    // At α l = π the bending moment in the middle is 0.4 F / α (ivdon.ru, n10y2025/10480), 0.3985 [C].
    let (slab, bearing) = pressed_at_its_ends(std::f64::consts::PI);
    let (length, (_, stiffness)) = (slab.x_mm[1] - slab.x_mm[0], beam(&slab));
    // M = E I times the curvature, by heights 20 mm apart.
    let at = |x: f64| bearing.at(&[[x, 20.0]]).unwrap()[0];
    let middle = 0.5 * length;
    let curvature = (at(middle - 20.0) - 2.0 * at(middle) + at(middle + 20.0)) / 400.0;
    let alpha = std::f64::consts::PI / length;
    near(stiffness * curvature.abs(), 0.3985 * 50.0 / alpha, 0.01);
}

#[test]
fn a_square_on_edges_that_only_push() {
    // ν = 0: the centre hangs by 0.004856 q a⁴ / D and the corners rise by 0.001342 [C].
    let sides = [800.0, 800.0];
    let supports = push(&edges(sides, [32, 32], [true; 4]));
    let got = hangs(&slab(sides, 20.0, 0.0), &supports, 800.0, &[[400.0, 400.0], [800.0, 0.0]]);
    near(got[0], 0.004_856, 0.01);
    near(got[1], -0.001_342, 0.03);
}

#[test]
fn the_stress_of_simply_supported_rectangles() {
    // β of σ = β q b² / t² in the middle, b the shorter side, ν = 0.3: Roark, 7th edition, table 11.4
    // case 1a; six times the moments of Timoshenko & Woinowsky-Krieger table 8.
    for (ratio, beta) in [(1.4, 0.4530), (2.0, 0.6102), (3.0, 0.7134)] {
        let sides = [800.0 * ratio, 800.0];
        let slab = slab(sides, 20.0, 0.3);
        let supports = hold(&edges(sides, [(16.0 * ratio) as usize, 16], [true; 4]));
        let settings =
            BearSettings { within_mm: 0.0, within_share: 1e-3, ..BearSettings::default() };
        let level = vec![0.0; supports.len()];
        let stress = bear(&slab, &supports, &level, &[], settings).unwrap().stress().unwrap();
        let q = slab.weight_n() / (sides[0] * sides[1]);
        near(stress.mpa, beta * q * 800.0 * 800.0 / (20.0 * 20.0), 0.02);
    }
}

#[test]
fn the_stress_of_a_simply_supported_square() {
    // Under its weight β = 0.0479 in M = β q a², ν = 0.3 (Timoshenko & Woinowsky-Krieger table 8, from
    // memory): 6 M / h².
    let sides = [800.0, 800.0];
    let mut slab = slab(sides, 20.0, 0.3);
    slab.strength_mpa = Some(62.1);
    slab.strength_factor = 3.0;
    let supports = hold(&edges(sides, [16, 16], [true; 4]));
    let level = vec![0.0; supports.len()];
    let settings = BearSettings { within_mm: 0.0, within_share: 1e-3, ..BearSettings::default() };
    let bearing = bear(&slab, &supports, &level, &[], settings).unwrap();
    // At a corner the twisting moment is as large: the stress in the middle is looked at.
    let stress = bearing.stress().unwrap();
    let unit = slab.weight_n() * 6.0 / 400.0;
    let corner = 0.0463;
    let expected: f64 = 0.0479;
    near(stress.mpa / unit, expected.max(corner), 0.02);
    near(stress.ratio.unwrap(), stress.mpa * 3.0 / 62.1, 1e-12);

    // Under a load in the middle, spread over little: 3 W / 2 π t² · ((1 + ν) ln(2 b / π r) + β) with
    // r = 0.325 t and β = 0.435 (Roark table 11.4 case 1b, from memory).
    let middle = [400.0, 400.0];
    let load = Load::Point { xy_mm: middle, newtons: 900.0 };
    let settings = BearSettings { weight: false, ..settings };
    let stress = bear(&slab, &supports, &level, &[load], settings).unwrap().stress().unwrap();
    assert_eq!(stress.at_mm, middle);
    let log = (2.0 * 800.0 / (std::f64::consts::PI * 0.325 * 20.0)).ln();
    let by = 3.0 * 900.0 / (2.0 * std::f64::consts::PI * 400.0);
    near(stress.mpa, by * (1.3 * log + 0.435), 0.01);
}

#[test]
fn the_deflection_test_of_a_federation() {
    // 200 lb at the centre: 90.7 kg, 0.030 in.
    let slab = slab([1270.0, 850.0], 25.4, 0.25);
    let places = [[20.0, 20.0], [1250.0, 20.0], [1250.0, 830.0], [20.0, 830.0]];
    let laid = |loads: &[Load]| {
        bear(&slab, &push(&places), &[0.0; 4], loads, BearSettings::default()).unwrap()
    };
    let test = LoadTest::WPA_2001;
    let middle = [635.0, 425.0];
    let before = laid(&[]).at(&[middle]).unwrap()[0];
    let load = Load::Point { xy_mm: middle, newtons: test.newtons };
    let after = laid(&[load]).at(&[middle]).unwrap()[0];
    let gives = before - after;
    assert!(gives > 0.1 && gives < test.limit_mm, "{gives}");
    assert!((test.newtons - 889.46).abs() < 0.1 && test.limit_mm == 0.762);
}

#[test]
fn a_slab_and_its_mirror_image_bear_the_same() {
    let slab = slab([1370.0, 880.0], 25.4, 0.25);
    let places = [[60.0, 40.0], [700.0, 40.0], [1310.0, 90.0], [1310.0, 840.0], [60.0, 800.0]];
    let tops = [0.1, 0.0, 0.05, -0.1, 0.2];
    let mirror = |[x, y]: [f64; 2]| [1370.0 - x, 880.0 - y];
    let bearing = |places: &[[f64; 2]]| {
        bear(&slab, &push(places), &tops, &[], BearSettings::default()).unwrap()
    };
    let (a, b) = (bearing(&places), bearing(&places.map(mirror)));
    for (a, b) in a.forces_n.iter().zip(&b.forces_n) {
        assert!((a - b).abs() < 1e-9, "{a} {b}");
    }
    // Eight supports placed alike bear alike.
    let even = [60.0, 685.0, 1310.0].into_iter().flat_map(|x| [[x, 40.0], [x, 840.0]]);
    let even: Vec<[f64; 2]> = even.collect();
    let bearing = bear(&slab, &push(&even), &[0.0; 6], &[], BearSettings::default()).unwrap();
    for [a, b] in [[0, 1], [0, 4], [0, 5], [2, 3]] {
        assert!((bearing.forces_n[a] - bearing.forces_n[b]).abs() < 1e-9);
    }
}

#[test]
fn a_thick_slab_stands_as_a_rigid_frame_does() {
    let slab = slab([1300.0, 800.0], 9000.0, 0.25);
    let places = [[50.0, 50.0], [1200.0, 60.0], [1210.0, 760.0], [60.0, 750.0], [640.0, 420.0]];
    let tops = [0.3, -1.2, 0.4, -0.7, -2.0];
    let rigid = resting(&places, &tops, Some([650.0, 400.0])).unwrap();
    let bearing = bear(&slab, &push(&places), &tops, &[], BearSettings::default()).unwrap();
    let carries: Vec<usize> = (0..5).filter(|&at| bearing.carries[at]).collect();
    assert_eq!(carries, rigid.supports);
    for (&at, share) in rigid.supports.iter().zip(rigid.shares) {
        near(bearing.forces_n[at], share * slab.weight_n(), 1e-6);
    }
    for (gap, floats) in bearing.gaps_mm.iter().zip(&rigid.floats_mm) {
        assert!((gap - floats).abs() < 1e-3, "{gap} {floats}");
    }
}

#[test]
fn on_soft_springs_a_slab_is_rigid() {
    // Springs of k each under a rigid slab: their forces are linear in plan, whatever the tops.
    let slab = slab([1300.0, 800.0], 25.0, 0.25);
    let places = [[50.0, 50.0], [1250.0, 50.0], [1250.0, 750.0], [50.0, 750.0], [650.0, 400.0]];
    let mut supports = push(&places);
    supports.iter_mut().for_each(|it| it.stiffness_n_per_mm = Some(0.1));
    let tops = [3.0, 0.0, -1.0, 0.0, 0.0];
    let bearing = bear(&slab, &supports, &tops, &[], BearSettings::default()).unwrap();
    // Symmetric in plan, so the mean top and the two moments give the forces.
    let mean = tops.iter().sum::<f64>() / 5.0;
    let moment = |axis: usize, middle: f64| {
        let arm = |at: usize| places[at][axis] - middle;
        (0..5).map(|at| arm(at) * tops[at]).sum::<f64>()
            / (0..5).map(|at| arm(at).powi(2)).sum::<f64>()
    };
    let slopes = [moment(0, 650.0), moment(1, 400.0)];
    for (at, force) in bearing.forces_n.iter().enumerate() {
        let plane =
            mean + slopes[0] * (places[at][0] - 650.0) + slopes[1] * (places[at][1] - 400.0);
        let expected = slab.weight_n() / 5.0 + 0.1 * (tops[at] - plane);
        near(*force, expected, 1e-3);
    }
}

#[test]
fn a_slab_that_tips_says_where() {
    let slab = slab([1000.0, 600.0], 25.0, 0.25);
    // All supports on the left of the middle.
    let places = [[20.0, 20.0], [450.0, 20.0], [450.0, 580.0], [20.0, 580.0]];
    let bearing = |supports: &[SlabSupport], loads: &[Load]| {
        bear(&slab, supports, &[0.0; 4], loads, BearSettings::default()).unwrap()
    };
    let tips = bearing(&push(&places), &[]);
    let edge = tips.tips.unwrap();
    assert_eq!(edge.about, [1, 2]);
    near(edge.moment_n_mm, 50.0 * slab.weight_n(), 1e-9);
    assert!(tips.forces_n.iter().all(|force| force.is_nan()));
    assert!(tips.gaps_mm.iter().all(|gap| gap.is_nan()) && tips.stress().is_none());
    assert!(tips.at(&[[0.0, 0.0]]).unwrap()[0].is_nan() && tips.sag_mm().is_nan());
    assert!(!tips.carries.contains(&true));
    // A load on the left holds it, and so do screws there; half of them do not.
    let load = Load::Point { xy_mm: [20.0, 300.0], newtons: 0.2 * slab.weight_n() };
    let held = bearing(&push(&places), &[load]);
    assert!(held.tips.is_none());
    let mut screwed = push(&places);
    let needed = 50.0 * slab.weight_n() / 860.0;
    for (part, tips) in [(1.01, false), (0.99, true)] {
        screwed[0].pull_n = part * needed;
        screwed[3].pull_n = part * needed;
        assert_eq!(bearing(&screwed, &[]).tips.is_some(), tips);
    }
    // One that lifts off altogether.
    let up = Load::Point { xy_mm: [300.0, 300.0], newtons: -2.0 * slab.weight_n() };
    assert!(bearing(&push(&places), &[up]).tips.is_some());
}

#[test]
fn a_screw_holds_up_to_its_force_and_then_gives_way() {
    let slab = slab([1000.0, 600.0], 25.0, 0.25);
    let places = [[20.0, 20.0], [980.0, 20.0], [980.0, 580.0], [20.0, 580.0]];
    let mut supports = push(&places);
    supports[0].pull_n = 60.0;
    // A load beyond the diagonal turns the slab off the low corner.
    let load = Load::Point { xy_mm: [700.0, 450.0], newtons: 300.0 };
    let low = |by: f64| {
        bear(&slab, &supports, &[-by, 0.0, 0.0, 0.0], &[load], BearSettings::default()).unwrap()
    };
    let held = low(0.7);
    assert!(held.forces_n[0] < 0.0 && held.forces_n[0] > -60.0 && held.carries[0], "{held:?}");
    let gone = low(3.0);
    assert_eq!(gone.forces_n[0], -60.0);
    assert!(gone.gaps_mm[0] > 0.0 && !gone.carries[0]);
}

#[test]
fn the_same_slab_bears_on_other_shims() {
    let slab = slab([1370.0, 880.0], 25.4, 0.25);
    let places = [[60.0, 40.0], [685.0, 40.0], [1310.0, 40.0], [1310.0, 840.0], [60.0, 840.0]];
    let laid = LaidSlab::new(&slab, &push(&places), &[], BearSettings::default()).unwrap();
    for tops in [[0.0; 5], [0.2, 0.0, 0.1, 0.0, 0.0], [5.0, 4.0, 3.0, 2.0, 1.0]] {
        let again = laid.bear(&tops).unwrap();
        let once = bear(&slab, &push(&places), &tops, &[], BearSettings::default()).unwrap();
        for (a, b) in again.forces_n.iter().zip(&once.forces_n) {
            assert!((a - b).abs() < 0.02 * slab.weight_n(), "{a} {b}");
        }
        assert!(again.accuracy_mm() <= 5e-3, "{}", again.accuracy_mm());
    }
}

#[test]
fn heights_are_as_well_known_as_is_said() {
    // The true height is that on a far finer mesh.
    let slab = slab([1370.0, 880.0], 25.4, 0.25);
    let places = [[60.0, 40.0], [685.0, 40.0], [1310.0, 40.0], [1310.0, 840.0], [60.0, 840.0]];
    let load = Load::Point { xy_mm: [685.0, 500.0], newtons: 890.0 };
    let tops = [0.1, 0.0, 0.05, 0.0, 0.1];
    let lattice: Vec<[f64; 2]> = (0..=10)
        .flat_map(|x| (0..=10).map(move |y| [137.0 * f64::from(x), 88.0 * f64::from(y)]))
        .collect();
    let heights = |within_mm, within_share| {
        let settings = BearSettings { within_mm, within_share, ..BearSettings::default() };
        let bearing = bear(&slab, &push(&places), &tops, &[load], settings).unwrap();
        (bearing.at(&lattice).unwrap(), bearing.accuracy_mm())
    };
    let (fine, _) = heights(1e-6, 0.0);
    for within in [1e-2, 1e-3, 1e-4] {
        let (got, said) = heights(within, 0.0);
        let off = got.iter().zip(&fine).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        assert!(off <= said && said <= within, "{within}: off {off}, said {said}");
    }
}

/// All that a slab is asked with.
struct Case {
    slab: Slab,
    supports: Vec<SlabSupport>,
    tops: Vec<f64>,
    loads: Vec<Load>,
    settings: BearSettings,
}

#[test]
fn everything_wrong_with_a_slab_is_named() {
    use ProblemKind::{Duplicate, Geometry, Shape, Value};
    let places = [[20.0, 20.0], [980.0, 20.0], [980.0, 580.0], [20.0, 580.0]];
    let told = |spoil: &dyn Fn(&mut Case)| {
        let mut case = Case {
            slab: slab([1000.0, 600.0], 25.0, 0.25),
            supports: push(&places),
            tops: vec![0.0; 4],
            loads: Vec::new(),
            settings: BearSettings::default(),
        };
        spoil(&mut case);
        let Case { slab, supports, tops, loads, settings } = case;
        let error = bear(&slab, &supports, &tops, &loads, settings).unwrap_err();
        let named = |it: &truebed::Problem| (it.kind, it.field.clone());
        error.problems().iter().map(named).collect::<Vec<_>>()
    };
    let one = |kind, field: &str| vec![(kind, field.to_owned())];
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(told(&|case| case.slab.thickness_mm = bad), one(Value, "slab.thickness"));
        assert_eq!(told(&|case| case.slab.e_gpa = bad), one(Value, "slab.e_gpa"));
        assert_eq!(told(&|case| case.slab.density_kg_per_m3 = bad), one(Value, "slab.density"));
        assert_eq!(
            told(&|case| case.slab.strength_mpa = Some(bad)),
            one(Value, "slab.strength_mpa")
        );
        assert_eq!(
            told(&|case| case.slab.strength_factor = bad),
            one(Value, "slab.strength_factor")
        );
        let soft = |case: &mut Case| case.supports[1].stiffness_n_per_mm = Some(bad);
        assert_eq!(told(&|case| soft(case)), one(Value, "supports[1].stiffness_n_per_mm"));
    }
    for bad in [-0.1, 0.5, f64::NAN] {
        assert_eq!(told(&|case| case.slab.nu = bad), one(Value, "slab.nu"));
    }
    for bad in [f64::NAN, f64::NEG_INFINITY] {
        assert_eq!(told(&|case| case.slab.x_mm[0] = bad), one(Value, "slab.x[0]"));
        assert_eq!(told(&|case| case.slab.y_mm[1] = bad), one(Value, "slab.y[1]"));
        assert_eq!(told(&|case| case.tops[2] = bad), one(Value, "tops[2]"));
        assert_eq!(told(&|case| case.supports[3].pull_n = bad), one(Value, "supports[3].pull_n"));
        assert_eq!(told(&|case| case.supports[3].xy_mm[0] = bad), one(Value, "supports[3].xy"));
        let load = Load::Point { xy_mm: [bad, 5.0], newtons: bad };
        let both = vec![(Value, "loads[0].newtons".to_owned()), (Value, "loads[0].xy".to_owned())];
        assert_eq!(told(&|case| case.loads.push(load)), both);
    }
    assert_eq!(told(&|case| case.slab.x_mm = [5.0, 5.0]), one(Value, "slab.x[1]"));
    assert_eq!(told(&|case| case.supports[3].pull_n = -1.0), one(Value, "supports[3].pull_n"));
    assert_eq!(told(&|case| case.supports[0].xy_mm = [-0.1, 0.0]), one(Value, "supports[0].xy"));
    assert_eq!(told(&|case| case.supports[2].xy_mm = places[1]), one(Duplicate, "supports[2].xy"));
    let few = |case: &mut Case| {
        case.supports.truncate(2);
        case.tops.truncate(2);
    };
    assert_eq!(told(&|case| few(case)), one(Geometry, "supports"));
    let line = |case: &mut Case| {
        case.supports
            .iter_mut()
            .zip([1.0, 2.0, 3.0, 4.0])
            .for_each(|(it, at)| it.xy_mm = [at, 2.0 * at]);
    };
    assert_eq!(told(&|case| line(case)), one(Geometry, "supports"));
    let many = |case: &mut Case| {
        case.supports =
            (0..501).map(|at| SlabSupport::at([f64::from(at), f64::from(at % 7)])).collect();
        case.tops = vec![0.0; 501];
    };
    assert_eq!(told(&|case| many(case)), one(Shape, "supports"));
    assert_eq!(told(&|case| case.tops.push(0.0)), one(Shape, "tops"));
    let outside = Load::Point { xy_mm: [1000.1, 5.0], newtons: 5.0 };
    assert_eq!(told(&|case| case.loads.push(outside)), one(Value, "loads[0].xy"));
    let outside = Load::Patch { x_mm: [900.0, 1000.1], y_mm: [0.0, 5.0], newtons: 5.0 };
    assert_eq!(told(&|case| case.loads.push(outside)), one(Value, "loads[0].corner"));
    let turned = Load::Patch { x_mm: [90.0, 10.0], y_mm: [0.0, 5.0], newtons: 5.0 };
    assert_eq!(told(&|case| case.loads.push(turned)), one(Value, "loads[0].x"));
    assert_eq!(told(&|case| case.settings.weight = false), one(Value, "loads"));
    assert_eq!(told(&|case| case.settings.within_mm = f64::NAN), one(Value, "within_mm"));
    assert_eq!(told(&|case| case.settings.within_share = -1.0), one(Value, "within_share"));
    // Everything at once.
    let all = told(&|case| {
        case.supports[0].pull_n = -1.0;
        case.tops[1] = f64::NAN;
        case.supports[1].xy_mm = [2000.0, 0.0];
    });
    assert_eq!(all.len(), 3);
    assert!(LoadTest::new(0.0, f64::NAN).unwrap_err().problems().len() == 2);
    let bearing = bear(
        &slab([1000.0, 600.0], 25.0, 0.25),
        &push(&places),
        &[0.0; 4],
        &[],
        BearSettings::default(),
    );
    assert_eq!(
        bearing.unwrap().at(&[[1.0, 1.0], [1.0, f64::NAN]]).unwrap_err().problems()[0].field,
        "at[1]"
    );
}

/// What was got and what was expected, of each kind of bad input.
#[test]
fn what_is_wrong_is_told_with_what_was_got_and_expected() {
    let places = [[20.0, 20.0], [980.0, 20.0], [980.0, 580.0], [20.0, 580.0]];
    let good = || (slab([1000.0, 600.0], 25.0, 0.25), push(&places), vec![0.0; 4], Vec::new());
    type Parts = (Slab, Vec<SlabSupport>, Vec<f64>, Vec<Load>);
    let told = |spoil: &dyn Fn(&mut Parts)| {
        let mut parts = good();
        spoil(&mut parts);
        let (slab, supports, tops, loads) = parts;
        bear(&slab, &supports, &tops, &loads, BearSettings::default()).unwrap_err().to_string()
    };
    let outline = "x from 0 to 1000 mm and y from 0 to 600 mm, as the slab has";
    for (text, spoil) in [
        (
            "slab.thickness: got 0, expected a thickness above 0 mm, at most 10 m".to_owned(),
            &(|it: &mut Parts| it.0.thickness_mm = 0.0) as &dyn Fn(&mut Parts),
        ),
        ("slab.e_gpa: got -5, expected a modulus above 0 GPa, at most 1e6 GPa".to_owned(), &|it| {
            it.0.e_gpa = -5.0
        }),
        ("slab.nu: got 0.5, expected a ratio from 0 to below 0.5".to_owned(), &|it| it.0.nu = 0.5),
        (format!("supports[1].xy: got x = 2000, y = 20, expected {outline}"), &|it| {
            it.1[1].xy_mm[0] = 2000.0
        }),
        (
            "supports[1].xy: got x = 20, y = 20, expected a place where supports[0] does not stand"
                .to_owned(),
            &|it| it.1[1].xy_mm = [20.0, 20.0],
        ),
        ("supports: got 2 supports, expected 3 to 500 supports".to_owned(), &|it| {
            it.1.truncate(2);
            it.2.truncate(2);
        }),
        (
            "supports: got 4 supports on one line, expected three or more that are not on one line"
                .to_owned(),
            &|it| it.1.iter_mut().enumerate().for_each(|(at, it)| it.xy_mm = [20.0 + at as f64; 2]),
        ),
        (
            "supports[0].stiffness_n_per_mm: got -1, expected a stiffness of at least 1e-6 N/mm"
                .to_owned(),
            &|it| it.1[0].stiffness_n_per_mm = Some(-1.0),
        ),
        (format!("loads[0].xy: got x = -1, y = 5, expected {outline}"), &|it| {
            it.3.push(Load::Point { xy_mm: [-1.0, 5.0], newtons: 5.0 })
        }),
        ("tops[2]: got NaN, expected a height within ±1000 km, in mm".to_owned(), &|it| {
            it.2[2] = f64::NAN
        }),
    ] {
        assert_eq!(told(spoil), text);
    }
}

/// Supports with tops, pulls and stiffnesses, on a slab of slate.
fn cases() -> impl Strategy<Value = (Slab, Vec<SlabSupport>, Vec<f64>, Vec<Load>)> {
    let support = (0.0..1.0, 0.0..1.0, -1.0..1.0, 0.0..300.0_f64, 0..4_u8, 1.0..5.0_f64);
    let load = (0.0..1.0, 0.0..1.0, -100.0..900.0_f64);
    (
        (300.0..2000.0_f64, 300.0..1200.0_f64, 12.0..60.0_f64, 0.0..0.45_f64),
        prop::collection::vec(support, 3..12),
        prop::collection::vec(load, 0..3),
        prop::sample::select(vec![0.0, 0.01, 0.3, 5.0]),
    )
        .prop_map(|((long, wide, thick, nu), supports, loads, uneven)| {
            let slab = slab([long, wide], thick, nu);
            let tops = supports.iter().map(|it| it.2 * uneven).collect();
            let loads = loads
                .iter()
                .map(|&(x, y, newtons)| Load::Point { xy_mm: [x * long, y * wide], newtons })
                .collect();
            let of = |&(x, y, _, pull, kind, stiff): &(f64, f64, f64, f64, u8, f64)| SlabSupport {
                xy_mm: [x * long, y * wide],
                pull_n: if kind % 2 == 1 { pull } else { 0.0 },
                stiffness_n_per_mm: (kind > 1).then(|| 10_f64.powf(stiff)),
            };
            (slab, supports.iter().map(of).collect(), tops, loads)
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]
    #[test]
    fn what_bears_is_in_equilibrium_and_pulls_nowhere((slab, supports, tops, loads) in cases()) {
        let Ok(bearing) = bear(&slab, &supports, &tops, &loads, BearSettings::default()) else {
            // Supports that chance has put on one line or at one place.
            return Ok(());
        };
        let acts: f64 =
            slab.weight_n() + loads.iter().map(|load| load.newtons().abs()).sum::<f64>();
        if bearing.tips.is_some() {
            // Then it is not held: some plane through two supports rises off the others and loses
            // height where it is loaded.
            prop_assert!(bearing.forces_n.iter().all(|force| force.is_nan()));
            return Ok(());
        }
        let middle = [0.5 * slab.x_mm[1], 0.5 * slab.y_mm[1]];
        let mut moments = [slab.weight_n(), slab.weight_n() * middle[0], slab.weight_n() * middle[1]];
        for load in &loads {
            let [x, y] = load.middle_mm();
            for (sum, by) in moments.iter_mut().zip([1.0, x, y]) {
                *sum += load.newtons() * by;
            }
        }
        for (support, force) in supports.iter().zip(&bearing.forces_n) {
            let [x, y] = support.xy_mm;
            for (sum, by) in moments.iter_mut().zip([1.0, x, y]) {
                *sum -= force * by;
            }
        }
        let tight = 1e-6 * acts.max(bearing.forces_n.iter().map(|it| it.abs()).fold(0.0, f64::max));
        prop_assert!(moments[0].abs() < tight, "{moments:?}");
        prop_assert!(moments[1].abs() < tight * slab.x_mm[1], "{moments:?}");
        prop_assert!(moments[2].abs() < tight * slab.y_mm[1], "{moments:?}");
        let places: Vec<[f64; 2]> = supports.iter().map(|it| it.xy_mm).collect();
        let heights = bearing.at(&places).unwrap();
        for at in 0..supports.len() {
            let SlabSupport { pull_n, stiffness_n_per_mm, .. } = supports[at];
            let (force, gap) = (bearing.forces_n[at], bearing.gaps_mm[at]);
            prop_assert!(force >= -pull_n - tight);
            prop_assert!(gap >= 0.0);
            prop_assert!(gap == 0.0 || (force + pull_n).abs() <= tight);
            let gives = stiffness_n_per_mm.map_or(0.0, |stiffness| force / stiffness);
            let over = heights[at] - (tops[at] - gives);
            prop_assert!((over - gap).abs() < 1e-6 * (1.0 + over.abs()), "{at}: {over} {gap}");
        }
    }

    #[test]
    fn raising_all_supports_raises_the_slab((slab, supports, tops, loads) in cases()) {
        let settings = BearSettings::default();
        let Ok(bearing) = bear(&slab, &supports, &tops, &loads, settings) else { return Ok(()) };
        if bearing.tips.is_some() { return Ok(()) }
        let moved = |at: usize| {
            let [x, y] = supports[at].xy_mm;
            tops[at] + 100.0 + 0.02 * x - 0.01 * y
        };
        let moved: Vec<f64> = (0..tops.len()).map(moved).collect();
        let other = bear(&slab, &supports, &moved, &loads, settings).unwrap();
        let acts = slab.weight_n() + 3000.0;
        for (a, b) in bearing.forces_n.iter().zip(&other.forces_n) {
            prop_assert!((a - b).abs() < 1e-5 * acts.max(a.abs()), "{a} {b}");
        }
    }
}
