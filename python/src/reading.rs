//! Observations.

use pyo3::prelude::*;
use pyo3::types::PyString;
use serde_json::Value;
use truebed::{Divisions, Instrument, Mm, Slope, SpiritLevel};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::value::{flag, number};

/// One observation; made by `height`, `rise`, `bubble`, `slope`, `gap` and `leg_gap`.
///
/// >>> import truebed
/// >>> reading = truebed.rise("A", "B", "-2.5 mm", sigma=0.1)
/// >>> reading.kind, isinstance(reading, truebed.Reading)
/// ('rise', True)
#[pyclass(frozen, eq, module = "truebed")]
#[derive(PartialEq)]
pub(crate) struct Reading(pub(crate) truebed::Reading);

#[pymethods]
impl Reading {
    /// A reading as a job document has it, as JSON text.
    #[new]
    fn new(py: Python<'_>, document: &str) -> PyResult<Self> {
        let read = serde_json::from_str(document).map(Self);
        let expected = "a reading as a job has it, as JSON text";
        one(py, "reading", read.map_err(|error| Refused::document(error.to_string(), expected)))
    }

    /// What kind of reading it is: "height", "rise", "bubble", "slope", "gap" or "leg-gap".
    #[getter]
    fn kind(&self) -> String {
        match self.fields() {
            Value::Object(fields) => fields["kind"].as_str().unwrap_or_default().to_owned(),
            _ => String::new(),
        }
    }

    fn __repr__(&self) -> String {
        let Value::Object(fields) = self.fields() else { return String::new() };
        let told = fields.iter().filter(|(name, _)| *name != "kind");
        let told: Vec<_> = told.map(|(name, value)| format!("{name}={}", python(value))).collect();
        format!("{}({})", self.kind().replace('-', "_"), told.join(", "))
    }

    fn __getnewargs__(&self) -> (String,) {
        (self.fields().to_string(),)
    }
}

impl Reading {
    fn fields(&self) -> Value {
        serde_json::to_value(&self.0).unwrap_or_default()
    }
}

/// A value as Python writes it.
fn python(value: &Value) -> String {
    match value {
        Value::Bool(true) => "True".to_owned(),
        Value::Bool(false) => "False".to_owned(),
        other => other.to_string(),
    }
}

const LENGTH: &str = "a number of mm or a text with a unit";
const SLOPE: &str = "a number of mm/m or a text with a unit, as in \"0.02 mm/m\" or \"4 arcsec\"";
const DIVISIONS: &str = "a number of divisions, or a list with one for each step";

/// A length that keeps what a number has beyond the nanometre.
pub(crate) fn mm(value: &Bound<'_, PyAny>) -> Result<Mm, Refused> {
    match value.cast::<PyString>() {
        Ok(text) => Ok(text.to_string_lossy().parse()?),
        Err(_) => Ok(Mm(number(value, LENGTH)?)),
    }
}

pub(crate) fn slope_of(value: &Bound<'_, PyAny>) -> Result<Slope, Refused> {
    match value.cast::<PyString>() {
        Ok(text) => Ok(text.to_string_lossy().parse()?),
        Err(_) => Ok(Slope::from_mm_per_m(number(value, SLOPE)?)),
    }
}

/// An id or a name.
pub(crate) fn name(value: &Bound<'_, PyAny>) -> Result<String, Refused> {
    match value.cast::<PyString>() {
        Ok(text) => Ok(text.to_string_lossy().into_owned()),
        Err(_) => Err(Refused::wrong_type(value, "a name (str)")),
    }
}

fn divisions(value: &Bound<'_, PyAny>) -> Result<Divisions, Refused> {
    if value.is_instance_of::<PyString>() {
        return Err(Refused::wrong_type(value, DIVISIONS));
    }
    let Ok(steps) = value.try_iter() else { return Ok(Divisions::One(number(value, DIVISIONS)?)) };
    let step = |step: PyResult<Bound<'_, PyAny>>| match step {
        Ok(step) => number(&step, DIVISIONS),
        Err(_) => Err(Refused::wrong_type(value, DIVISIONS)),
    };
    Ok(Divisions::Steps(steps.map(step).collect::<Result<_, _>>()?))
}

fn instrument(value: &Bound<'_, PyAny>) -> Result<Instrument, Refused> {
    let expected = "\"staff\", \"water-level\", \"laser\" or \"indicator\"";
    let name = name(value)?;
    serde_json::from_value(Value::String(name)).map_err(|_| Refused::value(shown(value), expected))
}

/// What is wrong with the arguments of one reading is told at once.
struct Fields<'py> {
    py: Python<'py>,
    found: Problems,
}

impl<'py> Fields<'py> {
    fn new(py: Python<'py>) -> Self {
        Self { py, found: Problems::default() }
    }

    fn read<T>(
        &mut self,
        field: &str,
        value: &Bound<'py, PyAny>,
        read: impl FnOnce(&Bound<'py, PyAny>) -> Result<T, Refused>,
    ) -> Option<T> {
        self.found.take(|| field.to_owned(), read(value))
    }

    fn optional<T>(
        &mut self,
        field: &str,
        value: Option<&Bound<'py, PyAny>>,
        read: impl FnOnce(&Bound<'py, PyAny>) -> Result<T, Refused>,
    ) -> Option<Option<T>> {
        self.found.take(|| field.to_owned(), value.map(read).transpose())
    }

    fn finish(self, reading: Option<truebed::Reading>) -> PyResult<Reading> {
        self.found.finish(self.py, reading.map(Reading))
    }
}

type Any<'a, 'py> = &'a Bound<'py, PyAny>;

/// The height of a point, positive upwards: typed in, or what an instrument ("staff", "water-level",
/// "laser", "indicator"; a staff unless told) reads there from the set-up named. Without sigma a
/// height typed in counts as exact; one from a set-up gets the default of its instrument.
///
/// >>> import truebed
/// >>> truebed.height("A", "1204.1 mm", setup="door", instrument="laser")
/// height(instrument="laser", point="A", setup="door", value="1204.1 mm")
#[pyfunction]
#[pyo3(signature = (point, value, sigma = None, *, setup = None, instrument = None))]
pub(crate) fn height<'py>(
    point: Any<'_, 'py>,
    value: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
    setup: Option<Any<'_, 'py>>,
    instrument: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(value.py());
    let point = fields.read("point", point, name);
    let value = fields.read("value", value, mm);
    let sigma = fields.optional("sigma", sigma, mm);
    let setup = fields.optional("setup", setup, name);
    let instrument = fields.optional("instrument", instrument, self::instrument);
    let reading = (|| {
        let (point, value, sigma) = (point?, value?, sigma?);
        let (setup, instrument) = (setup?, instrument?);
        Some(truebed::Reading::Height { point, value, sigma, setup, instrument })
    })();
    fields.finish(reading)
}

/// How much higher b is than a.
///
/// >>> import truebed
/// >>> truebed.rise("A", "B", -2.5, sigma="0.1 mm")
/// rise(a="A", b="B", sigma="0.1 mm", value="-2.5 mm")
#[pyfunction]
#[pyo3(signature = (a, b, value, sigma = None))]
pub(crate) fn rise<'py>(
    a: Any<'_, 'py>,
    b: Any<'_, 'py>,
    value: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(value.py());
    let (a, b) = (fields.read("a", a, name), fields.read("b", b, name));
    let value = fields.read("value", value, mm);
    let sigma = fields.optional("sigma", sigma, mm);
    let reading =
        (|| Some(truebed::Reading::Rise { a: a?, b: b?, value: value?, sigma: sigma? }))();
    fields.finish(reading)
}

/// A spirit level from a to b: divisions off the middle towards b (the bubble runs to the higher
/// end), one number or one for each step; the slope of one division; the length of the base; the
/// distance from a to b, from their places unless told; which level; whether it was turned end for
/// end; the uncertainty of a step in divisions.
///
/// >>> import truebed
/// >>> readings = [truebed.bubble("A", "B", [3, 2.5], "0.05 mm/m", base="500 mm", span="1 m")]
/// >>> truebed.adjust(readings).mm.round(4).tolist()  # two steps of half a metre
/// [-0.0688, 0.0688]
#[pyfunction]
#[pyo3(signature = (a, b, divisions, sensitivity, *, base = None, span = None, level = None, turned = None, sigma = None))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn bubble<'py>(
    a: Any<'_, 'py>,
    b: Any<'_, 'py>,
    divisions: Any<'_, 'py>,
    sensitivity: Any<'_, 'py>,
    base: Option<Any<'_, 'py>>,
    span: Option<Any<'_, 'py>>,
    level: Option<Any<'_, 'py>>,
    turned: Option<Any<'_, 'py>>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(a.py());
    let (a, b) = (fields.read("a", a, name), fields.read("b", b, name));
    let divisions = fields.read("divisions", divisions, self::divisions);
    let sensitivity = fields.read("sensitivity", sensitivity, slope_of);
    let (base, span) = (fields.optional("base", base, mm), fields.optional("span", span, mm));
    let level = fields.optional("level", level, name);
    let turned = fields.optional("turned", turned, flag);
    let sigma = fields.optional("sigma", sigma, |sigma| number(sigma, "a number of divisions"));
    let reading = (|| {
        Some(truebed::Reading::Bubble {
            a: a?,
            b: b?,
            divisions: divisions?,
            sensitivity: sensitivity?,
            base: base?,
            span: span?,
            level: level?.unwrap_or_else(|| "level".to_owned()),
            turned: turned?.unwrap_or_default(),
            sigma: sigma?,
        })
    })();
    fields.finish(reading)
}

/// An electronic level (inclinometer) from a to b: the slope, positive where b is higher (a number of mm/m, or a text
/// with its unit); the distance, from their places unless told; which level; whether it was turned
/// end for end; the uncertainty of the slope.
///
/// >>> import truebed
/// >>> readings = [truebed.slope("A", "B", "0.05 deg", span="1 m")]
/// >>> truebed.adjust(readings).mm.round(3).tolist()
/// [-0.436, 0.436]
#[pyfunction]
#[pyo3(signature = (a, b, value, *, span = None, level = None, turned = None, sigma = None))]
pub(crate) fn slope<'py>(
    a: Any<'_, 'py>,
    b: Any<'_, 'py>,
    value: Any<'_, 'py>,
    span: Option<Any<'_, 'py>>,
    level: Option<Any<'_, 'py>>,
    turned: Option<Any<'_, 'py>>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(a.py());
    let (a, b) = (fields.read("a", a, name), fields.read("b", b, name));
    let value = fields.read("value", value, slope_of);
    let span = fields.optional("span", span, mm);
    let level = fields.optional("level", level, name);
    let turned = fields.optional("turned", turned, flag);
    let sigma = fields.optional("sigma", sigma, slope_of);
    let reading = (|| {
        Some(truebed::Reading::Slope {
            a: a?,
            b: b?,
            value: value?,
            span: span?,
            level: level?.unwrap_or_else(|| "level".to_owned()),
            turned: turned?.unwrap_or_default(),
            sigma: sigma?,
        })
    })();
    fields.finish(reading)
}

/// The gap at a point under a straightedge that rests on a and b; at is where the point lies from a
/// (0) to b (1), from their places unless told.
///
/// >>> import truebed
/// >>> truebed.gap("M", "A", "B", "0.3 mm", at=0.5)
/// gap(a="A", at=0.5, b="B", point="M", value="0.3 mm")
#[pyfunction]
#[pyo3(signature = (point, a, b, value, sigma = None, *, at = None))]
pub(crate) fn gap<'py>(
    point: Any<'_, 'py>,
    a: Any<'_, 'py>,
    b: Any<'_, 'py>,
    value: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
    at: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(value.py());
    let point = fields.read("point", point, name);
    let (a, b) = (fields.read("a", a, name), fields.read("b", b, name));
    let value = fields.read("value", value, mm);
    let sigma = fields.optional("sigma", sigma, mm);
    let at = fields.optional("at", at, |at| number(at, "a number between 0 and 1"));
    let reading = (|| {
        let (point, a, b, value) = (point?, a?, b?, value?);
        Some(truebed::Reading::Gap { point, a, b, value, at: at?, sigma: sigma? })
    })();
    fields.finish(reading)
}

/// The gap under a leg that floats while the frame stands on the others; all other readings at this
/// leg were taken on the frame.
///
/// >>> import truebed
/// >>> readings = [truebed.height("A", 0), truebed.height("B", 0), truebed.leg_gap("B", 0.4)]
/// >>> truebed.adjust(readings).mm.round(9).tolist()  # the floor under B is lower than the frame
/// [0.0, -0.4]
#[pyfunction]
#[pyo3(signature = (point, value, sigma = None))]
pub(crate) fn leg_gap<'py>(
    point: Any<'_, 'py>,
    value: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(value.py());
    let point = fields.read("point", point, name);
    let value = fields.read("value", value, mm);
    let sigma = fields.optional("sigma", sigma, mm);
    let reading =
        (|| Some(truebed::Reading::LegGap { point: point?, value: value?, sigma: sigma? }))();
    fields.finish(reading)
}

/// Readings from a table of comma-separated values: a column kind, and the fields of readings as the
/// others; empty cells are not given.
///
/// >>> import truebed
/// >>> truebed.readings_from_csv("kind,a,b,value\nrise,A,B,-2.5 mm\n")
/// [rise(a="A", b="B", value="-2.5 mm")]
#[pyfunction]
pub(crate) fn readings_from_csv(py: Python<'_>, text: &str) -> PyResult<Vec<Reading>> {
    let readings = truebed::readings_from_csv(text).map_err(|error| raised(py, &error))?;
    Ok(readings.into_iter().map(Reading).collect())
}

fn spirit_level<'py>(
    fields: &mut Fields<'py>,
    sensitivity: Any<'_, 'py>,
    base: Any<'_, 'py>,
    level: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> Option<SpiritLevel> {
    let sensitivity = fields.read("sensitivity", sensitivity, slope_of);
    let base = fields.read("base", base, mm);
    let name = fields.read("level", level, name);
    let sigma = fields.optional("sigma", sigma, |sigma| number(sigma, "a number of divisions"));
    Some(SpiritLevel { name: name?, sensitivity: sensitivity?, base: base?, sigma: sigma? })
}

/// The readings of a level stepped along a line of points.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn level_line<'py>(
    py: Python<'py>,
    ids: Vec<String>,
    divisions: Vec<f64>,
    sensitivity: Any<'_, 'py>,
    base: Any<'_, 'py>,
    level: Any<'_, 'py>,
    turned: bool,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Vec<Reading>> {
    let mut fields = Fields::new(py);
    let level = spirit_level(&mut fields, sensitivity, base, level, sigma);
    let level = fields.found.finish(py, level)?;
    let readings = truebed::level_line(&level, &ids, &divisions, turned);
    Ok(readings.map_err(|error| raised(py, &error))?.into_iter().map(Reading).collect())
}

/// The readings of a level stepped along all lines of a grid.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn level_grid<'py>(
    py: Python<'py>,
    ids: Vec<Vec<String>>,
    along: Vec<Vec<f64>>,
    across: Vec<Vec<f64>>,
    sensitivity: Any<'_, 'py>,
    base: Any<'_, 'py>,
    level: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Vec<Reading>> {
    let mut fields = Fields::new(py);
    let level = spirit_level(&mut fields, sensitivity, base, level, sigma);
    let level = fields.found.finish(py, level)?;
    let readings = truebed::level_grid(&level, &ids, &along, &across);
    Ok(readings.map_err(|error| raised(py, &error))?.into_iter().map(Reading).collect())
}
