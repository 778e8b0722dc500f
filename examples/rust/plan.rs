//! Which shims go under which leg. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{CAUTIONS, Length, Limits, Shim, ShimProblem, Support, plan_shims, tradeoff};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let legs = ["door", "window", "hearth", "stairs"];
    let (xs, ys, heights) = ([0, 2100, 2100, 0], [0, 0, 950, 950], [-7.1, -2.6, 0.0, -4.3]);
    let mut supports = Vec::new();
    for ((x, y), height) in xs.into_iter().zip(ys).zip(heights) {
        let (x, y) = (Length::from_mm(x.into())?, Length::from_mm(y.into())?);
        supports.push(Support { x, y, height: Length::from_mm(height)? });
    }
    let mut stock = Vec::new();
    for (thickness, count) in [("1/8 in", 8), ("1/16 in", 8), ("0.020 in", 16), ("0.010 in", 24)] {
        stock.push(Shim::new(thickness.parse()?, Some(count)));
    }
    let problem = ShimProblem::new(supports, stock, Limits::overall("0.010 in".parse()?));

    let plan = plan_shims(&problem)?;
    let (pieces, worst) = (plan.pieces, plan.worst_mm());
    writeln!(out, "{:?}: {pieces} pieces, at most {worst:.3} mm off", plan.status)?;
    for ((leg, lift), stack) in legs.iter().zip(&plan.lifts).zip(&plan.stacks) {
        writeln!(out, "{leg}: lift {:.3} mm with {} pieces", lift.mm(), stack.len())?;
    }
    for better in &tradeoff(&problem)?[1..] {
        writeln!(out, "{} pieces: at most {:.3} mm off", better.pieces, better.worst_mm())?;
    }
    writeln!(out, "{}", CAUTIONS.join("\n"))?;
    Ok(())
}
