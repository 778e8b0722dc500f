//! Many tables in one call, on all cores. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Length, Limits, Shim, ShimProblem, Support, plan_many};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let mm = Length::from_mm;
    let xy = [[0.0, 0.0], [2100.0, 0.0], [2100.0, 950.0], [0.0, 950.0]];
    let stock = vec![Shim::new(mm(0.5)?, Some(20)), Shim::new(mm(0.1)?, Some(40))];
    let mut problems = Vec::new();
    for table in 1..6 {
        let table = f64::from(table);
        let mut supports = Vec::new();
        for ([x, y], height) in xy.into_iter().zip([0.0, -0.3 * table, -0.7 * table, -0.2]) {
            supports.push(Support { x: mm(x)?, y: mm(y)?, height: mm(height)? });
        }
        problems.push(ShimProblem::new(supports, stock.clone(), Limits::overall(mm(0.1)?)));
    }

    let plans = plan_many(&problems).into_iter().collect::<Result<Vec<_>, _>>()?;
    for (table, plan) in plans.iter().enumerate() {
        writeln!(out, "table {}: {:?}, {} pieces", table + 1, plan.status, plan.pieces)?;
    }
    writeln!(out, "{} pieces in all", plans.iter().map(|plan| plan.pieces).sum::<usize>())?;
    Ok(())
}
