//! Limits that a document of a federation asks for.
//!
//! Most documents give sizes and heights of tables and no number for level or flat: the snooker
//! rules of the WPBSA, the carom rules of the UMB ("completely smooth and horizontal") and the
//! blackball rules of the WEPF among them. So they are no presets.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{LimitKind, Limits};
use crate::error::{Error, ProblemKind};
use crate::length::Length;

/// A published document that limits are taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[non_exhaustive]
pub enum Preset {
    /// The World Pool-Billiard Association's "Tables & Equipment Specifications", effective November
    /// 2001, §2-5: 0.020 in lengthwise, 0.010 in across, joints in one plane within 0.005 in.
    ///
    /// The plain-text copies print "+ .020". It is read here as ±, since a flatness has no direction.
    /// The document limits *flatness* and gives no figure for level. These limits ask the same figures
    /// of the heights themselves, line by line. There is no overall limit among them: tilts add up from
    /// line to line, so ask for an overall limit where the bed must be level.
    #[serde(rename = "WPA 2001")]
    Wpa2001,
}

impl Preset {
    /// All presets, each with its name and the document that it is taken from.
    pub const ALL: [(Self, &'static str, &'static str); 1] = [(
        Self::Wpa2001,
        "WPA 2001",
        "World Pool-Billiard Association, Tables & Equipment Specifications, effective November 2001, §2-5",
    )];

    /// The document.
    pub fn document(self) -> &'static str {
        Self::ALL.iter().find(|(preset, ..)| *preset == self).map_or("", |(.., document)| document)
    }

    /// The limits that it asks for.
    pub fn limits(self) -> Limits {
        let thou = |count: i64| Some(Length::from_nm(25_400 * count));
        match self {
            Self::Wpa2001 => Limits {
                along: thou(20),
                across: thou(10),
                joint_step: thou(5),
                by_preset: vec![LimitKind::Along, LimitKind::Across, LimitKind::JointStep],
                ..Limits::default()
            },
        }
    }
}

impl fmt::Display for Preset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name =
            Self::ALL.iter().find(|(preset, ..)| preset == self).map_or("", |(_, name, _)| name);
        f.pad(name)
    }
}

impl FromStr for Preset {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let known = Self::ALL.iter().find(|(_, name, _)| *name == text);
        known.map(|(preset, ..)| *preset).ok_or_else(|| {
            let names = Self::ALL.map(|(_, name, _)| format!("{name:?}")).join(", ");
            Error::new(ProblemKind::Value, "preset", format!("{text:?}"), format!("one of {names}"))
        })
    }
}

impl Limits {
    /// These limits, and of a preset those that are not among them.
    pub fn or_preset(&self, preset: Preset) -> Self {
        let asked = preset.limits();
        let mut by_preset = asked.by_preset.clone();
        by_preset.retain(|kind| self.of(*kind).is_none());
        Self {
            overall: self.overall.or(asked.overall),
            along: self.along.or(asked.along),
            across: self.across.or(asked.across),
            joint_step: self.joint_step.or(asked.joint_step),
            by_preset,
            ..self.clone()
        }
    }
}
