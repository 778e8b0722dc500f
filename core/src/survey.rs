//! From readings to heights that can be trusted: a weighted least-squares levelling network.
//!
//! Every reading is linear in the unknowns, which are the heights of the points, one height for
//! each set-up of an instrument and one zero error for each level: with *l* the readings, *A* their
//! coefficients and *W* = diag(1/σ²), the heights minimise *v*ᵀ*Wv* for *v* = *Ax* − *l*, and their
//! covariance is (*A*ᵀ*WA*)⁻¹ (Gauss–Markov; any text on adjustment computations).
//!
//! - [`Reading`]: what was read, [`SurveySettings`]: what else is known, [`Survey`]: both together.
//! - [`adjust`]: the heights, and for each reading how well the others check it: [`Heights`].
//! - [`level_line`], [`level_grid`]: readings of a level stepped along lines;
//!   [`union_jack`]: a surface plate by eight lines; [`readings_from_csv`]: a table of readings.

mod builder;
mod closure;
mod components;
mod csv;
mod divisions;
mod equation;
mod fields;
mod grid;
mod heights;
mod ids;
mod instrument;
mod line;
mod measured;
mod network;
mod normal;
mod pattern;
mod reading;
mod row;
mod separability;
mod settings;
mod statistics;
mod union_jack;

use serde::{Deserialize, Serialize};

pub use closure::Closure;
pub use csv::readings_from_csv;
pub use divisions::Divisions;
pub use fields::ReadingFields;
pub use grid::level_grid;
pub(crate) use heights::adjust_by;
pub use heights::{
    GlobalTest, Heights, Offset, SelfCheck, SurveyDoubt, Unchecked, adjust, adjust_until,
};
pub use ids::Ids;
pub use instrument::Instrument;
pub use line::{SpiritLevel, level_line};
pub(crate) use measured::SLOPE;
pub use measured::{Mm, Slope};
pub use reading::{Reading, ReadingKind};
pub use row::Cell;
pub use separability::{Separability, SuspectGroup};
pub use settings::{BlunderTest, Fixed, Level, Setup, SurveySettings, Surveyed};
pub(crate) use settings::{MOST_INSTRUMENTS, MOST_READINGS};
pub(crate) use statistics::{chi_square_exceeds, chi_square_quantile};
pub use statistics::{smallest_detectable, tau_critical, w_critical};
pub(crate) use union_jack::check_scale;
pub use union_jack::{UnionJack, UnionJackLines, union_jack};

use crate::length::Length;

/// A point of a survey and where it lies in plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// The name by which readings call the point.
    pub id: String,
    /// Position along the length of the bed.
    pub x: Length,
    /// Position across the bed.
    pub y: Length,
}

/// Readings, and what else is known of them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Survey {
    /// What was read.
    pub readings: Vec<Reading>,
    /// All points, each to be read; or none, and then the points are those that the readings
    /// name, in the order in which they appear.
    pub places: Vec<Place>,
    /// What else is known.
    pub settings: SurveySettings,
}

impl Survey {
    /// A survey of readings alone.
    pub fn new(readings: Vec<Reading>) -> Self {
        Self { readings, ..Self::default() }
    }

    /// The same survey with one more reading left out.
    pub fn without(&self, reading: usize) -> Self {
        let mut survey = self.clone();
        survey.settings.without.push(reading);
        survey
    }
}
