//! Families of instances.

mod beyond;

use truebed::{Adjusts, Length, Order, Shim, ShimProblem};
use truebed_tests::random::Random;

use crate::floor::{Floor, MM};
use crate::kinds::{
    INCH, MICRON, NEAR_EQUAL, PRIMES, THOU, counted, need, percent_of_need, unlimited,
};

/// ± .0025 in.
const WIDE: i64 = 5 * THOU / 2;

/// Problems of one sort, told apart by a seed.
///
/// Heights are uniform in whole nanometres unless told, and the highest support stays bare.
#[derive(Debug, Clone, Copy)]
pub struct Family {
    /// The name by which it is chosen.
    pub name: &'static str,
    /// What its instances are.
    pub words: &'static str,
    /// Its seeds are 1 to this.
    pub seeds: u64,
    /// What is asked of the problem.
    pub asks: Asks,
    /// The problem of a seed.
    pub problem: fn(u64) -> ShimProblem,
}

/// What is asked of a problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asks {
    /// The best plan.
    Plan,
    /// All plans between the fewest pieces and the flattest.
    Tradeoff,
    /// Why there is no plan, and the cheapest addition from a catalogue of the nine inch kinds at these
    /// prices.
    Shortfall([u32; 9]),
}

impl Family {
    /// The family of this name.
    pub fn named(name: &str) -> Option<&'static Self> {
        Self::all().find(|family| family.name == name)
    }

    /// All families: those of plain shims in a first pass, then what is more than that.
    pub fn all() -> impl Iterator<Item = &'static Self> {
        PLAIN.iter().chain(&beyond::FAMILIES)
    }
}

/// Plain shims in a first pass: families of tables first, then the ones made to be hard, then the large
/// ones.
static PLAIN: [Family; 29] = [
    Family {
        name: "legs4",
        words: "4 legs, 12 mm, ±.0025 in, nine inch kinds, stock 1.5 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(4).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &INCH, 150);
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "legs8",
        words: "8 legs, 12 mm, ±.0025 in, nine inch kinds, stock 1.0, 1.1, 1.2 × need in turn",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(8).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &INCH, in_turn(seed, [100, 110, 120]));
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "slates18",
        words: "3 slates of 6 points, 2 mm, ±.0025 in, nine inch kinds, stock 1.0, 1.25, 1.5 × \
                need in turn",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::slates(3).uneven(2, &mut Random(seed));
            let stock = percent_of_need(&floor, &INCH, in_turn(seed, [100, 125, 150]));
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "slates24",
        words: "3 slates of 8 points, 3 mm, ±.001 in, nine inch kinds, stock 1.2 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| slates24(seed, 120),
    },
    Family {
        name: "slates24-scarce",
        words: "3 slates of 8 points, 3 mm, ±.001 in, nine inch kinds, stock 1.0 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| slates24(seed, 100),
    },
    Family {
        name: "joints24",
        words: "3 slates of 8 points, 2 mm, ±.0025 in overall, ±.002 in along, ±.0015 in across, \
                joints .002 in, nine inch kinds, stock 1.5 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| joints24(seed, 150),
    },
    Family {
        name: "joints24-short",
        words: "as joints24, stock 0.8 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| joints24(seed, 80),
    },
    Family {
        name: "stage24",
        words: "3 slates of 8 points, 2 mm in whole µm, ±64 µm overall, ±51 along, ±38 across, \
                joints 51, nine inch kinds in whole µm, at most 8 pieces a stack, stock 1.5 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| stage24(seed, |need| (need * 3).div_ceil(2)),
    },
    Family {
        name: "stage24-scarce",
        words: "as stage24, stock 1.0 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| stage24(seed, |need| need),
    },
    Family {
        name: "stage24-used",
        words: "as stage24, but a floor that leans and twists, and a used stock: by chance 0.7 to \
                1.6 × need of each kind",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::slates(4).leaning(2000, &mut random);
            let used = need(&floor, &MICRON);
            let used = used.iter().map(|&need| need * random.between(70, 160) as u32 / 100);
            stage(floor, &used.collect::<Vec<_>>())
        },
    },
    Family {
        name: "stage24-short",
        words: "as stage24, stock 0.8 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| stage24(seed, |need| need * 4 / 5),
    },
    Family {
        name: "stage24-hair",
        words: "as stage24, stock 0.95 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| stage24(seed, |need| need * 19 / 20),
    },
    Family {
        name: "stage24-just",
        words: "as stage24, but a floor that leans and twists, and a stock of just the pieces of a \
                hidden plan",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| hidden_stage(seed, 0),
    },
    Family {
        name: "stage24-piece",
        words: "as stage24-just, less one piece of the thickest",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| hidden_stage(seed, 1),
    },
    Family {
        name: "prices",
        words: "8 legs, 12 mm, ±.0025 in, nine inch kinds at 20 to 400 a piece, by chance, stock \
                1.2 × need; the lowest price first",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::legs(8).uneven(12, &mut random);
            let stock = percent_of_need(&floor, &INCH, 120);
            let mut problem = floor.problem(stock, WIDE);
            for shim in &mut problem.stock {
                shim.price = random.between(1, 20) as u32 * 20;
            }
            problem.options.order = Order::Cheapest;
            problem
        },
    },
    Family {
        name: "wedges",
        words: "8 legs, 12 mm in whole µm, ±.0025 in, nine inch kinds in whole µm, stock 0.5 × need, \
                and eight wedges of 6 to 12 mm in steps of 50 µm",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(8).in_microns(12_000, &mut Random(seed));
            let stock = percent_of_need(&floor, &MICRON, 50);
            let mut problem = floor.problem(stock, WIDE);
            let mut wedge = Shim::new(Length::from_nm(6_000_000), Some(8));
            let (to, step) = (Length::from_nm(12_000_000), Length::from_nm(50_000));
            wedge.adjusts = Some(Adjusts { to, step });
            problem.stock.push(wedge);
            problem
        },
    },
    Family {
        name: "stage60",
        words: "6 slates of 10 points, otherwise as stage24, stock 1.2 × need",
        seeds: 4,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::row_of_slates(6, 5).in_microns(2000, &mut Random(seed));
            let counts: Vec<u32> =
                need(&floor, &MICRON).iter().map(|need| (need * 6).div_ceil(5)).collect();
            stage(floor, &counts)
        },
    },
    Family {
        name: "near-equal",
        words: "8 legs, 12 mm, ±.0025 in, .25 mm, .010 in, .26 mm, .5 mm, .020 in, 1 mm and \
                .040 in, stock 2, 4, 8 × need in turn",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(8).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &NEAR_EQUAL, in_turn(seed, [200, 400, 800]));
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "primes",
        words: "8 legs, 12 mm, ±.0025 in, 53, 101, 211, 503, 1009 and 2003 µm, stock 1.2 × need",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::legs(8).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &PRIMES, 120);
            floor.problem(stock, WIDE)
        },
    },
    Family {
        name: "one-way",
        words: "6 legs on hidden stacks of 1 to 5 pieces of the prime kinds, tolerance zero, stock \
                of just those pieces",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| hidden_plan(seed, &PRIMES),
    },
    Family {
        name: "packing",
        words: "as one-way, of the nine inch kinds: many stacks are equally thick, yet every piece \
                has to be used",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| hidden_plan(seed, &INCH),
    },
    Family {
        name: "grid",
        words: "8 legs at whole thousandths of an inch down to .472, tolerance zero, nine inch \
                kinds, 12 and 40 of each in turn",
        seeds: 10,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            // Nothing closes a gap of .001 in.
            let mut heights: Vec<i64> = (1..8).map(|_| random.between(-472, -2) * THOU).collect();
            heights.push(0);
            let each = if seed % 2 == 1 { 12 } else { 40 };
            Floor::legs(8).with_heights(heights).problem(counted(&INCH, &[each; 9]), 0)
        },
    },
    Family {
        name: "flat8",
        words: "8 legs, 12 mm, nine inch kinds, stock 0.5, 0.8, 0.95 × need in turn; the flattest plan",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| flattest(Floor::legs(8), 12, seed),
    },
    Family {
        name: "flat12",
        words: "as flat8, 12 legs",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| flattest(Floor::legs(12), 12, seed),
    },
    Family {
        name: "flat18",
        words: "as flat8, 3 slates of 6 points, 2 mm",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| flattest(Floor::slates(3), 2, seed),
    },
    Family {
        name: "flat24",
        words: "as flat8, 3 slates of 8 points, 3 mm",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| flattest(Floor::slates(4), 3, seed),
    },
    Family {
        name: "flat24-used",
        words: "3 slates of 8 points, 2 mm in whole µm, nine inch kinds in whole µm, a used stock: by \
                chance 0.3 to 1 × need of each kind; the flattest plan",
        seeds: 12,
        asks: Asks::Plan,
        problem: |seed| {
            let mut random = Random(seed);
            let floor = Floor::slates(4).in_microns(2000, &mut random);
            let used = need(&floor, &MICRON);
            let used = used.iter().map(|&need| need * random.between(30, 100) as u32 / 100);
            let stock = counted(&MICRON, &used.collect::<Vec<_>>());
            flattest_of(floor, stock, 2)
        },
    },
    Family {
        name: "growth",
        words: "100, 1000, 10000, 100000 supports, 12 mm, ±.0025 in, nine inch kinds, as many as \
                it takes",
        seeds: 4,
        asks: Asks::Plan,
        problem: |seed| {
            let count = 10_i64.pow(seed as u32 + 1);
            let floor = Floor::field(count).uneven(12, &mut Random(seed));
            floor.problem(unlimited(&INCH), WIDE)
        },
    },
    Family {
        name: "crowd",
        words: "1000 supports, 12 mm, ±.0025 in, nine inch kinds, stock 1.2 × need",
        seeds: 2,
        asks: Asks::Plan,
        problem: |seed| {
            let floor = Floor::field(1000).uneven(12, &mut Random(seed));
            let stock = percent_of_need(&floor, &INCH, 120);
            floor.problem(stock, WIDE)
        },
    },
];

fn in_turn(seed: u64, percents: [u32; 3]) -> u32 {
    percents[(seed as usize + 2) % 3]
}

fn slates24(seed: u64, percent: u32) -> ShimProblem {
    let floor = Floor::slates(4).uneven(3, &mut Random(seed));
    let stock = percent_of_need(&floor, &INCH, percent);
    floor.problem(stock, THOU)
}

fn joints24(seed: u64, percent: u32) -> ShimProblem {
    let floor = Floor::slates(4).uneven(2, &mut Random(seed));
    let stock = percent_of_need(&floor, &INCH, percent);
    let mut problem = floor.problem(stock, WIDE);
    problem.limits.along = Some(Length::from_nm(2 * THOU));
    problem.limits.across = Some(Length::from_nm(3 * THOU / 2));
    problem.limits.joint_step = Some(Length::from_nm(2 * THOU));
    problem.joints = Floor::joints(4);
    problem
}

/// A stage of slates on a floor in whole micrometres, with a count of each kind from its need.
fn stage24(seed: u64, count: fn(u32) -> u32) -> ShimProblem {
    let floor = Floor::slates(4).in_microns(2000, &mut Random(seed));
    let counts: Vec<u32> = need(&floor, &MICRON).into_iter().map(count).collect();
    stage(floor, &counts)
}

/// Slates with lines and joints, all of it in whole micrometres: so tops coincide as they do in
/// practice, where gauges and shims are rounded.
fn stage(floor: Floor, counts: &[u32]) -> ShimProblem {
    let columns = floor.xy.chunk_by(|a, b| a[0] == b[0]).count();
    let joints = Floor::joints_of(columns / 2, floor.xy.len() / columns);
    let mut problem = floor.problem(counted(&MICRON, counts), 64_000);
    problem.limits.along = Some(Length::from_nm(51_000));
    problem.limits.across = Some(Length::from_nm(38_000));
    problem.limits.joint_step = Some(Length::from_nm(51_000));
    problem.joints = joints;
    problem.options.max_pieces = Some(8);
    problem
}

/// A stage of slates that hidden stacks, each from the thickest kind down, bring to within 25 µm below
/// the highest support. The stock is just their pieces, less so many of the thickest.
fn hidden_stage(seed: u64, less: u32) -> ShimProblem {
    let mut random = Random(seed);
    let mut floor = Floor::slates(4).leaning(2000, &mut random);
    let highest = floor.heights.iter().copied().max().unwrap_or(0);
    let mut counts = [0; MICRON.len()];
    for height in floor.heights.iter_mut().filter(|height| **height < highest) {
        let mut gap = highest - *height;
        for (count, kind) in counts.iter_mut().zip(MICRON).rev() {
            *count += (gap / kind) as u32;
            gap %= kind;
        }
        *height += gap - random.between(1, 25) * 1000;
    }
    if let Some(thickest) = counts.iter_mut().rev().find(|count| **count > 0) {
        *thickest -= less;
    }
    stage(floor, &counts)
}

/// The flattest plan of a floor so many mm uneven, from a part of its need.
fn flattest(floor: Floor, depth: i64, seed: u64) -> ShimProblem {
    let floor = floor.uneven(depth, &mut Random(seed));
    let percent = in_turn(seed, [50, 80, 95]);
    let counts: Vec<u32> = need(&floor, &INCH).iter().map(|need| need * percent / 100).collect();
    flattest_of(floor, counted(&INCH, &counts), depth)
}

/// The flattest plan of a floor so many mm uneven: to do nothing is within its limit.
fn flattest_of(floor: Floor, stock: Vec<Shim>, depth: i64) -> ShimProblem {
    let mut problem = floor.problem(stock, depth * MM / 2);
    problem.options.order = Order::Flattest;
    problem
}

/// Six legs, each its hidden stack below the first one.
fn hidden_plan(seed: u64, kinds: &[i64]) -> ShimProblem {
    let mut random = Random(seed);
    let mut counts = vec![0; kinds.len()];
    let mut heights = vec![0];
    for _ in 1..6 {
        let mut height = 0;
        for _ in 0..random.between(1, 5) {
            let kind = random.between(0, kinds.len() as i64 - 1) as usize;
            counts[kind] += 1;
            height -= kinds[kind];
        }
        heights.push(height);
    }
    Floor::legs(6).with_heights(heights).problem(counted(kinds, &counts), 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seed_makes_the_same_problem_every_time() {
        for family in Family::all() {
            assert_eq!((family.problem)(1), (family.problem)(1), "{}", family.name);
            assert_eq!(Family::named(family.name).map(|found| found.name), Some(family.name));
        }
    }
}
