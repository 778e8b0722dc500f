//! Observations.

use pyo3::prelude::*;
use pyo3::types::{PyDict, PyString};
use serde_json::Value;
use truebed::{Cell, Divisions, Instrument, Mm, Slope, SpiritLevel};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::value::{flag, number, of_millimetres, unicode};

/// One observation; made by `height`, `rise`, `bubble`, `slope`, `gap`, `leg_gap` and
/// `slate_gap`.
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

    /// What kind of reading it is: "height", "rise", "bubble", "slope", "gap", "leg-gap" or
    /// "slate-gap".
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
        Err(_) => Ok(Slope::from_mm_per_m(number(value, SLOPE)?)),
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

/// The height of a point: typed in, or read from a set-up of an instrument.
///
/// Without a setup, value is the height itself, positive upwards; without sigma it counts as exact.
/// With a setup, value is what the instrument reads at the point. instrument is "staff" (the default),
/// "water-level", "laser" or "indicator". A larger reading means a lower point for a staff, a water
/// level and a laser, and a higher point for an indicator.
///
/// value and sigma are lengths (a number of mm, or a text with a unit). The default sigma is 0.3 mm for
/// a staff, 0.5 mm for a water level and a laser, 0.005 mm for an indicator (common practice).
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

/// How much higher b is than a, a length (a number of mm, or a text with a unit).
///
/// The default sigma is 0.42 mm, that of two staff readings (common practice).
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

/// A spirit level laid from a to b.
///
/// divisions is how far the bubble stands off the middle, positive towards b (the bubble runs to the
/// higher end): one number, or a list with one number for each step along the line. sensitivity is the
/// slope of one division, such as "0.02 mm/m" or "0.0005 in/ft". base is the length of the level's base,
/// span the distance from a to b; its default comes from the places of the points, or from steps times
/// base. level is the name of the level, default "level": readings of one level share its zero error.
/// turned says that the level was turned end for end. sigma is the standard uncertainty of one step, in
/// divisions; the default is 0.2 (common practice).
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

/// An electronic level (inclinometer) laid from a to b.
///
/// value is the slope, positive where b is higher: a number of mm/m, or a text with a unit, such as
/// "0.05 deg". span is the distance from a to b; its default comes from the places of the points. level
/// is the name of the level, default "level": readings of one level share its zero error. turned says
/// that the level was turned end for end. sigma is the standard uncertainty of the slope; the default is
/// 0.873 mm/m, which is 0.05 degrees (common practice).
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

/// The gap at a point under a straightedge that rests on a and b, a length (a number of mm, or a text
/// with a unit).
///
/// at is where the point lies on the way from a (0) to b (1); its default comes from the places of the
/// points. The default sigma is 0.0144 mm, for feeler leaves of 0.05 mm (common practice).
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

/// The gap under a leg that floats while the frame stands on the others, a length (a number of mm, or a
/// text with a unit). All other readings at this leg were taken on the frame.
///
/// The default sigma is 0.0144 mm, for feeler leaves of 0.05 mm (common practice).
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

/// The gap below a slate at a support that it does not touch, read with feelers: a length (a number of
/// mm, or a text with a unit). All other readings at this point were taken on the slate, and the height of
/// the point is that of the support.
///
/// The default sigma is 0.0144 mm, for feeler leaves of 0.05 mm (common practice).
///
/// >>> import truebed
/// >>> readings = [truebed.height("A", 0), truebed.height("B", 0), truebed.slate_gap("B", "0.15 mm")]
/// >>> truebed.adjust(readings).mm.round(9).tolist()  # the frame under B is lower than the slate
/// [0.0, -0.15]
#[pyfunction]
#[pyo3(signature = (point, value, sigma = None))]
pub(crate) fn slate_gap<'py>(
    point: Any<'_, 'py>,
    value: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Reading> {
    let mut fields = Fields::new(value.py());
    let point = fields.read("point", point, name);
    let value = fields.read("value", value, mm);
    let sigma = fields.optional("sigma", sigma, mm);
    let reading =
        (|| Some(truebed::Reading::SlateGap { point: point?, value: value?, sigma: sigma? }))();
    fields.finish(reading)
}

/// Readings from a table of comma-separated values: a text, or an open file.
///
/// The first line names the columns, in any order and in any capitals: kind, and the fields of the
/// readings. Every number needs its unit; empty cells are not given; a column note is not read. Cells
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
    match number(value, "a text, a number, or True or False") {
        Ok(number) => Ok(Cell::Number(number)),
        Err(refused) => match value.extract::<Vec<f64>>() {
            Ok(numbers) => Ok(Cell::Numbers(numbers)),
            Err(_) => match of_millimetres(value) {
                Ok(mm) => Ok(Cell::Number(mm)),
                Err(_) => Err(refused),
            },
        },
    }
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
    turned: Any<'_, 'py>,
    sigma: Option<Any<'_, 'py>>,
) -> PyResult<Vec<Reading>> {
    let mut fields = Fields::new(py);
    let turned = fields.read("turned", turned, flag);
    let level = spirit_level(&mut fields, sensitivity, base, level, sigma);
    let (level, turned) = fields.found.finish(py, level.zip(turned))?;
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
