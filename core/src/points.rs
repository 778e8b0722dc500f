//! Points in plan: where the legs stand and where the slates bear.

use std::collections::HashMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;

/// What stands or bears at a point.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// A leg of the frame on the floor. The height of the point is the height of the floor.
    Leg,
    /// A point of the named slate piece. The height of the point is the height of the top of the bed.
    Slate(String),
}

impl Role {
    /// Whether a point of this role is one of a stage, which is `legs` or `slates`.
    pub(crate) fn is_of(&self, stage: &str) -> bool {
        (*self == Self::Leg) == (stage == "legs")
    }
}

/// A point of the job: id, position in plan, and role. x runs along the bed, y across.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The name by which readings, joints and plans refer to the point.
    pub id: String,
    /// The position along the length of the bed.
    pub x: Length,
    /// The position across the bed.
    pub y: Length,
    /// What stands or bears at the point.
    pub role: Role,
    /// Whatever you keep with the point. A run leaves it as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meta: Option<Value>,
}

/// The most points of a job.
pub(crate) const MOST_POINTS: usize = 1_000;

/// Longer names than this do not fit a sheet.
const MOST_CHARS: usize = 64;

/// Notes a name that cannot be written on a sheet.
pub(crate) fn check_name(field: &str, name: &str, found: &mut Problems) {
    if name.is_empty() || name.chars().count() > MOST_CHARS || name.contains(char::is_control) {
        let expected =
            format!("a name of 1 to {MOST_CHARS} characters, none of them control characters");
        found.add(ProblemKind::Value, field, format!("{name:?}"), expected);
    }
}

/// Where each id stands in a list.
pub(crate) type Index<'a> = HashMap<&'a str, usize>;

/// Finds the points by id; every id must be there once, and every leg have a place of its own.
///
/// # Errors
/// Ids that are empty or given twice, places given twice, coordinates out of range.
pub(crate) fn index(points: &[Point]) -> Result<Index<'_>, Error> {
    let mut found = Problems::default();
    let mut by_id = Index::new();
    let mut places: HashMap<(Length, Length), &str> = HashMap::new();
    for (at, point) in points.iter().enumerate() {
        check_name(&format!("points[{at}].id"), &point.id, &mut found);
        if let Some(other) = by_id.insert(&point.id, at) {
            let expected = format!("an id that points[{other}] does not have");
            found.add(
                ProblemKind::Duplicate,
                format!("points[{at}].id"),
                format!("{:?}", point.id),
                expected,
            );
        }
        if let Role::Slate(piece) = &point.role {
            check_name(&format!("points[{at}].role.slate"), piece, &mut found);
        }
        // Ends of two slates meet over one place of the frame, but two legs cannot stand in one.
        if point.role == Role::Leg
            && let Some(other) = places.insert((point.x, point.y), &point.id)
        {
            found.add(
                ProblemKind::Duplicate,
                format!("points[{at}]"),
                format!("x = {}, y = {}", point.x, point.y),
                format!("a place where {other:?} does not stand"),
            );
        }
    }
    found.into_result()?;
    Ok(by_id)
}
