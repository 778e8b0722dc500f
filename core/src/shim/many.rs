//! Many problems at once, on all cores.

use std::borrow::Borrow;
use std::num::NonZero;

use super::asked::Asked;
use super::plan::ShimPlan;
use super::problem::ShimProblem;
use super::solver::plan_shims_until;
use crate::deadline::Deadline;
use crate::error::Error;
use crate::workers;

/// Plans many problems on all cores; the answers come in the order of the problems and are those of
/// [`plan_shims`](crate::plan_shims).
pub fn plan_many(problems: &[ShimProblem]) -> Vec<Result<ShimPlan, Error>> {
    plan_many_until(problems, &|_| false)
}

/// Plans many problems as [`plan_many`] does, until `stop` says true. It is asked from the thread of
/// this call, some fifty times a second, with the number of problems that are done. Once it has said
/// true, searches under way end as if their budgets had run out, and problems not begun get what is
/// in place (no shims, in a first pass) with [`Status::Budget`](crate::Status::Budget).
///
/// # Errors
/// One for each problem by itself: what [`plan_shims`](crate::plan_shims) refuses; and
/// [`ProblemKind::Internal`](crate::ProblemKind::Internal), a fault of the library, which leaves the
/// answers of the other problems as they are.
pub fn plan_many_until(
    problems: &[ShimProblem],
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<ShimPlan, Error>> {
    plan_many_on(None, problems, stop)
}

/// Plans many problems as [`plan_many_until`] does, on at most so many threads; the default is one for
/// each core. The answers are the same on any number. Where no thread can be started, the thread of
/// this call does the work.
///
/// # Errors
/// Those of [`plan_many_until`].
pub fn plan_many_on<P: Borrow<ShimProblem> + Sync>(
    threads: Option<NonZero<usize>>,
    problems: &[P],
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<ShimPlan, Error>> {
    plan_each(threads, problems.len(), |at| Ok(problems[at].borrow()), |_, plan| plan, stop)
}

/// Plans `count` problems as [`plan_many_on`] does, where each is made by `problem` when its turn comes
/// and its plan becomes an answer by `answer`, both on the thread that plans it. So neither all problems
/// nor all plans are ever in memory together.
///
/// # Errors
/// Those of [`plan_many_until`], and those of `problem`.
pub fn plan_each<P: Borrow<ShimProblem>, T: Send>(
    threads: Option<NonZero<usize>>,
    count: usize,
    problem: impl Fn(usize) -> Result<P, Error> + Sync,
    answer: impl Fn(&ShimProblem, ShimPlan) -> T + Sync,
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<T, Error>> {
    let work = |at: usize, is_stopped: &dyn Fn() -> bool| {
        let problem = problem(at)?;
        let problem = problem.borrow();
        let plan = match is_stopped() {
            true => unbegun(problem),
            false => plan_shims_until(problem, is_stopped),
        };
        Ok(answer(problem, plan?))
    };
    workers::each(count, workers::threads(threads), work, stop)
}

/// What is in place, as the answer to a problem that was not begun.
fn unbegun(problem: &ShimProblem) -> Result<ShimPlan, Error> {
    let asked = Asked::new(problem, Deadline::never())?;
    asked.model()?;
    Ok(asked.standing())
}
