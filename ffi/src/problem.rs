//! Problems: supports, stock, limits and options, to be planned.

use std::ffi::c_char;
use std::mem::offset_of;

use truebed_core::{
    Adjusts, Budget, Length, OnlyUnder, Order, Placed, PlanOptions, RiskOf, Shim, ShimProblem,
    Support,
};

use crate::heights::truebed_heights;
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
    /// What is left of the thickness under load, from 0.5 to 1; 0 stands for 1.
    pub loaded_factor: f64,
    /// For an adjustable piece, of which a stack has at most one (a tapered wedge, a screw foot):
    /// its greatest thickness, mm, thickness_mm being the least; 0 for a plain shim.
    pub adjusts_to_mm: f64,
    /// Its smallest step, mm: above 0, and a millionth of the range or more; 0 for a plain shim.
    pub adjusts_step_mm: f64,
}

/// A kind that may go under some supports only.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_only_under {
    /// The kind, by its index in the stock.
    pub kind: usize,
    /// The supports by index.
    pub supports: *const usize,
    /// Their number.
    pub support_count: usize,
}

/// The stacks that are in place. The heights of the supports are then those of the tops as they
/// stand, and pieces in place are no longer among those on hand; what a plan takes out goes back to
/// the stock.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_placed {
    /// sizeof(truebed_placed), set by the caller.
    pub struct_size: usize,
    /// The pieces, by their index in the stock: those under the first support, then those under the
    /// second, and so on.
    pub pieces: *const usize,
    /// The number of pieces in all.
    pub piece_count: usize,
    /// The number of pieces under each support, one value for each support.
    pub stack_sizes: *const usize,
    /// The thickness at which the adjustable piece under each support is set, mm, 0 where there is
    /// none; NULL where there is none at all.
    pub settings_mm: *const f64,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_placed {}

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
    /// The risk at which every limit is guarded, above 0 and below 0.5: a difference of tops that the
    /// plan foresees is within its limit with a probability of at least one less this, by the
    /// covariance in the problem. 0 (the default) for no guard bands.
    pub risk: f64,
    /// What the risk is one of, a TRUEBED_RISK_OF_ number: each difference of tops by itself
    /// (TRUEBED_RISK_OF_EACH, the default) or all limits together (TRUEBED_RISK_OF_ALL).
    pub risk_of: i32,
    /// What the counts of the stock are where stacks are in place, a TRUEBED_STOCK_ number: what is
    /// left on hand (TRUEBED_STOCK_LEFT, the default) or the whole stock, the pieces in place among
    /// it (TRUEBED_STOCK_WHOLE).
    pub stock_is: i32,
}

/// The risk is one of each difference of tops by itself; all limits together are met less often.
pub const TRUEBED_RISK_OF_EACH: i32 = 0;
/// The risk is one of all limits together. Where the plan is not proven to be the best of such plans,
/// its status is TRUEBED_PLAN_BUDGET.
pub const TRUEBED_RISK_OF_ALL: i32 = 1;

/// The counts of the stock are what is left on hand beside the pieces in place.
pub const TRUEBED_STOCK_LEFT: i32 = 0;
/// The counts of the stock are all there are, the pieces in place among them.
pub const TRUEBED_STOCK_WHOLE: i32 = 1;

// SAFETY: `repr(C)`, the size first, then plain numbers.
unsafe impl pointer::Grows for truebed_plan_options {
    const FIRST_SIZE: usize = offset_of!(truebed_plan_options, risk);
}

/// All that `truebed_plan_shims` is asked.
#[repr(C)]
#[derive(Clone, Copy)]
pub struct truebed_problem {
    /// sizeof(truebed_problem), set by the caller.
    pub struct_size: usize,
    /// The supports.
    pub supports: *const truebed_support,
    /// The number of supports.
    pub support_count: usize,
    /// The shims on hand, shared by all supports.
    pub stock: *const truebed_shim,
    /// The number of kinds of shim.
    pub stock_count: usize,
    /// What counts as level.
    pub limits: *const truebed_limits,
    /// The slate joints; NULL for none.
    pub joints: *const truebed_joint,
    /// The number of joints.
    pub joint_count: usize,
    /// How to choose; NULL for the defaults.
    pub options: *const truebed_plan_options,
    /// The stacks in place; NULL in a first pass.
    pub placed: *const truebed_placed,
    /// Kinds that may go under some supports only; NULL for none.
    pub only_under: *const truebed_only_under,
    /// Their number.
    pub only_under_count: usize,
    /// Covariance of the heights of the supports, mm², support_count * support_count values row by
    /// row, as from `truebed_heights_covariance_mm2`; NULL where it is not known.
    pub covariance_mm2: *const f64,
    /// Standard uncertainty of the thickness of a piece of each kind, mm, by which pieces of one kind
    /// differ from each other: stock_count values; NULL for none.
    pub stock_sigmas_mm: *const f64,
    /// Standard uncertainty of the thickness, mm, that all pieces of a kind share, as those from one
    /// mislabelled tin do: stock_count values; NULL for none.
    pub stock_common_sigmas_mm: *const f64,
    /// The name of each kind of shim, UTF-8 and ended by NUL, shown wherever a piece is: stock_count
    /// pointers, each NULL where its kind has none; NULL for none at all.
    pub stock_names: *const *const c_char,
    /// The survey that the heights come from, or NULL. The verdict that a plan foresees is
    /// TRUEBED_CANNOT_TELL where its readings contradict each other or where it would be a guess.
    pub survey: *const truebed_heights,
}

// SAFETY: `repr(C)`, the size first, then plain numbers and pointers.
unsafe impl pointer::Grows for truebed_problem {
    const FIRST_SIZE: usize = offset_of!(truebed_problem, covariance_mm2);
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
            risk: 0.0,
            risk_of: TRUEBED_RISK_OF_EACH,
            stock_is: TRUEBED_STOCK_LEFT,
        };
        // SAFETY: the caller's promise: valid for writes of `struct_size` bytes.
        unsafe { pointer::put(options.as_ptr(), struct_size, defaults) };
        Ok(())
    })
}

pub(crate) unsafe fn read_problem(problem: *const truebed_problem) -> Result<ShimProblem, Failure> {
    // SAFETY: the caller's promise.
    unsafe { read_fields(&pointer::grown(problem, "problem")?) }
}

/// Reads one of many problems and names it in whatever is wrong with it, which is more than
/// reading finds: a call for many is to fail before the first of them is solved.
pub(crate) unsafe fn read_problem_of_many(
    problem: *const truebed_problem,
    at: usize,
) -> Result<ShimProblem, Failure> {
    let name = format!("problems[{at}]");
    // SAFETY: the caller's promise.
    let problem = unsafe { pointer::grown(problem, &name) }?;
    // SAFETY: the caller's promise.
    let read = unsafe { read_fields(&problem) };
    read.and_then(|problem| {
        problem.check()?;
        Ok(problem)
    })
    .map_err(|failure| failure.within(&name))
}

unsafe fn read_fields(problem: &truebed_problem) -> Result<ShimProblem, Failure> {
    // SAFETY: the caller's promise, for all that the problem points to.
    let [sigmas, common_sigmas] = unsafe {
        let values = |values, name| pointer::array_or_null(values, problem.stock_count, name);
        [
            values(problem.stock_sigmas_mm, "stock_sigmas_mm")?,
            values(problem.stock_common_sigmas_mm, "stock_common_sigmas_mm")?,
        ]
    };
    // SAFETY: the caller's promise, for all that the problem points to.
    let (limits, options, placed, supports, stock, joints, only_under, covariance) = unsafe {
        (
            pointer::grown(problem.limits, "limits")?,
            pointer::grown_or_null(problem.options, "options")?,
            pointer::grown_or_null(problem.placed, "placed")?,
            pointer::array(problem.supports, problem.support_count, "supports")?,
            pointer::array(problem.stock, problem.stock_count, "stock")?,
            pointer::array(problem.joints, problem.joint_count, "joints")?,
            pointer::array(problem.only_under, problem.only_under_count, "only_under")?,
            pointer::array_or_null(
                problem.covariance_mm2,
                // What overflows is more than any array has.
                problem.support_count.saturating_mul(problem.support_count),
                "covariance_mm2",
            )?,
        )
    };
    let only_under = only_under.iter().enumerate().map(|(at, one)| {
        let field = format!("only_under[{at}].supports");
        // SAFETY: the caller's promise.
        let under = unsafe { pointer::array(one.supports, one.support_count, &field) }?;
        Ok(OnlyUnder { kind: one.kind, supports: under.to_vec() })
    });
    let mut problems = Problems::default();
    let supports: Vec<Support> =
        (0..).zip(supports).map(|(at, one)| read_support(at, one, &mut problems)).collect();
    let mut stock = read_stock(stock, "stock", &mut problems);
    for (at, (shim, &mm)) in stock.iter_mut().zip(sigmas.unwrap_or_default()).enumerate() {
        shim.sigma = problems.length(mm, || format!("stock[{at}].sigma"));
    }
    for (at, (shim, &mm)) in stock.iter_mut().zip(common_sigmas.unwrap_or_default()).enumerate() {
        shim.common_sigma = problems.length(mm, || format!("stock[{at}].common_sigma"));
    }
    // SAFETY: the caller's promise.
    let names =
        unsafe { pointer::array_or_null(problem.stock_names, problem.stock_count, "stock_names")? };
    for (at, (shim, &name)) in stock.iter_mut().zip(names.unwrap_or_default()).enumerate() {
        if !name.is_null() {
            // SAFETY: the caller's promise.
            shim.name = unsafe { pointer::terminated(name, &format!("stock_names[{at}]")) }?.into();
        }
    }
    let is_whole = match options.as_ref().map_or(TRUEBED_STOCK_LEFT, |options| options.stock_is) {
        TRUEBED_STOCK_LEFT => false,
        TRUEBED_STOCK_WHOLE => true,
        other => {
            problems.value("stock_is", other, "a TRUEBED_STOCK_ number");
            false
        }
    };
    let mut problem = ShimProblem {
        // SAFETY: the caller's promise.
        limits: unsafe { read_limits(&limits, &mut problems) }?,
        joints: joints.iter().map(|joint| [joint.a, joint.b]).collect(),
        only_under: only_under.collect::<Result<_, Failure>>()?,
        placed: placed
            // SAFETY: the caller's promise, for what it points to.
            .map(|placed| unsafe { read_placed(&placed, problem.support_count, &mut problems) })
            .transpose()?,
        covariance_mm2: covariance.map(<[f64]>::to_vec),
        // SAFETY: the caller's promise: NULL or heights that are not freed yet.
        self_check: unsafe { problem.survey.as_ref() }
            .map(|survey| survey.heights.self_check())
            .unwrap_or_default(),
        options: options.map(|options| read_options(&options, &mut problems)).unwrap_or_default(),
        supports,
        stock,
    };
    problems.spare(&mut problem.limits);
    problems.finish_with(|| problem.check())?;
    if let (true, Some(placed)) = (is_whole, &problem.placed) {
        problem.stock = placed.left_of(&problem.stock)?;
    }
    Ok(problem)
}

fn read_support(at: usize, support: &truebed_support, problems: &mut Problems) -> Support {
    let mut place = |name, mm| problems.coordinate(mm, || format!("supports[{at}].{name}"));
    Support {
        x: place("x", support.x_mm),
        y: place("y", support.y_mm),
        height: problems.length(support.height_mm, || format!("supports[{at}].height")),
    }
}

pub(crate) fn read_stock(stock: &[truebed_shim], name: &str, problems: &mut Problems) -> Vec<Shim> {
    (0..).zip(stock).map(|(at, one)| read_shim(&format!("{name}[{at}]"), one, problems)).collect()
}

fn read_shim(name: &str, shim: &truebed_shim, problems: &mut Problems) -> Shim {
    let mut length = |mm, field: &str| problems.length(mm, || format!("{name}.{field}"));
    let thickness = length(shim.thickness_mm, "thickness");
    let adjusts = Adjusts {
        to: length(shim.adjusts_to_mm, "adjusts.to"),
        step: length(shim.adjusts_step_mm, "adjusts.step"),
    };
    let plain = adjusts == Adjusts { to: Length::ZERO, step: Length::ZERO };
    let count = match shim.count {
        TRUEBED_UNLIMITED => None,
        count => Some(u32::try_from(count).unwrap_or_else(|_| {
            let expected = format!("0 to {}, or TRUEBED_UNLIMITED", u32::MAX);
            problems.value(format!("{name}.count"), count, expected);
            0
        })),
    };
    let loaded_factor = if shim.loaded_factor == 0.0 { 1.0 } else { shim.loaded_factor };
    let adjusts = (!plain).then_some(adjusts);
    Shim { price: shim.price, loaded_factor, adjusts, ..Shim::new(thickness, count) }
}

unsafe fn read_placed(
    placed: &truebed_placed,
    supports: usize,
    problems: &mut Problems,
) -> Result<Placed, Failure> {
    // SAFETY: the caller's promise.
    let (pieces, sizes, settings) = unsafe {
        let settings = pointer::array_or_null(placed.settings_mm, supports, "placed.settings_mm")?;
        (
            pointer::array(placed.pieces, placed.piece_count, "placed.pieces")?,
            pointer::array(placed.stack_sizes, supports, "placed.stack_sizes")?,
            settings,
        )
    };
    let mut rest = pieces;
    let mut stacks = Vec::with_capacity(supports);
    for &size in sizes {
        let (stack, after) = rest.split_at(size.min(rest.len()));
        stacks.push(stack.to_vec());
        rest = after;
    }
    let all = sizes.iter().fold(0_usize, |sum, &size| sum.saturating_add(size));
    if all != pieces.len() {
        let expected = format!("sizes that add up to the {} pieces", pieces.len());
        problems.value("placed.stack_sizes", all, expected);
    }
    let mut setting = |(at, &mm): (usize, &f64)| {
        let setting = problems.length(mm, || format!("placed[{at}].setting"));
        (setting != Length::ZERO).then_some(setting)
    };
    let mut settings: Vec<_> =
        settings.unwrap_or_default().iter().enumerate().map(&mut setting).collect();
    settings.resize(supports, None);
    Ok(Placed { stacks, settings })
}

pub(crate) fn read_options(options: &truebed_plan_options, problems: &mut Problems) -> PlanOptions {
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
    let risk_of = match options.risk_of {
        TRUEBED_RISK_OF_EACH => RiskOf::Each,
        TRUEBED_RISK_OF_ALL => RiskOf::All,
        other => {
            problems.value("risk_of", other, "a TRUEBED_RISK_OF_ number");
            RiskOf::default()
        }
    };
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
        risk: (options.risk != 0.0).then_some(options.risk),
        risk_of,
        budget: Budget {
            nodes,
            time_ms: (options.budget_time_ms > 0).then_some(options.budget_time_ms),
        },
    }
}
