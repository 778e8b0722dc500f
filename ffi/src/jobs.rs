//! Many jobs: run at once, on several threads.

use std::ffi::{c_char, c_void};
use std::num::NonZero;

use truebed_core::run_jobs;

use crate::job::{read_budget, truebed_budget};
use crate::pointer;
use crate::status::{Failure, boundary};
use crate::text::truebed_text;

/// What came of many jobs, one by one. It never changes, so any number of threads may read it at once.
pub struct truebed_jobs {
    jobs: Vec<Result<truebed_text, Failure>>,
}

/// Runs `count` jobs, each as `truebed_run_job_json_until` does, on at most `threads` threads; 0 stands
/// for one for each core. The documents are `jsons`, of so many bytes each (`lengths`). `budget`, NULL for
/// none, is that of each job. `*out` becomes what came of them, in their order; free it with
/// `truebed_jobs_free`. A job that is bad takes no other with it: `truebed_jobs_get` gives its error.
///
/// `stop` is called some fifty times a second, from the thread of this call, with `context` and the number of
/// jobs that are done; anything but 0 stops. Jobs under way then end with what they have found, and none
/// is begun any more. For the rest it is as in `truebed_plan_shims_until`. The threads that the call starts
/// end before it returns; where none can be started, the thread of this call does the work.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_run_jobs_json_until(
    threads: usize,
    jsons: *const *const c_char,
    lengths: *const usize,
    count: usize,
    budget: *const truebed_budget,
    stop: Option<unsafe extern "C" fn(context: *mut c_void, done: usize) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_jobs,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let (jsons, lengths, budget) = unsafe {
            let jsons = pointer::array(jsons, count, "jsons")?;
            (jsons, pointer::array(lengths, count, "lengths")?, read_budget(budget)?)
        };
        // SAFETY: the caller's promise, for each.
        let text = |(&json, &length)| unsafe { pointer::text(json, length, "json") };
        let texts: Vec<Result<&str, Failure>> = jsons.iter().zip(lengths).map(text).collect();
        let good: Vec<&str> = texts.iter().flatten().copied().collect();
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let stop = |done| stop.is_some_and(|stop| unsafe { stop(context, done) } != 0);
        let mut done = run_jobs(NonZero::new(threads), &good, &budget, &stop).into_iter();
        let jobs = texts.into_iter().filter_map(|text| match text {
            Ok(_) => done.next().map(|done| Ok(truebed_text::new(done?))),
            Err(failure) => Some(Err(failure)),
        });
        let jobs = Box::new(truebed_jobs { jobs: jobs.collect() });
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(jobs)) };
        Ok(())
    })
}

/// The number of jobs. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_jobs_count(jobs: *const truebed_jobs) -> usize {
    // SAFETY: the caller's promise: NULL or what is not freed yet.
    unsafe { jobs.as_ref() }.map_or(0, |jobs| jobs.jobs.len())
}

/// What came of one job, by index. `*out` becomes its document with its outcome, which belongs to the jobs;
/// do not free it.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_UNKNOWN for a job that is not there; for a job that was bad its own
/// error, those of `truebed_run_job_json`; TRUEBED_BAD_VALUE with the field `job` for one that was not begun
/// before `stop` said to stop.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_jobs_get(
    jobs: *const truebed_jobs,
    at: usize,
    out: *mut *const truebed_text,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let jobs = &unsafe { pointer::reference(jobs, "jobs") }?.jobs;
        let text = pointer::item(jobs, at, "at")?.as_ref().map_err(Failure::clone)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(text) };
        Ok(())
    })
}

/// Frees what came of jobs. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_jobs_free(jobs: *mut truebed_jobs) {
    if !jobs.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(jobs) });
    }
}
