//! Why a stock cannot do it, against every plan there is.

use serde_json::json;
use truebed::{
    Length, Limits, Order, Shim, ShimProblem, Status, Support, plan_shims, run_job, shortfall,
};
use truebed_tests::brute_force::solve;
use truebed_tests::random::{Random, small_problem, varied_problem};

fn has_plan(problem: &ShimProblem) -> bool {
    solve(problem).best.is_some()
}

/// The conflict has no plan by itself, and has one as soon as anything is taken out of it.
fn check_conflict(problem: &ShimProblem, conflict: &truebed::Conflict) {
    let context = || format!("{conflict:#?}\n{problem:#?}");
    assert!(conflict.minimal, "{}", context());
    assert!(!has_plan(&conflict.problem(problem)), "{}", context());
    let with_plan = |change: &dyn Fn(&mut truebed::Conflict)| {
        let mut less = conflict.clone();
        change(&mut less);
        has_plan(&less.problem(problem))
    };
    for at in 0..conflict.limits.len() {
        assert!(with_plan(&|less| _ = less.limits.remove(at)), "limit {at}: {}", context());
    }
    for at in 0..conflict.scarce.len() {
        assert!(with_plan(&|less| _ = less.scarce.remove(at)), "kind {at}: {}", context());
    }
    if conflict.max_pieces {
        assert!(with_plan(&|less| less.max_pieces = false), "{}", context());
    }
    if conflict.max_stack {
        assert!(with_plan(&|less| less.max_stack = false), "{}", context());
    }
    // Supports that may stay bare stand for the level of the floor and are always named.
    let highest = problem.supports.iter().map(|support| support.height).max();
    for (at, &support) in conflict.supports.iter().enumerate() {
        let bare = problem.placed.as_ref().is_some_and(|placed| placed.stacks[support].is_empty());
        let floor = !problem.options.keep_highest
            || problem.placed.is_some()
            || Some(problem.supports[support].height) == highest;
        if !floor && !bare {
            assert!(with_plan(&|less| _ = less.supports.remove(at)), "{support}: {}", context());
        }
    }
}

/// The cheapest addition, by trying every one of a catalogue of two kinds.
fn cheapest(problem: &ShimProblem, catalogue: &[Shim]) -> Option<u64> {
    let mut cheapest = None;
    for a in 0..6_u32 {
        for b in 0..6_u32 {
            let price = u64::from(a * catalogue[0].price + b * catalogue[1].price);
            if cheapest.is_some_and(|cheapest| cheapest <= price) {
                continue;
            }
            let mut richer = problem.clone();
            let with = |shim: &Shim, count| Shim { count: Some(count), ..shim.clone() };
            richer.stock.extend([with(&catalogue[0], a), with(&catalogue[1], b)]);
            if has_plan(&richer) {
                cheapest = Some(price);
            }
        }
    }
    cheapest
}

#[test]
fn conflicts_are_minimal() {
    let mut random = Random(40);
    let mut found = 0;
    for at in 0..300 {
        let order = Order::FewestPieces;
        let mut problem = match at % 2 {
            0 => small_problem(&mut random, order),
            _ => varied_problem(&mut random, order),
        };
        // More would be too many plans to try where a kind is taken to be without end.
        let most = if problem.stock.len() > 1 { 2 } else { 3 };
        problem.supports.truncate(most);
        problem.joints.retain(|joint| joint[1] < problem.supports.len());
        if problem.check().is_err() {
            continue;
        }
        let shortfall = shortfall(&problem, None).unwrap();
        assert_eq!(shortfall.is_none(), has_plan(&problem), "{problem:#?}");
        if let Some(shortfall) = shortfall {
            check_conflict(&problem, &shortfall.conflict);
            found += 1;
        }
    }
    assert!(found > 40, "{found}");
}

#[test]
fn additions_are_the_cheapest() {
    let unit = |count: i64| Length::from_nm(count * 10_000);
    let mut random = Random(41);
    let (mut helped, mut helpless) = (0, 0);
    while helped < 120 {
        let mut problem = small_problem(&mut random, Order::FewestPieces);
        problem.supports.truncate(2);
        problem.stock.truncate(1);
        problem.joints.retain(|joint| joint[1] < problem.supports.len());
        problem.stock[0].count = problem.stock[0].count.map(|count| count.min(1)).or(Some(1));
        let mut kind = |price| Shim { price, ..Shim::new(unit(random.between(2, 7)), Some(0)) };
        let catalogue = [kind(2), kind(3)];
        if problem.check().is_err() {
            continue;
        }
        let Some(shortfall) = shortfall(&problem, Some(&catalogue)).unwrap() else { continue };
        let expected = cheapest(&problem, &catalogue);
        match &shortfall.addition {
            Some(addition) => {
                assert_eq!(addition.plan.status, Status::Proven);
                assert_eq!(Some(addition.price), expected, "{addition:#?}\n{problem:#?}");
                assert_eq!(addition.bound, addition.price as f64);
                // Bought, it makes the very plan possible.
                let mut richer = problem.clone();
                for (shim, &count) in catalogue.iter().zip(&addition.pieces) {
                    richer.stock.push(Shim { count: Some(count), ..shim.clone() });
                }
                assert_eq!(plan_shims(&richer).unwrap().status, Status::Proven);
                helped += 1;
            }
            None => {
                assert_eq!(expected, None, "{catalogue:#?}\n{problem:#?}");
                helpless += 1;
            }
        }
    }
    assert!(helpless > 20, "{helpless}");
}

#[test]
fn without_a_catalogue_more_of_the_kinds_at_hand() {
    let mm = |mm: f64| Length::from_mm(mm).unwrap();
    let at = |x: f64, height: f64| truebed::Support { x: mm(x), y: mm(0.0), height: mm(height) };
    let stock = vec![Shim::new(mm(1.0), Some(1)), Shim::new(mm(0.5), Some(1))];
    let limits = truebed::Limits::overall(mm(0.0));
    let supports = vec![at(0.0, 0.0), at(1000.0, -2.0), at(2000.0, -1.5)];
    let problem = ShimProblem::new(supports, stock, limits);
    let shortfall = shortfall(&problem, None).unwrap().unwrap();
    assert_eq!(shortfall.addition.unwrap().pieces, [2, 0]);
    assert_eq!(shortfall.conflict.supports, [0, 1]);
    assert_eq!(shortfall.conflict.scarce, [0, 1]);
}

/// A stock of as many kinds as there may be that does not suffice is an answer, not an error.
#[test]
fn a_stock_of_most_kinds_may_fall_short() {
    let um = |um: i64| Length::from_nm(um * 1000);
    let height = |height: i64| Support { x: um(height), y: Length::ZERO, height: um(-height) };
    let supports = vec![height(0), height(900_000)];
    for kinds in [64, 65, 128] {
        let stock = (0..kinds).map(|kind| Shim::new(um(100 + kind), Some(1))).collect();
        let mut problem = ShimProblem::new(supports.clone(), stock, Limits::overall(um(10)));
        problem.options.budget.nodes = 10_000;
        let shortfall = shortfall(&problem, None).unwrap().unwrap();
        assert!(!shortfall.conflict.supports.is_empty());
        assert!(kinds <= 64 || shortfall.addition.is_none());
    }
}

/// Ten supports and a stock that is too small, which is hard to tell.
fn hard(seed: u64) -> ShimProblem {
    let mut random = Random(seed);
    let support = |at: i64| Support {
        x: Length::from_nm(at % 5 * 600_000_000),
        y: Length::from_nm(at / 5 * 900_000_000),
        height: Length::from_nm(-random.between(0, 600) * 10_000),
    };
    let supports = (0..10).map(support).collect();
    let kinds = [(1_000_000, 12), (300_000, 9), (110_000, 9), (70_000, 6)];
    let stock = kinds.map(|(nm, count)| Shim::new(Length::from_nm(nm), Some(count)));
    ShimProblem::new(supports, stock.to_vec(), Limits::overall(Length::from_nm(50_000)))
}

/// A third of the budget is for the conflict, half of what is left for the addition, the rest for the
/// flattest plan. Where all are hard each takes a third, and none takes another's.
#[test]
fn each_search_has_its_share_of_the_budget() {
    let mut thirds = 0;
    for seed in 0..10 {
        for nodes in [300, 3_000, 30_000] {
            let mut problem = hard(seed);
            problem.options.budget.nodes = nodes;
            let found = shortfall(&problem, None).unwrap().unwrap();
            assert!(!found.conflict.minimal, "what this test is for: {seed}");
            let is_third = |spent: u64| spent.abs_diff(nodes / 3) <= 1;
            let flattest = found.flattest.nodes;
            assert!(is_third(flattest), "{seed} {nodes}: {flattest}");
            if let Some(addition) = found.addition {
                let spent = addition.plan.nodes;
                assert!(is_third(spent), "{seed} {nodes}: {spent}");
                thirds += 1;
            }
        }
    }
    assert!(thirds > 20, "{thirds}");
}

/// In a job the search for a plan comes first, and the shortfall has what that leaves.
#[test]
fn in_a_job_the_shortfall_has_what_the_first_search_leaves() {
    let mut problem = hard(6);
    let nodes = 100_000;
    problem.options.budget.nodes = nodes;
    let first = plan_shims(&problem).unwrap();
    assert_eq!(first.status, Status::Infeasible);
    problem.options.budget.nodes = nodes - first.nodes;
    let left = shortfall(&problem, None).unwrap().unwrap();

    let point = |(at, support): (usize, &Support)| json!({"id": format!("{at}"), "x": support.x, "y": support.y, "role": "leg"});
    let reading = |(at, support): (usize, &Support)| json!({"kind": "height", "point": format!("{at}"), "value": support.height});
    let supports = || problem.supports.iter().enumerate();
    let job = json!({
        "version": 1,
        "stock": problem.stock,
        "points": supports().map(point).collect::<Vec<_>>(),
        "readings": supports().map(reading).collect::<Vec<_>>(),
        "legs": {"limits": problem.limits, "options": {"budget": {"nodes": nodes}}},
    });
    let done: serde_json::Value =
        serde_json::from_str(&run_job(&job.to_string()).unwrap()).unwrap();
    let legs = &done["outcome"]["legs"];
    assert_eq!(legs["plan"]["nodes"], left.flattest.nodes, "{:#}", legs["plan"]);
    assert!(left.flattest.nodes < first.nodes, "what this test is for");
}
