//! Carrying pieces in: the corner against the ladder problem, closed forms and a sweep of a rectangle
//! through all its positions on a grid.

use std::collections::VecDeque;

use approx::assert_relative_eq;
use proptest::prelude::*;
use truebed::{Carry, Passage, Piece, Spare, corner_bound, way_in};

#[test]
fn no_breadth_is_the_ladder_problem() {
    for (a, b) in [(1000.0, 1000.0), (900.0, 1400.0), (700.0, 3000.0), (1.0, 1e4)] {
        let ladder = (f64::powf(a, 2.0 / 3.0) + f64::powf(b, 2.0 / 3.0)).powf(1.5);
        assert_relative_eq!(corner_bound([a, b], 90.0, 0.0), ladder, max_relative = 1e-9);
        assert_relative_eq!(corner_bound([b, a], 90.0, 0.0), ladder, max_relative = 1e-9);
    }
}

/// Between equal corridors the worst is half way: 2√2 a − 2t at a right angle; with a turn of τ the
/// inner corner lies a / cos(τ/2) from the outer one, so 2 (a / cos(τ/2) − t) / tan((180° − τ)/2 …).
#[test]
fn equal_corridors_are_worst_half_way() {
    for t in [0.0, 50.0, 300.0, 900.0] {
        let found = corner_bound([1000.0, 1000.0], 90.0, t);
        // A broad thing is carried round without a turn.
        let turned = 2.0 * (2.0_f64.sqrt() * 1000.0 - t);
        assert_relative_eq!(found, turned.max(1000.0), max_relative = 1e-9);
    }
    for turn in [30.0_f64, 60.0, 120.0] {
        let opening = (180.0 - turn).to_radians();
        let inner = 1000.0 / (opening / 2.0).sin();
        let found = corner_bound([1000.0, 1000.0], turn, 40.0);
        assert_relative_eq!(
            found,
            2.0 * (inner - 40.0) * (opening / 2.0).tan(),
            max_relative = 1e-9
        );
    }
}

#[test]
fn nothing_wider_than_a_corridor_gets_in() {
    assert_eq!(corner_bound([800.0, 2000.0], 90.0, 800.1), 0.0);
    assert!(corner_bound([800.0, 2000.0], 90.0, 800.0) >= 800.0);
}

/// Whether a rectangle gets round, tried on a grid of positions and directions; corridors with their
/// outer walls meeting at 0, the first along x.
fn swept(widths: [f64; 2], turn_deg: f64, size: [f64; 2]) -> bool {
    const STEPS: usize = 130;
    const ANGLES: usize = 180;
    let (sin, cos) = (180.0 - turn_deg).to_radians().sin_cos();
    let far = size[0] * 1.5;
    // How high each spot of the outline is over the two outer walls, about the middle.
    let outlines: Vec<Vec<[f64; 2]>> = (0..ANGLES)
        .map(|at| {
            let (s, c) = (std::f64::consts::PI * at as f64 / ANGLES as f64).sin_cos();
            let ends = (0..=24).map(|i| f64::from(i) / 24.0 - 0.5);
            let long = ends.clone().flat_map(|a| [[a, -0.5], [a, 0.5]]);
            let short = ends.flat_map(|b| [[-0.5, b], [0.5, b]]);
            let spot = |[a, b]: [f64; 2]| {
                let (a, b) = (a * size[0], b * size[1]);
                let (x, y) = (a * c - b * s, a * s + b * c);
                [y, x * sin - y * cos]
            };
            long.chain(short).map(spot).collect()
        })
        .collect();
    let free = |u: usize, v: usize, angle: usize| {
        let at = [u, v].map(|it| far * it as f64 / STEPS as f64);
        let outline = outlines[angle].iter().all(|spot| {
            let high = [at[0] + spot[0], at[1] + spot[1]];
            high[0] >= -1e-9
                && high[1] >= -1e-9
                && (high[0] <= widths[0] + 1e-9 || high[1] <= widths[1] + 1e-9)
        });
        // The inner corner must not poke into the rectangle.
        let (dy, dv) = (widths[0] - at[0], widths[1] - at[1]);
        let dx = (dv + dy * cos) / sin;
        let (s, c) = (std::f64::consts::PI * angle as f64 / ANGLES as f64).sin_cos();
        let (a, b) = (dx * c + dy * s, dy * c - dx * s);
        outline && (a.abs() >= size[0] / 2.0 - 1e-9 || b.abs() >= size[1] / 2.0 - 1e-9)
    };
    let at = |u: usize, v: usize, a: usize| (u * (STEPS + 1) + v) * ANGLES + a;
    let mut seen = vec![false; (STEPS + 1) * (STEPS + 1) * ANGLES];
    let mut queue: VecDeque<[usize; 3]> = VecDeque::new();
    for u in 0..=STEPS {
        for a in 0..ANGLES {
            if free(u, STEPS, a) {
                seen[at(u, STEPS, a)] = true;
                queue.push_back([u, STEPS, a]);
            }
        }
    }
    while let Some([u, v, a]) = queue.pop_front() {
        if u == STEPS {
            return true;
        }
        let near = [
            [u + 1, v, a],
            [u, v + 1, a],
            [u, v, (a + 1) % ANGLES],
            [u, v, (a + ANGLES - 1) % ANGLES],
        ];
        let back = [[u.wrapping_sub(1), v, a], [u, v.wrapping_sub(1), a]];
        for [u, v, a] in near.into_iter().chain(back) {
            if u <= STEPS && v <= STEPS && !seen[at(u, v, a)] && free(u, v, a) {
                seen[at(u, v, a)] = true;
                queue.push_back([u, v, a]);
            }
        }
    }
    false
}

/// The grid is coarse, so a rectangle a little shorter passes and one a little longer does not.
#[test]
fn a_swept_rectangle_agrees() {
    for (widths, turn, across) in [
        ([900.0, 1300.0], 90.0, 450.0),
        ([1000.0, 1000.0], 90.0, 900.0),
        ([1000.0, 1200.0], 60.0, 300.0),
        ([1000.0, 900.0], 120.0, 700.0),
    ] {
        let longest = corner_bound(widths, turn, across);
        assert!(longest >= across, "{widths:?} {turn} {across}: {longest}");
        assert!(
            swept(widths, turn, [0.94 * longest, across]),
            "{widths:?} {turn} {across}: {longest}"
        );
        assert!(
            !swept(widths, turn, [1.04 * longest, across]),
            "{widths:?} {turn} {across}: {longest}"
        );
    }
}

proptest! {
    #[test]
    fn wider_corridors_and_thinner_pieces_pass_more(
        a in 500.0..2000.0f64, b in 500.0..2000.0f64, t in 0.0..500.0f64, turn in 5.0..140.0f64, more in 1.0..300.0f64,
    ) {
        let found = corner_bound([a, b], turn, t);
        prop_assert!((corner_bound([b, a], turn, t) - found).abs() <= 1e-6 * found);
        prop_assert!(corner_bound([a + more, b], turn, t) >= found * (1.0 - 1e-9));
        prop_assert!(corner_bound([a, b], turn, (t - more).max(0.0)) >= found * (1.0 - 1e-9));
        // Twice the size, twice as long.
        prop_assert!((corner_bound([2.0 * a, 2.0 * b], turn, 2.0 * t) - 2.0 * found).abs() <= 1e-6 * found);
    }
}

fn slate() -> Piece {
    Piece { name: "centre slate".into(), size_mm: [1350.0, 900.0, 25.0] }
}

#[test]
fn each_piece_is_carried_the_way_that_leaves_most() {
    let passages = [
        Passage::Door { name: "front door".into(), width_mm: 800.0, height_mm: 1980.0 },
        Passage::Corner {
            name: "hall".into(),
            widths_mm: [900.0, 900.0],
            height_mm: 2300.0,
            turn_deg: 90.0,
        },
        Passage::Landing { name: "landing".into(), size_mm: [1300.0, 1800.0], height_mm: 2200.0 },
        Passage::Stairs {
            name: "stairs".into(),
            width_mm: 750.0,
            head_room_mm: 1900.0,
            pitch_deg: Some(40.0),
        },
    ];
    let frame = Piece { name: "long side of the frame".into(), size_mm: [200.0, 50.0, 2600.0] };
    let found = way_in(&[slate(), frame], &passages).unwrap();
    assert!(!found.passes);
    let margins: Vec<(bool, Carry, f64, Spare)> = found
        .carried
        .iter()
        .map(|it| (it.passes, it.carry, (it.margin_mm * 10.0).round() / 10.0, it.spare))
        .collect();
    let ladder = 2.0 * (2.0_f64.sqrt() * 900.0 - 25.0);
    let round = |mm: f64| (mm * 10.0).round() / 10.0;
    assert_eq!(margins[0], (true, Carry::Upright, 775.0, Spare::Width));
    assert_eq!(margins[1], (true, Carry::Upright, 875.0, Spare::Width));
    assert!(ladder - 1350.0 > 875.0);
    assert_eq!(
        margins[2],
        (false, Carry::Upright, round(1300.0 - 1350.0_f64.hypot(25.0)), Spare::Width)
    );
    assert_eq!(
        margins[3],
        (true, Carry::Upright, round(1900.0 * 40.0_f64.to_radians().cos() - 900.0), Spare::Height)
    );
    assert!(!margins[6].0 && margins[5].3 == Spare::Length && !margins[5].0);
    assert_eq!(found.tightest, [2, 2]);
}

#[test]
fn bad_ways_say_what_is_wrong() {
    let door = Passage::Door { name: "door".into(), width_mm: 800.0, height_mm: f64::NAN };
    let corner = Passage::Corner {
        name: String::new(),
        widths_mm: [800.0, -1.0],
        height_mm: 2000.0,
        turn_deg: 180.0,
    };
    let text = way_in(&[slate()], &[door, corner]).unwrap_err().to_string();
    assert_eq!(
        text,
        "passages[0].height: got NaN mm, expected from 1 to 100000 mm\n\
         passages[1].widths[1]: got -1 mm, expected from 1 to 100000 mm\n\
         passages[1].turn: got 180°, expected from 1 to 150°\n\
         passages[1].name: got \"\", expected a name of 1 to 64 characters, none of them control characters"
    );
    assert_eq!(way_in(&[], &[]).unwrap_err().problems().len(), 2);
}
