//! What to read next: the readings that would most reduce the doubt.

use std::ffi::{c_char, c_void};
use std::ptr;

use std::mem::offset_of;

use truebed_core::{Claim, NextReadings, NextStatus, read_next_until};

use crate::limits::truebed_limits;
use crate::pointer;
use crate::problem::truebed_joint;
use crate::problems::Problems;
use crate::rule::read_rule;
use crate::status::boundary;
use crate::survey::{ids, truebed_survey};
use crate::verdict::{Asked, read_heights, truebed_verdict};

/// What is to be proven, of which points of a survey.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_claim {
    /// sizeof(truebed_claim), set by the caller.
    pub struct_size: usize,
    /// Ids of the points, texts that end with a NUL.
    pub points: *const *const c_char,
    /// The number of points.
    pub point_count: usize,
    /// x and y of each in turn, mm; NULL where the limits ask for neither lengthwise nor crosswise
    /// lines nor slopes.
    pub xy_mm: *const f64,
    /// What each is lifted by before it is judged, mm, as by a plan; NULL for nothing.
    pub lifts_mm: *const f64,
    /// What counts as level.
    pub limits: *const truebed_limits,
    /// Joints, whose sides are indices of the points here; NULL for none.
    pub joints: *const truebed_joint,
    /// The number of joints.
    pub joint_count: usize,
    /// How the verdict is reached, a TRUEBED_RULE_ number.
    pub rule: i32,
    /// The greatest probability of being wrong, for TRUEBED_RULE_GUARD_BAND; 0 for the others.
    pub risk: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_claim {}

/// What the readings prove, and what further readings would do. It never changes, so any number of
/// threads may read it at once.
pub struct truebed_next_readings {
    verdict: truebed_verdict,
    next: NextReadings,
}

/// What the readings prove, as a whole.
#[repr(C)]
pub struct truebed_next_summary {
    /// sizeof(truebed_next_summary), set by the caller.
    pub struct_size: usize,
    /// 1 if the readings are enough, that is if status is TRUEBED_NEXT_SETTLED; else 0.
    pub enough: i32,
    /// The doubt: the probability of being wrong about all limits together, if one has to say
    /// whether they are met. It is ½ at the most.
    pub doubt: f64,
    /// The number of candidates.
    pub reading_count: usize,
    /// Whether to read on: a TRUEBED_NEXT_ number.
    pub status: i32,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_next_summary {
    const FIRST_SIZE: usize = offset_of!(truebed_next_summary, status);
}

/// Next: the limits are met, or are not met, and no candidate is likely to change that: each of them
/// with a probability of at most the risk (0.05 where the rule has none).
pub const TRUEBED_NEXT_SETTLED: i32 = 0;
/// Next: at least one candidate is likely to change the verdict.
pub const TRUEBED_NEXT_READ_ON: i32 = 1;
/// Next: the readings do not tell, and no candidate by itself is likely to change that.
pub const TRUEBED_NEXT_NONE_HELPS: i32 = 2;

/// What one further reading would do.
#[repr(C)]
pub struct truebed_next_reading {
    /// sizeof(truebed_next_reading), set by the caller.
    pub struct_size: usize,
    /// The candidate, by index.
    pub candidate: usize,
    /// The doubt that it is expected to leave: never more than there is now.
    pub doubt: f64,
    /// The probability that the verdict is another one after it.
    pub changes: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_next_reading {}

/// Finds what further readings would do for a claim: the doubt that each candidate by itself is
/// expected to leave. The candidates are the readings of a survey of their own; what else that one
/// holds does not count, nor do the values of the readings, only their uncertainties. One that is read
/// from a set-up or with a level of the survey shares the errors of these. `*out` becomes the answer;
/// free it with `truebed_next_readings_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_NOT_UTF8; TRUEBED_BAD_SHAPE for no
/// candidates; TRUEBED_UNKNOWN for points that the survey does not have; those of `truebed_adjust`,
/// also for the candidates, by their index behind the readings; those of `truebed_assess`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_read_next(
    survey: *const truebed_survey,
    candidates: *const truebed_survey,
    claim: *const truebed_claim,
    out: *mut *mut truebed_next_readings,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_read_next_until(survey, candidates, claim, None, ptr::null_mut(), out) }
}

/// Finds what further readings would do as `truebed_read_next` does, until `stop` says to stop: see
/// `truebed_plan_shims_until`. A call that is stopped has no answer.
///
/// Errors: those of `truebed_read_next`, and TRUEBED_STOPPED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_read_next_until(
    survey: *const truebed_survey,
    candidates: *const truebed_survey,
    claim: *const truebed_claim,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_next_readings,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        let mut problems = Problems::default();
        // SAFETY: the caller's promise, for each of the pointers, and for all that the claim points
        // to.
        let (survey, candidates, claim, points, lifts, asked) = unsafe {
            let survey = &pointer::reference(survey, "survey")?.survey;
            let candidates = &pointer::reference(candidates, "candidates")?.survey.readings;
            let claim = pointer::grown(claim, "claim")?;
            let truebed_claim { point_count, limits, joints, joint_count, .. } = claim;
            let points = ids(claim.points, point_count)?;
            let lifts = match claim.lifts_mm.is_null() {
                true => Vec::new(),
                false => {
                    read_heights(claim.lifts_mm, point_count, ["lifts_mm", "lifts"], &mut problems)?
                }
            };
            let (xy, all) = (claim.xy_mm, &mut problems);
            let asked = Asked::read(xy, point_count, limits, joints, joint_count, all)?;
            (survey, candidates, claim, points, lifts, asked)
        };
        let rule = read_rule(claim.rule, claim.risk, &mut problems);
        problems.finish()?;
        let Asked { xy, limits, joints } = asked;
        let claim = Claim { points, xy, lifts, limits, joints, rule };
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        let next = read_next_until(survey, candidates, &claim, &stop)?;
        let verdict = truebed_verdict { verdict: next.verdict.clone() };
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_next_readings { verdict, next }))) };
        Ok(())
    })
}

/// Writes the summary of an answer to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_next_readings_get_summary(
    next: *const truebed_next_readings,
    summary: *mut truebed_next_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let next = &unsafe { pointer::reference(next, "next") }?.next;
        let answer = truebed_next_summary {
            struct_size: size_of::<truebed_next_summary>(),
            enough: next.enough().into(),
            doubt: next.doubt,
            reading_count: next.readings.len(),
            status: match next.status {
                NextStatus::Settled => TRUEBED_NEXT_SETTLED,
                NextStatus::ReadOn => TRUEBED_NEXT_READ_ON,
                _ => TRUEBED_NEXT_NONE_HELPS,
            },
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// Writes what one candidate would do to `*reading`: the one that leaves the least doubt is at 0.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for an index out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_next_readings_get(
    next: *const truebed_next_readings,
    at: usize,
    reading: *mut truebed_next_reading,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let readings = &unsafe { pointer::reference(next, "next") }?.next.readings;
        let next = pointer::item(readings, at, "at")?;
        let answer = truebed_next_reading {
            struct_size: size_of::<truebed_next_reading>(),
            candidate: next.candidate,
            doubt: next.doubt,
            changes: next.changes,
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(reading, answer, "reading") }
    })
}

/// The verdict by the readings that there are. It belongs to the answer; do not free it.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_next_readings_verdict(
    next: *const truebed_next_readings,
    out: *mut *const truebed_verdict,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let verdict = &unsafe { pointer::reference(next, "next") }?.verdict;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(ptr::from_ref(verdict)) };
        Ok(())
    })
}

/// Frees an answer with its verdict. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_next_readings_free(next: *mut truebed_next_readings) {
    if !next.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(next) });
    }
}
