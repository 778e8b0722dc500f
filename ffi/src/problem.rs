//! The shim problem.

use truebed_core::{Budget, Order, PlanOptions, Shim, ShimProblem, Support};

use crate::limits::{read_limits, truebed_limits};
use crate::pointer;
use crate::problems::Problems;
use crate::status::{Failure, boundary};

/// Order of goals: fewest pieces, then smallest worst deviation, then fewest kinds.
pub const TRUEBED_ORDER_FEWEST_PIECES: i32 = 0;
/// Order of goals: smallest worst deviation, then fewest pieces, then fewest kinds.
pub const TRUEBED_ORDER_FLATTEST: i32 = 1;
/// Order of goals: fewest supports lifted, then fewest pieces, then smallest worst deviation, then
/// fewest kinds.
pub const TRUEBED_ORDER_FEWEST_LIFTS: i32 = 2;
/// Order of goals: lowest total price, then fewest pieces, then smallest worst deviation, then
/// fewest kinds.
pub const TRUEBED_ORDER_CHEAPEST: i32 = 3;

/// A stock count that stands for as many as it takes.
pub const TRUEBED_UNLIMITED: i64 = -1;

/// A support: where it stands in plan and how high it reaches without a shim.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_support {
    /// Position along the bed, mm.
    pub x_mm: f64,
    /// Position across the bed, mm.
    pub y_mm: f64,
    /// Height, positive upwards, mm.
    pub height_mm: f64,
}

/// One kind of shim.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_shim {
    /// Thickness of one piece: above 0 mm, at most 1000 mm.
    pub thickness_mm: f64,
    /// Pieces on hand, or TRUEBED_UNLIMITED.
    pub count: i64,
    /// Price or weight of one piece, in whole units of the smallest kind that matters, at most
    /// 1000000; what TRUEBED_ORDER_CHEAPEST adds up.
    pub price: u32,
}

/// Two supports, by index, on the two sides of a slate joint.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_joint {
    /// One side.
    pub a: usize,
    /// The other side.
    pub b: usize,
}

/// How to choose a plan; `truebed_plan_options_init` fills in the defaults.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_plan_options {
    /// sizeof(truebed_plan_options), set by the caller.
    pub struct_size: usize,
    /// The order of goals, a TRUEBED_ORDER_ number; TRUEBED_ORDER_FEWEST_PIECES by default.
    pub order: i32,
    /// 1 (the default): a support that stands highest stays bare; 0: it may be lifted. At least
    /// one support stays bare in any case.
    pub keep_highest: i32,
    /// The most pieces under one support; 0 (the default) for no such limit.
    pub max_pieces: u32,
    /// The thickest stack under one support, mm; 0 (the default) for no such limit.
    pub max_stack_mm: f64,
    /// The most search nodes; 0 (the default) for the library's own number. The same number gives
    /// the same plan on every machine.
    pub budget_nodes: u64,
    /// The longest time, ms; 0 (the default) for none. Where the clock stops the search depends
    /// on the machine.
    pub budget_time_ms: u64,
}

/// All that `truebed_plan_shims` is asked.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_problem {
    /// sizeof(truebed_problem), set by the caller.
    pub struct_size: usize,
    /// The supports.
    pub supports: *const truebed_support,
    /// How many supports.
    pub support_count: usize,
    /// The shims on hand, shared by all supports.
    pub stock: *const truebed_shim,
    /// How many kinds of shim.
    pub stock_count: usize,
    /// What counts as level.
    pub limits: *const truebed_limits,
    /// The slate joints; NULL for none.
    pub joints: *const truebed_joint,
    /// How many joints.
    pub joint_count: usize,
    /// How to choose; NULL for the defaults.
    pub options: *const truebed_plan_options,
}

/// Fills `*options` with the defaults. `struct_size` is sizeof(truebed_plan_options), so that a
/// library with larger options than the caller's never writes behind them.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_options_init(
    options: *mut truebed_plan_options,
    struct_size: usize,
) -> i32 {
    boundary(|| {
        let options = pointer::out(options, "options")?;
        pointer::known_size::<truebed_plan_options>(struct_size, "options")?;
        let defaults = truebed_plan_options {
            struct_size,
            order: TRUEBED_ORDER_FEWEST_PIECES,
            keep_highest: 1,
            max_pieces: 0,
            max_stack_mm: 0.0,
            budget_nodes: 0,
            budget_time_ms: 0,
        };
        // SAFETY: the caller's promise: valid for writes of `struct_size` bytes.
        unsafe { options.write(defaults) };
        Ok(())
    })
}

pub(crate) unsafe fn read_problem(problem: *const truebed_problem) -> Result<ShimProblem, Failure> {
    // SAFETY: the caller's promise.
    unsafe {
        pointer::check_size(problem, "problem")?;
        read_fields(pointer::reference(problem, "problem")?)
    }
}

/// Reads one of many problems and names it in whatever is wrong with it, which is more than
/// reading finds: a call for many is to fail before the first of them is solved.
pub(crate) unsafe fn read_problem_of_many(
    problem: *const truebed_problem,
    at: usize,
) -> Result<ShimProblem, Failure> {
    let name = format!("problems[{at}]");
    // SAFETY: the caller's promise.
    let problem = unsafe {
        pointer::check_size(problem, &name)?;
        pointer::reference(problem, &name)?
    };
    // SAFETY: the caller's promise.
    let read = unsafe { read_fields(problem) };
    read.and_then(|problem| {
        problem.check()?;
        Ok(problem)
    })
    .map_err(|failure| failure.within(&name))
}

unsafe fn read_fields(problem: &truebed_problem) -> Result<ShimProblem, Failure> {
    // SAFETY: the caller's promise, for all that the problem points to.
    let (supports, stock, limits, joints, options) = unsafe {
        pointer::check_size(problem.limits, "limits")?;
        if !problem.options.is_null() {
            pointer::check_size(problem.options, "options")?;
        }
        (
            pointer::array(problem.supports, problem.support_count, "supports")?,
            pointer::array(problem.stock, problem.stock_count, "stock")?,
            pointer::reference(problem.limits, "limits")?,
            pointer::array(problem.joints, problem.joint_count, "joints")?,
            problem.options.as_ref(),
        )
    };
    let mut problems = Problems::default();
    let problem = ShimProblem {
        supports: (0..)
            .zip(supports)
            .map(|(at, one)| read_support(at, one, &mut problems))
            .collect(),
        stock: (0..).zip(stock).map(|(at, one)| read_shim(at, one, &mut problems)).collect(),
        limits: read_limits(limits, &mut problems),
        joints: joints.iter().map(|joint| [joint.a, joint.b]).collect(),
        options: options.map(|options| read_options(options, &mut problems)).unwrap_or_default(),
    };
    problems.finish()?;
    Ok(problem)
}

fn read_support(at: usize, support: &truebed_support, problems: &mut Problems) -> Support {
    let mut read = |name, mm| problems.length(mm, || format!("supports[{at}].{name}"));
    Support {
        x: read("x", support.x_mm),
        y: read("y", support.y_mm),
        height: read("height", support.height_mm),
    }
}

fn read_shim(at: usize, shim: &truebed_shim, problems: &mut Problems) -> Shim {
    let thickness = problems.length(shim.thickness_mm, || format!("stock[{at}].thickness"));
    let count = match shim.count {
        TRUEBED_UNLIMITED => None,
        count => Some(u32::try_from(count).unwrap_or_else(|_| {
            let expected = format!("0 to {}, or TRUEBED_UNLIMITED", u32::MAX);
            problems.value(format!("stock[{at}].count"), count, expected);
            0
        })),
    };
    Shim { thickness, count, price: shim.price }
}

fn read_options(options: &truebed_plan_options, problems: &mut Problems) -> PlanOptions {
    let order = match options.order {
        TRUEBED_ORDER_FEWEST_PIECES => Order::FewestPieces,
        TRUEBED_ORDER_FLATTEST => Order::Flattest,
        TRUEBED_ORDER_FEWEST_LIFTS => Order::FewestLifts,
        TRUEBED_ORDER_CHEAPEST => Order::Cheapest,
        order => {
            problems.value("order", order, "a TRUEBED_ORDER_ number");
            Order::default()
        }
    };
    if !matches!(options.keep_highest, 0 | 1) {
        problems.value("keep_highest", options.keep_highest, "0 or 1");
    }
    let max_stack = problems.length(options.max_stack_mm, || "max_stack".to_owned());
    let nodes = match options.budget_nodes {
        0 => Budget::default().nodes,
        nodes => nodes,
    };
    PlanOptions {
        order,
        keep_highest: options.keep_highest == 1,
        max_pieces: (options.max_pieces > 0).then_some(options.max_pieces),
        max_stack: (options.max_stack_mm != 0.0).then_some(max_stack),
        budget: Budget {
            nodes,
            time_ms: (options.budget_time_ms > 0).then_some(options.budget_time_ms),
        },
    }
}
