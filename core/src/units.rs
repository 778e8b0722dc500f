//! The units in which lengths are written for people.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::length::Length;

/// The units of a sheet or a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres.
    Metric,
    /// Inches. A piece that is no whole ten-thousandth of an inch has its millimetres beside them.
    Inch,
    /// Both. Figures are in millimetres and in inches; each piece is named as on its box, with the
    /// other unit beside it.
    #[default]
    Both,
}

/// One of the units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unit {
    Mm,
    In,
}

impl Units {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
    pub(crate) fn is_default(&self) -> bool {
        *self == Self::default()
    }

    /// The units that figures are written in.
    pub(crate) fn each(self) -> &'static [Unit] {
        match self {
            Self::Metric => &[Unit::Mm],
            Self::Inch => &[Unit::In],
            Self::Both => &[Unit::Mm, Unit::In],
        }
    }

    /// The thickness of a piece: `3.175 mm`, `1/8 in`, `1/8 in (3.175 mm)`.
    pub(crate) fn thickness(self, length: Length) -> String {
        let metric = length.to_string();
        match (self, in_inches(length)) {
            (Self::Metric, _) => metric,
            (Self::Inch, Some(inches)) => inches,
            (Self::Inch, None) => format!("{} ({metric})", length.to_inch_string()),
            (Self::Both, Some(inches)) => format!("{inches} ({metric})"),
            (Self::Both, None) => format!("{metric} ({})", length.to_inch_string()),
        }
    }

    /// The pieces of a stack, equal ones together: `2 × 1/8 in`, `0.010 in`.
    pub(crate) fn stack(self, shims: &[Length]) -> Vec<String> {
        let run = |run: &[Length]| {
            let times = if run.len() > 1 { format!("{} × ", run.len()) } else { String::new() };
            format!("{times}{}", self.thickness(run[0]))
        };
        shims.chunk_by(|a, b| a == b).map(run).collect()
    }

    /// A figure with its unit or units: `±0.047 mm = ±0.0019 in`.
    pub(crate) fn figure(self, sign: &str, mm: f64) -> String {
        self.equal(|unit| format!("{sign}{} {}", unit.plain(mm), unit.name()))
    }

    /// A figure of a surface plate: `4.53 µm = 178.4 µin`.
    pub(crate) fn fine(self, mm: f64) -> String {
        self.equal(|unit| match unit {
            Unit::Mm => format!("{:.2} µm", mm * 1e3),
            Unit::In => format!("{:.1} µin", mm / 25.4e-6),
        })
    }

    /// A figure that nobody knows to the millimetre: `31 mm = 1.23 in`.
    pub(crate) fn rough(self, mm: f64) -> String {
        self.equal(|unit| match unit {
            Unit::Mm => format!("{mm:.0} mm"),
            Unit::In => format!("{:.2} in", mm / 25.4),
        })
    }

    /// The same in each unit.
    fn equal(self, figure: impl Fn(&Unit) -> String) -> String {
        self.each().iter().map(figure).collect::<Vec<_>>().join(" = ")
    }
}

impl Unit {
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::In => "in",
        }
    }

    /// How many millimetres it has.
    pub(crate) fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::In => 25.4,
        }
    }

    /// A figure to the micrometre or the ten-thousandth of an inch.
    pub(crate) fn plain(self, mm: f64) -> String {
        match self {
            Self::Mm => format!("{mm:.3}"),
            Self::In => format!("{:.4}", mm / 25.4),
        }
    }

    /// The same with its sign, but none on what rounds to nothing.
    pub(crate) fn signed(self, mm: f64) -> String {
        let plain = self.plain(mm);
        let digits = plain.trim_start_matches('-');
        match digits.bytes().all(|byte| matches!(byte, b'0' | b'.')) {
            true => digits.to_owned(),
            false if mm > 0.0 => format!("+{plain}"),
            false => plain,
        }
    }
}

/// What stands on the box of a piece made in inches: whole 64ths or ten-thousandths of an inch.
fn in_inches(length: Length) -> Option<String> {
    const PER_64TH: i64 = 396_875;
    let nm = length.nm();
    if nm % PER_64TH == 0 && (1..64).contains(&(nm / PER_64TH)) {
        let mut fraction = (nm / PER_64TH, 64);
        while fraction.0 % 2 == 0 {
            fraction = (fraction.0 / 2, fraction.1 / 2);
        }
        return Some(format!("{}/{} in", fraction.0, fraction.1));
    }
    (nm % 2_540 == 0).then(|| length.to_inch_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thicknesses_are_named_as_on_their_boxes() {
        for (text, inch, both) in [
            ("1/8 in", "1/8 in", "1/8 in (3.175 mm)"),
            ("3/64 in", "3/64 in", "3/64 in (1.190625 mm)"),
            ("0.125 in", "1/8 in", "1/8 in (3.175 mm)"),
            ("10 thou", "0.010 in", "0.010 in (0.254 mm)"),
            ("0.0025 in", "0.0025 in", "0.0025 in (0.0635 mm)"),
            ("1 in", "1.000 in", "1.000 in (25.4 mm)"),
            ("0.1 mm", "0.0039 in (0.1 mm)", "0.1 mm (0.0039 in)"),
            ("0.1016 mm", "0.004 in", "0.004 in (0.1016 mm)"),
        ] {
            let length: Length = text.parse().unwrap();
            assert_eq!(Units::Inch.thickness(length), inch);
            assert_eq!(Units::Both.thickness(length), both);
            assert_eq!(Units::Metric.thickness(length), length.to_string());
        }
    }

    #[test]
    fn figures_have_a_sign_unless_they_round_to_nothing() {
        for (mm, metric, inch) in [
            (0.0004, "0.000", "0.0000"),
            (-0.0004, "0.000", "0.0000"),
            (0.001, "+0.001", "0.0000"),
            (-2.54, "-2.540", "-0.1000"),
            (f64::NAN, "NaN", "NaN"),
        ] {
            assert_eq!(
                (Unit::Mm.signed(mm).as_str(), Unit::In.signed(mm).as_str()),
                (metric, inch)
            );
        }
        assert_eq!(Units::Both.figure("±", 0.254), "±0.254 mm = ±0.0100 in");
        assert_eq!(Units::Both.fine(0.00254), "2.54 µm = 100.0 µin");
        assert_eq!(Units::Both.rough(31.2), "31 mm = 1.23 in");
    }
}
