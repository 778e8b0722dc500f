//! How a search is run: on many problems at once, and stopped from outside.

use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use truebed::{
    Adjusts, Length, Limits, Order, Shim, ShimPlan, ShimProblem, Status, Support, plan_many,
    plan_many_until, plan_shims, plan_shims_until,
};
use truebed_tests::random::{Random, small_problem};
use truebed_tests::slow;

#[test]
fn many_problems_get_the_plans_that_each_gets_alone() {
    let mut random = Random(6);
    let mut problems: Vec<_> =
        (0..500).map(|_| small_problem(&mut random, Order::FewestPieces)).collect();
    problems[7].stock.clear();
    let together = plan_many(&problems);
    let alone: Vec<_> = problems.iter().map(plan_shims).collect();
    assert_eq!(together, alone);
    assert!(together[7].is_err());
    for (problem, answer) in problems.iter().zip(&together) {
        assert_eq!(problem.check().err(), answer.clone().err());
    }
    assert!(plan_many(&[]).is_empty());
}

/// Three supports five millimetres down and 128 kinds that are nearly alike: millions of stacks
/// are as good as each other.
fn endless() -> ShimProblem {
    let mm = |mm: f64| Length::from_mm(mm).unwrap();
    let supports = (0..4)
        .map(|at| Support {
            x: mm(f64::from(at) * 1e3),
            y: mm(0.0),
            height: mm(if at == 0 { 0.0 } else { -5.0 }),
        })
        .collect();
    let stock = (0..128).map(|kind| Shim::new(mm(1.0 + f64::from(kind) * 1e-4), None)).collect();
    ShimProblem::new(supports, stock, Limits::overall(mm(0.05)))
}

#[test]
fn a_search_can_be_stopped_from_another_thread() {
    let [asked, stop] = [AtomicBool::new(false), AtomicBool::new(false)];
    // The search waits where it asks, so that it is under way when it is stopped, however fast it is.
    let until = || {
        asked.store(true, Ordering::Relaxed);
        while !stop.load(Ordering::Relaxed) {
            thread::yield_now();
        }
        true
    };
    let plan = thread::scope(|scope| {
        let search = scope.spawn(|| plan_shims_until(&endless(), &until));
        while !asked.load(Ordering::Relaxed) {
            assert!(!search.is_finished(), "too easy for this test");
            thread::yield_now();
        }
        stop.store(true, Ordering::Relaxed);
        search.join().unwrap().unwrap()
    });
    assert_eq!(plan.status, Status::Budget);
    assert!(plan.meets_limits, "a first plan by rule of thumb is easy here");
}

#[test]
fn a_search_keeps_to_its_time() {
    let mut problem = endless();
    problem.options.budget.time_ms = Some(100);
    let start = Instant::now();
    assert_eq!(plan_shims(&problem).unwrap().status, Status::Budget);
    // Generous, for a loaded machine: without the budget it takes minutes.
    assert!(start.elapsed() < Duration::from_secs(10));
}

/// A batch that is stopped gives every problem an answer, and those that were done stay proven.
#[test]
fn a_batch_can_be_stopped() {
    let mut random = Random(9);
    let problems: Vec<_> =
        (0..400).map(|_| small_problem(&mut random, Order::FewestPieces)).collect();
    let asked = std::cell::Cell::new(0);
    let never = plan_many_until(&problems, &|done| {
        asked.set(asked.get().max(done));
        false
    });
    assert!(asked.get() <= problems.len());
    assert_eq!(never, plan_many(&problems));
    let stopped = plan_many_until(&vec![problems[0].clone(); 200_000], &|_| true);
    assert_eq!(stopped.len(), 200_000);
    let cut =
        |plan: &Result<ShimPlan, truebed::Error>| plan.as_ref().unwrap().status == Status::Budget;
    assert!(stopped.iter().any(cut));
}

/// Four legs, one plain kind and one that can be set to any micrometre, held to ± .1 mm: hundreds
/// of settings under each leg are as good as each other.
fn many_settings() -> ShimProblem {
    let mm = |mm: f64| Length::from_mm(mm).unwrap();
    let support = |(x, height)| Support { x: mm(x), y: mm(0.0), height: mm(height) };
    let supports = [(0.0, 0.0), (1e3, -4.1), (2e3, -7.3), (3e3, -2.2)].map(support).to_vec();
    let wedge = Shim {
        adjusts: Some(Adjusts { to: mm(12.0), step: Length::from_nm(100) }),
        ..Shim::new(mm(1.0), Some(8))
    };
    let mut limits = Limits::overall(mm(0.1));
    limits.along = Some(mm(0.05));
    ShimProblem::new(supports, vec![Shim::new(mm(0.4), Some(9)), wedge], limits)
}

#[test]
fn work_on_many_settings_counts() {
    let mut problem = many_settings();
    problem.options.budget.nodes = 100_000;
    let plan = plan_shims(&problem).unwrap();
    // What a stop comes too late by, and the look for the flattest plan, are little.
    assert!(plan.nodes < 200_000, "{}", plan.nodes);
    problem.options.budget = truebed::Budget { time_ms: Some(300), ..Default::default() };
    let start = Instant::now();
    plan_shims(&problem).unwrap();
    // Generous, for a loaded machine.
    assert!(start.elapsed() < Duration::from_secs(6), "{:?}", start.elapsed());
}

/// Small problems that were found to cost much (`benches/src/bin/slow.rs` searches for more): the
/// meter counts their work.
#[test]
fn work_on_slow_problems_counts() {
    const NODES: u64 = 50_000;
    for line in include_str!("../data/slow.txt").lines().filter(|line| !line.starts_with('#')) {
        let text = line.split('#').next().unwrap();
        let genes: Vec<u8> = text.split_whitespace().map(|gene| gene.parse().unwrap()).collect();
        let mut problem = slow::problem(&genes.try_into().unwrap());
        problem.options.budget.nodes = NODES;
        let start = Instant::now();
        let Ok(plan) = plan_shims(&problem) else { continue };
        assert!(plan.nodes < 4 * NODES, "{line}: {}", plan.nodes);
        // Generous, for a loaded machine.
        assert!(start.elapsed() < Duration::from_secs(5), "{line}: {:?}", start.elapsed());
    }
}
