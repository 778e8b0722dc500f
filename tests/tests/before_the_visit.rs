//! What is promised before the visit, from the input to the claim: the interval of a share, the readings
//! that prove a limit, and the estimate of a job within its budget.

use serde_json::{Value, json};
use truebed::{
    Budget, EstimateOptions, FloorModel, Job, Length, Limits, Reading, Shim, ShimProblem, Step,
    Support, Survey, SurveyPattern, adjust, estimate, readings_needed,
};

fn mm(mm: f64) -> Length {
    Length::from_mm(mm).unwrap()
}

const LEGS: [(f64, f64); 4] = [(0.0, 0.0), (2134.0, 0.0), (2134.0, 1016.0), (0.0, 1016.0)];

/// The promise: of many estimates, 95 in 100 have the share in their interval. One estimate of many jobs
/// stands for the share itself.
#[test]
fn intervals_of_shares_hold_the_share() {
    let leg = |&(x, y): &(f64, f64)| Support { x: mm(x), y: mm(y), height: mm(0.0) };
    let stock = vec![Shim::new(mm(2.0), Some(2)), Shim::new(mm(0.25), Some(9))];
    let problem =
        ShimProblem::new(LEGS[..3].iter().map(leg).collect(), stock, Limits::overall(mm(0.15)));
    let floor = FloorModel::from_f_numbers(35.0, 25.0).unwrap();
    let of = |jobs: usize, seed: u64| {
        let options = EstimateOptions { jobs, seed, ..EstimateOptions::default() };
        estimate(&floor, &problem, &options).unwrap()
    };
    let share = of(6000, 1_000_000).served;
    assert!((0.1..0.9).contains(&share), "{share}");
    let runs = 120;
    let holds = |seed: &u64| {
        let [least, most] = of(40, *seed).interval;
        (least..=most).contains(&share)
    };
    let held = (0..runs).filter(holds).count();
    // 95 % of 120 less four standard errors.
    assert!(held >= 105, "{held} of {runs}");
}

/// The promise: a table whose legs are brought level by the readings of the survey, to within what the
/// plan leaves, keeps the limits; of many tables no more than the doubt do not.
#[test]
fn beds_level_by_so_many_readings_keep_the_limits() {
    let places: Vec<[Length; 2]> = LEGS.iter().map(|&(x, y)| [mm(x), mm(y)]).collect();
    let floor = FloorModel::from_f_numbers(25.0, 20.0).unwrap();
    let xy: Vec<[f64; 2]> = LEGS.iter().map(|&(x, y)| [x, y]).collect();
    let (sigma, limit, left, doubt) = (0.2, 0.15, 0.03, 0.1);
    for pattern in [SurveyPattern::Heights, SurveyPattern::Loop] {
        let limits = Limits::overall(mm(limit));
        let needed =
            readings_needed(&places, &limits, &[], pattern, sigma, mm(left), doubt).unwrap();
        let broken = |rounds: usize, seed: u64| {
            let runs = 1500;
            let floors = floor.sample(&xy, runs, seed).unwrap();
            // Errors of readings: independent heights of another model.
            let errors = FloorModel::from_sigma(sigma).unwrap();
            let at = vec![[0.0; 2]; 4 * rounds];
            let errors = errors.sample(&at, runs, seed + 1).unwrap();
            let table = |(heights, errors): (&[f64], &[f64])| {
                let read = read(pattern, heights, errors);
                let found = adjust(&Survey::new(read)).unwrap().mm;
                // Shims bring each leg level as read, off by what the plan leaves, this way and that.
                let off = [left, -left, left, -left];
                let top = |at: usize| heights[at] - found[at] + off[at];
                let tops: Vec<f64> = (0..4).map(top).collect();
                let highest = tops.iter().copied().fold(f64::MIN, f64::max);
                highest - tops.iter().copied().fold(f64::MAX, f64::min) > 2.0 * limit
            };
            let tables = floors.chunks(4).zip(errors.chunks(4 * rounds));
            tables.filter(|table_| table(*table_)).count() as f64 / runs as f64
        };
        let error = 4.0 * (doubt * (1.0 - doubt) / 1500.0_f64).sqrt();
        let share = broken(needed.rounds, 5);
        assert!(share <= doubt + error, "{pattern:?}: {share} with {} rounds", needed.rounds);
        // Half of the rounds do not do.
        assert!(broken(needed.rounds / 2, 9) > doubt, "{pattern:?}");
    }
}

/// What is read of these heights with these errors.
fn read(pattern: SurveyPattern, heights: &[f64], errors: &[f64]) -> Vec<Reading> {
    let reading = |(at, error): (usize, &f64)| {
        let (a, b) = (at % 4, (at + 1) % 4);
        let value = match pattern {
            SurveyPattern::Loop => heights[b] - heights[a] + error,
            _ => heights[a] + error,
        };
        match pattern {
            SurveyPattern::Loop => Reading::rise(a.to_string(), b.to_string(), value, Some(0.2)),
            _ => Reading::height(a.to_string(), value, Some(0.2)),
        }
    };
    errors.iter().enumerate().map(reading).collect()
}

fn document() -> Value {
    let text = include_str!("../vectors/good/estimate.job.json");
    serde_json::from_str(text).unwrap()
}

fn job(document: &Value) -> Job {
    Job::from_json(&document.to_string()).unwrap()
}

/// A budget that runs out leaves the jobs drawn by then, and says so.
#[test]
fn estimates_of_jobs_end_with_their_budget() {
    let mut asked = document();
    asked["estimate"]["jobs"] = json!(100_000);
    let budget = Budget { nodes: u64::MAX, time_ms: Some(300) };
    let done = job(&asked).run_until(&budget, &|| false).unwrap();
    let sheet = done.sheet_of_outcome();
    let outcome = done.outcome.unwrap();
    assert_eq!(outcome.ran_out[0].step, Step::Estimate);
    assert!(sheet.contains("The budget ran out"), "{sheet}");
    let found = outcome.estimate.unwrap();
    assert!(found.jobs < 100_000);
    let stopped = job(&asked).run_until(&Budget { nodes: u64::MAX, time_ms: None }, &|| true);
    let outcome = stopped.unwrap().outcome.unwrap();
    assert_eq!(outcome.ran_out[0].step, Step::Estimate);
    assert!(outcome.estimate.unwrap().jobs < 100_000);
}

/// Quantities and prices of the document add up to its cost, and a leg of a table carries its load.
#[test]
fn bills_add_up() {
    let mut asked = document();
    asked["estimate"]["jobs"] = json!(60);
    asked["stock"].as_array_mut().unwrap().iter_mut().for_each(|it| it["count"] = json!(30));
    let outcome = job(&asked).run().unwrap().outcome.unwrap();
    let found = outcome.estimate.unwrap();
    assert_eq!((found.jobs, found.served), (60, Some(1.0)));
    let mean =
        |name: &str| found.operations.iter().find(|it| it.operation == name).unwrap().mean.unwrap();
    let materials: f64 =
        found.materials.iter().map(|it| f64::from(it.price) * it.mean.unwrap()).sum();
    let cost = 4000.0
        + 100.0 * mean("reading")
        + 800.0 * mean("lift")
        + 1500.0 * mean("slate")
        + 2500.0 * mean("repeat")
        + materials;
    assert!((found.cost.unwrap().mean - cost).abs() < 1e-6 * cost);
    let weights = found.weights.unwrap();
    let stands: f64 = weights.legs.iter().map(|leg| leg.stands_kg).sum();
    assert!((stands - weights.total_kg).abs() < 1e-9);
    // 0.7 × 1 × 0.025 m³ of 2793.6 kg/m³.
    assert!((weights.slates[0].kg - 48.888).abs() < 1e-9 && weights.slates[0].people == 3);
    let all: usize = found.pieces.unwrap().histogram.iter().map(|(_, jobs)| jobs).sum();
    assert_eq!(all, 60);
}

/// A job counts the readings that the call counts, for the limits of its legs, and its sheet says so.
#[test]
fn readings_of_jobs_are_those_of_the_call() {
    let mut asked = document();
    asked["estimate"]["jobs"] = json!(1);
    for (name, pattern) in SurveyPattern::ALL.map(|(pattern, name)| (name, pattern)) {
        asked["estimate"]["readings_needed"] =
            json!({ "pattern": name, "reading": "0.2 mm", "left": "0.03 mm", "doubt": 0.1 });
        let done = job(&asked).run().unwrap();
        let sheet = done.sheet_of_outcome().split_whitespace().collect::<Vec<_>>().join(" ");
        let found = done.outcome.unwrap().estimate.unwrap().readings_needed.unwrap();
        let places: Vec<[Length; 2]> = LEGS.iter().map(|&(x, y)| [mm(x), mm(y)]).collect();
        let limits = Limits::overall(mm(0.15));
        let call = readings_needed(&places, &limits, &[], pattern, 0.2, mm(0.03), 0.1).unwrap();
        assert_eq!((found.rounds, found.readings), (call.rounds, call.readings));
        assert!((found.doubt - call.doubt).abs() < 1e-6 && found.doubt <= 0.1);
        let sentence =
            format!("{} readings with a standard uncertainty of 0.200 mm", call.readings);
        assert!(sheet.contains(&sentence), "{sheet}");
    }
}
