//! Families beyond plain shims in a first pass, and other questions than the best plan.
//!
//! Each comes in two sorts. One has legs on a floor uneven by chance and a stock measured by its need, as
//! the plain families. The other (`-van`) has slates on a floor that leans and twists, and what is left
//! in a van after a week: kinds worn by a few micrometres, counts by chance, one kind run out; all of
//! it in whole micrometres.

use truebed::{Adjusts, Length, OnlyUnder, Order, Placed, Shim, ShimProblem};
use truebed_tests::random::Random;

use super::{Asks, Family, WIDE};
use crate::floor::Floor;
use crate::kinds::{INCH, MICRON, THOU, counted, need, percent_of_need};

/// ± 64 µm.
const WHOLE: i64 = 64_000;

pub(super) static FAMILIES: [Family; 14] = [
    Family {
        name: "next-pass",
        words: "8 legs, 12 mm, filled from the thickest nine inch kind down and read again 0.4 mm \
                lower to 0.1 mm higher, ±.0025 in, on hand 0.5 × need; fewest lifts, then pieces",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::legs(8).uneven(12, &mut random);
            let on_hand = percent_of_need(&floor, &INCH, 50);
            read_again(floor, on_hand, WIDE, &mut random)
        },
    },
    Family {
        name: "next-pass-van",
        words: "18 points of 3 slates, 3 mm, filled and read again as next-pass, ±64 µm, on hand a \
                van's stock",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let (floor, stock, mut random) = van(seed, 60);
            read_again(floor, stock, WHOLE, &mut random)
        },
    },
    Family {
        name: "feet",
        words: "8 legs, 12 mm in whole µm, ±.001 in, nine inch kinds in whole µm, stock 0.7 × need, \
                and under each leg a foot of 3 to 15 mm in steps of 125 µm",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(8).in_microns(12_000, &mut Random(seed));
            let stock = percent_of_need(&floor, &MICRON, 70);
            let mut problem = floor.problem(stock, THOU);
            problem.stock.push(adjustable([3_000, 15_000, 125], 8));
            problem
        },
    },
    Family {
        name: "feet-van",
        words: "12 points of 3 slates, 8 mm, ±64 µm, a van's stock, and a foot of its own under each: \
                2 to 6 mm in steps of 100 µm at the ends, 1 to 4 mm in steps of 75 µm between",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::slates(2).leaning(8000, &mut random);
            let stock = week_old(&floor, 90, &mut random);
            let mut problem = floor.problem(stock, WHOLE);
            let (ends, between) = ([0, 1, 10, 11].to_vec(), (2..10).collect());
            let feet = [([2_000, 6_000, 100], ends), ([1_000, 4_000, 75], between)];
            for (foot, supports) in feet {
                problem.only_under.push(OnlyUnder { kind: problem.stock.len(), supports });
                problem.stock.push(adjustable(foot, 8));
            }
            problem
        },
    },
    Family {
        name: "wedges-van",
        words: "18 points of 3 slates, 3 mm, ±64 µm, a van's stock, five wedges of 1 to 2 mm in steps \
                of 40 µm and three of 1.6 to 3.1 mm in steps of 70 µm",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let (floor, stock, _) = van(seed, 70);
            let mut problem = floor.problem(stock, WHOLE);
            problem.stock.push(adjustable([1_000, 2_000, 40], 5));
            problem.stock.push(adjustable([1_600, 3_100, 70], 3));
            problem
        },
    },
    Family {
        name: "tilt",
        words: "8 legs, 12 mm, ±.0025 in about a target that may slope by 150 µm/m along and across, \
                nine inch kinds, stock 1.2 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(8).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &INCH, 120);
            sloping(floor.problem(stock, WIDE), [150, 150])
        },
    },
    Family {
        name: "tilt-van",
        words: "18 points of 3 slates, 3 mm, ±64 µm about a target that may slope by 100 µm/m along \
                and 50 across, a van's stock",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let (floor, stock, _) = van(seed, 100);
            sloping(floor.problem(stock, WHOLE), [100, 50])
        },
    },
    Family {
        name: "guard",
        words: "8 legs, 12 mm, ±.0025 in at a risk of 5 % a pair, read from two set-ups, nine inch \
                kinds, stock 1.2 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::legs(8).uneven(12, &mut random);
            let stock = percent_of_need(&floor, &INCH, 120);
            guarded(floor.problem(stock, WIDE), two_set_ups(8, &mut random))
        },
    },
    Family {
        name: "guard-van",
        words: "18 points of 3 slates, 3 mm, ±64 µm at a risk of 5 % a pair, read as a chain of \
                rises, a van's stock",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let (floor, stock, mut random) = van(seed, 100);
            guarded(floor.problem(stock, WHOLE), chain(18, &mut random))
        },
    },
    Family {
        name: "prices-van",
        words: "18 points of 3 slates, 3 mm, ±64 µm, a van's stock at 7 to 397 a piece, by chance; the \
                lowest price first",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let (floor, mut stock, mut random) = van(seed, 100);
            stock.iter_mut().for_each(|shim| shim.price = random.between(7, 397) as u32);
            let mut problem = floor.problem(stock, WHOLE);
            problem.options.order = Order::Cheapest;
            problem
        },
    },
    Family {
        name: "tradeoff",
        words: "8 legs, 12 mm, ±.0025 in, nine inch kinds, stock 1.5 × need: all plans from the fewest \
                pieces to the flattest",
        seeds: 10,
        asks: Asks::Tradeoff,
        problem: |seed| {
            let floor = Floor::legs(8).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &INCH, 150);
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "tradeoff-van",
        words: "12 points of 3 slates, 3 mm, ±64 µm, a van's stock: all plans from the fewest pieces to \
                the flattest",
        seeds: 10,
        asks: Asks::Tradeoff,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::slates(2).leaning(3000, &mut random);
            let stock = week_old(&floor, 100, &mut random);
            floor.problem(stock, WHOLE)
        },
    },
    Family {
        name: "shortfall",
        words: "8 legs, 12 mm in whole µm, ±.0025 in, nine inch kinds in whole µm, stock 0.3 × need: \
                the cheapest addition of the same kinds at 30 to 250 a piece",
        seeds: 10,
        asks: Asks::Shortfall([30, 30, 35, 40, 50, 60, 90, 140, 250]),
        problem: |seed| {
            let floor = Floor::legs(8).in_microns(12_000, &mut Random(seed));
            let stock = percent_of_need(&floor, &MICRON, 30);
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "shortfall-van",
        words: "18 points of 3 slates, 3 mm, ±64 µm, a van's stock that is too small: the cheapest \
                addition of the nine inch kinds in whole µm at 37 to 229 a piece",
        seeds: 10,
        asks: Asks::Shortfall([37, 41, 43, 53, 61, 79, 97, 151, 229]),
        problem: |seed| {
            let (floor, stock, _) = van(seed, 40);
            floor.problem(stock, WHOLE)
        },
    },
];

/// Three slates of six points on a floor that leans and twists by 3 mm, and a van's stock of about so
/// many hundredths of its need.
fn van(seed: u64, percent: i64) -> (Floor, Vec<Shim>, Random) {
    let mut random = Random(seed);
    let floor = Floor::slates(3).leaning(3000, &mut random);
    let stock = week_old(&floor, percent, &mut random);
    (floor, stock, random)
}

/// A stock after a week: of each kind, worn by a few micrometres, by chance two thirds to five thirds of
/// so many hundredths of the need, and a piece or two; one of the kinds has run out.
fn week_old(floor: &Floor, percent: i64, random: &mut Random) -> Vec<Shim> {
    let kinds = MICRON.map(|kind| kind + random.between(-3, 1) * 1000);
    let mut counts: Vec<u32> = need(floor, &kinds)
        .into_iter()
        .map(|need| {
            let part = i64::from(need) * percent * random.between(66, 166) / 10_000;
            (part + random.between(0, 2)) as u32
        })
        .collect();
    counts[random.between(0, 5) as usize] = 0;
    counted(&kinds, &counts)
}

/// So many pieces that can be set from the first to the second thickness in steps of the third, in
/// micrometres.
fn adjustable([least, to, step]: [i64; 3], count: u32) -> Shim {
    let um = |um: i64| Length::from_nm(um * 1000);
    let adjusts = Some(Adjusts { to: um(to), step: um(step) });
    Shim { adjusts, ..Shim::new(um(least), Some(count)) }
}

/// A floor on which each support was filled from the thickest kind down, to what is left below the
/// thinnest, and read again: each stack 400 µm lower to 100 µm higher than it was meant.
fn read_again(
    mut floor: Floor,
    on_hand: Vec<Shim>,
    overall: i64,
    random: &mut Random,
) -> ShimProblem {
    let highest = floor.heights.iter().copied().max().unwrap_or(0);
    let mut placed = Placed::default();
    for height in &mut floor.heights {
        let mut stack = Vec::new();
        for (kind, shim) in on_hand.iter().enumerate().rev() {
            let thickness = shim.thickness.nm();
            let pieces = (highest - *height) / thickness;
            stack.extend(std::iter::repeat_n(kind, pieces as usize));
            *height += pieces * thickness;
        }
        if !stack.is_empty() {
            *height += random.between(-400, 100) * 1000;
        }
        placed.stacks.push(stack);
        placed.settings.push(None);
    }
    let mut problem = floor.problem(on_hand, overall);
    problem.placed = Some(placed);
    problem
}

/// With a target that may slope by so much along and across, µm/m.
fn sloping(mut problem: ShimProblem, [along, across]: [u32; 2]) -> ShimProblem {
    problem.limits.slope_along_um_per_m = along;
    problem.limits.slope_across_um_per_m = across;
    problem
}

/// With guard bands for heights of this covariance, mm².
fn guarded(mut problem: ShimProblem, covariance_mm2: Vec<f64>) -> ShimProblem {
    problem.covariance_mm2 = Some(covariance_mm2);
    problem.options.risk = Some(0.05);
    problem
}

/// Covariance of heights of which each half was read from one set-up: 6 to 12 µm each, and 8 µm that
/// those of a set-up share.
fn two_set_ups(supports: usize, random: &mut Random) -> Vec<f64> {
    let own: Vec<f64> = (0..supports).map(|_| random.between(6, 12) as f64 * 1e-3).collect();
    let of = |a: usize, b: usize| {
        let shared = if a / (supports / 2) == b / (supports / 2) { 8e-3_f64.powi(2) } else { 0.0 };
        shared + if a == b { own[a].powi(2) } else { 0.0 }
    };
    (0..supports * supports).map(|at| of(at / supports, at % supports)).collect()
}

/// Covariance of heights that were carried from each to the next by rises of 2 to 6 µm.
fn chain(supports: usize, random: &mut Random) -> Vec<f64> {
    let mut variances = vec![0.0];
    for at in 1..supports {
        let rise = random.between(2, 6) as f64 * 1e-3;
        variances.push(variances[at - 1] + rise * rise);
    }
    (0..supports * supports).map(|at| variances[(at / supports).min(at % supports)]).collect()
}
