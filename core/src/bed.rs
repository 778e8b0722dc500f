//! The bed: slates as elastic plates on supports that push. How it is computed, and why so, stands in
//! `bed/README.md`.

mod band;
mod bearing;
mod contact;
mod laid;
mod lain;
mod line;
mod linear;
mod load;
mod pieces;
mod plan;
mod planner;
mod plate;
mod search;
mod slab;
mod start;
mod stress;
mod support;
mod tipping;

pub use bearing::Bearing;
pub use laid::{BearSettings, Bearings, LaidSlab};
pub(crate) use lain::{Lain, OnPoints, lain};
pub use load::{Load, LoadTest};
pub use plan::{BedPlan, BedProblem, NoBed, plan_bed, plan_bed_until};
pub use slab::Slab;
pub use stress::Stress;
pub use support::SlabSupport;
pub use tipping::Tipping;

use crate::error::{Error, Problems};

/// What a slab does on supports with tops at these heights, mm: which of them carry, with what
/// forces, and where it lies.
///
/// The mesh is as fine as the settings ask for these tops, and the answer says what was reached
/// ([`Bearing::accuracy_mm`]). Which supports carry is exact for the mesh: forces are in equilibrium
/// with the loads, none is a pull (beyond what a screw holds), and none acts across a gap, all within
/// a billionth of what the slab carries.
///
/// Not modelled: pockets and holes, a modulus that differs along and across, glue, creep, and how the
/// frame bends as a whole; supports may be springs.
///
/// ```
/// use truebed::{BearSettings, Slab, SlabSupport, bear};
/// let slab = Slab::new([0.0, 1370.0], [0.0, 880.0], 25.4, 48.36, 0.25, 2794.0);
/// let supports = [[50.0, 50.0], [1320.0, 50.0], [1320.0, 830.0], [50.0, 830.0]];
/// let supports = supports.map(SlabSupport::at);
/// // One of four shims is half a millimetre too low: its two neighbours bear half as much again.
/// let bearing = bear(&slab, &supports, &[0.0, 0.0, 0.0, -0.5], &[], BearSettings::default())?;
/// assert!(bearing.forces_n[0] > 1.5 * bearing.forces_n[3]);
/// # Ok::<(), truebed::Error>(())
/// ```
///
/// # Errors
/// Those of [`LaidSlab::new`] and [`LaidSlab::bear`], all at once. A slab that tips over is no error
/// but an answer: [`Bearing::tips`].
pub fn bear(
    slab: &Slab,
    supports: &[SlabSupport],
    tops_mm: &[f64],
    loads: &[Load],
    settings: BearSettings,
) -> Result<Bearing, Error> {
    let mut found = Problems::default();
    found.take(laid::check(slab, supports, loads, settings));
    found.take(laid::check_tops(tops_mm, supports.len()));
    found.into_result()?;
    LaidSlab::fine_enough(slab, supports, loads, settings, tops_mm)?.bear(tops_mm)
}
