//! How flat a surface plate is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::survey::{UnionJack, UnionJackLines};

/// How flat a surface plate is. Heights are about the plane through the centre in which both
/// diagonals are level from end to end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlateOutcome {
    /// The name of the plate.
    pub name: String,
    /// The heights of the stations of each line, mm. A line has one station more than readings.
    pub lines_mm: UnionJackLines,
    /// By how much each centre line misses the centre, mm; positive where it passes above.
    pub closures_mm: CentreLines,
    /// The height of the highest station above the lowest, mm.
    pub flatness_mm: f64,
}

/// A number for each centre line of a surface plate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CentreLines {
    /// The number for the line from east to west.
    pub e_w: f64,
    /// The number for the line from north to south.
    pub n_s: f64,
}

impl PlateOutcome {
    /// What a survey by a union jack says of a plate.
    pub(in crate::job) fn new(name: &str, found: UnionJack) -> Self {
        let UnionJack { lines_mm, closures_mm: [e_w, n_s], flatness_mm } = found;
        let closures_mm = CentreLines { e_w, n_s };
        let [nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s] = lines_mm;
        Self {
            name: name.to_owned(),
            lines_mm: UnionJackLines { nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s },
            closures_mm,
            flatness_mm,
        }
    }
}
