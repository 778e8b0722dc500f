//! What a slate does on its shims: the fourth one carries little. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{BearSettings, LaidSlab, Slab, SlabSupport, bear};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let slab = Slab::new([0.0, 1370.0], [0.0, 880.0], 25.4, 48.36, 0.25, 2794.0);
    let names = ["NW", "NE", "SE", "SW"];
    let shims = [[50.0, 700.0], [1320.0, 830.0], [1320.0, 50.0], [50.0, 50.0]].map(SlabSupport::at);
    let bearing = bear(&slab, &shims, &[0.0, 0.0, 0.0, -0.5], &[], BearSettings::default())?;
    for (name, force) in names.iter().zip(&bearing.forces_n) {
        writeln!(out, "shim {name}: {force:.0} N")?;
    }

    let laid = LaidSlab::new(&slab, &shims, &[], BearSettings::default())?;
    for low in [0.0, 1.0, 2.0, 3.0] {
        let bearing = laid.bear(&[0.0, 0.0, 0.0, -low])?;
        let (carries, gap) = (bearing.carries[3], bearing.gaps_mm[3]);
        writeln!(out, "shim SW {low:.1} mm low: carries {carries}, gap {gap:.2} mm")?;
    }
    Ok(())
}
