//! Limits against heights.

use truebed_core::{Finding, Length, Verdict, check};

use crate::limits::{
    TRUEBED_LIMIT_ACROSS, TRUEBED_LIMIT_ALONG, limit_bit, read_limits, truebed_limits,
};
use crate::pointer;
use crate::problem::truebed_joint;
use crate::problems::Problems;
use crate::status::{Failure, boundary};

/// Whether limits are met, and a finding for each set of points that a limit binds. It never
/// changes, so any number of threads may read it at once.
pub struct truebed_verdict {
    verdict: Verdict,
}

/// Whether one limit is met over one set of points: all, a line, or a joint.
#[repr(C)]
pub struct truebed_finding {
    /// sizeof(truebed_finding), set by the caller.
    pub struct_size: usize,
    /// Which limit, by its bit: TRUEBED_LIMIT_OVERALL, _ALONG, _ACROSS, _JOINT_STEP or _NAMED.
    pub limit: u32,
    /// 1 if found_mm is at most allowed_mm, else 0.
    pub met: i32,
    /// The difference between the highest and the lowest of the points, mm.
    pub found_mm: f64,
    /// The largest difference that is allowed, mm: twice a ± limit, once a joint step.
    pub allowed_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_finding {}

/// Holds the heights of `count` points against the limits. `xy_mm` holds x and y of each in turn,
/// 2 * `count` values, or is NULL where the limits ask for neither lengthwise nor crosswise lines nor slopes;
/// `joints` are pairs of points by index. `*out` becomes the verdict; free it with
/// `truebed_verdict_free`. Millimetres count to the nearest nanometre, and what lies exactly on a
/// limit meets it. That a limit is not met is no error.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for heights, places and
/// limits out of range, no limit at all, and joints of a point with itself; TRUEBED_DUPLICATE for a
/// joint given twice; TRUEBED_UNKNOWN for joints of points that are not there; TRUEBED_BAD_SHAPE
/// for no points.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_check(
    xy_mm: *const f64,
    heights_mm: *const f64,
    count: usize,
    limits: *const truebed_limits,
    joints: *const truebed_joint,
    joint_count: usize,
    out: *mut *mut truebed_verdict,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (heights, limits, joints) = unsafe {
            (
                pointer::array(heights_mm, count, "heights_mm")?,
                pointer::grown(limits, "limits")?,
                pointer::array(joints, joint_count, "joints")?,
            )
        };
        let asks_lines = limits.asked & (TRUEBED_LIMIT_ALONG | TRUEBED_LIMIT_ACROSS) != 0
            || limits.slope_along_um_per_m > 0
            || limits.slope_across_um_per_m > 0;
        let places: Option<&[[f64; 2]]> = if xy_mm.is_null() && !asks_lines {
            None
        } else {
            // SAFETY: the caller's promise.
            Some(unsafe { pointer::array(xy_mm.cast(), count, "xy_mm") }?)
        };
        let mut problems = Problems::default();
        let xy = match places {
            Some(places) => (0..)
                .zip(places)
                .map(|(at, [x, y])| {
                    [
                        problems.length(*x, || format!("x[{at}]")),
                        problems.length(*y, || format!("y[{at}]")),
                    ]
                })
                .collect(),
            // Limits without lines never look at the places.
            None => vec![[Length::ZERO; 2]; count],
        };
        let heights: Vec<Length> = (0..)
            .zip(heights)
            .map(|(at, &mm)| problems.length(mm, || format!("heights[{at}]")))
            .collect();
        // SAFETY: the caller's promise.
        let limits = unsafe { read_limits(&limits, &mut problems) }?;
        problems.finish()?;
        let joints: Vec<_> = joints.iter().map(|joint| [joint.a, joint.b]).collect();
        let verdict = check(&xy, &heights, &limits, &joints)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_verdict { verdict }))) };
        Ok(())
    })
}

/// 1 if all limits are met, else 0. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_is_met(verdict: *const truebed_verdict) -> i32 {
    // SAFETY: the caller's promise: NULL or a verdict that is not freed yet.
    unsafe { verdict.as_ref() }.is_some_and(|verdict| verdict.verdict.met).into()
}

/// How many findings a verdict has. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_count(verdict: *const truebed_verdict) -> usize {
    // SAFETY: the caller's promise: NULL or a verdict that is not freed yet.
    unsafe { verdict.as_ref() }.map_or(0, |verdict| verdict.verdict.findings.len())
}

/// Writes one finding of a verdict, from 0 on, to `*finding`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a finding that is not
/// there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_get(
    verdict: *const truebed_verdict,
    at: usize,
    finding: *mut truebed_finding,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let found = unsafe { item(verdict, at) }?;
        let answer = truebed_finding {
            struct_size: size_of::<truebed_finding>(),
            limit: limit_bit(found.limit),
            met: found.met.into(),
            found_mm: found.found.mm(),
            allowed_mm: found.allowed.mm(),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(finding, answer, "finding") }
    })
}

/// The points, by index, that one finding of a verdict is about.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a finding that is
/// not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_points(
    verdict: *const truebed_verdict,
    at: usize,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { pointer::copy_out(&item(verdict, at)?.points, buffer, capacity, count) })
}

/// Frees a verdict. NULL is left alone; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_free(verdict: *mut truebed_verdict) {
    if !verdict.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(verdict) });
    }
}

unsafe fn item<'a>(verdict: *const truebed_verdict, at: usize) -> Result<&'a Finding, Failure> {
    // SAFETY: the caller's promise.
    let verdict = unsafe { pointer::reference(verdict, "verdict") }?;
    pointer::item(&verdict.verdict.findings, at, "at")
}
