//! Slabs: slates as elastic plates on supports that push, and the shims on which they lie level.

use std::ffi::c_void;
use std::ptr;

use truebed_core::{
    BearSettings, Bearing, BedPlan, BedProblem, LaidSlab, Length, Load, NoBed, Slab, SlabSupport,
    Status, plan_bed_until,
};

use crate::limits::{read_limits, truebed_limits};
use crate::plan::{TRUEBED_PLAN_BUDGET, TRUEBED_PLAN_INFEASIBLE, TRUEBED_PLAN_PROVEN};
use crate::pointer;
use crate::problem::{read_options, read_stock, truebed_plan_options, truebed_shim};
use crate::problems::Problems;
use crate::status::{Failure, boundary};

/// Why there is no bed plan: there is one.
pub const TRUEBED_BED_PLANNED: i32 = 0;
/// Why there is no bed plan: no plan brings the slab's surface within the limits.
pub const TRUEBED_BED_NOT_LEVEL: i32 = 1;
/// Why there is no bed plan: some do, but on none of them does every stack carry.
pub const TRUEBED_BED_NOT_CARRIED: i32 = 2;

/// One slate piece: a rectangle in plan, flat when nothing acts on it. Pockets and holes, a modulus
/// that differs with the grain, glue, creep, and how the frame bends as a whole are not modelled.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_slab {
    /// sizeof(truebed_slab), set by the caller.
    pub struct_size: usize,
    /// Where it begins and ends along the bed, mm.
    pub x_mm: [f64; 2],
    /// Where it begins and ends across, mm.
    pub y_mm: [f64; 2],
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Modulus of elasticity, GPa.
    pub e_gpa: f64,
    /// Poisson's ratio, from 0 to below 0.5.
    pub nu: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Bending strength, MPa; 0 where it is not known.
    pub strength_mpa: f64,
    /// What the strength is divided by before a stress is held against it; 0 stands for 1.
    pub strength_factor: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_slab {}

/// A support under a slab. It pushes; where a screw holds the slab to it, it pulls too, up to a force.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_slab_support {
    /// Position along the bed, mm.
    pub x_mm: f64,
    /// Position across, mm.
    pub y_mm: f64,
    /// What a screw holds, N; 0 without a screw.
    pub pull_n: f64,
    /// How stiff the support is, N/mm; 0 where it is rigid.
    pub stiffness_n_per_mm: f64,
}

/// A load on a slab, spread evenly over a rectangle, or at one place where the rectangle is that.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_load {
    /// Where it begins and ends along the bed, mm; the same twice for a load at one place.
    pub x_mm: [f64; 2],
    /// Where it begins and ends across, mm.
    pub y_mm: [f64; 2],
    /// How much in all, N; downwards is positive.
    pub newtons: f64,
}

/// A slab laid on supports under its loads, whatever the heights of the supports. It never changes, so
/// any number of threads may read it at once.
pub struct truebed_laid_slab {
    pub(crate) laid: LaidSlab,
}

/// How a slab bears on supports. It never changes, so any number of threads may read it at once.
/// Pockets and holes, a modulus that differs with the grain, glue, creep, and how the frame bends as a
/// whole are not modelled.
pub struct truebed_bearing {
    bearing: Bearing,
}

/// A bearing as a whole. Of a slab that tips over all numbers are NaN.
#[repr(C)]
pub struct truebed_bearing_summary {
    /// sizeof(truebed_bearing_summary), set by the caller.
    pub struct_size: usize,
    /// 1 if the slab tips over, else 0.
    pub tips: i32,
    /// Of a slab that tips, the two supports over whose line it falls; else SIZE_MAX.
    pub tips_about: [usize; 2],
    /// The moment about the line through them that nothing holds, N mm; NaN where it does not tip.
    pub tips_moment_n_mm: f64,
    /// The number of supports.
    pub support_count: usize,
    /// How well its heights are known for the mesh, mm: how far those of a mesh one half as fine are
    /// apart.
    pub accuracy_mm: f64,
    /// How far its surface hangs below the least-squares plane of its heights at the supports, mm.
    pub sag_mm: f64,
    /// The largest principal bending stress, MPa.
    pub stress_mpa: f64,
    /// Where that is, x and y, mm.
    pub stress_at_mm: [f64; 2],
    /// That stress over the strength divided by its factor; NaN where no strength is stated.
    pub stress_ratio: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_bearing_summary {}

/// All that `truebed_plan_bed` is asked.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_bed_problem {
    /// sizeof(truebed_bed_problem), set by the caller.
    pub struct_size: usize,
    /// The slab.
    pub slab: *const truebed_slab,
    /// What it lies on.
    pub supports: *const truebed_slab_support,
    /// The number of supports.
    pub support_count: usize,
    /// Height of the frame at each support, mm. Under a slab that lies already it is the height read on
    /// top less the thickness and the gap below.
    pub frame_mm: *const f64,
    /// The shims on hand, shared by all supports; none of them adjustable.
    pub stock: *const truebed_shim,
    /// The number of kinds of shim.
    pub stock_count: usize,
    /// What counts as level, for the slab's surface at the supports and at the further places.
    pub limits: *const truebed_limits,
    /// Further places where the limits hold, x and y of each in turn, mm; NULL for none.
    pub at_xy_mm: *const f64,
    /// Their number.
    pub at_count: usize,
    /// Loads beside the weight; NULL for none.
    pub loads: *const truebed_load,
    /// Their number.
    pub load_count: usize,
    /// 1: the slab's own weight does not act; 0: it does.
    pub weightless: i32,
    /// Supports, by index, that need not carry as long as they are bare: at most 4. NULL for none.
    pub idle: *const usize,
    /// Their number.
    pub idle_count: usize,
    /// What presses on every stack, and on every bare support that is not idle, N. At 0 it is
    /// more than nothing.
    pub least_force_n: f64,
    /// How to choose; NULL for the defaults. The order is TRUEBED_ORDER_FEWEST_PIECES.
    pub options: *const truebed_plan_options,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_bed_problem {}

/// Stacks for a slab, which is modelled as `truebed_bearing` says. It never changes, so any number of threads may read it at once.
pub struct truebed_bed_plan {
    plan: BedPlan,
    bearing: truebed_bearing,
}

/// A bed plan as a whole.
#[repr(C)]
pub struct truebed_bed_plan_summary {
    /// sizeof(truebed_bed_plan_summary), set by the caller.
    pub struct_size: usize,
    /// How the search ended, a TRUEBED_PLAN_ number.
    pub status: i32,
    /// Why there is no plan, a TRUEBED_BED_ number.
    pub why: i32,
    /// 1 if the slab's surface meets every limit, else 0.
    pub meets_limits: i32,
    /// 1 if every stack, and every bare support that is not idle, carries what it should; else 0.
    pub carried: i32,
    /// Pieces in all.
    pub pieces: usize,
    /// The fewest pieces that any plan has, as far as that is proven; NaN where there is no plan.
    pub bound: f64,
    /// Half the difference between the highest and the lowest of the surface at the supports and the
    /// further places, mm.
    pub worst_mm: f64,
    /// Search nodes spent.
    pub nodes: u64,
    /// The number of supports.
    pub support_count: usize,
    /// The number of kinds of shim in the stock.
    pub kind_count: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_bed_plan_summary {}

/// Lays a slab on supports under loads. `weightless` is 1 where the slab's own weight does not act,
/// else 0. `*out` becomes the laid slab; free it with `truebed_laid_slab_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for sizes, a modulus, a
/// density or a strength that is not above 0, a Poisson's ratio outside 0 to 0.5, supports or loads
/// outside the slab, negative holds and stiffnesses, values that are not finite, and nothing that
/// presses the slab down; TRUEBED_DUPLICATE for two supports at one place; TRUEBED_BAD_GEOMETRY for
/// fewer than three supports or all on one line; TRUEBED_BAD_SHAPE for more than 500.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_laid_slab_new(
    slab: *const truebed_slab,
    supports: *const truebed_slab_support,
    support_count: usize,
    loads: *const truebed_load,
    load_count: usize,
    weightless: i32,
    out: *mut *mut truebed_laid_slab,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let (slab, supports, loads) = unsafe {
            (
                read_slab(slab)?,
                read_supports(supports, support_count)?,
                read_loads(loads, load_count)?,
            )
        };
        let mut problems = Problems::default();
        let settings = settings(weightless, &mut problems);
        problems.finish()?;
        let laid = LaidSlab::new(&slab, &supports, &loads, settings)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_laid_slab { laid }))) };
        Ok(())
    })
}

/// Frees a laid slab. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_laid_slab_free(laid: *mut truebed_laid_slab) {
    if !laid.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(laid) });
    }
}

/// Finds how a slab bears on supports with tops at these heights, `count` of them, one for each
/// support. `*out` becomes the bearing; free it with `truebed_bearing_free`. A slab that tips over is
/// an answer and not an error.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for another number of heights than supports;
/// TRUEBED_BAD_VALUE for heights that are not finite or out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_laid_slab_bear(
    laid: *const truebed_laid_slab,
    tops_mm: *const f64,
    count: usize,
    out: *mut *mut truebed_bearing,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let (laid, tops) = unsafe { read_tops(laid, tops_mm, count) }?;
        let bearing = laid.bear(tops)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_bearing { bearing }))) };
        Ok(())
    })
}

/// Finds how a slab bears on many sets of tops, one set behind the other, `count` heights in all.
/// `forces_n` and `gaps_mm` are filled with as many numbers each, as truebed_bearing_forces_n and
/// truebed_bearing_gaps_mm give them; NaN where the slab tips.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for heights that do not fill whole sets;
/// TRUEBED_BAD_VALUE for heights that are not finite or out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_laid_slab_bear_many(
    laid: *const truebed_laid_slab,
    tops_mm: *const f64,
    count: usize,
    forces_n: *mut f64,
    gaps_mm: *mut f64,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let (laid, tops) = unsafe { read_tops(laid, tops_mm, count) }?;
        let (forces, gaps) =
            (pointer::out(forces_n, "forces_n")?, pointer::out(gaps_mm, "gaps_mm")?);
        let found = laid.bear_many(tops)?;
        // SAFETY: the caller's promise: valid for writes of `count` elements each, and its own.
        unsafe {
            ptr::copy_nonoverlapping(found.forces_n.as_ptr(), forces.as_ptr(), count);
            ptr::copy_nonoverlapping(found.gaps_mm.as_ptr(), gaps.as_ptr(), count);
        }
        Ok(())
    })
}

/// Frees a bearing. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bearing_free(bearing: *mut truebed_bearing) {
    if !bearing.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(bearing) });
    }
}

/// Writes the summary of a bearing to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bearing_get_summary(
    bearing: *const truebed_bearing,
    summary: *mut truebed_bearing_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let bearing = &unsafe { pointer::reference(bearing, "bearing") }?.bearing;
        let stress = bearing.stress();
        let answer = truebed_bearing_summary {
            struct_size: size_of::<truebed_bearing_summary>(),
            tips: bearing.tips.is_some().into(),
            tips_about: bearing.tips.map_or([usize::MAX; 2], |tips| tips.about),
            tips_moment_n_mm: bearing.tips.map_or(f64::NAN, |tips| tips.moment_n_mm),
            support_count: bearing.forces_n.len(),
            accuracy_mm: bearing.accuracy_mm(),
            sag_mm: bearing.sag_mm(),
            stress_mpa: stress.map_or(f64::NAN, |stress| stress.mpa),
            stress_at_mm: stress.map_or([f64::NAN; 2], |stress| stress.at_mm),
            stress_ratio: stress.and_then(|stress| stress.ratio).unwrap_or(f64::NAN),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// What each support does to the slab, N: pushes are positive, the pull of a screw negative.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bearing_forces_n(
    bearing: *const truebed_bearing,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(bearing, "bearing", |it| &it.bearing.forces_n, buffer, capacity, count)
    })
}

/// How far the slab clears each support, mm: 0 where it touches.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bearing_gaps_mm(
    bearing: *const truebed_bearing,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(bearing, "bearing", |it| &it.bearing.gaps_mm, buffer, capacity, count)
    })
}

/// Whether each support carries, 1 or 0: a shim that does not is loose.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bearing_carries(
    bearing: *const truebed_bearing,
    buffer: *mut i32,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let bearing = &unsafe { pointer::reference(bearing, "bearing") }?.bearing;
        let carries: Vec<i32> = bearing.carries.iter().map(|&carries| carries.into()).collect();
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&carries, buffer, capacity, count) }
    })
}

/// Heights of the slab's underside at `count` places, with x and y of each in turn in `xy_mm`; NaN
/// where it tips. `heights_mm` has room for `count` numbers.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for places that are not on the slab.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bearing_at(
    bearing: *const truebed_bearing,
    xy_mm: *const f64,
    count: usize,
    heights_mm: *mut f64,
) -> i32 {
    boundary(|| {
        let heights = pointer::out(heights_mm, "heights_mm")?;
        // SAFETY: the caller's promise.
        let (bearing, xy) = unsafe {
            let xy = pointer::array(xy_mm, count.saturating_mul(2), "xy_mm")?;
            (pointer::reference(bearing, "bearing")?, xy)
        };
        let found = bearing.bearing.at(xy.as_chunks().0)?;
        // SAFETY: the caller's promise: valid for writes of `count` elements, and its own.
        unsafe { ptr::copy_nonoverlapping(found.as_ptr(), heights.as_ptr(), count) };
        Ok(())
    })
}

/// Finds the fewest pieces on which a slab lies level, with every stack carrying. `*out` becomes the
/// plan; free it with `truebed_bed_plan_free`. That the stock cannot do it, or that the budget ran
/// out, is no error but the status in the plan's summary.
///
/// Errors: those of `truebed_laid_slab_new`; TRUEBED_BAD_VALUE for heights, stock, limits, options and
/// a least force out of range, for adjustable pieces, limits that may slope, another order, a risk,
/// and places outside the slab; TRUEBED_UNKNOWN and TRUEBED_DUPLICATE for idle supports that are not
/// there or named twice; TRUEBED_BAD_SHAPE for too many of them, and for no stock.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_bed(
    problem: *const truebed_bed_problem,
    out: *mut *mut truebed_bed_plan,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_plan_bed_until(problem, None, ptr::null_mut(), out) }
}

/// Finds a plan as `truebed_plan_bed` does, until `stop` says to stop, as in
/// `truebed_plan_shims_until`.
///
/// Errors: those of `truebed_plan_bed`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_bed_until(
    problem: *const truebed_bed_problem,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_bed_plan,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let problem = unsafe { read_problem(problem) }?;
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let plan = plan_bed_until(&problem, &unsafe { pointer::asking(stop, context) })?;
        let bearing = truebed_bearing { bearing: plan.bearing.clone() };
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_bed_plan { plan, bearing }))) };
        Ok(())
    })
}

/// Frees a bed plan. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_plan_free(plan: *mut truebed_bed_plan) {
    if !plan.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(plan) });
    }
}

/// Writes the summary of a bed plan to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_plan_get_summary(
    plan: *const truebed_bed_plan,
    summary: *mut truebed_bed_plan_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let plan = &unsafe { pointer::reference(plan, "plan") }?.plan;
        let answer = truebed_bed_plan_summary {
            struct_size: size_of::<truebed_bed_plan_summary>(),
            status: match plan.status {
                Status::Proven => TRUEBED_PLAN_PROVEN,
                Status::Infeasible => TRUEBED_PLAN_INFEASIBLE,
                // Whatever else there may be one day, it is no proof.
                _ => TRUEBED_PLAN_BUDGET,
            },
            why: match plan.why {
                None => TRUEBED_BED_PLANNED,
                Some(NoBed::NotCarried) => TRUEBED_BED_NOT_CARRIED,
                Some(_) => TRUEBED_BED_NOT_LEVEL,
            },
            meets_limits: plan.meets_limits.into(),
            carried: plan.carried.into(),
            pieces: plan.pieces,
            bound: plan.bound,
            worst_mm: plan.worst_mm,
            nodes: plan.nodes,
            support_count: plan.tops.len(),
            kind_count: plan.used.len(),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// The stack under one support: indices into the stock, one a piece, thickest first.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a support that is not
/// there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_plan_stack(
    plan: *const truebed_bed_plan,
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

/// Height of the top of each stack, mm, in the order of the supports.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_plan_tops_mm(
    plan: *const truebed_bed_plan,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let plan = &unsafe { pointer::reference(plan, "plan") }?.plan;
        let mm: Vec<f64> = plan.tops.iter().map(|top| top.mm()).collect();
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&mm, buffer, capacity, count) }
    })
}

/// How the slab bears on the stacks of a plan: `*bearing` becomes it. It belongs to the plan; do not
/// free it.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_plan_bearing(
    plan: *const truebed_bed_plan,
    bearing: *mut *const truebed_bearing,
) -> i32 {
    boundary(|| {
        let out = pointer::out(bearing, "bearing")?;
        // SAFETY: the caller's promise.
        let plan = unsafe { pointer::reference(plan, "plan") }?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(&raw const plan.bearing) };
        Ok(())
    })
}

unsafe fn read_tops<'a>(
    laid: *const truebed_laid_slab,
    tops_mm: *const f64,
    count: usize,
) -> Result<(&'a LaidSlab, &'a [f64]), Failure> {
    // SAFETY: the caller's promise.
    let laid = unsafe { pointer::reference(laid, "laid") }?;
    // SAFETY: the same.
    Ok((&laid.laid, unsafe { pointer::array(tops_mm, count, "tops_mm") }?))
}

unsafe fn read_slab(slab: *const truebed_slab) -> Result<Slab, Failure> {
    // SAFETY: the caller's promise.
    let slab = unsafe { pointer::grown(slab, "slab") }?;
    let mut read = Slab::new(
        slab.x_mm,
        slab.y_mm,
        slab.thickness_mm,
        slab.e_gpa,
        slab.nu,
        slab.density_kg_per_m3,
    );
    read.strength_mpa = (slab.strength_mpa != 0.0).then_some(slab.strength_mpa);
    read.strength_factor = if slab.strength_factor == 0.0 { 1.0 } else { slab.strength_factor };
    Ok(read)
}

unsafe fn read_supports(
    supports: *const truebed_slab_support,
    count: usize,
) -> Result<Vec<SlabSupport>, Failure> {
    // SAFETY: the caller's promise.
    let supports = unsafe { pointer::array(supports, count, "supports") }?;
    let read = |it: &truebed_slab_support| {
        let mut support = SlabSupport::at([it.x_mm, it.y_mm]);
        support.pull_n = it.pull_n;
        support.stiffness_n_per_mm =
            (it.stiffness_n_per_mm != 0.0).then_some(it.stiffness_n_per_mm);
        support
    };
    Ok(supports.iter().map(read).collect())
}

unsafe fn read_loads(loads: *const truebed_load, count: usize) -> Result<Vec<Load>, Failure> {
    // SAFETY: the caller's promise.
    let loads = unsafe { pointer::array(loads, count, "loads") }?;
    let read = |&truebed_load { x_mm, y_mm, newtons }: &truebed_load| {
        if x_mm[0] == x_mm[1] && y_mm[0] == y_mm[1] {
            Load::Point { xy_mm: [x_mm[0], y_mm[0]], newtons }
        } else {
            Load::Patch { x_mm, y_mm, newtons }
        }
    };
    Ok(loads.iter().map(read).collect())
}

fn settings(weightless: i32, problems: &mut Problems) -> BearSettings {
    if !matches!(weightless, 0 | 1) {
        problems.value("weightless", weightless, "0 or 1");
    }
    BearSettings { weight: weightless == 0, ..BearSettings::default() }
}

unsafe fn read_problem(problem: *const truebed_bed_problem) -> Result<BedProblem, Failure> {
    // SAFETY: the caller's promise, for all that the problem points to.
    let problem = unsafe { pointer::grown(problem, "problem") }?;
    // SAFETY: the same.
    let (slab, supports, loads, limits, options) = unsafe {
        (
            read_slab(problem.slab)?,
            read_supports(problem.supports, problem.support_count)?,
            read_loads(problem.loads, problem.load_count)?,
            pointer::grown(problem.limits, "limits")?,
            pointer::grown_or_null(problem.options, "options")?,
        )
    };
    // SAFETY: the same.
    let (frame, stock, at, idle) = unsafe {
        (
            pointer::array(problem.frame_mm, problem.support_count, "frame_mm")?,
            pointer::array(problem.stock, problem.stock_count, "stock")?,
            pointer::array(problem.at_xy_mm, problem.at_count.saturating_mul(2), "at_xy_mm")?,
            pointer::array(problem.idle, problem.idle_count, "idle")?,
        )
    };
    let mut problems = Problems::default();
    let frame: Vec<Length> = (frame.iter().enumerate())
        .map(|(at, &mm)| problems.length(mm, || format!("frame[{at}]")))
        .collect();
    let stock = read_stock(stock, "stock", &mut problems);
    // SAFETY: the caller's promise.
    let limits = unsafe { read_limits(&limits, &mut problems) }?;
    let mut read = BedProblem::new(slab, supports, frame, stock, limits);
    read.settings = settings(problem.weightless, &mut problems);
    if let Some(options) = options {
        read.options = read_options(&options, &mut problems);
    }
    read.at = at.as_chunks().0.to_vec();
    read.loads = loads;
    read.idle = idle.to_vec();
    read.least_force_n = problem.least_force_n;
    problems.finish_with(|| read.check())?;
    Ok(read)
}
