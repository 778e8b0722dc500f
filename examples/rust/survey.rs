//! Readings to heights, and a reading that does not fit. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Fixed, Instrument, Mm, Reading, Survey, adjust};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    // A laser at the door: a larger reading on the staff means a lower point.
    let laser = |point, mm| Reading::from_setup("door", Instrument::Laser, point, mm, None);
    let mut survey = Survey::new(vec![
        laser("A", 1203.0),
        laser("B", 1205.1),
        laser("C", 1204.4),
        // Rises read with a water level, from one point to the other.
        Reading::rise("A", "B", -2.0, Some(0.3)),
        Reading::rise("B", "C", 0.8, Some(0.3)),
        Reading::rise("C", "A", -4.0, Some(0.3)), // the sign is wrong: should be about 1.3
    ]);
    let point = "A".to_owned();
    survey.settings.fixed.push(Fixed { point, height: Mm(0.0), sigma: None });
    let heights = adjust(&survey)?;
    let (p, first) = (heights.p_value, heights.suspects[0]);
    writeln!(out, "global test: p = {p:.1e}, suspected first: reading {first}")?;

    let heights = adjust(&survey.without(5))?;
    for ((id, mm), sigma) in heights.ids.iter().zip(&heights.mm).zip(&heights.sigma_mm) {
        writeln!(out, "{id}: {mm:+.2} ± {sigma:.2} mm")?;
    }
    Ok(())
}
