//! What counts as level.

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};
use truebed::{Length, LimitKind, NamedLimit, Preset};

use crate::error::{Problems, Refused, one, shown};
use crate::name::{Name, Names};
use crate::value::{job_name, length, number};

/// What counts as level; every limit a length (mm, or a text with a unit), at least one of the
/// first four given: overall ± over all points, along ± over each lengthwise line, across ± over
/// each crosswise line, the largest step at a joint; and the width within which points are on one
/// line. The default of that width is 20 mm (what a tape leaves; common practice).
///
/// named are limits on points of your own, by index or by id, with the largest difference between
/// them; slope_along and slope_across, mm/m, are how much the target may slope.
///
/// >>> import truebed
/// >>> truebed.Limits("0.1 mm", joint_step="0.005 in", named=[(["A", "C"], 0.05)])
/// Limits(overall=0.1, joint_step=0.127, line_width=20, named=[(["A", "C"], 0.05)])
#[pyclass(frozen, eq, module = "truebed")]
pub(crate) struct Limits {
    /// All but the limits on named points, which wait for the points that ids are of.
    limits: truebed::Limits,
    named: Vec<Named>,
}

impl PartialEq for Limits {
    /// Limits are alike that ask for the same, whoever asks.
    fn eq(&self, other: &Self) -> bool {
        let asked =
            |limits: &truebed::Limits| truebed::Limits { by_preset: Vec::new(), ..limits.clone() };
        asked(&self.limits) == asked(&other.limits) && self.named == other.named
    }
}

/// A limit on points that are named.
#[derive(PartialEq)]
struct Named {
    points: Vec<Name>,
    within: Length,
}

/// The constructor's arguments by position: overall, along, across, joint step, line width.
type Positional = (Option<f64>, Option<f64>, Option<f64>, Option<f64>, f64);

#[pymethods]
impl Limits {
    #[new]
    #[pyo3(signature = (overall = None, along = None, across = None, joint_step = None, line_width = None, *, named = None, slope_along = None, slope_across = None, by_preset = None))]
    #[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
    fn new(
        py: Python<'_>,
        overall: Option<&Bound<'_, PyAny>>,
        along: Option<&Bound<'_, PyAny>>,
        across: Option<&Bound<'_, PyAny>>,
        joint_step: Option<&Bound<'_, PyAny>>,
        line_width: Option<&Bound<'_, PyAny>>,
        named: Option<&Bound<'_, PyAny>>,
        slope_along: Option<&Bound<'_, PyAny>>,
        slope_across: Option<&Bound<'_, PyAny>>,
        by_preset: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let mut limits = truebed::Limits::default();
        let mut read = |name: &str, value: Option<&Bound<'_, PyAny>>| {
            value.and_then(|value| found.take(|| format!("limits.{name}"), length(value)))
        };
        limits.overall = read("overall", overall);
        limits.along = read("along", along);
        limits.across = read("across", across);
        limits.joint_step = read("joint_step", joint_step);
        limits.line_width = read("line_width", line_width).unwrap_or(limits.line_width);
        for (name, value, slope) in [
            ("slope_along", slope_along, &mut limits.slope_along_um_per_m),
            ("slope_across", slope_across, &mut limits.slope_across_um_per_m),
        ] {
            if let Some(value) = value {
                let read = found.take(|| format!("limits.{name}"), self::slope(value));
                *slope = read.unwrap_or_default();
            }
        }
        let kinds = by_preset.and_then(|kinds| {
            let read = kinds.extract::<Vec<String>>();
            let read = read.map_err(|_| Refused::wrong_type(kinds, "a list of names of limits"));
            found.take(|| "limits.by_preset".to_owned(), read)
        });
        for (at, kind) in kinds.into_iter().flatten().enumerate() {
            let read: Result<LimitKind, _> =
                serde_json::from_value(serde_json::Value::String(kind.clone()));
            let expected = "\"overall\", \"along\", \"across\" or \"joint_step\"";
            let read = read.map_err(|_| Refused::value(format!("{kind:?}"), expected));
            limits.by_preset.extend(found.take(|| format!("limits.by_preset[{at}]"), read));
        }
        let named = match named {
            Some(named) => self::named(&mut found, named)?,
            None => Vec::new(),
        };
        found.finish(py, Some(Self { limits, named }))
    }

    /// The limits that a document asks for, by a name of truebed.PRESETS, which tells the document.
    ///
    /// "WPA 2001" limits flatness: these limits ask the same figures of the heights themselves, line by
    /// line, and none over all points.
    ///
    /// >>> import truebed
    /// >>> truebed.Limits.preset("WPA 2001")
    /// Limits(along=0.508, across=0.254, joint_step=0.127, line_width=20)
    #[staticmethod]
    fn preset(name: &Bound<'_, PyAny>) -> PyResult<Self> {
        let read = match name.cast::<PyString>() {
            Ok(text) => text.to_string_lossy().parse::<Preset>().map_err(Refused::from),
            Err(_) => Err(Refused::wrong_type(name, "the name of a preset")),
        };
        let preset = one(name.py(), "name", read)?;
        Ok(Self { limits: preset.limits(), named: Vec::new() })
    }

    /// ± over all points, mm; None where not asked for.
    #[getter]
    fn overall(&self) -> Option<f64> {
        self.limits.overall.map(Length::mm)
    }

    /// ± over the points of each lengthwise line, mm; None where not asked for.
    #[getter]
    fn along(&self) -> Option<f64> {
        self.limits.along.map(Length::mm)
    }

    /// ± over the points of each crosswise line, mm; None where not asked for.
    #[getter]
    fn across(&self) -> Option<f64> {
        self.limits.across.map(Length::mm)
    }

    /// The largest step between the two sides of a joint, mm; None where not asked for.
    #[getter]
    fn joint_step(&self) -> Option<f64> {
        self.limits.joint_step.map(Length::mm)
    }

    /// Points within this width of each other are on one line, mm.
    #[getter]
    fn line_width(&self) -> f64 {
        self.limits.line_width.mm()
    }

    /// Limits on points that are named, by index or by id, with the largest difference allowed, mm.
    #[getter]
    fn named(&self) -> Vec<(Vec<Name>, f64)> {
        self.named.iter().map(|limit| (limit.points.clone(), limit.within.mm())).collect()
    }

    /// How much the target may slope along, mm/m.
    #[getter]
    fn slope_along(&self) -> f64 {
        f64::from(self.limits.slope_along_um_per_m) / 1e3
    }

    /// How much the target may slope across, mm/m.
    #[getter]
    fn slope_across(&self) -> f64 {
        f64::from(self.limits.slope_across_um_per_m) / 1e3
    }

    /// Which of the limits a preset asks for: where one of these binds no two points, a verdict is None and
    /// no error is raised.
    #[getter]
    fn by_preset(&self) -> Vec<String> {
        self.limits.by_preset.iter().map(job_name).collect()
    }

    fn __repr__(&self) -> String {
        let mut given = Vec::new();
        for (name, limit) in [
            ("overall", self.overall()),
            ("along", self.along()),
            ("across", self.across()),
            ("joint_step", self.joint_step()),
            ("line_width", Some(self.line_width())),
        ] {
            given.extend(limit.map(|limit| format!("{name}={limit}")));
        }
        for (name, slope) in
            [("slope_along", self.slope_along()), ("slope_across", self.slope_across())]
        {
            if slope > 0.0 {
                given.push(format!("{name}={slope}"));
            }
        }
        if !self.named.is_empty() {
            let named: Vec<_> =
                self.named().iter().map(|(points, mm)| format!("({points:?}, {mm})")).collect();
            given.push(format!("named=[{}]", named.join(", ")));
        }
        format!("Limits({})", given.join(", "))
    }

    fn __getnewargs_ex__<'py>(
        &self,
        py: Python<'py>,
    ) -> PyResult<(Positional, Bound<'py, PyDict>)> {
        let positions =
            (self.overall(), self.along(), self.across(), self.joint_step(), self.line_width());
        let named = PyDict::new(py);
        named.set_item("named", self.named())?;
        named.set_item("slope_along", self.slope_along())?;
        named.set_item("slope_across", self.slope_across())?;
        named.set_item("by_preset", self.by_preset())?;
        Ok((positions, named))
    }
}

/// A slope in mm/m, as whole micrometres per metre.
fn slope(value: &Bound<'_, PyAny>) -> Result<u32, Refused> {
    let expected = "a slope in mm/m, from 0 to 100";
    let slope = number(value, expected)?;
    if !(0.0..=100.0).contains(&slope) {
        return Err(Refused::value(shown(value), expected));
    }
    Ok((slope * 1e3).round() as u32)
}

/// Pairs of a list of points and a length.
fn named(found: &mut Problems, named: &Bound<'_, PyAny>) -> PyResult<Vec<Named>> {
    let expected =
        "a list of pairs: indices or ids of points, and the largest difference between them";
    let mut limits = Vec::new();
    let Ok(items) = named.try_iter() else {
        let refused = Err::<(), _>(Refused::wrong_type(named, expected));
        found.take(|| "limits.named".to_owned(), refused);
        return Ok(limits);
    };
    for (at, item) in items.enumerate() {
        let item = item?;
        let field = || format!("limits.named[{at}]");
        let pair = item.extract::<(Vec<Bound<'_, PyAny>>, Bound<'_, PyAny>)>();
        let pair = pair.map_err(|_| Refused::wrong_type(&item, expected));
        let limit = pair.and_then(|(points, within)| {
            let points = points.iter().map(Name::read).collect::<Result<_, _>>();
            let points = points.map_err(|refused: Refused| match refused.is_wrong_type() {
                true => Refused::wrong_type(&item, expected),
                false => refused,
            })?;
            Ok(Named { points, within: length(&within)? })
        });
        limits.extend(found.take(field, limit));
    }
    Ok(limits)
}

/// Limits as a call takes them: a `Limits`, a length, which is the overall ±, or the name of a preset.
pub(crate) fn limits(
    names: &Names<'_>,
    value: &Bound<'_, PyAny>,
) -> Result<truebed::Limits, Refused> {
    let Ok(given) = value.cast::<Limits>() else {
        if let Ok(name) = value.cast::<PyString>() {
            let name = name.to_string_lossy();
            match name.parse::<Preset>() {
                Ok(preset) => return Ok(preset.limits()),
                // What begins with a letter is meant as a name.
                Err(error) if name.starts_with(char::is_alphabetic) => {
                    let presets = &error.problems()[0].expected;
                    let expected = format!("a length, as in \"0.010 in\", or {presets}");
                    return Err(Refused::value(shown(value), expected));
                }
                Err(_) => {}
            }
        }
        return length(value).map(truebed::Limits::overall);
    };
    let given = given.get();
    let mut limits = given.limits.clone();
    for Named { points, within } in &given.named {
        limits.named.push(NamedLimit { points: names.find(points)?, within: *within });
    }
    Ok(limits)
}
