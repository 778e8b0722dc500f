//! Many problems at once, on all cores.

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
pub fn plan_many_on(
    threads: Option<NonZero<usize>>,
    problems: &[ShimProblem],
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<ShimPlan, Error>> {
    let work = |at: usize, is_stopped: &dyn Fn() -> bool| {
        let problem = &problems[at];
        match is_stopped() {
            true => unbegun(problem),
            false => plan_shims_until(problem, is_stopped),
        }
    };
    workers::each(problems.len(), workers::threads(threads), work, stop)
}

/// What is in place, as the answer to a problem that was not begun.
fn unbegun(problem: &ShimProblem) -> Result<ShimPlan, Error> {
    let asked = Asked::new(problem, Deadline::never())?;
    asked.model()?;
    Ok(asked.standing())
}
