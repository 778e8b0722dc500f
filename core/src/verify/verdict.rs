//! A verdict, and what it says of each limit.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::evidence::{Beforehand, VerdictReason};
use super::rule::Conformity;
use super::slopes::SlopeFinding;
use crate::length::Length;
use crate::limits::LimitKind;

/// Whether one limit is met over the points that it binds.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Finding {
    /// Which limit.
    pub limit: LimitKind,
    /// Indices of the points that it binds.
    pub points: Vec<usize>,
    /// The difference between the highest and the lowest of them, as read.
    pub found: Length,
    /// The largest difference that is allowed: twice a ± limit, once a joint step.
    pub allowed: Length,
    /// Whether `found` is at most `allowed`.
    pub meets_limits: bool,
    /// Standard uncertainty of the difference found, mm: of the height of the highest above the
    /// lowest. NaN where no uncertainties are given.
    pub sigma_mm: f64,
    /// The probability that this limit by itself is met. NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    /// computed outright.
    pub probability_error: f64,
    /// The verdict on this limit by itself.
    pub conformity: Conformity,
}

impl Finding {
    /// What is left to the limit: below zero beyond it.
    pub fn margin(&self) -> Length {
        self.allowed - self.found
    }
}

/// What a verdict rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Basis {
    /// No uncertainties are given: the heights are held against the limits as they are.
    Estimates,
    /// The differences that count are known exactly, so the limits are met or not.
    Exact,
    /// The probability that the limits are met.
    Probability,
}

/// Whether the limits are met.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Verdict {
    /// Whether the heights as they are given meet all limits.
    pub meets_limits: bool,
    /// The verdict on all limits together.
    pub conformity: Conformity,
    /// Why the verdict is "cannot tell" whatever the probability, the first reason first; or what the
    /// user overruled. Empty where the probability and the test alone decide.
    pub reasons: Vec<VerdictReason>,
    /// The probability that all limits are met, by the readings and by what `beforehand` says was
    /// known before them. NaN where no uncertainties are given.
    pub probability: f64,
    /// Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
    /// computed outright.
    pub probability_error: f64,
    /// What the probability takes to be known of the heights before they were read.
    pub beforehand: Beforehand,
    /// The probability of reading heights at least so far beyond the limits although the true heights
    /// meet them: at most this. "Not met" asks that it is at most the risk. None where no such test is
    /// made: where the probability already says that the limits may be met, where heights were known
    /// beforehand, where a plan predicts them, or where no uncertainties are given.
    pub excess_p: Option<f64>,
    /// What the verdict rests on.
    pub basis: Basis,
    /// The slope of the target along and across, µm/m: of those that the limits allow the one
    /// nearest to level with which they are met; level where there is none.
    pub tilt_um_per_m: [i64; 2],
    /// One for each set of points that a limit binds: all, every line, every joint. What is found is
    /// found above the slope of the target; a probability is that of some slope that is allowed.
    pub findings: Vec<Finding>,
    /// One for each axis along which the limits allow the target to slope.
    pub slopes: Vec<SlopeFinding>,
    /// Points, by index, that lie on no lengthwise line and on no crosswise line, where limits ask for
    /// such lines: no limit on lines binds them.
    pub off_lines: [Vec<usize>; 2],
}
