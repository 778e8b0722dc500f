//! What counts as level.

use truebed_core::Limits;

use crate::problems::Problems;

/// Bit of truebed_limits.asked: overall_mm is asked for.
pub const TRUEBED_LIMIT_OVERALL: u32 = 1;
/// Bit of truebed_limits.asked: along_mm is asked for.
pub const TRUEBED_LIMIT_ALONG: u32 = 2;
/// Bit of truebed_limits.asked: across_mm is asked for.
pub const TRUEBED_LIMIT_ACROSS: u32 = 4;
/// Bit of truebed_limits.asked: joint_step_mm is asked for.
pub const TRUEBED_LIMIT_JOINT_STEP: u32 = 8;
/// Bit of truebed_limits.asked: line_width_mm counts instead of 10 mm.
pub const TRUEBED_LIMIT_LINE_WIDTH: u32 = 16;

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
    /// line, mm; 10 mm without its bit.
    pub line_width_mm: f64,
}

pub(crate) fn read_limits(limits: &truebed_limits, problems: &mut Problems) -> Limits {
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
    };
    if unknown != 0 {
        let got = format!("{:#x}", limits.asked);
        problems.value("limits.asked", got, "TRUEBED_LIMIT_ bits");
    }
    answer
}
