//! Where the table stands: against closed forms, a fine grid and random search, with distances of
//! their own.

use approx::assert_relative_eq;
use proptest::prelude::*;
use truebed::{Obstacle, PlaceOptions, Position, TablePlace, Turn, place};

type Spot = [f64; 2];

fn point_to_side(p: Spot, a: Spot, b: Spot) -> f64 {
    let (ux, uy) = (b[0] - a[0], b[1] - a[1]);
    let t = (((p[0] - a[0]) * ux + (p[1] - a[1]) * uy) / (ux * ux + uy * uy)).clamp(0.0, 1.0);
    libm::hypot(p[0] - a[0] - t * ux, p[1] - a[1] - t * uy)
}

fn inside(polygon: &[Spot], [x, y]: Spot) -> bool {
    let mut within = false;
    for i in 0..polygon.len() {
        let (a, b) = (polygon[i], polygon[(i + 1) % polygon.len()]);
        if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) {
            within = !within;
        }
    }
    within
}

fn corners([x, y]: Spot, [l, w]: [f64; 2], deg: f64) -> Vec<Spot> {
    let (s, c) = deg.to_radians().sin_cos();
    [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]
        .map(|[i, j]| {
            let (a, b) = (i * l / 2.0, j * w / 2.0);
            [x + a * c - b * s, y + a * s + b * c]
        })
        .to_vec()
}

fn polygons_apart(a: &[Spot], b: &[Spot]) -> f64 {
    let mut least = f64::INFINITY;
    for (a, b) in [(a, b), (b, a)] {
        for &p in a {
            for i in 0..b.len() {
                least = least.min(point_to_side(p, b[i], b[(i + 1) % b.len()]));
            }
        }
    }
    least
}

/// The least clearance by other means: none where the table stands in something. A table that two
/// walls' corner pokes into is found by its middle lines.
fn clearance(
    room: &[Spot],
    obstacles: &[Vec<Spot>],
    at: Spot,
    size: [f64; 2],
    deg: f64,
) -> Option<f64> {
    let table = corners(at, size, deg);
    let spots = (0..=20).flat_map(|i| {
        (0..=20).map(move |j| (f64::from(i) / 10.0 - 1.0, f64::from(j) / 10.0 - 1.0))
    });
    let (s, c) = deg.to_radians().sin_cos();
    for (i, j) in spots {
        let (a, b) = (i * size[0] / 2.0, j * size[1] / 2.0);
        let spot = [at[0] + a * c - b * s, at[1] + a * s + b * c];
        if !inside(room, spot) || obstacles.iter().any(|it| inside(it, spot)) {
            return None;
        }
    }
    let walls = polygons_apart(&table, room);
    Some(obstacles.iter().map(|it| polygons_apart(&table, it)).fold(walls, f64::min))
}

fn options(clear: f64, obstacles: &[Vec<Spot>], turn: Turn) -> PlaceOptions {
    let name = |(at, corners): (usize, &Vec<Spot>)| Obstacle {
        name: format!("thing {at}"),
        corners: corners.clone(),
    };
    PlaceOptions {
        clear_mm: clear,
        obstacles: obstacles.iter().enumerate().map(name).collect(),
        turn,
        ..PlaceOptions::default()
    }
}

fn turned(spot: Spot, deg: f64) -> Spot {
    let (s, c) = deg.to_radians().sin_cos();
    [spot[0] * c - spot[1] * s, spot[0] * s + spot[1] * c]
}

#[test]
fn in_a_rectangle_the_table_stands_in_the_middle() {
    for (x, y) in [(5000.0, 4000.0), (6000.0, 4000.0), (9000.0, 4100.0), (4000.0, 6000.0)] {
        let room = [[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]];
        let found = place(&room, [2540.0, 1270.0], &PlaceOptions::default()).unwrap();
        let (long, wide) = (x.max(y), x.min(y));
        let least = f64::min((long - 2540.0) / 2.0, (wide - 1270.0) / 2.0);
        assert_relative_eq!(found.least_mm, least, epsilon = 1e-3);
        assert!(found.bound_mm >= found.slack_mm && found.bound_mm - found.slack_mm < 1e-3);
        assert_relative_eq!(found.position.x_mm, x / 2.0, epsilon = 1e-2);
        assert_relative_eq!(found.position.y_mm, y / 2.0, epsilon = 1e-2);
        assert_eq!(found.position.angle_deg, if x > y { 0.0 } else { 90.0 });
        assert_eq!(found.fits, least >= 1524.0);
    }
}

/// Exactly as much as is asked for is enough.
#[test]
fn a_clearance_on_the_limit_fits() {
    let room = [
        [0.0, 0.0],
        [2540.0 + 3048.0, 0.0],
        [2540.0 + 3048.0, 1270.0 + 3048.0],
        [0.0, 1270.0 + 3048.0],
    ];
    let at = Position { x_mm: 1270.0 + 1524.0, y_mm: 635.0 + 1524.0, angle_deg: 0.0 };
    let asked = PlaceOptions { turn: Turn::At(at), ..PlaceOptions::default() };
    let found = place(&room, [2540.0, 1270.0], &asked).unwrap();
    assert!(found.fits && found.short.is_empty() && found.free_share == 1.0);
    assert_eq!(found.least_mm, 1524.0);
    let narrow = PlaceOptions { clear_mm: 1524.01, ..asked };
    assert!(!place(&room, [2540.0, 1270.0], &narrow).unwrap().fits);
}

/// 1000 mm at one long side where 1500 are asked: the whole side is short by 500, and of either end
/// what lies within 1500 of that wall.
#[test]
fn short_parts_of_the_edge_have_closed_forms() {
    let room = [[0.0, 0.0], [8000.0, 0.0], [8000.0, 6000.0], [0.0, 6000.0]];
    let at = Position { x_mm: 4000.0, y_mm: 1000.0 + 600.0, angle_deg: 0.0 };
    let asked = PlaceOptions {
        clear_mm: 1500.0,
        stroke_mm: 100.0,
        turn: Turn::At(at),
        ..PlaceOptions::default()
    };
    let found = place(&room, [2400.0, 1200.0], &asked).unwrap();
    assert!(!found.fits && found.tightest == 0 && found.bound_mm.is_nan());
    assert_relative_eq!(found.slack_mm, -500.0, epsilon = 1e-9);
    let parts: Vec<(usize, f64, f64, f64, usize)> = found
        .short
        .iter()
        .map(|it| (it.side, it.from_mm.round(), it.to_mm.round(), it.by_mm.round(), it.of))
        .collect();
    assert_eq!(
        parts,
        [(0, 0.0, 2400.0, 500.0, 0), (1, 0.0, 500.0, 500.0, 0), (3, 700.0, 1200.0, 500.0, 0)]
    );
    assert_relative_eq!(found.short[0].cue_mm, 900.0, epsilon = 1e-9);
    assert_relative_eq!(found.free_share, 1.0 - 3400.0 / 7200.0, epsilon = 1e-9);
    let sides: Vec<(f64, usize)> = found.sides.iter().map(|it| (it.clearance_mm, it.of)).collect();
    assert_eq!(sides, [(1000.0, 0), (2800.0, 1), (3800.0, 2), (2800.0, 3)]);
}

/// A post beside a corner: the distance is round, and the parts end where a circle cuts the edge.
#[test]
fn a_post_shortens_what_a_circle_about_it_cuts() {
    let room = [[0.0, 0.0], [12000.0, 0.0], [12000.0, 12000.0], [0.0, 12000.0]];
    let post = vec![[6000.0, 7600.0], [6000.1, 7600.0], [6000.05, 7600.1]];
    let at = Position { x_mm: 6000.0, y_mm: 6000.0, angle_deg: 0.0 };
    let asked = PlaceOptions { stroke_mm: 0.0, ..options(1200.0, &[post], Turn::At(at)) };
    let found = place(&room, [2400.0, 1200.0], &asked).unwrap();
    assert_relative_eq!(found.least_mm, 1000.0, epsilon = 1e-9);
    assert_eq!(found.tightest, 4);
    let part = found.short[0];
    let half = (1200.0_f64.powi(2) - 1000.0_f64.powi(2)).sqrt();
    assert!(found.short.len() == 1 && part.side == 2);
    assert_relative_eq!(part.to_mm - part.from_mm, 2.0 * half, epsilon = 0.2);
    assert_relative_eq!(part.from_mm, 1200.0 - half, epsilon = 0.2);
}

fn l_room() -> Vec<Spot> {
    vec![
        [0.0, 0.0],
        [8000.0, 0.0],
        [8000.0, 3600.0],
        [4200.0, 3600.0],
        [4200.0, 7000.0],
        [0.0, 7000.0],
    ]
}

fn odd_room() -> Vec<Spot> {
    vec![[0.0, 0.0], [6200.0, 400.0], [7400.0, 3000.0], [5200.0, 5600.0], [1400.0, 5200.0]]
}

/// The best on a grid and of random positions is never better than the bound, and nearly as good.
fn against_search(
    room: &[Spot],
    obstacles: &[Vec<Spot>],
    angles: &[f64],
    found: &TablePlace,
    gap: f64,
) {
    let size = [2340.0, 1170.0];
    let clear = 1524.0;
    let at = [found.position.x_mm, found.position.y_mm];
    let own = clearance(room, obstacles, at, size, found.position.angle_deg).unwrap();
    assert_relative_eq!(own, found.least_mm, epsilon = 1e-6);
    assert!(found.bound_mm - found.slack_mm <= gap, "{} {}", found.bound_mm, found.slack_mm);
    let [low, high] = [f64::min, f64::max]
        .map(|pick| [0, 1].map(|axis| room.iter().map(|it| it[axis]).fold(room[0][axis], pick)));
    let mut best: f64 = 0.0;
    const STEPS: u32 = 90;
    for &angle in angles {
        for i in 0..=STEPS {
            for j in 0..=STEPS {
                let part = |at: u32, axis: usize| {
                    low[axis] + f64::from(at) / f64::from(STEPS) * (high[axis] - low[axis])
                };
                if let Some(least) =
                    clearance(room, obstacles, [part(i, 0), part(j, 1)], size, angle)
                {
                    best = best.max(least);
                }
            }
        }
    }
    assert!(best <= found.bound_mm + clear + 1e-6, "{best} {}", found.bound_mm + clear);
    assert!(best >= found.least_mm - 60.0, "{best} {}", found.least_mm);
}

#[test]
fn a_grid_finds_nothing_better_along_walls() {
    let post = vec![[3000.0, 3000.0], [3300.0, 3000.0], [3300.0, 3300.0], [3000.0, 3300.0]];
    for obstacles in [vec![], vec![post]] {
        let found =
            place(&l_room(), [2340.0, 1170.0], &options(1524.0, &obstacles, Turn::Walls)).unwrap();
        against_search(&l_room(), &obstacles, &[0.0, 90.0], &found, 1e-3);
    }
    let room = odd_room();
    let mut angles = Vec::new();
    for i in 0..room.len() {
        let (a, b) = (room[i], room[(i + 1) % room.len()]);
        let along = (b[1] - a[1]).atan2(b[0] - a[0]).to_degrees();
        angles.extend([along, along + 90.0]);
    }
    let found = place(&room, [2340.0, 1170.0], &options(1524.0, &[], Turn::Walls)).unwrap();
    against_search(&room, &[], &angles, &found, 1e-3);
}

#[test]
fn free_turning_is_never_worse_and_never_beaten() {
    let room = odd_room();
    let walls = place(&room, [2340.0, 1170.0], &options(1524.0, &[], Turn::Walls)).unwrap();
    let free = place(&room, [2340.0, 1170.0], &options(1524.0, &[], Turn::Free)).unwrap();
    assert!(free.least_mm >= walls.least_mm);
    let angles: Vec<f64> = (0..12).map(|it| 15.0 * f64::from(it)).collect();
    against_search(&room, &[], &angles, &free, 1.0);
}

/// In a room that is too short in its width but not across its corners a turned table is better.
#[test]
fn a_square_room_takes_a_table_across_its_corners() {
    let room = [[0.0, 0.0], [4000.0, 0.0], [4000.0, 4000.0], [0.0, 4000.0]];
    let thin = place(&room, [4200.0, 200.0], &options(100.0, &[], Turn::Free)).unwrap();
    assert_relative_eq!(thin.position.angle_deg % 90.0, 45.0, epsilon = 0.5);
    assert!(place(&room, [4200.0, 200.0], &options(100.0, &[], Turn::Walls)).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A room turned and moved takes the table with it, and random positions find nothing better.
    #[test]
    fn a_turned_room_turns_the_table(
        deg in 0.0..180.0f64, dx in -9e3..9e3f64, dy in -9e3..9e3f64,
        tries in prop::collection::vec((0.0..8e3f64, 0.0..7e3f64, 0..2), 300),
    ) {
        let size = [2340.0, 1170.0];
        let post = vec![[1500.0, 5000.0], [1800.0, 5000.0], [1800.0, 5300.0], [1500.0, 5300.0]];
        let found = place(&l_room(), size, &options(1524.0, std::slice::from_ref(&post), Turn::Walls)).unwrap();
        for (x, y, turn) in tries {
            if let Some(least) = clearance(&l_room(), std::slice::from_ref(&post), [x, y], size, 90.0 * f64::from(turn)) {
                prop_assert!(least <= found.bound_mm + 1524.0 + 1e-6);
            }
        }
        let go = |spot: Spot| { let [x, y] = turned(spot, deg); [x + dx, y + dy] };
        let room: Vec<Spot> = l_room().into_iter().map(go).collect();
        let moved: Vec<Spot> = post.into_iter().map(go).collect();
        let again = place(&room, size, &options(1524.0, &[moved], Turn::Walls)).unwrap();
        prop_assert!((again.least_mm - found.least_mm).abs() < 1e-3);
        prop_assert!((again.free_share - found.free_share).abs() < 1e-2);
    }
}

#[test]
fn the_frame_counts_too() {
    let room = [[0.0, 0.0], [6000.0, 0.0], [6000.0, 5000.0], [0.0, 5000.0]];
    let asked = PlaceOptions { frame_mm: Some([2740.0, 1470.0]), ..PlaceOptions::default() };
    let found = place(&room, [2540.0, 1270.0], &asked).unwrap();
    assert_relative_eq!(found.least_mm, 1730.0, epsilon = 1e-2);
    assert_relative_eq!(found.frame_least_mm, 1630.0, epsilon = 1e-2);
    assert!(found.fits);
    let more = PlaceOptions { frame_clear_mm: 1640.0, ..asked };
    assert!(!place(&room, [2540.0, 1270.0], &more).unwrap().fits);
}

/// Where the frame is what is tight, no position of a grid leaves it more.
#[test]
fn the_frame_decides_where_the_table_stands() {
    let (room, surface, frame) = (odd_room(), [900.0, 900.0], [3200.0, 500.0]);
    let asked = PlaceOptions { frame_mm: Some(frame), ..options(600.0, &[], Turn::Fixed(0.0)) };
    let asked = PlaceOptions { frame_clear_mm: 600.0, ..asked };
    let found = place(&room, surface, &asked).unwrap();
    let least = |x: f64, y: f64| {
        let of = |size| clearance(&room, &[], [x, y], size, 0.0);
        Some(of(surface)?.min(of(frame)?) - 600.0)
    };
    let steps = || (0..=90).map(|it| f64::from(it) * 100.0);
    let spots = steps().flat_map(|x| steps().map(move |y| (x, y)));
    let best = spots.filter_map(|(x, y)| least(x, y)).fold(f64::NEG_INFINITY, f64::max);
    assert!(best <= found.slack_mm + 1e-3, "{best} {}", found.slack_mm);
    let own = least(found.position.x_mm, found.position.y_mm).unwrap();
    assert_relative_eq!(own, found.slack_mm, epsilon = 1e-6);
}

#[test]
fn a_door_leaf_sweeps_more_than_its_circle_and_hardly_more() {
    let swing = Obstacle::swing("door", [1000.0, 2000.0], 800.0, 0.0, 90.0);
    for deg in 0..=90 {
        let (s, c) = f64::from(deg).to_radians().sin_cos();
        assert!(
            inside(&swing.corners, [1000.0 + 799.9 * c + 1e-7, 2000.0 + 799.9 * s + 1e-7]),
            "{deg}"
        );
        assert!(!inside(&swing.corners, [1000.0 + 808.0 * c, 2000.0 + 808.0 * s]), "{deg}");
    }
}

#[test]
fn bad_rooms_say_what_is_wrong() {
    let text = |room: &[Spot], size, options: &PlaceOptions| {
        place(room, size, options).unwrap_err().to_string()
    };
    let plain = PlaceOptions::default();
    let bow = [[0.0, 0.0], [5000.0, 4000.0], [5000.0, 0.0], [0.0, 4000.0]];
    assert_eq!(
        text(&bow, [2540.0, 1270.0], &plain),
        "room[0] to room[1]: got a side that meets that from room[2] to room[3], expected sides that do not cross or touch"
    );
    let small = [[0.0, 0.0], [2000.0, 0.0], [2000.0, 2000.0], [0.0, 2000.0]];
    assert_eq!(
        text(&small, [2540.0, 1270.0], &plain),
        "room: got 2000 × 2000 mm, 0 obstacles, expected room for a table of 2540 × 1270 mm in a direction that is allowed"
    );
    assert!(
        text(&small, [2540.0, 1270.0], &PlaceOptions { turn: Turn::Free, ..plain.clone() })
            .starts_with("room: got 2000")
    );
    assert_eq!(
        text(&small[..2], [2540.0, 1270.0], &plain),
        "room: got 2 corners, expected 3 to 500 corners, in order"
    );
    let room = [[0.0, 0.0], [6000.0, 0.0], [6000.0, 5000.0], [0.0, 5000.0]];
    let outside = options(
        f64::NAN,
        &[vec![[9000.0, 0.0], [9100.0, 0.0], [9100.0, 100.0]]],
        Turn::At(Position { x_mm: -1.0, y_mm: 0.0, angle_deg: f64::NAN }),
    );
    assert_eq!(
        text(&room, [2540.0, 0.0], &outside),
        "surface[1]: got 0 mm, expected from 1 to 1000000 mm\n\
         clear: got NaN mm, expected from 0 to 1000000 mm\n\
         obstacles[0]: got \"thing 0\" outside the room, expected a thing that stands in the room\n\
         at.angle: got NaN°, expected from -360 to 360°\n\
         at: got x = -1 mm, y = 0 mm, expected a place within the room"
    );
    let hostile = [[0.0, 0.0], [f64::INFINITY, 0.0], [6000.0, f64::NAN], [0.0, 0.0]];
    assert_eq!(place(&hostile, [2540.0, 1270.0], &plain).unwrap_err().problems().len(), 2);
}
