//! Runs truebed on the instances of one family and prints them with the results as JSON.
//!
//! `families NAME [--instances N] [--nodes N] [--seconds S]`; without a name it lists the
//! families. One family a process, so that the peak of memory is the family's own.

use std::process::ExitCode;
use std::time::Instant;

use serde::Serialize;
use truebed::{Error, Length, Order, PlanOptions, ShimPlan, ShimProblem, Status, plan_shims};
use truebed_benches::{FAMILIES, Family};

fn main() -> ExitCode {
    match output() {
        Ok(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn output() -> Result<String, String> {
    let mut arguments = std::env::args().skip(1);
    let Some(name) = arguments.next() else {
        let lines = FAMILIES.iter().map(|family| format!("{}: {}", family.name, family.words));
        return Ok(lines.collect::<Vec<_>>().join("\n"));
    };
    let family = Family::named(&name).ok_or_else(|| format!("no family {name}"))?;
    let mut seeds = family.seeds;
    let mut options = PlanOptions::default();
    options.budget.time_ms = Some(20_000);
    while let Some(flag) = arguments.next() {
        let value = arguments.next().and_then(|value| value.parse::<u64>().ok());
        let value = value.ok_or_else(|| format!("{flag} takes a whole number"))?;
        match flag.as_str() {
            "--instances" => seeds = seeds.min(value),
            "--nodes" => options.budget.nodes = value,
            "--seconds" => options.budget.time_ms = Some(value.saturating_mul(1000)),
            _ => return Err(format!("no flag {flag}")),
        }
    }
    let instance = |seed| {
        let mut problem = (family.problem)(seed);
        problem.options.budget = options.budget;
        Instance::run(seed, &problem)
    };
    let instances: Result<Vec<_>, Error> = (1..=seeds).map(instance).collect();
    let document = Document {
        family: family.name,
        words: family.words,
        instances: instances.map_err(|error| error.to_string())?,
        peak_kib: peak_kib(),
    };
    serde_json::to_string(&document).map_err(|error| error.to_string())
}

#[derive(Serialize)]
struct Document {
    family: &'static str,
    words: &'static str,
    instances: Vec<Instance>,
    /// The most memory that the process ever held, where the system tells.
    peak_kib: Option<u64>,
}

/// An instance in whole nanometres, and what became of it.
#[derive(Serialize)]
struct Instance {
    seed: u64,
    heights: Vec<i64>,
    thickness: Vec<i64>,
    counts: Vec<Option<u32>>,
    /// Sets of supports and the largest difference of height allowed within each.
    spans: Vec<(Vec<usize>, i64)>,
    joints: Vec<[usize; 2]>,
    keep_highest: bool,
    /// The most pieces under one support.
    max_pieces: Option<u32>,
    /// Prices, where the lowest price is the first goal.
    prices: Option<Vec<u32>>,
    /// Of adjustable kinds the greatest thickness and the step.
    adjusts: Vec<Option<[i64; 2]>>,
    result: Outcome,
}

impl Instance {
    fn run(seed: u64, problem: &ShimProblem) -> Result<Self, Error> {
        let nm = |length: Length| length.nm();
        Ok(Self {
            seed,
            heights: problem.supports.iter().map(|support| nm(support.height)).collect(),
            thickness: problem.stock.iter().map(|shim| nm(shim.thickness)).collect(),
            counts: problem.stock.iter().map(|shim| shim.count).collect(),
            spans: spans(problem),
            joints: problem.joints.clone(),
            keep_highest: problem.options.keep_highest,
            max_pieces: problem.options.max_pieces,
            prices: (problem.options.order == Order::Cheapest)
                .then(|| problem.stock.iter().map(|shim| shim.price).collect()),
            adjusts: problem
                .stock
                .iter()
                .map(|shim| shim.adjusts.map(|adjusts| [nm(adjusts.to), nm(adjusts.step)]))
                .collect(),
            result: Outcome::of(problem)?,
        })
    }
}

#[derive(Serialize)]
struct Outcome {
    status: Status,
    meets_limits: bool,
    pieces: usize,
    price: u64,
    /// Between the highest and the lowest top, in nanometres.
    range: i64,
    kinds: usize,
    /// See [`ShimPlan::bound`].
    bound: f64,
    nodes: u64,
    /// The median of the calls; of those above a millisecond the mean time on the core.
    seconds: f64,
    calls: usize,
}

impl Outcome {
    /// A call below this is repeated until about this long is spent.
    const SHORT: f64 = 0.2;
    /// Calls below this are over before the system gives the core to another process.
    const UNDISTURBED: f64 = 1e-3;

    fn of(problem: &ShimProblem) -> Result<Self, Error> {
        let start = on_core();
        let (mut first, plan) = timed(problem)?;
        if let (true, Some(start), Some(end)) = (first >= Self::SHORT, start, on_core()) {
            first = end - start;
        }
        // The first call warms up, unless it is long enough to stand alone.
        let mut seconds = vec![first];
        if first < Self::SHORT {
            let start = on_core();
            let calls = (Self::SHORT / first).clamp(5.0, 1000.0) as usize;
            let again = |_| timed(problem).map(|(seconds, _)| seconds);
            seconds = (0..calls).map(again).collect::<Result<_, _>>()?;
            seconds.sort_by(f64::total_cmp);
            if let (true, Some(start), Some(end)) =
                (seconds[seconds.len() / 2] >= Self::UNDISTURBED, start, on_core())
            {
                let mean = (end - start) / seconds.len() as f64;
                seconds.fill(mean);
            }
        }
        Ok(Self {
            status: plan.status,
            meets_limits: plan.meets_limits,
            pieces: plan.pieces,
            price: problem
                .stock
                .iter()
                .zip(&plan.used)
                .map(|(shim, &used)| u64::from(shim.price) * used as u64)
                .sum(),
            range: plan.range().nm(),
            kinds: plan.used.iter().filter(|&&used| used > 0).count(),
            bound: plan.bound,
            nodes: plan.nodes,
            seconds: seconds[seconds.len() / 2],
            calls: seconds.len(),
        })
    }
}

/// Seconds that this thread has had a core, where the system tells.
fn on_core() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds: f64 = text.split_whitespace().next()?.parse().ok()?;
    Some(nanoseconds * 1e-9)
}

fn timed(problem: &ShimProblem) -> Result<(f64, ShimPlan), Error> {
    let start = Instant::now();
    let plan = plan_shims(problem)?;
    Ok((start.elapsed().as_secs_f64(), plan))
}

/// The limits as sets of supports; the lines of these floors are exact, so equal places make a
/// line.
fn spans(problem: &ShimProblem) -> Vec<(Vec<usize>, i64)> {
    let limits = &problem.limits;
    let mut spans = Vec::new();
    if let Some(overall) = limits.overall {
        spans.push(((0..problem.supports.len()).collect(), 2 * overall.nm()));
    }
    for (limit, axis) in [(limits.along, 1), (limits.across, 0)] {
        let Some(limit) = limit else { continue };
        let mut lines = std::collections::BTreeMap::<Length, Vec<usize>>::new();
        for (at, support) in problem.supports.iter().enumerate() {
            lines.entry([support.x, support.y][axis]).or_default().push(at);
        }
        spans.extend(lines.into_values().map(|members| (members, 2 * limit.nm())));
    }
    if let Some(step) = limits.joint_step {
        spans.extend(problem.joints.iter().map(|joint| (joint.to_vec(), step.nm())));
    }
    spans
}

fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse().ok()
}
