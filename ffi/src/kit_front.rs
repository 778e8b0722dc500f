//! The front of kits: pieces in the van against the share of jobs that they serve.

use std::ffi::c_void;

use truebed_core::{FrontKit, kit_front_picture, kit_front_until};

use crate::estimate::{read_kit_options, truebed_floor_model, truebed_kit_options};
use crate::pointer;
use crate::problem::{read_problem, truebed_problem};
use crate::status::boundary;
use crate::text::truebed_text;

/// The smallest kit for each of some shares of jobs, the fewest pieces first. It never changes, so any number
/// of threads may read it at once.
pub struct truebed_kit_front {
    kits: Vec<FrontKit>,
}

/// A kit of a front.
#[repr(C)]
pub struct truebed_front_kit {
    /// sizeof(truebed_front_kit), set by the caller.
    pub struct_size: usize,
    /// Pieces in all.
    pub pieces: u32,
    /// 1 if no smaller kit serves as many of the training jobs, else 0.
    pub proven: i32,
    /// The share of the training jobs that the kit was chosen to serve.
    pub training_share: f64,
    /// The share of fresh jobs that the kit serves.
    pub served: f64,
    /// The exact two-sided interval of that share (Clopper-Pearson), for this kit by itself.
    pub interval: [f64; 2],
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_front_kit {}

/// Finds the smallest kit for each of `share_count` shares of the training jobs, each between 0 and 1, and how
/// many fresh jobs it serves. Shares that no kit reaches, and kits no larger than the one before, are left
/// out. Of the options `share` is not used, and `confidence` is that of the intervals; `jobs_a_day` is 0 or 1.
/// `options` may be NULL for the defaults. `*out` becomes the front; free it with `truebed_kit_front_free`.
/// `stop` is as in `truebed_plan_shims_until`; the kits found by then are the answer.
///
/// Errors: those of `truebed_find_kit`; TRUEBED_BAD_SHAPE for no shares, TRUEBED_BAD_VALUE for shares that are
/// not between 0 and 1 and for more than one job a day.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_find_kit_front(
    floor: *const truebed_floor_model,
    problem: *const truebed_problem,
    options: *const truebed_kit_options,
    shares: *const f64,
    share_count: usize,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_kit_front,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (floor, problem, options, shares) = unsafe {
            let floor = pointer::reference(floor, "floor")?;
            let shares = pointer::array(shares, share_count, "shares")?;
            (floor, read_problem(problem)?, read_kit_options(options)?, shares)
        };
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        let kits = kit_front_until(&floor.model, &problem, &options, shares, &stop)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_kit_front { kits }))) };
        Ok(())
    })
}

/// The number of kits in a front. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_front_count(front: *const truebed_kit_front) -> usize {
    // SAFETY: the caller's promise: NULL or a front.
    unsafe { front.as_ref() }.map_or(0, |front| front.kits.len())
}

/// One kit of a front, by index, to `*kit`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_UNKNOWN for a kit that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_front_get(
    front: *const truebed_kit_front,
    at: usize,
    kit: *mut truebed_front_kit,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let front = unsafe { pointer::reference(front, "front") }?;
        let of = pointer::item(&front.kits, at, "at")?;
        let answer = truebed_front_kit {
            struct_size: size_of::<truebed_front_kit>(),
            pieces: of.pieces,
            proven: of.proven.into(),
            training_share: of.training_share,
            served: of.served,
            interval: of.interval,
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(kit, answer, "kit") }
    })
}

/// Pieces of each kind of one kit of a front, in the order of the stock.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_UNKNOWN for a kit that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_front_counts(
    front: *const truebed_kit_front,
    at: usize,
    buffer: *mut u32,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let front = pointer::reference(front, "front")?;
        let of = pointer::item(&front.kits, at, "at")?;
        pointer::copy_out(&of.counts, buffer, capacity, count)
    })
}

/// Draws a front: how many pieces serve which share of the jobs, each share with its interval. `*out` becomes
/// an SVG with the cautions on it; free it with `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_front_picture(
    front: *const truebed_kit_front,
    out: *mut *mut truebed_text,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let front = unsafe { pointer::reference(front, "front") }?;
        let text = truebed_text::give(kit_front_picture(&front.kits));
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(text) };
        Ok(())
    })
}

/// Frees a front. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_front_free(front: *mut truebed_kit_front) {
    if !front.is_null() {
        // SAFETY: the caller's promise: a front that this library made and that is not freed yet.
        drop(unsafe { Box::from_raw(front) });
    }
}
