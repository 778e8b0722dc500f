//! Verdicts: heights against limits.

use std::mem::offset_of;

use truebed_core::{Axis, Finding, Length, Limits, Verdict, assess, check};

use crate::limits::{
    TRUEBED_LIMIT_ACROSS, TRUEBED_LIMIT_ALONG, limit_bit, read_limits, truebed_limits,
};
use crate::plan::truebed_plan;
use crate::pointer;
use crate::problem::{read_problem, truebed_joint, truebed_problem};
use crate::problems::Problems;
use crate::rule::{basis, conformity, read_rule};
use crate::status::{Failure, boundary};

/// Along the bed, x.
pub const TRUEBED_AXIS_ALONG: i32 = 0;
/// Across the bed, y.
pub const TRUEBED_AXIS_ACROSS: i32 = 1;

/// Whether limits are met, and a finding for each set of points that a limit binds. It never
/// changes, so any number of threads may read it at once.
pub struct truebed_verdict {
    pub(crate) verdict: Verdict,
}

impl truebed_verdict {
    /// Hands a verdict to the caller.
    fn give(verdict: Verdict) -> *mut Self {
        Box::into_raw(Box::new(Self { verdict }))
    }
}

/// A verdict as a whole.
#[repr(C)]
pub struct truebed_verdict_summary {
    /// sizeof(truebed_verdict_summary), set by the caller.
    pub struct_size: usize,
    /// 1 if the heights as read, whatever their uncertainty, meet all limits; else 0. The verdict,
    /// which counts the uncertainty, is `conformity`.
    pub met: i32,
    /// The verdict on all limits together: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
    pub conformity: i32,
    /// What the verdict rests on, a TRUEBED_BASIS_ number.
    pub basis: i32,
    /// The probability that all limits are met; NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    /// computed in closed form, NaN where no uncertainties are given.
    pub probability_error: f64,
    /// The slope of the target along, um/m: of those that the limits allow the one nearest to level
    /// with which they are met; 0 where there is none.
    pub slope_along_um_per_m: i64,
    /// The slope of the target across, um/m.
    pub slope_across_um_per_m: i64,
    /// The number of findings: see `truebed_verdict_get`.
    pub finding_count: usize,
    /// The number of findings on slopes: see `truebed_verdict_slope`.
    pub slope_count: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_verdict_summary {}

/// Whether one limit is met over one set of points: all, a line, or a joint.
#[repr(C)]
pub struct truebed_finding {
    /// sizeof(truebed_finding), set by the caller.
    pub struct_size: usize,
    /// Which limit, by its bit: TRUEBED_LIMIT_OVERALL, _ALONG, _ACROSS, _JOINT_STEP or _NAMED.
    pub limit: u32,
    /// 1 if found_mm, as read, is at most allowed_mm; else 0. The verdict is `conformity`.
    pub met: i32,
    /// The difference between the highest and the lowest of the points, mm.
    pub found_mm: f64,
    /// The largest difference that is allowed, mm: twice a ± limit, once a joint step.
    pub allowed_mm: f64,
    /// What is left to the limit, mm: below zero beyond it.
    pub margin_mm: f64,
    /// The same in inches.
    pub margin_in: f64,
    /// Standard uncertainty of the height of the highest point above the lowest, mm; NaN where no
    /// uncertainties are given.
    pub sigma_mm: f64,
    /// The probability that this limit by itself is met; NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number; 0 where it is computed in closed form, NaN where no uncertainties
    /// are given.
    pub probability_error: f64,
    /// The verdict on this limit by itself: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
    pub conformity: i32,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_finding {
    const FIRST_SIZE: usize = offset_of!(truebed_finding, margin_mm);
}

/// Whether a limit on the slope of the target is met.
#[repr(C)]
pub struct truebed_slope_finding {
    /// sizeof(truebed_slope_finding), set by the caller.
    pub struct_size: usize,
    /// Along which axis: TRUEBED_AXIS_ALONG or TRUEBED_AXIS_ACROSS.
    pub axis: i32,
    /// 1 if found_mm_per_m, as read, is at most allowed_mm_per_m; else 0. The verdict is
    /// `conformity`.
    pub met: i32,
    /// The verdict on this limit: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
    pub conformity: i32,
    /// The least slope along this axis above which the limits on heights are met, whatever the slope
    /// along the other axis, mm/m; NaN where they are met above none.
    pub found_mm_per_m: f64,
    /// The greatest slope that is allowed, mm/m.
    pub allowed_mm_per_m: f64,
    /// The probability that this limit is met; NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number; NaN where no uncertainties are given.
    pub probability_error: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_slope_finding {}

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
        let mut problems = Problems::default();
        // SAFETY: the caller's promise, for each of the pointers.
        let (heights, asked) = unsafe {
            (
                read_heights(heights_mm, count, HEIGHTS, &mut problems)?,
                Asked::read(xy_mm, count, limits, joints, joint_count, &mut problems)?,
            )
        };
        problems.finish()?;
        let verdict = check(&asked.xy, &heights, &asked.limits, &asked.joints)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_verdict::give(verdict)) };
        Ok(())
    })
}

/// Holds the heights of `count` points against the limits as `truebed_check` does, and counts their
/// uncertainty: normal errors with a covariance of `count` * `count` values in mm², row by row. That of
/// `truebed_heights_covariance_mm2` will do, and may be singular, since only differences of height
/// count. The verdict is reached by `rule`, a TRUEBED_RULE_ number, and `risk`, the greatest
/// probability of being wrong: above 0 and below 0.5 for TRUEBED_RULE_GUARD_BAND, 0 for the others.
///
/// The probability of all limits together is computed from the whole covariance. A limit over two
/// points has a probability in closed form; one over more is simulated with draws that never change,
/// to a standard error of 2.5e-4, or up to 1e-3 where that does not change the verdict. Where the
/// target may slope, probabilities are those of the limits being met above some slope that is
/// allowed.
///
/// Errors: those of `truebed_check`; TRUEBED_BAD_VALUE for a covariance with values that are not
/// finite, not symmetric or not positive semidefinite, an unknown rule and a risk out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_assess(
    xy_mm: *const f64,
    heights_mm: *const f64,
    covariance_mm2: *const f64,
    count: usize,
    limits: *const truebed_limits,
    joints: *const truebed_joint,
    joint_count: usize,
    rule: i32,
    risk: f64,
    out: *mut *mut truebed_verdict,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        let mut problems = Problems::default();
        // SAFETY: the caller's promise, for each of the pointers.
        let (heights, covariance, asked) = unsafe {
            (
                read_heights(heights_mm, count, HEIGHTS, &mut problems)?,
                pointer::square(covariance_mm2, count, "covariance_mm2")?,
                Asked::read(xy_mm, count, limits, joints, joint_count, &mut problems)?,
            )
        };
        let rule = read_rule(rule, risk, &mut problems);
        problems.finish()?;
        let Asked { xy, limits, joints } = &asked;
        let verdict = assess(xy, &heights, covariance, limits, joints, rule)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_verdict::give(verdict)) };
        Ok(())
    })
}

/// The verdict to expect once a plan is carried out, for the problem that it was
/// found for. It counts the covariance of the heights in the problem and the uncertainties of the pieces
/// that are put in or taken out. Where the problem has neither, it is the verdict on the tops as planned. `rule` and
/// `risk` are those of `truebed_assess`; the risk in the options of the problem plays no part. `*out`
/// becomes the verdict; free it with `truebed_verdict_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown rule and a
/// risk out of range, TRUEBED_BAD_SHAPE for a plan of another problem, and those of
/// `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_predict(
    problem: *const truebed_problem,
    plan: *const truebed_plan,
    rule: i32,
    risk: f64,
    out: *mut *mut truebed_verdict,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let (problem, plan) =
            unsafe { (read_problem(problem)?, &pointer::reference(plan, "plan")?.plan) };
        let mut problems = Problems::default();
        let rule = read_rule(rule, risk, &mut problems);
        problems.finish()?;
        problem.check()?;
        let verdict = plan.predict(&problem, rule)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_verdict::give(verdict)) };
        Ok(())
    })
}

/// 1 if the heights as read, whatever their uncertainty, meet all limits; else 0. The verdict, which
/// counts the uncertainty, is `conformity` in the summary. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_is_met(verdict: *const truebed_verdict) -> i32 {
    // SAFETY: the caller's promise: NULL or a verdict that is not freed yet.
    unsafe { verdict.as_ref() }.is_some_and(|verdict| verdict.verdict.meets_limits).into()
}

/// Writes the summary of a verdict to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_get_summary(
    verdict: *const truebed_verdict,
    summary: *mut truebed_verdict_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let verdict = &unsafe { pointer::reference(verdict, "verdict") }?.verdict;
        let answer = truebed_verdict_summary {
            struct_size: size_of::<truebed_verdict_summary>(),
            met: verdict.meets_limits.into(),
            conformity: conformity(verdict.conformity),
            basis: basis(verdict.basis),
            probability: verdict.probability,
            probability_error: verdict.probability_error,
            slope_along_um_per_m: verdict.tilt_um_per_m[0],
            slope_across_um_per_m: verdict.tilt_um_per_m[1],
            finding_count: verdict.findings.len(),
            slope_count: verdict.slopes.len(),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// The number of findings of a verdict. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_count(verdict: *const truebed_verdict) -> usize {
    // SAFETY: the caller's promise: NULL or a verdict that is not freed yet.
    unsafe { verdict.as_ref() }.map_or(0, |verdict| verdict.verdict.findings.len())
}

/// Writes one finding of a verdict, by index, to `*finding`.
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
            met: found.meets_limits.into(),
            found_mm: found.found.mm(),
            allowed_mm: found.allowed.mm(),
            margin_mm: found.margin().mm(),
            margin_in: found.margin().inches(),
            sigma_mm: found.sigma_mm,
            probability: found.probability,
            probability_error: found.probability_error,
            conformity: conformity(found.conformity),
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

/// Writes one finding on the slope of the target, by index, to `*finding`. Where the limits allow a
/// slope there is one for each axis, else there is none.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a finding that is not
/// there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_slope(
    verdict: *const truebed_verdict,
    at: usize,
    finding: *mut truebed_slope_finding,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let slopes = &unsafe { pointer::reference(verdict, "verdict") }?.verdict.slopes;
        let found = pointer::item(slopes, at, "at")?;
        let answer = truebed_slope_finding {
            struct_size: size_of::<truebed_slope_finding>(),
            axis: match found.axis {
                Axis::Along => TRUEBED_AXIS_ALONG,
                Axis::Across => TRUEBED_AXIS_ACROSS,
            },
            met: found.meets_limits.into(),
            conformity: conformity(found.conformity),
            found_mm_per_m: found.found_mm_per_m,
            allowed_mm_per_m: found.allowed_mm_per_m,
            probability: found.probability,
            probability_error: found.probability_error,
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(finding, answer, "finding") }
    })
}

/// Frees a verdict. Freeing NULL does nothing; the call cannot fail.
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

/// What heights are held against, and where they are.
pub(crate) struct Asked {
    pub(crate) xy: Vec<[Length; 2]>,
    pub(crate) limits: Limits,
    pub(crate) joints: Vec<[usize; 2]>,
}

impl Asked {
    #[inline]
    pub(crate) unsafe fn read(
        xy_mm: *const f64,
        count: usize,
        limits: *const truebed_limits,
        joints: *const truebed_joint,
        joint_count: usize,
        problems: &mut Problems,
    ) -> Result<Self, Failure> {
        // SAFETY: the caller's promise, for each of the pointers.
        let (limits, joints) = unsafe {
            (pointer::grown(limits, "limits")?, pointer::array(joints, joint_count, "joints")?)
        };
        let asks_lines = limits.asked & (TRUEBED_LIMIT_ALONG | TRUEBED_LIMIT_ACROSS) != 0
            || limits.slope_along_um_per_m > 0
            || limits.slope_across_um_per_m > 0;
        let xy = if xy_mm.is_null() && !asks_lines {
            // Limits without lines never look at the places.
            vec![[Length::ZERO; 2]; count]
        } else {
            // SAFETY: the caller's promise.
            let places: &[[f64; 2]] = unsafe { pointer::array(xy_mm.cast(), count, "xy_mm") }?;
            let mut read =
                |at: usize, axis: &str, mm| problems.length(mm, || format!("{axis}[{at}]"));
            (0..).zip(places).map(|(at, &[x, y])| [read(at, "x", x), read(at, "y", y)]).collect()
        };
        // SAFETY: the caller's promise.
        let limits = unsafe { read_limits(&limits, problems) }?;
        Ok(Self { xy, limits, joints: joints.iter().map(|joint| [joint.a, joint.b]).collect() })
    }
}

/// Heights, or lifts, one a point, by the names of the pointer and of the values.
#[inline]
pub(crate) unsafe fn read_heights(
    mm: *const f64,
    count: usize,
    [pointer, name]: [&str; 2],
    problems: &mut Problems,
) -> Result<Vec<Length>, Failure> {
    // SAFETY: the caller's promise.
    let mm = unsafe { pointer::array(mm, count, pointer) }?;
    Ok((0..).zip(mm).map(|(at, &mm)| problems.length(mm, || format!("{name}[{at}]"))).collect())
}

/// What heights go by.
pub(crate) const HEIGHTS: [&str; 2] = ["heights_mm", "heights"];
