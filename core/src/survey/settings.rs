//! What a survey is told besides its readings.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::measured::{Mm, Slope};

/// Which surface the heights of a survey are those of, where readings are taken on top of a rigid
/// frame that rocks on three legs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Surveyed {
    /// The floor: under a leg that floats it lies lower than the frame's height there by the gap.
    #[default]
    Floor,
    /// The frame: gaps under legs do not enter.
    Frame,
}

/// A height that is known beforehand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Fixed {
    /// Id of the point.
    pub point: String,
    /// Its height, positive upwards.
    pub height: Mm,
    /// Its standard uncertainty; exact where none is given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sigma: Option<Mm>,
}

/// What is known of a level's zero error, the slope that it shows on a level surface.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// The name by which readings call it.
    pub name: String,
    /// Standard uncertainty of its zero error, which enters all its readings alike, unless the
    /// level reads some pair of points both ways round: then the readings tell the zero error.
    /// Unless told: half a division, or for an electronic level 0.05° (common practice).
    pub zero_sigma: Slope,
}

/// Which statistic names the suspects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum BlunderTest {
    /// Baarda's w: the stated σ are trusted.
    #[default]
    W,
    /// Pope's tau: the σ are trusted up to a common factor, which the residuals tell.
    Tau,
}

/// What a survey is told besides its readings; the default is right for most.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct SurveySettings {
    /// Which surface the heights are those of.
    pub surface: Surveyed,
    /// Heights that are known beforehand.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub fixed: Vec<Fixed>,
    /// Where nothing fixes the heights: the points whose mean height is 0; all unless told.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub datum: Vec<String>,
    /// What is known of the levels.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub levels: Vec<Level>,
    /// Readings to leave out, by index. They stay listed, with how far off they are.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub without: Vec<usize>,
    /// Which statistic names the suspects.
    pub test: BlunderTest,
    /// How often a good reading may be suspected: 0.001 unless told (Baarda 1968).
    pub alpha: f64,
    /// How surely a blunder of the smallest detectable size is found: 0.8 unless told (Baarda
    /// 1968).
    pub power: f64,
}

impl Default for SurveySettings {
    fn default() -> Self {
        Self {
            surface: Surveyed::default(),
            fixed: Vec::new(),
            datum: Vec::new(),
            levels: Vec::new(),
            without: Vec::new(),
            test: BlunderTest::default(),
            alpha: 0.001,
            power: 0.8,
        }
    }
}
