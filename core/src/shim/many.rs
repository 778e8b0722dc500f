//! Many problems on all cores.

use std::num::NonZero;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use super::asked::Asked;
use super::plan::ShimPlan;
use super::problem::ShimProblem;
use super::solver::plan_shims_until;
use crate::error::Error;

/// Plans many problems on all cores; the answers come in the order of the problems and are those
/// of [`plan_shims`].
pub fn plan_many(problems: &[ShimProblem]) -> Vec<Result<ShimPlan, Error>> {
    plan_many_until(problems, &|_| false)
}

/// Plans many problems as [`plan_many`] does, until `stop` says true. It is asked from the thread of
/// this call, some fifty times a second, with the number of problems that are done. Once it has said
/// true, searches under way end as if their budgets had run out, and problems not begun get what is
/// in place (no shims, in a first pass) with [`Status::Budget`].
pub fn plan_many_until(
    problems: &[ShimProblem],
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<ShimPlan, Error>> {
    const PAUSE: Duration = Duration::from_millis(20);
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(problems.len());
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let stopped = AtomicBool::new(false);
    let is_stopped = || stopped.load(Relaxed);
    let (ended, all_ended) = mpsc::channel::<()>();
    let work = || {
        let mut answers = Vec::new();
        while let at = next.fetch_add(1, Relaxed)
            && let Some(problem) = problems.get(at)
        {
            let answer = match is_stopped() {
                true => unbegun(problem),
                false => plan_shims_until(problem, &is_stopped),
            };
            answers.push((at, answer));
            done.fetch_add(1, Relaxed);
        }
        answers
    };
    let mut answers: Vec<_> = thread::scope(|scope| {
        let (work, mut workers) = (&work, Vec::new());
        for _ in 0..threads {
            let ended = ended.clone();
            let work = move || {
                let _ended = ended;
                work()
            };
            // Where no more threads can be had, those there are do it all.
            match thread::Builder::new().spawn_scoped(scope, work) {
                Ok(worker) => workers.push(worker),
                Err(_) => break,
            }
        }
        if workers.is_empty() {
            stopped.fetch_or(stop(0), Relaxed);
            return work();
        }
        drop(ended);
        // Nothing is ever sent: the channel closes when the last of the workers is done.
        while all_ended.recv_timeout(PAUSE) == Err(mpsc::RecvTimeoutError::Timeout) {
            stopped.fetch_or(stop(done.load(Relaxed)), Relaxed);
        }
        workers.into_iter().filter_map(|worker| worker.join().ok()).flatten().collect()
    });
    answers.sort_unstable_by_key(|&(at, _)| at);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

/// What is in place, as the answer to a problem that was not begun.
fn unbegun(problem: &ShimProblem) -> Result<ShimPlan, Error> {
    let asked = Asked::new(problem)?;
    asked.model()?;
    Ok(asked.standing())
}
