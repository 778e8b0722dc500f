//! Pictures: plans, trade-offs and surveys as SVG.

use truebed_core::{
    DecisionRule, Error, Heights, Picture, TradeoffMark, Units, survey_picture,
    survey_picture_narrow, tradeoff_picture, tradeoff_picture_narrow,
};

use crate::heights::truebed_heights;
use crate::plan::truebed_plan;
use crate::plans::truebed_plans;
use crate::pointer;
use crate::problem::{read_problem, truebed_problem};
use crate::problems::Problems;
use crate::status::{Failure, boundary};
use crate::text::truebed_text;

/// Units of a picture: both, figures in millimetres and in inches and each piece as its box names
/// it, with the other unit beside it.
pub const TRUEBED_UNITS_BOTH: i32 = 0;
/// Units of a picture: millimetres.
pub const TRUEBED_UNITS_METRIC: i32 = 1;
/// Units of a picture: inches.
pub const TRUEBED_UNITS_INCH: i32 = 2;

/// Draws a plan for the problem that it was found for, in `units`, a TRUEBED_UNITS_ number. `*out`
/// becomes an SVG, with no script in it and with a text for those who do not see it; supports are
/// named by their numbers from 0 on. Free it with `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BAD_VALUE for other units,
/// TRUEBED_BAD_SHAPE for a plan of another problem, and those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_picture(
    problem: *const truebed_problem,
    plan: *const truebed_plan,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw(problem, plan, units, out, Picture::svg) })
}

/// Draws what `truebed_plan_picture` draws for the screen of a phone: 380 pixels wide, set anew and not
/// shrunk. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_plan_picture`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_picture_narrow(
    problem: *const truebed_problem,
    plan: *const truebed_plan,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw(problem, plan, units, out, Picture::svg_narrow) })
}

/// Draws a plan in one of the two forms.
unsafe fn draw(
    problem: *const truebed_problem,
    plan: *const truebed_plan,
    units: i32,
    out: *mut *mut truebed_text,
    svg: impl FnOnce(&Picture, Units) -> String,
) -> Result<(), Failure> {
    let out = pointer::out(out, "out")?;
    // SAFETY: the caller's promise.
    let (problem, plan) =
        unsafe { (read_problem(problem)?, &pointer::reference(plan, "plan")?.plan) };
    let units = read_units(units)?;
    problem.check()?;
    let svg = svg(&Picture::new(&problem, plan)?, units);
    // SAFETY: the caller's promise: valid for writes.
    unsafe { out.write(truebed_text::give(svg)) };
    Ok(())
}

/// Draws the plans of a trade-off, pieces against worst deviation, in `units`, a TRUEBED_UNITS_
/// number. `*out` becomes an SVG; free it with `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE for other units.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_tradeoff_picture(
    plans: *const truebed_plans,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_tradeoff(plans, units, out, tradeoff_picture) })
}

/// Draws what `truebed_tradeoff_picture` draws for the screen of a phone: 380 pixels wide, set anew and
/// not shrunk. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_tradeoff_picture`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_tradeoff_picture_narrow(
    plans: *const truebed_plans,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_tradeoff(plans, units, out, tradeoff_picture_narrow) })
}

unsafe fn draw_tradeoff(
    plans: *const truebed_plans,
    units: i32,
    out: *mut *mut truebed_text,
    svg: impl FnOnce(Vec<TradeoffMark>, Units) -> String,
) -> Result<(), Failure> {
    let out = pointer::out(out, "out")?;
    // SAFETY: the caller's promise.
    let plans = unsafe { pointer::reference(plans, "plans") }?;
    let units = read_units(units)?;
    let marks = plans.plans.iter().map(|plan| TradeoffMark::from(&plan.plan));
    let svg = svg(marks.collect(), units);
    // SAFETY: the caller's promise: valid for writes.
    unsafe { out.write(truebed_text::give(svg)) };
    Ok(())
}

/// Draws the plans of a trade-off as `truebed_tradeoff_picture` does, with the probability that each
/// meets all limits beside it, as `truebed_plan_predict` foresees it for the problem that they were
/// found for. Where nothing is uncertain there are no probabilities.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BAD_VALUE for other units,
/// TRUEBED_BAD_SHAPE for plans of another problem, and those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_tradeoff_picture_predicted(
    problem: *const truebed_problem,
    plans: *const truebed_plans,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_predicted(problem, plans, units, out, tradeoff_picture) })
}

/// Draws what `truebed_tradeoff_picture_predicted` draws for the screen of a phone: 380 pixels wide, set
/// anew and not shrunk. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_tradeoff_picture_predicted`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_tradeoff_picture_predicted_narrow(
    problem: *const truebed_problem,
    plans: *const truebed_plans,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_predicted(problem, plans, units, out, tradeoff_picture_narrow) })
}

unsafe fn draw_predicted(
    problem: *const truebed_problem,
    plans: *const truebed_plans,
    units: i32,
    out: *mut *mut truebed_text,
    svg: impl FnOnce(Vec<TradeoffMark>, Units) -> String,
) -> Result<(), Failure> {
    let out = pointer::out(out, "out")?;
    // SAFETY: the caller's promise.
    let (problem, plans) =
        unsafe { (read_problem(problem)?, &pointer::reference(plans, "plans")?.plans) };
    let units = read_units(units)?;
    problem.check()?;
    let mark = |plan: &truebed_plan| {
        // A probability depends on no rule, but for digits that are not shown.
        let verdict = plan.plan.predict(&problem, DecisionRule::default())?;
        let probability = Some(verdict.probability).filter(|it| !it.is_nan());
        Ok(TradeoffMark { probability, ..TradeoffMark::from(&plan.plan) })
    };
    let marks = plans.iter().map(mark).collect::<Result<Vec<_>, Error>>()?;
    let svg = svg(marks, units);
    // SAFETY: the caller's promise: valid for writes.
    unsafe { out.write(truebed_text::give(svg)) };
    Ok(())
}

/// Draws how far each reading of a survey is from what the others say, with the suspects marked;
/// readings are named by what they read, in millimetres and inches. `*out` becomes an SVG; free it with
/// `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_picture(
    heights: *const truebed_heights,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_survey(heights, TRUEBED_UNITS_BOTH, out, survey_picture) })
}

/// Draws what `truebed_heights_picture` draws in `units`, a TRUEBED_UNITS_ number. Free it with
/// `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE for other units.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_picture_in(
    heights: *const truebed_heights,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_survey(heights, units, out, survey_picture) })
}

/// Draws what `truebed_heights_picture_in` draws for the screen of a phone: 380 pixels wide, set anew
/// and not shrunk. Free it with `truebed_text_free`.
///
/// Errors: those of `truebed_heights_picture_in`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_picture_narrow(
    heights: *const truebed_heights,
    units: i32,
    out: *mut *mut truebed_text,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { draw_survey(heights, units, out, survey_picture_narrow) })
}

unsafe fn draw_survey(
    heights: *const truebed_heights,
    units: i32,
    out: *mut *mut truebed_text,
    svg: impl FnOnce(&Heights, Units) -> String,
) -> Result<(), Failure> {
    let out = pointer::out(out, "out")?;
    // SAFETY: the caller's promise.
    let heights = &unsafe { pointer::reference(heights, "heights") }?.heights;
    let svg = svg(heights, read_units(units)?);
    // SAFETY: the caller's promise: valid for writes.
    unsafe { out.write(truebed_text::give(svg)) };
    Ok(())
}

pub(crate) fn read_units(units: i32) -> Result<Units, Failure> {
    let mut problems = Problems::default();
    let units = match units {
        TRUEBED_UNITS_BOTH => Units::Both,
        TRUEBED_UNITS_METRIC => Units::Metric,
        TRUEBED_UNITS_INCH => Units::Inch,
        other => {
            problems.value("units", other, "a TRUEBED_UNITS_ number, 0 to 2");
            Units::Both
        }
    };
    problems.finish()?;
    Ok(units)
}
