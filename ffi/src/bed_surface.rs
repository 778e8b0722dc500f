//! Bed surfaces: a smooth surface through points, and how a ball rolls on it.

use truebed_core::{BedSurface, Roll, drift_mm, dying_speed, rolling_acceleration};

use crate::plane::points;
use crate::pointer;
use crate::status::{Failure, boundary};

/// A smooth surface through the points of a bed. It never changes, so any number of threads may read
/// it at once.
pub struct truebed_bed_surface {
    surface: BedSurface,
}

/// The roll of one ball.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_roll {
    /// Where it started, x and y, mm.
    pub start_mm: [f64; 2],
    /// Where it came to rest or left the bed, x and y, mm.
    pub end_mm: [f64; 2],
    /// How far to the left of its first direction the ball ended, mm; negative to the right.
    /// The left is that of x seen along y: counter-clockwise.
    pub drift_mm: f64,
    /// How far the ball got along its first direction, mm.
    pub along_mm: f64,
    /// The time until it ended, s.
    pub time_s: f64,
    /// The speed at which it left the bed, m/s; 0 where it came to rest.
    pub speed_m_per_s: f64,
}

/// Four balls that would just come to rest at the far end of a level bed: what this bed does to them.
#[repr(C)]
pub struct truebed_play {
    /// sizeof(truebed_play), set by the caller.
    pub struct_size: usize,
    /// Along the middle of the bed, towards greater x and towards less.
    pub along: [truebed_roll; 2],
    /// Across the middle of the bed, towards greater y and towards less.
    pub across: [truebed_roll; 2],
    /// The steepest slope at a point of the bed, as a ratio.
    pub steepest: f64,
    /// 1 if a ball at rest stays where it is, at every point; else 0.
    pub stays: i32,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_play {}

/// Lays the surface that bends the least (a thin-plate spline) through `count` points, at most 500,
/// with x and y of each in turn in `xy_mm` and the heights in `z_mm`. Points at one place, as the two
/// sides of a joint can be, count with their mean height. `*out` becomes the surface; free it with
/// `truebed_bed_surface_free`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for values that are not finite; TRUEBED_BAD_SHAPE
/// for more than 500 points; TRUEBED_BAD_GEOMETRY for fewer than three places, all on one line, or
/// too close together.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_surface_new(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    out: *mut *mut truebed_bed_surface,
) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        // SAFETY: the caller's promise.
        let (xy, z) = unsafe { points(xy_mm, z_mm, count) }?;
        let surface = BedSurface::new(xy, z)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(truebed_bed_surface { surface }))) };
        Ok(())
    })
}

/// Frees a surface. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_surface_free(surface: *mut truebed_bed_surface) {
    if !surface.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(surface) });
    }
}

/// The height of a surface at a place in plan, mm, and its slopes along x and y there, as ratios.
/// Outside the points it goes on as it bends there; where x or y is not finite, nothing is (NaN).
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_surface_at(
    surface: *const truebed_bed_surface,
    x_mm: f64,
    y_mm: f64,
    height_mm: *mut f64,
    slope_x: *mut f64,
    slope_y: *mut f64,
) -> i32 {
    boundary(|| {
        let height = pointer::out(height_mm, "height_mm")?;
        let (x, y) = (pointer::out(slope_x, "slope_x")?, pointer::out(slope_y, "slope_y")?);
        // SAFETY: the caller's promise.
        let surface = &unsafe { pointer::reference(surface, "surface") }?.surface;
        let place = [x_mm, y_mm];
        let nothing = place.iter().any(|mm| !mm.is_finite());
        let told = |value: f64| if nothing { f64::NAN } else { value };
        let slope = surface.slope(place);
        // SAFETY: the caller's promise: valid for writes.
        unsafe {
            height.write(told(surface.height_mm(place)));
            x.write(told(slope[0]));
            y.write(told(slope[1]));
        }
        Ok(())
    })
}

/// Rolls a ball from a place in plan at a velocity against a rolling resistance, until it comes to rest
/// or leaves the rectangle of the points, or for two minutes or 250 000 steps of at most 2 ms. `start_mm` holds x and y; `velocity`
/// those of the velocity, m/s. The resistance is the deceleration of the ball on a level bed over g,
/// about 0.01 on cloth. Writes how it rolled to `*roll`.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for a place outside the rectangle of the points, a
/// speed that is not above 0 and at most 100 m/s, and a resistance below 0 or above 1.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_surface_roll(
    surface: *const truebed_bed_surface,
    start_mm: *const f64,
    velocity_m_per_s: *const f64,
    resistance: f64,
    roll: *mut truebed_roll,
) -> i32 {
    boundary(|| {
        let roll = pointer::out(roll, "roll")?;
        // SAFETY: the caller's promise, for each of the pointers.
        let (surface, start, velocity) = unsafe {
            (
                &pointer::reference(surface, "surface")?.surface,
                *pointer::reference(start_mm.cast::<[f64; 2]>(), "start_mm")?,
                *pointer::reference(velocity_m_per_s.cast::<[f64; 2]>(), "velocity_m_per_s")?,
            )
        };
        let rolled = surface.roll(start, velocity, resistance)?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { roll.write(told(rolled)) };
        Ok(())
    })
}

/// What the bed does to four slow balls: each is sent along or across the middle of the rectangle of
/// the points at the speed (`truebed_dying_speed`) at which it would just come to rest at the far end
/// of a level bed. Writes what becomes of them to `*balls`, whose type `truebed_play` has the older name
/// of the call.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for a resistance that is not
/// above 0 and at most 1.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_surface_roll_balls(
    surface: *const truebed_bed_surface,
    resistance: f64,
    balls: *mut truebed_play,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { roll_balls(surface, resistance, balls, "balls") })
}

/// The older name of `truebed_bed_surface_roll_balls`.
///
/// Errors: those of `truebed_bed_surface_roll_balls`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_bed_surface_play(
    surface: *const truebed_bed_surface,
    resistance: f64,
    play: *mut truebed_play,
) -> i32 {
    // SAFETY: the caller's promise.
    boundary(|| unsafe { roll_balls(surface, resistance, play, "play") })
}

/// Rolls four slow balls; the caller's pointer has a name of its own.
unsafe fn roll_balls(
    surface: *const truebed_bed_surface,
    resistance: f64,
    balls: *mut truebed_play,
    name: &'static str,
) -> Result<(), Failure> {
    // SAFETY: the caller's promise.
    let surface = &unsafe { pointer::reference(surface, "surface") }?.surface;
    let played = surface.roll_balls(resistance)?;
    let answer = truebed_play {
        struct_size: size_of::<truebed_play>(),
        along: played.along.map(told),
        across: played.across.map(told),
        steepest: played.steepest,
        stays: played.stays.into(),
    };
    // SAFETY: the caller's promise.
    unsafe { pointer::fill(balls, answer, name) }
}

/// The acceleration, m/s², of a solid ball that rolls without resistance down a slope (a ratio, 0.001
/// for 1 mm/m): (5/7) g sin θ. The call cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_rolling_acceleration(slope: f64) -> f64 {
    rolling_acceleration(slope)
}

/// How far, mm, a ball that keeps rolling at a speed drifts down a cross slope (a ratio) over a
/// length: (5/14) g sin θ (length/speed)². The call cannot fail; at no speed the answer is not finite.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_drift_mm(cross_slope: f64, length_mm: f64, speed_m_per_s: f64) -> f64 {
    drift_mm(cross_slope, length_mm, speed_m_per_s)
}

/// The speed, m/s, at which a ball just comes to rest after rolling a length on a level bed:
/// √(2 resistance g length). The call cannot fail; of less than nothing it is NaN.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_dying_speed(length_mm: f64, resistance: f64) -> f64 {
    dying_speed(length_mm, resistance)
}

fn told(roll: Roll) -> truebed_roll {
    truebed_roll {
        start_mm: roll.start_mm,
        end_mm: roll.end_mm,
        drift_mm: roll.drift_mm,
        along_mm: roll.along_mm,
        time_s: roll.time_s,
        speed_m_per_s: roll.speed,
    }
}
