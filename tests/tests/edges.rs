//! Numbers at the edge of what can be told: right or refused, never silently wrong.

use truebed::{
    Budget, Length, Limits, Order, Placed, PlanOptions, Shim, ShimProblem, Status, Support,
    plan_shims, shortfall, tradeoff,
};

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn bed(extent: i64, height: i64) -> Vec<Support> {
    let at = |x: i64, y: i64, height: i64| Support { x: nm(x), y: nm(y), height: nm(height) };
    vec![at(0, 0, 0), at(extent, 0, -height), at(extent, extent, -height / 2), at(0, extent, 0)]
}

const FAR: i64 = Length::MAX.nm();

#[test]
fn counts_at_the_end_of_their_range() {
    let stock = |count| vec![Shim::new(nm(1_000_000), Some(count))];
    let mut problem = ShimProblem::new(
        bed(1_000_000_000, 2_000_000),
        stock(u32::MAX),
        Limits::overall(nm(50_000)),
    );
    let first = plan_shims(&problem).unwrap();
    assert_eq!((first.status, first.pieces), (Status::Proven, 3));
    assert_eq!(first.left, [Some(u32::MAX - 3)]);
    // In place besides: more pieces of a kind than can be counted.
    problem.placed = Some(Placed::from(&first));
    let error = plan_shims(&problem).unwrap_err().to_string();
    assert!(
        error.starts_with("stock[0].count: got 4294967295 on hand, 3 more in place"),
        "{error}"
    );
    problem.stock = stock(u32::MAX - 3);
    for (support, &top) in problem.supports.iter_mut().zip(&first.tops) {
        support.height = top;
    }
    let next = plan_shims(&problem).unwrap();
    assert_eq!((next.status, next.moved), (Status::Proven, 0));
    assert_eq!(next.left, [Some(u32::MAX - 3)]);
}

#[test]
fn the_whole_stock_or_what_is_left_of_it() {
    let stock = vec![Shim::new(nm(1_000_000), Some(4)), Shim::new(nm(500_000), None)];
    let placed = Placed { stacks: vec![vec![], vec![0, 0, 1], vec![0]], settings: vec![None; 3] };
    let left = placed.left_of(&stock).unwrap();
    assert_eq!([left[0].count, left[1].count], [Some(1), None]);
    let error = placed.left_of(&[Shim::new(nm(1_000_000), Some(2)), stock[1].clone()]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "stock[0].count: got 2 pieces in all, 3 of them in place, expected a whole stock that counts \
         the pieces in place too"
    );
}

#[test]
fn extents_and_heights_of_a_micrometre_and_of_a_thousand_kilometres() {
    let budget = Budget { nodes: 300_000, time_ms: None };
    for extent in [1_000, 1_000_000_000, FAR] {
        for height in [1, 1_000, 2_000_000, FAR] {
            for limit in [0, 1, 500, 50_000, FAR] {
                for (thickness, count) in
                    [(1, None), (1_000, Some(u32::MAX)), (1_000_000_000, Some(9))]
                {
                    for order in [Order::FewestPieces, Order::Cheapest, Order::FewestLifts] {
                        let mut shim = Shim::new(nm(thickness), count);
                        shim.price = Shim::DEAREST;
                        let mut problem = ShimProblem::new(
                            bed(extent, height),
                            vec![shim],
                            Limits::overall(nm(limit)),
                        );
                        problem.limits.along = Some(nm(limit));
                        problem.options = PlanOptions { order, budget, ..PlanOptions::default() };
                        let plan = match plan_shims(&problem) {
                            Ok(plan) => plan,
                            Err(error) => {
                                // Prices of so many pieces go beyond what can be added up.
                                assert!(error.to_string().starts_with("stock.price"), "{error}");
                                continue;
                            }
                        };
                        check(&problem, &plan);
                        tradeoff(&problem).unwrap().iter().for_each(|plan| check(&problem, plan));
                        let _ = shortfall(&problem, None);
                    }
                }
            }
        }
    }
}

/// The plan's figures in numbers that cannot run over.
fn check(problem: &ShimProblem, plan: &truebed::ShimPlan) {
    let thickness = i128::from(problem.stock[0].thickness.nm());
    let mut tops = Vec::new();
    for (at, stack) in plan.stacks.iter().enumerate() {
        let lift = thickness * stack.len() as i128;
        assert_eq!(i128::from(plan.lifts[at].nm()), lift);
        tops.push(i128::from(problem.supports[at].height.nm()) + lift);
        assert_eq!(i128::from(plan.tops[at].nm()), tops[at]);
    }
    let range = tops.iter().max().unwrap() - tops.iter().min().unwrap();
    assert_eq!(i128::from(plan.range().nm()), range);
    let limit = 2 * i128::from(problem.limits.overall.unwrap().nm());
    assert_eq!(plan.meets_limits, range <= limit, "{plan:#?}\n{problem:#?}");
    if plan.status == Status::Proven {
        assert!(plan.meets_limits);
    }
}
