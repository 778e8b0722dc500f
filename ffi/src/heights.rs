//! Heights: an adjusted survey, with its uncertainties and suspected blunders.

use std::ffi::{CString, c_char, c_void};
use std::ptr;
use std::sync::OnceLock;

use truebed_core::{Closure, Heights, Offset, SuspectGroup, Unchecked, adjust_until};

use crate::pointer;
use crate::status::boundary;
use crate::survey::truebed_survey;

/// Adjusted heights, and for each reading how well the others check it. It never changes, so any
/// number of threads may read it at once.
pub struct truebed_heights {
    pub(crate) heights: Heights,
    ids: Vec<CString>,
    setups: Vec<CString>,
    levels: Vec<CString>,
    unchecked: Vec<CString>,
    closures: OnceLock<Vec<Closure>>,
    groups: OnceLock<Vec<SuspectGroup>>,
}

/// Nothing checks the zero error of a level: read a line with the level turned end for end.
pub const TRUEBED_UNCHECKED_LEVEL: i32 = 1;
/// Nothing checks the slope of a laser's plane: read the same points from a second set-up, on the other
/// side of the bed, or some rises another way.
pub const TRUEBED_UNCHECKED_LASER: i32 = 2;
/// The same, and its stated uncertainty is not in the figures, since the places of the points are not
/// known.
pub const TRUEBED_UNCHECKED_LASER_NOT_COUNTED: i32 = 3;

/// A survey as a whole. What the readings do not determine is NaN.
#[repr(C)]
pub struct truebed_heights_summary {
    /// sizeof(truebed_heights_summary), set by the caller.
    pub struct_size: usize,
    /// The number of points.
    pub points: usize,
    /// The number of readings, including those left out.
    pub readings: usize,
    /// Degrees of freedom: the number of readings beyond those needed.
    pub dof: usize,
    /// Sum of weighted squares of the residuals over dof: about 1 where the uncertainties are
    /// right. NaN without degrees of freedom.
    pub variance_factor: f64,
    /// Global test: probability of residuals at least so large if the uncertainties are right and
    /// no reading is a blunder. NaN without degrees of freedom.
    pub p_value: f64,
    /// The critical value of the test for blunders; NaN where there is none.
    pub critical: f64,
    /// Largest pivot of the normal equations over the smallest: as many of the 16 digits as it has
    /// may be lost.
    pub condition: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_heights_summary {}

/// The height of a set-up or the zero error of a level, as found by the adjustment.
#[repr(C)]
pub struct truebed_offset {
    /// sizeof(truebed_offset), set by the caller.
    pub struct_size: usize,
    /// Its name, which belongs to the heights.
    pub name: *const c_char,
    /// Height of the set-up, mm, or zero error of the level, mm/m.
    pub value: f64,
    /// Standard uncertainty of that.
    pub sigma: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_offset {}

/// Adjusts a survey: weighted least squares of all its readings at once. `*out` becomes the heights;
/// free them with `truebed_heights_free`. The survey stays as it is, and may be adjusted again.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for values that are not finite, uncertainties
/// below zero, readings from a point to itself, fixed heights that contradict each other,
/// uncertainties too far apart to compute with; TRUEBED_DUPLICATE, TRUEBED_UNKNOWN for names;
/// TRUEBED_BAD_SHAPE for no readings; TRUEBED_BAD_GEOMETRY for points beside their straightedge;
/// TRUEBED_UNTIED for points that the readings do not tie together, with a reading that would.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_adjust(
    survey: *const truebed_survey,
    out: *mut *mut truebed_heights,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_adjust_until(survey, None, ptr::null_mut(), out) }
}

/// Adjusts a survey as `truebed_adjust` does, until `stop` says to stop: see `truebed_plan_shims_until`. A
/// call that is stopped has no answer.
///
/// Errors: those of `truebed_adjust`, and TRUEBED_STOPPED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_adjust_until(
    survey: *const truebed_survey,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_heights,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let survey = &unsafe { pointer::reference(survey, "survey") }?.survey;
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let heights = adjust_until(survey, &unsafe { pointer::asking(stop, context) })?;
        // Names come from texts that end with a NUL, or from a table, where one is no use.
        let c_text = |name: &str| CString::new(name.replace('\0', "\u{2400}")).unwrap_or_default();
        let names =
            |offsets: &[Offset]| offsets.iter().map(|offset| c_text(&offset.name)).collect();
        let heights = truebed_heights {
            ids: heights.ids.iter().map(c_text).collect(),
            setups: names(&heights.setups),
            levels: names(&heights.zero_errors),
            unchecked: heights.unchecked.iter().map(|it| c_text(name_of(it))).collect(),
            closures: OnceLock::new(),
            groups: OnceLock::new(),
            heights,
        };
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(heights))) };
        Ok(())
    })
}

/// Frees heights. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_free(heights: *mut truebed_heights) {
    if !heights.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(heights) });
    }
}

/// Writes the summary of a survey to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_get_summary(
    heights: *const truebed_heights,
    summary: *mut truebed_heights_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let heights = &unsafe { pointer::reference(heights, "heights") }?.heights;
        let answer = truebed_heights_summary {
            struct_size: size_of::<truebed_heights_summary>(),
            points: heights.ids.len(),
            readings: heights.residuals_mm.len(),
            dof: heights.dof,
            variance_factor: heights.variance_factor,
            p_value: heights.p_value,
            critical: heights.critical,
            condition: heights.condition,
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// The id of a point, by index. `*out` becomes a text that ends with a NUL and belongs to the
/// heights.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a point that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_id(
    heights: *const truebed_heights,
    at: usize,
    out: *mut *const c_char,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let ids = &unsafe { pointer::reference(heights, "heights") }?.ids;
        let id = pointer::item(ids, at, "at")?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(id.as_ptr()) };
        Ok(())
    })
}

/// The heights of the points, mm: in the order of their places, else as they appear in the readings.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_mm(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.mm, buffer, capacity, count)
    })
}

/// The standard uncertainties of the heights, mm; 0 for those that count as exact.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_sigma_mm(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.sigma_mm, buffer, capacity, count)
    })
}

/// The covariance of the heights, mm², row by row: points × points values. It is computed at each
/// call that has a buffer.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_OUT_OF_MEMORY.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_covariance_mm2(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe {
        truebed_heights_covariance_until(heights, None, ptr::null_mut(), buffer, capacity, count)
    }
}

/// The covariance as `truebed_heights_covariance_mm2` gives it, until `stop` says to stop: see
/// `truebed_plan_shims_until`. A call that is stopped writes nothing.
///
/// Errors: those of `truebed_heights_covariance_mm2`, and TRUEBED_STOPPED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_covariance_until(
    heights: *const truebed_heights,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let heights = &unsafe { pointer::reference(heights, "heights") }?.heights;
        let size = heights.ids.len() * heights.ids.len();
        if buffer.is_null() && capacity == 0 {
            let count = pointer::out(count, "count")?;
            // SAFETY: the caller's promise: valid for writes.
            unsafe { count.write(size) };
            return Ok(());
        }
        // The covariance and as much again while it is made.
        pointer::room(2 * size, "covariance")?;
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let covariance = heights.covariance_until(&unsafe { pointer::asking(stop, context) })?;
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&covariance, buffer, capacity, count) }
    })
}

/// The residual of each reading, mm: adjusted less read; of a slope over its span.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_residuals_mm(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.residuals_mm, buffer, capacity, count)
    })
}

/// The redundancy number of each reading, from 0 (no other reading checks it) to 1.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_redundancy(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.redundancy, buffer, capacity, count)
    })
}

/// Baarda's w of each reading, its residual over the residual's standard uncertainty; NaN where
/// nothing checks the reading. For one left out: how far off it is, in standard uncertainties.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_normalised(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.normalised, buffer, capacity, count)
    })
}

/// Pope's tau of each reading: w over the square root of the variance factor.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_tau(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.tau, buffer, capacity, count)
    })
}

/// The smallest blunder of each reading that the test finds with the stated power, mm; infinite
/// where nothing checks the reading.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_detectable_mm(
    heights: *const truebed_heights,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(
            heights,
            "heights",
            |it| &it.heights.detectable_mm,
            buffer,
            capacity,
            count,
        )
    })
}

/// The readings that the others contradict, by index, worst first. One blunder makes good readings
/// look bad: look at their groups (`truebed_heights_suspect_group`), read those of the first again, and
/// adjust again. Leave a reading out (`truebed_survey_without`) only where it is alone in its group.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_suspects(
    heights: *const truebed_heights,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.suspects, buffer, capacity, count)
    })
}

/// How many groups the suspects make. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_suspect_group_count(
    heights: *const truebed_heights,
) -> usize {
    // SAFETY: the caller's promise: NULL or heights that are not freed yet.
    unsafe { heights.as_ref() }.map_or(0, |heights| heights.groups().len())
}

/// One group of readings, from 0 on, the worst first, of which one is suspected to be wrong and no data
/// can say which: the readings by index, and about by how much, mm. Read all of them again.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a group that is not
/// there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_suspect_group(
    heights: *const truebed_heights,
    at: usize,
    blunder_mm: *mut f64,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        let blunder_mm = pointer::out(blunder_mm, "blunder_mm")?;
        // SAFETY: the caller's promise.
        let heights = unsafe { pointer::reference(heights, "heights") }?;
        let group = pointer::item(heights.groups(), at, "at")?;
        // SAFETY: the caller's promise, for each of the pointers.
        unsafe {
            pointer::copy_out(&group.readings, buffer, capacity, count)?;
            blunder_mm.write(group.blunder_mm);
        }
        Ok(())
    })
}

/// The other reading with which a blunder in one reading is most easily confused, by index, and the
/// correlation of the normalised residuals of both, from -1 to 1; at either end no data can tell them
/// apart. Where nothing checks the reading, `*other` is that reading itself and `*correlation` is NaN.
/// It takes some time in a large survey, which is spent anew in every call.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a reading that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_separability(
    heights: *const truebed_heights,
    reading: usize,
    other: *mut usize,
    correlation: *mut f64,
) -> i32 {
    boundary(|| {
        let (other, correlation) =
            (pointer::out(other, "other")?, pointer::out(correlation, "correlation")?);
        // SAFETY: the caller's promise.
        let heights = &unsafe { pointer::reference(heights, "heights") }?.heights;
        pointer::item(&heights.residuals_mm, reading, "reading")?;
        let found = heights.separability_of(reading);
        let found = found.map_or((reading, f64::NAN), |found| (found.other, found.correlation));
        // SAFETY: the caller's promise: valid for writes.
        unsafe {
            other.write(found.0);
            correlation.write(found.1);
        }
        Ok(())
    })
}

/// How many levels and lasers have an error that nothing checks. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_unchecked_count(heights: *const truebed_heights) -> usize {
    // SAFETY: the caller's promise: NULL or heights that are not freed yet.
    unsafe { heights.as_ref() }.map_or(0, |heights| heights.unchecked.len())
}

/// One level or laser, from 0 on, whose error enters all its readings alike and nothing checks: a
/// TRUEBED_UNCHECKED_ number, and the name of the level or set-up, which belongs to the heights.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for one that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_unchecked(
    heights: *const truebed_heights,
    at: usize,
    what: *mut i32,
    name: *mut *const c_char,
) -> i32 {
    boundary(|| {
        let (what, name) = (pointer::out(what, "what")?, pointer::out(name, "name")?);
        // SAFETY: the caller's promise.
        let heights = unsafe { pointer::reference(heights, "heights") }?;
        let found = match pointer::item(&heights.heights.unchecked, at, "at")? {
            Unchecked::Setup { counted: true, .. } => TRUEBED_UNCHECKED_LASER,
            Unchecked::Setup { .. } => TRUEBED_UNCHECKED_LASER_NOT_COUNTED,
            _ => TRUEBED_UNCHECKED_LEVEL,
        };
        // SAFETY: the caller's promise: valid for writes.
        unsafe {
            what.write(found);
            name.write(heights.unchecked[at].as_ptr());
        }
        Ok(())
    })
}

/// The readings left out, by index.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_left_out(
    heights: *const truebed_heights,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(heights, "heights", |it| &it.heights.left_out, buffer, capacity, count)
    })
}

/// The number of set-ups that the readings were taken from. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_setup_count(heights: *const truebed_heights) -> usize {
    // SAFETY: the caller's promise: NULL or heights that are not freed yet.
    unsafe { heights.as_ref() }.map_or(0, |heights| heights.setups.len())
}

/// Writes the height of one set-up, by index, to `*setup`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a set-up that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_setup(
    heights: *const truebed_heights,
    at: usize,
    setup: *mut truebed_offset,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let heights = unsafe { pointer::reference(heights, "heights") }?;
        let offset = pointer::item(&heights.heights.setups, at, "at")?;
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(setup, told(&heights.setups[at], offset), "setup") }
    })
}

/// The number of levels that the readings name. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_level_count(heights: *const truebed_heights) -> usize {
    // SAFETY: the caller's promise: NULL or heights that are not freed yet.
    unsafe { heights.as_ref() }.map_or(0, |heights| heights.levels.len())
}

/// Writes the zero error of one level, by index, to `*level`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a level that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_level(
    heights: *const truebed_heights,
    at: usize,
    level: *mut truebed_offset,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let heights = unsafe { pointer::reference(heights, "heights") }?;
        let offset = pointer::item(&heights.heights.zero_errors, at, "at")?;
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(level, told(&heights.levels[at], offset), "level") }
    })
}

/// The number of loops that the readings make. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_closure_count(heights: *const truebed_heights) -> usize {
    // SAFETY: the caller's promise: NULL or heights that are not freed yet.
    unsafe { heights.as_ref() }.map_or(0, |heights| heights.closures().len())
}

/// One loop of readings, by index: its readings by index, in order; its misclosure and the standard
/// uncertainty of that, mm.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a loop that is not
/// there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_closure(
    heights: *const truebed_heights,
    at: usize,
    mm: *mut f64,
    sigma_mm: *mut f64,
    buffer: *mut usize,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        let (mm, sigma_mm) = (pointer::out(mm, "mm")?, pointer::out(sigma_mm, "sigma_mm")?);
        // SAFETY: the caller's promise.
        let heights = unsafe { pointer::reference(heights, "heights") }?;
        let closure = pointer::item(heights.closures(), at, "at")?;
        // SAFETY: the caller's promise, for each of the pointers.
        unsafe {
            pointer::copy_out(&closure.readings, buffer, capacity, count)?;
            mm.write(closure.mm);
            sigma_mm.write(closure.sigma_mm);
        }
        Ok(())
    })
}

impl truebed_heights {
    fn closures(&self) -> &[Closure] {
        self.closures.get_or_init(|| self.heights.closures())
    }

    fn groups(&self) -> &[SuspectGroup] {
        self.groups.get_or_init(|| self.heights.suspect_groups())
    }
}

fn name_of(unchecked: &Unchecked) -> &str {
    match unchecked {
        Unchecked::Level { name } | Unchecked::Setup { name, .. } => name,
        _ => "",
    }
}

fn told(name: &CString, offset: &Offset) -> truebed_offset {
    truebed_offset {
        struct_size: size_of::<truebed_offset>(),
        name: name.as_ptr(),
        value: offset.value,
        sigma: offset.sigma,
    }
}
