//! Slabs on supports that push.

use numpy::{PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::{BearSettings, BedProblem, Length, Limits, NoBed, PlanOptions, SlabSupport};

use crate::budget::budget;
use crate::error::{Problems, Refused, raised};
use crate::limits::limits;
use crate::name::Names;
use crate::result::result;
use crate::shim::stock;
use crate::signal::interruptible;
use crate::value::{index, job_name, length, number, whole};

type Pair<'py> = Option<[Bound<'py, PyAny>; 2]>;

/// One slate piece: a rectangle in plan from x[0] to x[1] and y[0] to y[1], flat when unstressed, of
/// one thickness; lengths in mm or as texts with a unit. e_gpa is its modulus of elasticity, nu its
/// Poisson's ratio (0 to below 0.5), density in kg/m³. strength_mpa is its bending strength, which is
/// divided by strength_factor before a stress is held against it.
///
/// Not modelled: pockets and holes, a modulus that differs with the grain, glue, creep.
///
/// >>> import truebed
/// >>> slab = truebed.Slab((0, 1270), (0, 850), "1 in", e_gpa=48.36, nu=0.25, density=2794)
/// >>> round(slab.weight_n)
/// 751
#[pyclass(frozen, eq, module = "truebed")]
#[derive(PartialEq)]
pub(crate) struct Slab(truebed::Slab);

#[pymethods]
impl Slab {
    #[new]
    #[pyo3(signature = (x, y, thickness, *, e_gpa, nu, density, strength_mpa = None, strength_factor = None))]
    #[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
    fn new(
        py: Python<'_>,
        x: &Bound<'_, PyAny>,
        y: &Bound<'_, PyAny>,
        thickness: &Bound<'_, PyAny>,
        e_gpa: &Bound<'_, PyAny>,
        nu: &Bound<'_, PyAny>,
        density: &Bound<'_, PyAny>,
        strength_mpa: Option<&Bound<'_, PyAny>>,
        strength_factor: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mut found = Problems::default();
        let x = ends(&mut found, "slab.x", x);
        let y = ends(&mut found, "slab.y", y);
        let thickness = found.take(|| "slab.thickness".to_owned(), length(thickness));
        let mut plain = |name: &str, value: &Bound<'_, PyAny>| {
            found.take(|| format!("slab.{name}"), number(value, "a number"))
        };
        let (e_gpa, nu, density) =
            (plain("e_gpa", e_gpa), plain("nu", nu), plain("density", density));
        let strength = strength_mpa.map(|value| plain("strength_mpa", value));
        let factor = strength_factor.map_or(Some(1.0), |value| plain("strength_factor", value));
        let slab = (|| {
            let thickness = thickness?.mm();
            let mut slab = truebed::Slab::new(x?, y?, thickness, e_gpa?, nu?, density?);
            slab.strength_mpa = strength.unwrap_or_default();
            slab.strength_factor = factor?;
            Some(slab)
        })();
        let slab = found.finish(py, slab)?;
        slab.check().map_err(|error| raised(py, &error))?;
        Ok(Self(slab))
    }

    /// Where it begins and ends along the bed, mm.
    #[getter]
    fn x(&self) -> (f64, f64) {
        self.0.x_mm.into()
    }

    /// Where it begins and ends across, mm.
    #[getter]
    fn y(&self) -> (f64, f64) {
        self.0.y_mm.into()
    }

    /// Thickness, mm.
    #[getter]
    fn thickness(&self) -> f64 {
        self.0.thickness_mm
    }

    /// Modulus of elasticity, GPa.
    #[getter]
    fn e_gpa(&self) -> f64 {
        self.0.e_gpa
    }

    /// Poisson's ratio.
    #[getter]
    fn nu(&self) -> f64 {
        self.0.nu
    }

    /// Density, kg/m³.
    #[getter]
    fn density(&self) -> f64 {
        self.0.density_kg_per_m3
    }

    /// Bending strength, MPa; None where it is not known.
    #[getter]
    fn strength_mpa(&self) -> Option<f64> {
        self.0.strength_mpa
    }

    /// What the strength is divided by.
    #[getter]
    fn strength_factor(&self) -> f64 {
        self.0.strength_factor
    }

    /// Its weight, N.
    #[getter]
    fn weight_n(&self) -> f64 {
        self.0.weight_n()
    }

    fn __repr__(&self) -> String {
        let truebed::Slab { x_mm: [x0, x1], y_mm: [y0, y1], thickness_mm, e_gpa, nu, .. } = self.0;
        let density = self.0.density_kg_per_m3;
        format!(
            "Slab(({x0}, {x1}), ({y0}, {y1}), {thickness_mm}, e_gpa={e_gpa}, nu={nu}, \
             density={density})"
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
        let rebuild = py.import("truebed._bed")?.getattr("_slab")?;
        let truebed::Slab { x_mm, y_mm, thickness_mm, e_gpa, nu, density_kg_per_m3, .. } = self.0;
        let values = (
            (x_mm[0], x_mm[1]),
            (y_mm[0], y_mm[1]),
            thickness_mm,
            e_gpa,
            nu,
            density_kg_per_m3,
            self.0.strength_mpa,
            self.0.strength_factor,
        );
        Ok((rebuild, values.into_pyobject(py)?.into_any()))
    }
}

/// Two lengths: where something begins and ends.
fn ends(found: &mut Problems, field: &str, value: &Bound<'_, PyAny>) -> Option<[f64; 2]> {
    let pair: Pair<'_> = value.extract().ok();
    let Some([from, to]) = pair else {
        let refused = Refused::wrong_type(value, "two lengths, where it begins and ends");
        return found.take(|| field.to_owned(), Err(refused));
    };
    let from = found.take(|| format!("{field}[0]"), length(&from));
    let to = found.take(|| format!("{field}[1]"), length(&to));
    Some([from?.mm(), to?.mm()])
}

/// A load on a slab; downwards is positive.
///
/// >>> import truebed
/// >>> truebed.point_load(600, 400, 890) == truebed.point_load("600 mm", 400, 890)
/// True
#[pyclass(frozen, eq, module = "truebed")]
#[derive(PartialEq, Clone)]
pub(crate) struct Load(truebed::Load);

#[pymethods]
impl Load {
    /// How much it is, N.
    #[getter]
    fn newtons(&self) -> f64 {
        self.0.newtons()
    }

    /// Its middle, x and y, mm.
    #[getter]
    fn middle_mm(&self) -> (f64, f64) {
        self.0.middle_mm().into()
    }

    fn __repr__(&self) -> String {
        match self.0 {
            truebed::Load::Patch { x_mm: [a, b], y_mm: [c, d], newtons } => {
                format!("patch_load(({a}, {b}), ({c}, {d}), {newtons})")
            }
            _ => {
                let [x, y] = self.0.middle_mm();
                format!("point_load({x}, {y}, {})", self.0.newtons())
            }
        }
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
        let package = py.import("truebed")?;
        match self.0 {
            truebed::Load::Patch { x_mm: [a, b], y_mm: [c, d], newtons } => {
                let values = ((a, b), (c, d), newtons).into_pyobject(py)?.into_any();
                Ok((package.getattr("patch_load")?, values))
            }
            _ => {
                let [x, y] = self.0.middle_mm();
                let values = (x, y, self.0.newtons()).into_pyobject(py)?.into_any();
                Ok((package.getattr("point_load")?, values))
            }
        }
    }
}

/// A load at one place (mm, or texts with a unit); downwards is positive.
///
/// >>> import truebed
/// >>> truebed.point_load(635, "425 mm", 890)
/// point_load(635, 425, 890)
#[pyfunction]
pub(crate) fn point_load(
    py: Python<'_>,
    x: &Bound<'_, PyAny>,
    y: &Bound<'_, PyAny>,
    newtons: &Bound<'_, PyAny>,
) -> PyResult<Load> {
    let mut found = Problems::default();
    let x = found.take(|| "x".to_owned(), length(x));
    let y = found.take(|| "y".to_owned(), length(y));
    let newtons = found.take(|| "newtons".to_owned(), number(newtons, "a number of newtons"));
    let load = (|| Some(truebed::Load::Point { xy_mm: [x?.mm(), y?.mm()], newtons: newtons? }))();
    Ok(Load(found.finish(py, load)?))
}

/// A load spread evenly over a rectangle from x[0] to x[1] and y[0] to y[1] (mm, or texts with a unit);
/// newtons is all of it, downwards positive.
///
/// >>> import truebed
/// >>> truebed.patch_load((600, 700), (400, 500), 890)
/// patch_load((600, 700), (400, 500), 890)
#[pyfunction]
pub(crate) fn patch_load(
    py: Python<'_>,
    x: &Bound<'_, PyAny>,
    y: &Bound<'_, PyAny>,
    newtons: &Bound<'_, PyAny>,
) -> PyResult<Load> {
    let mut found = Problems::default();
    let x = ends(&mut found, "x", x);
    let y = ends(&mut found, "y", y);
    let newtons = found.take(|| "newtons".to_owned(), number(newtons, "a number of newtons"));
    let load = (|| Some(truebed::Load::Patch { x_mm: x?, y_mm: y?, newtons: newtons? }))();
    Ok(Load(found.finish(py, load)?))
}

/// A slab laid on supports: what the package's `LaidSlab` holds.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct Laid(pub(crate) truebed::LaidSlab);

#[pymethods]
impl Laid {
    #[new]
    fn new(
        py: Python<'_>,
        slab: &Bound<'_, PyAny>,
        xy: PyReadonlyArray2<'_, f64>,
        pull_n: PyReadonlyArray1<'_, f64>,
        stiffness_n_per_mm: Option<PyReadonlyArray1<'_, f64>>,
        loads: Vec<Bound<'_, PyAny>>,
        weight: bool,
    ) -> PyResult<Self> {
        let read = read(py, slab, &xy, &pull_n, stiffness_n_per_mm.as_ref(), &loads)?;
        let (slab, supports, loads) = read;
        let settings = BearSettings { weight, ..BearSettings::default() };
        let laid = py.detach(|| truebed::LaidSlab::new(&slab, &supports, &loads, settings));
        Ok(Self(laid.map_err(|error| raised(py, &error))?))
    }

    /// Elements of the mesh along and across.
    fn elements(&self) -> (usize, usize) {
        self.0.elements().into()
    }

    /// A `truebed.Bearing` on these tops; `laid` is the package's `LaidSlab`.
    fn bear<'py>(
        &self,
        py: Python<'py>,
        laid: &Bound<'py, PyAny>,
        tops: PyReadonlyArray1<'py, f64>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let bearing = self.0.bear(tops.as_slice()?).map_err(|error| raised(py, &error))?;
        borne(py, laid, tops.as_slice()?, bearing)
    }

    /// Forces and gaps, (k, n) each.
    #[expect(clippy::type_complexity, reason = "two arrays")]
    fn bear_many<'py>(
        &self,
        py: Python<'py>,
        tops: PyReadonlyArray2<'py, f64>,
    ) -> PyResult<(Bound<'py, PyArray2<f64>>, Bound<'py, PyArray2<f64>>)> {
        let tops = tops.as_slice()?;
        let count = self.0.supports().len();
        let found = py.detach(|| self.0.bear_many(tops)).map_err(|error| raised(py, &error))?;
        let rows =
            |values: Vec<f64>| PyArray1::from_vec(py, values).reshape([tops.len() / count, count]);
        Ok((rows(found.forces_n)?, rows(found.gaps_mm)?))
    }
}

/// A `truebed.Bearing`.
fn borne<'py>(
    py: Python<'py>,
    laid: &Bound<'py, PyAny>,
    tops: &[f64],
    bearing: truebed::Bearing,
) -> PyResult<Bound<'py, PyAny>> {
    Ok(result!(
        py,
        "_bed",
        Bearing {
            tops_mm: PyArray1::from_slice(py, tops),
            forces_n: PyArray1::from_slice(py, &bearing.forces_n),
            carries: PyArray1::from_slice(py, &bearing.carries),
            gaps_mm: PyArray1::from_slice(py, &bearing.gaps_mm),
            tips: bearing.tips.map(|tips| (<(usize, usize)>::from(tips.about), tips.moment_n_mm)),
            _laid: laid,
            _shape: BearingShape(bearing),
        }
    ))
}

/// What is computed of a bearing when it is asked for.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct BearingShape(truebed::Bearing);

#[pymethods]
impl BearingShape {
    fn accuracy_mm(&self) -> f64 {
        self.0.accuracy_mm()
    }

    fn sag_mm(&self) -> f64 {
        self.0.sag_mm()
    }

    fn at<'py>(
        &self,
        py: Python<'py>,
        xy: PyReadonlyArray2<'py, f64>,
    ) -> PyResult<Bound<'py, PyArray1<f64>>> {
        let heights = self.0.at(xy.as_slice()?.as_chunks().0);
        Ok(PyArray1::from_vec(py, heights.map_err(|error| raised(py, &error))?))
    }

    /// The stress, where it is, and its ratio to what is allowed.
    fn stress(&self) -> Option<(f64, (f64, f64), Option<f64>)> {
        self.0.stress().map(|stress| (stress.mpa, stress.at_mm.into(), stress.ratio))
    }
}

type Read = (truebed::Slab, Vec<SlabSupport>, Vec<truebed::Load>);

fn read(
    py: Python<'_>,
    slab: &Bound<'_, PyAny>,
    xy: &PyReadonlyArray2<'_, f64>,
    pull_n: &PyReadonlyArray1<'_, f64>,
    stiffness: Option<&PyReadonlyArray1<'_, f64>>,
    loads: &[Bound<'_, PyAny>],
) -> PyResult<Read> {
    let mut found = Problems::default();
    let slab = slab.cast::<Slab>().map_err(|_| Refused::wrong_type(slab, "a Slab"));
    let slab = found.take(|| "slab".to_owned(), slab);
    let mut read = Vec::new();
    for (at, load) in loads.iter().enumerate() {
        let expected = "a load, as point_load and patch_load make them";
        let load = load.cast::<Load>().map_err(|_| Refused::wrong_type(load, expected));
        read.extend(found.take(|| format!("loads[{at}]"), load).map(|load| load.get().0));
    }
    let slab = found.finish(py, slab.map(|slab| slab.get().0))?;
    let pulls = pull_n.as_slice()?;
    let stiffness = stiffness.map(|it| it.as_slice()).transpose()?;
    let supports = xy.as_slice()?.as_chunks::<2>().0.iter().zip(pulls).enumerate();
    let supports = supports.map(|(at, (&xy_mm, &pull_n))| SlabSupport {
        xy_mm,
        pull_n,
        // An infinite stiffness is that of a rigid support.
        stiffness_n_per_mm: stiffness.map(|it| it[at]).filter(|&it| it != f64::INFINITY),
    });
    Ok((slab, supports.collect(), read))
}

/// A `truebed.BedPlan`; `laid` is a `LaidSlab` of the package that is still to be laid.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn plan_bed<'py>(
    py: Python<'py>,
    slab: &Bound<'py, PyAny>,
    xy: PyReadonlyArray2<'py, f64>,
    frame_mm: PyReadonlyArray1<'py, f64>,
    stock: &Bound<'py, PyAny>,
    limits: &Bound<'py, PyAny>,
    at: PyReadonlyArray2<'py, f64>,
    loads: Vec<Bound<'py, PyAny>>,
    weight: bool,
    pull_n: PyReadonlyArray1<'py, f64>,
    stiffness_n_per_mm: Option<PyReadonlyArray1<'py, f64>>,
    idle: Vec<Bound<'py, PyAny>>,
    least_force_n: f64,
    keep_highest: bool,
    max_pieces: Option<&Bound<'py, PyAny>>,
    budget: Option<&Bound<'py, PyAny>>,
    ids: Option<Vec<String>>,
    laid: &Bound<'py, PyAny>,
) -> PyResult<Bound<'py, PyAny>> {
    let (slab, supports, loads) =
        read(py, slab, &xy, &pull_n, stiffness_n_per_mm.as_ref(), &loads)?;
    let mut found = Problems::default();
    let names = Names::new(ids.as_deref());
    let frame: Vec<Option<Length>> = frame_mm
        .as_slice()?
        .iter()
        .enumerate()
        .map(|(at, &mm)| {
            let height = Length::from_mm(mm).map_err(Refused::from);
            found.take(|| format!("frame_mm[{at}]"), height)
        })
        .collect();
    let stock = self::stock(&mut found, "stock", stock, &names)?;
    let limits: Option<Limits> = found.take(|| "limits".to_owned(), self::limits(&names, limits));
    let idle: Vec<Option<usize>> = idle
        .iter()
        .enumerate()
        .map(|(at, value)| found.take(|| format!("idle[{at}]"), index(value)))
        .collect();
    let most = "None or a whole number of pieces from 0 to 4294967295";
    let max_pieces = max_pieces.map(|value| whole(value, most)).transpose();
    let max_pieces = found.take(|| "max_pieces".to_owned(), max_pieces);
    let budget = budget.map_or(Ok(truebed::Budget::default()), self::budget);
    let budget = found.take(|| "budget".to_owned(), budget);
    let problem = (|| {
        let (stock, _) = stock?;
        let frame = frame.into_iter().collect::<Option<Vec<_>>>()?;
        let mut problem = BedProblem::new(slab, supports, frame, stock, limits?);
        problem.loads = loads;
        problem.settings.weight = weight;
        problem.idle = idle.into_iter().collect::<Option<Vec<_>>>()?;
        problem.least_force_n = least_force_n;
        problem.options = PlanOptions {
            keep_highest,
            max_pieces: max_pieces?,
            budget: budget?,
            ..PlanOptions::default()
        };
        Some(problem)
    })();
    let mut problem = found.finish(py, problem)?;
    problem.at = at.as_slice()?.as_chunks().0.to_vec();
    let plan = interruptible(py, |stop| truebed::plan_bed_until(&problem, stop))?;
    let plan = plan.map_err(|error| raised(py, &error))?;
    let thickness = |&kind: &usize| problem.stock[kind].thickness.mm();
    let stacks: Vec<Vec<f64>> =
        plan.stacks.iter().map(|stack| stack.iter().map(thickness).collect()).collect();
    laid.setattr("_laid", Laid(plan.bearing.laid().clone()))?;
    let tops: Vec<f64> = plan.tops.iter().map(|top| top.mm()).collect();
    let mm = |lengths: &[Length]| PyArray1::from_iter(py, lengths.iter().map(|it| it.mm()));
    let why = plan.why.map(|why| match why {
        NoBed::NotCarried => "not carried",
        _ => "not level",
    });
    Ok(result!(
        py,
        "_bed",
        BedPlan {
            status: job_name(&plan.status),
            why: why,
            pieces: plan.pieces,
            bound: plan.bound,
            worst_mm: plan.worst_mm,
            stacks: stacks,
            lifts_mm: mm(&plan.lifts),
            tops_mm: PyArray1::from_slice(py, &tops),
            used: &plan.used,
            surface_mm: PyArray1::from_slice(py, &plan.surface_mm),
            meets_limits: plan.meets_limits,
            carried: plan.carried,
            nodes: plan.nodes,
            ids: ids,
            bearing: borne(py, laid, &tops, plan.bearing)?,
        }
    ))
}
