//! Several plans: the trade-off, and many problems in one call.

use std::ffi::c_void;
use std::num::NonZero;
use std::ptr;

use truebed_core::{ShimPlan, plan_many_on, tradeoff_until};

use crate::plan::truebed_plan;
use crate::pointer;
use crate::problem::{read_problem, read_problem_of_many, truebed_problem};
use crate::status::{Failure, boundary};

/// A list of plans. It never changes, so any number of threads may read it at once.
pub struct truebed_plans {
    pub(crate) plans: Vec<truebed_plan>,
}

impl truebed_plans {
    /// Hands a list to the caller.
    fn give(plans: Vec<ShimPlan>) -> *mut Self {
        let plans = plans.into_iter().map(|plan| truebed_plan { plan }).collect();
        Box::into_raw(Box::new(Self { plans }))
    }
}

/// Finds the whole trade-off between pieces and flatness: the plan with the fewest pieces, and then
/// every plan that is flatter than all with no more pieces than it has, up to the flattest. From
/// each to the next, pieces rise and worst deviations fall. `*out` becomes the list; free it with
/// `truebed_plans_free`.
///
/// The order in the options does not count here. Where the limits cannot be met there is one plan,
/// as from `truebed_plan_shims`. Where the budget, which is for all plans together, runs out, the
/// last plan has that status.
///
/// Errors: those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_tradeoff(
    problem: *const truebed_problem,
    out: *mut *mut truebed_plans,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_tradeoff_until(problem, None, ptr::null_mut(), out) }
}

/// Finds the trade-off as `truebed_tradeoff` does, until `stop` says to stop: see
/// `truebed_plan_shims_until`. The plans found by then are in the list, and the last of them has the
/// status TRUEBED_PLAN_BUDGET, unless it was clear by then that no plan meets the limits.
///
/// Errors: those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_tradeoff_until(
    problem: *const truebed_problem,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_plans,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let problem = unsafe { read_problem(problem) }?;
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let plans = tradeoff_until(&problem, &unsafe { pointer::asking(stop, context) })?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_plans::give(plans)) };
        Ok(())
    })
}

/// Plans `count` problems on all cores, each as `truebed_plan_shims` does. `*out` becomes the list
/// of the plans, in the order of the problems; free it with `truebed_plans_free`. No problems make
/// a list of no plans. The threads that the call starts end before it returns.
///
/// All problems are checked before any is solved: where one is bad the call fails, and the last
/// error names it, as in `problems[3].stock[0].thickness`.
///
/// Errors: those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_many(
    problems: *const *const truebed_problem,
    count: usize,
    out: *mut *mut truebed_plans,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_plan_many_until(problems, count, None, ptr::null_mut(), out) }
}

/// Plans many problems as `truebed_plan_many` does, until `stop` says to stop. It is called some
/// fifty times a second, from the thread of this call, with `context` and the number of problems
/// that are done; anything but 0 stops. Searches under way then end as if their budgets had run out,
/// and problems not begun get a plan of what is in place (no shims, in a first pass), all with the
/// status TRUEBED_PLAN_BUDGET: the list always has a plan for each problem. For the rest, `stop` is
/// as in `truebed_plan_shims_until`; batches that are done before its first turn never call it.
///
/// Errors: those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_many_until(
    problems: *const *const truebed_problem,
    count: usize,
    stop: Option<unsafe extern "C" fn(context: *mut c_void, done: usize) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_plans,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_plan_many_on(0, problems, count, stop, context, out) }
}

/// Plans many problems as `truebed_plan_many_until` does, on at most `threads` threads; 0 stands for
/// one for each core. The plans are the same on any number of threads. Where no thread can be started,
/// the thread of this call does the work; it then asks `stop` as `truebed_plan_shims_until` does.
///
/// Errors: those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_many_on(
    threads: usize,
    problems: *const *const truebed_problem,
    count: usize,
    stop: Option<unsafe extern "C" fn(context: *mut c_void, done: usize) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_plans,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let pointers = unsafe { pointer::array(problems, count, "problems") }?;
        let mut problems = Vec::new();
        let mut failure: Option<Failure> = None;
        for (at, &problem) in pointers.iter().enumerate() {
            // SAFETY: the caller's promise, for each.
            match unsafe { read_problem_of_many(problem, at) } {
                Ok(problem) => problems.push(problem),
                Err(other) => {
                    failure = Some(match failure {
                        Some(failure) => failure.and(&other),
                        None => other,
                    });
                }
            }
        }
        if let Some(failure) = failure {
            return Err(failure);
        }
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let stop = |done| stop.is_some_and(|stop| unsafe { stop(context, done) } != 0);
        let plans = plan_many_on(NonZero::new(threads), &problems, &stop)
            .into_iter()
            .collect::<Result<Vec<_>, _>>()?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_plans::give(plans)) };
        Ok(())
    })
}

/// The number of plans in a list. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plans_count(plans: *const truebed_plans) -> usize {
    // SAFETY: the caller's promise: NULL or a list that is not freed yet.
    unsafe { plans.as_ref() }.map_or(0, |plans| plans.plans.len())
}

/// One plan of a list, by index. `*out` becomes the plan, which belongs to the list; do not free it.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a plan that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plans_get(
    plans: *const truebed_plans,
    at: usize,
    out: *mut *const truebed_plan,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let plans = &unsafe { pointer::reference(plans, "plans") }?.plans;
        let plan = pointer::item(plans, at, "at")?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(plan) };
        Ok(())
    })
}

/// Frees a list with all its plans. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plans_free(plans: *mut truebed_plans) {
    if !plans.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(plans) });
    }
}
