//! Surveys: from readings to heights.

use numpy::{IntoPyArray, PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1};
use pyo3::prelude::*;
use serde_json::Value;
use truebed::{Fixed, Heights, Level, Mm, Place, Setup, SurveySettings, UnionJackLines};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::picture;
use crate::reading::{Reading, mm, name, slope_of};
use crate::result::result;
use crate::signal::interruptible;
use crate::value::{index, length, number};

/// Readings and what else is known of them, as `truebed.adjust` takes them.
#[pyclass(frozen, eq, module = "truebed._truebed")]
#[derive(PartialEq)]
pub(crate) struct Survey(pub(crate) truebed::Survey);

#[pymethods]
impl Survey {
    /// A survey as JSON text, as `__getnewargs__` gives it.
    #[new]
    fn new(py: Python<'_>, document: &str) -> PyResult<Self> {
        let read = serde_json::from_str(document).map(Self);
        let expected = "a survey, as JSON text";
        one(py, "survey", read.map_err(|error| Refused::document(error.to_string(), expected)))
    }

    /// The same survey with these readings left out as well.
    fn without(&self, py: Python<'_>, readings: Vec<Bound<'_, PyAny>>) -> PyResult<Self> {
        let mut survey = self.0.clone();
        let mut found = Problems::default();
        for (at, reading) in readings.iter().enumerate() {
            let reading = found.take(|| format!("readings[{at}]"), index(reading));
            survey.settings.without.extend(reading);
        }
        found.finish(py, Some(Self(survey)))
    }

    fn __getnewargs__(&self) -> (String,) {
        (serde_json::to_string(&self.0).unwrap_or_default(),)
    }
}

type Any<'py> = Bound<'py, PyAny>;

/// Reads the arguments of `truebed.adjust`.
#[pyfunction]
#[pyo3(signature = (
    readings, *, points, fixed, surface, datum, levels, lasers, without, test, alpha, power
))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn survey<'py>(
    py: Python<'py>,
    readings: Vec<Bound<'py, PyAny>>,
    points: Vec<(Any<'py>, Any<'py>, Any<'py>)>,
    fixed: Vec<(Any<'py>, Any<'py>, Option<Any<'py>>)>,
    surface: &Bound<'py, PyAny>,
    datum: Vec<Bound<'py, PyAny>>,
    levels: Vec<(Bound<'py, PyAny>, Bound<'py, PyAny>)>,
    lasers: Vec<(Bound<'py, PyAny>, Bound<'py, PyAny>)>,
    without: Vec<Bound<'py, PyAny>>,
    test: &Bound<'py, PyAny>,
    alpha: &Bound<'py, PyAny>,
    power: &Bound<'py, PyAny>,
) -> PyResult<Survey> {
    let mut found = Problems::default();
    let mut survey = truebed::Survey::default();
    for (at, reading) in readings.iter().enumerate() {
        let read = reading.cast::<Reading>().map(|reading| reading.get().0.clone());
        let read = read.map_err(|_| Refused::wrong_type(reading, "a Reading, as from rise"));
        survey.readings.extend(found.take(|| format!("readings[{at}]"), read));
    }
    for (id, x, y) in &points {
        let field = |field: &str| format!("points[{}]{field}", shown(id));
        let name = found.take(|| field(""), name(id));
        let x = found.take(|| field(".x"), length(x));
        let y = found.take(|| field(".y"), length(y));
        if let (Some(id), Some(x), Some(y)) = (name, x, y) {
            survey.places.push(Place { id, x, y });
        }
    }
    let settings = &mut survey.settings;
    for (id, height, sigma) in &fixed {
        let field = |field: &str| format!("fixed[{}]{field}", shown(id));
        let point = found.take(|| field(""), name(id));
        let height = found.take(|| field(".height"), mm(height));
        let sigma = found.take(|| field(".sigma"), sigma.as_ref().map(mm).transpose());
        if let (Some(point), Some(height), Some(sigma)) = (point, height, sigma) {
            settings.fixed.push(Fixed { point, height, sigma });
        }
    }
    for (at, id) in datum.iter().enumerate() {
        settings.datum.extend(found.take(|| format!("datum[{at}]"), name(id)));
    }
    for (level, sigma) in &levels {
        let field = || format!("levels[{}]", shown(level));
        let (name, sigma) = (found.take(field, name(level)), found.take(field, slope_of(sigma)));
        if let (Some(name), Some(zero_sigma)) = (name, sigma) {
            settings.levels.push(Level { name, zero_sigma });
        }
    }
    for (setup, sigma) in &lasers {
        let field = || format!("lasers[{}]", shown(setup));
        let (name, sigma) = (found.take(field, name(setup)), found.take(field, slope_of(sigma)));
        if let (Some(name), Some(slope_sigma)) = (name, sigma) {
            settings.setups.push(Setup { name, slope_sigma });
        }
    }
    for (at, reading) in without.iter().enumerate() {
        settings.without.extend(found.take(|| format!("without[{at}]"), index(reading)));
    }
    choose(&mut found, settings, surface, test);
    let mut probability = |name: &str, value: &Bound<'py, PyAny>| {
        found.take(|| name.to_owned(), number(value, "a probability between 0 and 1"))
    };
    settings.alpha = probability("alpha", alpha).unwrap_or(settings.alpha);
    settings.power = probability("power", power).unwrap_or(settings.power);
    found.finish(py, Some(Survey(survey)))
}

/// Choices by the name that they have in a job.
fn choose(
    found: &mut Problems,
    settings: &mut SurveySettings,
    surface: &Bound<'_, PyAny>,
    test: &Bound<'_, PyAny>,
) {
    fn read<T: serde::de::DeserializeOwned>(
        value: &Bound<'_, PyAny>,
        expected: &str,
    ) -> Result<T, Refused> {
        serde_json::from_value(Value::String(name(value)?))
            .map_err(|_| Refused::value(shown(value), expected))
    }
    let surface = read(surface, "\"floor\" or \"frame\"");
    settings.surface = found.take(|| "surface".to_owned(), surface).unwrap_or_default();
    let test = read(test, "\"w\" or \"tau\"");
    settings.test = found.take(|| "test".to_owned(), test).unwrap_or_default();
}

/// What covariances and closures of adjusted heights are computed from.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct Solution(pub(crate) Heights);

#[pymethods]
impl Solution {
    /// Covariance of the heights, mm², shape (n, n).
    fn covariance<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let values = interruptible(py, |stop| self.0.covariance_until(stop))?
            .map_err(|error| raised(py, &error))?;
        let count = self.0.ids.len();
        PyArray1::from_vec(py, values).reshape([count, count])
    }

    /// For each reading the other from which a blunder is hardest to tell, and the correlation of both;
    /// None where nothing checks it.
    fn separability(&self, py: Python<'_>) -> Vec<Option<(usize, f64)>> {
        let found = py.detach(|| self.0.separability());
        found.into_iter().map(|it| it.map(|it| (it.other, it.correlation))).collect()
    }

    /// The picture of the readings, as SVG.
    fn picture(&self, py: Python<'_>, units: &Bound<'_, PyAny>, narrow: bool) -> PyResult<String> {
        let units = one(py, "units", picture::units(units))?;
        let draw = if narrow { truebed::survey_picture_narrow } else { truebed::survey_picture };
        Ok(py.detach(|| draw(&self.0, units)))
    }

    /// A `truebed.Closure` of every loop.
    fn closures<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyAny>>> {
        let closure = |it: truebed::Closure| {
            Ok(result!(
                py,
                "_survey",
                Closure { readings: it.readings, mm: it.mm, sigma_mm: it.sigma_mm }
            ))
        };
        self.0.closures().into_iter().map(closure).collect()
    }
}

/// A `truebed.Heights`.
#[pyfunction]
pub(crate) fn adjust<'py>(
    py: Python<'py>,
    survey: &Bound<'py, Survey>,
) -> PyResult<Bound<'py, PyAny>> {
    let asked = survey.get();
    let heights = interruptible(py, |stop| truebed::adjust_until(&asked.0, stop))?
        .map_err(|error| raised(py, &error))?;
    let array = |values: &[f64]| values.to_vec().into_pyarray(py);
    let offset = |it: &truebed::Offset| {
        Ok(result!(py, "_survey", Offset { name: &it.name, value: it.value, sigma: it.sigma }))
    };
    let offsets =
        |offsets: &[truebed::Offset]| offsets.iter().map(offset).collect::<PyResult<Vec<_>>>();
    let group = |it: truebed::SuspectGroup| {
        Ok(result!(
            py,
            "_survey",
            SuspectGroup { readings: it.readings, blunder_mm: it.blunder_mm }
        ))
    };
    Ok(result!(
        py,
        "_survey",
        Heights {
            ids: heights.ids.iter().collect::<Vec<_>>(),
            mm: array(&heights.mm),
            sigma_mm: array(&heights.sigma_mm),
            residuals_mm: array(&heights.residuals_mm),
            redundancy: array(&heights.redundancy),
            normalised: array(&heights.normalised),
            tau: array(&heights.tau),
            detectable_mm: array(&heights.detectable_mm),
            suspects: &heights.suspects,
            critical: heights.critical,
            left_out: &heights.left_out,
            dof: heights.dof,
            variance_factor: heights.variance_factor,
            p_value: heights.p_value,
            setups: offsets(&heights.setups)?,
            zero_errors: offsets(&heights.zero_errors)?,
            plane_slopes: (heights.plane_slopes.iter())
                .map(|slopes| offsets(slopes))
                .collect::<PyResult<Vec<_>>>()?,
            unchecked: (heights.unchecked.iter())
                .map(|it| match it {
                    truebed::Unchecked::Setup { name, .. } => ("laser", name.clone()),
                    truebed::Unchecked::Level { name } => ("level", name.clone()),
                    _ => ("", String::new()),
                })
                .collect::<Vec<_>>(),
            suspect_groups: heights
                .suspect_groups()
                .into_iter()
                .map(group)
                .collect::<PyResult<Vec<_>>>()?,
            condition: heights.condition,
            _solution: Solution(heights),
            _survey: survey,
        }
    ))
}

/// The connected components that the readings of a survey make of its points, by ids.
#[pyfunction]
pub(crate) fn components(py: Python<'_>, survey: &Survey) -> PyResult<Vec<Vec<String>>> {
    survey.0.components().map_err(|error| raised(py, &error))
}

/// A `truebed.UnionJack`.
#[pyfunction]
#[pyo3(signature = (*, nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s, unit, step))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn union_jack<'py>(
    py: Python<'py>,
    nw_se: PyReadonlyArray1<'py, f64>,
    ne_sw: PyReadonlyArray1<'py, f64>,
    ne_nw: PyReadonlyArray1<'py, f64>,
    ne_se: PyReadonlyArray1<'py, f64>,
    se_sw: PyReadonlyArray1<'py, f64>,
    nw_sw: PyReadonlyArray1<'py, f64>,
    e_w: PyReadonlyArray1<'py, f64>,
    n_s: PyReadonlyArray1<'py, f64>,
    unit: &Bound<'py, PyAny>,
    step: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let mut found = Problems::default();
    let unit = found.take(|| "unit".to_owned(), slope_of(unit));
    let step: Option<Mm> = found.take(|| "step".to_owned(), mm(step));
    let (unit, step) = found.finish(py, unit.zip(step))?;
    let lines = UnionJackLines {
        nw_se: nw_se.to_vec()?,
        ne_sw: ne_sw.to_vec()?,
        ne_nw: ne_nw.to_vec()?,
        ne_se: ne_se.to_vec()?,
        se_sw: se_sw.to_vec()?,
        nw_sw: nw_sw.to_vec()?,
        e_w: e_w.to_vec()?,
        n_s: n_s.to_vec()?,
    };
    let plate = truebed::union_jack(&lines, unit, step).map_err(|error| raised(py, &error))?;
    let [nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s] =
        plate.lines_mm.map(|line| line.into_pyarray(py));
    Ok(result!(
        py,
        "_survey",
        UnionJack {
            nw_se: nw_se,
            ne_sw: ne_sw,
            ne_nw: ne_nw,
            ne_se: ne_se,
            se_sw: se_sw,
            nw_sw: nw_sw,
            e_w: e_w,
            n_s: n_s,
            closures_mm: <(f64, f64)>::from(plate.closures_mm),
            flatness_mm: plate.flatness_mm,
        }
    ))
}
