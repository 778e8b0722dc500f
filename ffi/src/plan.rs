//! Plans: which shims go under which support.

use std::ffi::c_void;
use std::ptr;

use truebed_core::{Length, ShimPlan, Status, plan_shims_until};

use crate::pointer;
use crate::problem::{TRUEBED_UNLIMITED, read_problem, truebed_problem};
use crate::problems::Problems;
use crate::status::{Failure, boundary};
use crate::verdict::{HEIGHTS, read_heights};

/// How a search ended: the plan meets every limit and none is better in the order of goals.
pub const TRUEBED_PLAN_PROVEN: i32 = 0;
/// How a search ended: the budget ran out; the plan is the best that was found.
pub const TRUEBED_PLAN_BUDGET: i32 = 1;
/// How a search ended: no plan from this stock meets the limits; the plan is the flattest that was
/// found at once. truebed_find_shortfall finds the flattest of all, and what would help.
pub const TRUEBED_PLAN_INFEASIBLE: i32 = 2;

/// A plan as a whole.
#[repr(C)]
pub struct truebed_plan_summary {
    /// sizeof(truebed_plan_summary), set by the caller.
    pub struct_size: usize,
    /// How the search ended, a TRUEBED_PLAN_ number.
    pub status: i32,
    /// 1 if the tops meet every limit, else 0.
    pub meets_limits: i32,
    /// Pieces in all.
    pub pieces: usize,
    /// The proven lower bound of the first goal in its own unit: pieces, mm of worst deviation,
    /// supports lifted (as always with stacks in place, unless the plan is to be flattest or
    /// cheapest) or price. When infeasible, the proven least worst deviation in mm.
    pub bound: f64,
    /// Largest distance of a top from the target, mm.
    pub worst_mm: f64,
    /// The level from which the worst deviation is smallest, mm; where the target slopes, its height
    /// at x = y = 0.
    pub target_mm: f64,
    /// Search nodes spent.
    pub nodes: u64,
    /// Pieces to put in, take out or set anew.
    pub moved: usize,
    /// The slope of the target along, um/m; 0 where the limits allow none.
    pub slope_along_um_per_m: i64,
    /// The slope of the target across, um/m.
    pub slope_across_um_per_m: i64,
    /// The number of supports.
    pub support_count: usize,
    /// The number of kinds of shim in the stock.
    pub kind_count: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_plan_summary {}

/// A stack of shims for every support. It never changes, so any number of threads may read it at
/// once.
pub struct truebed_plan {
    pub(crate) plan: ShimPlan,
}

/// Finds which shims go under which support. `*out` becomes the plan; free it with
/// `truebed_plan_free`. The problem may be freed at once. Millimetres count to the nearest
/// nanometre, and what lies exactly on a limit meets it.
///
/// That the stock cannot do it, or that the budget ran out, is no error but the status in the
/// plan's summary.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for heights, places,
/// thicknesses, counts, prices, limits and options out of range, no limit at all, and joints of a
/// support with itself; TRUEBED_DUPLICATE for a place or a joint given twice; TRUEBED_UNKNOWN for
/// joints of supports that are not there; TRUEBED_BAD_SHAPE for no support, no stock, or a stock
/// of more than 128 kinds.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_shims(
    problem: *const truebed_problem,
    out: *mut *mut truebed_plan,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_plan_shims_until(problem, None, ptr::null_mut(), out) }
}

/// Finds a plan as `truebed_plan_shims` does, until `stop` says to stop. It is called with
/// `context` every few thousand search nodes, that is, up to thousands of times a second, and from
/// the thread of this call; anything but 0 ends the search as if its budget had run out: the
/// status in the summary is TRUEBED_PLAN_BUDGET, unless it was clear by then that no plan meets
/// the limits. A `stop` of NULL never does; `context` may be NULL.
///
/// `stop` may be called often, also again after it has said to stop. It may call the library, but
/// it must return: no exception may leave it, and no longjmp.
///
/// Errors: those of `truebed_plan_shims`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_shims_until(
    problem: *const truebed_problem,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_plan,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let problem = unsafe { read_problem(problem) }?;
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let plan = plan_shims_until(&problem, &unsafe { pointer::asking(stop, context) })?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_plan { plan }))) };
        Ok(())
    })
}

/// Writes the summary of a plan to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_get_summary(
    plan: *const truebed_plan,
    summary: *mut truebed_plan_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let plan = &unsafe { pointer::reference(plan, "plan") }?.plan;
        let status = match plan.status {
            Status::Proven => TRUEBED_PLAN_PROVEN,
            Status::Infeasible => TRUEBED_PLAN_INFEASIBLE,
            // Whatever else there may be one day, it is no proof.
            _ => TRUEBED_PLAN_BUDGET,
        };
        let answer = truebed_plan_summary {
            struct_size: size_of::<truebed_plan_summary>(),
            status,
            meets_limits: plan.meets_limits.into(),
            pieces: plan.pieces,
            bound: plan.bound,
            worst_mm: plan.worst_mm(),
            target_mm: plan.target_mm(),
            nodes: plan.nodes,
            moved: plan.moved,
            slope_along_um_per_m: plan.tilt_um_per_m[0],
            slope_across_um_per_m: plan.tilt_um_per_m[1],
            support_count: plan.tops.len(),
            kind_count: plan.used.len(),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// What each support is lifted by, mm, in the order of the supports.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_lifts_mm(
    plan: *const truebed_plan,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { copy_lengths(plan, |plan| &plan.lifts, buffer, capacity, count) })
}

/// Height of each support on its stack, mm, in the order of the supports.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_tops_mm(
    plan: *const truebed_plan,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { copy_lengths(plan, |plan| &plan.tops, buffer, capacity, count) })
}

/// The thickness at which the adjustable piece under each support is set, mm, in the order of the
/// supports; 0 where there is none.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_settings_mm(
    plan: *const truebed_plan,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let plan = &unsafe { pointer::reference(plan, "plan") }?.plan;
        let mm = |setting: &Option<Length>| setting.map_or(0.0, Length::mm);
        let mm: Vec<f64> = plan.settings.iter().map(mm).collect();
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&mm, buffer, capacity, count) }
    })
}

/// Supports, by index, that have to be lifted: whose stack is not what is in place.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_lifted(
    plan: *const truebed_plan,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(plan, "plan", |it| &it.plan.lifted, buffer, capacity, count)
    })
}

/// How far each support settled, mm, in the order of the supports: the height that the plan has for
/// its top, less the height that was read once the plan was carried out. `heights_mm` are the
/// readings, `height_count` of them, one for each support.
///
/// The next plan has the settlement in its readings, with the stacks in place (truebed_placed). To
/// plan the same supports from their first heights, take what settled off those.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_BAD_VALUE for heights out of
/// range, TRUEBED_BAD_SHAPE for another number of them than supports.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_settlement_mm(
    plan: *const truebed_plan,
    heights_mm: *const f64,
    height_count: usize,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        let mut problems = Problems::default();
        // SAFETY: the caller's promise.
        let (plan, heights) = unsafe {
            (
                &pointer::reference(plan, "plan")?.plan,
                read_heights(heights_mm, height_count, HEIGHTS, &mut problems)?,
            )
        };
        problems.finish()?;
        let mm: Vec<f64> = plan.settlement(&heights)?.into_iter().map(Length::mm).collect();
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&mm, buffer, capacity, count) }
    })
}

/// The stack under one support: indices into the stock, one a piece, thickest first.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a support that is
/// not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_stack(
    plan: *const truebed_plan,
    support: usize,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let stacks = &unsafe { pointer::reference(plan, "plan") }?.plan.stacks;
        let stack = pointer::item(stacks, support, "support")?;
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(stack, buffer, capacity, count) }
    })
}

/// Pieces used of each kind, in the order of the stock.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_used(
    plan: *const truebed_plan,
    buffer: *mut u32,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(plan, "plan", |it| &it.plan.used, buffer, capacity, count)
    })
}

/// Pieces of each kind left on hand once the plan is carried out, in the order of the stock, or
/// TRUEBED_UNLIMITED. The next pass, with this plan in place, has them on hand.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_left(
    plan: *const truebed_plan,
    buffer: *mut i64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let plan = &unsafe { pointer::reference(plan, "plan") }?.plan;
        let left: Vec<i64> =
            plan.left.iter().map(|left| left.map_or(TRUEBED_UNLIMITED, i64::from)).collect();
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&left, buffer, capacity, count) }
    })
}

/// Supports, by index, that no stack from the whole stock brings within the limits, whatever
/// stacks the others get.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_unreachable(
    plan: *const truebed_plan,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(plan, "plan", |it| &it.plan.unreachable, buffer, capacity, count)
    })
}

/// Frees a plan. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_free(plan: *mut truebed_plan) {
    if !plan.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(plan) });
    }
}

unsafe fn copy_lengths(
    plan: *const truebed_plan,
    of: impl FnOnce(&ShimPlan) -> &[Length],
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> Result<(), Failure> {
    // SAFETY: the caller's promise.
    let plan = unsafe { pointer::reference(plan, "plan") }?;
    let mm: Vec<f64> = of(&plan.plan).iter().copied().map(Length::mm).collect();
    // SAFETY: the caller's promise.
    unsafe { pointer::copy_out(&mm, buffer, capacity, count) }
}
