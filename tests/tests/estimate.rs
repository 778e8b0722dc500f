//! Floors, estimates and kits, held against the standard's own calculation, against trying every kit,
//! and against what they promise.

use std::cell::Cell;
use std::num::NonZero;

use truebed::{
    Again, EstimateOptions, Figure, FloorModel, KitOptions, Length, Limits, Rates, Reason, Shim,
    ShimProblem, Status, Support, estimate, estimate_until, floor_numbers, kit, plan_shims,
};

fn mm(mm: f64) -> Length {
    Length::from_mm(mm).unwrap()
}

/// Four legs, ±.15 mm, heights that do not matter.
fn table(stock: &[(f64, Option<u32>)]) -> ShimProblem {
    let leg = |&(x, y): &(f64, f64)| Support { x: mm(x), y: mm(y), height: mm(0.0) };
    let legs = [(0.0, 0.0), (2134.0, 0.0), (2134.0, 1016.0), (0.0, 1016.0)];
    let stock = stock.iter().map(|&(thickness, count)| Shim::new(mm(thickness), count)).collect();
    ShimProblem::new(legs.iter().map(leg).collect(), stock, Limits::overall(mm(0.15)))
}

fn places(problem: &ShimProblem) -> Vec<[f64; 2]> {
    problem.supports.iter().map(|support| [support.x.mm(), support.y.mm()]).collect()
}

fn floor() -> FloorModel {
    FloorModel::from_f_numbers(35.0, 25.0).unwrap()
}

/// The F-numbers of ASTM E1155, calculated from lines that were drawn, are those of the model.
#[test]
fn drawn_lines_have_the_f_numbers_of_the_model() {
    let line: Vec<[f64; 2]> = (0..41).map(|at| [f64::from(at) * 304.8, 0.0]).collect();
    for (ff, fl) in [(20.0, 15.0), (35.0, 25.0), (60.0, 40.0)] {
        let model = FloorModel::from_f_numbers(ff, fl).unwrap();
        let heights = model.sample(&line, 400, 11).unwrap();
        let lines: Vec<&[f64]> = heights.chunks(line.len()).collect();
        let found = floor_numbers(&lines);
        // 400 lines of 39 bends fix FF within 2 %; rises of one line overlap, so FL within 6 %.
        assert!((found.flatness / ff - 1.0).abs() < 0.03, "FF {} of {ff}", found.flatness);
        assert!((found.levelness / fl - 1.0).abs() < 0.08, "FL {} of {fl}", found.levelness);
    }
}

/// Own derivation, with 2·10⁵ draws apart: two legs 2134 mm apart on FF 20, FL 15 have a mean lift
/// of 4.46 mm; four legs a mean sum of 14.13 mm, and 27.86 mm at 95 %.
#[test]
fn lifts_of_bare_legs() {
    let model = FloorModel::from_f_numbers(20.0, 15.0).unwrap();
    let legs = [[0.0, 0.0], [2134.0, 0.0], [2134.0, 1016.0], [0.0, 1016.0]];
    let n = 20_000;
    let sums = |legs: &[[f64; 2]]| -> Vec<f64> {
        let heights = model.sample(legs, n, 5).unwrap();
        let lift = |heights: &[f64]| {
            let top = heights.iter().copied().fold(f64::MIN, f64::max);
            heights.iter().map(|height| top - height).sum()
        };
        heights.chunks(legs.len()).map(lift).collect()
    };
    let mean = |sums: &[f64]| sums.iter().sum::<f64>() / sums.len() as f64;
    assert!((mean(&sums(&legs[..2])) - 4.46).abs() < 0.12);
    let mut four = sums(&legs);
    assert!((mean(&four) - 14.13).abs() < 0.25);
    four.sort_unstable_by(f64::total_cmp);
    assert!((four[n * 95 / 100] - 27.86).abs() < 0.8);
}

#[test]
fn estimates_are_the_plans_of_the_floors_drawn() {
    let problem = table(&[(2.0, Some(6)), (0.5, Some(8)), (0.2, Some(8))]);
    let options = EstimateOptions {
        jobs: 300,
        seed: 9,
        prices: Some(Rates { job: 100.0, lift: 5.0, ..Rates::default() }),
        ..EstimateOptions::default()
    };
    let found = estimate(&floor(), &problem, &options).unwrap();
    let heights = floor().sample(&places(&problem), 300, 9).unwrap();
    let mut served = 0;
    for (job, heights) in heights.chunks(4).enumerate() {
        let mut one = problem.clone();
        one.supports.iter_mut().zip(heights).for_each(|(leg, &height)| leg.height = mm(height));
        let plan = plan_shims(&one).unwrap();
        if plan.status == Status::Infeasible {
            assert!(found.pieces[job].is_nan() && found.cost[job].is_nan());
            assert!(found.used[3 * job].is_nan() && found.lifts_mm[4 * job].is_nan());
            continue;
        }
        served += 1;
        assert_eq!(found.pieces[job], plan.pieces as f64);
        assert_eq!(found.lifts[job], plan.lifted.len() as f64);
        assert_eq!(found.cost[job], 100.0 + 5.0 * plan.lifted.len() as f64);
        for (at, lift) in plan.lifts.iter().enumerate() {
            assert_eq!(found.lifts_mm[4 * job + at], lift.mm());
        }
    }
    assert_eq!(found.served_jobs, served);
    assert!((1..300).contains(&served), "{served}");
    let others: usize = found.reasons.iter().map(|(_, count)| count).sum();
    assert_eq!(others, 300 - served);
    let [least, most] = found.interval;
    assert!(least < found.served && found.served < most);
    let median = found.quantile(Figure::Pieces, 0.5);
    let below = found.pieces.iter().filter(|&&pieces| pieces <= median).count();
    assert!(2 * below >= served);
    assert!(found.quantile(Figure::Minutes, 0.5).is_nan() && found.again.is_nan());
}

#[test]
fn the_answer_is_the_same_on_any_number_of_threads() {
    let problem = table(&[(1.0, Some(20)), (0.2, Some(12))]);
    let again = Again { settlement_sigma_mm: 0.05, reading_sigma_mm: 0.03 };
    let on = |threads: usize| {
        let options = EstimateOptions {
            jobs: 2500,
            again: Some(again),
            threads: NonZero::new(threads),
            ..EstimateOptions::default()
        };
        format!("{:?}", estimate(&floor(), &problem, &options).unwrap())
    };
    assert_eq!(on(1), on(3));
}

/// Without settlement and errors nothing needs a second pass; with much of both, nearly all do.
#[test]
fn second_passes() {
    let problem = table(&[(1.0, None), (0.2, None), (0.1, None)]);
    let share = |sigma: f64| {
        let again = Again { settlement_sigma_mm: sigma, reading_sigma_mm: 0.0 };
        let options =
            EstimateOptions { jobs: 400, again: Some(again), ..EstimateOptions::default() };
        estimate(&floor(), &problem, &options).unwrap().again
    };
    assert_eq!(share(0.0), 0.0);
    assert!(share(1.0) > 0.9);
    let middle = share(0.08);
    assert!(middle > 0.1 && middle < 0.9, "{middle}");
}

#[test]
fn why_jobs_are_not_served() {
    let all = |problem: &ShimProblem| {
        let options = EstimateOptions { jobs: 100, ..EstimateOptions::default() };
        estimate(&floor(), problem, &options).unwrap().reasons
    };
    let few = all(&table(&[(1.0, Some(2)), (0.2, Some(2))]));
    assert_eq!(few[0].0, Reason::Counts);
    let kinds = all(&table(&[(25.0, None)]));
    assert_eq!(kinds[0].0, Reason::Kinds);
    let mut low = table(&[(1.0, None), (0.2, None)]);
    low.options.max_pieces = Some(2);
    assert_eq!(all(&low)[0].0, Reason::Stacks);
}

#[test]
fn estimates_stop() {
    let problem = table(&[(1.0, Some(20)), (0.2, Some(12))]);
    let options = EstimateOptions { jobs: 10_000_000, ..EstimateOptions::default() };
    let asked = Cell::new(0);
    let stop = |_: usize| {
        asked.set(asked.get() + 1);
        asked.get() > 3
    };
    let found = estimate_until(&floor(), &problem, &options, &stop).unwrap();
    // However quick the jobs are, it is asked every two thousand at the latest.
    assert!(found.stopped && found.jobs < 10_000, "{}", found.jobs);
    assert_eq!(found.pieces.len(), found.jobs);
    let standard_error = EstimateOptions { standard_error: Some(0.02), jobs: 1_000_000, ..options };
    let found = estimate(&floor(), &problem, &standard_error).unwrap();
    assert!(!found.stopped && found.jobs < 10_000, "{}", found.jobs);
}

#[test]
fn bad_options_are_refused() {
    let problem = table(&[(1.0, None)]);
    let bad = EstimateOptions {
        jobs: 0,
        confidence: 1.0,
        standard_error: Some(0.0),
        again: Some(Again { settlement_sigma_mm: -1.0, reading_sigma_mm: f64::NAN }),
        prices: Some(Rates { lift: f64::INFINITY, ..Rates::default() }),
        ..EstimateOptions::default()
    };
    let text = estimate(&floor(), &problem, &bad).unwrap_err().to_string();
    for field in
        ["jobs", "confidence", "standard_error", "again.settlement", "again.reading", "prices.lift"]
    {
        assert!(text.contains(&format!("{field}: got")), "{field} in {text}");
    }
    let bad = KitOptions {
        share: 1.0,
        confidence: 0.0,
        training_jobs: 0,
        fresh_jobs: 0,
        most: vec![1, 2],
        packs: vec![0],
        ..KitOptions::default()
    };
    let text = kit(&floor(), &problem, &bad).unwrap_err().to_string();
    for field in ["share", "confidence", "training_jobs", "fresh_jobs", "most", "packs[0]"] {
        assert!(text.contains(&format!("{field}: got")), "{field} in {text}");
    }
}

/// Small kits against all there are, on the very jobs they were chosen on: with an overall limit alone, where
/// all kits are looked at together, and with lines too, where it is branch and bound.
#[test]
fn kits_are_the_smallest_of_all() {
    let along = Limits { along: Some(mm(0.1)), ..Limits::overall(mm(0.15)) };
    for (seed, thicknesses, packs, prices) in [
        (1, vec![3.0, 0.6, 0.2], vec![], vec![]),
        (2, vec![2.0, 0.4], vec![2, 3], vec![]),
        (3, vec![1.5, 0.25], vec![], vec![]),
        (4, vec![1.5, 0.25], vec![], vec![90, 25]),
        (5, vec![2.0, 0.3], vec![2, 1], vec![0, 30]),
    ] {
        for limits in [Limits::overall(mm(0.15)), along.clone()] {
            let stock: Vec<_> = thicknesses.iter().map(|&thickness| (thickness, None)).collect();
            let mut problem = table(&stock);
            problem.limits = limits;
            for (shim, &price) in problem.stock.iter_mut().zip(&prices) {
                shim.price = price;
            }
            let most = if stock.len() == 3 { 7 } else { 14 };
            let options = KitOptions {
                share: 0.6,
                seed,
                training_jobs: 40,
                most: vec![most; stock.len()],
                packs: packs.clone(),
                cheapest: !prices.is_empty(),
                ..KitOptions::default()
            };
            is_the_smallest_of_all(&problem, &options);
        }
    }
}

/// Tries every kit on the training jobs.
fn is_the_smallest_of_all(problem: &ShimProblem, options: &KitOptions) {
    let found = kit(&floor(), problem, options).unwrap();
    assert!(found.proven);
    let wanted = (found.training_share * 40.0).ceil() as usize;
    let heights = floor().sample(&places(problem), 40, options.seed).unwrap();
    let served = |counts: &[u32]| {
        let meets = |heights: &[f64]| {
            let mut one = problem.clone();
            one.stock.iter_mut().zip(counts).for_each(|(shim, &n)| shim.count = Some(n));
            one.supports.iter_mut().zip(heights).for_each(|(leg, &h)| leg.height = mm(h));
            plan_shims(&one).unwrap().meets_limits
        };
        heights.chunks(4).filter(|heights| meets(heights)).count()
    };
    let cost = |counts: &[u32]| {
        let price = |shim: &Shim| if options.cheapest { shim.price } else { 1 };
        problem.stock.iter().zip(counts).map(|(shim, n)| n * price(shim)).sum::<u32>()
    };
    let pack = |kind: usize| options.packs.get(kind).copied().unwrap_or(1);
    let mut least: Option<u32> = None;
    let mut counts = vec![0; problem.stock.len()];
    'all: loop {
        if least.is_none_or(|least| cost(&counts) < least) && served(&counts) >= wanted {
            least = Some(cost(&counts));
        }
        for (kind, count) in counts.iter_mut().enumerate() {
            *count += pack(kind);
            if *count <= options.most[kind] {
                continue 'all;
            }
            *count = 0;
        }
        break;
    }
    match least {
        Some(least) => {
            assert_eq!(cost(&found.counts), least, "{options:?}");
            assert!(served(&found.counts) >= wanted);
        }
        None => assert!(!found.meets_share),
    }
}

/// The promise: a kit that says it serves the share does, with the confidence asked for.
#[test]
fn kits_keep_their_share() {
    let problem = table(&[(2.0, None), (0.25, None)]);
    let truth = |counts: &[u32], seed: u64| {
        let mut stocked = problem.clone();
        stocked.stock.iter_mut().zip(counts).for_each(|(shim, &n)| shim.count = Some(n));
        let options = EstimateOptions { jobs: 3000, seed, ..EstimateOptions::default() };
        estimate(&floor(), &stocked, &options).unwrap().served
    };
    let (mut promised, mut broken) = (0, 0);
    for seed in 0..30 {
        let options = KitOptions {
            share: 0.9,
            confidence: 0.8,
            seed,
            training_jobs: 100,
            fresh_jobs: 200,
            ..KitOptions::default()
        };
        let found = kit(&floor(), &problem, &options).unwrap();
        if found.meets_share {
            promised += 1;
            // A tenth of a percent for the error of the count.
            broken += usize::from(truth(&found.counts, 1000 + seed) < 0.899);
        }
        assert_eq!(found.failures, found.fresh_jobs - (found.served * 200.0).round() as usize);
    }
    // One in five may be broken; at four standard errors that is 15 of 30.
    assert!(promised >= 20, "{promised}");
    assert!(broken <= 12, "{broken} of {promised}");
}
