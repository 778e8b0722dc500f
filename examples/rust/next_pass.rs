//! The second visit: some pieces gave way, and few legs are lifted again. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{CAUTIONS, Length, Limits, Placed, Shim, ShimProblem, Support, plan_shims};

const XY: [[f64; 2]; 4] = [[0.0, 0.0], [2100.0, 0.0], [2100.0, 950.0], [0.0, 950.0]];

fn problem(heights: [f64; 4], counts: [u32; 2]) -> Result<ShimProblem, truebed::Error> {
    let mm = Length::from_mm;
    let support = |([x, y], height): ([f64; 2], f64)| {
        Ok(Support { x: mm(x)?, y: mm(y)?, height: mm(height)? })
    };
    let supports =
        XY.into_iter().zip(heights).map(support).collect::<Result<_, truebed::Error>>()?;
    let stock = vec![Shim::new(mm(0.5)?, Some(counts[0])), Shim::new(mm(0.1)?, Some(counts[1]))];
    Ok(ShimProblem::new(supports, stock, Limits::overall(mm(0.1)?)))
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let first = plan_shims(&problem([0.0, -1.2, -2.3, -0.6], [20, 20])?)?;

    // The tops as they are read after the first pass, and what is left in the van.
    let tops = [0.0, -0.22, -0.25, -0.1];
    let mut second = problem(tops, [20 - first.used[0], 20 - first.used[1]])?;
    second.placed = Some(Placed::from(&first));
    let again = plan_shims(&second)?;

    writeln!(out, "first pass: {} pieces under {} legs", first.pieces, first.lifted.len())?;
    let (moved, lifted) = (again.moved, &again.lifted);
    writeln!(out, "next pass: {moved} pieces moved under {} legs: {lifted:?}", lifted.len())?;
    writeln!(out, "{}", CAUTIONS.join("\n"))?;
    let settled = first.tops.iter().zip(tops).map(|(planned, read)| planned.mm() - read);
    writeln!(out, "settled by {:.2} mm at most", settled.fold(f64::MIN, f64::max))?;
    Ok(())
}
