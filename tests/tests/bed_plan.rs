//! Stacks for a slab against every plan that there is, each settled by how the slab bears on it.

use std::cell::Cell;
use std::cmp::Reverse;

use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use truebed::{
    BedPlan, BedProblem, LaidSlab, Length, Limits, Load, NamedLimit, NoBed, ProblemKind, Shim,
    Slab, SlabSupport, Status, plan_bed,
};

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn um(um: i64) -> Length {
    nm(1000 * um)
}

/// Pieces, range of the surface, kinds, twice the level, stacks from the lowest support up.
type Rank = (usize, i64, usize, i64, Vec<(usize, Vec<Reverse<usize>>)>);

/// Everything that any plan comes to.
#[derive(Debug, Default)]
struct Every {
    best: Option<Rank>,
    level: bool,
}

/// Tries every plan whose stacks are no thicker than `thickest`; none where there are too many.
fn every(problem: &BedProblem, thickest: i64) -> Option<Every> {
    const MOST: usize = 120_000;
    let laid =
        LaidSlab::new(&problem.slab, &problem.supports, &problem.loads, problem.settings).unwrap();
    let kinds = problem.stock.len();
    let mut stacks = vec![(0, vec![0; kinds])];
    for kind in 0..kinds {
        let thickness = problem.stock[kind].thickness.nm();
        let mut longer = Vec::new();
        for (sum, counts) in &stacks {
            let most = problem.stock[kind].count.unwrap_or(99);
            for count in 0..=most {
                let sum = sum + thickness * i64::from(count);
                if sum > thickest {
                    break;
                }
                let mut counts: Vec<usize> = counts.clone();
                counts[kind] = count as usize;
                longer.push((sum, counts));
            }
        }
        stacks = longer;
    }
    if stacks.len().pow(problem.supports.len() as u32) > MOST {
        return None;
    }
    let mut every = Every::default();
    let mut chosen = Vec::new();
    choose(problem, &laid, &stacks, &mut chosen, &mut every);
    Some(every)
}

fn choose(
    problem: &BedProblem,
    laid: &LaidSlab,
    stacks: &[(i64, Vec<usize>)],
    chosen: &mut Vec<usize>,
    every: &mut Every,
) {
    if chosen.len() < problem.supports.len() {
        for which in 0..stacks.len() {
            chosen.push(which);
            choose(problem, laid, stacks, chosen, every);
            chosen.pop();
        }
        return;
    }
    let pieces: Vec<usize> = chosen.iter().map(|&at| stacks[at].1.iter().sum()).collect();
    let used = |kind: usize| chosen.iter().map(|&at| stacks[at].1[kind]).sum::<usize>();
    let used: Vec<usize> = (0..problem.stock.len()).map(used).collect();
    let count = |kind: usize| problem.stock[kind].count.map_or(usize::MAX, |count| count as usize);
    if (0..used.len()).any(|kind| used[kind] > count(kind)) {
        return;
    }
    let tops: Vec<Length> =
        chosen.iter().zip(&problem.frame).map(|(&at, &frame)| frame + nm(stacks[at].0)).collect();
    let bearing = laid.bear(&tops.iter().map(|top| top.mm()).collect::<Vec<_>>()).unwrap();
    if bearing.tips.is_some() {
        return;
    }
    let touched = || (0..tops.len()).filter(|&at| bearing.gaps_mm[at] == 0.0);
    let highest = touched().map(|at| problem.frame[at]).max();
    let keeps = |at: usize| !problem.options.keep_highest || Some(problem.frame[at]) == highest;
    if !touched().any(|at| pieces[at] == 0 && keeps(at)) {
        return;
    }
    let mut surface: Vec<i64> = (0..tops.len())
        .map(|at| {
            let gives =
                problem.supports[at].stiffness_n_per_mm.map_or(0.0, |it| bearing.forces_n[at] / it);
            (tops[at] + Length::from_mm(bearing.gaps_mm[at] - gives).unwrap()).nm()
        })
        .collect();
    surface.extend(
        bearing.at(&problem.at).unwrap().iter().map(|&it| Length::from_mm(it).unwrap().nm()),
    );
    let places = problem.supports.iter().map(|it| it.xy_mm).chain(problem.at.iter().copied());
    let places: Vec<[f64; 2]> = places.collect();
    let range = |members: &[usize]| {
        let heights = || members.iter().map(|&at| surface[at]);
        heights().max().unwrap() - heights().min().unwrap()
    };
    let all: Vec<usize> = (0..places.len()).collect();
    let overall = problem.limits.overall.unwrap();
    let mut level = range(&all) <= 2 * overall.nm();
    for named in &problem.limits.named {
        level &= range(&named.points) <= named.within.nm();
    }
    every.level |= level;
    let acts = problem.slab.weight_n()
        + problem.loads.iter().map(|load| load.newtons().abs()).sum::<f64>();
    let carried = (0..tops.len()).all(|at| {
        let pressed = bearing.forces_n[at] + problem.supports[at].pull_n;
        let enough = bearing.gaps_mm[at] == 0.0
            && pressed >= problem.least_force_n.max(2e-6 * acts) - 1e-6 * acts;
        enough || (pieces[at] == 0 && problem.idle.contains(&at))
    });
    if !level || !carried {
        return;
    }
    let mut order: Vec<usize> = (0..tops.len()).collect();
    order.sort_by_key(|&at| problem.frame[at]);
    let mut thickest: Vec<usize> = (0..problem.stock.len()).collect();
    thickest.sort_by_key(|&kind| Reverse(problem.stock[kind].thickness));
    let of = |&at: &usize| {
        let counts = &stacks[chosen[at]].1;
        (pieces[at], thickest.iter().map(|&kind| Reverse(counts[kind])).collect())
    };
    let rank = (
        pieces.iter().sum(),
        range(&all),
        used.iter().filter(|&&used| used > 0).count(),
        surface.iter().max().unwrap() + surface.iter().min().unwrap(),
        order.iter().map(of).collect(),
    );
    if every.best.as_ref().is_none_or(|best| rank < *best) {
        every.best = Some(rank);
    }
}

/// What a plan is ordered by.
fn rank(problem: &BedProblem, plan: &BedPlan) -> Rank {
    let surface: Vec<i64> =
        plan.surface_mm.iter().map(|&it| Length::from_mm(it).unwrap().nm()).collect();
    let (high, low) = (surface.iter().max().unwrap(), surface.iter().min().unwrap());
    let mut order: Vec<usize> = (0..problem.frame.len()).collect();
    order.sort_by_key(|&at| problem.frame[at]);
    let mut thickest: Vec<usize> = (0..problem.stock.len()).collect();
    thickest.sort_by_key(|&kind| Reverse(problem.stock[kind].thickness));
    let of = |&at: &usize| {
        let count = |kind: &usize| plan.stacks[at].iter().filter(|it| *it == kind).count();
        (plan.stacks[at].len(), thickest.iter().map(|kind| Reverse(count(kind))).collect())
    };
    (
        plan.pieces,
        high - low,
        plan.used.iter().filter(|&&used| used > 0).count(),
        high + low,
        order.iter().map(of).collect(),
    )
}

fn problems() -> impl Strategy<Value = BedProblem> {
    let place = prop::sample::subsequence((0..9_usize).collect::<Vec<_>>(), 4..=5);
    let kinds = prop::collection::vec((1..8_i64, prop::option::weighted(0.7, 1..5_u32)), 2..=3);
    (
        place,
        prop::collection::vec(-6..=0_i64, 9),
        kinds,
        prop::sample::select(vec![30_i64, 60, 110]),
        prop::sample::select(vec![0.0, 0.0, 15.0, 60.0]),
        (any::<bool>(), 0..4_u8, 0..4_u8, prop::bool::weighted(0.8)),
        prop::sample::select(vec![12.0, 25.0, 45.0]),
    )
        .prop_map(
            |(places, heights, kinds, limit, force, (at, springs, idle, keep), thick)| {
                let slab = Slab::new([0.0, 1200.0], [0.0, 800.0], thick, 48.36, 0.25, 2793.6);
                let place =
                    |at: usize| [30.0 + 570.0 * (at / 3) as f64, 30.0 + 370.0 * (at % 3) as f64];
                let support = |&at: &usize| {
                    let mut support = SlabSupport::at(place(at));
                    support.stiffness_n_per_mm = (springs == 0 && at % 2 == 0).then_some(3000.0);
                    support.pull_n = if springs == 1 && at % 4 == 0 { 40.0 } else { 0.0 };
                    support
                };
                let supports: Vec<SlabSupport> = places.iter().map(support).collect();
                let frame = places.iter().map(|&at| um(50 * heights[at])).collect();
                let mut kinds = kinds;
                kinds.sort_unstable();
                kinds.dedup_by_key(|kind| kind.0);
                let stock =
                    kinds.iter().map(|&(thick, count)| Shim::new(um(25 * thick), count)).collect();
                let mut problem =
                    BedProblem::new(slab, supports, frame, stock, Limits::overall(um(limit)));
                problem.least_force_n = force;
                problem.options.keep_highest = keep;
                if at {
                    problem.at = vec![[600.0, 400.0], [300.0, 10.0]];
                    problem
                        .limits
                        .named
                        .push(NamedLimit { points: vec![0, 1, places.len()], within: um(90) });
                }
                if idle == 0 {
                    problem.idle = vec![places.len() - 1];
                }
                problem
            },
        )
}

/// Thick slabs on four corners, so that forces follow the stacks closely and the plan for points seldom
/// carries: what is asked for is left to the search. Heights are alike, so that plans tie.
fn stiff() -> impl Strategy<Value = BedProblem> {
    (
        prop::collection::vec(-4..=0_i64, 4),
        prop::collection::vec((6..24_i64, prop::option::weighted(0.6, 1..5_u32)), 2..=3),
        prop::sample::select(vec![40_i64, 75, 110]),
        prop::sample::select(vec![5.0, 60.0, 150.0]),
        prop::sample::select(vec![[0_i64; 4], [0, 3, 1, 7], [0, 0, 4, 4]]),
        (any::<bool>(), prop::sample::select(vec![45.0, 60.0, 90.0])),
    )
        .prop_map(|(heights, mut kinds, limit, force, off, (keep, thick))| {
            let slab = Slab::new([0.0, 1200.0], [0.0, 800.0], thick, 48.36, 0.25, 2793.6);
            let places = [[40.0, 40.0], [1160.0, 40.0], [1160.0, 760.0], [40.0, 760.0]];
            let supports = places.map(SlabSupport::at).to_vec();
            let frame = heights.iter().zip(off).map(|(at, off)| um(70 * at + off)).collect();
            kinds.sort_unstable();
            kinds.dedup_by_key(|kind| kind.0);
            let shim = |&(thick, count): &(i64, Option<u32>)| Shim::new(um(5 * thick), count);
            let stock = kinds.iter().map(shim).collect();
            let mut problem =
                BedProblem::new(slab, supports, frame, stock, Limits::overall(um(limit)));
            problem.least_force_n = force;
            problem.options.keep_highest = keep;
            problem
        })
}

/// Holds a plan of `plan_bed` against every plan that there is; true where it was searched for.
fn holds_against_all(problem: &BedProblem) -> Result<bool, TestCaseError> {
    prop_assume!(problem.check().is_ok());
    // No stack brings a support higher than the limits above the one that stands highest.
    let range = problem.frame.iter().max().unwrap().nm() - problem.frame.iter().min().unwrap().nm();
    let springs = problem.supports.iter().any(|it| it.stiffness_n_per_mm.is_some());
    let more = if springs { 250_000 } else { 0 };
    let thickest = range + 2 * problem.limits.overall.unwrap().nm() + more;
    let Some(every) = every(problem, thickest) else { return Ok(false) };
    let plan = plan_bed(problem).unwrap();
    match every.best {
        Some(best) => {
            prop_assert_eq!(plan.status, Status::Proven);
            prop_assert_eq!(rank(problem, &plan), best);
            prop_assert!(plan.carried && plan.meets_limits && plan.why.is_none());
            prop_assert_eq!(plan.bound, plan.pieces as f64);
        }
        None => {
            prop_assert_eq!(plan.status, Status::Infeasible, "{:?}", plan);
            prop_assert!(!(plan.carried && plan.meets_limits));
            let rigid = !springs && problem.idle.is_empty();
            if rigid && every.level {
                // Some plan is level; where the slab touches everywhere the reason is the forces.
                prop_assert!(plan.why.is_some());
            }
        }
    }
    Ok(plan.nodes > 0 && plan.status == Status::Proven)
}

/// Tries random problems; of so many at least a number was searched for.
fn tried(problems: impl Strategy<Value = BedProblem>, cases: u32, searched: u32) {
    let config = ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() };
    let found = Cell::new(0);
    let tried = TestRunner::new(config).run(&problems, |problem| {
        found.set(found.get() + u32::from(holds_against_all(&problem)?));
        Ok(())
    });
    tried.unwrap_or_else(|error| panic!("{error}"));
    assert!(found.get() >= searched, "{} of {cases}", found.get());
}

#[test]
fn a_plan_is_the_best_there_is() {
    tried(problems(), 250, 10);
}

#[test]
fn a_plan_for_a_thick_slab_is_the_best_there_is() {
    tried(stiff(), 300, 15);
}

fn four() -> BedProblem {
    let slab = Slab::new([0.0, 1270.0], [0.0, 850.0], 25.4, 48.36, 0.25, 2793.6);
    let places = [[50.0, 50.0], [1220.0, 50.0], [1220.0, 800.0], [50.0, 800.0]];
    let supports = places.map(SlabSupport::at).to_vec();
    let frame = [0, -300, -600, -310].map(um).to_vec();
    let stock = vec![Shim::new(um(100), Some(20)), Shim::new(um(10), Some(20))];
    BedProblem::new(slab, supports, frame, stock, Limits::overall(um(100)))
}

#[test]
fn where_the_points_carry_they_are_the_plan() {
    let plan = plan_bed(&four()).unwrap();
    assert_eq!(plan.status, Status::Proven);
    assert!(plan.carried && plan.meets_limits);
    assert_eq!(plan.bearing.forces_n.iter().filter(|&&force| force > 0.0).count(), 4);
}

#[test]
fn a_stack_that_must_carry_costs_pieces() {
    let mut problem = four();
    let fewest = plan_bed(&problem).unwrap();
    problem.least_force_n = 180.0;
    let even = plan_bed(&problem).unwrap();
    assert_eq!(even.status, Status::Proven);
    assert!(even.bearing.forces_n.iter().all(|&force| force >= 180.0 - 1e-3));
    assert!(even.pieces > fewest.pieces, "{} {}", even.pieces, fewest.pieces);
}

#[test]
fn the_stock_cannot_do_it_for_one_of_two_reasons() {
    let mut problem = four();
    problem.limits = Limits::overall(um(20));
    problem.stock = vec![Shim::new(um(250), Some(20))];
    let plan = plan_bed(&problem).unwrap();
    assert_eq!((plan.status, plan.why), (Status::Infeasible, Some(NoBed::NotLevel)));
    assert!(!plan.meets_limits);

    // Level to within a lot, but twisted too much for a thick slab to touch everywhere.
    let mut problem = four();
    problem.slab.thickness_mm = 60.0;
    problem.frame = [0, -130, 0, -130].map(um).to_vec();
    problem.stock = vec![Shim::new(um(500), Some(20))];
    let plan = plan_bed(&problem).unwrap();
    assert_eq!((plan.status, plan.why), (Status::Infeasible, Some(NoBed::NotCarried)));
    assert!(plan.meets_limits && !plan.carried);
    // What is idle may float, and what the slab just touches may bear nothing.
    problem.idle = vec![1, 3];
    let plan = plan_bed(&problem).unwrap();
    assert_eq!((plan.status, plan.pieces), (Status::Proven, 0));
    assert!(!plan.bearing.carries[3] || !plan.bearing.carries[1]);
}

#[test]
fn a_budget_leaves_a_bound() {
    let mut problem = four();
    problem.least_force_n = 100.0;
    let best = plan_bed(&problem).unwrap();
    problem.options.budget.nodes = 1;
    let plan = plan_bed(&problem).unwrap();
    assert_eq!(plan.status, Status::Budget);
    assert!(plan.bound <= best.bound, "{} {}", plan.bound, best.bound);
}

/// Ends the budget at many places and holds what is claimed against the plan without an end.
fn claims_nothing_wrong(problem: &BedProblem) -> Result<(), TestCaseError> {
    const MOST: u64 = 60;
    prop_assume!(problem.check().is_ok());
    let settled = plan_bed(problem).unwrap();
    let mut problem = problem.clone();
    // The ends that matter most are those just before the search is through.
    for nodes in settled.nodes.saturating_sub(MOST)..settled.nodes {
        problem.options.budget.nodes = nodes.max(1);
        let plan = plan_bed(&problem).unwrap();
        match plan.status {
            Status::Budget => {
                let is_bound = plan.bound <= settled.bound || settled.status == Status::Infeasible;
                prop_assert!(is_bound, "{nodes}: {} {}", plan.bound, settled.bound);
            }
            status => {
                prop_assert_eq!((status, plan.why), (settled.status, settled.why), "{}", nodes);
                // Where there is no plan, the flattest stacks depend on the budget.
                if status == Status::Proven {
                    prop_assert_eq!(&plan.stacks, &settled.stacks, "{}", nodes);
                }
            }
        }
    }
    Ok(())
}

#[test]
fn a_budget_that_ends_anywhere_claims_nothing_wrong() {
    let config =
        ProptestConfig { cases: 30, failure_persistence: None, ..ProptestConfig::default() };
    for problems in [problems().boxed(), stiff().boxed()] {
        TestRunner::new(config.clone())
            .run(&problems, |problem| claims_nothing_wrong(&problem))
            .unwrap_or_else(|error| panic!("{error}"));
    }
}

#[test]
fn everything_wrong_with_a_bed_is_named() {
    use ProblemKind::{Duplicate, Shape, Unknown, Value};
    let told = |spoil: &dyn Fn(&mut BedProblem)| {
        let mut problem = four();
        spoil(&mut problem);
        let error = plan_bed(&problem).unwrap_err();
        error.problems().iter().map(|it| (it.kind, it.field.clone())).collect::<Vec<_>>()
    };
    let one = |kind, field: &str| vec![(kind, field.to_owned())];
    assert_eq!(told(&|it| it.frame.truncate(3)), one(Shape, "frame"));
    assert_eq!(told(&|it| it.slab.nu = 0.5), one(Value, "slab.nu"));
    assert_eq!(told(&|it| it.at.push([0.0, 850.1])), one(Value, "at[0]"));
    assert_eq!(told(&|it| it.least_force_n = -1.0), one(Value, "least_force_n"));
    assert_eq!(told(&|it| it.least_force_n = f64::NAN), one(Value, "least_force_n"));
    assert_eq!(told(&|it| it.idle = vec![4]), one(Unknown, "idle[0]"));
    assert_eq!(told(&|it| it.idle = vec![1, 1]), one(Duplicate, "idle[1]"));
    assert_eq!(told(&|it| it.idle = vec![0, 1, 2, 3]), one(Shape, "idle"));
    assert_eq!(told(&|it| it.stock.clear()), one(Shape, "stock"));
    assert_eq!(told(&|it| it.stock[0].thickness = nm(0)), one(Value, "stock[0].thickness"));
    assert_eq!(told(&|it| it.limits.overall = None), one(Value, "limits"));
    assert_eq!(told(&|it| it.limits.slope_along_um_per_m = 5), one(Value, "limits.slope"));
    assert_eq!(told(&|it| it.options.risk = Some(0.05)).len(), 2);
    let wedge = truebed::Adjusts { to: um(900), step: um(10) };
    assert_eq!(told(&|it| it.stock[0].adjusts = Some(wedge)), one(Value, "stock[0].adjusts"));
    let load = Load::Point { xy_mm: [-1.0, 0.0], newtons: 1.0 };
    assert_eq!(told(&|it| it.loads.push(load)), one(Value, "loads[0].xy"));
}
