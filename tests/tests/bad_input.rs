//! Bad input to the Rust calls: refused with the field, what was got and what was expected, and
//! never a panic. Bad job documents are among the shared vectors.

use proptest::prelude::*;
use truebed::{
    Job, Length, Limits, ProblemKind, Shim, ShimProblem, Status, Support, check, plan_shims,
    run_job,
};

fn mm(mm: f64) -> Length {
    Length::from_mm(mm).unwrap()
}

fn support(x: f64, y: f64, height: f64) -> Support {
    Support { x: mm(x), y: mm(y), height: mm(height) }
}

fn problem() -> ShimProblem {
    let supports =
        vec![support(0.0, 0.0, 0.0), support(900.0, 0.0, -1.0), support(900.0, 500.0, -2.0)];
    ShimProblem::new(supports, vec![Shim::new(mm(1.0), Some(9))], Limits::overall(mm(0.1)))
}

/// Spoils a good problem and returns kind and field of everything that is told.
fn told(spoil: impl Fn(&mut ShimProblem)) -> Vec<(ProblemKind, String)> {
    let mut problem = problem();
    spoil(&mut problem);
    let error = plan_shims(&problem).unwrap_err();
    assert_eq!(problem.check(), Err(error.clone()));
    error.problems().iter().map(|problem| (problem.kind, problem.field.clone())).collect()
}

#[test]
fn every_problem_of_a_shim_problem_is_told() {
    use ProblemKind::{Duplicate, Shape, Unknown, Value};
    let one = |kind, field: &str| vec![(kind, field.to_owned())];
    assert_eq!(told(|p| p.supports.clear()), one(Shape, "supports"));
    assert_eq!(told(|p| p.stock.clear()), one(Shape, "stock"));
    assert_eq!(told(|p| p.stock = vec![Shim::new(mm(1.0), None); 129]), one(Shape, "stock"));
    for thickness in [0.0, -1.0, 1000.1] {
        assert_eq!(
            told(|p| p.stock[0].thickness = mm(thickness)),
            one(Value, "stock[0].thickness")
        );
    }
    assert_eq!(told(|p| p.stock[0].price = 1_000_001), one(Value, "stock[0].price"));
    assert_eq!(told(|p| p.supports[1] = p.supports[0]), one(Duplicate, "supports[1]"));
    let far = Length::from_nm(Length::MAX.nm() + 1);
    assert_eq!(told(|p| p.supports[2].height = far), one(Value, "supports[2].height"));
    assert_eq!(told(|p| p.supports[2].x = -far), one(Value, "supports[2].x"));
    assert_eq!(told(|p| p.joints = vec![[0, 3]]), one(Unknown, "joints[0]"));
    assert_eq!(told(|p| p.joints = vec![[1, 1]]), one(Value, "joints[0]"));
    assert_eq!(told(|p| p.joints = vec![[0, 1], [1, 0]]), one(Duplicate, "joints[1]"));
    assert_eq!(told(|p| p.limits.overall = None), one(Value, "limits"));
    assert_eq!(told(|p| p.limits.across = Some(mm(-0.1))), one(Value, "limits.across"));
    assert_eq!(told(|p| p.options.max_stack = Some(mm(-1.0))), one(Value, "max_stack"));
    let untied =
        |p: &mut ShimProblem| p.limits = Limits { along: Some(mm(0.1)), ..Limits::default() };
    assert_eq!(told(untied), one(Value, "limits"));
    let many = told(|p| {
        p.stock[0].thickness = mm(0.0);
        p.limits.overall = Some(mm(-1.0));
        p.joints = vec![[7, 7]];
    });
    // The joint names one support twice, and what is said of it is said once.
    assert_eq!(many.len(), 4, "{many:?}");
}

#[test]
fn the_sides_of_a_joint_may_stand_in_one_place() {
    let mut problem = problem();
    problem.supports[1] = Support { height: mm(-1.0), ..problem.supports[0] };
    problem.joints = vec![[1, 0]];
    assert_eq!(plan_shims(&problem).unwrap().status, Status::Proven);
}

#[test]
fn checks_refuse_what_does_not_belong_together() {
    let xy = [[Length::ZERO; 2]; 2];
    let limits = Limits::overall(mm(0.1));
    assert!(check(&xy, &[Length::ZERO], &limits, &[]).is_err());
    assert!(check(&[], &[], &limits, &[]).is_err());
    assert!(check(&xy, &[Length::ZERO; 2], &limits, &[[0, 2]]).is_err());
    assert!(check(&xy, &[Length::ZERO; 2], &Limits::default(), &[]).is_err());
    assert!(check(&xy, &[Length::ZERO; 2], &limits, &[]).unwrap().meets_limits);
}

#[test]
fn junk_of_ten_megabytes_is_refused() {
    let megabytes = 10 << 20;
    let text = |unit: &str| unit.repeat(megabytes / unit.len());
    for junk in [
        text("["),
        text("{\"a\":"),
        text("0"),
        text("\"\\u0000\","),
        format!("{{\"version\": 1, \"points\": \"{}\"}}", text("x")),
        format!("{{\"version\": 1, \"units\": \"{}\"}}", text("x")),
        format!("{{\"version\": 1, \"stock\": [{}]}}", text("{},").trim_end_matches(',')),
        format!("{{\"version\": 1, \"{}\": 1}}", text("k")),
    ] {
        let error = run_job(&junk).unwrap_err();
        assert_eq!(error.problems()[0].kind, ProblemKind::Document);
        assert!(error.to_string().len() < 5_000, "{error}");
    }
}

/// A document with many bad items tells many of them, not millions.
#[test]
fn messages_stay_readable() {
    let mut job = Job::from_json(include_str!("../vectors/good/demo.job.json")).unwrap();
    job.points = vec![job.points[0].clone(); Job::MOST_POINTS];
    let error = job.run().unwrap_err();
    assert_eq!(error.problems().len(), 50);
}

/// Searches stay within what they may spend, whatever the numbers.
#[test]
fn extreme_numbers_end_within_the_budget() {
    let nm = Length::from_nm;
    for (height, thickness, overall) in [
        (-Length::MAX.nm(), 1, 0),
        (-Length::MAX.nm(), 1, Length::MAX.nm()),
        (-1, 1_000_000_000, 0),
        (-Length::MAX.nm(), 999_999_937, 3),
    ] {
        for count in [None, Some(u32::MAX), Some(1)] {
            let mut problem = problem();
            problem.supports[1].height = nm(height);
            problem.stock =
                vec![Shim::new(nm(thickness), count), Shim::new(nm(thickness / 3 + 1), count)];
            problem.limits = Limits::overall(nm(overall));
            problem.options.budget.nodes = 100_000;
            let plan = plan_shims(&problem).unwrap();
            assert!(plan.nodes <= 100_001 || plan.status == Status::Infeasible, "{plan:?}");
        }
    }
}

proptest! {
    /// A good job with bytes changed, cut out or doubled is run or refused.
    #[test]
    fn a_damaged_job_is_run_or_refused(at in 0usize..4000, cut in 0usize..40, put in "\\PC{0,6}") {
        let good = include_str!("../vectors/good/one-leg-low.job.json");
        let mut text: Vec<char> = good.chars().collect();
        let at = at % text.len();
        let end = (at + cut).min(text.len());
        text.splice(at..end, put.chars());
        let text: String = text.into_iter().collect();
        let _ = run_job(&text);
    }
}
