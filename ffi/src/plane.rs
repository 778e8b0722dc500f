//! Planes: reference planes, flatness, and how a frame stands.

use std::mem::offset_of;
use std::num::NonZero;
use std::ptr;

use truebed_core::{
    Direction, Plane, PlaneKind, Uncertainty, fit_plane, fit_planes_on, least_squares,
    minimum_zone, resting,
};

use crate::pointer;
use crate::status::{Failure, TRUEBED_BAD_SHAPE, TRUEBED_BAD_VALUE, boundary};

/// Kind of plane: least squares of the vertical residuals.
pub const TRUEBED_PLANE_LEAST_SQUARES: i32 = 0;
/// Kind of plane: least squares of the distances along the normal (ISO 12781-1 LSPL).
pub const TRUEBED_PLANE_ORTHOGONAL: i32 = 1;
/// Kind of plane: half way between the two parallel planes that hold all points and are closest
/// together along the vertical.
pub const TRUEBED_PLANE_MINIMUM_ZONE: i32 = 2;
/// Kind of plane: the same along the normal (ISO 12781-1 MZPL).
pub const TRUEBED_PLANE_MINIMUM_ZONE_NORMAL: i32 = 3;
/// Kind of plane: the underside of a rigid frame that stands on the points, its centre of mass over
/// their mean.
pub const TRUEBED_PLANE_RESTING: i32 = 4;

/// All heights have the same uncertainty, which is found from the residuals; there are no values.
pub const TRUEBED_KNOWN_ALIKE: i32 = 0;
/// One value a height: inverse variances up to a common factor, above zero.
pub const TRUEBED_KNOWN_WEIGHTS: i32 = 1;
/// One value a height: standard uncertainties, mm.
pub const TRUEBED_KNOWN_SIGMAS: i32 = 2;
/// The covariance of the heights, mm^2, row by row: the square of their count in values.
pub const TRUEBED_KNOWN_COVARIANCE: i32 = 3;

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
    /// Largest deviation above the plane (ISO 12781-1 FLTp), mm, 0 or more.
    pub above_mm: f64,
    /// Largest deviation below the plane (ISO 12781-1 FLTv), mm, 0 or more.
    pub below_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_plane {
    const FIRST_SIZE: usize = offset_of!(truebed_plane, above_mm);
}

/// The uncertainty of a least-squares plane.
#[repr(C)]
pub struct truebed_least_squares_fit {
    /// sizeof(truebed_least_squares_fit), set by the caller.
    pub struct_size: usize,
    /// Covariance of offset (mm), slope along x and slope along y, row by row: from given sigmas or
    /// covariance, a priori; else from the residuals, and NaN where there are none.
    pub covariance: [f64; 9],
    /// Standard deviation of an observation of weight 1, mm; with sigmas or a covariance a number
    /// near 1 where the residuals are what these let expect. NaN where dof is 0.
    pub residual_sd: f64,
    /// Degrees of freedom: points less three.
    pub dof: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_least_squares_fit {}

/// A point that holds a zone.
#[repr(C)]
#[derive(Clone, Copy, Default)]
pub struct truebed_contact {
    /// Index of the point.
    pub point: usize,
    /// 1 on the upper plane, 0 on the lower one.
    pub above: i32,
    /// Its share: those of either plane add up to 1/2.
    pub share: f64,
}

/// What proves a minimum zone.
#[repr(C)]
pub struct truebed_zone {
    /// sizeof(truebed_zone), set by the caller.
    pub struct_size: usize,
    /// No zone is narrower than this, mm.
    pub bound_mm: f64,
    /// 1 if width and bound are the same but for rounding, in the normal direction for all
    /// directions of space; else 0.
    pub proven: i32,
    /// The number of contacts, 0 to 4; none for three points, which lie in a plane.
    pub contact_count: usize,
    /// The points that hold the zone. With s = +1 above and -1 below, the sums over them of
    /// share * s, share * s * x and share * s * y are 0, so for any plane the largest and smallest
    /// deviation differ by at least twice the sum of share * s * z.
    pub contacts: [truebed_contact; 4],
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_zone {}

/// The stance of a rigid frame.
#[repr(C)]
pub struct truebed_stance {
    /// sizeof(truebed_stance), set by the caller.
    pub struct_size: usize,
    /// The three supports whose triangle holds the centre of mass, ascending.
    pub supports: [usize; 3],
    /// The share of the weight that each of the three bears.
    pub shares: [f64; 3],
    /// Distance in plan from the centre of mass to the nearest edge of the stance, mm.
    pub margin_mm: f64,
    /// 1 if the centre of mass lies within the stance, 0 if on an edge of it.
    pub stable: i32,
    /// The number of edges of the stance.
    pub rock_count: usize,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_stance {}

/// A frame pushed over an edge of what it stands on, until it touches the next support.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_rock {
    /// The two supports that it turns about.
    pub edge: [usize; 2],
    /// The support that it comes down on; SIZE_MAX where nothing stands beyond the edge.
    pub onto: usize,
    /// How far it comes down there, mm; NaN where it falls.
    pub drop_mm: f64,
    /// How far it rises off the support that it leaves by most, mm; NaN where it falls.
    pub rise_mm: f64,
    /// Distance in plan from the centre of mass to the edge, mm.
    pub margin_mm: f64,
}

/// Fits a plane to `count` points. `xy_mm` holds x and y of each in turn, 2 * `count` values;
/// `z_mm` their heights; `weights` inverse variances up to a common factor, or NULL where all
/// count alike, as for all kinds but the two of least squares; `kind` is one of
/// TRUEBED_PLANE_. The plane goes to `*plane`, the deviation of each point (its height above the
/// plane or, for the kinds along the normal, its distance) to `deviations_mm`, which has room for
/// `count` values or is NULL.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown kind,
/// values that are not finite and weights that are not above zero or not taken;
/// TRUEBED_BAD_GEOMETRY for fewer than three points, all on one line, and for the kinds along the
/// normal a plane that is upright or as thin in two directions.
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
            points(xy_mm, z_mm, count)?
        };
        let weights = if weights.is_null() {
            None
        } else {
            // SAFETY: the caller's promise.
            Some(unsafe { pointer::array(weights, count, "weights") }?)
        };
        let fit = fit_plane(xy, z, kind_from(kind)?, weights)?;
        // SAFETY: the caller's promise, and `plane` is not NULL here.
        unsafe { give(&fit, plane, deviations_mm)? };
        Ok(())
    })
}

/// Fits a plane to each of `tables` tables of `points` points, on all cores, each as
/// `truebed_fit_plane` does. `z_mm` holds the heights table by table, `xy_mm` the places of one
/// table if `shared` is 1, which then all have, or of every table if it is 0. The planes go to
/// `planes`, an array of `tables` whose first has its struct_size set, the deviations to
/// `deviations_mm`, which has room for `tables` * `points` values or is NULL.
///
/// Errors: those of `truebed_fit_plane`, and TRUEBED_BAD_VALUE for a `shared` that is neither 0 nor
/// 1; the last error names the table, as in `tables[7].z[2]`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_fit_planes(
    xy_mm: *const f64,
    shared: i32,
    z_mm: *const f64,
    tables: usize,
    points: usize,
    kind: i32,
    planes: *mut truebed_plane,
    deviations_mm: *mut f64,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe {
        truebed_fit_planes_on(0, xy_mm, shared, z_mm, tables, points, kind, planes, deviations_mm)
    }
}

/// Fits planes as `truebed_fit_planes` does, on at most `threads` threads; 0 stands for one for each core.
/// The planes are the same on any number of threads. Where no thread can be started, the thread of this
/// call does the work.
///
/// Errors: those of `truebed_fit_planes`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_fit_planes_on(
    threads: usize,
    xy_mm: *const f64,
    shared: i32,
    z_mm: *const f64,
    tables: usize,
    points: usize,
    kind: i32,
    planes: *mut truebed_plane,
    deviations_mm: *mut f64,
) -> i32 {
    boundary(|| {
        let count = tables.checked_mul(points).ok_or_else(|| {
            let got = format!("{tables} tables");
            Failure::new(TRUEBED_BAD_SHAPE, "tables", &got, "no more than memory can hold")
        })?;
        if shared != 0 && shared != 1 {
            return Err(Failure::new(TRUEBED_BAD_VALUE, "shared", &shared.to_string(), "0 or 1"));
        }
        let places = if shared == 1 { points } else { count };
        // SAFETY: the caller's promise, for each of the pointers.
        let (size, xy, z) = unsafe {
            let size = if tables > 0 { pointer::check_size(planes, "planes")? } else { 0 };
            let xy = pointer::array(xy_mm.cast::<[f64; 2]>(), places, "xy_mm")?;
            (size, xy, pointer::array(z_mm, count, "z_mm")?)
        };
        let fits = fit_planes_on(NonZero::new(threads), xy, z, points, kind_from(kind)?)?;
        for at in 0..tables {
            // SAFETY: the caller's promise: room for so many.
            unsafe {
                let answer = truebed_plane {
                    struct_size: size_of::<truebed_plane>(),
                    slope_x: fits.slope_x[at],
                    slope_y: fits.slope_y[at],
                    offset_mm: fits.offset_mm[at],
                    flatness_mm: fits.flatness_mm[at],
                    rms_mm: fits.rms_mm[at],
                    above_mm: fits.above_mm[at],
                    below_mm: fits.below_mm[at],
                };
                pointer::put(planes.byte_add(at * size), size, answer);
            }
        }
        if !deviations_mm.is_null() {
            // SAFETY: the caller's promise: room for so many.
            unsafe { ptr::copy_nonoverlapping(fits.deviations_mm.as_ptr(), deviations_mm, count) };
        }
        Ok(())
    })
}

/// Fits a plane by least squares of the vertical residuals with its uncertainty. `known`
/// is one of TRUEBED_KNOWN_ and says what `values` are, which is NULL for TRUEBED_KNOWN_ALIKE. The
/// rest is as for `truebed_fit_plane`; `*fit` becomes its uncertainty.
///
/// Errors: those of `truebed_fit_plane`; TRUEBED_BAD_VALUE for an unknown `known` and a covariance
/// that is not symmetric or not positive definite.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_least_squares(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    known: i32,
    values: *const f64,
    plane: *mut truebed_plane,
    deviations_mm: *mut f64,
    fit: *mut truebed_least_squares_fit,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let (xy, z, uncertainty) = unsafe {
            pointer::check_size(plane, "plane")?;
            pointer::check_size(fit, "fit")?;
            let (xy, z) = points(xy_mm, z_mm, count)?;
            (xy, z, uncertainty(known, values, count)?)
        };
        let found = least_squares(xy, z, uncertainty)?;
        let mut covariance = [0.0; 9];
        covariance.copy_from_slice(found.covariance.as_flattened());
        // SAFETY: the caller's promise, and neither is NULL here.
        unsafe {
            give(&found.plane, plane, deviations_mm)?;
            let answer = truebed_least_squares_fit {
                struct_size: size_of::<truebed_least_squares_fit>(),
                covariance,
                residual_sd: found.residual_sd,
                dof: found.dof,
            };
            pointer::fill(fit, answer, "fit")?;
        }
        Ok(())
    })
}

/// Finds the two parallel planes closest together that hold all points, along the vertical or, if
/// `normal` is 1, along their normal. The rest is as for `truebed_fit_plane`; the flatness of the
/// plane, which lies half way between, is the width. `*zone` becomes what proves it.
///
/// Errors: those of `truebed_fit_plane`, and TRUEBED_BAD_VALUE for a `normal` that is neither 0 nor
/// 1.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_minimum_zone(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    normal: i32,
    plane: *mut truebed_plane,
    deviations_mm: *mut f64,
    zone: *mut truebed_zone,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let (xy, z) = unsafe {
            pointer::check_size(plane, "plane")?;
            pointer::check_size(zone, "zone")?;
            points(xy_mm, z_mm, count)?
        };
        let direction = match normal {
            0 => Direction::Vertical,
            1 => Direction::Normal,
            _ => {
                let got = normal.to_string();
                return Err(Failure::new(TRUEBED_BAD_VALUE, "normal", &got, "0 or 1"));
            }
        };
        let found = minimum_zone(xy, z, direction)?;
        let mut contacts = [truebed_contact::default(); 4];
        for (contact, it) in contacts.iter_mut().zip(&found.contacts) {
            *contact = truebed_contact { point: it.point, above: it.above.into(), share: it.share };
        }
        // SAFETY: the caller's promise, and neither is NULL here.
        unsafe {
            give(&found.plane, plane, deviations_mm)?;
            let answer = truebed_zone {
                struct_size: size_of::<truebed_zone>(),
                bound_mm: found.bound_mm,
                proven: found.proven.into(),
                contact_count: found.contacts.len().min(contacts.len()),
                contacts,
            };
            pointer::fill(zone, answer, "zone")?;
        }
        Ok(())
    })
}

/// Finds how a rigid frame with a plane underside stands on `count` supports. `centre_mm` is the
/// plan position of its centre of mass, x and y, or NULL for the mean of the supports. `*plane`
/// becomes the plane of its underside and `*stance` how it stands. `floats_mm` gets how far the
/// frame floats above each support, 0 where it touches; `rocks` what happens when it is pushed over
/// each edge of the stance, anticlockwise: each has room for `count` elements or is NULL.
///
/// Errors: those of `truebed_fit_plane`, and TRUEBED_BAD_GEOMETRY for a centre outside the supports.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_resting(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    centre_mm: *const f64,
    plane: *mut truebed_plane,
    stance: *mut truebed_stance,
    floats_mm: *mut f64,
    rocks: *mut truebed_rock,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let (xy, z, centre) = unsafe {
            pointer::check_size(plane, "plane")?;
            pointer::check_size(stance, "stance")?;
            let (xy, z) = points(xy_mm, z_mm, count)?;
            (xy, z, centre_mm.cast::<[f64; 2]>().as_ref().copied())
        };
        let found = resting(xy, z, centre)?;
        let told: Vec<truebed_rock> = found
            .rocks
            .iter()
            .map(|rock| truebed_rock {
                edge: rock.edge,
                onto: rock.onto.unwrap_or(usize::MAX),
                drop_mm: rock.drop_mm,
                rise_mm: rock.rise_mm,
                margin_mm: rock.margin_mm,
            })
            .collect();
        // SAFETY: the caller's promise, and `plane` and `stance` are not NULL here; a stance has no
        // more edges than there are supports.
        unsafe {
            give(&found.plane, plane, ptr::null_mut())?;
            let answer = truebed_stance {
                struct_size: size_of::<truebed_stance>(),
                supports: found.supports,
                shares: found.shares,
                margin_mm: found.margin_mm,
                stable: found.stable.into(),
                rock_count: told.len(),
            };
            pointer::fill(stance, answer, "stance")?;
            if !floats_mm.is_null() {
                ptr::copy_nonoverlapping(found.floats_mm.as_ptr(), floats_mm, count);
            }
            if !rocks.is_null() {
                ptr::copy_nonoverlapping(told.as_ptr(), rocks, told.len());
            }
        }
        Ok(())
    })
}

/// Places and heights of points.
pub(crate) unsafe fn points<'a>(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
) -> Result<(&'a [[f64; 2]], &'a [f64]), Failure> {
    // SAFETY: the caller's promise.
    unsafe {
        Ok((pointer::array(xy_mm.cast(), count, "xy_mm")?, pointer::array(z_mm, count, "z_mm")?))
    }
}

/// What is known of the errors of heights.
pub(crate) unsafe fn uncertainty<'a>(
    known: i32,
    values: *const f64,
    count: usize,
) -> Result<Uncertainty<'a>, Failure> {
    // SAFETY: the caller's promise.
    let each = || unsafe { pointer::array(values, count, "values") };
    match known {
        TRUEBED_KNOWN_ALIKE => Ok(Uncertainty::Alike),
        TRUEBED_KNOWN_WEIGHTS => Ok(Uncertainty::Weights(each()?)),
        TRUEBED_KNOWN_SIGMAS => Ok(Uncertainty::Sigmas(each()?)),
        TRUEBED_KNOWN_COVARIANCE => {
            // SAFETY: the caller's promise.
            unsafe { pointer::square(values, count, "values") }.map(Uncertainty::Covariance)
        }
        _ => {
            let got = known.to_string();
            Err(Failure::new(TRUEBED_BAD_VALUE, "known", &got, "a TRUEBED_KNOWN_ number"))
        }
    }
}

/// Writes a plane, and its deviations where they are asked for.
unsafe fn give(
    fit: &Plane,
    plane: *mut truebed_plane,
    deviations_mm: *mut f64,
) -> Result<(), Failure> {
    // SAFETY: the caller's promise: `plane` and `deviations_mm` are valid for writes, and `plane`
    // is not NULL.
    unsafe {
        let answer = truebed_plane {
            struct_size: size_of::<truebed_plane>(),
            slope_x: fit.slope_x,
            slope_y: fit.slope_y,
            offset_mm: fit.offset_mm,
            flatness_mm: fit.flatness_mm,
            rms_mm: fit.rms_mm,
            above_mm: fit.above_mm,
            below_mm: fit.below_mm,
        };
        pointer::fill(plane, answer, "plane")?;
        if !deviations_mm.is_null() {
            let deviations = &fit.deviations_mm;
            ptr::copy_nonoverlapping(deviations.as_ptr(), deviations_mm, deviations.len());
        }
    }
    Ok(())
}

fn kind_from(kind: i32) -> Result<PlaneKind, Failure> {
    match kind {
        TRUEBED_PLANE_LEAST_SQUARES => Ok(PlaneKind::LeastSquares),
        TRUEBED_PLANE_ORTHOGONAL => Ok(PlaneKind::Orthogonal),
        TRUEBED_PLANE_MINIMUM_ZONE => Ok(PlaneKind::MinimumZone),
        TRUEBED_PLANE_MINIMUM_ZONE_NORMAL => Ok(PlaneKind::MinimumZoneNormal),
        TRUEBED_PLANE_RESTING => Ok(PlaneKind::Resting),
        _ => {
            let got = kind.to_string();
            Err(Failure::new(TRUEBED_BAD_VALUE, "kind", &got, "a TRUEBED_PLANE_ number"))
        }
    }
}
