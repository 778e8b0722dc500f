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

    /// The thickness of a piece: `3.175 mm`, `1/8 in`, `1/8 in (3.175 mm)`, `1/32 in (0.794 mm)`.
    pub(crate) fn thickness(self, length: Length) -> String {
        let metric = length.to_string();
        match (self, in_inches(length)) {
            (Self::Metric, _) => metric,
            (Self::Inch, Some(inches)) => inches,
            (Self::Inch, None) => format!("{} ({metric})", length.to_inch_string()),
            (Self::Both, Some(inches)) => format!("{inches} ({})", short_mm(length)),
            (Self::Both, None) => format!("{metric} ({})", length.to_inch_string()),
        }
    }

    /// A figure with its unit or units: `±0.047 mm (±0.0019 in)`.
    pub(crate) fn figure(self, sign: &str, mm: f64) -> String {
        self.equal(|unit| format!("{sign}{} {}", unit.plain(mm), unit.name()))
    }

    /// A figure with its sign: `+0.047 mm (+0.0019 in)`.
    pub(crate) fn signed(self, mm: f64) -> String {
        self.equal(|unit| format!("{} {}", unit.signed(mm), unit.name()))
    }

    /// What was found and what is allowed, as [`figure`](Self::figure) writes them, in each unit with as
    /// many digits as it takes to see that more was found, where more was.
    pub(crate) fn against(self, sign: &str, found_mm: f64, allowed_mm: f64) -> [String; 2] {
        let each: Vec<_> = (self.each().iter())
            .map(|unit| {
                let named = |figure| format!("{sign}{figure} {}", unit.name());
                unit.against(found_mm, allowed_mm).map(named)
            })
            .collect();
        [0, 1].map(|at| beside(each.iter().map(|pair| pair[at].clone())))
    }

    /// A slope with its sign: `+0.125 mm/m (+0.0015 in/ft)`.
    pub(crate) fn slope(self, mm_per_m: f64) -> String {
        self.equal(|unit| format!("{} {}", unit.signed_slope(mm_per_m), unit.slope_name()))
    }

    /// How steep something is: `7.000 mm/m (0.0840 in/ft)`.
    pub(crate) fn steepness(self, mm_per_m: f64) -> String {
        self.equal(|unit| {
            let figure = unit.signed_slope(mm_per_m);
            format!("{} {}", figure.trim_start_matches('+'), unit.slope_name())
        })
    }

    /// A figure of a surface plate: `4.53 µm (178.4 µin)`.
    pub(crate) fn fine(self, mm: f64) -> String {
        self.equal(|unit| match unit {
            Unit::Mm => format!("{:.2} µm", mm * 1e3),
            Unit::In => format!("{:.1} µin", mm / 25.4e-6),
        })
    }

    /// A figure that nobody knows to the millimetre: `31 mm (1.23 in)`.
    pub(crate) fn rough(self, mm: f64) -> String {
        self.equal(|unit| match unit {
            Unit::Mm => format!("{mm:.0} mm"),
            Unit::In => format!("{:.2} in", mm / 25.4),
        })
    }

    /// The same in each unit.
    fn equal(self, figure: impl Fn(&Unit) -> String) -> String {
        beside(self.each().iter().map(figure))
    }
}

/// The first of some figures, and the other in brackets.
fn beside(figures: impl IntoIterator<Item = String>) -> String {
    figures.into_iter().reduce(|text, other| format!("{text} ({other})")).unwrap_or_default()
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
        self.figure(mm, self.digits())
    }

    fn digits(self) -> usize {
        match self {
            Self::Mm => 3,
            Self::In => 4,
        }
    }

    fn figure(self, mm: f64, digits: usize) -> String {
        format!("{:.digits$}", mm / self.mm())
    }

    /// What was found and what is allowed, with as many digits as it takes to see that more was found,
    /// where more was.
    pub(crate) fn against(self, found_mm: f64, allowed_mm: f64) -> [String; 2] {
        // Half a nanometre shows at the eighth decimal of an inch.
        const MORE: usize = 6;
        let pair =
            |more: usize| [found_mm, allowed_mm].map(|mm| self.figure(mm, self.digits() + more));
        let tells = |[found, allowed]: &[String; 2]| found != allowed || found_mm <= allowed_mm;
        (0..MORE).map(pair).find(tells).unwrap_or_else(|| pair(MORE))
    }

    pub(crate) fn slope_name(self) -> &'static str {
        match self {
            Self::Mm => "mm/m",
            Self::In => "in/ft",
        }
    }

    /// A slope with its sign, but none on what rounds to nothing.
    pub(crate) fn signed_slope(self, mm_per_m: f64) -> String {
        match self {
            Self::Mm => self.signed(mm_per_m),
            // 12 in/ft are 1000 mm/m; `signed` divides by the millimetres of an inch.
            Self::In => self.signed(mm_per_m * 12.0 / 1000.0 * self.mm()),
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

/// Millimetres as they are, unless they go on beyond the tenth of a micrometre: then to the micrometre.
fn short_mm(length: Length) -> String {
    if length.nm() % 100 == 0 { length.to_string() } else { format!("{:.3} mm", length.mm()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thicknesses_are_named_as_on_their_boxes() {
        for (text, inch, both) in [
            ("1/8 in", "1/8 in", "1/8 in (3.175 mm)"),
            ("3/64 in", "3/64 in", "3/64 in (1.191 mm)"),
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
    fn a_limit_that_is_exceeded_never_looks_met() {
        let against = |found, allowed| Units::Both.against("±", found, allowed);
        assert_eq!(against(0.04, 0.06), ["±0.040 mm (±0.0016 in)", "±0.060 mm (±0.0024 in)"]);
        assert_eq!(against(0.06, 0.06), ["±0.060 mm (±0.0024 in)"; 2]);
        let [found, allowed] = against(0.0434, 0.0430);
        assert_eq!(found, "±0.0434 mm (±0.00171 in)");
        assert_eq!(allowed, "±0.0430 mm (±0.00169 in)");
        assert_eq!(Units::Metric.against("", 0.050_000_5, 0.05), ["0.050001 mm", "0.050000 mm"]);
    }

    #[test]
    fn slopes_are_in_the_units_of_the_sheet() {
        assert_eq!(Units::Inch.slope(-0.125), "-0.0015 in/ft");
        assert_eq!(Units::Both.slope(0.5), "+0.500 mm/m (+0.0060 in/ft)");
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
        assert_eq!(Units::Both.figure("±", 0.254), "±0.254 mm (±0.0100 in)");
        assert_eq!(Units::Both.fine(0.00254), "2.54 µm (100.0 µin)");
        assert_eq!(Units::Both.rough(31.2), "31 mm (1.23 in)");
    }
}
