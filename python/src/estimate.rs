//! Floors that nobody has measured, estimates and kits.

use std::num::NonZero;

use numpy::{IntoPyArray, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::{Again, Estimate, EstimateOptions, FloorClass, KitOptions, MeasuredFloor, Rates};

use crate::error::{Refused, one, raised};
use crate::problem::ShimProblem;
use crate::result::result;
use crate::signal::{Signals, interruptible};

/// What the package's `FloorModel` holds.
#[pyclass(frozen, eq, module = "truebed._truebed")]
#[derive(PartialEq)]
pub(crate) struct Floor(truebed::FloorModel);

#[pymethods]
impl Floor {
    /// Reads what `__getnewargs__` gives.
    #[new]
    fn new(py: Python<'_>, json: &str) -> PyResult<Self> {
        let read = serde_json::from_str(json);
        let read = read.map_err(|error| Refused::document(error.to_string(), "a floor model"));
        one(py, "floor", read.map(Self))
    }

    /// The floor of two F-numbers.
    #[staticmethod]
    fn from_f_numbers(py: Python<'_>, ff: f64, fl: f64) -> PyResult<Self> {
        let model = truebed::FloorModel::from_f_numbers(ff, fl);
        Ok(Self(model.map_err(|error| raised(py, &error))?))
    }

    /// The floor whose heights are independent.
    #[staticmethod]
    fn from_sigma(py: Python<'_>, sigma_mm: f64) -> PyResult<Self> {
        let model = truebed::FloorModel::from_sigma(sigma_mm);
        Ok(Self(model.map_err(|error| raised(py, &error))?))
    }

    /// The floor that just keeps a class.
    #[staticmethod]
    fn of(py: Python<'_>, floor_class: &str) -> PyResult<Self> {
        let class = floor_class.parse::<FloorClass>().map_err(|error| raised(py, &error))?;
        Ok(Self(truebed::FloorModel::of(class)))
    }

    /// The same floor with a mean slope that nobody knows, mm/m.
    fn with_fall(&self, py: Python<'_>, sigma_mm_per_m: f64) -> PyResult<Self> {
        let model = self.0.clone().with_fall(sigma_mm_per_m);
        Ok(Self(model.map_err(|error| raised(py, &error))?))
    }

    #[getter]
    fn hurst(&self) -> f64 {
        self.0.hurst()
    }

    #[getter]
    fn assumptions(&self) -> Vec<String> {
        self.0.assumptions().to_vec()
    }

    fn sigma_of_difference_mm(&self, py: Python<'_>, distance_mm: f64) -> PyResult<f64> {
        self.0.sigma_of_difference_mm(distance_mm).map_err(|error| raised(py, &error))
    }

    /// Heights of floors, shape (n, k).
    fn sample<'py>(
        &self,
        py: Python<'py>,
        xy: PyReadonlyArray2<'py, f64>,
        n: usize,
        seed: u64,
    ) -> PyResult<Bound<'py, PyAny>> {
        let xy = xy.as_slice()?.as_chunks().0;
        let heights = py.detach(|| self.0.sample(xy, n, seed));
        let heights = heights.map_err(|error| raised(py, &error))?;
        table(py, heights, [n, xy.len()])
    }

    fn __getnewargs__(&self) -> (String,) {
        (serde_json::to_string(&self.0).unwrap_or_default(),)
    }
}

/// An array of this shape.
fn table<'py>(py: Python<'py>, values: Vec<f64>, shape: [usize; 2]) -> PyResult<Bound<'py, PyAny>> {
    Ok(values.into_pyarray(py).reshape(shape)?.into_any())
}

/// A `truebed.FittedFloor` without its model, and the model.
#[pyfunction]
pub(crate) fn fit_floor<'py>(
    py: Python<'py>,
    floors: Vec<(PyReadonlyArray2<'py, f64>, PyReadonlyArray1<'py, f64>)>,
) -> PyResult<(Floor, [f64; 4], usize)> {
    let mut measured = Vec::new();
    for (xy, heights) in &floors {
        let (xy, heights_mm) =
            (xy.as_slice()?.as_chunks().0.to_vec(), heights.as_slice()?.to_vec());
        measured.push(MeasuredFloor { xy, heights_mm, sigma_mm: 0.0 });
    }
    let fitted = py.detach(|| truebed::FloorModel::fit(&measured));
    let fitted = fitted.map_err(|error| raised(py, &error))?;
    let numbers =
        [fitted.hurst, fitted.hurst_sigma, fitted.sigma_at_1m_mm, fitted.sigma_at_1m_relative];
    Ok((Floor(fitted.model), numbers, fitted.differences))
}

/// Prices or minutes: job, reading, lift, piece, slate, joint, repeat.
pub(crate) type Seven = [f64; 7];

pub(crate) fn rates([job, reading, lift, piece, slate, joint, repeat]: Seven) -> Rates {
    Rates { job, reading, lift, piece, slate, joint, repeat }
}

/// A `truebed.Estimate`.
#[pyfunction]
#[pyo3(signature = (floor, problem, *, jobs, seed, standard_error, confidence, again, prices, minutes, slates, threads, progress))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn estimate<'py>(
    py: Python<'py>,
    floor: &Bound<'py, Floor>,
    problem: &Bound<'py, ShimProblem>,
    jobs: usize,
    seed: u64,
    standard_error: Option<f64>,
    confidence: f64,
    again: Option<[f64; 2]>,
    prices: Option<Seven>,
    minutes: Option<Seven>,
    slates: usize,
    threads: Option<NonZero<usize>>,
    progress: Option<Py<PyAny>>,
) -> PyResult<Bound<'py, PyAny>> {
    let asked = problem.get();
    let (floor, problem) = (&floor.get().0, &asked.problem);
    let again = again.map(|[settlement_sigma_mm, reading_sigma_mm]| Again {
        settlement_sigma_mm,
        reading_sigma_mm,
    });
    let (prices, minutes) = (prices.map(rates), minutes.map(rates));
    let options = EstimateOptions {
        jobs,
        seed,
        standard_error,
        confidence,
        again,
        prices,
        minutes,
        slates,
        threads,
    };
    let (found, signalled) = py.detach(|| {
        let signals = Signals::new();
        let found = truebed::estimate_until(floor, problem, &options, &|done| {
            signals.raised_or(|py| match &progress {
                Some(progress) => progress.call1(py, (done,)).map(drop),
                None => Ok(()),
            })
        });
        (found, signals.finish())
    });
    signalled?;
    let found: Estimate = found.map_err(|error| raised(py, &error))?;
    let (jobs, supports, kinds) = (found.jobs, problem.supports.len(), problem.stock.len());
    let column = |values: Vec<f64>| values.into_pyarray(py);
    let reasons = found.reasons.iter();
    let reasons: Vec<(String, usize)> =
        reasons.map(|(reason, count)| (reason.name().to_owned(), *count)).collect();
    Ok(result!(
        py,
        "_estimate",
        Estimate {
            jobs: jobs,
            served: found.served,
            interval: found.interval.to_vec(),
            reasons: reasons,
            again: found.again,
            pieces: column(found.pieces),
            lifts: column(found.lifts),
            thickest_mm: column(found.thickest_mm),
            lifts_mm: table(py, found.lifts_mm, [jobs, supports])?,
            used: table(py, found.used, [jobs, kinds])?,
            cost: column(found.cost),
            minutes: column(found.minutes),
        }
    ))
}

/// A `truebed.Kit`.
#[pyfunction]
#[pyo3(signature = (floor, problem, *, share, confidence, seed, most, packs, cheapest, training_jobs, fresh_jobs, threads))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn kit<'py>(
    py: Python<'py>,
    floor: &Bound<'py, Floor>,
    problem: &Bound<'py, ShimProblem>,
    share: f64,
    confidence: f64,
    seed: u64,
    most: Vec<u32>,
    packs: Vec<u32>,
    cheapest: bool,
    training_jobs: usize,
    fresh_jobs: usize,
    threads: Option<NonZero<usize>>,
) -> PyResult<Bound<'py, PyAny>> {
    let (floor, problem) = (&floor.get().0, &problem.get().problem);
    let options = KitOptions {
        share,
        confidence,
        seed,
        most,
        packs,
        cheapest,
        training_jobs,
        fresh_jobs,
        threads,
        ..KitOptions::default()
    };
    let found = interruptible(py, |stop| truebed::kit_until(floor, problem, &options, stop))?;
    let found = found.map_err(|error| raised(py, &error))?;
    let additions = found.additions.iter().map(|it| {
        Ok(result!(
            py,
            "_estimate",
            MorePieces { kind: it.kind, pieces: it.pieces, share: it.share }
        ))
    });
    let additions = additions.collect::<PyResult<Vec<_>>>()?;
    Ok(result!(
        py,
        "_estimate",
        Kit {
            counts: &found.counts,
            served: found.served,
            interval: found.interval.to_vec(),
            meets_share: found.meets_share,
            fresh_jobs: found.fresh_jobs,
            failures: found.failures,
            proven: found.proven,
            training_share: found.training_share,
            additions: additions,
            solved: found.solved,
            spared: found.spared,
        }
    ))
}
