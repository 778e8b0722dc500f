//! Limits: what counts as level.

use std::mem::offset_of;

use truebed_core::{LimitKind, Limits, NamedLimit};

use crate::pointer;
use crate::problems::Problems;
use crate::status::Failure;

/// Bit of truebed_limits.asked: overall_mm is asked for.
pub const TRUEBED_LIMIT_OVERALL: u32 = 1;
/// Bit of truebed_limits.asked: along_mm is asked for.
pub const TRUEBED_LIMIT_ALONG: u32 = 2;
/// Bit of truebed_limits.asked: across_mm is asked for.
pub const TRUEBED_LIMIT_ACROSS: u32 = 4;
/// Bit of truebed_limits.asked: joint_step_mm is asked for.
pub const TRUEBED_LIMIT_JOINT_STEP: u32 = 8;
/// Bit of truebed_limits.asked: line_width_mm counts instead of 20 mm.
pub const TRUEBED_LIMIT_LINE_WIDTH: u32 = 16;
/// In a finding: a limit on supports that are named; truebed_limits.asked needs no bit for those.
pub const TRUEBED_LIMIT_NAMED: u32 = 32;

/// The largest difference of height between any of the supports that are named: a pair, or a line
/// of the caller's own.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_named_limit {
    /// The supports by index, at least two.
    pub points: *const usize,
    /// Their number.
    pub point_count: usize,
    /// The largest difference that is allowed, mm: twice a ± limit.
    pub within_mm: f64,
}

/// What counts as level. A limit is asked for by its bit in `asked`, at least one must be; a value
/// without its bit must be 0.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_limits {
    /// sizeof(truebed_limits), set by the caller.
    pub struct_size: usize,
    /// TRUEBED_LIMIT_ bits, or-ed together.
    pub asked: u32,
    /// ± over all supports, mm.
    pub overall_mm: f64,
    /// ± over the supports of each lengthwise line, mm.
    pub along_mm: f64,
    /// ± over the supports of each crosswise line, mm.
    pub across_mm: f64,
    /// The largest step between the two sides of a joint, mm.
    pub joint_step_mm: f64,
    /// Supports whose y (x) lie within this width of each other are on one lengthwise (crosswise)
    /// line, mm; 20 mm without its bit (what a tape leaves; common practice).
    pub line_width_mm: f64,
    /// Limits on supports that are named; NULL for none.
    pub named: *const truebed_named_limit,
    /// Their number.
    pub named_count: usize,
    /// How much the target may slope along, either way, um/m (1000 is 1 mm/m), at most 100000; with
    /// 0 here and in the next field it is level. All limits then hold for heights above it.
    pub slope_along_um_per_m: u32,
    /// How much it may slope across, um/m.
    pub slope_across_um_per_m: u32,
    /// TRUEBED_LIMIT_ bits of the limits that a preset asks for, as `truebed_preset_limits` sets them: where
    /// one of these binds no two points, a verdict is TRUEBED_CANNOT_TELL and no call fails.
    pub by_preset: u32,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_limits {
    const FIRST_SIZE: usize = offset_of!(truebed_limits, by_preset);
}

pub(crate) unsafe fn read_limits(
    limits: &truebed_limits,
    problems: &mut Problems,
) -> Result<Limits, Failure> {
    // SAFETY: the caller's promise.
    let named = unsafe { pointer::array(limits.named, limits.named_count, "limits.named") }?;
    let named = named.iter().enumerate().map(|(at, one)| {
        let (points, field) = (one.points, format!("limits.named[{at}].points"));
        // SAFETY: the caller's promise.
        let points = unsafe { pointer::array(points, one.point_count, &field) }?.to_vec();
        let within = problems.length(one.within_mm, || format!("limits.named[{at}].within"));
        Ok(NamedLimit { points, within })
    });
    let named = named.collect::<Result<_, Failure>>()?;
    let mut unknown = limits.asked;
    let mut read = |name: &str, bit: u32, mm: f64| {
        unknown &= !bit;
        let field = || format!("limits.{name}");
        if limits.asked & bit != 0 {
            return Some(problems.length(mm, field));
        }
        // A limit that the caller thinks to have set must not be dropped in silence.
        if mm != 0.0 {
            problems.value(field(), format!("{mm} mm without its bit"), "its bit in limits.asked");
        }
        None
    };
    let answer = Limits {
        overall: read("overall", TRUEBED_LIMIT_OVERALL, limits.overall_mm),
        along: read("along", TRUEBED_LIMIT_ALONG, limits.along_mm),
        across: read("across", TRUEBED_LIMIT_ACROSS, limits.across_mm),
        joint_step: read("joint_step", TRUEBED_LIMIT_JOINT_STEP, limits.joint_step_mm),
        line_width: read("line_width", TRUEBED_LIMIT_LINE_WIDTH, limits.line_width_mm)
            .unwrap_or(Limits::default().line_width),
        named,
        slope_along_um_per_m: limits.slope_along_um_per_m,
        slope_across_um_per_m: limits.slope_across_um_per_m,
        by_preset: [LimitKind::Overall, LimitKind::Along, LimitKind::Across, LimitKind::JointStep]
            .into_iter()
            .filter(|kind| limits.by_preset & limit_bit(*kind) != 0)
            .collect(),
    };
    if unknown != 0 {
        let got = format!("{:#x}", limits.asked);
        problems.value("limits.asked", got, "TRUEBED_LIMIT_ bits");
    }
    Ok(answer)
}

/// The bit that stands for a limit.
pub(crate) fn limit_bit(limit: LimitKind) -> u32 {
    match limit {
        LimitKind::Overall => TRUEBED_LIMIT_OVERALL,
        LimitKind::Along => TRUEBED_LIMIT_ALONG,
        LimitKind::Across => TRUEBED_LIMIT_ACROSS,
        LimitKind::JointStep => TRUEBED_LIMIT_JOINT_STEP,
        LimitKind::Named => TRUEBED_LIMIT_NAMED,
        // No limit that this header can ask for.
        _ => 0,
    }
}
