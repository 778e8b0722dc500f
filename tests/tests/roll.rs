//! Rolling balls, against closed forms.

use approx::assert_relative_eq;
use truebed::{
    BedSurface, Job, Length, Play, ProblemKind, drift_mm, dying_speed, rolling_acceleration,
};

const L: f64 = 2540.0;
const W: f64 = 1270.0;

/// A grid of 5 × 3 points on a plane.
fn sloping(along: f64, across: f64) -> BedSurface {
    let xy: Vec<[f64; 2]> =
        (0..15).map(|at| [L / 4.0 * f64::from(at / 3), W / 2.0 * f64::from(at % 3)]).collect();
    let z: Vec<f64> = xy.iter().map(|[x, y]| 7.0 + along * x + across * y).collect();
    BedSurface::new(&xy, &z).unwrap()
}

/// a = (5/7) g sin θ; θ = 30° with g = 9.8 gives 3.5 m/s² in many texts; the others are computed with
/// g = 9.80665.
#[test]
fn a_sphere_on_an_incline() {
    let thirty = 30.0_f64.to_radians().tan();
    assert_relative_eq!(rolling_acceleration(thirty) * 9.8 / 9.80665, 3.5, max_relative = 1e-12);
    for (slope, a) in
        [(1e-4, 7.00475e-4), (2e-4, 1.40095e-3), (5e-4, 3.50237e-3), (1e-3, 7.00475e-3)]
    {
        assert_relative_eq!(rolling_acceleration(slope), a, max_relative = 2e-6);
    }
    // A cross slope of 0.2 mm/m over 2.54 m at 0.5 m/s.
    assert_relative_eq!(drift_mm(2e-4, L, 0.5), 18.08, max_relative = 3e-4);
}

#[test]
fn without_resistance_a_ball_flies_a_parabola() {
    let bed = sloping(0.0, 2e-4);
    let roll = bed.roll([0.0, W / 2.0], [0.5, 0.0], 0.0).unwrap();
    assert_relative_eq!(roll.end_mm[0], L, max_relative = 1e-9);
    assert_relative_eq!(roll.drift_mm, -drift_mm(2e-4, L, 0.5), max_relative = 1e-6);
    assert_relative_eq!(roll.time_s, L / 500.0, max_relative = 1e-6);
    // Up a slope: v² = v₀² − 2 a s.
    let bed = sloping(5e-4, 0.0);
    let roll = bed.roll([0.0, W / 2.0], [0.5, 0.0], 0.0).unwrap();
    let v = (0.25 - 2.0 * rolling_acceleration(5e-4) * L / 1e3).sqrt();
    assert_relative_eq!(roll.speed, v, max_relative = 1e-6);
    assert!(roll.drift_mm.abs() < 1e-6);
}

#[test]
fn on_a_level_bed_a_ball_dies_where_it_should() {
    let bed = sloping(0.0, 0.0);
    for resistance in [0.005, 0.01, 0.015] {
        let way = 2000.0;
        let roll = bed.roll([100.0, 600.0], [dying_speed(way, resistance), 0.0], resistance);
        let roll = roll.unwrap();
        assert_relative_eq!(roll.along_mm, way, max_relative = 1e-5);
        assert_eq!(roll.speed, 0.0);
        // v = µ g t.
        let time = dying_speed(way, resistance) / (resistance * 9.80665);
        assert_relative_eq!(roll.time_s, time, max_relative = 1e-3);
    }
}

/// A dying ball on a cross slope s: it slows by µ g along its way, and across it
/// dv/dt = −g ((5/7) s + µ v/u), so that it drifts by (5/7) L s/(2 µ) over its way L, as long as it goes
/// much faster along than across.
#[test]
fn a_dying_ball_turns_down_the_slope() {
    for (slope, resistance) in [(1e-4, 0.01), (5e-4, 0.01), (2e-4, 0.005)] {
        let bed = sloping(0.0, slope);
        let speed = dying_speed(2000.0, resistance);
        let roll = bed.roll([100.0, 600.0], [speed, 0.0], resistance).unwrap();
        assert_relative_eq!(
            roll.drift_mm,
            -2000.0 * slope / (2.8 * resistance),
            max_relative = 2e-2
        );
    }
}

/// Along the line of fall resistance and slope add up: s = v² / (2 g (µ + (5/7) sin θ)), with a
/// sine that is the slope.
#[test]
fn uphill_a_ball_stops_short_and_downhill_it_leaves() {
    let bed = sloping(1e-3, 0.0);
    let play = bed.roll_balls(0.01).unwrap();
    let [up, down] = play.along;
    assert_relative_eq!(up.along_mm, L * 0.014 / 0.015, max_relative = 1e-4);
    assert!(down.speed > 0.0 && (down.along_mm - L).abs() < 1e-6);
    let v = dying_speed(L, 0.01);
    let left = (v * v / 14.0).sqrt();
    assert_relative_eq!(down.speed, left, max_relative = 1e-3);
    // Both balls across drift down the slope, one to its left and one to its right.
    let [there, back] = play.across;
    assert!(there.drift_mm > 0.0 && back.drift_mm < 0.0);
    assert_relative_eq!(there.drift_mm, -back.drift_mm, max_relative = 1e-9);
    assert_relative_eq!(play.steepest, 1e-3, max_relative = 1e-9);
}

/// No tilt of 1 or 2 mm/m starts a ball where the resistance is 0.005 or more: it only turns one that
/// rolls.
#[test]
fn a_ball_at_rest_stays() {
    for slope in [1e-3, 2e-3, 6.99e-3] {
        assert!(sloping(slope, 0.0).roll_balls(0.005).unwrap().stays);
    }
    assert!(!sloping(7.01e-3, 0.0).roll_balls(0.005).unwrap().stays);
    // One that is hardly moved stops at once, and one on a steep bed rolls off.
    let roll = sloping(2e-3, 0.0).roll([L / 2.0, W / 2.0], [1e-4, 0.0], 0.005).unwrap();
    assert!(roll.along_mm.abs() < 0.01 && roll.speed == 0.0);
    let roll = sloping(-2e-2, 0.0).roll([L / 2.0, W / 2.0], [-1e-4, 0.0], 0.005).unwrap();
    assert!(roll.speed > 0.4 && (roll.end_mm[0] - L).abs() < 1e-6);
}

/// The surface goes through its points, and its slope is that of its heights.
#[test]
fn the_surface_is_that_of_the_points() {
    let xy: Vec<[f64; 2]> =
        (0..15).map(|at| [L / 4.0 * f64::from(at / 3), W / 2.0 * f64::from(at % 3)]).collect();
    let z: Vec<f64> = (0..15).map(|at| 0.05 * f64::from((at * 7) % 5)).collect();
    let bed = BedSurface::new(&xy, &z).unwrap();
    for (at, z) in xy.iter().zip(&z) {
        assert!((bed.height_mm(*at) - z).abs() < 1e-9);
    }
    for at in [[300.0, 200.0], [1300.0, 700.0], [2500.0, 1200.0]] {
        let by = |x: f64, y: f64| bed.height_mm([at[0] + x, at[1] + y]);
        let [x, y] = bed.slope(at);
        assert!((x - (by(0.5, 0.0) - by(-0.5, 0.0))).abs() < 1e-9);
        assert!((y - (by(0.0, 0.5) - by(0.0, -0.5))).abs() < 1e-9);
    }
    // Two sides of a joint at one place count with their mean.
    let mut both = (xy.clone(), z.clone());
    both.0.push(xy[4]);
    both.1.push(z[4] + 0.02);
    let bed = BedSurface::new(&both.0, &both.1).unwrap();
    assert!((bed.height_mm(xy[4]) - z[4] - 0.01).abs() < 1e-9);
}

/// A job of a bed that slopes by 0.2 mm/m across, and with the heights and the ball that `change`
/// makes of it.
fn job(change: impl Fn(&mut Job)) -> Job {
    let mut job = Job::from_json(include_str!("../vectors/good/play.job.json")).unwrap();
    change(&mut job);
    job
}

fn played(job: &Job) -> Play {
    job.clone().run().unwrap().outcome.unwrap().slates.unwrap().ball.unwrap()
}

/// A dying ball takes twice as long over its way as one that keeps its speed, and would drift four
/// times as far, were it not that the resistance, which turns against the drift too, leaves half of
/// it (see `a_dying_ball_turns_down_the_slope`): twice (5/14) g s (L/v)².
#[test]
fn a_job_tells_the_drift_of_its_slope() {
    let play = played(&job(|_| {}));
    let v = dying_speed(L, 0.01);
    let kept = 5.0 / 14.0 * 9.80665 * 2e-4 * (L / 1e3 / v).powi(2) * 1e3;
    assert_relative_eq!(drift_mm(2e-4, L, v), kept, max_relative = 1e-6);
    let [up, down] = play.along;
    // Both to lesser y: one to its right, one to its left.
    assert_relative_eq!(up.drift_mm, -2.0 * kept, max_relative = 2e-2);
    assert_relative_eq!(down.drift_mm, 2.0 * kept, max_relative = 2e-2);
    for roll in play.across {
        assert!(roll.drift_mm.abs() < 1e-6, "{roll:?}");
    }
    // Up the slope a ball stops short.
    assert_relative_eq!(play.across[0].along_mm, W * 0.014 / 0.0142, max_relative = 1e-4);
    assert_relative_eq!(play.steepest, 2e-4, max_relative = 1e-9);
    assert!(play.stays);
    let sheet = job(|_| {}).sheet().unwrap();
    let words = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("drifts aside by at most 18 mm (0.71 in) along"), "{sheet}");
}

#[test]
fn on_a_flat_bed_a_job_tells_no_drift() {
    let flat = job(|job| {
        let text = serde_json::to_string(&job.readings).unwrap();
        let text = text.replace("0.127 mm", "0 mm").replace("0.254 mm", "0 mm");
        job.readings = serde_json::from_str(&text).unwrap();
    });
    let play = played(&flat);
    for (roll, length) in play.along.iter().zip([L; 2]).chain(play.across.iter().zip([W; 2])) {
        assert_eq!((roll.drift_mm, roll.speed), (0.0, 0.0));
        assert_relative_eq!(roll.along_mm, length, max_relative = 1e-5);
    }
    assert_eq!((play.steepest, play.stays), (0.0, true));
    assert!(flat.sheet().unwrap().contains("A ball at rest stays where it is."));
}

/// A slope of 0.2 mm/m holds a ball at a resistance above 5/7 of 0.0002.
#[test]
fn a_job_tells_whether_a_ball_stays() {
    let with = |resistance| {
        job(|job| job.slates.as_mut().unwrap().ball.as_mut().unwrap().resistance = resistance)
    };
    assert!(played(&with(1.43e-4)).stays);
    assert!(!played(&with(1.42e-4)).stays);
    assert!(with(1.42e-4).sheet().unwrap().contains("A BALL AT REST MAY ROLL OFF"));
    // However little there is of it, the outcome can be read again.
    for resistance in [f64::MIN_POSITIVE, 1e-12, 1.0] {
        let done = with(resistance).run().unwrap();
        assert_eq!(Job::from_json(&done.to_json()).unwrap(), done);
    }
    assert!(with(5e-324).run().is_err());
}

/// A surface is solved for at most 500 points; a stage of more says so before anything is planned.
#[test]
fn a_bed_of_too_many_points_is_told() {
    let large = job(|job| {
        let (point, reading) =
            (job.points[0].clone(), serde_json::to_string(&job.readings[0]).unwrap());
        for at in 0..486 {
            let id = format!("more {at}");
            let text = reading.replace(&point.id, &id);
            job.readings.push(serde_json::from_str(&text).unwrap());
            let x = Length::from_nm(i64::from(at) * 1_000_000 + 500_000);
            job.points.push(truebed::Point { id, x, ..point.clone() });
        }
    });
    let error = large.run().unwrap_err();
    let told: Vec<_> = error.problems().iter().map(|it| (it.kind, it.field.as_str())).collect();
    assert_eq!(told, [(ProblemKind::Shape, "slates.ball")]);
}

#[test]
fn bad_input_is_told() {
    let bed = sloping(0.0, 0.0);
    let told = |start, velocity, resistance: f64| {
        bed.roll(start, velocity, resistance).unwrap_err().to_string()
    };
    assert!(told([-1.0, 0.0], [0.5, 0.0], 0.01).contains("start"));
    assert!(told([f64::NAN, 0.0], [0.5, 0.0], 0.01).contains("start"));
    assert!(told([0.0, 0.0], [0.0, 0.0], 0.01).contains("velocity"));
    assert!(told([0.0, 0.0], [f64::INFINITY, 0.0], 0.01).contains("velocity"));
    assert!(told([0.0, 0.0], [0.5, 0.0], -0.01).contains("resistance"));
    assert!(told([0.0, 0.0], [0.5, 0.0], f64::NAN).contains("resistance"));
    assert!(bed.roll_balls(0.0).is_err() && bed.roll_balls(5e-324).is_err());
    assert!(BedSurface::new(&[[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]], &[0.0; 3]).is_err());
    assert!(BedSurface::new(&vec![[0.0; 2]; 501], &vec![0.0; 501]).is_err());
}
