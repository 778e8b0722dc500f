//! Floors: the highest support, slopes, straightedges and classes of evenness.

use std::ffi::c_void;
use std::ptr;

use truebed_core::{
    FloorClass, FloorFinding, FloorQuantity, Gap, assess_floor_until, check_floor, floor_numbers,
    highest, local_slopes, straightedge, straightedge_between,
};

use crate::plane::{points, uncertainty};
use crate::pointer;
use crate::problems::Problems;
use crate::rule::{conformity, read_rule};
use crate::status::{Failure, TRUEBED_BAD_VALUE, boundary};

/// Which support stands highest.
#[repr(C)]
pub struct truebed_highest_support {
    /// sizeof(truebed_highest_support), set by the caller.
    pub struct_size: usize,
    /// The first support whose height is the greatest, by index.
    pub highest: usize,
    /// How many supports have that height: more than one is a tie.
    pub tied: usize,
    /// The support that is most probably the highest, by index.
    pub most_probable: usize,
    /// How many supports it takes, most probable first, to hold the highest one with the confidence
    /// asked for: 1 where the highest is known.
    pub candidates: usize,
    /// The largest numerical error of a probability.
    pub error: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_highest_support {}

/// The slope from a point to the next on its line.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_local_slope {
    /// The two points, by index; the second lies further along x (y, across).
    pub points: [usize; 2],
    /// Rise per length, dimensionless.
    pub slope: f64,
}

/// The largest gap under a straightedge.
#[repr(C)]
pub struct truebed_gap {
    /// sizeof(truebed_gap), set by the caller.
    pub struct_size: usize,
    /// The gap under the edge, mm; NaN where the edge nowhere covers three points.
    pub gap_mm: f64,
    /// The point at which the gap is largest, by index; SIZE_MAX where there is none.
    pub at: usize,
    /// The two points that the edge rests on, by index; SIZE_MAX where there are none.
    pub rests_on: [usize; 2],
    /// Their distance along the line, mm; NaN where there are none.
    pub distance_mm: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_gap {}

/// Floor class: DIN 18202 table 3, row 1, unfinished tops of floors.
pub const TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1: i32 = 1;
/// Floor class: row 2, unfinished, raised demands.
pub const TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2: i32 = 2;
/// Floor class: row 3, finished floors.
pub const TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3: i32 = 3;
/// Floor class: row 4, finished, raised demands.
pub const TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4: i32 = 4;
/// Floor class: BS 8204 SR1, 3 mm under a straightedge of 2 m.
pub const TRUEBED_FLOOR_CLASS_BS_8204_SR1: i32 = 5;
/// Floor class: SR2, 5 mm.
pub const TRUEBED_FLOOR_CLASS_BS_8204_SR2: i32 = 6;
/// Floor class: SR3, 10 mm.
pub const TRUEBED_FLOOR_CLASS_BS_8204_SR3: i32 = 7;
/// Floor class: ACI 117 conventional, overall FF 20, FL 15.
pub const TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL: i32 = 8;
/// Floor class: moderately flat, FF 25, FL 20.
pub const TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT: i32 = 9;
/// Floor class: flat, FF 35, FL 25.
pub const TRUEBED_FLOOR_CLASS_ACI_117_FLAT: i32 = 10;
/// Floor class: very flat, FF 45, FL 35.
pub const TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT: i32 = 11;
/// Floor class: superflat, FF 60, FL 40.
pub const TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT: i32 = 12;

/// Floor finding: the gap under a straightedge, mm.
pub const TRUEBED_FLOOR_FINDING_GAP: i32 = 0;
/// Floor finding: FF of the whole floor.
pub const TRUEBED_FLOOR_FINDING_FF: i32 = 1;
/// Floor finding: FL of the whole floor.
pub const TRUEBED_FLOOR_FINDING_FL: i32 = 2;
/// Floor finding: FF of one line.
pub const TRUEBED_FLOOR_FINDING_LINE_FF: i32 = 3;
/// Floor finding: FL of one line.
pub const TRUEBED_FLOOR_FINDING_LINE_FL: i32 = 4;

/// One requirement of a floor class, and the measured value.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_floor_finding {
    /// What was measured: a TRUEBED_FLOOR_FINDING_ number.
    pub what: i32,
    /// 1 if what was measured is within the limit as read, whatever its uncertainty; 0 if not; -1 where
    /// the survey does not determine it.
    pub met: i32,
    /// The measured value; NaN where the survey does not determine it.
    pub found: f64,
    /// The limit: the greatest gap, or the least F-number.
    pub limit: f64,
    /// The first point of the edge or of the line; SIZE_MAX for the whole floor.
    pub first: usize,
    /// The point below the edge; SIZE_MAX for an F-number.
    pub at: usize,
    /// The last point of the edge or of the line; SIZE_MAX for the whole floor.
    pub last: usize,
}

/// Whether a floor is as even as a class asks.
#[repr(C)]
pub struct truebed_floor_verdict {
    /// sizeof(truebed_floor_verdict), set by the caller.
    pub struct_size: usize,
    /// 1 if the heights as read, whatever their uncertainty, meet every requirement of the class that
    /// the survey determines; else 0. The verdict, which counts the uncertainty, is `conformity`.
    pub met: i32,
    /// The verdict: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
    pub conformity: i32,
    /// The probability that all is met.
    pub probability: f64,
    /// Standard error of that number, which is simulated with draws that never change.
    pub probability_error: f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_floor_verdict {}

/// Finds the highest of `count` heights. `known` says what `values` are:
/// TRUEBED_KNOWN_SIGMAS or TRUEBED_KNOWN_COVARIANCE, which may be singular. `confidence` lies
/// between 0 and 1. `probabilities`, with room for `count` values or NULL, gets the probability of
/// each to be the highest.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_SHAPE for no heights;
/// TRUEBED_BAD_VALUE for any other bad argument.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_highest(
    heights_mm: *const f64,
    count: usize,
    known: i32,
    values: *const f64,
    confidence: f64,
    highest: *mut truebed_highest_support,
    probabilities: *mut f64,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let (heights, uncertainty) = unsafe {
            pointer::check_size(highest, "highest")?;
            let heights = pointer::array(heights_mm, count, "heights_mm")?;
            (heights, uncertainty(known, values, count)?)
        };
        let found = self::highest(heights, uncertainty, confidence)?;
        // SAFETY: the caller's promise, and `highest` is not NULL here.
        unsafe {
            let answer = truebed_highest_support {
                struct_size: size_of::<truebed_highest_support>(),
                highest: found.highest[0],
                tied: found.highest.len(),
                most_probable: found.candidates[0],
                candidates: found.candidates.len(),
                error: found.error,
            };
            pointer::fill(highest, answer, "highest")?;
            if !probabilities.is_null() {
                ptr::copy_nonoverlapping(found.probabilities.as_ptr(), probabilities, count);
            }
        }
        Ok(())
    })
}

/// The slope from each point to the next on its lengthwise and on its crosswise line. Points are on
/// one line whose y (x) lie within `line_width_mm` of the least. `along` and `across` have room for
/// `count` elements each; `*along_count` and `*across_count` become how many there are.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for values that are not finite and a negative
/// width.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_local_slopes(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    line_width_mm: f64,
    along: *mut truebed_local_slope,
    along_count: *mut usize,
    across: *mut truebed_local_slope,
    across_count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let (xy, z) = unsafe { points(xy_mm, z_mm, count) }?;
        let slopes = local_slopes(xy, z, line_width_mm)?;
        let told = [slopes.along, slopes.across].map(|slopes| {
            let slope = |it: &truebed_core::LocalSlope| truebed_local_slope {
                points: it.points,
                slope: it.slope,
            };
            slopes.iter().map(slope).collect::<Vec<_>>()
        });
        let counts = [
            pointer::out(along_count, "along_count")?,
            pointer::out(across_count, "across_count")?,
        ];
        if count > 0 {
            pointer::out(along, "along")?;
            pointer::out(across, "across")?;
        }
        for ((told, buffer), out) in told.iter().zip([along, across]).zip(counts) {
            // SAFETY: the caller's promise: room for `count`, and a line has a slope less than
            // points.
            unsafe {
                if !told.is_empty() {
                    ptr::copy_nonoverlapping(told.as_ptr(), buffer, told.len());
                }
                out.write(told.len());
            }
        }
        Ok(())
    })
}

/// The largest gap under a straightedge of `length_mm` laid anywhere on the lengthwise and crosswise
/// lines of a survey of `count` points; lines are as for `truebed_local_slopes`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for values that are not
/// finite, a length that is not above zero and a negative width.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_straightedge(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    length_mm: f64,
    line_width_mm: f64,
    gap: *mut truebed_gap,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let (xy, z) = unsafe {
            pointer::check_size(gap, "gap")?;
            points(xy_mm, z_mm, count)?
        };
        let found = straightedge(xy, z, length_mm, line_width_mm)?;
        // SAFETY: the caller's promise, and not NULL here.
        unsafe { pointer::fill(gap, told(found), "gap") }
    })
}

/// The same on one line, from one place in plan to another, in any direction: of the points that
/// lie within half of `line_width_mm` to either side of it. `start_mm` and `end_mm` hold x and y
/// each.
///
/// Errors: those of `truebed_straightedge`, and TRUEBED_BAD_VALUE for two places that are one.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_straightedge_between(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    start_mm: *const f64,
    end_mm: *const f64,
    length_mm: f64,
    line_width_mm: f64,
    gap: *mut truebed_gap,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let ((xy, z), start, end) = unsafe {
            pointer::check_size(gap, "gap")?;
            (
                points(xy_mm, z_mm, count)?,
                *pointer::reference(start_mm.cast::<[f64; 2]>(), "start_mm")?,
                *pointer::reference(end_mm.cast::<[f64; 2]>(), "end_mm")?,
            )
        };
        let found = straightedge_between(xy, z, start, end, length_mm, line_width_mm)?;
        // SAFETY: the caller's promise, and not NULL here.
        unsafe { pointer::fill(gap, told(found), "gap") }
    })
}

/// Holds a survey of a floor of `count` points against a class of evenness, line by line; lines are
/// as for `truebed_local_slopes`, and `floor_class` is a
/// TRUEBED_FLOOR_CLASS_ number. What lies between the points is not known.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_BAD_VALUE for values that are not
/// finite, a negative width and an unknown class; TRUEBED_BAD_GEOMETRY for a survey of which no line
/// has three points and, for ACI 117, points that are not 12 in or 300 mm apart.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_check_floor(
    xy_mm: *const f64,
    z_mm: *const f64,
    count: usize,
    floor_class: i32,
    line_width_mm: f64,
    buffer: *mut truebed_floor_finding,
    capacity: usize,
    finding_count: *mut usize,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let (xy, z) = unsafe { points(xy_mm, z_mm, count) }?;
        let findings = check_floor(xy, z, read_class(floor_class)?, line_width_mm)?;
        let told: Vec<_> = findings.iter().map(finding).collect();
        // SAFETY: the caller's promise.
        unsafe { pointer::copy_out(&told, buffer, capacity, finding_count) }
    })
}

/// Holds a survey of a floor of `count` points against a class of evenness as `truebed_check_floor`
/// does, and counts the uncertainty of the heights: normal errors with a covariance of
/// `count` * `count` values in mm², row by row. `rule` and `risk` are those of `truebed_assess`. Writes
/// the probability that the floor meets every requirement of the class, and the verdict, to `*verdict`.
///
/// Errors: those of `truebed_check_floor` and TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for a covariance
/// with values that are not finite, not symmetric or not positive semidefinite, an unknown rule and a
/// risk out of range.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_assess_floor(
    xy_mm: *const f64,
    z_mm: *const f64,
    covariance_mm2: *const f64,
    count: usize,
    floor_class: i32,
    line_width_mm: f64,
    rule: i32,
    risk: f64,
    verdict: *mut truebed_floor_verdict,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe {
        truebed_assess_floor_until(
            xy_mm,
            z_mm,
            covariance_mm2,
            count,
            floor_class,
            line_width_mm,
            rule,
            risk,
            None,
            ptr::null_mut(),
            verdict,
        )
    }
}

/// Holds a floor against a class as `truebed_assess_floor` does, until `stop` says to stop: see
/// `truebed_plan_shims_until`. A call that is stopped has no answer.
///
/// Errors: those of `truebed_assess_floor`, and TRUEBED_STOPPED.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_assess_floor_until(
    xy_mm: *const f64,
    z_mm: *const f64,
    covariance_mm2: *const f64,
    count: usize,
    floor_class: i32,
    line_width_mm: f64,
    rule: i32,
    risk: f64,
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
    verdict: *mut truebed_floor_verdict,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise, for each of the pointers.
        let ((xy, z), covariance) = unsafe {
            pointer::check_size(verdict, "verdict")?;
            (points(xy_mm, z_mm, count)?, pointer::square(covariance_mm2, count, "covariance_mm2")?)
        };
        let class = read_class(floor_class)?;
        let mut problems = Problems::default();
        let rule = read_rule(rule, risk, &mut problems);
        problems.finish()?;
        // SAFETY: the caller's promise: `stop` may be called with `context` as long as this call lasts.
        let stop = unsafe { pointer::asking(stop, context) };
        let found = assess_floor_until(xy, z, covariance, class, line_width_mm, rule, &stop)?;
        let answer = truebed_floor_verdict {
            struct_size: size_of::<truebed_floor_verdict>(),
            met: found.meets_limits.into(),
            conformity: conformity(found.conformity),
            probability: found.probability,
            probability_error: found.probability_error,
        };
        // SAFETY: the caller's promise, and not NULL here.
        unsafe { pointer::fill(verdict, answer, "verdict") }
    })
}

/// The F-numbers of ASTM E1155 of one or more lines of heights, each of points 12 in (or 300 mm)
/// apart: `heights_mm` holds them line by line, `lengths` how many heights each line has.
/// `*flatness` becomes FF and `*levelness` FL; NaN where the lines are too short.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for lengths that add up to more than memory can
/// hold.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_floor_numbers(
    heights_mm: *const f64,
    lengths: *const usize,
    line_count: usize,
    flatness: *mut f64,
    levelness: *mut f64,
) -> i32 {
    boundary(|| {
        let (flatness, levelness) =
            (pointer::out(flatness, "flatness")?, pointer::out(levelness, "levelness")?);
        // SAFETY: the caller's promise.
        let lengths = unsafe { pointer::array(lengths, line_count, "lengths") }?;
        let total = lengths.iter().try_fold(0_usize, |sum, length| sum.checked_add(*length));
        let total = total.ok_or_else(|| {
            let got = "lengths that add up to too much";
            Failure::new(TRUEBED_BAD_VALUE, "lengths", got, "no more than memory can hold")
        })?;
        // SAFETY: the caller's promise.
        let mut rest = unsafe { pointer::array(heights_mm, total, "heights_mm") }?;
        let mut lines = Vec::new();
        for length in lengths {
            let (line, others) = rest.split_at(*length);
            lines.push(line);
            rest = others;
        }
        let numbers = floor_numbers(&lines);
        // SAFETY: the caller's promise: valid for writes.
        unsafe {
            flatness.write(numbers.flatness);
            levelness.write(numbers.levelness);
        }
        Ok(())
    })
}

pub(crate) fn read_class(number: i32) -> Result<FloorClass, Failure> {
    Ok(match number {
        TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1 => FloorClass::Din18202Row1,
        TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2 => FloorClass::Din18202Row2,
        TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3 => FloorClass::Din18202Row3,
        TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4 => FloorClass::Din18202Row4,
        TRUEBED_FLOOR_CLASS_BS_8204_SR1 => FloorClass::Bs8204Sr1,
        TRUEBED_FLOOR_CLASS_BS_8204_SR2 => FloorClass::Bs8204Sr2,
        TRUEBED_FLOOR_CLASS_BS_8204_SR3 => FloorClass::Bs8204Sr3,
        TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL => FloorClass::Aci117Conventional,
        TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT => FloorClass::Aci117ModeratelyFlat,
        TRUEBED_FLOOR_CLASS_ACI_117_FLAT => FloorClass::Aci117Flat,
        TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT => FloorClass::Aci117VeryFlat,
        TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT => FloorClass::Aci117Superflat,
        other => {
            let expected = "a TRUEBED_FLOOR_CLASS_ number, 1 to 12";
            return Err(Failure::new(
                TRUEBED_BAD_VALUE,
                "floor_class",
                &other.to_string(),
                expected,
            ));
        }
    })
}

fn told(gap: Option<Gap>) -> truebed_gap {
    let struct_size = size_of::<truebed_gap>();
    match gap {
        Some(gap) => truebed_gap {
            struct_size,
            gap_mm: gap.gap_mm,
            at: gap.at,
            rests_on: gap.rests_on,
            distance_mm: gap.distance_mm,
        },
        None => truebed_gap {
            struct_size,
            gap_mm: f64::NAN,
            at: usize::MAX,
            rests_on: [usize::MAX; 2],
            distance_mm: f64::NAN,
        },
    }
}

fn finding(found: &FloorFinding) -> truebed_floor_finding {
    let what = match found.what {
        FloorQuantity::Gap => TRUEBED_FLOOR_FINDING_GAP,
        FloorQuantity::Flatness => TRUEBED_FLOOR_FINDING_FF,
        FloorQuantity::Levelness => TRUEBED_FLOOR_FINDING_FL,
        FloorQuantity::LineFlatness => TRUEBED_FLOOR_FINDING_LINE_FF,
        FloorQuantity::LineLevelness => TRUEBED_FLOOR_FINDING_LINE_FL,
        // A quantity that this header has no number for.
        _ => -1,
    };
    let told = what == TRUEBED_FLOOR_FINDING_GAP && found.met.is_some();
    let end = |point: Option<&usize>| point.copied().unwrap_or(usize::MAX);
    truebed_floor_finding {
        what,
        met: found.met.map_or(-1, i32::from),
        found: found.found,
        limit: found.limit,
        first: end(found.points.first()),
        at: if told { found.points[1] } else { usize::MAX },
        last: end(found.points.last()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay() {
        let classes = [
            (TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1, 1, FloorClass::Din18202Row1),
            (TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2, 2, FloorClass::Din18202Row2),
            (TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3, 3, FloorClass::Din18202Row3),
            (TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4, 4, FloorClass::Din18202Row4),
            (TRUEBED_FLOOR_CLASS_BS_8204_SR1, 5, FloorClass::Bs8204Sr1),
            (TRUEBED_FLOOR_CLASS_BS_8204_SR2, 6, FloorClass::Bs8204Sr2),
            (TRUEBED_FLOOR_CLASS_BS_8204_SR3, 7, FloorClass::Bs8204Sr3),
            (TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL, 8, FloorClass::Aci117Conventional),
            (TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT, 9, FloorClass::Aci117ModeratelyFlat),
            (TRUEBED_FLOOR_CLASS_ACI_117_FLAT, 10, FloorClass::Aci117Flat),
            (TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT, 11, FloorClass::Aci117VeryFlat),
            (TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT, 12, FloorClass::Aci117Superflat),
        ];
        for (name, number, class) in classes {
            assert_eq!((name, read_class(number).unwrap()), (number, class));
        }
        assert_eq!(classes.map(|it| it.2), FloorClass::ALL.map(|it| it.0));
        for other in [i32::MIN, -1, 0, 13, i32::MAX] {
            assert!(read_class(other).is_err());
        }
        let findings = [
            (TRUEBED_FLOOR_FINDING_GAP, 0),
            (TRUEBED_FLOOR_FINDING_FF, 1),
            (TRUEBED_FLOOR_FINDING_FL, 2),
            (TRUEBED_FLOOR_FINDING_LINE_FF, 3),
            (TRUEBED_FLOOR_FINDING_LINE_FL, 4),
        ];
        for (name, number) in findings {
            assert_eq!(name, number);
        }
    }
}
