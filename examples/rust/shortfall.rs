//! What to do where the stock cannot level the floor. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Length, Limits, Shim, ShimProblem, Support, shortfall};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let xy = [[0.0, 0.0], [2100.0, 0.0], [2100.0, 950.0], [0.0, 950.0]];
    let mm = Length::from_mm;
    let mut supports = Vec::new();
    for ([x, y], height) in xy.into_iter().zip([0.0, -1.2, -2.3, -0.6]) {
        supports.push(Support { x: mm(x)?, y: mm(y)?, height: mm(height)? });
    }
    let stock = vec![Shim::new(mm(0.5)?, Some(4)), Shim::new(mm(0.1)?, Some(3))];
    let problem = ShimProblem::new(supports, stock, Limits::overall(mm(0.1)?));

    let Some(short) = shortfall(&problem, None)? else { return Ok(()) };
    writeln!(out, "supports {:?} cannot be levelled by what there is", short.conflict.supports)?;
    writeln!(out, "the flattest plan is {:.3} mm off", short.flattest.worst_mm())?;
    let Some(addition) = short.addition else { return Ok(()) };
    for (shim, more) in problem.stock.iter().zip(addition.pieces) {
        writeln!(out, "{:.1} mm: {more} more", shim.thickness.mm())?;
    }
    Ok(())
}
