//! Floors that nobody has measured, estimates and kits.

use std::num::NonZero;

use numpy::{IntoPyArray, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::{
    Again, Estimate, FloorClass, KitOptions, Length, MeasuredFloor, Quantities, Rates, SlabOnFrame,
    SlatesOnFrame, SurveyPattern,
};

use crate::bed::Laid;
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

    /// Expected heights and their covariance at the places `xy`, from heights read at others.
    fn given<'py>(
        &self,
        py: Python<'py>,
        read_xy: PyReadonlyArray2<'py, f64>,
        heights: PyReadonlyArray1<'py, f64>,
        sigma_mm: f64,
        xy: PyReadonlyArray2<'py, f64>,
    ) -> PyResult<Rest> {
        let read = measured(&read_xy, &heights, sigma_mm)?;
        let rest = self.0.given(&read, xy.as_slice()?.as_chunks().0);
        Ok(Rest(rest.map_err(|error| raised(py, &error))?))
    }

    /// The model updated by a floor that was read: with factor, its interval, differences, worth and
    /// percentile.
    fn updated<'py>(
        &self,
        py: Python<'py>,
        xy: PyReadonlyArray2<'py, f64>,
        heights: PyReadonlyArray1<'py, f64>,
        sigma_mm: f64,
        worth: f64,
    ) -> PyResult<(Floor, f64, [f64; 2], usize, f64, f64)> {
        let updated = self.0.updated(&measured(&xy, &heights, sigma_mm)?, worth);
        let it = updated.map_err(|error| raised(py, &error))?;
        Ok((Floor(it.model), it.factor, it.interval, it.differences, it.worth, it.percentile))
    }

    fn __getnewargs__(&self) -> (String,) {
        (serde_json::to_string(&self.0).unwrap_or_default(),)
    }
}

/// What readings say of the rest of a floor.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct Rest(truebed::RestOfFloor);

#[pymethods]
impl Rest {
    #[new]
    fn new(
        heights: PyReadonlyArray1<'_, f64>,
        covariance: PyReadonlyArray2<'_, f64>,
    ) -> PyResult<Self> {
        let (heights_mm, covariance_mm2) =
            (heights.as_slice()?.to_vec(), covariance.as_slice()?.to_vec());
        Ok(Self(truebed::RestOfFloor { heights_mm, covariance_mm2 }))
    }

    #[getter]
    fn heights_mm<'py>(&self, py: Python<'py>) -> Bound<'py, PyAny> {
        self.0.heights_mm.clone().into_pyarray(py).into_any()
    }

    #[getter]
    fn covariance_mm2<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let count = self.0.heights_mm.len();
        table(py, self.0.covariance_mm2.clone(), [count, count])
    }

    /// Heights of floors, shape (n, k).
    fn sample<'py>(&self, py: Python<'py>, n: usize, seed: u64) -> PyResult<Bound<'py, PyAny>> {
        let heights = py.detach(|| self.0.sample(n, seed));
        let heights = heights.map_err(|error| raised(py, &error))?;
        table(py, heights, [n, self.0.heights_mm.len()])
    }
}

fn measured(
    xy: &PyReadonlyArray2<'_, f64>,
    heights: &PyReadonlyArray1<'_, f64>,
    sigma_mm: f64,
) -> PyResult<MeasuredFloor> {
    let (xy, heights_mm) = (xy.as_slice()?.as_chunks().0.to_vec(), heights.as_slice()?.to_vec());
    Ok(MeasuredFloor { xy, heights_mm, sigma_mm })
}

/// The smallest value that at least a part `p` of the values do not exceed, without those that are NaN.
#[pyfunction]
pub(crate) fn quantile(values: PyReadonlyArray1<'_, f64>, p: f64) -> PyResult<f64> {
    Ok(truebed::quantile(values.as_slice()?, p))
}

/// A `truebed.ReadingsNeeded`.
#[pyfunction]
pub(crate) fn readings_needed<'py>(
    py: Python<'py>,
    problem: &Bound<'py, ShimProblem>,
    pattern: &str,
    sigma_mm: f64,
    left_mm: f64,
    doubt: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let problem = &problem.get().problem;
    let known = SurveyPattern::ALL.into_iter().find(|(_, name)| *name == pattern);
    let unknown = || Refused::unknown(format!("{pattern:?}"), "\"heights\" or \"loop\"");
    let (pattern, _) = one(py, "pattern", known.ok_or_else(unknown))?;
    let places: Vec<[Length; 2]> = problem.supports.iter().map(|it| [it.x, it.y]).collect();
    let found = Length::from_mm(left_mm).and_then(|left| {
        let (limits, joints) = (&problem.limits, &problem.joints);
        truebed::readings_needed(&places, limits, joints, pattern, sigma_mm, left, doubt)
    });
    let found = found.map_err(|error| raised(py, &error))?;
    Ok(result!(
        py,
        "_estimate",
        ReadingsNeeded {
            rounds: found.rounds,
            readings: found.readings,
            doubt: found.doubt,
            sigma_mm: found.sigma_mm,
        }
    ))
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
    let floors = floors.iter().map(|(xy, heights)| measured(xy, heights, 0.0));
    let floors = floors.collect::<PyResult<Vec<_>>>()?;
    let fitted = py.detach(|| truebed::FloorModel::fit(&floors));
    let fitted = fitted.map_err(|error| raised(py, &error))?;
    let numbers =
        [fitted.hurst, fitted.hurst_sigma, fitted.sigma_at_1m_mm, fitted.sigma_at_1m_relative];
    Ok((Floor(fitted.model), numbers, fitted.differences))
}

/// Prices or minutes: job, reading, lift, piece, slate, joint, repeat.
type Seven = [f64; 7];

fn rates([job, reading, lift, piece, slate, joint, repeat]: Seven) -> Rates {
    Rates { job, reading, lift, piece, slate, joint, repeat }
}

/// Slates, the frame under them, those that are plates, and what presses on their supports.
type OnFrame<'py> = (Bound<'py, ShimProblem>, Bound<'py, Floor>, Vec<Bound<'py, Laid>>, f64);

fn read_on_frame((problem, frame, slabs, least_force_n): OnFrame<'_>) -> SlatesOnFrame {
    let slab = |laid: &Bound<'_, Laid>| SlabOnFrame { laid: laid.get().0.clone(), least_force_n };
    SlatesOnFrame {
        problem: problem.get().problem.clone(),
        frame: frame.get().0.clone(),
        slabs: slabs.iter().map(slab).collect(),
    }
}

/// How to estimate, as the calls of the package ask for it.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct EstimateOptions(pub(crate) truebed::EstimateOptions);

#[pymethods]
impl EstimateOptions {
    #[new]
    #[pyo3(signature = (*, jobs, seed, standard_error, confidence, again, prices, minutes, slates, on_frame, threads))]
    #[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
    fn new(
        py: Python<'_>,
        jobs: usize,
        seed: u64,
        standard_error: Option<f64>,
        confidence: f64,
        again: Option<[f64; 2]>,
        prices: Option<Seven>,
        minutes: Option<Seven>,
        slates: usize,
        on_frame: Option<OnFrame<'_>>,
        threads: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let options = truebed::EstimateOptions {
            jobs,
            seed,
            standard_error,
            confidence,
            again: again.map(|[settlement_sigma_mm, reading_sigma_mm]| Again {
                settlement_sigma_mm,
                reading_sigma_mm,
            }),
            prices: prices.map(rates),
            minutes: minutes.map(rates),
            slates,
            on_frame: on_frame.map(read_on_frame),
            threads: one(py, "threads", crate::value::threads(threads))?,
        };
        options.check().map_err(|error| raised(py, &error))?;
        Ok(Self(options))
    }
}

/// A `truebed.Estimate`.
#[pyfunction]
pub(crate) fn estimate<'py>(
    py: Python<'py>,
    floor: &Bound<'py, Floor>,
    problem: &Bound<'py, ShimProblem>,
    options: &Bound<'py, EstimateOptions>,
    progress: Option<Py<PyAny>>,
) -> PyResult<Bound<'py, PyAny>> {
    let asked = problem.get();
    let (floor, problem, options) = (&floor.get().0, &asked.problem, &options.get().0);
    let (found, signalled) = py.detach(|| {
        let signals = Signals::new();
        let found = truebed::estimate_until(floor, problem, options, &|done| {
            signals.raised_or(|py| match &progress {
                Some(progress) => progress.call1(py, (done,)).map(drop),
                None => Ok(()),
            })
        });
        (found, signals.finish())
    });
    signalled?;
    let found: Estimate = found.map_err(|error| raised(py, &error))?;
    let known = |it: &Option<Quantities>| match it {
        Some(it) => it.counts().map(|count| count as f64),
        None => [f64::NAN; Quantities::NAMES.len()],
    };
    let operations: Vec<f64> = found.quantities.iter().flat_map(known).collect();
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
            operations: table(py, operations, [jobs, Quantities::NAMES.len()])?,
        }
    ))
}

/// A `truebed.Kit`.
#[pyfunction]
#[pyo3(signature = (floor, problem, *, share, confidence, seed, most, packs, cheapest, jobs_a_day, slates, training_jobs, fresh_jobs, threads))]
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
    jobs_a_day: usize,
    slates: Option<OnFrame<'py>>,
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
        jobs_a_day,
        slates: slates.map(read_on_frame),
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
            attempts: found.attempts,
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

/// The kits of a front as `truebed.FrontKit`, and the picture of them as SVG.
#[pyfunction]
#[pyo3(signature = (floor, problem, *, shares, confidence, seed, most, packs, cheapest, training_jobs, fresh_jobs, threads))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn kit_front<'py>(
    py: Python<'py>,
    floor: &Bound<'py, Floor>,
    problem: &Bound<'py, ShimProblem>,
    shares: Vec<f64>,
    confidence: f64,
    seed: u64,
    most: Vec<u32>,
    packs: Vec<u32>,
    cheapest: bool,
    training_jobs: usize,
    fresh_jobs: usize,
    threads: Option<NonZero<usize>>,
) -> PyResult<(Vec<Bound<'py, PyAny>>, String)> {
    let (floor, problem) = (&floor.get().0, &problem.get().problem);
    let options = KitOptions {
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
    let found = interruptible(py, |stop| {
        truebed::kit_front_until(floor, problem, &options, &shares, stop)
    })?;
    let found = found.map_err(|error| raised(py, &error))?;
    let picture = truebed::kit_front_picture(&found);
    let kits = found.iter().map(|it| {
        Ok(result!(
            py,
            "_estimate",
            FrontKit {
                counts: &it.counts,
                pieces: it.pieces,
                training_share: it.training_share,
                served: it.served,
                interval: it.interval.to_vec(),
                proven: it.proven,
            }
        ))
    });
    Ok((kits.collect::<PyResult<_>>()?, picture))
}
