//! Many jobs at once, on all cores.

use std::num::NonZero;

use super::run::run_job_until;
use crate::error::{Error, ProblemKind};
use crate::shim::Budget;
use crate::workers;

/// Runs many jobs as [`run_job`](crate::run_job) runs one, on at most so many threads; the default is
/// one for each core. The answers come in the order of the documents and are the same on any number of
/// threads. `budget` caps what each job may take, as [`Job::run_until`](crate::Job::run_until) has it.
///
/// `stop` is asked from the thread of this call, some fifty times a second, with the number of jobs that
/// are done. Once it has said true, jobs under way end early, with what they found, and no further one is
/// begun.
///
/// # Errors
/// One for each job by itself: what [`run_job`](crate::run_job) refuses, and that it was not begun.
pub fn run_jobs<D: AsRef<str> + Sync>(
    threads: Option<NonZero<usize>>,
    documents: &[D],
    budget: &Budget,
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<String, Error>> {
    let work = |at: usize, is_stopped: &dyn Fn() -> bool| match is_stopped() {
        true => Err(Error::new(ProblemKind::Value, "job", "a stop before it was begun", "a run")),
        false => run_job_until(documents[at].as_ref(), budget, is_stopped),
    };
    workers::each(documents.len(), workers::threads(threads), work, stop)
}
