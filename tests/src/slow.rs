//! Small problems that cost much work, made of a few numbers so that a search can change them one by
//! one towards more.

use truebed::{Adjusts, Length, Limits, Order, Shim, ShimProblem, Support};

use crate::random::Random;

/// How many numbers make a problem.
pub const GENES: usize = 14;

/// The numbers of a problem, each from 0 to 99.
pub type Genes = [u8; GENES];

/// The problem of some numbers: what they leave open comes from a seed that is the last of them.
pub fn problem(genes: &Genes) -> ShimProblem {
    let gene = genes.map(i64::from);
    let um = |count: i64| Length::from_nm(count * 1000);
    let mut random = Random(1 + u64::from(genes[GENES - 1]));
    let (supports, lines) = (2 + gene[0] / 2, 1 + gene[1] / 20);
    let depth = 100 + gene[2] * gene[2] * 2;
    let supports: Vec<Support> = (0..supports)
        .map(|at| Support {
            x: um(at / lines * 500_000),
            y: um(at % lines * 500_000),
            height: um(-random.between(0, depth)),
        })
        .collect();
    let (kinds, least, apart) = (1 + gene[3] * gene[3] / 80, 20 + gene[4] * 20, 1 + gene[5]);
    let stock = (0..kinds).map(|kind| {
        let count = (gene[6] > 20).then(|| random.between(1, 1 + gene[6]) as u32);
        Shim {
            price: random.between(0, gene[7]) as u32,
            ..Shim::new(um(least + kind * apart), count)
        }
    });
    let mut stock: Vec<Shim> = stock.collect();
    if gene[8] > 50 {
        let adjusts = Adjusts { to: um(12_000), step: Length::from_nm(100 + gene[9] * 500) };
        stock.push(Shim { adjusts: Some(adjusts), ..Shim::new(um(1000), Some(40)) });
    }
    let mut limits = Limits::overall(um(gene[10] * 4));
    limits.along = (gene[11] > 50).then(|| um(gene[11] - 40));
    limits.across = (gene[12] > 50).then(|| um(gene[12] - 40));
    limits.slope_along_um_per_m = if gene[12] == 7 { 20 } else { 0 };
    let mut problem = ShimProblem::new(supports, stock, limits);
    let orders = [Order::FewestPieces, Order::Flattest, Order::FewestLifts, Order::Cheapest];
    problem.options.order = orders[genes[7] as usize % 4];
    problem
}
