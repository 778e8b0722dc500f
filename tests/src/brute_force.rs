//! Every plan, tried in turn: slow, and too simple to be wrong.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use truebed::{Length, Order, ShimProblem, check};

/// What plans are ordered by: the goals, then twice the target, then the stacks.
pub type Rank = (Vec<i64>, i64, Vec<(usize, Reverse<Vec<usize>>)>);

/// The best plan that meets all limits, with its rank; and the least range of tops of any plan,
/// whatever the limits.
#[derive(Debug)]
pub struct Answer {
    /// Rank and stacks (pieces of each kind under each support) of the best plan.
    pub best: Option<(Rank, Vec<Vec<usize>>)>,
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
    let heights = || problem.supports.iter().map(|support| support.height);
    let range = heights().max().unwrap_or_default() - heights().min().unwrap_or_default();
    let mut problem = problem.clone();
    let silly = range * 2 + Length::from_nm(70_000);
    problem.options.max_stack =
        Some(problem.options.max_stack.map_or(silly, |most| most.min(silly)));
    let problem = &problem;
    let plenty =
        |thickness: Length| (silly.nm() / thickness.nm() + 1) as usize * problem.supports.len();
    let left: Vec<usize> = problem
        .stock
        .iter()
        .map(|shim| shim.count.map_or_else(|| plenty(shim.thickness), |count| count as usize))
        .collect();
    let mut answer = Answer {
        best: None,
        ranges: BTreeMap::new(),
        least_range: Length::MAX,
        unreachable: Vec::new(),
    };
    visit(problem, &mut left.clone(), &mut Vec::new(), &mut |plan| {
        weigh(problem, plan, &mut answer)
    });
    if let Some(overall) = problem.limits.overall {
        let highest =
            problem.supports.iter().map(|support| support.height).max().unwrap_or_default();
        let mut best_gap = vec![Length::MAX; problem.supports.len()];
        for (at, support) in problem.supports.iter().enumerate() {
            stacks(problem, &left, 0, &mut vec![0; left.len()], &mut |stack| {
                let top = support.height + thickness(problem, stack);
                best_gap[at] = best_gap[at].min((top - highest).abs());
            });
        }
        answer.unreachable = (0..best_gap.len()).filter(|&at| best_gap[at] > overall * 2).collect();
    }
    answer
}

fn thickness(problem: &ShimProblem, stack: &[usize]) -> Length {
    stack.iter().zip(&problem.stock).map(|(&count, shim)| shim.thickness * count as i64).sum()
}

/// Every stack that the stock left and the caps on one support allow.
fn stacks(
    problem: &ShimProblem,
    left: &[usize],
    kind: usize,
    stack: &mut Vec<usize>,
    visitor: &mut dyn FnMut(&[usize]),
) {
    let pieces = stack.iter().sum::<usize>();
    if problem.options.max_pieces.is_some_and(|most| pieces > most as usize)
        || problem.options.max_stack.is_some_and(|most| thickness(problem, stack) > most)
    {
        return;
    }
    if kind == left.len() {
        visitor(stack);
        return;
    }
    for count in 0..=left[kind] {
        stack[kind] = count;
        stacks(problem, left, kind + 1, stack, visitor);
    }
    stack[kind] = 0;
}

fn visit(
    problem: &ShimProblem,
    left: &mut Vec<usize>,
    plan: &mut Vec<Vec<usize>>,
    visitor: &mut dyn FnMut(&[Vec<usize>]),
) {
    if plan.len() == problem.supports.len() {
        visitor(plan);
        return;
    }
    let mut all = Vec::new();
    stacks(problem, left, 0, &mut vec![0; left.len()], &mut |stack| all.push(stack.to_vec()));
    for stack in all {
        left.iter_mut().zip(&stack).for_each(|(left, used)| *left -= used);
        plan.push(stack);
        visit(problem, left, plan, visitor);
        if let Some(stack) = plan.pop() {
            left.iter_mut().zip(&stack).for_each(|(left, used)| *left += used);
        }
    }
}

fn weigh(problem: &ShimProblem, plan: &[Vec<usize>], answer: &mut Answer) {
    let supports = &problem.supports;
    let Some(highest) = supports.iter().map(|support| support.height).max() else { return };
    let bare = |at: usize| plan[at].iter().all(|&count| count == 0);
    let anchored = (0..plan.len())
        .any(|at| bare(at) && (!problem.options.keep_highest || supports[at].height == highest));
    if !anchored {
        return;
    }
    let tops: Vec<Length> = supports
        .iter()
        .zip(plan)
        .map(|(support, stack)| support.height + thickness(problem, stack))
        .collect();
    let (Some(&low), Some(&high)) = (tops.iter().min(), tops.iter().max()) else { return };
    answer.least_range = answer.least_range.min(high - low);
    let xy: Vec<_> = supports.iter().map(|support| [support.x, support.y]).collect();
    if !check(&xy, &tops, &problem.limits, &problem.joints).is_ok_and(|verdict| verdict.met) {
        return;
    }
    let pieces = plan.iter().flatten().sum();
    let range = answer.ranges.entry(pieces).or_insert(high - low);
    *range = (high - low).min(*range);
    let rank = rank(problem, plan, low, high);
    if answer.best.as_ref().is_none_or(|(best, _)| rank < *best) {
        answer.best = Some((rank, plan.to_vec()));
    }
}

/// The rank of a plan with these extremes of its tops.
pub fn rank(problem: &ShimProblem, plan: &[Vec<usize>], low: Length, high: Length) -> Rank {
    let used = |kind: usize| plan.iter().map(|stack| stack[kind]).sum::<usize>();
    let kinds = 0..problem.stock.len();
    let pieces = kinds.clone().map(used).sum::<usize>() as i64;
    let distinct = kinds.clone().filter(|&kind| used(kind) > 0).count() as i64;
    let lifts = plan.iter().filter(|stack| stack.iter().any(|&count| count > 0)).count() as i64;
    let price =
        kinds.clone().map(|kind| used(kind) as i64 * i64::from(problem.stock[kind].price)).sum();
    let range = (high - low).nm();
    let goals = match problem.options.order {
        Order::FewestPieces => vec![pieces, range, distinct],
        Order::Flattest => vec![range, pieces, distinct],
        Order::FewestLifts => vec![lifts, pieces, range, distinct],
        _ => vec![price, pieces, range, distinct],
    };
    let mut by_height: Vec<usize> = (0..plan.len()).collect();
    by_height.sort_by_key(|&at| (problem.supports[at].height, at));
    let mut by_thickness: Vec<usize> = kinds.collect();
    by_thickness.sort_by_key(|&kind| (-problem.stock[kind].thickness, kind));
    let stack = |at: usize| {
        let counts: Vec<usize> = by_thickness.iter().map(|&kind| plan[at][kind]).collect();
        (counts.iter().sum(), Reverse(counts))
    };
    (goals, (low + high).nm(), by_height.into_iter().map(stack).collect())
}
