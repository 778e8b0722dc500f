//! Shortfalls: why a stock is not enough, and what would help.

use std::ffi::c_void;
use std::ptr;

use truebed_core::{Shortfall, shortfall_until};

use crate::limits::limit_bit;
use crate::plan::truebed_plan;
use crate::pointer;
use crate::problem::{read_problem, read_stock, truebed_problem, truebed_shim};
use crate::problems::Problems;
use crate::status::{Failure, boundary};

/// What stands in the way of a plan, and the cheapest pieces that make one possible. It never
/// changes, so any number of threads may read it at once.
pub struct truebed_shortfall {
    shortfall: Shortfall,
    /// The plan with the addition.
    plan: Option<truebed_plan>,
    flattest: truebed_plan,
}

/// A shortfall as a whole.
#[repr(C)]
pub struct truebed_shortfall_summary {
    /// sizeof(truebed_shortfall_summary), set by the caller.
    pub struct_size: usize,
    /// 1 if every part of the conflict is needed; 0 if that is not known, since the budget ran out.
    pub minimal: i32,
    /// 1 if the most pieces under one support stand in the way, else 0.
    pub max_pieces: i32,
    /// 1 if the thickest stack stands in the way, else 0.
    pub max_stack: i32,
    /// 1 if there is an addition that makes a plan possible; else 0, and its price is 0.
    pub has_addition: i32,
    /// The number of supports in conflict.
    pub support_count: usize,
    /// The number of limits in conflict.
    pub limit_count: usize,
    /// The number of scarce kinds.
    pub scarce_count: usize,
    /// What the addition costs: the sum of its prices, or where no kind of the catalogue has one,
    /// the number of its pieces.
    pub price: u64,
    /// No other addition costs less than this; the price itself where that is proven.
    pub price_bound: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_shortfall_summary {}

/// One limit that is in conflict.
#[repr(C)]
pub struct truebed_conflict_limit {
    /// sizeof(truebed_conflict_limit), set by the caller.
    pub struct_size: usize,
    /// Which limit, by its bit: TRUEBED_LIMIT_OVERALL, _ALONG, _ACROSS, _JOINT_STEP or _NAMED.
    pub limit: u32,
    /// The largest difference that it allows, mm: twice a ± limit, once a joint step.
    pub allowed_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_conflict_limit {}

/// Finds why no plan meets the limits, and the cheapest addition to the stock with which one does:
/// from a catalogue of `catalogue_count` kinds, whose counts do not matter, or where `catalogue` is
/// NULL from more of the kinds in the stock. `*out` becomes the shortfall, free it with
/// `truebed_shortfall_free`; or NULL where the stock suffices, or the budget ran out before it was
/// known that it does not. The budget is for the conflict, the addition and the flattest plan each.
///
/// The conflict is a part of the problem that has no plan by itself: its supports (those that may
/// stay bare are always among them), held to its limits alone, with as many pieces as it takes of
/// all kinds but the scarce ones.
///
/// Errors: those of `truebed_plan_shims`, also for the stock with the catalogue.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_find_shortfall(
    problem: *const truebed_problem,
    catalogue: *const truebed_shim,
    catalogue_count: usize,
    out: *mut *mut truebed_shortfall,
) -> i32 {
    let (kinds, context) = (catalogue_count, ptr::null_mut());
    // SAFETY: the caller's promise.
    unsafe { truebed_find_shortfall_until(problem, catalogue, kinds, None, context, out) }
}

/// Finds a shortfall as `truebed_find_shortfall` does, until `stop` says to stop: see
/// `truebed_plan_shims_until`. A search stopped so ends as if its budget had run out; with `*out`
/// NULL where it was not known by then that the stock does not suffice.
///
/// Errors: those of `truebed_find_shortfall`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_find_shortfall_until(
    problem: *const truebed_problem,
    catalogue: *const truebed_shim,
    catalogue_count: usize,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_shortfall,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let (problem, kinds) = unsafe {
            let kinds = pointer::array(catalogue, catalogue_count, "catalogue")?;
            (read_problem(problem)?, kinds)
        };
        let mut problems = Problems::default();
        let kinds = read_stock(kinds, "catalogue", &mut problems);
        problems.finish()?;
        let catalogue = if catalogue.is_null() { None } else { Some(&kinds[..]) };
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        let found = shortfall_until(&problem, catalogue, &stop)?.map(|shortfall| {
            let plan = shortfall.addition.as_ref().map(|it| truebed_plan { plan: it.plan.clone() });
            let flattest = truebed_plan { plan: shortfall.flattest.clone() };
            Box::into_raw(Box::new(truebed_shortfall { shortfall, plan, flattest }))
        });
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(found.unwrap_or(ptr::null_mut())) };
        Ok(())
    })
}

/// Writes the summary of a shortfall to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_get_summary(
    shortfall: *const truebed_shortfall,
    summary: *mut truebed_shortfall_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let shortfall = unsafe { reference(shortfall) }?;
        let (conflict, addition) = (&shortfall.conflict, &shortfall.addition);
        let answer = truebed_shortfall_summary {
            struct_size: size_of::<truebed_shortfall_summary>(),
            minimal: conflict.minimal.into(),
            max_pieces: conflict.max_pieces.into(),
            max_stack: conflict.max_stack.into(),
            has_addition: addition.is_some().into(),
            support_count: conflict.supports.len(),
            limit_count: conflict.limits.len(),
            scarce_count: conflict.scarce.len(),
            price: addition.as_ref().map_or(0, |addition| addition.price),
            price_bound: addition.as_ref().map_or(0.0, |addition| addition.bound),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// The supports in conflict, by index, ascending.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_supports(
    shortfall: *const truebed_shortfall,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(
            shortfall,
            "shortfall",
            |it| &it.shortfall.conflict.supports,
            buffer,
            capacity,
            count,
        )
    })
}

/// The scarce kinds, by their index in the stock, ascending.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_scarce(
    shortfall: *const truebed_shortfall,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(
            shortfall,
            "shortfall",
            |it| &it.shortfall.conflict.scarce,
            buffer,
            capacity,
            count,
        )
    })
}

/// One limit in conflict, from 0 on.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a limit that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_limit(
    shortfall: *const truebed_shortfall,
    at: usize,
    limit: *mut truebed_conflict_limit,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let limits = &unsafe { reference(shortfall) }?.conflict.limits;
        let span = pointer::item(limits, at, "at")?;
        let answer = truebed_conflict_limit {
            struct_size: size_of::<truebed_conflict_limit>(),
            limit: limit_bit(span.limit),
            allowed_mm: span.width.mm(),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(limit, answer, "limit") }
    })
}

/// The supports that one limit in conflict binds, by index.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a limit that is not
/// there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_limit_supports(
    shortfall: *const truebed_shortfall,
    at: usize,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let limits = &unsafe { reference(shortfall) }?.conflict.limits;
        let span = pointer::item(limits, at, "at")?;
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&span.members, buffer, capacity, count) }
    })
}

/// How many pieces of each kind of the catalogue make a plan possible; none where nothing of it
/// does.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_pieces(
    shortfall: *const truebed_shortfall,
    buffer: *mut u32,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let addition = &unsafe { reference(shortfall) }?.addition;
        let pieces = addition.as_ref().map_or(&[][..], |addition| &addition.pieces);
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(pieces, buffer, capacity, count) }
    })
}

/// The plan that the addition makes possible, or NULL without one: its kinds are those of the stock
/// and then those of the catalogue. It belongs to the shortfall; do not free it.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_plan(
    shortfall: *const truebed_shortfall,
    out: *mut *const truebed_plan,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let plan = &unsafe { pointer::reference(shortfall, "shortfall") }?.plan;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(plan.as_ref().map_or(ptr::null(), ptr::from_ref)) };
        Ok(())
    })
}

/// The flattest plan that the stock allows, whatever the limits: proven so where the bound in its
/// summary is its worst deviation. It belongs to the shortfall; do not free it.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_flattest(
    shortfall: *const truebed_shortfall,
    out: *mut *const truebed_plan,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let flattest = &unsafe { pointer::reference(shortfall, "shortfall") }?.flattest;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(flattest) };
        Ok(())
    })
}

/// Frees a shortfall with its plans. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_shortfall_free(shortfall: *mut truebed_shortfall) {
    if !shortfall.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(shortfall) });
    }
}

unsafe fn reference<'a>(shortfall: *const truebed_shortfall) -> Result<&'a Shortfall, Failure> {
    // SAFETY: the caller's promise.
    Ok(&unsafe { pointer::reference(shortfall, "shortfall") }?.shortfall)
}
