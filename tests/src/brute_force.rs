//! Every plan, tried in turn: slow, and too simple to be wrong.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use truebed::{Length, Order, Shim, ShimPlan, ShimProblem, Support, Verdict, check};

/// What plans are ordered by: the goals, then twice the target, then the stacks.
pub type Rank = (Vec<i64>, i64, Vec<(usize, Reverse<Vec<usize>>, Length)>);

/// A stack: pieces of each kind, and the setting of the adjustable one.
pub type Stack = (Vec<usize>, Option<Length>);

/// The best plan that meets all limits, with its rank; and the least range of tops of any plan,
/// whatever the limits.
#[derive(Debug)]
pub struct Answer {
    /// Rank and stacks (pieces of each kind under each support) of the best plan.
    pub best: Option<(Rank, Vec<Stack>)>,
    /// For each number of pieces with which the limits are met, the least range of tops.
    pub ranges: BTreeMap<usize, Length>,
    /// The least range that the stock allows.
    pub least_range: Length,
    /// Supports that no stack of the whole stock brings within the overall limit of the highest.
    pub unreachable: Vec<usize>,
}

/// Tries every plan that is not sillier than no shims at all: whose stacks are no thicker than
/// twice the range of the heights and a little.
pub fn solve(problem: &ShimProblem) -> Answer {
    let bare = bare_heights(problem);
    let highest = bare.iter().max().copied().unwrap_or_default();
    let range = highest - bare.iter().min().copied().unwrap_or_default();
    let mut problem = problem.clone();
    let may_slope = problem.limits.slope_along_um_per_m + problem.limits.slope_across_um_per_m > 0;
    let silly = range * 2 + Length::from_nm(if may_slope { 700_000 } else { 70_000 });
    problem.options.max_stack =
        Some(problem.options.max_stack.map_or(silly, |most| most.min(silly)));
    let problem = &problem;
    let plenty =
        |thickness: Length| (silly.nm() / thickness.nm() + 1) as usize * problem.supports.len();
    let placed = |kind: usize| {
        let placed = problem.placed.iter().flat_map(|placed| placed.stacks.iter().flatten());
        placed.filter(|&&other| other == kind).count()
    };
    let left: Vec<usize> = (0..problem.stock.len())
        .map(|kind| match problem.stock[kind].count {
            Some(count) => count as usize + placed(kind),
            None => plenty(problem.stock[kind].thickness),
        })
        .collect();
    let mut answer = Answer {
        best: None,
        ranges: BTreeMap::new(),
        least_range: Length::MAX,
        unreachable: Vec::new(),
    };
    visit(problem, &mut left.clone(), &mut Vec::new(), &mut |plan| {
        weigh(problem, &bare, plan, &mut answer)
    });
    if let Some(overall) = problem.limits.overall {
        let mut best_gap = vec![Length::MAX; bare.len()];
        for (at, &height) in bare.iter().enumerate() {
            for stack in stacks(problem, at, &left) {
                let top = height + thickness(problem, &stack);
                best_gap[at] = best_gap[at].min((top - highest).abs());
            }
        }
        answer.unreachable = (0..best_gap.len()).filter(|&at| best_gap[at] > overall * 2).collect();
    }
    answer
}

/// Height of each support without shims.
fn bare_heights(problem: &ShimProblem) -> Vec<Length> {
    let bare = |at: usize| match placed(problem, at) {
        Some(stack) => problem.supports[at].height - thickness(problem, &stack),
        None => problem.supports[at].height,
    };
    (0..problem.supports.len()).map(bare).collect()
}

/// What is in place under a support.
fn placed(problem: &ShimProblem, at: usize) -> Option<Stack> {
    let placed = problem.placed.as_ref()?;
    Some((counts(problem, &placed.stacks[at]), placed.settings[at]))
}

fn counts(problem: &ShimProblem, stack: &[usize]) -> Vec<usize> {
    let of = |kind| stack.iter().filter(|&&other| other == kind).count();
    (0..problem.stock.len()).map(of).collect()
}

/// The stacks of a plan in the terms of this module.
pub fn stacks_of(problem: &ShimProblem, plan: &ShimPlan) -> Vec<Stack> {
    let stack = |(stack, &setting): (&Vec<usize>, _)| (counts(problem, stack), setting);
    plan.stacks.iter().zip(&plan.settings).map(stack).collect()
}

fn thickness(problem: &ShimProblem, (counts, setting): &Stack) -> Length {
    let of = |(&count, shim): (&usize, &Shim)| {
        let one = match (shim.adjusts, setting) {
            (Some(_), Some(setting)) => setting.nm(),
            _ => (shim.thickness.nm() as f64 * shim.loaded_factor).round() as i64,
        };
        Length::from_nm(one * count as i64)
    };
    counts.iter().zip(&problem.stock).map(of).sum()
}

/// Every stack that the stock left and the caps on one support allow.
fn stacks(problem: &ShimProblem, support: usize, left: &[usize]) -> Vec<Stack> {
    let allowed = |kind: usize| {
        let mut only = problem.only_under.iter().filter(|only| only.kind == kind);
        only.all(|only| only.supports.contains(&support))
    };
    let mut all: Vec<Stack> = vec![(Vec::new(), None)];
    for (kind, shim) in problem.stock.iter().enumerate() {
        let left = if allowed(kind) { left[kind] } else { 0 };
        let mut longer = Vec::new();
        for (counts, setting) in &all {
            let with = |count: usize| [counts.clone(), vec![count]].concat();
            longer.push((with(0), *setting));
            if let Some(adjusts) = shim.adjusts {
                let mut thickness = shim.thickness;
                while setting.is_none() && left > 0 && thickness <= adjusts.to {
                    longer.push((with(1), Some(thickness)));
                    thickness = thickness + adjusts.step;
                }
            } else {
                longer.extend((1..=left).map(|count| (with(count), *setting)));
            }
        }
        all = longer;
    }
    let most = problem.options.max_pieces.map_or(usize::MAX, |most| most as usize);
    all.retain(|stack| {
        stack.0.iter().sum::<usize>() <= most
            && problem.options.max_stack.is_none_or(|most| thickness(problem, stack) <= most)
    });
    all
}

fn visit(
    problem: &ShimProblem,
    left: &mut Vec<usize>,
    plan: &mut Vec<Stack>,
    visitor: &mut dyn FnMut(&[Stack]),
) {
    if plan.len() == problem.supports.len() {
        visitor(plan);
        return;
    }
    for stack in stacks(problem, plan.len(), left) {
        left.iter_mut().zip(&stack.0).for_each(|(left, used)| *left -= used);
        plan.push(stack);
        visit(problem, left, plan, visitor);
        if let Some((used, _)) = plan.pop() {
            left.iter_mut().zip(&used).for_each(|(left, used)| *left += used);
        }
    }
}

fn weigh(problem: &ShimProblem, heights: &[Length], plan: &[Stack], answer: &mut Answer) {
    let Some(&highest) = heights.iter().max() else { return };
    let nothing = |stack: &Stack| stack.0.iter().all(|&count| count == 0);
    let stays = |at: usize| {
        !problem.options.keep_highest
            || heights[at] == highest
            || placed(problem, at).is_some_and(|stack| nothing(&stack))
    };
    if !(0..plan.len()).any(|at| nothing(&plan[at]) && stays(at)) {
        return;
    }
    let tops: Vec<Length> = heights
        .iter()
        .zip(plan)
        .map(|(&height, stack)| height + thickness(problem, stack))
        .collect();
    let pieces = plan.iter().flat_map(|(counts, _)| counts).sum();
    let xy: Vec<_> = problem.supports.iter().map(|support| [support.x, support.y]).collect();
    let slopes = [problem.limits.slope_along_um_per_m, problem.limits.slope_across_um_per_m];
    let [along, across] = slopes.map(i64::from);
    let mut level = problem.limits.clone();
    (level.slope_along_um_per_m, level.slope_across_um_per_m) = (0, 0);
    for tilt in (-along..=along).flat_map(|a| (-across..=across).map(move |b| [a, b])) {
        let tops: Vec<Length> =
            tops.iter().zip(&xy).map(|(&top, &at)| above_slope(tilt, at, top)).collect();
        let (Some(&low), Some(&high)) = (tops.iter().min(), tops.iter().max()) else { return };
        answer.least_range = answer.least_range.min(high - low);
        let met =
            |verdict: Verdict| verdict.meets_limits && is_guarded(problem, &verdict, &tops, plan);
        if !check(&xy, &tops, &level, &problem.joints).is_ok_and(met) {
            continue;
        }
        let range = answer.ranges.entry(pieces).or_insert(high - low);
        *range = (high - low).min(*range);
        let rank = rank(problem, plan, tilt, low, high);
        if answer.best.as_ref().is_none_or(|(best, _)| rank < *best) {
            answer.best = Some((rank, plan.to_vec()));
        }
    }
}

/// Whether every two points that a limit binds keep within it with the probability that is asked for.
fn is_guarded(problem: &ShimProblem, verdict: &Verdict, tops: &[Length], plan: &[Stack]) -> bool {
    verdict.findings.iter().all(|finding| {
        let all = finding.points.iter();
        let pairs = all.clone().flat_map(|&a| all.clone().map(move |&b| (a, b)));
        pairs.filter(|(a, b)| a < b).all(|(a, b)| {
            let found = (tops[a] - tops[b]).abs();
            let of_pieces = variance_of_pieces(problem, plan, [a, b]);
            pair_is_guarded(problem, [a, b], found, finding.allowed, of_pieces)
        })
    })
}

/// What the pieces put in or taken out add to the variance of the difference of two tops, mm²: the
/// own errors of each, and the shared one of each kind as often as one stack has more of it.
pub fn variance_of_pieces(problem: &ShimProblem, plan: &[Stack], [a, b]: [usize; 2]) -> f64 {
    let before = |at: usize, kind: usize| placed(problem, at).map_or(0, |stack| stack.0[kind]);
    let more = |at: usize, kind: usize| plan[at].0[kind] as f64 - before(at, kind) as f64;
    let set_anew = |at: usize, kind: usize| {
        let Some((counts, setting)) = placed(problem, at) else { return 0.0 };
        let stays = problem.stock[kind].adjusts.is_some() && counts[kind] * plan[at].0[kind] > 0;
        if stays && setting != plan[at].1 { 1.0 } else { 0.0 }
    };
    let of = |(kind, shim): (usize, &Shim)| {
        let [own, common] =
            [shim.sigma, shim.common_sigma].map(|sigma| sigma.mm() * shim.loaded_factor);
        let moved = [a, b].map(|at| more(at, kind).abs() + set_anew(at, kind));
        (moved[0] + moved[1]) * own * own
            + (more(a, kind) - more(b, kind)).powi(2) * common * common
    };
    problem.stock.iter().enumerate().map(of).sum()
}

/// Whether two supports that differ by so much do so by no more than is allowed, with the
/// probability that is asked for; their pieces add a variance, mm².
pub fn pair_is_guarded(
    problem: &ShimProblem,
    [a, b]: [usize; 2],
    found: Length,
    allowed: Length,
    of_pieces: f64,
) -> bool {
    let (Some(covariance), Some(risk)) = (&problem.covariance_mm2, problem.options.risk) else {
        return true;
    };
    let of = |i: usize, j: usize| covariance[i * problem.supports.len() + j];
    let variance = of(a, a) + of(b, b) - 2.0 * of(a, b) + of_pieces;
    if variance < 1e-15 {
        return found <= allowed;
    }
    let below = |t: f64| 0.5 * libm::erfc(-t / (2.0 * variance).sqrt());
    let (found, allowed) = (found.mm(), allowed.mm());
    below(allowed - found) - below(-allowed - found) >= 1.0 - risk
}

/// The tops of a plan above the slope of its target.
pub fn above(problem: &ShimProblem, plan: &ShimPlan) -> Vec<Length> {
    let top = |(support, &top): (&Support, &Length)| {
        above_slope(plan.tilt_um_per_m, [support.x, support.y], top)
    };
    problem.supports.iter().zip(&plan.tops).map(top).collect()
}

/// The height of a top above a target that slopes by so many µm/m.
fn above_slope([along, across]: [i64; 2], [x, y]: [Length; 2], top: Length) -> Length {
    let of = |slope: i64, way: Length| i128::from(slope) * i128::from(way.nm());
    let rise = of(along, x) + of(across, y);
    // To the nearest nanometre, halves up.
    Length::from_nm(top.nm() - (rise + 500_000).div_euclid(1_000_000) as i64)
}

/// Pieces put under a support and taken out or set anew there.
fn change(problem: &ShimProblem, at: usize, stack: &Stack) -> (Vec<usize>, usize) {
    let Some((before, setting)) = placed(problem, at) else { return (stack.0.clone(), 0) };
    let more = stack.0.iter().zip(&before).map(|(now, before)| now.saturating_sub(*before));
    let fewer = stack.0.iter().zip(&before).map(|(now, before)| before.saturating_sub(*now));
    let kept = (0..before.len())
        .any(|kind| problem.stock[kind].adjusts.is_some() && before[kind] * stack.0[kind] > 0);
    (more.collect(), fewer.sum::<usize>() + usize::from(kept && setting != stack.1))
}

/// The rank of a plan whose tops have these extremes above a slope of the target.
pub fn rank(
    problem: &ShimProblem,
    plan: &[Stack],
    tilt: [i64; 2],
    low: Length,
    high: Length,
) -> Rank {
    let kinds = 0..problem.stock.len();
    let changes: Vec<_> = (0..plan.len()).map(|at| change(problem, at, &plan[at])).collect();
    let moves = |(more, less): &(Vec<usize>, usize)| more.iter().sum::<usize>() + less;
    let pieces = changes.iter().map(moves).sum::<usize>() as i64;
    let lifts = changes.iter().filter(|change| moves(change) > 0).count() as i64;
    let more = |kind: usize| changes.iter().map(|(more, _)| more[kind]).sum::<usize>() as i64;
    let price = kinds.clone().map(|kind| more(kind) * i64::from(problem.stock[kind].price)).sum();
    let distinct =
        kinds.clone().filter(|&kind| plan.iter().any(|(counts, _)| counts[kind] > 0)).count();
    let (range, distinct) = ((high - low).nm(), distinct as i64);
    let tilted = tilt[0] * tilt[0] + tilt[1] * tilt[1];
    let mut goals = match (problem.options.order, &problem.placed) {
        (Order::FewestPieces, None) => vec![pieces, range],
        (Order::Flattest, None) => vec![range, pieces],
        (Order::Flattest, Some(_)) => vec![range, lifts, pieces],
        (Order::Cheapest, _) => vec![price, pieces, range],
        _ => vec![lifts, pieces, range],
    };
    goals.extend([tilted, distinct]);
    let bare = bare_heights(problem);
    let mut by_height: Vec<usize> = (0..plan.len()).collect();
    by_height.sort_by_key(|&at| (bare[at], at));
    let greatest = |shim: &Shim| match shim.adjusts {
        Some(it) => shim.thickness + it.step * ((it.to - shim.thickness).nm() / it.step.nm()),
        None => shim.thickness,
    };
    let mut by_thickness: Vec<usize> = kinds.collect();
    by_thickness.sort_by_key(|&kind| {
        let shim = &problem.stock[kind];
        (shim.adjusts.is_some(), -greatest(shim), kind)
    });
    let stack = |at: usize| {
        let (counts, setting) = &plan[at];
        let counts: Vec<usize> = by_thickness.iter().map(|&kind| counts[kind]).collect();
        (counts.iter().sum(), Reverse(counts), setting.unwrap_or_default())
    };
    (goals, (low + high).nm(), by_height.into_iter().map(stack).collect())
}
