//! The plane through four corners, and how flat they are. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Direction, PlaneKind, fit_plane, minimum_zone};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let xy = [[0.0, 0.0], [2000.0, 0.0], [2000.0, 1000.0], [0.0, 1000.0]];
    let heights = [0.0, -0.4, -0.7, -0.1];

    let plane = fit_plane(&xy, &heights, PlaneKind::LeastSquares, None)?;
    let [along, across] = [plane.slope_x, plane.slope_y].map(|slope| slope * 1e3);
    writeln!(out, "slope {along:.3} mm/m along, {across:.3} mm/m across")?;
    for ([x, y], deviation) in xy.iter().zip(&plane.deviations_mm) {
        writeln!(out, "({x}, {y}): {deviation:+.3} mm")?;
    }

    let zone = minimum_zone(&xy, &heights, Direction::Vertical)?;
    let (found, best) = (plane.flatness_mm, zone.plane.flatness_mm);
    writeln!(out, "flatness {found:.3} mm, at best {best:.3} mm")?;
    Ok(())
}
