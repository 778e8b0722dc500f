//! What reads heights from a set-up, and how uncertain each kind of reading is unless told.

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

impl Instrument {
    /// Sign of the height in the reading.
    pub(super) fn sign(self) -> f64 {
        match self {
            Self::Staff | Self::WaterLevel | Self::Laser => -1.0,
            Self::Indicator => 1.0,
        }
    }

    /// Standard uncertainty of a reading unless told, mm (common practice). A staff is read to
    /// a millimetre, a meniscus and a line of light to somewhat less well than that; an indicator
    /// to half of its divisions of 0.01 mm.
    pub fn default_sigma_mm(self) -> f64 {
        match self {
            Self::Staff => 0.3,
            Self::WaterLevel | Self::Laser => 0.5,
            Self::Indicator => 0.005,
        }
    }
}

/// Standard uncertainty of a rise unless told, mm: that of a difference of two staff readings.
pub(super) const RISE_SIGMA_MM: f64 = 0.3 * std::f64::consts::SQRT_2;

/// Standard uncertainty of a gap unless told, mm: a feeler gauge goes by leaves of 0.05 mm, and the
/// gap lies anywhere between the one that enters and the next, so 0.05 mm / √12 (common practice).
pub(super) const GAP_SIGMA_MM: f64 = 0.0144;

/// Standard uncertainty of one reading of a bubble unless told, in divisions: a fifth is the least
/// that an eye tells apart at both ends of a bubble (common practice).
pub(super) const BUBBLE_SIGMA: f64 = 0.2;

/// Standard uncertainty of an electronic level's (inclinometer's) reading unless told: displays of 0.1° and 0.05° are
/// held to half a tenth of a degree near the horizontal (common practice).
pub(super) const ELECTRONIC_SIGMA: Slope = Slope::from_mm_per_m(0.873);

/// Standard uncertainty of the slope of a laser's plane unless told, mm/m: lasers that level
/// themselves are stated to keep within some 1 mm at 10 m (common practice).
pub(super) const PLANE_SIGMA: f64 = 0.1;

/// Standard uncertainty of a spirit level's zero error unless told, in divisions: a level counts as
/// set when its bubble stays within a division turned end for end (common practice).
pub(super) const ZERO_SIGMA: f64 = 0.5;
