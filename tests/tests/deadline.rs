//! A job has one budget and can be stopped: what was cut short is named, and what was found before is
//! what the whole run finds.

use std::cell::Cell;

use truebed::{Budget, Job, JobOutcome, ProblemKind, Step};

/// Eight slate points with uncertain heights, a ball to roll, and a reading that could be taken.
fn slates() -> Job {
    grid(2)
}

/// Rows of four slate points.
fn grid(rows: usize) -> Job {
    let points: Vec<String> = (0..4 * rows)
        .map(|at| {
            let (x, y) = (at % 4 * 800, at / 4 * 1200);
            let piece = ["left", "right"][usize::from(at % 4 > 1)];
            format!(
                r#"{{"id": "p{at}", "x": "{x} mm", "y": "{y} mm", "role": {{"slate": "{piece}"}}}}"#
            )
        })
        .collect();
    let heights = [0.0, -0.31, -0.58, -0.12, -0.44, -0.27, -0.73, -0.08];
    let readings: Vec<String> = (0..4 * rows)
        .map(|at| {
            let height = heights[at % 8];
            format!(
                r#"{{"kind": "height", "point": "p{at}", "value": "{height} mm", "sigma": "0.03 mm"}}"#
            )
        })
        .collect();
    Job::from_json(&format!(
        r#"{{"version": 1, "points": [{}], "readings": [{}],
            "stock": [{{"thickness": "0.05 mm"}}, {{"thickness": "0.1 mm"}}, {{"thickness": "0.3 mm"}}],
            "candidates": [{{"kind": "height", "point": "p2", "value": "0 mm", "sigma": "0.01 mm"}}],
            "slates": {{"limits": {{"overall": "0.05 mm", "along": "0.04 mm"}}, "ball": {{}}}}}}"#,
        points.join(","),
        readings.join(",")
    ))
    .unwrap()
}

/// Runs a job and stops it the `stop`th time that it asks; how often it asked.
fn stopped_at(job: &Job, stop: usize) -> (JobOutcome, usize) {
    let asked = Cell::new(0);
    let ask = || {
        asked.set(asked.get() + 1);
        asked.get() > stop
    };
    let run = job.clone().run_until(&Budget::UNLIMITED, &ask).unwrap();
    (run.outcome.unwrap(), asked.get())
}

/// Wherever a job is stopped, what it has found is what it finds when it is let go on.
#[test]
fn what_was_found_before_a_stop_stays() {
    let job = slates();
    let whole = job.clone().run().unwrap().outcome.unwrap();
    let full = whole.slates.as_ref().unwrap();
    assert!(whole.ran_out.is_empty() && full.verdict.is_some() && full.ball.is_some());
    let (same, all) = stopped_at(&job, usize::MAX);
    assert_eq!(same, whole);
    assert!(all > 3, "asked only {all} times");
    let mut seen = Vec::new();
    for stop in 0..all {
        let (outcome, _) = stopped_at(&job, stop);
        let slates = outcome.slates.as_ref().unwrap();
        let ran_out = |step: Step| outcome.ran_out.iter().any(|it| it.step == step);
        seen.extend(outcome.ran_out.iter().map(|it| it.step));
        assert!(outcome.ran_out.iter().all(|it| it.stage == "slates"));
        assert_eq!(slates.heights, full.heights);
        // A plan is either the whole one or says that it was cut short.
        if slates.plan != full.plan {
            assert!(ran_out(Step::Verdict), "a plan that was cut short has no time for a verdict");
            continue;
        }
        assert_eq!(slates.stacks, full.stacks);
        let same = |step: Step, same: bool, none: bool| match ran_out(step) {
            true => assert!(none, "{step:?} was cut short and is there"),
            false => assert!(same, "{step:?} is another"),
        };
        same(Step::Verdict, slates.verdict == full.verdict, slates.verdict.is_none());
        same(Step::Ball, slates.ball == full.ball, slates.ball.is_none());
        let next = (&slates.read_next, &full.read_next);
        same(Step::ReadNext, next.0 == next.1 || slates.verdict.is_none(), next.0.is_none());
        // Whoever reads the sheet is told.
        let notes = slates.notes.join(" ");
        assert_eq!(ran_out(Step::Verdict), notes.contains("before the verdict"), "{notes}");
    }
    for step in [Step::Verdict, Step::Ball] {
        assert!(seen.contains(&step), "no stop cut {step:?} short: {seen:?}");
    }
}

/// How often a whole run asks.
fn asks(job: &Job) -> usize {
    stopped_at(job, usize::MAX).1
}

/// Each step that can take long asks by itself: a job with it asks more often than one without.
#[test]
fn every_long_step_asks() {
    let mut job = grid(12);
    let limits = &mut job.slates.as_mut().unwrap().limits;
    limits.overall = Some("0.1 mm".parse().unwrap());
    limits.along = None;
    let mut bare = job.clone();
    bare.candidates.clear();
    bare.slates.as_mut().unwrap().ball = None;
    let of_verdict = asks(&bare);
    let mut exact = bare.clone();
    for reading in &mut exact.readings {
        if let truebed::Reading::Height { sigma, .. } = reading {
            *sigma = None;
        }
    }
    assert!(of_verdict > asks(&exact) + 3, "the verdict asks {of_verdict} times");
    let mut ball = bare.clone();
    ball.slates.as_mut().unwrap().ball = job.slates.as_ref().unwrap().ball;
    assert!(asks(&ball) > of_verdict + 3, "the ball asks {} times", asks(&ball));
    let mut next = bare.clone();
    next.candidates.clone_from(&job.candidates);
    assert!(asks(&next) > of_verdict + 3, "reading on asks {} times", asks(&next));
}

/// Without any time there is no plan that claims anything, and no verdict.
#[test]
fn no_time_is_no_error() {
    let budget = Budget { nodes: 0, time_ms: Some(0) };
    let run = slates().run_until(&budget, &|| false).unwrap();
    let outcome = run.outcome.as_ref().unwrap();
    assert!(!outcome.ran_out.is_empty());
    if let Some(slates) = &outcome.slates {
        assert!(slates.verdict.is_none());
        assert_ne!(slates.plan.status, truebed::Status::Proven);
    }
    let sheet = run.sheet_of_outcome();
    assert!(
        sheet.contains("The budget ran out") || sheet.contains("the budget ran out"),
        "{sheet}"
    );
}

/// The caller's nodes cap what a document asks for.
#[test]
fn a_document_does_not_set_its_own_budget() {
    let mut job = slates();
    job.slates.as_mut().unwrap().options.budget.nodes = u64::MAX;
    let few = Budget { nodes: 1, time_ms: None };
    let outcome = job.run_until(&few, &|| false).unwrap().outcome.unwrap();
    assert_ne!(outcome.slates.unwrap().plan.status, truebed::Status::Proven);
}

/// Sheet and picture of a job that has been run are those that `sheet` and `picture` make.
#[test]
fn sheet_and_picture_need_no_second_run() {
    let job = slates();
    let run = job.clone().run().unwrap();
    assert_eq!(run.sheet_of_outcome(), job.sheet().unwrap());
    assert_eq!(run.picture_of_outcome(), job.picture().unwrap());
    assert!(job.sheet_of_outcome().is_empty());
}

#[test]
fn lists_that_are_too_long_are_refused_before_any_work() {
    let mut job = slates();
    let point = job.points[0].clone();
    job.points.resize(Job::MOST_POINTS + 1, point);
    let reading = job.readings[0].clone();
    job.readings.resize(Job::MOST_READINGS + 1, reading);
    let error = job.run().unwrap_err();
    let problems: Vec<_> = error.problems().iter().map(|it| (it.kind, it.field.as_str())).collect();
    assert_eq!(problems, [(ProblemKind::Shape, "points"), (ProblemKind::Shape, "readings")]);
    assert_eq!(error.to_string().lines().next(), Some("points: got 1001, expected at most 1000"));
}
