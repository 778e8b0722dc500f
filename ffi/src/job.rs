//! Jobs: a document that holds a whole job, and what comes of it.

use std::ffi::{c_char, c_void};
use std::ptr;

use truebed_core::{
    Budget, Conformity, Error, Job, StageOutcome, next_pass, next_pass_of_outcome, run_job_until,
};

use crate::pointer;
use crate::rule::conformity;
use crate::status::{Failure, boundary};
use crate::text::truebed_text;

/// What a run may take, whatever the job itself allows: the smaller of the two counts. Zero is no limit.
#[repr(C)]
pub struct truebed_budget {
    /// sizeof(truebed_budget), set by the caller.
    pub struct_size: usize,
    /// The most search nodes of each search. The same number gives the same outcome on every machine.
    pub nodes: u64,
    /// The longest time for all that a run does, ms. Where the clock ends the run, the outcome depends on
    /// the machine.
    pub time_ms: u64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_budget {}

/// The budget of a caller; NULL is no limit.
pub(crate) unsafe fn read_budget(budget: *const truebed_budget) -> Result<Budget, Failure> {
    // SAFETY: the caller's promise.
    let Some(budget) = (unsafe { pointer::grown_or_null(budget, "budget") })? else {
        return Ok(Budget::UNLIMITED);
    };
    let some = |number: u64| (number > 0).then_some(number);
    Ok(Budget {
        nodes: some(budget.nodes).unwrap_or(Budget::UNLIMITED.nodes),
        time_ms: some(budget.time_ms),
    })
}

/// Runs a job: `length` bytes of JSON, with or without a NUL behind them. `*out` becomes the same
/// document with its outcome, indented by two spaces; free it with `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_DOCUMENT and TRUEBED_BAD_VERSION
/// for what cannot be read as a job; every other from TRUEBED_BAD_VALUE on for what is wrong with
/// the job. That no plan meets the limits is no error but stands in the outcome.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_run_job_json(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_run_job_json_until(json, length, ptr::null(), None, ptr::null_mut(), out) }
}

/// Runs a job as `truebed_run_job_json` does, with one budget for all that the run does, and until
/// `stop` says to stop. `budget` caps what the job itself allows; NULL for no cap. `stop` is called with
/// `context` every few milliseconds, from the thread of this call; anything but 0 stops. For the rest it
/// is as in `truebed_plan_shims_until`.
///
/// What was cut short is listed in `outcome.ran_out` of the document, and a plan that was cut short says so
/// in its `status`; what was found before stays. `truebed_job_sheet_of_outcome` and the calls beside it
/// write of that document what a crew reads.
///
/// Errors: those of `truebed_run_job_json`, and TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_run_job_json_until(
    json: *const c_char,
    length: usize,
    budget: *const truebed_budget,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_text,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let (budget, stop) = unsafe { (read_budget(budget)?, pointer::asking(stop, context)) };
        let run = |json: &str| run_job_until(json, &budget, &stop);
        // SAFETY: the caller's promise.
        unsafe { from_json(json, length, out, run) }
    })
}

/// Runs a job as `truebed_run_job_json` does; `*out` becomes the work sheet that a crew reads, as
/// plain text in UTF-8. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_run_job_json`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_sheet(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let sheet = |json: &str| Job::from_json(json)?.sheet();
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, sheet) })
}

/// Writes the work sheet of a job that has been run, as `truebed_job_sheet` does, without running it again.
/// `json` is the document that `truebed_run_job_json` or `truebed_run_job_json_until` gave: an outcome
/// from elsewhere may not be that of the job.
///
/// Errors: those of `truebed_job_is_met`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_sheet_of_outcome(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let sheet = |json: &str| Ok(Job::done_from_json(json)?.sheet_of_outcome());
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, sheet) })
}

/// Whether the plans of a job that has been run meet the limits of all its stages, as read: `*met`
/// becomes 1 if so, else 0, whatever the uncertainties; `truebed_job_conformity` counts them. A job of
/// plates alone has no limits to miss. `json` is the document that
/// `truebed_run_job_json` gave; it is not run again.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_DOCUMENT and TRUEBED_BAD_VERSION
/// for what cannot be read as a job or has no outcome; TRUEBED_BAD_LENGTH.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_is_met(
    json: *const c_char,
    length: usize,
    met: *mut i32,
) -> i32 {
    boundary(|| {
        let met = pointer::out(met, "met")?;
        // SAFETY: the caller's promise.
        let stages = unsafe { stages(json, length) }?;
        let all = stages.iter().all(|stage| stage.as_ref().is_some_and(|stage| stage.met));
        // SAFETY: the caller's promise: valid for writes.
        unsafe { met.write(all.into()) };
        Ok(())
    })
}

/// The verdict on a job that has been run: whether all its stages meet their limits once the plans are
/// carried out. `*out` becomes TRUEBED_MET where that is the verdict on each stage, by the job's own rule
/// of decision; TRUEBED_NOT_MET where it is that of any; else TRUEBED_CANNOT_TELL. A stage without
/// uncertainties, and a job without stages, is as `truebed_job_is_met` has it. `json` is the document
/// that `truebed_run_job_json` gave; it is not run again.
///
/// Errors: those of `truebed_job_is_met`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_conformity(
    json: *const c_char,
    length: usize,
    out: *mut i32,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let stages = unsafe { stages(json, length) }?;
        let verdict = |stage: &Option<StageOutcome>| match stage {
            None => Conformity::NotMet,
            Some(stage) => {
                stage.verdict.as_ref().map_or(stage.met.into(), |verdict| verdict.conformity)
            }
        };
        let verdicts: Vec<Conformity> = stages.iter().map(verdict).collect();
        let unsure = verdicts.iter().find(|it| **it != Conformity::Met);
        let all = match verdicts.contains(&Conformity::NotMet) {
            true => Conformity::NotMet,
            false => unsure.copied().unwrap_or(Conformity::Met),
        };
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(conformity(all)) };
        Ok(())
    })
}

/// Runs a job as `truebed_run_job_json` does; `*out` becomes the picture of its stages, an SVG with
/// no script in it, in the job's units. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_run_job_json`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_picture(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let picture = |json: &str| Job::from_json(json)?.picture();
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, picture) })
}

/// Draws what `truebed_job_picture` draws for the screen of a phone: 380 pixels wide, set anew and not
/// shrunk. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_run_job_json`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_picture_narrow(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let picture = |json: &str| Job::from_json(json)?.picture_narrow();
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, picture) })
}

/// Draws the stages of a job that has been run, as `truebed_job_picture` does, without running it again.
/// `json` is as in `truebed_job_sheet_of_outcome`.
///
/// Errors: those of `truebed_job_is_met`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_picture_of_outcome(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let picture = |json: &str| Ok(Job::done_from_json(json)?.picture_of_outcome());
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, picture) })
}

/// Runs a job as `truebed_run_job_json` does; `*out` becomes the page that a crew works from, one HTML
/// file that needs no script and no network, made for print and for a phone. Free it with
/// `truebed_text_free`.
///
/// Errors: those of `truebed_run_job_json`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_page(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let page = |json: &str| Job::from_json(json)?.page();
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, page) })
}

/// Writes the page of a job that has been run, as `truebed_job_page` does, without running it again.
/// `json` is as in `truebed_job_sheet_of_outcome`.
///
/// Errors: those of `truebed_job_is_met`; those of `truebed_find_place` for a room that has not been run.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_page_of_outcome(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    let page = |json: &str| Job::done_from_json(json)?.page_of_outcome();
    // SAFETY: the caller's promise.
    boundary(|| unsafe { from_json(json, length, out, page) })
}

/// Makes the document of the next pass of a job: stacks become what is placed, the stock what is left,
/// and `readings`, a JSON array of `readings_length` bytes, takes the place of all that were taken
/// before. The job is run first. `*out` becomes the document, not run yet; free it with
/// `truebed_text_free`. Once legs are lifted slates that have not been read again are left out.
///
/// Errors: those of `truebed_run_job_json`; TRUEBED_BAD_VALUE for a plan that does not meet its limits,
/// a reading that the plan was made from of a point that has been lifted since, and a point that has
/// not been read again.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_next_pass(
    json: *const c_char,
    length: usize,
    readings: *const c_char,
    readings_length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let readings = unsafe { pointer::text(readings, readings_length, "readings") }?;
        let next = |json: &str| next_pass(json, readings);
        // SAFETY: the caller's promise.
        unsafe { from_json(json, length, out, next) }
    })
}

/// Makes the document of the next pass as `truebed_job_next_pass` does, from the outcome of a job that has
/// been run, without running it again: for the document whose plan a crew has carried out. A plan
/// that ran out of its budget might be another one if it were run again.
///
/// Errors: those of `truebed_job_next_pass`; TRUEBED_BAD_DOCUMENT for a job without an outcome.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_next_pass_of_outcome(
    json: *const c_char,
    length: usize,
    readings: *const c_char,
    readings_length: usize,
    out: *mut *mut truebed_text,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let readings = unsafe { pointer::text(readings, readings_length, "readings") }?;
        let next = |json: &str| next_pass_of_outcome(json, readings);
        // SAFETY: the caller's promise.
        unsafe { from_json(json, length, out, next) }
    })
}

/// The JSON Schema (draft 2020-12) of a job. `*out` becomes a text; free it with
/// `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_job_schema_json(out: *mut *mut truebed_text) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_text::give(Job::json_schema())) };
        Ok(())
    })
}

/// What came out of each stage of a job that has been run; none of one that was not come to.
unsafe fn stages(json: *const c_char, length: usize) -> Result<Vec<Option<StageOutcome>>, Failure> {
    // SAFETY: the caller's promise.
    let job = Job::done_from_json(unsafe { pointer::text(json, length, "json") }?)?;
    let (legs, slates) = job.outcome.map(|outcome| (outcome.legs, outcome.slates)).unzip();
    let stages = [(job.legs, legs.flatten()), (job.slates, slates.flatten())];
    Ok(stages.into_iter().filter_map(|(asked, it)| asked.map(|_| it)).collect())
}

unsafe fn from_json(
    json: *const c_char,
    length: usize,
    out: *mut *mut truebed_text,
    run: impl FnOnce(&str) -> Result<String, Error>,
) -> Result<(), Failure> {
    let out = pointer::out(out, "out")?;
    // SAFETY: the caller's promise.
    let answer = run(unsafe { pointer::text(json, length, "json") }?)?;
    // SAFETY: the caller's promise: valid for writes.
    unsafe { out.write(truebed_text::give(answer)) };
    Ok(())
}
