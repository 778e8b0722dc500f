//! What came out for a slate piece as an elastic plate.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What a slate does on the stacks of the plan. Pockets and holes, a modulus that differs with the
/// grain, glue, creep, and how the frame bends are not modelled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlateOutcome {
    /// The name of the piece.
    pub piece: String,
    /// The ids of the two points over whose line it falls; there is none where it lies.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tips_about: Option<[String; 2]>,
    /// The moment about that line that nothing holds, N mm; there is none where it lies.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tips_moment_n_mm: Option<f64>,
    /// What each of its points does.
    pub supports: Vec<SlateSupportOutcome>,
    /// The ids of the points that carry nothing: a shim there is loose.
    pub loose: Vec<String>,
    /// The ids of the points that carry, and may carry nothing for all that is known: within what the heights
    /// and the pieces are uncertain, their force is 0 with a probability of more than 5 %.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub may_be_loose: Vec<String>,
    /// How far its surface hangs below the least-squares plane of its heights at its points, mm; null
    /// where it tips, like the numbers below.
    pub sag_mm: Option<f64>,
    /// How flat its surface is over the whole piece: peak to valley about the least-squares plane, mm.
    pub flatness_mm: Option<f64>,
    /// How far the mesh on which they are computed may put the heights off, mm: the difference from the
    /// heights on a mesh half as fine.
    pub accuracy_mm: Option<f64>,
    /// The largest principal bending stress, MPa.
    pub stress_mpa: Option<f64>,
    /// The largest stress over the strength divided by its factor; null where no strength is stated.
    pub stress_ratio: Option<f64>,
    /// Where the piece begins and ends along the bed, mm.
    pub x_mm: [f64; 2],
    /// Where the piece begins and ends across, mm.
    pub y_mm: [f64; 2],
    /// The surface of the piece above the target, mm, at places evenly spread over it: a row for each place along
    /// the bed, with a height for each place across. Empty where it tips.
    pub surface_mm: Vec<Vec<f64>>,
    /// What the test load does, where it stands on this piece.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test_load: Option<TestLoadOutcome>,
}

/// What one point of a slate does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlateSupportOutcome {
    /// The id of the point.
    pub id: String,
    /// The force with which it pushes the slate up, N; less than zero where its screw pulls; null
    /// where the slate tips.
    pub force_n: Option<f64>,
    /// The standard uncertainty of the force, N, from that of the heights and the pieces, as long as
    /// the same points carry. There is none where these count as exact.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub force_sigma_n: Option<f64>,
    /// Whether it carries.
    pub carries: bool,
    /// How far the slate clears it, mm: 0 where it touches.
    pub gap_mm: Option<f64>,
}

/// The largest step along a joint of two slates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct JointStepOutcome {
    /// The names of the two pieces.
    pub pieces: [String; 2],
    /// The largest step between their edges, mm.
    pub step_mm: f64,
    /// Where that is along the bed, mm.
    pub x_mm: f64,
    /// Where that is across, mm.
    pub y_mm: f64,
}

/// What a test load does to the bed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TestLoadOutcome {
    /// The load, N.
    pub newtons: f64,
    /// How far the surface goes down under it, mm; null where the slate tips.
    pub deflection_mm: Option<f64>,
    /// How far it may, mm.
    pub limit_mm: f64,
    /// Whether it keeps within that.
    pub met: bool,
}
