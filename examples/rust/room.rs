//! Does the table fit the room, and is its frame square? The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Obstacle, PlaceOptions, Tapes, place, square};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let room = [[0.0, 0.0], [6500.0, 0.0], [6500.0, 4800.0], [0.0, 4800.0]];
    let hearth = [[2500.0, 4500.0], [4000.0, 4500.0], [4000.0, 4800.0], [2500.0, 4800.0]];
    let hearth = Obstacle { name: "hearth".to_owned(), corners: hearth.to_vec() };
    let options = PlaceOptions { obstacles: vec![hearth], ..PlaceOptions::default() };
    let place = place(&room, [2540.0, 1270.0], &options)?;
    writeln!(out, "fits: {}, the least clearance is {:.0} mm", place.fits, place.least_mm)?;
    writeln!(out, "{:.0} % of the edge have a full stroke before them", 100.0 * place.free_share)?;

    let tapes = Tapes {
        lengths: [vec![2540.0], vec![2540.0]],
        widths: [vec![1270.0], vec![1270.0]],
        diagonals: [vec![2843.0], vec![2837.0]],
    };
    let frame = square(&tapes, Some(0.5), None)?;
    writeln!(out, "the diagonals differ by {:.1} mm", frame.differences_mm[2])?;
    if let Some(corner) = frame.corner {
        let (rack, sigma) = (frame.rack_mm, frame.rack_sigma_mm);
        writeln!(out, "push corner {corner} by {rack:.1} mm, give or take {sigma:.1} mm")?;
    }
    Ok(())
}
