//! What reads heights from a set-up, and what is known of instruments beforehand.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::measured::Slope;

/// What reads heights from a set-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Instrument {
    /// A staff in the sight of an optical level: more reading is lower.
    #[default]
    Staff,
    /// The scale at one end of a water level: more reading is lower.
    WaterLevel,
    /// A staff in the plane of a laser: more reading is lower.
    Laser,
    /// A dial indicator on a stand, pointing down: more reading is higher.
    Indicator,
}

impl fmt::Display for Instrument {
    /// Its name in a document.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Staff => "staff",
            Self::WaterLevel => "water-level",
            Self::Laser => "laser",
            Self::Indicator => "indicator",
        })
    }
}

impl Instrument {
    /// Sign of the height in the reading.
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Staff | Self::WaterLevel | Self::Laser => -1.0,
            Self::Indicator => 1.0,
        }
    }

    /// Default standard uncertainty of a reading, mm (common practice). A staff is read to a
    /// millimetre, a meniscus and a line of light somewhat less well; an indicator to half of its
    /// divisions of 0.01 mm.
    pub fn default_sigma_mm(self) -> f64 {
        match self {
            Self::Staff => 0.3,
            Self::WaterLevel | Self::Laser => 0.5,
            Self::Indicator => 0.005,
        }
    }
}

/// Default standard uncertainty of the slope of a laser's plane, mm/m: lasers that level
/// themselves are stated to keep within some 1 mm at 10 m (common practice).
pub(super) const PLANE_SIGMA: f64 = 0.1;

/// Default standard uncertainty of a spirit level's zero error, in divisions: a level counts as
/// set when its bubble stays within a division turned end for end (common practice).
pub(super) const ZERO_SIGMA: f64 = 0.5;

/// Default standard uncertainty of an electronic level (inclinometer), of a reading and of the zero
/// error: 0.05°, since displays of 0.1° and 0.05° are held to half a tenth of a degree near the
/// horizontal (common practice).
pub(super) const ELECTRONIC_SIGMA: Slope = Slope::from_mm_per_m(0.873);

/// The name of a level where no reading names one.
const LEVEL: &str = "level";

pub(super) fn a_level() -> String {
    LEVEL.to_owned()
}

pub(super) fn is_a_level(name: &str) -> bool {
    name == LEVEL
}
