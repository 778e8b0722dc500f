//! Surveys by chance: what is claimed of them holds at the rate at which it is claimed; and bad
//! input.

use proptest::prelude::*;
use truebed::{
    Divisions, Fixed, Heights, Instrument, Level, Mm, ProblemKind, Reading, Slope, Survey, adjust,
    readings_from_csv,
};
use truebed_tests::random::Random;

/// Normally distributed with σ = 1 (Box & Muller 1958).
fn normal(random: &mut Random) -> f64 {
    let mut uniform = || (random.bits() >> 11) as f64 / (1_u64 << 53) as f64;
    let (radius, angle) = ((-2.0 * (1.0 - uniform()).ln()).sqrt(), uniform());
    radius * (std::f64::consts::TAU * angle).cos()
}

const POINTS: usize = 8;
/// What the zero error of a level is known to beforehand: half a division.
const ZERO_SIGMA: f64 = 0.05;

fn id(at: usize) -> String {
    format!("P{at}")
}

/// A survey of every kind of reading with the true heights `truth` and the true zero error of its level,
/// each reading off by a normal error of its σ.
fn survey(truth: &[f64], zero: f64, random: &mut Random) -> Survey {
    let mut readings = Vec::new();
    for (setup, height) in [("S1", 1500.0), ("S2", 1400.0)] {
        for (at, truth) in truth.iter().enumerate() {
            let value = height - truth + 0.3 * normal(random);
            readings.push(Reading::from_setup(setup, Instrument::Staff, id(at), value, Some(0.3)));
        }
    }
    for (at, ends) in truth.windows(2).enumerate() {
        let value = ends[1] - ends[0] + 0.2 * normal(random);
        readings.push(Reading::rise(id(at), id(at + 1), value, Some(0.2)));
    }
    for (at, turned) in [(0, false), (3, false), (3, true), (5, true)] {
        let way = if turned { -1.0 } else { 1.0 };
        let (sensitivity, span) = (Slope::from_mm_per_m(0.1), 600.0);
        let slope = (truth[at + 1] - truth[at]) / span * 1e3 + way * zero;
        let step = |random: &mut Random| slope / 0.1 + 0.2 * normal(random);
        readings.push(Reading::Bubble {
            a: id(at),
            b: id(at + 1),
            divisions: Divisions::Steps((0..3).map(|_| step(random)).collect()),
            sensitivity,
            base: None,
            span: Some(Mm(span)),
            level: "level".into(),
            turned,
            sigma: Some(0.2),
            note: None,
        });
    }
    let value = 0.5 * (truth[0] + truth[2]) - truth[1] + 0.05 * normal(random);
    readings.push(Reading::Gap {
        point: id(1),
        a: id(0),
        b: id(2),
        value: Mm(value),
        at: Some(0.5),
        sigma: Some(Mm(0.05)),
        note: None,
    });
    let mut survey = Survey::new(readings);
    let height = Mm(truth[0] + 0.1 * normal(random));
    survey.settings.fixed = vec![Fixed { point: id(0), height, sigma: Some(Mm(0.1)) }];
    survey
}

fn add(reading: &mut Reading, mm: f64) {
    match reading {
        Reading::Height { value, .. }
        | Reading::Rise { value, .. }
        | Reading::Gap { value, .. } => {
            value.0 += mm;
        }
        Reading::Bubble { divisions, .. } => {
            let all = divisions.steps().iter().map(|step| step + mm / 0.06).collect();
            *divisions = Divisions::Steps(all);
        }
        _ => unreachable!(),
    }
}

/// Rates over 4000 surveys lie within four standard deviations of what is claimed.
#[test]
fn claims_hold_at_the_claimed_rate() {
    const TRIALS: usize = 4000;
    let mut random = Random(4);
    let truth: Vec<f64> = (0..POINTS).map(|_| 3.0 * normal(&mut random)).collect();
    let (mut covered, mut failed, mut suspected, mut zero_covered) = ([0; POINTS], 0, 0, 0);
    let (mut squares, mut readings) = (0.0, 0);
    let mut caught = vec![0; survey(&truth, 0.0, &mut random).readings.len()];
    for _ in 0..TRIALS {
        let true_zero = ZERO_SIGMA * normal(&mut random);
        let survey = survey(&truth, true_zero, &mut random);
        let heights = adjust(&survey).unwrap();
        for (at, covered) in covered.iter_mut().enumerate() {
            *covered +=
                usize::from((heights.mm[at] - truth[at]).abs() < 1.959964 * heights.sigma_mm[at]);
        }
        let zero = &heights.zero_errors[0];
        zero_covered += usize::from((zero.value - true_zero).abs() < 1.959964 * zero.sigma);
        failed += usize::from(heights.p_value < 0.05);
        suspected += heights.suspects.len();
        readings += survey.readings.len();
        squares += heights.variance_factor;
        for (at, caught) in caught.iter_mut().enumerate() {
            // One reading in turn, so that the test stays quick.
            if random.once_in(8) {
                let mut wrong = survey.clone();
                add(&mut wrong.readings[at], heights.detectable_mm[at]);
                let w = adjust(&wrong).unwrap().normalised[at];
                *caught += if w.abs() > heights.critical { 10_001 } else { 10_000 };
            }
        }
    }
    let rate = |found: usize, of: usize, claimed: f64| {
        let spread = (claimed * (1.0 - claimed) / of as f64).sqrt();
        let rate = found as f64 / of as f64;
        assert!((rate - claimed).abs() < 4.0 * spread, "{rate}, not {claimed} ± {spread}");
    };
    covered.iter().for_each(|&covered| rate(covered, TRIALS, 0.95));
    rate(zero_covered, TRIALS, 0.95);
    rate(failed, TRIALS, 0.05);
    rate(suspected, readings, 0.001);
    // χ²/dof has the mean 1 and the variance 2/dof.
    let dof = adjust(&survey(&truth, 0.0, &mut random)).unwrap().dof as f64;
    assert!((squares / TRIALS as f64 - 1.0).abs() < 4.0 * (2.0 / dof / TRIALS as f64).sqrt());
    for caught in caught {
        rate(caught % 10_000, caught / 10_000, 0.8);
    }
}

fn finite(heights: &Heights) -> bool {
    let all = [&heights.mm, &heights.sigma_mm, &heights.residuals_mm, &heights.redundancy];
    all.into_iter().flatten().chain(&heights.covariance_mm2()).all(|value| value.is_finite())
}

/// A random network of rises that is in one piece: a tree, and more.
fn network() -> impl Strategy<Value = Vec<(usize, usize, f64, f64)>> {
    let tree =
        proptest::collection::vec((any::<prop::sample::Index>(), -9.0..9.0f64, 0.01..3.0f64), 1..9);
    let more =
        proptest::collection::vec((0usize..10, 0usize..10, -9.0..9.0f64, 0.01..3.0f64), 0..12);
    (tree, more).prop_map(|(tree, more)| {
        let count = tree.len() + 1;
        let tree = tree.into_iter().enumerate();
        let mut rises: Vec<_> =
            tree.map(|(at, (from, mm, sigma))| (from.index(at + 1), at + 1, mm, sigma)).collect();
        rises.extend(more.into_iter().filter_map(|(a, b, mm, sigma)| {
            let (a, b) = (a % count, b % count);
            (a != b).then_some((a, b, mm, sigma))
        }));
        rises
    })
}

fn of(rises: &[(usize, usize, f64, f64)]) -> Survey {
    Survey::new(
        rises
            .iter()
            .map(|&(a, b, mm, sigma)| Reading::rise(id(a), id(b), mm, Some(sigma)))
            .collect(),
    )
}

proptest! {
    /// The normal equations hold, redundancies add up, covariance and σ agree, a free network
    /// has the residuals of a held one, and loops close by what their readings say.
    #[test]
    fn what_must_hold_of_any_network(rises in network()) {
        let survey = of(&rises);
        let heights = adjust(&survey).unwrap();
        prop_assert!(finite(&heights));
        let mut gradient = vec![0.0; heights.ids.len()];
        let at = |point: usize| heights.ids.position(&id(point)).unwrap();
        for (&(a, b, mm, sigma), residual) in rises.iter().zip(&heights.residuals_mm) {
            prop_assert!((heights.mm[at(b)] - heights.mm[at(a)] - mm - residual).abs() < 1e-9);
            gradient[at(b)] += residual / sigma.powi(2);
            gradient[at(a)] -= residual / sigma.powi(2);
        }
        prop_assert!(gradient.iter().all(|slope| slope.abs() < 1e-6), "{:?}", gradient);
        prop_assert!((heights.redundancy.iter().sum::<f64>() - heights.dof as f64).abs() < 1e-8);
        prop_assert!(heights.mm.iter().sum::<f64>().abs() < 1e-8);
        let count = heights.ids.len();
        let covariance = heights.covariance_mm2();
        for at in 0..count {
            prop_assert!((covariance[at * count + at].sqrt() - heights.sigma_mm[at]).abs() < 1e-8);
        }
        let mut held = survey.clone();
        held.settings.fixed = vec![Fixed { point: id(0), height: Mm(100.0), sigma: None }];
        let held = adjust(&held).unwrap();
        for at in 0..rises.len() {
            prop_assert!((held.residuals_mm[at] - heights.residuals_mm[at]).abs() < 1e-9);
            prop_assert!((held.redundancy[at] - heights.redundancy[at]).abs() < 1e-9);
        }
        let closures = heights.closures();
        prop_assert_eq!(closures.len(), heights.dof);
        for closure in closures {
            // From wherever it starts, a loop of rises ends there, and adds up to what it says.
            let (mut here, mut sum) = (rises[closure.readings[0]].0, 0.0);
            let start = here;
            for &reading in &closure.readings {
                let (a, b, mm, _) = rises[reading];
                prop_assert!(here == a || here == b);
                sum += if here == a { mm } else { -mm };
                here = if here == a { b } else { a };
            }
            prop_assert_eq!(here, start);
            prop_assert!((sum - closure.mm).abs() < 1e-9);
        }
    }

    /// Leaving a reading out is adjusting without it.
    #[test]
    fn left_out_is_not_there(rises in network(), pick in any::<prop::sample::Index>()) {
        let out = pick.index(rises.len());
        let mut fewer = rises.clone();
        fewer.remove(out);
        let left_out = adjust(&of(&rises).without(out));
        match adjust(&of(&fewer)) {
            Ok(fewer) if fewer.ids.len() == left_out.as_ref().map_or(0, |it| it.ids.len()) => {
                let left_out = left_out.unwrap();
                prop_assert_eq!(left_out.dof, fewer.dof);
                for (id, mm) in fewer.ids.iter().zip(&fewer.mm) {
                    let at = left_out.ids.position(id).unwrap();
                    prop_assert!((left_out.mm[at] - mm).abs() < 1e-9);
                }
            }
            // The reading was the only one of a point.
            _ => prop_assert!(left_out.is_err()),
        }
    }

    /// No number that a reading may hold makes a panic or a height that is none.
    #[test]
    fn any_numbers_are_adjusted_or_refused(
        numbers in proptest::collection::vec(
            prop_oneof![Just(0.0), Just(f64::NAN), Just(f64::INFINITY), Just(-1.0), Just(1e300),
                Just(1e-300), Just(1e9), Just(1e-9), 0.01..10.0f64, any::<f64>()], 14),
        turned in any::<bool>(),
    ) {
        let n = &numbers;
        let slope = Slope::from_mm_per_m;
        let mut survey = Survey::new(vec![
            Reading::height("A", n[0], Some(n[1])),
            Reading::from_setup("S", Instrument::Laser, "A", n[2], None),
            Reading::from_setup("S", Instrument::Laser, "B", 5.0, Some(n[3])),
            Reading::Bubble { a: "B".into(), b: "C".into(), divisions: Divisions::Steps(vec![n[4], 1.0]),
                sensitivity: slope(n[5]), base: Some(Mm(n[6])), span: None, level: "l".into(),
                turned, sigma: Some(n[7]), note: None },
            Reading::Slope { a: "C".into(), b: "A".into(), value: slope(n[8]), span: Some(Mm(n[9])),
                level: "l".into(), turned, sigma: Some(slope(n[10])), note: None },
            Reading::Gap { point: "B".into(), a: "A".into(), b: "C".into(), value: Mm(0.1),
                at: Some(n[11]), sigma: None, note: None },
            Reading::LegGap { point: "C".into(), value: Mm(n[12]), sigma: None, note: None },
        ]);
        survey.settings.levels = vec![Level { name: "l".into(), zero_sigma: slope(n[13]) }];
        if let Ok(heights) = adjust(&survey) {
            prop_assert!(finite(&heights), "{:?}", heights);
        }
    }

    #[test]
    fn any_table_is_read_or_refused(text in "(kind|rise|height|bubble|a|b|value|,|\n|\"|#|1 mm|;|.){0,40}") {
        let _ = readings_from_csv(&text);
    }
}

fn refused(survey: &Survey) -> Vec<(ProblemKind, String)> {
    let error = adjust(survey).unwrap_err();
    error.problems().iter().map(|it| (it.kind, it.field.clone())).collect()
}

#[test]
fn every_bad_reading_is_told_at_once() {
    use ProblemKind::{Duplicate, Shape, Unknown, Value};
    let mut survey = Survey::new(vec![
        Reading::rise("A", "B", f64::NAN, Some(0.1)),
        Reading::rise("A", "B", 1.0, Some(0.0)),
        Reading::rise("A", "B", 1.0, Some(-0.1)),
        Reading::rise("A", "A", 1.0, Some(0.1)),
        Reading::height("A", f64::INFINITY, None),
        Reading::height("B", 1.0, None),
        Reading::height("B", 2.0, None),
    ]);
    survey.settings.fixed = vec![
        Fixed { point: "C".into(), height: Mm(0.0), sigma: None },
        Fixed { point: "B".into(), height: Mm(3.0), sigma: None },
        Fixed { point: "B".into(), height: Mm(3.0), sigma: None },
    ];
    survey.settings.without = vec![9];
    survey.settings.alpha = 1.0;
    let expected = [
        (Value, "alpha"),
        (Unknown, "without[0]"),
        (Value, "readings[0].value"),
        (Value, "readings[1].sigma"),
        (Value, "readings[2].sigma"),
        (Value, "readings[3].b"),
        (Value, "readings[4].value"),
        (Value, "readings[6]"),
        (Unknown, "fixed[0].point"),
        (Value, "fixed[1].height"),
        (Duplicate, "fixed[2].point"),
    ];
    assert_eq!(refused(&survey), expected.map(|(kind, field)| (kind, field.to_owned())));
    assert_eq!(refused(&Survey::default()), [(Shape, "readings".to_owned())]);
    let lone = Reading::Slope {
        a: "A".into(),
        b: "B".into(),
        value: Slope::from_mm_per_m(1.0),
        span: None,
        level: "l".into(),
        turned: false,
        sigma: None,
        note: None,
    };
    assert_eq!(refused(&Survey::new(vec![lone])), [(Value, "readings[0].span".to_owned())]);
}

#[test]
fn ten_thousand_identical_readings() {
    let survey = Survey::new(vec![Reading::rise("A", "B", 1.0, Some(0.1)); 10_000]);
    let heights = adjust(&survey).unwrap();
    assert_eq!(heights.dof, 9_999);
    assert!((heights.mm[1] - heights.mm[0] - 1.0).abs() < 1e-12);
    let covariance = heights.covariance_mm2();
    let variance = covariance[0] + covariance[3] - 2.0 * covariance[1];
    assert!((variance / (0.01 / 10_000.0) - 1.0).abs() < 1e-9);
    assert!(heights.suspects.is_empty() && heights.p_value > 0.99);
}

/// A loop with one reading of 10⁹ times the weight: by hand, it keeps what it says to a part in
/// 10⁹ of the misclosure, and the three others share the rest.
#[test]
fn one_reading_of_enormous_weight() {
    for (ratio, good) in [(1e9_f64, true), (1e11, true), (1e15, false)] {
        let sigma = |by: f64| Some(by);
        let survey = Survey::new(vec![
            Reading::rise("A", "B", 1.0, sigma(0.1)),
            Reading::rise("B", "C", 1.0, sigma(0.1 / ratio.sqrt())),
            Reading::rise("C", "D", 1.0, sigma(0.1)),
            Reading::rise("D", "A", -2.7, sigma(0.1)),
        ]);
        match adjust(&survey) {
            Ok(heights) => {
                assert!(good);
                let share = -0.3 / (3.0 + 1.0 / ratio);
                for at in [0, 2, 3] {
                    let residual = heights.residuals_mm[at];
                    assert!((residual - share).abs() < 1e-9, "{residual}");
                }
                assert!((heights.residuals_mm[1] - share / ratio).abs() < 1e-12);
                assert!(heights.condition > ratio / 10.0, "{}", heights.condition);
                let redundancy: f64 = heights.redundancy.iter().sum();
                assert!((redundancy - 1.0).abs() < 1e-5, "{redundancy}");
            }
            Err(error) => {
                assert!(!good);
                assert!(error.to_string().contains("uncertainties from"), "{error}");
            }
        }
    }
}

/// A survey of a hall: what takes time is linear, and nothing overflows a stack.
#[test]
fn long_chains() {
    let count = 20_000;
    let mut readings: Vec<_> =
        (0..count).map(|at| Reading::rise(id(at), id(at + 1), 0.5, Some(0.1))).collect();
    readings.push(Reading::rise(id(0), id(count), 0.5 * count as f64, Some(1.0)));
    let heights = adjust(&Survey::new(readings)).unwrap();
    assert_eq!(heights.dof, 1);
    assert!((heights.mm[count] - heights.mm[0] - 10_000.0).abs() < 1e-6);
    assert_eq!(heights.closures()[0].readings.len(), count + 1);
}
