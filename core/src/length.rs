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
/// `"40 um"`; also `"½ in"`, `"0.010''"`, `"3 ft 4 in"`, `"10 in."`, `"0.25 MM"` and `"5 mil"` (a mil
/// is a thousandth of an inch). A bare number is refused. What lies between two nanometres goes to the nearer one,
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
        let (whole, rest) = (nm / denominator, (nm % denominator).abs());
        // Half of an odd denominator lies between the two.
        let away = if rest >= denominator - rest { nm.signum() } else { 0 };
        match i64::try_from(whole + away) {
            Ok(nm) if nm.abs() <= Self::MAX.0 => Ok(Self(nm)),
            _ => Err(refuse()),
        }
    }
}

/// Reads a number with a unit, or feet and inches, as nanometres: a numerator over a positive
/// denominator.
pub(crate) fn nanometres(text: &str) -> Result<(i128, i128), Error> {
    let refuse =
        |expected: &str| Error::new(ProblemKind::Length, "length", format!("{text:?}"), expected);
    let read = |number: &str, nm_per_unit: i128| {
        let (numerator, denominator) =
            ratio(number).ok_or_else(|| refuse(&without_commas(number)))?;
        let nm = numerator.checked_mul(nm_per_unit).ok_or_else(|| refuse(RANGE))?;
        Ok((nm, denominator))
    };
    let (number, rest) = number_and_unit(text);
    let unit_end =
        rest.find(|c: char| c.is_whitespace() || c.is_ascii_digit() || vulgar(c).is_some());
    let (unit, rest) = rest.split_at(unit_end.unwrap_or(rest.len()));
    let nm_per_unit = nm_per(unit).ok_or_else(|| refuse(FORM))?;
    let nm = read(number, nm_per_unit)?;
    if rest.trim().is_empty() {
        return Ok(nm);
    }
    // "3 ft 4 in": the sign is that of both.
    let (inches, unit) = number_and_unit(rest);
    if nm_per_unit != NM_PER_FT || nm_per(unit) != Some(NM_PER_IN.into()) || signed(inches) {
        return Err(refuse(FORM));
    }
    let inches = read(inches, NM_PER_IN.into())?;
    let sign = if number.starts_with(['-', '−']) { -1 } else { 1 };
    sum(nm, (sign * inches.0, inches.1)).ok_or_else(|| refuse(RANGE))
}

const NM_PER_FT: i128 = 304_800_000;

/// The nanometres of a unit, in any case and with or without a full stop.
fn nm_per(unit: &str) -> Option<i128> {
    let unit = unit.strip_suffix('.').unwrap_or(unit).to_lowercase();
    Some(match unit.as_str() {
        "nm" => 1,
        "um" | "µm" | "μm" => 1_000,
        "mm" => NM_PER_MM.into(),
        "cm" => 10 * i128::from(NM_PER_MM),
        "m" => 1_000 * i128::from(NM_PER_MM),
        "thou" | "mil" | "mils" => 25_400,
        "in" | "inch" | "inches" | "\"" | "″" | "''" | "′′" | "”" => NM_PER_IN.into(),
        "ft" | "foot" | "feet" | "'" | "′" | "’" => NM_PER_FT,
        _ => return None,
    })
}

/// What would do instead of a number that cannot be read.
fn without_commas(number: &str) -> String {
    const MOST: usize = 24;
    let plain = |c: char| c.is_ascii_digit() || ",. ".contains(c);
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if number.len() > MOST || !number.chars().all(plain) {
        return FORM.to_owned();
    }
    match number.split_once(',') {
        Some((whole, places)) if digits(whole) && digits(places) => {
            let decimal = format!("a decimal point, {whole}.{places}");
            if places.len() == 3 {
                format!("{decimal}, or no comma, {whole}{places}")
            } else {
                decimal
            }
        }
        None if number.contains(' ') && digits(&number.replace(' ', "")) => {
            format!("a number without spaces, {}", number.replace(' ', ""))
        }
        _ => FORM.to_owned(),
    }
}

fn signed(number: &str) -> bool {
    number.starts_with(['-', '+', '−'])
}

fn sum(a: (i128, i128), b: (i128, i128)) -> Option<(i128, i128)> {
    let [over_b, over_a] = [a.0.checked_mul(b.1)?, b.0.checked_mul(a.1)?];
    Some((over_b.checked_add(over_a)?, a.1.checked_mul(b.1)?))
}

/// Parts a number from the unit behind it.
pub(crate) fn number_and_unit(text: &str) -> (&str, &str) {
    let trimmed = text.trim();
    let unit_at = trimmed
        .char_indices()
        .find(|&(at, c)| c.is_alphabetic() && !is_exponent(trimmed, at) || "\"″”'′’°%".contains(c))
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

/// Reads `3`, `0.25`, `2.5e-3`, `1/64`, `1 1/2` or `1½`, signed, as a numerator over a positive
/// denominator.
pub(crate) fn ratio(text: &str) -> Option<(i128, i128)> {
    let (negative, text) = match text.strip_prefix(['-', '+', '−']) {
        Some(rest) => (!text.starts_with('+'), rest),
        None => (false, text),
    };
    let fraction = |whole: &str, above: i128, below: i128| {
        let whole = if whole.is_empty() { 0 } else { digits(whole)? };
        Some((whole.checked_mul(below)?.checked_add(above)?, below))
    };
    let (numerator, denominator) = if let Some((above, below)) = text.split_once(['/', '⁄']) {
        let above = above.trim_end();
        let (whole, above) = match above.rsplit_once(' ') {
            Some((whole, above)) => (whole.trim_end(), above),
            None => above.split_once('-').unwrap_or(("", above)),
        };
        let below = digits(below.trim_start()).filter(|&below| below > 0)?;
        fraction(whole, digits(above)?, below)?
    } else if let Some((above, below)) = text.chars().next_back().and_then(vulgar) {
        let mut whole = text.chars();
        whole.next_back();
        let whole = whole.as_str();
        fraction(whole.strip_suffix('-').unwrap_or(whole.trim_end()), above, below)?
    } else {
        decimal(text)?
    };
    Some((if negative { -numerator } else { numerator }, denominator))
}

/// A fraction that is one character.
fn vulgar(c: char) -> Option<(i128, i128)> {
    Some(match c {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    })
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
    match ten_to(shift.unsigned_abs()) {
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
                text.parse().map_err(|error: Error| {
                    let expected = error.problems().first().map_or(FORM, |told| &told.expected);
                    E::invalid_value(de::Unexpected::Str(text), &expected)
                })
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

/// What a length looks like, as a regular expression of JSON Schema. What it lets through may still be
/// refused.
pub(crate) const PATTERN: &str = "^\\s*[-+−]?[0-9. /⁄½⅓⅔¼¾⅛⅜⅝⅞eE+-]+\\s*\
    ([nNuUµμmMcC]?[mM]|[tT][hH][oO][uU]|[mM][iI][lL][sS]?|[iI][nN]([cC][hH]([eE][sS])?)?|\"|″|''|′′|”\
    |([fF][tT]|[fF][oO][oO][tT]|[fF][eE][eE][tT]|'|′|’)\
    (\\.?\\s*[0-9. /⁄½⅓⅔¼¾⅛⅜⅝⅞-]+\\s*([iI][nN]([cC][hH]([eE][sS])?)?|\"|″|''|′′|”))?)\
    \\.?\\s*$";

impl JsonSchema for Length {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Length".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A length: a number with a unit (nm, um, mm, cm, m, thou, in, ft), or feet and inches.",
            "examples": ["0.010 in", "1/64 in", "10 thou", "0.25 mm", "40 um", "3 ft 4 in"],
            "pattern": PATTERN
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
            // Twice these denominators is more than an i128 holds.
            ("1/170141183360469231731687303715884105728 in", 0),
            ("1/170141183460469231731687303715884105727 in", 0),
            ("1/100000000000000000000000000000000000000 in", 0),
            (
                "85070591730234615865843651857942052863/170141183460469231731687303715884105727 nm",
                0,
            ),
            (
                "85070591730234615865843651857942052864/170141183460469231731687303715884105727 nm",
                1,
            ),
            ("1.5e-38 nm", 0),
        ] {
            assert_eq!(nm(text), expected, "{text}");
        }
    }

    #[test]
    fn reads_what_people_type() {
        for (text, expected) in [
            ("0.010''", 254_000),
            ("0.010′′", 254_000),
            ("0.010”", 254_000),
            ("1/64\"", 396_875),
            ("10 in.", 254_000_000),
            ("½ in", 12_700_000),
            ("1½ in", 38_100_000),
            ("1 ½ in", 38_100_000),
            ("-1-½\"", -38_100_000),
            ("1⁄64 in", 396_875),
            ("3 ft 4 in", 1_016_000_000),
            ("3ft4in", 1_016_000_000),
            ("3' 4\"", 1_016_000_000),
            ("3′ 4 1/2″", 1_028_700_000),
            ("3 ft. 4½ in.", 1_028_700_000),
            ("-3 ft 4 in", -1_016_000_000),
            ("5'", 1_524_000_000),
            ("2 feet", 609_600_000),
            ("0.25 MM", 250_000),
            ("1 Inch", 25_400_000),
            ("5 mil", 127_000),
            ("5 mils", 127_000),
        ] {
            assert_eq!(nm(text), expected, "{text}");
        }
    }

    #[test]
    fn a_refusal_says_what_would_do() {
        for (text, expected) in [
            ("1,5 mm", "a decimal point, 1.5"),
            ("1,250 mm", "a decimal point, 1.250, or no comma, 1250"),
            ("1 000 mm", "a number without spaces, 1000"),
            ("0.010", FORM),
            ("1001 km", FORM),
            ("1000001 m", RANGE),
        ] {
            let error = text.parse::<Length>().unwrap_err();
            assert_eq!(error.problems()[0].expected, expected, "{text}");
            let json = serde_json::from_value::<Length>(text.into()).unwrap_err().to_string();
            assert!(json.ends_with(&format!(", expected {expected}")), "{json}");
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
            "3 ft -4 in",
            "3 ft 4",
            "3 ft 4 mm",
            "3 in 4 in",
            "3 ft 4 in 5",
            "1 1/2 1/2 in",
            "½½ in",
            "1 -1/2 in",
            "in.",
            "3 in..",
            "1/170141183460469231731687303715884105728 in",
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
            text in "([-+0-9./ eE½ft'⁄]{0,40}|[0-9]{1,3}([.][0-9]{0,60})?e-?[0-9]{1,2})(in|mm|\")",
        ) {
            let _ = text.parse::<Length>();
        }
    }
}
