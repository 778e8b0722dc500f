//! What must hold of every plan, whatever the numbers.

use proptest::prelude::*;
use truebed::{Length, Order, Placed, ShimPlan, ShimProblem, Status, check, plan_shims};
use truebed_tests::random::{Random, small_problem, varied_problem};

const ORDERS: [Order; 4] =
    [Order::FewestPieces, Order::Flattest, Order::FewestLifts, Order::Cheapest];

/// A small problem of any order, its heights all different so that no two supports are alike.
fn problem() -> impl Strategy<Value = ShimProblem> {
    (any::<u64>(), 0..4_usize).prop_map(|(seed, order)| {
        let mut problem = small_problem(&mut Random(seed), ORDERS[order]);
        for (at, support) in problem.supports.iter_mut().enumerate() {
            support.height = support.height + Length::from_nm(at as i64);
        }
        problem
    })
}

/// The same of problems with all that a first plain one does not have.
fn varied() -> impl Strategy<Value = ShimProblem> {
    (any::<u64>(), 0..4_usize)
        .prop_map(|(seed, order)| varied_problem(&mut Random(seed), ORDERS[order]))
}

fn thicknesses(problem: &ShimProblem, plan: &ShimPlan) -> Vec<Vec<Length>> {
    let of = |stack: &Vec<usize>| stack.iter().map(|&kind| problem.stock[kind].thickness).collect();
    plan.stacks.iter().map(of).collect()
}

/// The first goal's value in whole units: smaller is better.
fn goal(problem: &ShimProblem, plan: &ShimPlan) -> i64 {
    match problem.options.order {
        Order::FewestPieces => plan.pieces as i64,
        Order::Flattest => plan.range().nm(),
        Order::FewestLifts => plan.stacks.iter().filter(|stack| !stack.is_empty()).count() as i64,
        _ => plan.stacks.iter().flatten().map(|&kind| i64::from(problem.stock[kind].price)).sum(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn a_plan_keeps_what_it_promises(problem in problem()) {
        let plan = plan_shims(&problem).unwrap();
        let xy: Vec<_> = problem.supports.iter().map(|s| [s.x, s.y]).collect();
        let verdict = check(&xy, &plan.tops, &problem.limits, &problem.joints).unwrap();
        prop_assert_eq!(verdict.meets_limits, plan.meets_limits);
        prop_assert_eq!(plan.status == Status::Proven, plan.meets_limits);
        for (used, shim) in plan.used.iter().zip(&problem.stock) {
            prop_assert!(shim.count.is_none_or(|count| *used <= count));
        }
        for (at, support) in problem.supports.iter().enumerate() {
            let stack: Length = thicknesses(&problem, &plan)[at].iter().copied().sum();
            prop_assert_eq!(plan.lifts[at], stack);
            prop_assert_eq!(plan.tops[at], support.height + stack);
            prop_assert!(problem.options.max_stack.is_none_or(|most| stack <= most));
            prop_assert!(problem.options.max_pieces.is_none_or(|most| plan.stacks[at].len() <= most as usize));
        }
        let highest = problem.supports.iter().map(|s| s.height).max().unwrap();
        let stays = |at: usize| !problem.options.keep_highest || problem.supports[at].height == highest;
        prop_assert!((0..plan.stacks.len()).any(|at| plan.stacks[at].is_empty() && stays(at)));
    }

    #[test]
    fn raising_the_whole_floor_raises_the_plan(problem in problem(), rise in -1_000_000_000..1_000_000_000_i64) {
        let plan = plan_shims(&problem).unwrap();
        let mut raised = problem.clone();
        for support in &mut raised.supports {
            support.height = support.height + Length::from_nm(rise);
        }
        let other = plan_shims(&raised).unwrap();
        prop_assert_eq!(&plan.stacks, &other.stacks);
        prop_assert_eq!(plan.status, other.status);
        prop_assert!((other.target_mm() - plan.target_mm() - rise as f64 / 1e6).abs() < 1e-9);
    }

    #[test]
    fn supports_in_another_order_get_the_same_stacks(problem in problem(), seed in any::<u64>()) {
        let plan = plan_shims(&problem).unwrap();
        let mut order: Vec<usize> = (0..problem.supports.len()).collect();
        let mut random = Random(seed);
        order.sort_by_key(|_| random.bits());
        let mut other = problem.clone();
        other.supports = order.iter().map(|&at| problem.supports[at]).collect();
        let place = |support: usize| order.iter().position(|&at| at == support).unwrap();
        other.joints = problem.joints.iter().map(|joint| joint.map(place)).collect();
        let permuted = plan_shims(&other).unwrap();
        let expected: Vec<_> = order.iter().map(|&at| plan.stacks[at].clone()).collect();
        prop_assert_eq!(permuted.stacks, expected);
    }

    #[test]
    fn kinds_in_another_order_make_the_same_stacks(mut problem in problem()) {
        // Two kinds of one thickness are told apart by their place alone.
        problem.stock.sort_by_key(|shim| shim.thickness);
        problem.stock.dedup_by_key(|shim| shim.thickness);
        let plan = plan_shims(&problem).unwrap();
        let mut other = problem.clone();
        other.stock.reverse();
        let reversed = plan_shims(&other).unwrap();
        prop_assert_eq!(thicknesses(&problem, &plan), thicknesses(&other, &reversed));
    }

    #[test]
    fn a_mirrored_table_gets_the_mirrored_plan(problem in problem()) {
        let plan = plan_shims(&problem).unwrap();
        let mut mirrored = problem.clone();
        for support in &mut mirrored.supports {
            (support.x, support.y) = (-support.x, -support.y);
        }
        prop_assert_eq!(plan.stacks, plan_shims(&mirrored).unwrap().stacks);
    }

    /// Read again and found where the plan had them, supports stay as they are.
    #[test]
    fn unchanged_readings_move_nothing(problem in varied()) {
        let plan = plan_shims(&problem).unwrap();
        let mut next = problem.clone();
        for (support, &top) in next.supports.iter_mut().zip(&plan.tops) {
            support.height = top;
        }
        let mut in_place = vec![0; problem.stock.len()];
        for placed in problem.placed.iter().flat_map(|placed| placed.stacks.iter().flatten()) {
            in_place[*placed] += 1;
        }
        for ((shim, used), before) in next.stock.iter_mut().zip(&plan.used).zip(&in_place) {
            shim.count = shim.count.map(|count| count + before - used);
        }
        next.placed = Some(Placed::from(&plan));
        let again = plan_shims(&next).unwrap();
        if plan.status == Status::Proven {
            prop_assert_eq!(again.status, Status::Proven);
            prop_assert_eq!(again.worst_mm(), plan.worst_mm());
            prop_assert_eq!(&again.stacks, &plan.stacks);
            prop_assert_eq!((again.moved, again.lifted.len()), (0, 0));
        }
        let settled = plan.settlement(&plan.tops).unwrap();
        prop_assert!(settled.iter().all(|settled| *settled == Length::ZERO));
    }

    #[test]
    fn more_stock_is_never_worse(problem in problem(), kind in 0..3_usize) {
        let plan = plan_shims(&problem).unwrap();
        let mut richer = problem.clone();
        let kind = kind % richer.stock.len();
        richer.stock[kind].count = richer.stock[kind].count.map(|count| count + 1);
        let other = plan_shims(&richer).unwrap();
        if plan.status == Status::Proven {
            prop_assert_eq!(other.status, Status::Proven);
            prop_assert!(goal(&problem, &other) <= goal(&problem, &plan));
        }
    }

    #[test]
    fn wider_limits_are_never_worse(problem in problem(), wider in 0..30_000_i64) {
        let plan = plan_shims(&problem).unwrap();
        let mut other = problem.clone();
        let widen = |limit: &mut Option<Length>| {
            *limit = limit.map(|limit| limit + Length::from_nm(wider));
        };
        widen(&mut other.limits.overall);
        widen(&mut other.limits.along);
        widen(&mut other.limits.joint_step);
        let other = plan_shims(&other).unwrap();
        if plan.status == Status::Proven {
            prop_assert_eq!(other.status, Status::Proven);
            prop_assert!(goal(&problem, &other) <= goal(&problem, &plan));
        }
    }

    /// Wherever the budget cuts the search, what comes back is a plan from the stock, and its
    /// bound is no better than the truth.
    #[test]
    fn a_cut_search_gives_a_plan_and_a_bound(problem in problem(), nodes in 0..60_u64) {
        let whole = plan_shims(&problem).unwrap();
        let mut cut = problem.clone();
        cut.options.budget.nodes = nodes;
        let plan = plan_shims(&cut).unwrap();
        for (used, shim) in plan.used.iter().zip(&problem.stock) {
            prop_assert!(shim.count.is_none_or(|count| *used <= count));
        }
        match plan.status {
            Status::Budget => prop_assert!(whole.status != Status::Proven || plan.bound <= whole.bound),
            Status::Infeasible => prop_assert!(plan.bound <= whole.bound),
            _ => prop_assert_eq!(plan.stacks, whole.stacks),
        }
        if plan.status != Status::Budget {
            prop_assert_eq!(plan.status, whole.status);
        }
    }
}
