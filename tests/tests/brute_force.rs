//! The solver against every plan there is, on thousands of small random problems.

use truebed::{Length, Order, ShimProblem, Status, check, plan_shims, tradeoff};
use truebed_tests::brute_force::{above, pair_is_guarded, rank, solve, stacks_of};
use truebed_tests::random::{
    Random, doubtful_problem, guarded_problem, hair_problem, small_problem, tilted_problem,
    varied_problem,
};

type Generator = fn(&mut Random, Order) -> ShimProblem;

fn compare(order: Order, generator: Generator, seed: u64, problems: usize) {
    let mut random = Random(seed);
    let (mut feasible, mut infeasible) = (0, 0);
    for at in 0..problems {
        let problem = generator(&mut random, order);
        let answer = solve(&problem);
        let plan = match plan_shims(&problem) {
            Ok(plan) => plan,
            // The readings are too coarse: no two supports of some limit could ever be near enough.
            Err(error) if problem.options.risk.is_some() => {
                assert!(error.to_string().contains("standard uncertainty"), "{at}: {error}");
                assert!(is_hopeless(&problem), "{at}: {error}");
                infeasible += 1;
                continue;
            }
            Err(error) => panic!("{at}: {error}\n{problem:#?}"),
        };
        let context =
            || format!("problem {at}: {problem:#?}\nplan {plan:#?}\nbrute force {answer:#?}");
        let limits = &problem.limits;
        let may_slope = limits.slope_along_um_per_m + limits.slope_across_um_per_m > 0;
        match &answer.best {
            Some((best, stacks)) => {
                feasible += 1;
                assert_eq!(plan.status, Status::Proven, "{}", context());
                assert!(plan.meets_limits, "{}", context());
                let above = above(&problem, &plan);
                let (low, high) = (above.iter().min().unwrap(), above.iter().max().unwrap());
                let found = stacks_of(&problem, &plan);
                let tilt = plan.tilt_um_per_m;
                let goals = rank(&problem, &found, tilt, *low, *high).0;
                if may_slope {
                    // Kinds and ties are settled above the slope that was found.
                    let settled = goals.len() - 1;
                    assert_eq!(goals[..settled], best.0[..settled], "{}", context());
                } else {
                    assert_eq!(goals, best.0, "{}", context());
                    assert_eq!(&found, stacks, "{}", context());
                }
                let goal = if order == Order::Flattest {
                    best.0[0] as f64 / 2e6
                } else {
                    best.0[0] as f64
                };
                assert_eq!(plan.bound, goal, "{}", context());
            }
            None => {
                infeasible += 1;
                assert_eq!(plan.status, Status::Infeasible, "{}", context());
                assert_eq!(plan.range(), answer.least_range, "{}", context());
                assert_eq!(plan.bound, plan.worst_mm(), "{}", context());
                let plain = !may_slope && problem.options.risk.is_none();
                if problem.limits.overall.is_some() && plain {
                    assert_eq!(plan.unreachable, answer.unreachable, "{}", context());
                }
            }
        }
    }
    assert!(
        feasible > problems / 5 && infeasible > problems / 5,
        "{feasible} and {infeasible} of {problems}"
    );
}

/// Whether a limit binds two supports that are not surely within it even where they are level.
fn is_hopeless(problem: &ShimProblem) -> bool {
    let places: Vec<_> = problem.supports.iter().map(|support| [support.x, support.y]).collect();
    let level = vec![Length::ZERO; places.len()];
    let verdict = check(&places, &level, &problem.limits, &problem.joints).unwrap();
    verdict.findings.iter().any(|finding| {
        let all = finding.points.iter();
        let mut pairs = all.clone().flat_map(|&a| all.clone().map(move |&b| [a, b]));
        pairs.any(|pair| !pair_is_guarded(problem, pair, Length::ZERO, finding.allowed, 0.0))
    })
}

#[test]
fn guarded() {
    for (seed, order) in [
        (40, Order::FewestPieces),
        (41, Order::Flattest),
        (42, Order::FewestLifts),
        (43, Order::Cheapest),
    ] {
        compare(order, guarded_problem, seed, 3000);
    }
}

/// Where the pieces add to the doubt, which depends on the plan.
#[test]
fn guarded_with_pieces() {
    for (seed, order) in [
        (44, Order::FewestPieces),
        (45, Order::Flattest),
        (46, Order::FewestLifts),
        (47, Order::Cheapest),
    ] {
        compare(order, doubtful_problem, seed, 1000);
    }
}

#[test]
fn fewest_pieces() {
    compare(Order::FewestPieces, small_problem, 1, 8000);
    compare(Order::FewestPieces, varied_problem, 11, 4000);
}

#[test]
fn flattest() {
    compare(Order::Flattest, small_problem, 2, 4000);
    compare(Order::Flattest, varied_problem, 12, 4000);
}

/// The bound on the range that no plan reaches starts a nanometre above the least limit.
#[test]
fn limits_missed_by_a_hair() {
    let mut random = Random(6);
    let mut missed = 0;
    for at in 0..8000 {
        let problem = hair_problem(&mut random, Order::FewestPieces);
        let plan = plan_shims(&problem).unwrap();
        if plan.status != Status::Infeasible {
            continue;
        }
        let least_range = solve(&problem).least_range;
        assert_eq!(plan.range(), least_range, "{at}: {problem:#?}");
        assert_eq!(plan.bound, plan.worst_mm(), "{at}: {problem:#?}");
        let limits = &problem.limits;
        let all = [limits.overall, limits.along, limits.across, limits.joint_step];
        let least = all.into_iter().flatten().min().unwrap_or_default();
        missed += usize::from(least_range == least + Length::from_nm(1));
    }
    assert!(missed > 15, "{missed}");
}

#[test]
fn fewest_lifts() {
    compare(Order::FewestLifts, small_problem, 3, 4000);
    compare(Order::FewestLifts, varied_problem, 13, 4000);
}

#[test]
fn cheapest() {
    compare(Order::Cheapest, small_problem, 4, 4000);
    compare(Order::Cheapest, varied_problem, 14, 4000);
}

#[test]
fn sloping_targets() {
    for (seed, order) in [
        (30, Order::FewestPieces),
        (31, Order::Flattest),
        (32, Order::FewestLifts),
        (33, Order::Cheapest),
    ] {
        compare(order, tilted_problem, seed, 400);
    }
}

#[test]
fn the_whole_tradeoff() {
    let mut random = Random(5);
    let mut longest = 0;
    for at in 0..4000 {
        let problem = small_problem(&mut random, Order::FewestPieces);
        let plans = tradeoff(&problem).unwrap();
        let ranges = solve(&problem).ranges;
        if ranges.is_empty() {
            assert!(matches!(&plans[..], [plan] if plan.status == Status::Infeasible), "{at}");
            continue;
        }
        let mut expected: Vec<(usize, Length)> = Vec::new();
        for (pieces, range) in ranges {
            if expected.last().is_none_or(|(_, flattest)| range < *flattest) {
                expected.push((pieces, range));
            }
        }
        let found: Vec<_> = plans.iter().map(|plan| (plan.pieces, plan.range())).collect();
        assert_eq!(found, expected, "{at}: {problem:#?}");
        assert_eq!(plans[0], plan_shims(&problem).unwrap(), "{at}");
        assert!(
            plans.iter().all(|plan| plan.status == Status::Proven && plan.meets_limits),
            "{at}"
        );
        assert!(plans.iter().all(|plan| plan.bound == plan.pieces as f64), "{at}");
        longest = longest.max(plans.len());
    }
    assert!(longest > 4, "{longest}");
}
