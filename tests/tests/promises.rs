//! What a verdict promises, from the readings to the claim.

use truebed::{
    Beforehand, Claim, Conformity, DecisionRule, Evidence, Instrument, Job, Length, Level,
    LimitKind, Limits, NextStatus, Place, Preset, Reading, Setup, Shim, ShimProblem, Slope,
    Support, Survey, SurveyDoubt, Trust, Uncertainty, Unchecked, VerdictReason, adjust, assess,
    assess_with, check, highest, plan_shims, read_next,
};
use truebed_tests::random::Random;
use truebed_tests::visits::{Promise, visit};

fn mm(mm: f64) -> Length {
    Length::from_mm(mm).unwrap()
}

fn places(xy: &[[f64; 2]]) -> Vec<[Length; 2]> {
    xy.iter().map(|at| at.map(mm)).collect()
}

/// A limit that binds no two points is refused where it was asked for by hand.
#[test]
fn a_limit_that_binds_nothing_is_no_limit() {
    let taped = places(&[[0.0, 0.0], [1200.0, 12.0], [2400.0, 24.0]]);
    let heights = [0.0, 5.0, 9.0].map(mm);
    let along = Limits { along: Some(mm(0.5)), ..Limits::default() };
    // Two of three points within 20 mm are a line, and the third is named.
    let verdict = check(&taped, &heights, &along, &[]).unwrap();
    assert_eq!((verdict.conformity, &verdict.off_lines), (Conformity::NotMet, &[vec![2], vec![]]));
    let narrow = Limits { line_width: mm(10.0), ..along };
    let told = check(&taped, &heights, &narrow, &[]).unwrap_err().to_string();
    assert!(told.starts_with("limits.along: got a limit on lines along, and no two"), "{told}");
    let step = Limits { joint_step: Some(mm(0.01)), ..Limits::default() };
    let told = check(&taped[..2], &heights[..2], &step, &[]).unwrap_err().to_string();
    assert!(told.starts_with("limits.joint_step: got a limit on the step at joints"), "{told}");
}

/// Where a preset asks for it, the verdict is "cannot tell", and says why.
#[test]
fn a_preset_that_binds_nothing_cannot_tell() {
    let xy = places(&[[0.0, 0.0], [1200.0, 0.0], [0.0, 600.0], [1200.0, 600.0]]);
    let preset = Preset::Wpa2001.limits();
    let verdict = check(&xy, &[Length::ZERO; 4], &preset, &[]).unwrap();
    assert_eq!(verdict.conformity, Conformity::CannotTell);
    assert_eq!(verdict.reasons, [VerdictReason::NothingBound { limit: LimitKind::JointStep }]);
    let rule = DecisionRule::default();
    let verdict = assess(&xy, &[Length::ZERO; 4], &[0.0; 16], &preset, &[], rule).unwrap();
    assert_eq!(verdict.conformity, Conformity::CannotTell);
    let verdict = check(&xy, &[Length::ZERO; 4], &preset, &[[0, 1]]).unwrap();
    assert_eq!((verdict.conformity, verdict.reasons.len()), (Conformity::Met, 0));
    // A limit that is violated is violated all the same.
    let verdict = check(&xy, &[0.0, 9.0, 0.0, 0.0].map(mm), &preset, &[]).unwrap();
    assert_eq!(verdict.conformity, Conformity::NotMet);
    // One of one's own is no limit of the preset any more.
    let own = Limits { joint_step: Some(mm(0.1)), ..Limits::default() }.or_preset(Preset::Wpa2001);
    assert!(check(&xy, &[Length::ZERO; 4], &own, &[]).is_err());
}

fn evidence(survey: &Survey) -> (Vec<Length>, Vec<f64>, Evidence) {
    let heights = adjust(survey).unwrap();
    let evidence = Evidence::default().of_survey(&heights);
    (heights.mm.iter().map(|&at| mm(at)).collect(), heights.covariance_mm2(), evidence)
}

/// Rises that contradict each other prove nothing, unless the user says so.
#[test]
fn readings_that_contradict_each_other_cannot_tell() {
    let rises = [("A", "B", 0.0), ("B", "C", 0.1), ("A", "C", 0.0)];
    let readings = rises.map(|(a, b, rise)| Reading::rise(a, b, rise, Some(0.01)));
    let (heights, covariance, mut evidence) = evidence(&Survey::new(readings.to_vec()));
    let (xy, limits) = (vec![[Length::ZERO; 2]; 3], Limits::overall(mm(0.1)));
    let judge = |evidence: &Evidence| {
        assess_with(&xy, &heights, &covariance, &limits, &[], evidence).unwrap()
    };
    let verdict = judge(&evidence);
    assert!(verdict.probability > 0.99 && verdict.conformity == Conformity::CannotTell);
    let [VerdictReason::ReadingsContradict { p_value, level }] = verdict.reasons[..] else {
        panic!("{:?}", verdict.reasons)
    };
    assert!(p_value < 1e-7 && level == 0.05);
    evidence.trust.overrule = true;
    let verdict = judge(&evidence);
    assert_eq!((verdict.conformity, verdict.reasons.len()), (Conformity::Met, 1));
    evidence.trust = Trust { scale: true, ..Trust::default() };
    let verdict = judge(&evidence);
    // One degree of freedom: so large residuals leave hardly anything known.
    assert!(verdict.probability < 0.95 && verdict.reasons.is_empty(), "{verdict:?}");
    evidence.trust.level = 0.0;
    assert!(assess_with(&xy, &heights, &covariance, &limits, &[], &evidence).is_err());
}

/// Nor does a plan made from such heights foresee that limits are met.
#[test]
fn a_plan_of_readings_that_contradict_each_other_foresees_nothing() {
    let rises = [("A", "B", 0.0), ("B", "C", 0.1), ("A", "C", 0.0)];
    let readings = rises.map(|(a, b, rise)| Reading::rise(a, b, rise, Some(0.01)));
    let heights = adjust(&Survey::new(readings.to_vec())).unwrap();
    let support = |(at, &height): (usize, &f64)| Support {
        x: mm(1000.0 * at as f64),
        y: Length::ZERO,
        height: mm(height),
    };
    let supports = heights.mm.iter().enumerate().map(support).collect();
    let stock = vec![Shim::new(mm(0.1), Some(9))];
    let mut problem = ShimProblem::new(supports, stock, Limits::overall(mm(1.0)));
    problem.covariance_mm2 = Some(heights.covariance_mm2());
    let plan = plan_shims(&problem).unwrap();
    let predicted = |problem: &ShimProblem| {
        let verdict = plan.predict(problem, DecisionRule::default()).unwrap();
        assert!(verdict.probability > 0.99);
        verdict.conformity
    };
    assert_eq!(predicted(&problem), Conformity::Met);
    problem.self_check = heights.self_check();
    assert_eq!(predicted(&problem), Conformity::CannotTell);
}

/// What the readings contradict no further reading settles.
#[test]
fn contradictions_are_not_settled() {
    let rises = [("A", "B", 0.0), ("B", "C", 0.1), ("A", "C", 0.0)];
    let readings = rises.map(|(a, b, rise)| Reading::rise(a, b, rise, Some(0.01)));
    let claim = Claim {
        points: ["A", "B", "C"].map(str::to_owned).into(),
        xy: vec![[Length::ZERO; 2]; 3],
        lifts: Vec::new(),
        limits: Limits::overall(mm(0.1)),
        joints: Vec::new(),
        rule: DecisionRule::default(),
    };
    let candidates = [Reading::rise("A", "B", 0.0, Some(0.01))];
    let next = read_next(&Survey::new(readings.to_vec()), &candidates, &claim).unwrap();
    assert_eq!(next.verdict.conformity, Conformity::CannotTell);
    assert_eq!((next.status, next.enough()), (NextStatus::NoneHelps, false));
}

/// Two points, one limit: Student's t in closed form. With ν degrees of freedom and a variance
/// factor of 1 the probability of |t| ≤ 2.7764 is 0.95 for ν = 4 (tables of t).
#[test]
fn a_scaled_covariance_makes_student_s_t() {
    let readings: Vec<Reading> =
        [-1.0, -1.0, 0.0, 1.0, 1.0].map(|off| Reading::rise("A", "B", 0.1 * off, Some(0.1))).into();
    let (heights, covariance, mut evidence) = evidence(&Survey::new(readings));
    let test = evidence.global_test.unwrap();
    assert!((test.variance_factor - 1.0).abs() < 1e-9 && test.dof == 4, "{test:?}");
    evidence.trust.scale = true;
    let width = 2.7764 * 0.1 / 5.0_f64.sqrt();
    let limits = Limits::overall(mm(0.5 * width));
    let verdict =
        assess_with(&[[Length::ZERO; 2]; 2], &heights, &covariance, &limits, &[], &evidence);
    let probability = verdict.unwrap().probability;
    assert!((probability - 0.95).abs() < 0.005, "{probability}");
}

/// Three percent of readings are off by far. Met is then wrong in at most 5 %, and it was in more by
/// the probability alone.
#[test]
fn blunders_do_not_make_beds_good() {
    const EDGES: [(usize, usize); 8] =
        [(0, 1), (1, 2), (3, 4), (4, 5), (0, 3), (1, 4), (2, 5), (0, 4)];
    let (mut now, mut before) = (Promise::default(), Promise::default());
    let mut random = Random(15);
    let limits = Limits::overall(mm(0.2));
    for _ in 0..400 {
        let truth: Vec<f64> = (0..6).map(|_| 0.5 * random.unit()).collect();
        let rise = |&(a, b): &(usize, usize)| {
            let mut value = truth[b] - truth[a] + 0.02 * random.normal();
            if random.unit() < 0.03 {
                value += 0.6 * (random.unit() - 0.5);
            }
            Reading::rise(format!("P{a}"), format!("P{b}"), value, Some(0.02))
        };
        let survey = Survey::new(EDGES.iter().map(rise).collect());
        let heights = adjust(&survey).unwrap();
        let places: Vec<usize> = heights.ids.iter().map(|id| id[1..].parse().unwrap()).collect();
        let true_heights: Vec<f64> = places.iter().map(|&at| truth[at]).collect();
        let is_good = range(&true_heights) <= 0.4;
        let (read, covariance, evidence) = evidence(&survey);
        let verdict =
            assess_with(&[[Length::ZERO; 2]; 6], &read, &covariance, &limits, &[], &evidence);
        let verdict = verdict.unwrap();
        now.count(verdict.conformity, is_good);
        let sure = verdict.probability >= 0.95;
        before.count(if sure { Conformity::Met } else { Conformity::CannotTell }, is_good);
    }
    assert!(before.wrongly_met > now.wrongly_met, "{before:?} {now:?}");
    assert!(now.met > 50 && now.is_kept(), "{now:?}");
}

fn range(heights: &[f64]) -> f64 {
    let high = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    high - heights.iter().copied().fold(f64::INFINITY, f64::min)
}

/// The whole way from the floor to the verdict on the bed: of what is said to be met, and of what is
/// said to be not met, at most 5 % is wrong. The full table is `promises` in `benches/`.
#[test]
fn verdicts_keep_their_promise() {
    let (mut by_probability, mut by_itself, mut with_prediction) =
        (Promise::default(), Promise::default(), Promise::default());
    for points in [4, 6, 8, 12, 18, 24] {
        for (part, visits) in [(0.05, 8), (0.2, 40)] {
            let mut random = Random(points as u64);
            for _ in 0..visits {
                let visit = visit(points, part, &mut random).unwrap();
                by_probability.count(visit.by_probability, visit.is_good);
                by_itself.count(visit.by_itself, visit.is_good);
                with_prediction.count(visit.with_prediction, visit.is_good);
            }
        }
    }
    let Promise { not_met, wrongly_not_met, .. } = by_probability;
    assert!(20 * wrongly_not_met > not_met, "what this test is for: {by_probability:?}");
    for promise in [by_itself, with_prediction] {
        assert!(promise.is_kept() && promise.met >= by_probability.met, "{promise:?}");
    }
    assert!(with_prediction.not_met > 0, "{with_prediction:?}");
}

/// Between equal and independent errors of three points the distribution is that of the studentized
/// range: its 5 % point for three and infinitely many degrees of freedom is 3.314 (tables), so heights
/// 3.314 σ beyond the limit are read with a probability of 5 %.
#[test]
fn the_test_of_not_met_is_tukey_s() {
    let (sigma, width) = (0.1, 0.2);
    let at = |beyond: f64| {
        let heights = [0.0, 0.0, width + beyond * sigma].map(mm);
        let mut covariance = [0.0; 9];
        for own in [0, 4, 8] {
            covariance[own] = sigma * sigma;
        }
        let limits = Limits::overall(mm(0.5 * width));
        let xy = [[Length::ZERO; 2]; 3];
        assess(&xy, &heights, &covariance, &limits, &[], DecisionRule::default()).unwrap()
    };
    assert!((at(3.314).excess_p.unwrap() - 0.05).abs() < 1e-3, "{:?}", at(3.314).excess_p);
    assert_eq!(at(3.0).conformity, Conformity::CannotTell);
    assert_eq!(at(3.6).conformity, Conformity::NotMet);
    assert_eq!(at(3.6).beforehand, Beforehand::Nothing);
}

/// Seven rises, one of them with the wrong sign: no data can say which of three it is.
#[test]
fn readings_that_cannot_be_told_apart_are_one_group() {
    let true_heights =
        [("A1", 0.0), ("A2", 1.1), ("A3", 3.5), ("B1", 0.4), ("B2", 0.9), ("B3", 2.2)];
    let of = |id: &str| true_heights.iter().find(|(name, _)| *name == id).unwrap().1;
    let rises = [
        ("A1", "A2"),
        ("A2", "A3"),
        ("B1", "B2"),
        ("B2", "B3"),
        ("A1", "B1"),
        ("A2", "B2"),
        ("A3", "B3"),
    ];
    let mut readings: Vec<Reading> =
        rises.iter().map(|&(a, b)| Reading::rise(a, b, of(b) - of(a), Some(0.05))).collect();
    readings[1] = Reading::rise("A2", "A3", -2.4, Some(0.05));
    let heights = adjust(&Survey::new(readings.clone())).unwrap();
    let groups = heights.suspect_groups();
    assert_eq!(groups[0].readings, [1, 3, 6]);
    assert!((groups[0].blunder_mm - 4.8).abs() < 0.3, "{groups:?}");
    let separability = heights.separability();
    assert!(separability[1].unwrap().correlation.abs() > 1.0 - 1e-9);
    assert!([3, 6].contains(&separability[1].unwrap().other));
    let middle = separability[5].unwrap();
    assert!(middle.correlation.abs() < 0.9, "{middle:?}");

    // Whichever of them is left out, it is a guess; where the others tell which it is, it is none.
    let judge = |survey: &Survey| {
        let (heights, covariance, evidence) = evidence(survey);
        let limits = Limits::overall(mm(3.0));
        assess_with(&[[Length::ZERO; 2]; 6], &heights, &covariance, &limits, &[], &evidence)
            .unwrap()
    };
    let mut survey = Survey::new(readings);
    for left_out in [1, 3, 6] {
        survey.settings.without = vec![left_out];
        let verdict = judge(&survey);
        assert_eq!(verdict.conformity, Conformity::CannotTell, "{left_out}");
        assert_eq!(verdict.reasons, [VerdictReason::LeftOutByChance {}]);
    }
    for (a, b) in [("A1", "A3"), ("B1", "B3"), ("A1", "B2")] {
        survey.readings.push(Reading::rise(a, b, of(b) - of(a), Some(0.05)));
    }
    survey.settings.without = vec![1];
    let verdict = judge(&survey);
    assert_eq!((verdict.conformity, verdict.reasons.len()), (Conformity::Met, 0));
}

/// A level that was turned is known no worse than beforehand.
#[test]
fn a_turned_level_keeps_what_was_known() {
    let read = |turned, sigma| Reading::Slope {
        a: "A".into(),
        b: "B".into(),
        value: Slope::from_mm_per_m(0.3),
        span: Some(truebed::Mm(1000.0)),
        level: "L".into(),
        turned,
        sigma: Some(Slope::from_mm_per_m(sigma)),
        note: None,
    };
    let zero = |readings: Vec<Reading>| {
        let mut survey = Survey::new(readings);
        let level = Level { name: "L".into(), zero_sigma: Slope::from_mm_per_m(0.022) };
        survey.settings.levels.push(level);
        let heights = adjust(&survey).unwrap();
        (heights.zero_errors[0].sigma, heights.unchecked)
    };
    let (one_way, unchecked) = zero(vec![read(false, 0.01)]);
    assert!((one_way - 0.022).abs() < 1e-12);
    assert_eq!(unchecked, [Unchecked::Level { name: "L".into() }]);
    // A poor reading the other way round says little, and takes nothing away.
    let (poor, _) = zero(vec![read(false, 0.01), read(true, 0.5)]);
    assert!(poor < one_way, "{poor}");
    let (turned, unchecked) = zero(vec![read(false, 0.001), read(true, 0.001)]);
    assert!(turned < 0.001 && unchecked.is_empty());
}

/// A laser's plane leans by what it is stated to: the heights know it, and so do verdicts.
#[test]
fn a_laser_off_level_is_in_the_figures() {
    let xy = [[0.0, 0.0], [2400.0, 0.0], [0.0, 1200.0], [2400.0, 1200.0], [1200.0, 600.0]];
    let limits = Limits::overall(mm(0.6));
    let mut random = Random(6);
    let (mut stated, mut ignored) = (Promise::default(), Promise::default());
    for _ in 0..300 {
        let truth: Vec<f64> = xy.iter().map(|_| 1.6 * random.unit()).collect();
        let lean = [0, 1].map(|_| 0.1e-3 * random.normal());
        let survey = |slope_sigma: f64, random: &mut Random| {
            let reading = |(at, height): (usize, &f64)| {
                let plane = 900.0 + lean[0] * xy[at][0] + lean[1] * xy[at][1];
                let value = plane - height + 0.02 * random.normal();
                Reading::from_setup("S", Instrument::Laser, format!("P{at}"), value, Some(0.02))
            };
            let mut survey = Survey::new(truth.iter().enumerate().map(reading).collect());
            let place = |(at, &[x, y]): (usize, &[f64; 2])| Place {
                id: format!("P{at}"),
                x: mm(x),
                y: mm(y),
            };
            survey.places = xy.iter().enumerate().map(place).collect();
            let slope_sigma = Slope::from_mm_per_m(slope_sigma);
            survey.settings.setups.push(Setup { name: "S".into(), slope_sigma });
            survey
        };
        for (slope_sigma, promise) in [(0.1, &mut stated), (1e-6, &mut ignored)] {
            let (heights, covariance, evidence) = evidence(&survey(slope_sigma, &mut random));
            let places = places(&xy);
            let verdict = assess_with(&places, &heights, &covariance, &limits, &[], &evidence);
            promise.count(verdict.unwrap().conformity, range(&truth) <= 1.2);
        }
    }
    assert!(!ignored.is_kept(), "what this test is for: {ignored:?}");
    assert!(stated.is_kept() && stated.met > 0, "{stated:?}");
}

/// Where places are known the slopes are free: a second set-up on the same points tells their
/// difference, rises tell all.
#[test]
fn what_checks_a_laser_is_said() {
    let xy = [[0.0, 0.0], [2000.0, 0.0], [0.0, 1000.0], [2000.0, 1000.0]];
    let read = |setup: &str, lean: f64| -> Vec<Reading> {
        let reading = |(at, &[x, _]): (usize, &[f64; 2])| {
            Reading::from_setup(setup, Instrument::Laser, format!("P{at}"), lean * x, Some(0.01))
        };
        xy.iter().enumerate().map(reading).collect()
    };
    let adjusted = |readings, placed| {
        let mut survey = Survey::new(readings);
        if placed {
            let place = |(at, &[x, y]): (usize, &[f64; 2])| Place {
                id: format!("P{at}"),
                x: mm(x),
                y: mm(y),
            };
            survey.places = xy.iter().enumerate().map(place).collect();
        }
        adjust(&survey).unwrap()
    };
    let alone = adjusted(read("S", 0.0), true);
    assert_eq!(alone.unchecked, [Unchecked::Setup { name: "S".into(), counted: true }]);
    let bare = adjusted(read("S", 0.0), false);
    assert_eq!(bare.unchecked, [Unchecked::Setup { name: "S".into(), counted: false }]);
    assert_eq!((bare.doubts, alone.doubts), (vec![SurveyDoubt::LeanNotCounted], vec![]));
    // No verdict rests on figures that leave it out.
    let (heights, covariance, evidence) = evidence(&Survey::new(read("S", 0.0)));
    let (xy, limits) = (places(&xy), Limits::overall(mm(0.1)));
    let verdict = assess_with(&xy, &heights, &covariance, &limits, &[], &evidence).unwrap();
    assert!(verdict.probability > 0.99 && verdict.conformity == Conformity::CannotTell);
    assert_eq!(verdict.reasons, [VerdictReason::LeanNotCounted {}]);
    let mut readings = read("S", 2e-4);
    for (a, b) in [("P0", "P1"), ("P1", "P3"), ("P0", "P2")] {
        readings.push(Reading::rise(a, b, 0.0, Some(0.001)));
    }
    let checked = adjusted(readings, true);
    assert!(checked.unchecked.is_empty(), "{:?}", checked.unchecked);
    let [along, across] = &checked.plane_slopes[0];
    assert!((along.value - 0.2).abs() < 0.01 && across.value.abs() < 0.01, "{along:?} {across:?}");
}

/// Two supports that are one to the last bit count once against a third.
#[test]
fn exact_ties_share_what_they_have_together() {
    let sigmas = Uncertainty::Sigmas(&[0.0, 0.0, 0.1]);
    let found = highest(&[0.0; 3], sigmas, 0.95).unwrap();
    for (probability, expected) in found.probabilities.iter().zip([0.25, 0.25, 0.5]) {
        assert!((probability - expected).abs() < 1e-9, "{found:?}");
    }
    // The same of two that move together.
    let covariance = [0.01, 0.01, 0.0, 0.01, 0.01, 0.0, 0.0, 0.0, 0.01];
    let found = highest(&[0.0; 3], Uncertainty::Covariance(&covariance), 0.95).unwrap();
    for (probability, expected) in found.probabilities.iter().zip([0.25, 0.25, 0.5]) {
        assert!((probability - expected).abs() < 1e-6, "{found:?}");
    }
}

/// A chain so long that its covariance is rounded in every step is taken all the same, by a verdict, by a
/// plan and by a whole job.
#[test]
fn the_covariance_of_a_long_chain_is_taken() {
    let rise = |at: usize| Reading::rise(format!("{at}"), format!("{}", at + 1), 0.01, Some(0.1));
    let heights = adjust(&Survey::new((0..439).map(rise).collect())).unwrap();
    let tops: Vec<Length> = heights.mm.iter().map(|&at| mm(at)).collect();
    let xy: Vec<[Length; 2]> = (0..440).map(|at| [mm(f64::from(at)), Length::ZERO]).collect();
    let limits = Limits::overall(mm(500.0));
    let covariance = heights.covariance_mm2();
    let rule = DecisionRule::default();
    let verdict = assess(&xy, &tops, &covariance, &limits, &[], rule).unwrap();
    assert_eq!(verdict.conformity, Conformity::Met);

    let support = |(&[x, y], &height): (&[Length; 2], &Length)| Support { x, y, height };
    let stock = vec![Shim::new(mm(1.0), None)];
    let mut problem = ShimProblem::new(xy.iter().zip(&tops).map(support).collect(), stock, limits);
    problem.covariance_mm2 = Some(covariance);
    problem.check().unwrap();

    let ids = 0..440;
    let leg = |at| {
        let y = at % 2;
        format!(r#"{{"id": "{at}", "x": "{at} m", "y": "{y} m", "role": "leg"}}"#)
    };
    let rise = |at| {
        let b = at + 1;
        format!(
            r#"{{"kind": "rise", "a": "{at}", "b": "{b}", "value": "10 um", "sigma": "0.1 mm"}}"#
        )
    };
    let all = |items: Vec<String>| items.join(",");
    let job = format!(
        r#"{{"version": 1, "points": [{}], "readings": [{}], "stock": [{{"thickness": "1 mm"}}],
            "legs": {{"limits": {{"overall": "500 mm"}}}}}}"#,
        all(ids.clone().map(leg).collect()),
        all(ids.take(439).map(rise).collect())
    );
    let done = Job::from_json(&job).unwrap().run().unwrap();
    let legs = done.outcome.unwrap().legs.unwrap();
    assert_eq!(legs.verdict.unwrap().conformity, Conformity::Met);
}
