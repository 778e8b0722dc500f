//! Shares work among threads. Answers come by index, so that a task that fails does not affect the
//! others. Where no thread can be started, the calling thread does the work.

use std::any::Any;
use std::num::NonZero;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering::Relaxed};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread::{self, Builder};
use std::time::Duration;

use crate::error::{Error, ProblemKind};

/// How many threads to use: those asked for, by default one for each core.
pub(crate) fn threads(asked: Option<NonZero<usize>>) -> usize {
    asked.or_else(|| thread::available_parallelism().ok()).map_or(1, NonZero::get)
}

/// Does `count` tasks, each by its index, on at most `threads` threads, and returns their answers in
/// order. A task that panics has an error in place of its answer.
///
/// `stop` is asked from the calling thread, before the first task and then some fifty times a second, with
/// the number of tasks that are done: so it is heard too where many calls are over in less than that. Tasks
/// ask the function that they are given whether it has said true.
pub(crate) fn each<T: Send>(
    count: usize,
    threads: usize,
    work: impl Fn(usize, &dyn Fn() -> bool) -> Result<T, Error> + Sync,
    stop: &dyn Fn(usize) -> bool,
) -> Vec<Result<T, Error>> {
    const PAUSE: Duration = Duration::from_millis(20);
    let (next, done) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let stopped = AtomicBool::new(count > 0 && stop(0));
    // Unwind safety: what a task has half done is its own, and dropped.
    let task = |at, is_stopped: &dyn Fn() -> bool| {
        let answer = catch_unwind(AssertUnwindSafe(|| work(at, is_stopped)));
        done.fetch_add(1, Relaxed);
        answer.unwrap_or_else(|fault| Err(error(fault.as_ref())))
    };
    let (ended, all_ended) = mpsc::channel::<()>();
    let mut answers: Vec<Option<Result<T, Error>>> = (0..count).map(|_| None).collect();
    thread::scope(|scope| {
        let (task, next, stopped) = (&task, &next, &stopped);
        let mut workers = Vec::new();
        for _ in 0..threads.min(count) {
            let ended = ended.clone();
            let worker = Builder::new().spawn_scoped(scope, move || {
                let _ended = ended;
                let mut answers = Vec::new();
                while let at = next.fetch_add(1, Relaxed)
                    && at < count
                {
                    answers.push((at, task(at, &|| stopped.load(Relaxed))));
                }
                answers
            });
            // A thread that cannot be started leaves its work to the others.
            workers.extend(worker);
        }
        drop(ended);
        if workers.is_empty() {
            for (at, answer) in answers.iter_mut().enumerate() {
                *answer = Some(task(at, &|| stop(done.load(Relaxed))));
            }
            return;
        }
        // Nothing is ever sent: the channel closes when the last of the workers is done.
        while all_ended.recv_timeout(PAUSE) == Err(RecvTimeoutError::Timeout) {
            stopped.fetch_or(stop(done.load(Relaxed)), Relaxed);
        }
        for (at, answer) in workers.into_iter().filter_map(|it| it.join().ok()).flatten() {
            answers[at] = Some(answer);
        }
    });
    let missing = || Err(error(&"a thread ended before its work"));
    answers.into_iter().map(|answer| answer.unwrap_or_else(missing)).collect()
}

/// Does a task for each of the parts on at most so many threads, the calling thread's included, and
/// gives their answers in order. A panic goes on in the calling thread.
pub(crate) fn shared<P: Send, T: Send>(
    threads: usize,
    parts: impl Iterator<Item = P> + Send,
    work: impl Fn(P) -> T + Sync,
) -> Vec<T> {
    let parts = Mutex::new(parts.enumerate());
    let run = || {
        let mut answers = Vec::new();
        while let Some((at, part)) = parts.lock().ok().and_then(|mut parts| parts.next()) {
            answers.push((at, work(part)));
        }
        answers
    };
    let mut answers = thread::scope(|scope| {
        let others = (1..threads).map(|_| Builder::new().spawn_scoped(scope, run));
        let others: Vec<_> = others.collect();
        let mut answers = run();
        for other in others.into_iter().flatten() {
            match other.join() {
                Ok(part) => answers.extend(part),
                Err(fault) => std::panic::resume_unwind(fault),
            }
        }
        answers
    });
    answers.sort_unstable_by_key(|&(at, _)| at);
    answers.into_iter().map(|(_, answer)| answer).collect()
}

fn error(fault: &(dyn Any + Send)) -> Error {
    let text = fault
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| fault.downcast_ref::<&str>().copied())
        .unwrap_or("a panic without a message");
    Error::new(ProblemKind::Internal, "internal error", text, "no fault of the library")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_task_that_panics_takes_no_other_answer_with_it() {
        // No threads stands for threads that cannot be started.
        for threads in [0, 1, 2, 7] {
            let work = |at: usize, _: &dyn Fn() -> bool| {
                assert!(at % 5 != 3, "worn out at {at}");
                Ok(at)
            };
            let answers = each(23, threads, work, &|_| false);
            assert_eq!(answers.len(), 23);
            for (at, answer) in answers.into_iter().enumerate() {
                if at % 5 == 3 {
                    let problem = answer.unwrap_err().problems()[0].clone();
                    assert_eq!(problem.kind, ProblemKind::Internal);
                    assert_eq!(problem.got, format!("worn out at {at}"));
                } else {
                    assert_eq!(answer.unwrap(), at);
                }
            }
        }
    }

    #[test]
    fn tasks_can_be_stopped_on_any_number_of_threads() {
        for threads in [0, 1, 3] {
            let work = |at: usize, is_stopped: &dyn Fn() -> bool| {
                while !is_stopped() {
                    thread::yield_now();
                }
                Ok(at)
            };
            assert_eq!(each(5, threads, work, &|_| true).len(), 5);
        }
    }

    #[test]
    fn parts_come_back_in_order() {
        let mut values = vec![0; 100];
        // No threads stands for threads that cannot be started.
        for threads in [0, 1, 2, 7] {
            let seen = shared(threads, values.chunks_mut(7).enumerate(), |(at, part)| {
                part.fill(at + threads);
                at
            });
            assert!(seen.into_iter().eq(0..15));
            assert_eq!((values[6], values[7], values[99]), (threads, threads + 1, threads + 14));
        }
    }
}
