//! Observations.

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};
use serde_json::Value;
use truebed::{Cell, Divisions, Instrument, Mm, ReadingFields, ReadingKind, Slope, SpiritLevel};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::value::{flag, number, of_millimetres, quantity, unicode};

/// One observation, made by the function that is named after its kind, such as `rise`.
///
/// Every reading has a standard uncertainty, sigma. The defaults are common practice:
///
/// - height typed in: none, it counts as exact
/// - height from a set-up: staff 0.3 mm, water level 0.5 mm, laser 0.5 mm, indicator 0.005 mm
/// - rise: 0.42 mm (two staff readings)
/// - bubble: 0.2 divisions a step
/// - slope: 0.873 mm/m (0.05 degrees)
/// - gap, leg gap and slate gap: 0.0144 mm (feeler leaves of 0.05 mm)
///
/// Every reading may have a note: a remark of your own, which is kept and nothing more.
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

    /// What kind of reading it is, as a job document names it: "rise" or "leg-gap", for example.
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

const SLOPE: &str = "a number of mm/m or a text with a unit, as in \"0.02 mm/m\" or \"4 arcsec\"";
const DIVISIONS: &str = "a number of divisions, or a list with one for each step";

/// A length that keeps what a number has beyond the nanometre.
pub(crate) fn mm(value: &Bound<'_, PyAny>) -> Result<Mm, Refused> {
    match value.cast::<PyString>() {
        Ok(text) => Ok(text.to_string_lossy().parse()?),
        Err(_) => Ok(Mm(of_millimetres(value)?)),
    }
}

pub(crate) fn slope_of(value: &Bound<'_, PyAny>) -> Result<Slope, Refused> {
    match value.cast::<PyString>() {
        Ok(text) => Ok(text.to_string_lossy().parse()?),
        Err(_) => Ok(Slope::from_mm_per_m(match quantity(value, "mm/m") {
            Some(slope) => {
                number(&slope.map_err(|_| Refused::wrong_type(value, "a slope"))?, SLOPE)?
            }
            None => number(value, SLOPE)?,
        })),
    }
}

/// An id or a name.
pub(crate) fn name(value: &Bound<'_, PyAny>) -> Result<String, Refused> {
    match value.cast::<PyString>() {
        Ok(text) => unicode(text),
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

type Any<'a, 'py> = &'a Bound<'py, PyAny>;

/// A reading of a kind, by its fields. A field that the kind need not have is not given where it is
/// None.
#[pyfunction]
#[pyo3(signature = (kind, **fields))]
pub(crate) fn reading<'py>(
    py: Python<'py>,
    kind: &str,
    fields: Option<&Bound<'py, PyDict>>,
) -> PyResult<Reading> {
    let Some(kind) = ReadingKind::named(kind) else {
        let unknown = Refused::unknown(format!("{kind:?}"), ReadingKind::names());
        return one(py, "kind", Err(unknown));
    };
    let mut arguments = Arguments { given: Vec::new(), found: Problems::default() };
    for (name, value) in fields.into_iter().flatten() {
        let name = name.extract::<String>()?;
        if !value.is_none() || kind.needed.contains(&name.as_str()) {
            arguments.given.push((name, value));
        }
    }
    let reading = kind.read(&mut arguments);
    arguments.found.finish(py, reading.map(Reading))
}

/// The arguments of a call that makes a reading.
struct Arguments<'py> {
    given: Vec<(String, Bound<'py, PyAny>)>,
    found: Problems,
}

impl<'py> Arguments<'py> {
    fn read<T>(
        &mut self,
        field: &str,
        read: impl FnOnce(&Bound<'py, PyAny>) -> Result<T, Refused>,
    ) -> Option<T> {
        let (_, value) = self.given.iter().find(|(name, _)| name == field)?;
        self.found.take(|| field.to_owned(), read(value))
    }
}

impl ReadingFields for Arguments<'_> {
    fn text(&mut self, field: &'static str) -> Option<String> {
        self.read(field, name)
    }

    fn mm(&mut self, field: &'static str) -> Option<Mm> {
        self.read(field, mm)
    }

    fn slope(&mut self, field: &'static str) -> Option<Slope> {
        self.read(field, slope_of)
    }

    fn number(&mut self, field: &'static str) -> Option<f64> {
        self.read(field, |value| number(value, "a number without a unit"))
    }

    fn divisions(&mut self, field: &'static str) -> Option<Divisions> {
        self.read(field, divisions)
    }

    fn flag(&mut self, field: &'static str) -> Option<bool> {
        self.read(field, flag)
    }

    fn instrument(&mut self, field: &'static str) -> Option<Instrument> {
        self.read(field, instrument)
    }
}

/// Readings from a table of comma-separated values: a text, or an open file.
///
/// The first line names the columns, in any order and in any capitals: kind, and the fields of the
/// readings. Every number needs its unit; empty cells are not given. Cells
/// may be parted by semicolons or tabs instead of commas; where they are parted by semicolons, a comma
/// in a number is its decimal point.
///
/// >>> import truebed
/// >>> truebed.readings_from_csv("kind,a,b,value\nrise,A,B,-2.5 mm\n")
/// [rise(a="A", b="B", value="-2.5 mm")]
/// >>> truebed.readings_from_csv("Kind;A;B;Value\nrise;A;B;-2,5 mm\n")
/// [rise(a="A", b="B", value="-2.5 mm")]
#[pyfunction]
pub(crate) fn readings_from_csv(text: &Bound<'_, PyAny>) -> PyResult<Vec<Reading>> {
    let py = text.py();
    let read = match text.call_method0("read") {
        Ok(read) => read,
        Err(_) => text.clone(),
    };
    let table = match read.cast::<PyString>() {
        Ok(table) => unicode(table),
        Err(_) => Err(Refused::wrong_type(text, "the text of a table, or a file opened as text")),
    };
    let table = one(py, "text", table)?;
    let readings = truebed::readings_from_csv(&table).map_err(|error| raised(py, &error))?;
    Ok(readings.into_iter().map(Reading).collect())
}

/// A reading from a row of a table: its cells by the names of their columns.
#[pyfunction]
pub(crate) fn reading_from_row(py: Python<'_>, row: &Bound<'_, PyDict>) -> PyResult<Reading> {
    let mut found = Problems::default();
    let mut cells = Vec::new();
    for (column, value) in row {
        let name = column.str().map_or_else(|_| String::new(), |name| name.to_string());
        let cell = found.take(|| name.clone(), cell(&value));
        cells.extend(cell.map(|cell| (name, cell)));
    }
    let cells = found.finish(py, Some(cells))?;
    let cells = cells.iter().map(|(name, cell)| (name.as_str(), cell.clone()));
    truebed::Reading::from_row(cells).map(Reading).map_err(|error| raised(py, &error))
}

fn cell(value: &Bound<'_, PyAny>) -> Result<Cell, Refused> {
    if let Ok(text) = value.cast::<PyString>() {
        return unicode(text).map(Cell::Text);
    }
    let kind = value.get_type().name().map_or_else(|_| String::new(), |name| name.to_string());
    if kind.starts_with("bool") {
        return flag(value).map(Cell::Flag);
    }
    let expected = "a text, a number, or True or False";
    // A quantity is one with its unit, so that a length is no slope.
    for unit in ["mm", "mm/m"] {
        if let Some(Ok(converted)) = quantity(value, unit) {
            return Ok(Cell::Text(format!("{} {unit}", number(&converted, expected)?)));
        }
    }
    match number(value, expected) {
        Ok(number) => Ok(Cell::Number(number)),
        Err(refused) => value.extract().map(Cell::Numbers).map_err(|_| refused),
    }
}

fn spirit_level<'py>(
    found: &mut Problems,
    sensitivity: Any<'_, 'py>,
    base: Any<'_, 'py>,
    level: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> Option<SpiritLevel> {
    let of_sigma = |sigma| number(sigma, "a number of divisions");
    let sensitivity = found.take(|| "sensitivity".to_owned(), slope_of(sensitivity));
    let base = found.take(|| "base".to_owned(), mm(base));
    let name = found.take(|| "level".to_owned(), name(level));
    let sigma = found.take(|| "sigma".to_owned(), sigma.map(of_sigma).transpose());
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
    turned: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Vec<Reading>> {
    let mut found = Problems::default();
    let turned = found.take(|| "turned".to_owned(), flag(turned));
    let level = spirit_level(&mut found, sensitivity, base, level, sigma);
    let (level, turned) = found.finish(py, level.zip(turned))?;
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
    let mut found = Problems::default();
    let level = spirit_level(&mut found, sensitivity, base, level, sigma);
    let level = found.finish(py, level)?;
    let readings = truebed::level_grid(&level, &ids, &along, &across);
    Ok(readings.map_err(|error| raised(py, &error))?.into_iter().map(Reading).collect())
}
