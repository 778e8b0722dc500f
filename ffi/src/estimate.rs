//! Before the visit: floors that nobody has measured, what jobs take on them, and what must be in the van.

use std::ffi::c_void;
use std::num::NonZero;

use truebed_core::{
    Again, Estimate, EstimateOptions, Figure, FloorModel, Kit, KitOptions, Length, MeasuredFloor,
    Rates, Reason, SlabOnFrame, SlatesOnFrame, SurveyPattern, estimate_until, kit_until,
    readings_needed,
};

use crate::bed::truebed_laid_slab;
use crate::floor::read_class;
use crate::limits::{read_limits, truebed_limits};
use crate::plane::points;
use crate::pointer;
use crate::problem::{read_problem, truebed_problem};
use crate::problems::Problems;
use crate::status::{Failure, TRUEBED_BAD_VALUE, boundary};
use crate::text::truebed_text;

/// Figure of an estimate: pieces of each job.
pub const TRUEBED_FIGURE_PIECES: i32 = 0;
/// Figure: supports lifted in each job.
pub const TRUEBED_FIGURE_LIFTS: i32 = 1;
/// Figure: the thickest stack of each job, mm.
pub const TRUEBED_FIGURE_THICKEST_MM: i32 = 2;
/// Figure: the price of each job, pieces included.
pub const TRUEBED_FIGURE_COST: i32 = 3;
/// Figure: the minutes of each job.
pub const TRUEBED_FIGURE_MINUTES: i32 = 4;

/// Reason why a job is not served: more pieces of the same kinds would do.
pub const TRUEBED_REASON_COUNTS: i32 = 0;
/// Reason: stacks may not be as thick, or have as many pieces, as the floor asks.
pub const TRUEBED_REASON_STACKS: i32 = 1;
/// Reason: no sums of these thicknesses keep the limits.
pub const TRUEBED_REASON_KINDS: i32 = 2;
/// Reason: the search ended before it was known whether the stock does.
pub const TRUEBED_REASON_UNSETTLED: i32 = 3;
/// Reason: points could be level, but no plan has every slate lie on all its stacks.
pub const TRUEBED_REASON_LOOSE: i32 = 4;

/// Survey pattern: each round reads every point once from one set-up.
pub const TRUEBED_PATTERN_HEIGHTS: i32 = 0;
/// Survey pattern: each round reads the rise from each point to the next, and from the last to the first.
pub const TRUEBED_PATTERN_LOOP: i32 = 1;

/// How the heights of a floor that nobody has measured may differ. It never changes, so any number of
/// threads may read it at once.
pub struct truebed_floor_model {
    pub(crate) model: FloorModel,
}

impl truebed_floor_model {
    fn give(model: FloorModel) -> *mut Self {
        Box::into_raw(Box::new(Self { model }))
    }
}

/// Prices, or minutes, for each thing that a job needs, each from 0 to 1e12.
#[repr(C)]
pub struct truebed_rates {
    /// sizeof(truebed_rates), set by the caller.
    pub struct_size: usize,
    /// For the job as a whole.
    pub job: f64,
    /// For each reading: every support is read once in each pass.
    pub reading: f64,
    /// For each support that is lifted.
    pub lift: f64,
    /// For each piece that is put in, taken out or set anew. The pieces themselves cost the price of
    /// their kind.
    pub piece: f64,
    /// For each slate that is laid.
    pub slate: f64,
    /// For each joint that is brought flush.
    pub joint: f64,
    /// For each pass after the first.
    pub repeat: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_rates {}

/// How to estimate. All zero draws 10 000 jobs without prices, minutes and second passes.
#[repr(C)]
pub struct truebed_estimate_options {
    /// sizeof(truebed_estimate_options), set by the caller.
    pub struct_size: usize,
    /// The most jobs to draw; 0 for 10 000.
    pub jobs: usize,
    /// Which jobs are drawn: the same seed gives the same jobs.
    pub seed: u64,
    /// The standard error of the share served at which no more jobs are drawn, between 0 and 1; 0 draws
    /// all.
    pub standard_error: f64,
    /// The confidence of the interval of the share; 0 for 0.95.
    pub confidence: f64,
    /// 1 to count second passes, else 0.
    pub again: i32,
    /// The standard deviation of how far each support settles, mm.
    pub settlement_sigma_mm: f64,
    /// The standard uncertainty of each reading of the tops, mm.
    pub reading_sigma_mm: f64,
    /// What each thing costs; NULL for no prices.
    pub prices: *const truebed_rates,
    /// How many minutes each thing takes; NULL for no minutes.
    pub minutes: *const truebed_rates,
    /// How many slates each job lays.
    pub slates: usize,
    /// The most threads; 0 for one for each core. The answer is the same on any number.
    pub threads: usize,
    /// The points of the slates of each job with their limits, joints and options, where they are to be
    /// planned too, from what the legs leave. Their heights and stock do not matter. All figures are then of
    /// legs and slates together, but for the lifts of single supports and second passes, which are of the
    /// legs. NULL for the legs alone.
    pub on_frame: *const truebed_problem,
    /// How the heights of the bare frame under the slates may differ once its legs are level. NULL where no
    /// slates are planned.
    pub frame: *const truebed_floor_model,
    /// The slates that are plates, which must lie on all their stacks: each support at the place of a point.
    /// The others are planned as points: how they bend is not looked at. NULL for none.
    pub slabs: *const *const truebed_laid_slab,
    /// Their number.
    pub slab_count: usize,
    /// What each support of a slab should carry at the least, N, with what its screw can add; at 0 more than
    /// nothing.
    pub least_force_n: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers that may be NULL.
unsafe impl pointer::Grows for truebed_estimate_options {}

/// What jobs on a floor will take. It never changes, so any number of threads may read it at once.
pub struct truebed_estimate {
    estimate: Estimate,
}

/// An estimate as a whole.
#[repr(C)]
pub struct truebed_estimate_summary {
    /// sizeof(truebed_estimate_summary), set by the caller.
    pub struct_size: usize,
    /// The number of jobs that were drawn.
    pub jobs: usize,
    /// The number of jobs that the stock serves.
    pub served_jobs: usize,
    /// The share of jobs that the stock serves; NaN where none was drawn.
    pub served: f64,
    /// The exact two-sided interval of that share (Clopper-Pearson).
    pub interval: [f64; 2],
    /// The share of the jobs served that need a lift again; NaN where it was not asked for.
    pub again: f64,
    /// 1 if the caller stopped it before all jobs were drawn, else 0.
    pub stopped: i32,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_estimate_summary {}

/// How to choose a kit. All zero asks for 95 % of the jobs at 95 % confidence, the fewest single pieces.
#[repr(C)]
pub struct truebed_kit_options {
    /// sizeof(truebed_kit_options), set by the caller.
    pub struct_size: usize,
    /// The share of jobs that the kit is to serve; 0 for 0.95.
    pub share: f64,
    /// How sure that is to be; 0 for 0.95.
    pub confidence: f64,
    /// Which jobs are drawn.
    pub seed: u64,
    /// Jobs that the kit is chosen on; 0 for 1000.
    pub training_jobs: usize,
    /// Fresh jobs that it is proven on, in each attempt; 0 for 1000.
    pub fresh_jobs: usize,
    /// The most pieces of each kind, as many as the stock has kinds; NULL for 50 of each.
    pub most: *const u32,
    /// How many numbers `most` has.
    pub most_count: usize,
    /// Pieces of each kind come in packs of so many, as many as the stock has kinds; NULL for single
    /// pieces.
    pub packs: *const u32,
    /// How many numbers `packs` has.
    pub packs_count: usize,
    /// 1 for the least sum of prices, 0 for the fewest pieces.
    pub cheapest: i32,
    /// Jobs of a day, which are all to be served from one stock, at most 20; 0 for 1.
    pub jobs_a_day: usize,
    /// The most threads; 0 for one for each core. The answer is the same on any number.
    pub threads: usize,
    /// The points of the slates of each job with their limits, joints and options, where the kit is to serve
    /// them too, planned from what the legs leave; their heights do not matter, and their stock is
    /// that of the legs. NULL for none. A front of kits takes none.
    pub slates: *const truebed_problem,
    /// How the heights of the bare frame under the slates may differ once its legs are level. NULL where there
    /// are no slates.
    pub frame: *const truebed_floor_model,
    /// The slates that are plates, as in truebed_estimate_options. NULL for none.
    pub slabs: *const *const truebed_laid_slab,
    /// Their number.
    pub slab_count: usize,
    /// What each support of a slab should carry at the least, N, with what its screw can add; at 0 more than
    /// nothing.
    pub least_force_n: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers that may be NULL.
unsafe impl pointer::Grows for truebed_kit_options {}

/// A stock for the van. It never changes, so any number of threads may read it at once.
pub struct truebed_kit {
    kit: Kit,
}

/// A kit as a whole.
#[repr(C)]
pub struct truebed_kit_summary {
    /// sizeof(truebed_kit_summary), set by the caller.
    pub struct_size: usize,
    /// 1 if the fresh jobs prove the share at the confidence asked for, else 0.
    pub meets_share: i32,
    /// 1 if no smaller kit serves as many of the training jobs, else 0.
    pub proven: i32,
    /// The share of fresh jobs that the kit serves.
    pub served: f64,
    /// The exact two-sided interval of that share (Clopper-Pearson).
    pub interval: [f64; 2],
    /// How often a kit was chosen and tried on fresh jobs.
    pub attempts: u32,
    /// Fresh jobs of the attempt that decided.
    pub fresh_jobs: usize,
    /// Fresh jobs that the kit does not serve.
    pub failures: usize,
    /// The share of the training jobs that the kit was chosen to serve.
    pub training_share: f64,
    /// Plans that were solved for the choice.
    pub solved: usize,
    /// Plans that followed from others and were spared: one for each job and each kit that was told without.
    pub spared: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_kit_summary {}

/// The smallest survey that leaves no more doubt than asked for.
#[repr(C)]
pub struct truebed_readings_needed {
    /// sizeof(truebed_readings_needed), set by the caller.
    pub struct_size: usize,
    /// How often the pattern is gone through.
    pub rounds: usize,
    /// How many readings that is.
    pub readings: usize,
    /// The doubt that it leaves.
    pub doubt: f64,
    /// The standard uncertainty of the largest difference of two heights that it leaves, mm.
    pub sigma_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_readings_needed {}

/// Hands a model to the caller.
unsafe fn give_model(
    out: *mut *mut truebed_floor_model,
    model: impl FnOnce() -> Result<FloorModel, Failure>,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        let model = model()?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(truebed_floor_model::give(model)) };
        Ok(())
    })
}

/// Makes the model of a floor of two F-numbers of ASTM E1155, each above 0. `*out` becomes the model; free
/// it with `truebed_floor_model_free`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for numbers that are not above 0, and for `ff` not above
/// 0.2112 `fl`, which no roughness gives.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_of_f_numbers(
    ff: f64,
    fl: f64,
    out: *mut *mut truebed_floor_model,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { give_model(out, || Ok(FloorModel::from_f_numbers(ff, fl)?)) }
}

/// Makes the model of a floor that just keeps a class, a TRUEBED_FLOOR_CLASS_ number. `*out` becomes the
/// model; free it with `truebed_floor_model_free`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for an unknown class.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_of_class(
    floor_class: i32,
    out: *mut *mut truebed_floor_model,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { give_model(out, || Ok(FloorModel::of(read_class(floor_class)?))) }
}

/// Makes the model of a floor whose heights are independent of each other, each with a standard deviation
/// in mm, 0 or more. `*out` becomes the model; free it with `truebed_floor_model_free`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_of_sigma(
    sigma_mm: f64,
    out: *mut *mut truebed_floor_model,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { give_model(out, || Ok(FloorModel::from_sigma(sigma_mm)?)) }
}

/// Makes a model of the same floor with a mean slope that nobody knows: a normal slope of this standard
/// deviation along x, and another along y, mm/m, 0 or more. `*out` becomes the new model.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_with_fall(
    floor: *const truebed_floor_model,
    sigma_mm_per_m: f64,
    out: *mut *mut truebed_floor_model,
) -> i32 {
    let model = || {
        // SAFETY: the caller's promise.
        let floor = unsafe { pointer::reference(floor, "floor") }?;
        Ok(floor.model.clone().with_fall(sigma_mm_per_m)?)
    };
    // SAFETY: the caller's promise.
    unsafe { give_model(out, model) }
}

/// Makes the model that a floor of its kind updates: heights `z_mm` that were read at `count` places `xy_mm`
/// with a standard uncertainty of `sigma_mm` each. `worth` is how many differences of height the model
/// was worth before. `*out` becomes the new model, with all variances multiplied by `*factor`; that lies within
/// `interval` with a probability of 95 %. `*percentile` is the part of all floors of the old model that are
/// evener than the one read. `factor`, `interval` and `percentile` may be NULL.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE, TRUEBED_BAD_SHAPE, TRUEBED_BAD_GEOMETRY.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_updated(
    floor: *const truebed_floor_model,
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    sigma_mm: f64,
    worth: f64,
    factor: *mut f64,
    interval: *mut [f64; 2],
    percentile: *mut f64,
    out: *mut *mut truebed_floor_model,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (floor, (xy, z)) =
            unsafe { (pointer::reference(floor, "floor")?, points(xy_mm, z_mm, count)?) };
        let read = MeasuredFloor { xy: xy.to_vec(), heights_mm: z.to_vec(), sigma_mm };
        let updated = floor.model.updated(&read, worth)?;
        // SAFETY: the caller's promise: each valid for writes, or NULL.
        unsafe {
            if !factor.is_null() {
                factor.write(updated.factor);
            }
            if !interval.is_null() {
                interval.write(updated.interval);
            }
            if !percentile.is_null() {
                percentile.write(updated.percentile);
            }
            out.write(truebed_floor_model::give(updated.model));
        }
        Ok(())
    })
}

/// The standard deviation of the difference of two heights that are `distance_mm` apart, mm, to `*out`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_sigma_mm(
    floor: *const truebed_floor_model,
    distance_mm: f64,
    out: *mut f64,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let floor = unsafe { pointer::reference(floor, "floor") }?;
        let sigma = floor.model.sigma_of_difference_mm(distance_mm)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(sigma) };
        Ok(())
    })
}

/// What was assumed beyond what is known of the floor, in whole sentences, one a line. `*out` becomes the
/// text; free it with `truebed_text_free`.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_assumptions(
    floor: *const truebed_floor_model,
    out: *mut *mut truebed_text,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let floor = unsafe { pointer::reference(floor, "floor") }?;
        let text = truebed_text::give(floor.model.assumptions().join("\n") + "\n");
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(text) };
        Ok(())
    })
}

/// Draws floors: heights at `count` places `xy_mm`, `floors` × as many values, floor by floor, mm, to
/// `heights_mm`. The same seed gives the same digits on every machine.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for no places; TRUEBED_BAD_VALUE for places that are not
/// finite, and for more values than memory can hold.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_sample(
    floor: *const truebed_floor_model,
    xy_mm: *const f64,
    count: usize,
    floors: usize,
    seed: u64,
    heights_mm: *mut f64,
) -> i32 {
    boundary(|| {
        let out = pointer::out(heights_mm, "heights_mm")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (floor, xy) = unsafe {
            let xy: &[[f64; 2]] = pointer::array(xy_mm.cast(), count, "xy_mm")?;
            (pointer::reference(floor, "floor")?, xy)
        };
        let Some(values) = floors.checked_mul(count).filter(|it| *it <= isize::MAX as usize / 16)
        else {
            let (got, expected) = (floors.to_string(), "as many floors as memory can hold");
            return Err(Failure::new(TRUEBED_BAD_VALUE, "floors", &got, expected));
        };
        pointer::room(values, "floors")?;
        let heights = floor.model.sample(xy, floors, seed)?;
        // SAFETY: the caller's promise: valid for writes of `floors` × `count` numbers.
        unsafe { std::ptr::copy_nonoverlapping(heights.as_ptr(), out.as_ptr(), heights.len()) };
        Ok(())
    })
}

/// Frees a floor model. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_model_free(floor: *mut truebed_floor_model) {
    if !floor.is_null() {
        // SAFETY: the caller's promise: a model that this library made and that is not freed yet.
        drop(unsafe { Box::from_raw(floor) });
    }
}

unsafe fn read_rates(rates: *const truebed_rates, name: &str) -> Result<Option<Rates>, Failure> {
    // SAFETY: the caller's promise.
    let rates = unsafe { pointer::grown_or_null(rates, name) }?;
    let read = |rates: truebed_rates| {
        let truebed_rates { job, reading, lift, piece, slate, joint, repeat, .. } = rates;
        Rates { job, reading, lift, piece, slate, joint, repeat }
    };
    Ok(rates.map(read))
}

/// Slates, the frame under them and those that are plates; none where all are NULL.
unsafe fn read_on_frame(
    slates: *const truebed_problem,
    frame: *const truebed_floor_model,
    (slabs, count): (*const *const truebed_laid_slab, usize),
    least_force_n: f64,
) -> Result<Option<SlatesOnFrame>, Failure> {
    if slates.is_null() && frame.is_null() && slabs.is_null() {
        return Ok(None);
    }
    // SAFETY: the caller's promise, for both pointers.
    let (frame, problem) =
        unsafe { (pointer::reference(frame, "frame")?.model.clone(), read_problem(slates)?) };
    // SAFETY: the caller's promise.
    let slabs = unsafe { pointer::array_or_null(slabs, count, "slabs") }?.unwrap_or_default();
    let slab = |&slab: &*const truebed_laid_slab| {
        // SAFETY: the caller's promise, for each of them.
        let laid = unsafe { pointer::reference(slab, "slabs") }?.laid.clone();
        Ok(SlabOnFrame { laid, least_force_n })
    };
    let slabs = slabs.iter().map(slab).collect::<Result<_, Failure>>()?;
    Ok(Some(SlatesOnFrame { problem, frame, slabs }))
}

pub(crate) unsafe fn read_estimate_options(
    options: *const truebed_estimate_options,
) -> Result<EstimateOptions, Failure> {
    // SAFETY: the caller's promise.
    let Some(asked) = (unsafe { pointer::grown_or_null(options, "options") })? else {
        return Ok(EstimateOptions::default());
    };
    let usual = EstimateOptions::default();
    let again = Again {
        settlement_sigma_mm: asked.settlement_sigma_mm,
        reading_sigma_mm: asked.reading_sigma_mm,
    };
    // SAFETY: the caller's promise.
    let (prices, minutes) =
        unsafe { (read_rates(asked.prices, "prices")?, read_rates(asked.minutes, "minutes")?) };
    // SAFETY: the caller's promise.
    let on_frame = unsafe {
        let slabs = (asked.slabs, asked.slab_count);
        read_on_frame(asked.on_frame, asked.frame, slabs, asked.least_force_n)
    }?;
    Ok(EstimateOptions {
        jobs: if asked.jobs == 0 { usual.jobs } else { asked.jobs },
        seed: asked.seed,
        standard_error: (asked.standard_error != 0.0).then_some(asked.standard_error),
        confidence: if asked.confidence == 0.0 { usual.confidence } else { asked.confidence },
        again: (asked.again != 0).then_some(again),
        prices,
        minutes,
        slates: asked.slates,
        on_frame,
        threads: NonZero::new(asked.threads),
    })
}

/// Estimates what jobs take on a floor: draws floors at the supports of the problem, whose own heights do
/// not matter, and plans each as `truebed_plan_shims` does, on all cores. `options` may be NULL for the
/// defaults. `*out` becomes the estimate; free it with `truebed_estimate_free`.
///
/// `stop` may be NULL. It is called some fifty times a second, from the thread of this call, with `context`
/// and the number of jobs that are done; anything but 0 stops. What was drawn by then is the answer.
///
/// Errors: those of `truebed_plan_shims`; TRUEBED_BAD_VALUE for options out of their range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_jobs(
    floor: *const truebed_floor_model,
    problem: *const truebed_problem,
    options: *const truebed_estimate_options,
    stop: Option<unsafe extern "C" fn(context: *mut c_void, done: usize) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_estimate,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (floor, problem, options) = unsafe {
            let floor = pointer::reference(floor, "floor")?;
            (floor, read_problem(problem)?, read_estimate_options(options)?)
        };
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let stop = |done| stop.is_some_and(|stop| unsafe { stop(context, done) } != 0);
        let estimate = estimate_until(&floor.model, &problem, &options, &stop)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_estimate { estimate }))) };
        Ok(())
    })
}

/// Writes the summary of an estimate to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_get_summary(
    estimate: *const truebed_estimate,
    summary: *mut truebed_estimate_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let of = &unsafe { pointer::reference(estimate, "estimate") }?.estimate;
        let answer = truebed_estimate_summary {
            struct_size: size_of::<truebed_estimate_summary>(),
            jobs: of.jobs,
            served_jobs: of.served_jobs,
            served: of.served,
            interval: of.interval,
            again: of.again,
            stopped: of.stopped.into(),
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// How many jobs are not served for a reason, a TRUEBED_REASON_ number, to `*jobs`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for an unknown reason.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_reason(
    estimate: *const truebed_estimate,
    reason: i32,
    jobs: *mut usize,
) -> i32 {
    boundary(|| {
        let out = pointer::out(jobs, "jobs")?;
        // SAFETY: the caller's promise.
        let of = &unsafe { pointer::reference(estimate, "estimate") }?.estimate;
        let asked = match reason {
            TRUEBED_REASON_COUNTS => Reason::Counts,
            TRUEBED_REASON_STACKS => Reason::Stacks,
            TRUEBED_REASON_KINDS => Reason::Kinds,
            TRUEBED_REASON_UNSETTLED => Reason::Unsettled,
            TRUEBED_REASON_LOOSE => Reason::Loose,
            _ => {
                let (got, expected) = (reason.to_string(), "a TRUEBED_REASON_ number");
                return Err(Failure::new(TRUEBED_BAD_VALUE, "reason", &got, expected));
            }
        };
        let found = of.reasons.iter().find(|(reason, _)| *reason == asked);
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(found.map_or(0, |(_, jobs)| *jobs)) };
        Ok(())
    })
}

fn read_figure(number: i32) -> Result<Figure, Failure> {
    Ok(match number {
        TRUEBED_FIGURE_PIECES => Figure::Pieces,
        TRUEBED_FIGURE_LIFTS => Figure::Lifts,
        TRUEBED_FIGURE_THICKEST_MM => Figure::ThickestMm,
        TRUEBED_FIGURE_COST => Figure::Cost,
        TRUEBED_FIGURE_MINUTES => Figure::Minutes,
        _ => {
            let (got, expected) = (number.to_string(), "a TRUEBED_FIGURE_ number");
            return Err(Failure::new(TRUEBED_BAD_VALUE, "figure", &got, expected));
        }
    })
}

/// A figure of each job that was drawn, a TRUEBED_FIGURE_ number: NaN for a job that is not served. Prices
/// and minutes are no values where they were not asked for.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_figures(
    estimate: *const truebed_estimate,
    figure: i32,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    boundary(|| {
        let figure = read_figure(figure)?;
        // SAFETY: the caller's promise.
        unsafe {
            let of = pointer::reference(estimate, "estimate")?;
            pointer::copy_out(of.estimate.figures(figure), buffer, capacity, count)
        }
    })
}

/// How far each support is lifted in each job, mm: job by job, as many values as jobs × supports; NaN for
/// a job that is not served.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_lifts_mm(
    estimate: *const truebed_estimate,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        let of = pointer::reference(estimate, "estimate")?;
        pointer::copy_out(&of.estimate.lifts_mm, buffer, capacity, count)
    })
}

/// Pieces of each kind that each job uses: job by job, as many values as jobs × kinds; NaN for a job that
/// is not served.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_used(
    estimate: *const truebed_estimate,
    buffer: *mut f64,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        let of = pointer::reference(estimate, "estimate")?;
        pointer::copy_out(&of.estimate.used, buffer, capacity, count)
    })
}

/// The smallest value of a figure that at least a part `p` of the jobs served do not exceed, to `*out`; NaN
/// where none is served, where the figure was not asked for, or unless 0 ≤ p ≤ 1.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_quantile(
    estimate: *const truebed_estimate,
    figure: i32,
    p: f64,
    out: *mut f64,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let of = &unsafe { pointer::reference(estimate, "estimate") }?.estimate;
        let quantile = of.quantile(read_figure(figure)?, p);
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(quantile) };
        Ok(())
    })
}

/// Frees an estimate. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_free(estimate: *mut truebed_estimate) {
    if !estimate.is_null() {
        // SAFETY: the caller's promise: an estimate that this library made and that is not freed yet.
        drop(unsafe { Box::from_raw(estimate) });
    }
}

pub(crate) unsafe fn read_kit_options(
    options: *const truebed_kit_options,
) -> Result<KitOptions, Failure> {
    // SAFETY: the caller's promise.
    let Some(asked) = (unsafe { pointer::grown_or_null(options, "options") })? else {
        return Ok(KitOptions::default());
    };
    let usual = KitOptions::default();
    // SAFETY: the caller's promise.
    let (most, packs) = unsafe {
        (
            pointer::array_or_null(asked.most, asked.most_count, "most")?,
            pointer::array_or_null(asked.packs, asked.packs_count, "packs")?,
        )
    };
    // SAFETY: the caller's promise.
    let slates = unsafe {
        let slabs = (asked.slabs, asked.slab_count);
        read_on_frame(asked.slates, asked.frame, slabs, asked.least_force_n)
    }?;
    let or = |asked: usize, usual: usize| if asked == 0 { usual } else { asked };
    let share = |asked: f64, usual: f64| if asked == 0.0 { usual } else { asked };
    Ok(KitOptions {
        share: share(asked.share, usual.share),
        confidence: share(asked.confidence, usual.confidence),
        seed: asked.seed,
        training_jobs: or(asked.training_jobs, usual.training_jobs),
        fresh_jobs: or(asked.fresh_jobs, usual.fresh_jobs),
        most: most.unwrap_or_default().to_vec(),
        packs: packs.unwrap_or_default().to_vec(),
        cheapest: asked.cheapest != 0,
        jobs_a_day: or(asked.jobs_a_day, usual.jobs_a_day),
        slates,
        threads: NonZero::new(asked.threads),
        ..usual
    })
}

/// Chooses the smallest stock that serves a share of the jobs on a floor, and proves it on fresh jobs. The
/// heights of the problem's supports and the counts of its stock do not matter. `options` may be NULL for
/// the defaults. `*out` becomes the kit; free it with `truebed_kit_free`. `stop` is as in
/// `truebed_plan_shims_until`; the best kit found by then is the answer.
///
/// Errors: those of `truebed_plan_shims`; TRUEBED_BAD_VALUE and TRUEBED_BAD_SHAPE for options out of their
/// range and lists of another size than the stock.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_find_kit(
    floor: *const truebed_floor_model,
    problem: *const truebed_problem,
    options: *const truebed_kit_options,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    out: *mut *mut truebed_kit,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (floor, problem, options) = unsafe {
            let floor = pointer::reference(floor, "floor")?;
            (floor, read_problem(problem)?, read_kit_options(options)?)
        };
        // SAFETY: the caller's promise: may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        let kit = kit_until(&floor.model, &problem, &options, &stop)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_kit { kit }))) };
        Ok(())
    })
}

/// Writes the summary of a kit to `*summary`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_get_summary(
    kit: *const truebed_kit,
    summary: *mut truebed_kit_summary,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let of = &unsafe { pointer::reference(kit, "kit") }?.kit;
        let answer = truebed_kit_summary {
            struct_size: size_of::<truebed_kit_summary>(),
            meets_share: of.meets_share.into(),
            proven: of.proven.into(),
            served: of.served,
            interval: of.interval,
            attempts: of.attempts,
            fresh_jobs: of.fresh_jobs,
            failures: of.failures,
            training_share: of.training_share,
            solved: of.solved,
            spared: of.spared,
        };
        // SAFETY: the caller's promise.
        unsafe { pointer::fill(summary, answer, "summary") }
    })
}

/// Pieces of each kind, in the order of the stock; all that is allowed where even that does not serve the
/// share.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_counts(
    kit: *const truebed_kit,
    buffer: *mut u32,
    capacity: usize,
    count: *mut usize,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe {
        pointer::copy_of(kit, "kit", |it| &it.kit.counts[..], buffer, capacity, count)
    })
}

/// What one more pack would bring to a kit, the best first: `*kind` becomes the kind by its index in the
/// stock, and `*share` the share of the training jobs that the kit then serves.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_UNKNOWN for an index that is not there.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_addition(
    kit: *const truebed_kit,
    at: usize,
    kind: *mut usize,
    share: *mut f64,
) -> i32 {
    boundary(|| {
        let (kind, share) = (pointer::out(kind, "kind")?, pointer::out(share, "share")?);
        // SAFETY: the caller's promise.
        let of = &unsafe { pointer::reference(kit, "kit") }?.kit;
        let addition = pointer::item(&of.additions, at, "at")?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe {
            kind.write(addition.kind);
            share.write(addition.share);
        }
        Ok(())
    })
}

/// Frees a kit. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_kit_free(kit: *mut truebed_kit) {
    if !kit.is_null() {
        // SAFETY: the caller's promise: a kit that this library made and that is not freed yet.
        drop(unsafe { Box::from_raw(kit) });
    }
}

/// Finds the fewest rounds of a survey of `count` places `xy_mm` that leave at most `doubt`, between 0 and
/// 0.5: the probability that a bed that is brought level by these readings does not keep the limits. The
/// pattern is a TRUEBED_PATTERN_ number, `sigma_mm` the standard uncertainty of each reading, and `left_mm`
/// how far the plan leaves the bed from level at the worst (±), which is taken off every limit. There are no
/// joints.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_SHAPE for fewer than two places;
/// TRUEBED_BAD_VALUE for numbers out of their range, limits that `left_mm` uses up, and a doubt that a million
/// rounds do not reach.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_find_readings_needed(
    xy_mm: *const f64,
    count: usize,
    limits: *const truebed_limits,
    pattern: i32,
    sigma_mm: f64,
    left_mm: f64,
    doubt: f64,
    needed: *mut truebed_readings_needed,
) -> i32 {
    boundary(|| {
        let mut problems = Problems::default();
        // SAFETY: the caller's promise, for each of the pointers.
        let (xy, mut limits) = unsafe {
            pointer::check_size(needed, "needed")?;
            let xy: &[[f64; 2]] = pointer::array(xy_mm.cast(), count, "xy_mm")?;
            (xy, read_limits(&pointer::grown(limits, "limits")?, &mut problems)?)
        };
        let pattern = match pattern {
            TRUEBED_PATTERN_HEIGHTS => SurveyPattern::Heights,
            TRUEBED_PATTERN_LOOP => SurveyPattern::Loop,
            _ => {
                problems.value("pattern", pattern, "a TRUEBED_PATTERN_ number");
                SurveyPattern::Heights
            }
        };
        let mut read =
            |at: usize, axis: &str, mm| problems.coordinate(mm, || format!("{axis}[{at}]"));
        let place = |(at, &[x, y]): (usize, &[f64; 2])| [read(at, "x", x), read(at, "y", y)];
        let places: Vec<[Length; 2]> = xy.iter().enumerate().map(place).collect();
        let left = problems.length(left_mm, || "left".to_owned());
        problems.spare(&mut limits);
        let needed_of = || readings_needed(&places, &limits, &[], pattern, sigma_mm, left, doubt);
        problems.finish_with(needed_of)?;
        let found = needed_of()?;
        let answer = truebed_readings_needed {
            struct_size: size_of::<truebed_readings_needed>(),
            rounds: found.rounds,
            readings: found.readings,
            doubt: found.doubt,
            sigma_mm: found.sigma_mm,
        };
        // SAFETY: the caller's promise, and not NULL here.
        unsafe { pointer::fill(needed, answer, "needed") }
    })
}
