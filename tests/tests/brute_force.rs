//! The solver against every plan there is, on thousands of small random problems.

use truebed::{Length, Order, ShimPlan, ShimProblem, Status, plan_shims, tradeoff};
use truebed_tests::brute_force::{rank, solve};
use truebed_tests::random::{Random, small_problem};

/// Pieces of each kind under each support.
fn counts(problem: &ShimProblem, plan: &ShimPlan) -> Vec<Vec<usize>> {
    let count = |stack: &Vec<usize>, kind: usize| stack.iter().filter(|&&k| k == kind).count();
    let kinds = 0..problem.stock.len();
    plan.stacks.iter().map(|stack| kinds.clone().map(|kind| count(stack, kind)).collect()).collect()
}

fn compare(order: Order, seed: u64, problems: usize) {
    let mut random = Random(seed);
    let (mut feasible, mut infeasible) = (0, 0);
    for at in 0..problems {
        let problem = small_problem(&mut random, order);
        let answer = solve(&problem);
        let plan =
            plan_shims(&problem).unwrap_or_else(|error| panic!("{at}: {error}\n{problem:#?}"));
        let context =
            || format!("problem {at}: {problem:#?}\nplan {plan:#?}\nbrute force {answer:#?}");
        match &answer.best {
            Some((best, stacks)) => {
                feasible += 1;
                assert_eq!(plan.status, Status::Proven, "{}", context());
                assert!(plan.meets_limits, "{}", context());
                let (low, high) =
                    (plan.tops.iter().min().unwrap(), plan.tops.iter().max().unwrap());
                let found = rank(&problem, &counts(&problem, &plan), *low, *high);
                assert_eq!(found.0, best.0, "{}", context());
                assert_eq!(&counts(&problem, &plan), stacks, "{}", context());
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
                if problem.limits.overall.is_some() {
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

#[test]
fn fewest_pieces() {
    compare(Order::FewestPieces, 1, 8000);
}

#[test]
fn flattest() {
    compare(Order::Flattest, 2, 4000);
}

#[test]
fn fewest_lifts() {
    compare(Order::FewestLifts, 3, 4000);
}

#[test]
fn cheapest() {
    compare(Order::Cheapest, 4, 4000);
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
