//! The risk of a plan, from what is asked to what comes of it: beds are built a thousand times over
//! from heights and pieces that err as was stated.

use truebed::{
    DecisionRule, Length, Limits, Order, RiskOf, Shim, ShimPlan, ShimProblem, Status, Support,
    plan_shims, shortfall, tradeoff,
};
use truebed_tests::random::{Random, doubtful_problem};

fn mm(mm: f64) -> Length {
    Length::from_mm(mm).unwrap()
}

/// A bed of two rows with the readings of a water level, shims of which each errs and a tin that may
/// be mislabelled.
fn bed(columns: usize, seed: u64) -> ShimProblem {
    let mut random = Random(seed);
    let mut supports = Vec::new();
    for x in 0..columns {
        for y in 0..2 {
            let height = mm(-2.5 * random.unit());
            supports.push(Support { x: mm(600.0 * x as f64), y: mm(900.0 * y as f64), height });
        }
    }
    let kind = |thickness: f64, own: f64, common: f64| Shim {
        sigma: mm(own),
        common_sigma: mm(common),
        ..Shim::new(mm(thickness), None)
    };
    let stock = vec![kind(1.0, 0.010, 0.004), kind(0.3, 0.008, 0.004), kind(0.08, 0.004, 0.002)];
    let count = supports.len();
    let mut problem = ShimProblem::new(supports, stock, Limits::overall(mm(0.075)));
    let of = |at: usize| if at / count == at % count { 1.2e-4 } else { 0.0 };
    problem.covariance_mm2 = Some((0..count * count).map(of).collect());
    problem
}

/// How often a bed built by a plan has all differences within the limit, and the pair of supports
/// that has it least often.
fn built(problem: &ShimProblem, plan: &ShimPlan, allowed: f64, times: usize) -> (f64, f64) {
    let mut random = Random(99);
    let count = problem.supports.len();
    let sigma = problem.covariance_mm2.as_ref().unwrap()[0].sqrt();
    let mut within = vec![0_usize; count * count];
    let mut all = 0;
    for _ in 0..times {
        let common: Vec<f64> =
            problem.stock.iter().map(|shim| shim.common_sigma.mm() * random.normal()).collect();
        let tops: Vec<f64> = (0..count)
            .map(|at| {
                let pieces = plan.stacks[at].iter().map(|&kind| {
                    let shim = &problem.stock[kind];
                    shim.thickness.mm() + common[kind] + shim.sigma.mm() * random.normal()
                });
                let pieces: f64 = pieces.sum();
                problem.supports[at].height.mm() + sigma * random.normal() + pieces
            })
            .collect();
        let mut met = true;
        for a in 0..count {
            for b in 0..count {
                let is_within = (tops[a] - tops[b]).abs() <= allowed;
                within[a * count + b] += usize::from(is_within);
                met &= is_within;
            }
        }
        all += usize::from(met);
    }
    let worst = within.into_iter().min().unwrap_or(times);
    (all as f64 / times as f64, worst as f64 / times as f64)
}

const TIMES: usize = 20_000;

/// Three standard errors of a share near 95 % in so many tries.
const DOUBT: f64 = 0.005;

#[test]
fn each_difference_is_met_as_often_as_is_claimed_pieces_and_all() {
    let mut without = 1.0_f64;
    for seed in 1..6 {
        let mut problem = bed(3, seed);
        problem.options.risk = Some(0.05);
        let plan = plan_shims(&problem).unwrap();
        assert_eq!(plan.status, Status::Proven, "{plan:#?}");
        let (_, worst) = built(&problem, &plan, 0.15, TIMES);
        assert!(worst >= 0.95 - DOUBT, "{seed}: {worst}");
        // A plan that takes the pieces for exact breaks the claim.
        let mut exact = problem.clone();
        for shim in &mut exact.stock {
            (shim.sigma, shim.common_sigma) = (Length::ZERO, Length::ZERO);
        }
        let plan = plan_shims(&exact).unwrap();
        without = without.min(built(&problem, &plan, 0.15, TIMES).1);
    }
    assert!(without < 0.95 - DOUBT, "{without}");
}

#[test]
fn all_limits_together_are_met_as_often_as_is_claimed() {
    let (mut each_fails, mut known) = (0, 0);
    for seed in 1..6 {
        let mut problem = bed(6, seed);
        problem.limits = Limits::overall(mm(0.08));
        problem.options.risk = Some(0.05);
        let each = plan_shims(&problem).unwrap();
        each_fails += usize::from(built(&problem, &each, 0.16, TIMES).0 < 0.95 - DOUBT);
        problem.options.risk_of = RiskOf::All;
        let plan = plan_shims(&problem).unwrap();
        assert!(plan.meets_limits, "{plan:#?}");
        assert!(plan.bound <= plan.pieces as f64);
        known += usize::from(plan.status == Status::Proven);
        let (all, _) = built(&problem, &plan, 0.16, TIMES);
        assert!(all >= 0.95 - DOUBT, "{seed}: {all}");
        // The verdict that the plan foresees says the same.
        let verdict = plan.predict(&problem, DecisionRule::Iso14253).unwrap();
        assert!(verdict.probability >= 0.95 - 0.002, "{verdict:#?}");
    }
    assert!(each_fails > 0 && known > 0, "{each_fails} {known}");
}

/// One error of a tin is no eight errors: it moves stacks of as many pieces alike.
#[test]
fn an_error_that_a_kind_shares_is_one() {
    let at = |x: f64, height: f64| Support { x: mm(x), y: mm(0.0), height: mm(height) };
    let supports = vec![at(0.0, 0.0), at(500.0, -4.0), at(1000.0, -4.0), at(1500.0, -1.0)];
    let sigma = |own: f64, common: f64| {
        let shim = Shim { sigma: mm(own), common_sigma: mm(common), ..Shim::new(mm(1.0), None) };
        let mut problem = ShimProblem::new(supports.clone(), vec![shim], Limits::overall(mm(0.05)));
        problem.covariance_mm2 = Some(vec![0.0; 16]);
        let plan = plan_shims(&problem).unwrap();
        let verdict = plan.predict(&problem, DecisionRule::Iso14253).unwrap();
        (plan, verdict)
    };
    // The highest and a stack of four: 4 · 0.01 if all are off alike, else 2 · 0.01.
    let (_, verdict) = sigma(0.0, 0.01);
    let chance = |sigma: f64| libm::erf(0.1 / sigma / 2.0_f64.sqrt());
    assert!((verdict.probability - chance(0.04)).abs() < 1e-3, "{verdict:#?}");
    let (_, verdict) = sigma(0.01, 0.0);
    assert!(verdict.probability > chance(0.04) + 0.005, "{verdict:#?}");
}

/// The plan that is best where the joint risk is clearly kept, by trying every plan.
#[test]
fn a_joint_risk_has_the_best_plan_or_a_bound() {
    let mut random = Random(7);
    let (mut proven, mut infeasible) = (0, 0);
    for round in 0..60 {
        let mut problem = doubtful_problem(&mut random, Order::FewestPieces);
        let each = match plan_shims(&problem) {
            Ok(plan) => plan,
            Err(_) => continue,
        };
        problem.options.risk_of = RiskOf::All;
        let all = plan_shims(&problem).unwrap();
        if all.status == Status::Infeasible {
            infeasible += 1;
            continue;
        }
        // Whoever keeps all keeps each, so it costs no less.
        assert!(each.meets_limits, "{round}: {problem:#?}");
        assert!(all.bound >= each.bound, "{round}: {all:#?}\n{each:#?}");
        if all.meets_limits {
            let rule = DecisionRule::GuardBand { risk: problem.options.risk.unwrap() };
            let least = 1.0 - rule.risk().unwrap();
            let foreseen = all.predict(&problem, rule).unwrap().probability;
            assert!(foreseen >= least - 2e-3, "{round}: {foreseen} {least}");
            // Where the plan for each keeps all too, it is the one.
            let foreseen = each.predict(&problem, rule).unwrap().probability;
            if foreseen > least + 5e-3 {
                assert_eq!((all.status, &all.stacks), (Status::Proven, &each.stacks), "{round}");
            }
        }
        proven += usize::from(all.status == Status::Proven);
    }
    assert!(proven > 15, "{proven} {infeasible}");
}

#[test]
fn tradeoffs_and_shortfalls_keep_the_risk() {
    let mut random = Random(8);
    let (mut steps, mut short) = (0, 0);
    for round in 0..150 {
        let mut problem = doubtful_problem(&mut random, Order::FewestPieces);
        problem.supports.truncate(3);
        problem.joints.clear();
        problem.covariance_mm2 = Some(vec![0.0; problem.supports.len().pow(2)]);
        if problem.check().is_err() {
            continue;
        }
        let plans = tradeoff(&problem).unwrap();
        for pair in plans.windows(2) {
            assert!(pair[1].meets_limits && pair[1].range() < pair[0].range(), "{round}");
            steps += 1;
        }
        let is_feasible = plans[0].meets_limits;
        let shortfall = shortfall(&problem, None).unwrap();
        assert_eq!(shortfall.is_none(), is_feasible, "{round}: {problem:#?}");
        if let Some(shortfall) = shortfall {
            let part = shortfall.conflict.problem(&problem);
            assert_eq!(plan_shims(&part).unwrap().status, Status::Infeasible, "{part:#?}");
            short += 1;
        }
    }
    assert!(steps > 10 && short > 10, "{steps} {short}");
}
