//! Jobs: a document that holds a whole job, and what comes of it.

use std::ffi::c_char;

use truebed_core::{Conformity, Error, Job, StageOutcome, next_pass, run_job};

use crate::pointer;
use crate::rule::conformity;
use crate::status::{Failure, TRUEBED_BAD_DOCUMENT, boundary};
use crate::text::truebed_text;

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
    boundary(|| unsafe { from_json(json, length, out, run_job) })
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
    let job = Job::from_json(unsafe { pointer::text(json, length, "json") }?)?;
    let outcome = job.outcome.ok_or_else(|| {
        let expected = "the outcome of a job that has been run";
        Failure::new(TRUEBED_BAD_DOCUMENT, "outcome", "none", expected)
    })?;
    let stages = [(job.legs, outcome.legs), (job.slates, outcome.slates)];
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
