//! What an instrument says: lengths and slopes as numbers, since they carry error anyway.

use std::fmt;
use std::str::FromStr;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use crate::error::{Error, ProblemKind};
use crate::length::{self, FORM, Length, RANGE};

/// A length that was read, in millimetres. A number and not a [`Length`], because a mean or an
/// uncertainty goes on below the nanometre.
///
/// As text it is a number with a unit, as lengths are: `"0.02 mm"`, `"1/64 in"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Mm(pub f64);

impl Mm {
    /// The largest, 1000 km either way.
    pub(crate) const MAX: f64 = 1e9;
}

impl From<Length> for Mm {
    fn from(length: Length) -> Self {
        Self(length.mm())
    }
}

impl fmt::Display for Mm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm", self.0)
    }
}

impl FromStr for Mm {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let (nm, denominator) = length::nanometres(text)?;
        let (number, unit) = length::number_and_unit(text);
        let mm = match number.parse() {
            Ok(mm) if unit == "mm" => mm,
            _ if nm % denominator == 0 => (nm / denominator) as f64 / 1e6,
            _ => nm as f64 / (denominator as f64 * 1e6),
        };
        if mm.abs() <= Self::MAX {
            Ok(Self(mm))
        } else {
            Err(Error::new(ProblemKind::Length, "length", format!("{text:?}"), RANGE))
        }
    }
}

/// A slope, rise over horizontal distance, in mm/m.
///
/// As text it is a number with a unit: `"0.02 mm/m"`, `"0.0005 in/ft"`, `"4 arcsec"`,
/// `"0.1 deg"`, `"0.05 %"`; a bare number is refused. An angle counts by its tangent.
///
/// ```
/// use truebed::Slope;
/// let slope: Slope = "0.0005 in/ft".parse()?;
/// assert!((slope.mm_per_m - 0.0416667).abs() < 1e-7);
/// assert!("0.02 mm".parse::<Slope>().is_err());
/// # Ok::<(), truebed::Error>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Slope {
    /// Millimetres of rise over a metre.
    pub mm_per_m: f64,
}

impl Slope {
    /// A slope in mm/m.
    pub const fn from_mm_per_m(mm_per_m: f64) -> Self {
        Self { mm_per_m }
    }

    /// The rise over a distance, in the unit of the distance.
    pub(crate) fn over(self, distance: f64) -> f64 {
        self.mm_per_m * 1e-3 * distance
    }
}

pub(crate) const SLOPE: &str =
    "a slope with a unit (mm/m, in/ft, arcsec, deg, %), as in \"0.02 mm/m\" or \"4 arcsec\"";

impl fmt::Display for Slope {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} mm/m", self.mm_per_m)
    }
}

impl FromStr for Slope {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let refuse = || Error::new(ProblemKind::Length, "slope", format!("{text:?}"), SLOPE);
        let (number, unit) = length::number_and_unit(text);
        let (above, below) = length::ratio(number).ok_or_else(refuse)?;
        let value = number.parse().unwrap_or(above as f64 / below as f64);
        // Not the platform's tangent: a job must have the same digits everywhere.
        let angle =
            |radians: f64| if radians.abs() < 1.5 { libm::tan(radians) * 1e3 } else { f64::NAN };
        let mm_per_m = match unit {
            "mm/m" => value,
            "um/m" | "µm/m" | "μm/m" => value / 1e3,
            // 1 in = 25.4 mm and 1 ft = 304.8 mm.
            "in/ft" | "\"/ft" | "″/ft" | "''/ft" => value * 25.4 / 0.3048,
            "%" => value * 10.0,
            "mrad" => angle(value / 1e3),
            "arcsec" | "″" | "\"" | "''" => angle((value / 3600.0).to_radians()),
            "arcmin" | "′" | "'" => angle((value / 60.0).to_radians()),
            "deg" | "°" => angle(value.to_radians()),
            _ => return Err(refuse()),
        };
        if mm_per_m.is_finite() { Ok(Self { mm_per_m }) } else { Err(refuse()) }
    }
}

/// Text that a `FromStr` reads, in a document.
macro_rules! as_text {
    ($type:ty, $form:expr, $name:literal, $description:literal, $pattern:expr, $examples:expr) => {
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                struct Visitor;
                impl de::Visitor<'_> for Visitor {
                    type Value = $type;
                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str($form)
                    }
                    fn visit_str<E: de::Error>(self, text: &str) -> Result<$type, E> {
                        text.parse().map_err(|_| E::invalid_value(de::Unexpected::Str(text), &self))
                    }
                }
                deserializer.deserialize_any(Visitor)
            }
        }

        impl JsonSchema for $type {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                $name.into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({
                    "type": "string",
                    "description": $description,
                    "examples": $examples,
                    "pattern": $pattern
                })
            }
        }
    };
}

as_text!(
    Mm,
    FORM,
    "Mm",
    "A length that was read: a number with a unit (nm, um, mm, cm, m, thou, in, ft).",
    length::PATTERN,
    ["0.02 mm", "1/64 in"]
);
as_text!(
    Slope,
    SLOPE,
    "Slope",
    "A slope: a number with a unit (mm/m, in/ft, arcsec, arcmin, deg, %).",
    "^\\s*[-+−]?[0-9. /⁄½⅓⅔¼¾⅛⅜⅝⅞eE+-]+\\s*\
     (mm/m|um/m|µm/m|μm/m|in/ft|\"/ft|″/ft|''/ft|mrad|%|arcsec|″|\"|''|arcmin|′|'|deg|°)\\s*$",
    ["0.02 mm/m", "0.0005 in/ft", "4 arcsec", "0.1 deg"]
);

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Equivalents computed from the definitions of the inch, the degree and the tangent.
    #[test]
    fn slopes_in_every_unit() {
        for (text, mm_per_m) in [
            ("0.02 mm/m", 0.02),
            ("0.012 in/ft", 1.0),
            ("0.0005in/ft", 0.0416666667),
            ("0.005 in/ft", 0.416666667),
            ("1 arcsec", 0.00484813681),
            ("206.2647374925 arcsec", 1.0),
            ("20.62648055 ″", 0.1),
            ("1 deg", 17.4550649),
            ("1°", 17.4550649),
            ("-0.02 %", -0.2),
            ("1/64 in/ft", 1.3020833333),
            ("60 arcmin", 17.4550649),
            ("60′", 17.4550649),
            ("20 um/m", 0.02),
            ("0.0005\"/ft", 0.0416666667),
            ("0.0005''/ft", 0.0416666667),
            ("0.1 mrad", 0.1000000003),
            ("20\"", 0.09696273653),
            ("20''", 0.09696273653),
            ("2'", 0.5817764827),
        ] {
            let slope: Slope = text.parse().unwrap();
            assert_relative_eq!(slope.mm_per_m, mm_per_m, max_relative = 2e-9);
        }
    }

    #[test]
    fn what_is_no_slope_is_refused() {
        for text in ["", "0.02", "0.02 mm", "4 in", "90 deg", "1e9 deg", "x mm/m", "1 m/mm"] {
            assert!(text.parse::<Slope>().is_err(), "{text}");
        }
    }

    #[test]
    fn lengths_keep_what_a_number_has() {
        for (text, mm) in [
            ("0.0123456789 mm", 0.0123456789),
            ("0.010 in", 0.254),
            ("1/64 in", 0.396875),
            ("-5 um", -0.005),
            ("1e-9 mm", 1e-9),
        ] {
            let read: Mm = text.parse().unwrap();
            assert_eq!(read.0, mm, "{text}");
            assert_eq!(read.to_string().parse::<Mm>().unwrap(), read, "{text}");
        }
        assert_relative_eq!("1/3 in".parse::<Mm>().unwrap().0, 25.4 / 3.0, max_relative = 1e-15);
        assert!("5".parse::<Mm>().is_err() && "1001 km".parse::<Mm>().is_err());
        assert!("1000001 m".parse::<Mm>().is_err());
    }
}
