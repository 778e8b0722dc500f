//! Verdicts: heights against limits.

use std::ffi::c_void;
use std::mem::offset_of;
use std::ptr;

use truebed_core::{
    Axis, Beforehand, Evidence, Finding, Length, Limits, Prediction, Verdict, VerdictReason,
    assess, assess_until, check_until,
};

use crate::heights::truebed_heights;
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
    /// How many reasons: see `truebed_verdict_reason`.
    pub reason_count: usize,
    /// What the probability takes to be known of the heights before they were read: a
    /// TRUEBED_BEFOREHAND_ number.
    pub beforehand: i32,
    /// The probability of reading heights at least so far beyond the limits although the true heights
    /// meet them: at most this. TRUEBED_NOT_MET asks that it is at most the risk. NaN where no such
    /// test is made.
    pub excess_p: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_verdict_summary {
    const FIRST_SIZE: usize = offset_of!(truebed_verdict_summary, reason_count);
}

/// What the probability takes to be known beforehand: nothing; every height is equally likely.
pub const TRUEBED_BEFOREHAND_NOTHING: i32 = 0;
/// What the probability takes to be known beforehand: what the plan predicted.
pub const TRUEBED_BEFOREHAND_PREDICTION: i32 = 1;

/// VerdictReason: a limit of the preset binds no two points, so nothing was held against it.
pub const TRUEBED_REASON_NOTHING_BOUND: i32 = 1;
/// VerdictReason: the readings contradict each other by more than their uncertainties explain.
pub const TRUEBED_REASON_READINGS_CONTRADICT: i32 = 2;
/// VerdictReason: the heights that were read contradict what the plan predicted.
pub const TRUEBED_REASON_PREDICTION_CONTRADICTED: i32 = 3;
/// VerdictReason: the plane of a laser may lean, and the figures do not count it, since the places of its
/// points are not known.
pub const TRUEBED_REASON_LEAN_NOT_COUNTED: i32 = 4;
/// VerdictReason: a reading that the others speak against was left out, and no data can tell it from another
/// that was not.
pub const TRUEBED_REASON_LEFT_OUT_BY_CHANCE: i32 = 5;

/// Why a verdict is TRUEBED_CANNOT_TELL, whatever the probability; or what the caller overruled.
#[repr(C)]
pub struct truebed_reason {
    /// sizeof(truebed_reason), set by the caller.
    pub struct_size: usize,
    /// Why: a TRUEBED_REASON_ number.
    pub kind: i32,
    /// The limit that binds nothing, by its TRUEBED_LIMIT_ bit; else 0.
    pub limit: u32,
    /// The probability of a contradiction at least so large if all stated uncertainties are right; NaN
    /// where there is none.
    pub p_value: f64,
    /// The level of the test; NaN where there is none.
    pub level: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_reason {}

/// What a verdict rests on besides the heights. All zero is valid: nothing more is known.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_evidence {
    /// sizeof(truebed_evidence), set by the caller.
    pub struct_size: usize,
    /// How the verdict is reached: a TRUEBED_RULE_ number.
    pub rule: i32,
    /// 1 to give a verdict although the readings contradict each other or what the plan predicted;
    /// else 0. The contradiction is still reported.
    pub overrule: i32,
    /// The greatest probability of being wrong, for TRUEBED_RULE_GUARD_BAND; 0 for the others.
    pub risk: f64,
    /// The survey that the heights come from, whose global test and doubts are looked at; or NULL.
    pub heights: *const truebed_heights,
    /// The level of the global test: below this probability of their residuals the readings contradict
    /// each other, and the verdict is TRUEBED_CANNOT_TELL. 0 stands for 0.05.
    pub level: f64,
    /// 1 to multiply the covariance by the variance factor of the survey, with Student's t in place of
    /// the normal distribution, and to leave the global test aside; else 0.
    pub scale: i32,
    /// The heights that a plan predicted, mm, one a point: `truebed_plan_tops_mm`. Or NULL.
    pub predicted_mm: *const f64,
    /// Their covariance, mm², row by row, of `truebed_plan_predicted_covariance_mm2`; needed with
    /// `predicted_mm`, else NULL.
    pub predicted_covariance_mm2: *const f64,
    /// By how much each point may have settled since, as a standard uncertainty, mm.
    pub settlement_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_evidence {}

unsafe fn read_evidence(
    evidence: *const truebed_evidence,
    count: usize,
    problems: &mut Problems,
) -> Result<Evidence, Failure> {
    // SAFETY: the caller's promise, for each of the pointers.
    let evidence = unsafe { pointer::grown(evidence, "evidence") }?;
    let mut read = Evidence::from(read_rule(evidence.rule, evidence.risk, problems));
    let mut flag = |name: &str, value: i32| {
        if !(0..=1).contains(&value) {
            problems.value(name, value, "0 or 1");
        }
        value == 1
    };
    read.trust.overrule = flag("overrule", evidence.overrule);
    read.trust.scale = flag("scale", evidence.scale);
    if evidence.level != 0.0 {
        read.trust.level = evidence.level;
    }
    // SAFETY: the caller's promise: NULL or heights that are not freed yet.
    if let Some(survey) = unsafe { evidence.heights.as_ref() } {
        read = read.of_survey(&survey.heights);
    }
    if !evidence.predicted_mm.is_null() {
        // SAFETY: the caller's promise.
        let (heights, covariance) = unsafe {
            (
                pointer::array(evidence.predicted_mm, count, "predicted_mm")?,
                pointer::square(
                    evidence.predicted_covariance_mm2,
                    count,
                    "predicted_covariance_mm2",
                )?,
            )
        };
        let (heights, covariance) = (heights.to_vec(), covariance.to_vec());
        read.prediction = Some(Prediction::new(heights, covariance, evidence.settlement_mm)?);
    }
    Ok(read)
}

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
    // SAFETY: the caller's promise.
    unsafe {
        truebed_check_until(
            xy_mm,
            heights_mm,
            count,
            limits,
            joints,
            joint_count,
            None,
            ptr::null_mut(),
            out,
        )
    }
}

/// Holds heights against limits as `truebed_check` does, until `stop` says to stop: see
/// `truebed_plan_shims_until`. What takes long is the search for a slope of the target. A call that is
/// stopped has no answer.
///
/// Errors: those of `truebed_check`, and TRUEBED_STOPPED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_check_until(
    xy_mm: *const f64,
    heights_mm: *const f64,
    count: usize,
    limits: *const truebed_limits,
    joints: *const truebed_joint,
    joint_count: usize,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
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
        let Asked { xy, limits, joints } = &asked;
        let verdict = |stop: &dyn Fn() -> bool| check_until(xy, &heights, limits, joints, stop);
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        problems.finish_with(|| verdict(&stop))?;
        let verdict = verdict(&stop)?;
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
        let Asked { xy, limits, joints } = &asked;
        let verdict = || assess(xy, &heights, covariance, limits, joints, rule);
        problems.finish_with(verdict)?;
        let verdict = verdict()?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_verdict::give(verdict)) };
        Ok(())
    })
}

/// Holds heights against limits as `truebed_assess` does, with what else is known of them.
///
/// Errors: those of `truebed_assess`; TRUEBED_BAD_VALUE for a level that is not between 0 and 1, flags
/// that are neither 0 nor 1, and a settlement below 0.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_assess_with(
    xy_mm: *const f64,
    heights_mm: *const f64,
    covariance_mm2: *const f64,
    count: usize,
    limits: *const truebed_limits,
    joints: *const truebed_joint,
    joint_count: usize,
    evidence: *const truebed_evidence,
    out: *mut *mut truebed_verdict,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe {
        truebed_assess_until(
            xy_mm,
            heights_mm,
            covariance_mm2,
            count,
            limits,
            joints,
            joint_count,
            evidence,
            None,
            ptr::null_mut(),
            out,
        )
    }
}

/// Holds heights against limits as `truebed_assess_with` does, until `stop` says to stop: see
/// `truebed_plan_shims_until`. A call that is stopped has no answer.
///
/// Errors: those of `truebed_assess_with`, and TRUEBED_STOPPED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_assess_until(
    xy_mm: *const f64,
    heights_mm: *const f64,
    covariance_mm2: *const f64,
    count: usize,
    limits: *const truebed_limits,
    joints: *const truebed_joint,
    joint_count: usize,
    evidence: *const truebed_evidence,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_verdict,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        let mut problems = Problems::default();
        // SAFETY: the caller's promise, for each of the pointers.
        let (heights, covariance, asked, evidence) = unsafe {
            (
                read_heights(heights_mm, count, HEIGHTS, &mut problems)?,
                pointer::square(covariance_mm2, count, "covariance_mm2")?,
                Asked::read(xy_mm, count, limits, joints, joint_count, &mut problems)?,
                read_evidence(evidence, count, &mut problems)?,
            )
        };
        let Asked { xy, limits, joints } = &asked;
        let verdict = |stop: &dyn Fn() -> bool| {
            assess_until(xy, &heights, covariance, limits, joints, &evidence, stop)
        };
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        problems.finish_with(|| verdict(&stop))?;
        let verdict = verdict(&stop)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_verdict::give(verdict)) };
        Ok(())
    })
}

/// The covariance, mm², row by row, of the heights that a plan for a problem predicts for the time when it
/// is carried out (`truebed_plan_tops_mm`): that of the heights with the variances of its pieces. Both
/// together are the prediction of a `truebed_evidence`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_BAD_VALUE for a
/// problem whose heights and pieces are exact; TRUEBED_BAD_SHAPE for a plan of another problem.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_predicted_covariance_mm2(
    problem: *const truebed_problem,
    plan: *const truebed_plan,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let (problem, plan) =
            unsafe { (read_problem(problem)?, &pointer::reference(plan, "plan")?.plan) };
        problem.check()?;
        let covariance = plan.prediction(&problem, 0.0)?.covariance_mm2;
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&covariance, buffer, capacity, count) }
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
            reason_count: verdict.reasons.len(),
            beforehand: match verdict.beforehand {
                Beforehand::Prediction => TRUEBED_BEFOREHAND_PREDICTION,
                _ => TRUEBED_BEFOREHAND_NOTHING,
            },
            excess_p: verdict.excess_p.unwrap_or(f64::NAN),
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

/// Writes one reason of a verdict, from 0 on, to `*reason`: why it is TRUEBED_CANNOT_TELL whatever the
/// probability, or what the caller overruled.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for one that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_reason(
    verdict: *const truebed_verdict,
    at: usize,
    reason: *mut truebed_reason,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let reasons = &unsafe { pointer::reference(verdict, "verdict") }?.verdict.reasons;
        let (kind, limit, p_value, level) = match *pointer::item(reasons, at, "at")? {
            VerdictReason::NothingBound { limit } => {
                (TRUEBED_REASON_NOTHING_BOUND, limit_bit(limit), f64::NAN, f64::NAN)
            }
            VerdictReason::ReadingsContradict { p_value, level } => {
                (TRUEBED_REASON_READINGS_CONTRADICT, 0, p_value, level)
            }
            VerdictReason::PredictionContradicted { p_value, level } => {
                (TRUEBED_REASON_PREDICTION_CONTRADICTED, 0, p_value, level)
            }
            VerdictReason::LeanNotCounted {} => {
                (TRUEBED_REASON_LEAN_NOT_COUNTED, 0, f64::NAN, f64::NAN)
            }
            VerdictReason::LeftOutByChance {} => {
                (TRUEBED_REASON_LEFT_OUT_BY_CHANCE, 0, f64::NAN, f64::NAN)
            }
            _ => (0, 0, f64::NAN, f64::NAN),
        };
        let struct_size = size_of::<truebed_reason>();
        let answer = truebed_reason { struct_size, kind, limit, p_value, level };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(reason, answer, "reason") }
    })
}

/// The points, by index, that lie on no line along (TRUEBED_AXIS_ALONG) or across, where a limit on
/// such lines is asked for: it does not bind them.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for an axis that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_verdict_off_lines(
    verdict: *const truebed_verdict,
    axis: i32,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let off = &unsafe { pointer::reference(verdict, "verdict") }?.verdict.off_lines;
        let axis = usize::try_from(axis).unwrap_or(usize::MAX);
        let points = pointer::item(off, axis, "axis")?;
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(points, buffer, capacity, count) }
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
                |at: usize, axis: &str, mm| problems.coordinate(mm, || format!("{axis}[{at}]"));
            (0..).zip(places).map(|(at, &[x, y])| [read(at, "x", x), read(at, "y", y)]).collect()
        };
        // SAFETY: the caller's promise.
        let mut limits = unsafe { read_limits(&limits, problems) }?;
        problems.spare(&mut limits);
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
