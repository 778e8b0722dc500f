//! One observation, and the table of its kinds.
//!
//! The table is where the columns of tables, the arguments of calls and what is refused of either
//! come from; see [`ReadingKind::ALL`].

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::divisions::Divisions;
use super::fields::{Field, ReadingFields, optional};
use super::instrument::{Instrument, a_level, is_a_level};
use super::measured::{Mm, Slope};

/// One observation. Where its standard uncertainty σ is not given, the default of its kind enters.
///
/// | kind | what it says | default σ (common practice) |
/// |---|---|---|
/// | height, without a set-up | the height of a point, typed in | none: it counts as exact |
/// | height, from a set-up | height of the instrument, less or plus that of the point | staff 0.3 mm, water level and laser 0.5 mm, indicator 0.005 mm |
/// | rise | *b* is higher than *a* | 0.42 mm, √2 staff readings |
/// | bubble | slope from *a* to *b* in divisions of a spirit level | 0.2 divisions a step |
/// | slope | slope from *a* to *b* on an electronic level (inclinometer) | 0.05° |
/// | gap | clearance at a point under a straightedge that rests on *a* and *b* | 0.0144 mm, leaves of 0.05 mm / √12 |
/// | leg gap | clearance under a leg that floats, while the frame stands on the others | as gap |
/// | slate gap | clearance below a slate at a support that it does not touch | as gap |
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
#[non_exhaustive]
pub enum Reading {
    /// The height of a point: typed in, or seen from a set-up of an instrument.
    Height {
        /// Id of the point.
        point: String,
        /// Height of the point, positive upwards; from a set-up, what the instrument reads at it.
        value: Mm,
        /// Standard uncertainty of the reading.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Mm>,
        /// Name of the set-up, whose own height is unknown. A height typed in has none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        setup: Option<String>,
        /// What reads from the set-up. The default is a staff.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instrument: Option<Instrument>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// How much higher `b` is than `a`.
    Rise {
        /// Id of the point that the rise starts from.
        a: String,
        /// Id of the point at the other end.
        b: String,
        /// Height of `b` minus height of `a`.
        value: Mm,
        /// Standard uncertainty of the rise.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Mm>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// A spirit level between two points, or stepped along the line between them.
    ///
    /// The rise is the mean of the divisions × sensitivity × span. The bubble runs to the higher
    /// end: divisions count as positive towards `b`.
    Bubble {
        /// Id of the point that the line starts from.
        a: String,
        /// Id of the point at the other end.
        b: String,
        /// Divisions off the middle towards `b`: one number, or one for each step.
        divisions: Divisions,
        /// Slope for one division.
        sensitivity: Slope,
        /// Length of the level's base. Where it is shorter than the span, the steps must reach from
        /// `a` to `b`; the last one may fall short by less than a base.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        base: Option<Mm>,
        /// Horizontal distance from `a` to `b`. The default follows from their positions in plan, or is
        /// steps × base.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        span: Option<Mm>,
        /// Name of the level. Each level has a zero error of its own.
        #[serde(default = "a_level", skip_serializing_if = "is_a_level")]
        level: String,
        /// Whether the level was turned end for end.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        turned: bool,
        /// Standard uncertainty of one step, in divisions.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<f64>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// An electronic level (inclinometer) between two points: its display shows the slope.
    Slope {
        /// Id of the point that the slope starts from.
        a: String,
        /// Id of the point at the other end.
        b: String,
        /// The slope, positive where `b` is higher.
        value: Slope,
        /// Horizontal distance from `a` to `b`. The default follows from their positions in plan.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        span: Option<Mm>,
        /// Name of the level. Each level has a zero error of its own.
        #[serde(default = "a_level", skip_serializing_if = "is_a_level")]
        level: String,
        /// Whether the level was turned end for end.
        #[serde(default, skip_serializing_if = "std::ops::Not::not")]
        turned: bool,
        /// Standard uncertainty of the slope.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Slope>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// The gap at a point under a straightedge.
    Gap {
        /// Id of the point under the straightedge.
        point: String,
        /// Id of the point on which the straightedge rests at one end.
        a: String,
        /// Id of the point on which the straightedge rests at the other end.
        b: String,
        /// Clearance between the straightedge and the point; below zero where the point stands
        /// out, as under a straightedge on two blocks.
        value: Mm,
        /// Where the point lies on the way from `a` (0) to `b` (1). The default follows from their
        /// positions in plan.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<f64>,
        /// Standard uncertainty of the gap.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Mm>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// The gap under a leg that floats, while the rigid frame stands on other legs. All other
    /// readings at this leg were taken on the frame.
    LegGap {
        /// Id of the leg.
        point: String,
        /// Clearance between the leg and the floor.
        value: Mm,
        /// Standard uncertainty of the gap.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Mm>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
    /// The gap below a slate at a support that it does not touch, read with feelers. All other
    /// readings at this point were taken on the slate, and the height of the point is that of the
    /// support.
    SlateGap {
        /// Id of the slate point.
        point: String,
        /// Clearance between the slate and its support.
        value: Mm,
        /// Standard uncertainty of the gap.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        sigma: Option<Mm>,
        /// A remark of your own. It is kept and nothing more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        note: Option<String>,
    },
}

/// A kind of reading: its name in documents and tables, and its fields.
#[derive(Debug, Clone, Copy)]
#[non_exhaustive]
pub struct ReadingKind {
    /// The name, such as `leg-gap`.
    pub name: &'static str,
    /// The fields that it needs.
    pub needed: &'static [&'static str],
    /// The fields that it may have.
    pub optional: &'static [&'static str],
    read: fn(&mut dyn ReadingFields) -> Option<Reading>,
}

/// The names of a variant's fields, those after the semicolon optional, make a kind of reading. The
/// types are those of the variant.
macro_rules! kinds {
    ($($name:literal => $Kind:ident { $($needed:ident),*; $($optional:ident),* })*) => {
        &[$(ReadingKind {
            name: $name,
            needed: &[$(stringify!($needed)),*],
            optional: &[$(stringify!($optional)),*],
            read: |fields| {
                $(let $needed = Field::read(fields, stringify!($needed));)*
                $(let $optional = optional(fields, stringify!($optional));)*
                Some(Reading::$Kind { $($needed: $needed?,)* $($optional),* })
            },
        }),*]
    };
}

impl ReadingKind {
    /// Every kind.
    pub const ALL: &[Self] = kinds! {
        "height" => Height { point, value; sigma, setup, instrument, note }
        "rise" => Rise { a, b, value; sigma, note }
        "bubble" => Bubble { a, b, divisions, sensitivity; base, span, level, turned, sigma, note }
        "slope" => Slope { a, b, value; span, level, turned, sigma, note }
        "gap" => Gap { point, a, b, value; sigma, at, note }
        "leg-gap" => LegGap { point, value; sigma, note }
        "slate-gap" => SlateGap { point, value; sigma, note }
    };

    /// Every column of a table of readings, in the order in which messages list them.
    pub(super) const COLUMNS: [&str; 16] = [
        "kind",
        "point",
        "a",
        "b",
        "value",
        "sigma",
        "setup",
        "instrument",
        "divisions",
        "sensitivity",
        "base",
        "span",
        "level",
        "turned",
        "at",
        "note",
    ];

    /// The kind of that name.
    pub fn named(name: &str) -> Option<&'static Self> {
        Self::ALL.iter().find(|kind| kind.name == name)
    }

    /// The names of all kinds as a message lists them.
    pub fn names() -> String {
        let names: Vec<&str> = Self::ALL.iter().map(|kind| kind.name).collect();
        let (last, others) = names.split_last().unwrap_or((&"", &[]));
        format!("{} or {last}", others.join(", "))
    }

    /// Reads each field of this kind, and makes the reading if all that it needs are there.
    pub fn read(&self, fields: &mut dyn ReadingFields) -> Option<Reading> {
        (self.read)(fields)
    }
}

impl Reading {
    /// A height typed in, mm. Without a σ it counts as exact.
    pub fn height(point: impl Into<String>, mm: f64, sigma_mm: Option<f64>) -> Self {
        let (setup, instrument) = (None, None);
        let sigma = sigma_mm.map(Mm);
        Self::Height { point: point.into(), value: Mm(mm), sigma, setup, instrument, note: None }
    }

    /// What an instrument reads at a point from a set-up, mm.
    pub fn from_setup(
        setup: impl Into<String>,
        instrument: Instrument,
        point: impl Into<String>,
        mm: f64,
        sigma_mm: Option<f64>,
    ) -> Self {
        let (setup, instrument) = (Some(setup.into()), Some(instrument));
        let sigma = sigma_mm.map(Mm);
        Self::Height { point: point.into(), value: Mm(mm), sigma, setup, instrument, note: None }
    }

    /// How much higher `b` is than `a`, mm.
    pub fn rise(
        a: impl Into<String>,
        b: impl Into<String>,
        mm: f64,
        sigma_mm: Option<f64>,
    ) -> Self {
        Self::Rise { a: a.into(), b: b.into(), value: Mm(mm), sigma: sigma_mm.map(Mm), note: None }
    }

    /// The points that the reading names.
    pub(crate) fn points(&self) -> impl Iterator<Item = &str> {
        let [first, second, third]: [Option<&String>; 3] = match self {
            Self::Height { point, .. }
            | Self::LegGap { point, .. }
            | Self::SlateGap { point, .. } => [Some(point), None, None],
            Self::Rise { a, b, .. } | Self::Bubble { a, b, .. } | Self::Slope { a, b, .. } => {
                [Some(a), Some(b), None]
            }
            Self::Gap { point, a, b, .. } => [Some(point), Some(a), Some(b)],
        };
        first.into_iter().chain(second).chain(third).map(String::as_str)
    }

    /// The field that names a point of the reading.
    pub(crate) fn name_of(&self, id: &str) -> &'static str {
        match self {
            Self::Height { .. } | Self::LegGap { .. } => "point",
            Self::Gap { point, .. } if point == id => "point",
            Self::Gap { a, .. }
            | Self::Rise { a, .. }
            | Self::Bubble { a, .. }
            | Self::Slope { a, .. }
                if a == id =>
            {
                "a"
            }
            _ => "b",
        }
    }

    /// What the reading is of, for a person: `A→B`, `A from S`, `P under A–B`.
    pub fn label(&self) -> String {
        match self {
            Self::Height { point, setup: Some(setup), .. } => format!("{point} from {setup}"),
            Self::Height { point, .. } | Self::LegGap { point, .. } => point.clone(),
            Self::SlateGap { point, .. } => format!("slate over {point}"),
            Self::Rise { a, b, .. } | Self::Bubble { a, b, .. } | Self::Slope { a, b, .. } => {
                format!("{a}→{b}")
            }
            Self::Gap { point, a, b, .. } => format!("{point} under {a}–{b}"),
        }
    }

    /// The set-up that the reading names.
    pub(crate) fn setup(&self) -> Option<&str> {
        match self {
            Self::Height { setup, .. } => setup.as_deref(),
            _ => None,
        }
    }

    /// The level that the reading names.
    pub(crate) fn level(&self) -> Option<&str> {
        match self {
            Self::Bubble { level, .. } | Self::Slope { level, .. } => Some(level),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The schema knows the kinds and their fields from the types; the table must say the same.
    #[test]
    fn the_table_has_the_fields_of_the_variants() {
        let schema = schemars::schema_for!(Reading);
        let variants = schema.get("oneOf").and_then(|it| it.as_array()).unwrap();
        assert_eq!(variants.len(), ReadingKind::ALL.len());
        for (variant, kind) in variants.iter().zip(ReadingKind::ALL) {
            assert_eq!(variant["properties"]["kind"]["const"], kind.name);
            let sorted = |mut names: Vec<String>| {
                names.sort();
                names
            };
            let needed = variant["required"].as_array().unwrap().iter();
            let needed = sorted(needed.map(|it| it.as_str().unwrap().to_owned()).collect());
            let named = kind.needed.iter().chain(&["kind"]).map(|&it| it.to_owned()).collect();
            assert_eq!(sorted(named), needed, "{}", kind.name);
            let all = variant["properties"].as_object().unwrap().keys().cloned().collect();
            let named = kind.needed.iter().chain(kind.optional).chain(&["kind"]);
            assert_eq!(
                sorted(named.map(|&it| it.to_owned()).collect()),
                sorted(all),
                "{}",
                kind.name
            );
        }
    }

    #[test]
    fn the_columns_are_those_that_a_kind_has() {
        let of_kinds =
            ReadingKind::ALL.iter().flat_map(|kind| kind.needed.iter().chain(kind.optional));
        let mut named: Vec<&str> = of_kinds.copied().chain(["kind"]).collect();
        named.sort_unstable();
        named.dedup();
        let mut columns = ReadingKind::COLUMNS;
        columns.sort_unstable();
        assert_eq!(columns[..], named);
    }
}
