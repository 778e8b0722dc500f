//! Exact lengths in whole nanometres.
//!
//! The inch is 25.4 mm exactly (1959), so a ten-thousandth of an inch is 2540 nm and inch shims
//! mix with metric ones without rounding.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Mul, Neg, Sub};
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::error::{Error, ProblemKind};

const NM_PER_MM: i64 = 1_000_000;
const NM_PER_IN: i64 = 25_400_000;

/// An exact length: a whole number of nanometres.
///
/// Parses a number with a unit: `"0.010 in"`, `"1/64 in"`, `"1 1/2 in"`, `"10 thou"`, `"0.25 mm"`,
/// `"40 um"`; a bare number is refused. What lies between two nanometres goes to the nearer one,
/// half a nanometre away from zero. Sums stop at the ends of the `i64` range instead of wrapping.
///
/// ```
/// use truebed::Length;
/// let ten_thou: Length = "0.010 in".parse()?;
/// assert_eq!(ten_thou, "0.254 mm".parse()?);
/// assert_eq!(ten_thou.to_string(), "0.254 mm");
/// assert!("0.010".parse::<Length>().is_err());
/// # Ok::<(), truebed::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Length(i64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);
    /// The longest length that can be read, 1000 km either way: sums of thousands still fit.
    pub const MAX: Self = Self(1_000_000_000 * NM_PER_MM);

    /// A length of whole nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Self(nm)
    }

    /// The length in nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// The nearest whole number of nanometres to a length in millimetres.
    ///
    /// # Errors
    /// Not a finite number, or beyond [`Length::MAX`] either way.
    pub fn from_mm(mm: f64) -> Result<Self, Error> {
        let nm = (mm * NM_PER_MM as f64).round();
        if nm.abs() <= Self::MAX.0 as f64 {
            Ok(Self(nm as i64))
        } else {
            Err(Error::new(ProblemKind::Value, "length", format!("{mm} mm"), RANGE))
        }
    }

    /// The length in millimetres.
    pub fn mm(self) -> f64 {
        self.0 as f64 / NM_PER_MM as f64
    }

    /// The length in inches.
    pub fn inches(self) -> f64 {
        self.0 as f64 / NM_PER_IN as f64
    }

    /// The length without its sign.
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }

    /// The length as inches, to a ten-thousandth or, where that is exact and shorter, to fewer
    /// places: `0.0025 in`.
    pub fn to_inch_string(self) -> String {
        let text = format!("{:.4}", self.inches());
        let text = text.strip_suffix('0').unwrap_or(&text);
        format!("{} in", if text == "-0.000" { "0.000" } else { text })
    }
}

impl fmt::Display for Length {
    /// The exact length in millimetres: `0.254 mm`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let nm = self.0.unsigned_abs();
        let per_mm = NM_PER_MM.unsigned_abs();
        let sign = if self.0 < 0 { "-" } else { "" };
        let places = format!("{:06}", nm % per_mm);
        let places = places.trim_end_matches('0');
        let point = if places.is_empty() { "" } else { "." };
        f.pad(&format!("{sign}{}{point}{places} mm", nm / per_mm))
    }
}

/// The difference between the longest and the shortest; nothing where there are none.
pub(crate) fn range(lengths: impl Iterator<Item = Length>) -> Length {
    let ends = lengths.fold(None, |ends, length| match ends {
        None => Some((length, length)),
        Some((low, high)) => Some((length.min(low), length.max(high))),
    });
    ends.map_or(Length::ZERO, |(low, high)| high - low)
}

pub(crate) const RANGE: &str = "a length within ±1000 km";
pub(crate) const FORM: &str = "a number with a unit (nm, um, mm, cm, m, thou, in, ft), as in \"0.010 in\", \
                    \"1/64 in\" or \"0.25 mm\"";

impl FromStr for Length {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let refuse = || Error::new(ProblemKind::Length, "length", format!("{text:?}"), RANGE);
        let (nm, denominator) = nanometres(text)?;
        let half = if nm < 0 { -denominator } else { denominator };
        let nearest = nm
            .checked_mul(2)
            .and_then(|twice| twice.checked_add(half))
            .map(|sum| sum / (2 * denominator))
            .ok_or_else(refuse)?;
        match i64::try_from(nearest) {
            Ok(nm) if nm.abs() <= Self::MAX.0 => Ok(Self(nm)),
            _ => Err(refuse()),
        }
    }
}

/// Reads a number with a unit as nanometres, a numerator over a positive denominator.
pub(crate) fn nanometres(text: &str) -> Result<(i128, i128), Error> {
    let refuse =
        |expected: &str| Error::new(ProblemKind::Length, "length", format!("{text:?}"), expected);
    let (number, unit) = number_and_unit(text);
    let nm_per_unit: i128 = match unit {
        "nm" => 1,
        "um" | "µm" | "μm" => 1_000,
        "mm" => NM_PER_MM.into(),
        "cm" => 10 * i128::from(NM_PER_MM),
        "m" => 1_000 * i128::from(NM_PER_MM),
        "thou" => 25_400,
        "in" | "inch" | "inches" | "\"" | "″" => NM_PER_IN.into(),
        "ft" => 12 * i128::from(NM_PER_IN),
        _ => return Err(refuse(FORM)),
    };
    let (numerator, denominator) = ratio(number).ok_or_else(|| refuse(FORM))?;
    let nm = numerator.checked_mul(nm_per_unit).ok_or_else(|| refuse(RANGE))?;
    Ok((nm, denominator))
}

/// Parts a number from the unit behind it.
pub(crate) fn number_and_unit(text: &str) -> (&str, &str) {
    let trimmed = text.trim();
    let unit_at = trimmed
        .char_indices()
        .find(|&(at, c)| c.is_alphabetic() && !is_exponent(trimmed, at) || "\"″′°%".contains(c))
        .map_or(trimmed.len(), |(at, _)| at);
    let (number, unit) = trimmed.split_at(unit_at);
    (number.trim(), unit)
}

/// Whether the letter at `at` is the `e` of `1e-3`.
fn is_exponent(text: &str, at: usize) -> bool {
    let (before, after) = text.split_at(at);
    let mut after = after.chars();
    matches!(after.next(), Some('e' | 'E'))
        && before.ends_with(|c: char| c.is_ascii_digit() || c == '.')
        && after.next().is_some_and(|c| c.is_ascii_digit() || "+-".contains(c))
}

/// Reads `3`, `0.25`, `2.5e-3`, `1/64` or `1 1/2`, signed, as a numerator over a positive
/// denominator.
pub(crate) fn ratio(text: &str) -> Option<(i128, i128)> {
    let (negative, text) = match text.strip_prefix(['-', '+', '−']) {
        Some(rest) => (!text.starts_with('+'), rest),
        None => (false, text),
    };
    let (numerator, denominator) = if let Some((above, below)) = text.split_once('/') {
        let (whole, above) = above.trim().rsplit_once([' ', '-']).unwrap_or(("0", above.trim()));
        let below = digits(below.trim()).filter(|&below| below > 0)?;
        (digits(whole.trim())?.checked_mul(below)?.checked_add(digits(above)?)?, below)
    } else {
        decimal(text)?
    };
    Some((if negative { -numerator } else { numerator }, denominator))
}

/// Reads an unsigned decimal number with an optional exponent.
fn decimal(text: &str) -> Option<(i128, i128)> {
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, exponent.parse::<i32>().ok()?),
        None => (text, 0),
    };
    /// No unit is so large that places beyond these could reach a nanometre.
    const PLACES: usize = 24;
    let (whole, places) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let all = format!("{whole}{places}");
    if all.is_empty() || !all.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let places = places[..places.len().min(PLACES)].trim_end_matches('0');
    let number = digits(&format!("{whole}{places}"))?;
    let shift = exponent.checked_sub(i32::try_from(places.len()).ok()?)?;
    let ten_to = |power: u32| 10_i128.checked_pow(power);
    if shift >= 0 {
        return Some((number.checked_mul(ten_to(shift.unsigned_abs())?)?, 1));
    }
    // Twice the denominator must have room too.
    match ten_to(shift.unsigned_abs()).filter(|power| *power < i128::MAX / 2) {
        Some(denominator) => Some((number, denominator)),
        // Below a unit by more powers of ten than an i128 has: nothing, in any unit.
        None if number < ten_to(20)? => Some((0, 1)),
        None => None,
    }
}

fn digits(text: &str) -> Option<i128> {
    let plain = !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

impl Add for Length {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Length {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Length {
    type Output = Self;
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Mul<i64> for Length {
    type Output = Self;
    fn mul(self, times: i64) -> Self {
        Self(self.0.saturating_mul(times))
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl de::Visitor<'_> for Visitor {
            type Value = Length;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(FORM)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Length, E> {
                text.parse().map_err(|_| E::invalid_value(de::Unexpected::Str(text), &self))
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

impl JsonSchema for Length {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Length".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A length: a number with a unit (nm, um, mm, cm, m, thou, in, ft).",
            "examples": ["0.010 in", "1/64 in", "10 thou", "0.25 mm", "40 um"],
            "pattern": "^\\s*[-+−]?[0-9. /eE+-]+\\s*(nm|um|µm|μm|mm|cm|m|thou|in|inch|inches|\"|″|ft)\\s*$"
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn nm(text: &str) -> i64 {
        text.parse::<Length>().unwrap().nm()
    }

    #[test]
    fn reads_every_unit_exactly() {
        // 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
        for (text, expected) in [
            ("0.010 in", 254_000),
            ("10 thou", 254_000),
            ("1/64 in", 396_875),
            ("1 1/2 in", 38_100_000),
            ("-1-1/2in", -38_100_000),
            ("2\"", 50_800_000),
            ("1 ft", 304_800_000),
            ("0.25 mm", 250_000),
            (".5mm", 500_000),
            ("40 um", 40_000),
            ("40 µm", 40_000),
            ("+7 nm", 7),
            ("1e-3 mm", 1_000),
            ("2.5E+1 mm", 25_000_000),
            ("1.2 m", 1_200_000_000),
            ("3 cm", 30_000_000),
            ("1/3 in", 8_466_667),
            ("-1/128 in", -198_438),
            ("1e-50 mm", 0),
            ("1e-37 mm", 0),
            ("1e-38 mm", 0),
            ("0.33333333333333333333333333333333333333333333333333 mm", 333_333),
        ] {
            assert_eq!(nm(text), expected, "{text}");
        }
    }

    #[test]
    fn refuses_what_is_not_a_length() {
        for text in [
            "",
            "10",
            "0.010",
            "in",
            "mm 3",
            "1//2 in",
            "1/0 in",
            "1/-2 in",
            "1.2.3 mm",
            "3 furlong",
            "1e99 mm",
            "nan mm",
            "inf mm",
            "1e400000000000 mm",
            "99999999999999999999999999999999999999 m",
            "1001 km",
            "1 000 mm",
            "--1 mm",
            "0x10 mm",
            "٣ mm",
            "1e mm",
            "1,5 mm",
        ] {
            let error = text.parse::<Length>().unwrap_err();
            assert_eq!(error.problems()[0].kind, ProblemKind::Length, "{text}");
            assert!(error.to_string().contains("expected"), "{error}");
        }
    }

    #[test]
    fn prints_inches_and_millimetres() {
        let length: Length = "0.0025 in".parse().unwrap();
        assert_eq!(length.to_string(), "0.0635 mm");
        assert_eq!(length.to_inch_string(), "0.0025 in");
        assert_eq!(Length::from_nm(254_000).to_inch_string(), "0.010 in");
        assert_eq!(Length::from_nm(-1).to_inch_string(), "0.000 in");
        assert_eq!(Length::from_nm(i64::MIN).abs().nm(), i64::MAX);
    }

    #[test]
    fn millimetres_must_be_finite_and_in_range() {
        for mm in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1.1e9] {
            assert!(Length::from_mm(mm).is_err(), "{mm}");
        }
        assert_eq!(Length::from_mm(0.1 + 0.2).unwrap().nm(), 300_000);
    }

    proptest! {
        #[test]
        fn what_is_printed_reads_back(nm in -Length::MAX.0..=Length::MAX.0) {
            let length = Length::from_nm(nm);
            prop_assert_eq!(length.to_string().parse::<Length>().unwrap(), length);
            let json = serde_json::to_string(&length).unwrap();
            prop_assert_eq!(serde_json::from_str::<Length>(&json).unwrap(), length);
        }

        #[test]
        fn any_text_is_read_or_refused(text in "\\PC*") {
            let _ = text.parse::<Length>();
        }

        #[test]
        fn any_number_and_unit_is_read_or_refused(
            text in "([-+0-9./ eE]{0,40}|[0-9]{1,3}([.][0-9]{0,60})?e-?[0-9]{1,2})(in|mm|\")",
        ) {
            let _ = text.parse::<Length>();
        }
    }
}
