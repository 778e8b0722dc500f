//! Runs truebed on the instances of one family and prints them with the results as JSON.
//!
//! `families NAME [--instances N] [--nodes N] [--seconds S]`; without a name it lists the
//! families. One family a process, so that the peak of memory is the family's own.

use std::process::ExitCode;
use std::time::Instant;

use serde::Serialize;
use truebed::{
    Error, Length, Order, PlanOptions, ProblemKind, Shim, ShimPlan, ShimProblem, Status,
    plan_shims, shortfall, tradeoff,
};
use truebed_benches::kinds::MICRON;
use truebed_benches::{Asks, Family};

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
        let lines = Family::all().map(|family| format!("{}: {}", family.name, family.words));
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
        Instance::run(seed, &problem, family.asks)
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
    /// Whether the whole trade-off is asked for, and not one plan.
    tradeoff: bool,
    /// Heights without shims.
    heights: Vec<i64>,
    /// Where the supports stand, in millimetres.
    places: Vec<[i64; 2]>,
    thickness: Vec<i64>,
    /// Pieces on hand and in place.
    counts: Vec<Option<u32>>,
    /// Of kinds that may go under some supports only, which.
    under: Vec<Option<Vec<usize>>>,
    /// Sets of supports and the largest difference of height allowed within each.
    spans: Vec<(Vec<usize>, i64)>,
    joints: Vec<[usize; 2]>,
    keep_highest: bool,
    /// The most pieces under one support.
    max_pieces: Option<u32>,
    /// Prices, where the lowest price is the first goal.
    prices: Option<Vec<u32>>,
    /// Whether the narrowest range of tops is the first goal.
    flattest: bool,
    /// Of adjustable kinds the greatest thickness and the step.
    adjusts: Vec<Option<[i64; 2]>>,
    /// Pieces of each kind that stand under each support, in a next pass.
    placed: Option<Vec<Vec<u32>>>,
    /// How much the target may slope along and across, µm/m.
    slopes: [u32; 2],
    /// The covariance of the heights, mm², and the risk a pair, where there are guard bands.
    guard: Option<(Vec<f64>, f64)>,
    result: Outcome,
}

impl Instance {
    fn run(seed: u64, problem: &ShimProblem, asks: Asks) -> Result<Self, Error> {
        let nm = |length: Length| length.nm();
        // Of a shortfall the addition: the cheapest plan from a stock for nothing and the catalogue.
        let mut stock = problem.stock.clone();
        let catalogue = catalogue(asks);
        stock.extend(catalogue.iter().cloned());
        let placed = problem.placed.as_ref().map(|placed| {
            let of =
                |stack: &Vec<usize>, kind| stack.iter().filter(|&&of| of == kind).count() as u32;
            let counts = |stack| (0..stock.len()).map(|kind| of(stack, kind)).collect();
            placed.stacks.iter().map(counts).collect::<Vec<Vec<u32>>>()
        });
        let in_place = |kind: usize| placed.iter().flatten().map(|stack| stack[kind]).sum::<u32>();
        let lift = |at: usize| -> i64 {
            let stack = placed.as_ref().map(|placed| &placed[at]);
            let pieces = stack.into_iter().flatten().zip(&stock);
            pieces.map(|(&count, shim)| i64::from(count) * nm(shim.thickness)).sum()
        };
        let under = |kind: usize| problem.only_under.iter().find(|only| only.kind == kind);
        let heights = problem.supports.iter().enumerate();
        let counts = stock.iter().enumerate();
        let priced = problem.options.order == Order::Cheapest || !catalogue.is_empty();
        let limits = &problem.limits;
        let covariance = problem.covariance_mm2.clone();
        Ok(Self {
            seed,
            tradeoff: asks == Asks::Tradeoff,
            heights: heights.map(|(at, support)| nm(support.height) - lift(at)).collect(),
            places: problem
                .supports
                .iter()
                .map(|it| [it.x.mm() as i64, it.y.mm() as i64])
                .collect(),
            thickness: stock.iter().map(|shim| nm(shim.thickness)).collect(),
            counts: counts.map(|(kind, shim)| Some(shim.count? + in_place(kind))).collect(),
            under: (0..stock.len()).map(|kind| Some(under(kind)?.supports.clone())).collect(),
            spans: spans(problem),
            joints: problem.joints.clone(),
            keep_highest: problem.options.keep_highest,
            max_pieces: problem.options.max_pieces,
            prices: priced.then(|| stock.iter().map(|shim| shim.price).collect()),
            flattest: problem.options.order == Order::Flattest,
            adjusts: stock
                .iter()
                .map(|shim| shim.adjusts.map(|adjusts| [nm(adjusts.to), nm(adjusts.step)]))
                .collect(),
            placed,
            slopes: [limits.slope_along_um_per_m, limits.slope_across_um_per_m],
            guard: covariance.zip(problem.options.risk),
            result: Outcome::of(problem, asks, &catalogue)?,
        })
    }
}

/// The kinds that may be added, where that is asked.
fn catalogue(asks: Asks) -> Vec<Shim> {
    let Asks::Shortfall(prices) = asks else { return Vec::new() };
    let kind = |(nm, price)| Shim { price, ..Shim::new(Length::from_nm(nm), None) };
    MICRON.into_iter().zip(prices).map(kind).collect()
}

#[derive(Serialize)]
struct Outcome {
    status: Status,
    meets_limits: bool,
    pieces: usize,
    price: u64,
    /// Supports whose stack is not what is in place, and pieces put in or taken out.
    lifts: usize,
    moved: usize,
    /// Between the highest and the lowest top, in nanometres.
    range: i64,
    kinds: usize,
    /// Pieces and range of all plans of a trade-off.
    front: Vec<(usize, i64)>,
    /// See [`ShimPlan::bound`].
    bound: f64,
    nodes: u64,
    /// The median of the calls; of those above a millisecond the mean time on the core.
    seconds: f64,
    calls: usize,
}

/// What a call answers.
struct Answer {
    /// The plan, or all of a trade-off.
    plans: Vec<ShimPlan>,
    price: u64,
    nodes: u64,
}

impl Outcome {
    /// A call below this is repeated until about this long is spent.
    const SHORT: f64 = 0.2;
    /// Calls below this are over before the system gives the core to another process.
    const UNDISTURBED: f64 = 1e-3;

    fn of(problem: &ShimProblem, asks: Asks, catalogue: &[Shim]) -> Result<Self, Error> {
        let call = || timed(problem, asks, catalogue);
        let start = on_core();
        let (mut first, answer) = call()?;
        if let (true, Some(start), Some(end)) = (first >= Self::SHORT, start, on_core()) {
            first = end - start;
        }
        // The first call warms up, unless it is long enough to stand alone.
        let mut seconds = vec![first];
        if first < Self::SHORT {
            let start = on_core();
            let calls = (Self::SHORT / first).clamp(5.0, 1000.0) as usize;
            let again = |_| call().map(|(seconds, _)| seconds);
            seconds = (0..calls).map(again).collect::<Result<_, _>>()?;
            seconds.sort_by(f64::total_cmp);
            if let (true, Some(start), Some(end)) =
                (seconds[seconds.len() / 2] >= Self::UNDISTURBED, start, on_core())
            {
                let mean = (end - start) / seconds.len() as f64;
                seconds.fill(mean);
            }
        }
        let [.., plan] = &answer.plans[..] else { unreachable!("an answer has a plan") };
        Ok(Self {
            status: plan.status,
            meets_limits: plan.meets_limits,
            pieces: plan.pieces,
            price: answer.price,
            lifts: plan.lifted.len(),
            moved: plan.moved,
            range: plan.range().nm(),
            kinds: plan.used.iter().filter(|&&used| used > 0).count(),
            front: match asks {
                Asks::Tradeoff => {
                    answer.plans.iter().map(|plan| (plan.pieces, plan.range().nm())).collect()
                }
                _ => Vec::new(),
            },
            bound: plan.bound,
            nodes: answer.nodes,
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

fn timed(problem: &ShimProblem, asks: Asks, catalogue: &[Shim]) -> Result<(f64, Answer), Error> {
    let start = Instant::now();
    let answer = match asks {
        Asks::Plan => {
            let plan = plan_shims(problem)?;
            let each = problem.stock.iter().zip(&plan.used);
            let price = each.map(|(shim, &used)| u64::from(shim.price) * u64::from(used)).sum();
            Answer { price, nodes: plan.nodes, plans: vec![plan] }
        }
        Asks::Tradeoff => {
            let plans = tradeoff(problem)?;
            Answer { price: 0, nodes: plans.last().map_or(0, |plan| plan.nodes), plans }
        }
        Asks::Shortfall(_) => {
            let Some(found) = shortfall(problem, Some(catalogue))? else {
                let got = "a stock that needs no addition";
                return Err(Error::new(ProblemKind::Value, "stock", got, "one that does"));
            };
            let nodes = found.flattest.nodes;
            let (price, plan) = match found.addition {
                Some(addition) => (addition.price, addition.plan),
                // The budget ran out before there was one.
                None => {
                    let mut plan = found.flattest;
                    (plan.status, plan.bound) = (Status::Budget, 0.0);
                    (0, plan)
                }
            };
            Answer { price, nodes: nodes + plan.nodes, plans: vec![plan] }
        }
    };
    Ok((start.elapsed().as_secs_f64(), answer))
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
