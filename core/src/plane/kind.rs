//! The kinds of reference plane.

use std::fmt;
use std::str::FromStr;

use crate::error::{Error, ProblemKind};

/// Which plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
#[non_exhaustive]
pub enum PlaneKind {
    /// Least squares of the vertical residuals.
    #[default]
    LeastSquares,
    /// Least squares of the distances along the normal (LSPL of ISO 12781-1).
    Orthogonal,
    /// Half way between the two parallel planes that hold all points and are closest together
    /// along the vertical.
    MinimumZone,
    /// The same along the normal (MZPL of ISO 12781-1).
    MinimumZoneNormal,
    /// The underside of a rigid frame that stands on the points, its centre of mass over their mean.
    Resting,
}

impl PlaneKind {
    /// All kinds, each with its name.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::LeastSquares, "least-squares"),
        (Self::Orthogonal, "orthogonal"),
        (Self::MinimumZone, "minimum-zone"),
        (Self::MinimumZoneNormal, "minimum-zone-normal"),
        (Self::Resting, "resting"),
    ];

    /// Whether deviations are distances along the normal; else they are heights.
    pub(super) fn is_normal(self) -> bool {
        matches!(self, Self::Orthogonal | Self::MinimumZoneNormal)
    }
}

impl fmt::Display for PlaneKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = Self::ALL.iter().find(|(kind, _)| kind == self).map_or("", |(_, name)| name);
        f.pad(name)
    }
}

impl FromStr for PlaneKind {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let known = Self::ALL.iter().find(|(_, name)| *name == text);
        known.map(|(kind, _)| *kind).ok_or_else(|| {
            let names = Self::ALL.map(|(_, name)| format!("{name:?}")).join(", ");
            Error::new(ProblemKind::Value, "kind", format!("{text:?}"), format!("one of {names}"))
        })
    }
}
