//! Reference planes.

use std::ptr;

use truebed_core::{PlaneKind, fit_plane};

use crate::pointer;
use crate::status::{Failure, TRUEBED_BAD_VALUE, boundary};

/// Kind of plane: least squares of the vertical residuals.
pub const TRUEBED_PLANE_LEAST_SQUARES: i32 = 0;

/// A reference plane z = offset + slope_x · x + slope_y · y and how the points lie about it.
#[repr(C)]
pub struct truebed_plane {
    /// sizeof(truebed_plane), set by the caller.
    pub struct_size: usize,
    /// Rise per length along x, dimensionless.
    pub slope_x: f64,
    /// Rise per length along y, dimensionless.
    pub slope_y: f64,
    /// Height of the plane at x = y = 0, mm.
    pub offset_mm: f64,
    /// Peak-to-valley of the deviations (ISO 12781-1 FLTt), mm.
    pub flatness_mm: f64,
    /// Root mean square of the deviations (ISO 12781-1 FLTq), mm.
    pub rms_mm: f64,
}

/// Fits a plane to `count` points. `xy_mm` holds x and y of each in turn, 2 * `count` values;
/// `z_mm` their heights; `weights` inverse variances up to a common factor, or NULL where all
/// count alike; `kind` is TRUEBED_PLANE_LEAST_SQUARES. The plane goes to `*plane`, the height of
/// each point above it to `deviations_mm`, which has room for `count` values or is NULL.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown kind,
/// values that are not finite and weights that are not above zero; TRUEBED_BAD_GEOMETRY for fewer
/// than three points, or all on one line.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_fit_plane(
    xy_mm: *const f64,
    z_mm: *const f64,
    weights: *const f64,
    count: usize,
    kind: i32,
    plane: *mut truebed_plane,
    deviations_mm: *mut f64,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let (xy, z) = unsafe {
            pointer::check_size(plane, "plane")?;
            (pointer::array(xy_mm.cast(), count, "xy_mm")?, pointer::array(z_mm, count, "z_mm")?)
        };
        let weights = if weights.is_null() {
            None
        } else {
            // SAFETY: the caller's promise.
            Some(unsafe { pointer::array(weights, count, "weights") }?)
        };
        let fit = fit_plane(xy, z, kind_from(kind)?, weights)?;
        // SAFETY: the caller's promise: `plane` and `deviations_mm` are valid for writes, and not
        // NULL here.
        unsafe {
            plane.write(truebed_plane {
                struct_size: size_of::<truebed_plane>(),
                slope_x: fit.slope_x,
                slope_y: fit.slope_y,
                offset_mm: fit.offset_mm,
                flatness_mm: fit.flatness_mm,
                rms_mm: fit.rms_mm,
            });
            if !deviations_mm.is_null() {
                ptr::copy_nonoverlapping(fit.deviations_mm.as_ptr(), deviations_mm, count);
            }
        }
        Ok(())
    })
}

fn kind_from(kind: i32) -> Result<PlaneKind, Failure> {
    match kind {
        TRUEBED_PLANE_LEAST_SQUARES => Ok(PlaneKind::LeastSquares),
        _ => {
            let got = kind.to_string();
            Err(Failure::new(TRUEBED_BAD_VALUE, "kind", &got, "a TRUEBED_PLANE_ number"))
        }
    }
}
