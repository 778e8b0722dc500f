//! The ball to simulate on the finished bed.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::roll::{BallRolls, BedSurface, check_stopping};

/// A ball to roll slowly along and across the middle of the finished bed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct RollingBall {
    /// The rolling resistance: the deceleration of the ball on a level bed over that of gravity, above 0
    /// and at most 1. The default is 0.01, as on cloth, which has 0.005 to 0.015.
    pub resistance: f64,
}

impl Default for RollingBall {
    fn default() -> Self {
        Self { resistance: 0.01 }
    }
}

impl RollingBall {
    /// Notes what is wrong with rolling it in a stage of so many points.
    pub(super) fn check_stage(self, stage: &str, points: usize, found: &mut Problems) {
        let field = format!("{stage}.ball");
        if stage == "legs" {
            let expected = "none: balls roll on slates";
            found.add(ProblemKind::Value, &field, "a ball among legs", expected);
        }
        if points > BedSurface::MOST_POINTS {
            let expected = format!("a bed of at most {} points", BedSurface::MOST_POINTS);
            found.add(ProblemKind::Shape, &field, format!("{points} points"), expected);
        }
        found.take(check_stopping(self.resistance).map_err(|error| error.within(&field)));
    }

    /// Rolls it on the smooth surface through the tops of a plan.
    pub(super) fn roll(
        self,
        xy: &[[Length; 2]],
        tops: &[Length],
        deadline: &Deadline<'_>,
    ) -> Result<BallRolls, Error> {
        let xy_mm: Vec<_> = xy.iter().map(|xy| xy.map(Length::mm)).collect();
        let z_mm: Vec<_> = tops.iter().copied().map(Length::mm).collect();
        self.roll_over(&xy_mm, &z_mm, deadline)
    }

    /// Rolls it on the smooth surface through heights at places, mm.
    pub(super) fn roll_over(
        self,
        xy_mm: &[[f64; 2]],
        z_mm: &[f64],
        deadline: &Deadline<'_>,
    ) -> Result<BallRolls, Error> {
        BedSurface::new(xy_mm, z_mm)?.roll_balls_until(self.resistance, deadline)
    }
}
