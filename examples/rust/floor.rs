//! How even a floor is: a straightedge, and a class of a standard. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{check_floor, straightedge};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let xy: Vec<[f64; 2]> = (0..8).map(|at| [500.0 * f64::from(at), 0.0]).collect();
    let heights = [0.0, 1.0, 3.0, 4.0, 2.0, 1.0, 0.0, -1.0];
    let line_width_mm = 10.0;

    if let Some(gap) = straightedge(&xy, &heights, 2000.0, line_width_mm)? {
        writeln!(out, "{:.2} mm under a straightedge of 2 m, at point {}", gap.gap_mm, gap.at)?;
    }
    for finding in check_floor(&xy, &heights, "DIN 18202 row 3".parse()?, line_width_mm)? {
        let met = finding.met.map_or("none".to_owned(), |met| met.to_string());
        let (found, limit) = (finding.found, finding.limit);
        writeln!(out, "{}: {found:.2}, allowed {limit:.2}, met: {met}", finding.what)?;
    }
    Ok(())
}
