//! Shim stacks as change making: with no tolerance, one support far below another takes the fewest
//! pieces that make up the distance.
//!
//! Source of the tables: J. Burkardt, CHANGE_MAKING, its published test output; the case of target
//! 100 is also exercise 7.8.1 of Murty, Optimization Models, and in Martello & Toth, Knapsack
//! Problems (1990), ch. 5.

use truebed::{Length, Limits, Shim, ShimProblem, Status, Support, plan_shims};

/// The fewest pieces that make up `target`, if any do.
fn fewest(coins: &[i64], target: i64) -> Option<usize> {
    let at = |height| Support {
        x: Length::from_nm(height),
        y: Length::ZERO,
        height: Length::from_nm(height),
    };
    let stock = coins.iter().map(|&coin| Shim::new(Length::from_nm(coin), None)).collect();
    let problem = ShimProblem::new(vec![at(0), at(-target)], stock, Limits::overall(Length::ZERO));
    let plan = plan_shims(&problem).unwrap();
    (plan.status == Status::Proven).then_some(plan.pieces)
}

#[test]
fn published_tables() {
    for (coins, target, pieces) in [
        (&[5, 9, 13][..], 19, Some(3)),
        (&[1, 4, 5, 8, 11], 29, Some(4)),
        (&[1, 4, 5, 8, 11], 25, Some(4)),
        (&[1, 4, 5, 8, 11], 26, Some(3)),
        (&[1, 5, 10, 25, 50, 100], 96, Some(5)),
        (&[1, 2, 6, 12, 24, 48, 60], 96, Some(2)),
        (&[1, 3, 4], 6, Some(2)),
        (&[16, 17, 23, 24, 39, 40], 100, Some(6)),
        (&[16, 17, 23, 24, 39, 40], 99, Some(5)),
        (&[16, 17, 23, 24, 39, 40], 85, Some(3)),
        (&[16, 17, 23, 24, 39, 40], 84, Some(5)),
        (&[16, 17, 23, 24, 39, 40], 83, Some(5)),
        (&[16, 17, 23, 24, 39, 40], 82, Some(4)),
        (&[16, 17, 23, 24, 39, 40], 77, None),
        (&[6, 9, 20], 43, None),
        (&[6, 9, 20], 42, Some(5)),
        (&[6, 9, 20], 41, Some(4)),
        (&[6, 9, 20], 40, Some(2)),
    ] {
        assert_eq!(fewest(coins, target), pieces, "{coins:?} for {target}");
    }
}

/// The textbook table of change making, in full.
#[test]
fn every_target_of_a_table() {
    let coins = [16, 17, 23, 24, 39, 40];
    let mut table = vec![Some(0)];
    for target in 1..=250_i64 {
        let before = coins.iter().filter(|&&coin| coin <= target);
        let least = before.filter_map(|coin| table[(target - coin) as usize]).min();
        table.push(least.map(|pieces: usize| pieces + 1));
        assert_eq!(fewest(&coins, target), table[target as usize], "{target}");
    }
}
