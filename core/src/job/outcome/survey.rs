//! How well the readings of a stage check each other.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::survey::{Closure, Heights, Offset, Survey, SuspectGroup, Unchecked};

/// How well the readings of a stage check each other. Readings are named by their index in the job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SurveyOutcome {
    /// The degrees of freedom: the number of readings beyond those needed.
    pub dof: usize,
    /// The sum of the weighted squares of the residuals over the degrees of freedom. It is null
    /// without degrees of freedom.
    pub variance_factor: Option<f64>,
    /// The global test: the probability of residuals at least as large if the uncertainties are
    /// right and no reading is mistaken. It is null without degrees of freedom.
    pub p_value: Option<f64>,
    /// The critical value of the test for mistaken readings. It is null where there is none.
    pub critical: Option<f64>,
    /// The readings that the others speak against, the worst first.
    pub suspects: Vec<usize>,
    /// The suspects in groups, the worst first: one reading of a group is wrong, and no data can say
    /// which.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub suspect_groups: Vec<SuspectGroupOutcome>,
    /// The readings that are left out.
    pub left_out: Vec<usize>,
    /// How well each reading is checked by the others.
    pub readings: Vec<ReadingOutcome>,
    /// The loops of readings with the largest misclosures for their uncertainty, at most 20, the
    /// worst first.
    pub closures: Vec<Closure>,
    /// The heights of the set-ups, mm.
    pub setups: Vec<Offset>,
    /// The zero errors of the levels, mm/m.
    pub zero_errors: Vec<Offset>,
    /// Slopes of the planes of lasers, along and across, mm/m.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub plane_slopes: Vec<[Offset; 2]>,
    /// Levels and set-ups of lasers whose error nothing checks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub unchecked: Vec<Unchecked>,
}

/// Readings of which one is suspected to be wrong, and no data can say which.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SuspectGroupOutcome {
    /// The readings, by index in the job.
    pub readings: Vec<usize>,
    /// What each of them read, such as `A2→A3`.
    pub names: Vec<String>,
    /// About how large the mistake is, mm.
    pub blunder_mm: f64,
}

/// How well one reading is checked by the others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingOutcome {
    /// The index of the reading in the job.
    pub reading: usize,
    /// The residual, adjusted minus read, mm.
    pub residual_mm: f64,
    /// The redundancy number, from 0 to 1.
    pub redundancy: f64,
    /// The normalised residual, Baarda's w. It is null where nothing checks the reading.
    pub normalised: Option<f64>,
    /// Pope's τ. It is null where nothing checks the reading.
    pub tau: Option<f64>,
    /// The smallest mistake that the test finds with the stated power, mm. It is null where nothing
    /// checks the reading.
    pub detectable_mm: Option<f64>,
}

/// As many loops as a person looks at.
const LOOPS: usize = 20;

impl SurveyOutcome {
    /// What an adjustment says of its readings, by where each stands in the job.
    pub(in crate::job) fn new(heights: &Heights, survey: &Survey, in_job: &[usize]) -> Self {
        let group = |group: SuspectGroup| SuspectGroupOutcome {
            readings: group.readings.iter().map(|&at| in_job[at]).collect(),
            names: group.readings.iter().map(|&at| survey.readings[at].label()).collect(),
            blunder_mm: group.blunder_mm,
        };
        let places = |of: &[usize]| of.iter().map(|&at| in_job[at]).collect::<Vec<_>>();
        let reading = |(at, &reading)| ReadingOutcome::new(heights, at, reading);
        Self {
            dof: heights.dof,
            variance_factor: known(heights.variance_factor),
            p_value: known(heights.p_value),
            critical: known(heights.critical),
            suspects: places(&heights.suspects),
            suspect_groups: heights.suspect_groups().into_iter().map(group).collect(),
            left_out: places(&heights.left_out),
            readings: in_job.iter().enumerate().map(reading).collect(),
            closures: worst_loops(heights)
                .map(|closure| Closure { readings: places(&closure.readings), ..closure })
                .collect(),
            setups: heights.setups.clone(),
            zero_errors: heights.zero_errors.clone(),
            plane_slopes: heights.plane_slopes.clone(),
            unchecked: heights.unchecked.clone(),
        }
    }
}

impl ReadingOutcome {
    fn new(heights: &Heights, at: usize, reading: usize) -> Self {
        Self {
            reading,
            residual_mm: heights.residuals_mm[at],
            redundancy: heights.redundancy[at],
            normalised: known(heights.normalised[at]),
            tau: known(heights.tau[at]),
            detectable_mm: known(heights.detectable_mm[at]),
        }
    }
}

/// The loops that close worst for their uncertainty, worst first.
fn worst_loops(heights: &Heights) -> impl Iterator<Item = Closure> {
    let mut closures = heights.closures();
    let badly = |closure: &Closure| closure.mm.abs() / closure.sigma_mm;
    closures.sort_by(|a, b| badly(b).total_cmp(&badly(a)));
    closures.into_iter().take(LOOPS)
}

/// A number that is not known is left out.
fn known(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}
