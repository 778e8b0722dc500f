//! What is known of a survey besides its readings.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::measured::{Mm, Slope};
use crate::points::MOST_POINTS;

/// The most readings of a job.
pub(crate) const MOST_READINGS: usize = 10_000;
/// The most set-ups and levels of a job: each is an unknown, as a point is.
pub(crate) const MOST_INSTRUMENTS: usize = 1_000;

/// The surface whose heights a survey gives, where readings are taken on top of a rigid frame that rocks
/// on three legs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Surveyed {
    /// The floor: under a leg that floats it lies lower than the frame's height there by the gap. Of
    /// slates it is the frame, which a slate clears by its gap.
    #[default]
    Floor,
    /// The frame: gaps under legs do not enter. Of slates it is the slate.
    Frame,
}

/// A height that is known beforehand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fixed {
    /// Id of the point.
    pub point: String,
    /// Height of the point, positive upwards.
    pub height: Mm,
    /// Standard uncertainty of the height. Without one the height is exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma: Option<Mm>,
}

/// What is known of a level's zero error, the slope that it shows on a level surface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// The name by which readings call it.
    pub name: String,
    /// Standard uncertainty of its zero error, which enters all its readings alike. Beforehand the zero
    /// error is taken to be 0 with this uncertainty; readings that were taken both ways round determine
    /// it better. The default is half a division, or 0.05° for an electronic level (common practice).
    pub zero_sigma: Slope,
}

/// What is known of the plane that a laser throws from a set-up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Setup {
    /// The name by which readings call it.
    pub name: String,
    /// Standard uncertainty of the slope of its plane, along and across alike. Beforehand the plane is
    /// taken to be level with this uncertainty; readings that were taken another way determine it
    /// better. The default is 0.1 mm/m (common practice: 1 mm at 10 m).
    pub slope_sigma: Slope,
}

/// The statistic that names the suspects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum BlunderTest {
    /// Baarda's w: the stated σ are trusted.
    #[default]
    W,
    /// Pope's tau: the σ are trusted up to a common factor, which the residuals determine.
    Tau,
}

/// What is known of a survey besides its readings. The default is right for most surveys.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct SurveySettings {
    /// The surface whose heights are adjusted: the floor or the frame.
    pub surface: Surveyed,
    /// Heights that are known beforehand.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MOST_POINTS))]
    pub fixed: Vec<Fixed>,
    /// The points whose mean height is 0, where nothing fixes the heights. The default is all points.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MOST_POINTS))]
    pub datum: Vec<String>,
    /// What is known of the levels.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MOST_INSTRUMENTS))]
    pub levels: Vec<Level>,
    /// What is known of the planes of lasers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MOST_INSTRUMENTS))]
    pub setups: Vec<Setup>,
    /// Readings to leave out, by index. They stay listed, with their residuals.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = MOST_READINGS))]
    pub without: Vec<usize>,
    /// The statistic that names the suspects.
    pub test: BlunderTest,
    /// The probability with which a good reading may be suspected. The default is 0.001 (Baarda
    /// 1968).
    pub alpha: f64,
    /// The probability with which a blunder of the smallest detectable size is found. The default
    /// is 0.8 (Baarda 1968).
    pub power: f64,
}

impl Default for SurveySettings {
    fn default() -> Self {
        Self {
            surface: Surveyed::default(),
            fixed: Vec::new(),
            datum: Vec::new(),
            levels: Vec::new(),
            setups: Vec::new(),
            without: Vec::new(),
            test: BlunderTest::default(),
            alpha: 0.001,
            power: 0.8,
        }
    }
}
