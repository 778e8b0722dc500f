//! Surface plates, each surveyed by a union jack.

use std::collections::HashMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::outcome::PlateOutcome;
use crate::error::{Error, ProblemKind, Problems};
use crate::points::check_name;
use crate::survey::{Mm, Slope, UnionJackLines, check_scale, union_jack};

/// A surface plate that was surveyed by a union jack: two diagonals, four sides and two centre
/// lines.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plate {
    /// The name of the plate.
    pub name: String,
    /// The readings along each line, an even number of them.
    pub lines: UnionJackLines,
    /// The slope that a reading of 1 stands for.
    pub unit: Slope,
    /// The distance between stations, which is the length of the foot.
    pub step: Mm,
}

/// Works the plates out.
pub(super) fn run(plates: &[Plate]) -> Result<Vec<PlateOutcome>, Error> {
    let mut found = Problems::default();
    let mut names = HashMap::new();
    for (at, plate) in plates.iter().enumerate() {
        let field = format!("plates[{at}]");
        let name = format!("{field}.name");
        check_name(&name, &plate.name, &mut found);
        if let Some(other) = names.insert(plate.name.as_str(), at) {
            let expected = format!("a name that plates[{other}] does not have");
            found.add(ProblemKind::Duplicate, name, format!("{:?}", plate.name), expected);
        }
        found.take(
            plate.lines.check_readings().map_err(|error| error.within("lines").within(&field)),
        );
        found.take(check_scale(plate.unit, plate.step).map_err(|error| error.within(&field)));
    }
    found.into_result()?;
    let outcome = |plate: &Plate| {
        let found = union_jack(&plate.lines, plate.unit, plate.step)?;
        Ok(PlateOutcome::new(&plate.name, found))
    };
    plates.iter().map(outcome).collect()
}
