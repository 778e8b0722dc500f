//! Lengths, shim problems and covariances.

use truebed::{DecisionRule, Length, Limits, Order, ShimProblem, Status, assess, plan_shims};
use truebed_tests::random::{
    Random, guarded_problem, small_problem, tilted_problem, varied_problem,
};

/// Units, with nanometres in each.
const UNITS: [(&str, i128); 8] = [
    ("nm", 1),
    ("um", 1_000),
    ("mm", 1_000_000),
    ("cm", 10_000_000),
    ("m", 1_000_000_000),
    ("thou", 25_400),
    ("in", 25_400_000),
    ("ft", 304_800_000),
];

/// Whole numbers of every size up to 10^15.
fn whole(random: &mut Random) -> i128 {
    let size = 10_i64.pow(random.between(0, 15) as u32);
    i128::from(random.between(0, size))
}

/// Texts that are lengths are read to the nearest nanometre, or refused because they are too large;
/// other texts never panic. What was read survives being written.
pub(crate) fn lengths(random: &mut Random) {
    for _ in 0..20 {
        let (unit, nm) = UNITS[random.between(0, 7) as usize];
        let (over, under) = (whole(random), whole(random).max(1));
        let text = match random.between(0, 2) {
            0 => format!("{over}/{under} {unit}"),
            1 => format!("-{over}/{under}{unit}"),
            _ => format!("{over} {unit}"),
        };
        let under = if text.contains('/') { under } else { 1 };
        let (text, under) = match random.once_in(4) {
            // So small that it is nothing, and more than fits into twice itself.
            true => {
                let under = 1_i128 << random.between(90, 125);
                (
                    format!(
                        "{}{}/{under} {unit}",
                        if text.starts_with('-') { "-" } else { "" },
                        over
                    ),
                    under,
                )
            }
            false => (text, under),
        };
        let over = if text.starts_with('-') { -over } else { over };
        if let Ok(length) = text.parse::<Length>() {
            let read = i128::from(length.nm());
            let off = read.checked_mul(under).map_or(i128::MAX, |read| read - over * nm);
            assert!(off.abs() <= under - off.abs(), "{text} is read as {read} nm");
            assert_eq!(length.to_string().parse(), Ok(length), "{text}");
        } else {
            let most = i128::from(Length::MAX.nm());
            // Such numbers may be refused, but never a plain one.
            let is_plain = over.abs() < 1_000_000 && under < 1_000_000;
            assert!(!is_plain || (over * nm).abs() > most * under, "{text} is refused");
        }
    }
    const PARTS: [&str; 24] = [
        "1",
        "-",
        "+",
        ".",
        ",",
        "/",
        " ",
        "e",
        "E9",
        "in",
        "mm",
        "'",
        "\"",
        "½",
        "0",
        "99999999999999999999",
        "170141183460469231731687303715884105728",
        "\u{202e}",
        "ft",
        "NaN",
        "inf",
        "µm",
        "thou",
        "\u{0}",
    ];
    for _ in 0..50 {
        let count = random.between(0, 6);
        let text: String = (0..count).map(|_| PARTS[random.between(0, 23) as usize]).collect();
        let read = text.parse::<Length>();
        assert_eq!(read, text.parse::<Length>());
        if let Ok(length) = read {
            assert!(length.nm().unsigned_abs() <= Length::MAX.nm().unsigned_abs(), "{text:?}");
            assert_eq!(length.to_string().parse(), Ok(length), "{text:?}");
        }
    }
}

/// A plan is the same twice; it meets what it says it meets; and supports in another order have a plan
/// that is as good.
pub(crate) fn problems(random: &mut Random) {
    let orders = [Order::FewestPieces, Order::Flattest, Order::FewestLifts, Order::Cheapest];
    let order = orders[random.between(0, 3) as usize];
    let mut problem = match random.between(0, 3) {
        0 => small_problem(random, order),
        1 => varied_problem(random, order),
        2 => tilted_problem(random, order),
        _ => guarded_problem(random, order),
    };
    spoil(&mut problem, random);
    let answer = plan_shims(&problem);
    assert_eq!(answer, plan_shims(&problem));
    assert_eq!(answer.is_err(), problem.check().is_err(), "{problem:?}");
    let Ok(plan) = answer else { return };
    let tops =
        truebed::check(&places(&problem), &plan.tops, &problem.limits, &problem.joints).unwrap();
    assert!(tops.meets_limits || !plan.meets_limits, "{problem:?}");
    let (turned, worst) = (plan_shims(&turned(&problem)).unwrap(), plan.worst_mm());
    if (plan.status, turned.status) == (Status::Proven, Status::Proven) {
        assert_eq!(plan.pieces, turned.pieces, "{problem:?}");
        assert!((worst - turned.worst_mm()).abs() < 1e-9, "{problem:?}");
    }
}

fn places(problem: &ShimProblem) -> Vec<[Length; 2]> {
    problem.supports.iter().map(|support| [support.x, support.y]).collect()
}

/// Puts numbers at the edge into a problem.
fn spoil(problem: &mut ShimProblem, random: &mut Random) {
    let edge = [0, 1, -1, i64::MAX, i64::MIN, Length::MAX.nm(), -Length::MAX.nm(), 1_000_000];
    let length = |random: &mut Random| Length::from_nm(edge[random.between(0, 7) as usize]);
    let (last, kinds) = (problem.supports.len() as i64 - 1, problem.stock.len() as i64 - 1);
    match random.between(0, 11) {
        0 => problem.supports[random.between(0, last) as usize].height = length(random),
        1 => problem.supports[random.between(0, last) as usize].x = length(random),
        2 => problem.stock[random.between(0, kinds) as usize].thickness = length(random),
        3 => problem.stock[random.between(0, kinds) as usize].count = Some(u32::MAX),
        4 => problem.limits.overall = Some(length(random)),
        5 => problem.options.max_stack = Some(length(random)),
        6 => problem.options.max_pieces = Some(u32::MAX),
        7 => problem.stock[random.between(0, kinds) as usize].price = u32::MAX,
        _ => {}
    }
}

/// The same with the supports the other way round.
fn turned(problem: &ShimProblem) -> ShimProblem {
    let mut turned = problem.clone();
    let last = problem.supports.len() - 1;
    turned.supports.reverse();
    for joint in &mut turned.joints {
        *joint = joint.map(|at| last - at);
    }
    for named in &mut turned.limits.named {
        named.points.iter_mut().for_each(|at| *at = last - *at);
    }
    for only in &mut turned.only_under {
        only.supports.iter_mut().for_each(|at| *at = last - *at);
    }
    if let Some(placed) = &mut turned.placed {
        placed.stacks.reverse();
        placed.settings.reverse();
    }
    if let Some(covariance) = &mut turned.covariance_mm2 {
        covariance.reverse();
    }
    turned
}

/// Any covariance is taken or refused; a probability is one, and the same twice.
pub(crate) fn covariances(random: &mut Random) {
    let count = random.between(1, 6) as usize;
    let scale = 10_f64.powi(random.between(-12, 12) as i32);
    let rank = random.between(0, count as i64) as usize;
    let factors: Vec<Vec<f64>> =
        (0..rank).map(|_| (0..count).map(|_| random.normal()).collect()).collect();
    let of = |i: usize, j: usize| factors.iter().map(|it| it[i] * it[j]).sum::<f64>() * scale;
    let mut covariance: Vec<f64> =
        (0..count * count).map(|at| of(at / count, at % count)).collect();
    if random.once_in(3) {
        let bad = [f64::NAN, f64::INFINITY, -1.0, 1e300, scale * 1e-9, -scale * 1e-12];
        let at = random.between(0, (count * count) as i64 - 1) as usize;
        covariance[at] = bad[random.between(0, 5) as usize];
    }
    let heights: Vec<Length> =
        (0..count).map(|_| Length::from_nm(random.between(-100_000, 100_000))).collect();
    let xy: Vec<[Length; 2]> =
        (0..count).map(|at| [Length::from_nm(at as i64 * 500_000_000), Length::ZERO]).collect();
    let mut limits = Limits::overall(Length::from_nm(random.between(0, 200_000)));
    limits.along = random.once_in(2).then(|| Length::from_nm(random.between(0, 100_000)));
    let rules = [
        DecisionRule::Iso14253,
        DecisionRule::GuardBand { risk: 0.2 },
        DecisionRule::SimpleAcceptance,
    ];
    let rule = rules[random.between(0, 2) as usize];
    let assessed = || assess(&xy, &heights, &covariance, &limits, &[], rule);
    // NaN is not equal to itself.
    assert_eq!(format!("{:?}", assessed()), format!("{:?}", assessed()));
    if let Ok(verdict) = assessed() {
        assert!((0.0..=1.0).contains(&verdict.probability), "{verdict:?}");
        assert!(verdict.probability_error >= 0.0, "{verdict:?}");
    }
}
