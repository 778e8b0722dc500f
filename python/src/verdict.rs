//! Heights held against limits, and what to read next.

use numpy::{PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::{PyString, PyTuple};
use truebed::{Claim, Conformity, DecisionRule, FloorClass, Length, Prior};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::limits::limits;
use crate::name::Names;
use crate::problem::joints;
use crate::reading::Reading;
use crate::survey::Survey;
use crate::value::{job_name, length, number};

type FindingValues = (String, Vec<usize>, f64, f64, f64, f64, Option<bool>, f64, f64, f64);
type SlopeValues = (String, f64, f64, Option<bool>, f64, f64);
type VerdictValues =
    (Option<bool>, f64, f64, String, bool, [f64; 2], Vec<FindingValues>, Vec<SlopeValues>);

/// The values of a `truebed.Verdict`, and in it those of each `truebed.Finding` and
/// `truebed.SlopeFinding`, in the order of their fields.
pub(crate) fn values(verdict: &truebed::Verdict) -> VerdictValues {
    let findings = verdict.findings.iter().map(|finding| {
        (
            job_name(&finding.limit),
            finding.points.clone(),
            finding.found.mm(),
            finding.allowed.mm(),
            finding.margin().mm(),
            finding.margin().inches(),
            met(finding.conformity),
            finding.sigma_mm,
            finding.probability,
            finding.probability_error,
        )
    });
    let slopes = verdict.slopes.iter().map(|slope| {
        (
            job_name(&slope.axis),
            slope.found_mm_per_m,
            slope.allowed_mm_per_m,
            met(slope.conformity),
            slope.probability,
            slope.probability_error,
        )
    });
    (
        met(verdict.conformity),
        verdict.probability,
        verdict.probability_error,
        job_name(&verdict.basis),
        verdict.meets_limits,
        verdict.tilt_um_per_m.map(|slope| slope as f64 / 1e3),
        findings.collect(),
        slopes.collect(),
    )
}

fn met(conformity: Conformity) -> Option<bool> {
    match conformity {
        Conformity::Met => Some(true),
        Conformity::NotMet => Some(false),
        _ => None,
    }
}

/// A decision rule by the name that it has in a job, or a guard band for a risk.
pub(crate) fn rule(
    found: &mut Problems,
    rule: Option<&Bound<'_, PyAny>>,
    risk: Option<&Bound<'_, PyAny>>,
) -> Option<DecisionRule> {
    let expected = "\"iso-14253-1\", \"simple-acceptance\" or \"guard-band\", which needs a risk";
    let risk = risk.map(|risk| number(risk, "a probability")).transpose();
    let risk = found.take(|| "risk".to_owned(), risk)?;
    let name = rule.map(|rule| match rule.cast::<PyString>() {
        Ok(name) => Ok(name.to_string_lossy().into_owned()),
        Err(_) => Err(Refused::wrong_type(rule, expected)),
    });
    let name = found.take(|| "rule".to_owned(), name.transpose())?;
    let read = match (name.as_deref(), risk) {
        (None | Some("guard-band"), Some(risk)) => Ok(DecisionRule::GuardBand { risk }),
        (None | Some("iso-14253-1"), None) => Ok(DecisionRule::Iso14253),
        (Some("simple-acceptance"), None) => Ok(DecisionRule::SimpleAcceptance),
        (Some("iso-14253-1" | "simple-acceptance"), Some(risk)) => {
            let expected = "None, since the rule has a risk of its own, or none";
            found.take(
                || "risk".to_owned(),
                Err::<(), _>(Refused::value(risk.to_string(), expected)),
            );
            return None;
        }
        (Some(name), _) => Err(Refused::value(format!("{name:?}"), expected)),
    };
    found.take(|| "rule".to_owned(), read)
}

/// Lengths in mm, each to the nearest nanometre.
fn lengths(found: &mut Problems, field: &str, mm: &[f64]) -> Vec<Length> {
    let mut read = |(at, &mm): (usize, &f64)| {
        let length = Length::from_mm(mm).map_err(Refused::from);
        found.take(|| format!("{field}[{at}]"), length).unwrap_or_default()
    };
    mm.iter().enumerate().map(&mut read).collect()
}

/// Places in mm.
fn places(found: &mut Problems, xy: &[f64]) -> Vec<[Length; 2]> {
    let mut read = |at: usize, name: &str, mm: f64| {
        let length = Length::from_mm(mm).map_err(Refused::from);
        found.take(|| format!("xy[{at}, {name}]"), length).unwrap_or_default()
    };
    let rows = xy.as_chunks::<2>().0.iter().enumerate();
    rows.map(|(at, &[x, y])| [read(at, "0", x), read(at, "1", y)]).collect()
}

/// The values of a `truebed.Verdict`.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn check<'py>(
    py: Python<'py>,
    xy: Option<PyReadonlyArray2<'py, f64>>,
    heights: PyReadonlyArray1<'py, f64>,
    covariance: Option<PyReadonlyArray2<'py, f64>>,
    limits: &Bound<'py, PyAny>,
    joints: Option<&Bound<'py, PyAny>>,
    rule: Option<&Bound<'py, PyAny>>,
    risk: Option<&Bound<'py, PyAny>>,
    ids: Option<Vec<String>>,
) -> PyResult<Bound<'py, PyTuple>> {
    let mut found = Problems::default();
    let heights = lengths(&mut found, "heights", heights.as_slice()?);
    let places = match &xy {
        Some(xy) => places(&mut found, xy.as_slice()?),
        // Without limits along lines nobody looks where the points lie.
        None => vec![[Length::ZERO; 2]; heights.len()],
    };
    let names = Names::new(ids.as_deref());
    let limits = found.take(|| "limits".to_owned(), self::limits(&names, limits));
    if let (None, Some(limits)) = (&xy, &limits)
        && (limits.along.is_some()
            || limits.across.is_some()
            || limits.slope_along_um_per_m + limits.slope_across_um_per_m > 0)
    {
        let expected = "an array of shape (n, 2), which limits along and across and slopes need";
        let refused = Err::<(), _>(Refused::value("None", expected));
        found.take(|| "xy".to_owned(), refused);
    }
    let joints = self::joints(&mut found, joints)?;
    let rule = self::rule(&mut found, rule, risk);
    let read = (|| Some((limits?, joints?, rule?)))();
    let (limits, joints, rule) = found.finish(py, read)?;
    let covariance = covariance.as_ref().map(|covariance| covariance.as_slice()).transpose()?;
    let verdict = py.detach(|| match covariance {
        Some(covariance) => truebed::assess(&places, &heights, covariance, &limits, &joints, rule),
        None => truebed::check(&places, &heights, &limits, &joints),
    });
    values(&verdict.map_err(|error| raised(py, &error))?).into_pyobject(py)
}

type NextValues<'py> = (f64, bool, Bound<'py, PyTuple>, Vec<(usize, f64, f64)>);

/// The values of a `truebed.NextReadings`, in the order of its fields.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn read_next<'py>(
    py: Python<'py>,
    survey: &Survey,
    candidates: Vec<Bound<'py, PyAny>>,
    points: Vec<String>,
    xy: PyReadonlyArray2<'py, f64>,
    lifts: PyReadonlyArray1<'py, f64>,
    limits: &Bound<'py, PyAny>,
    joints: Option<&Bound<'py, PyAny>>,
    rule: Option<&Bound<'py, PyAny>>,
    risk: Option<&Bound<'py, PyAny>>,
) -> PyResult<NextValues<'py>> {
    let mut found = Problems::default();
    let mut readings = Vec::new();
    for (at, candidate) in candidates.iter().enumerate() {
        let reading = candidate.cast::<Reading>();
        let reading = reading.map_err(|_| Refused::wrong_type(candidate, "a Reading"));
        let reading = found.take(|| format!("candidates[{at}]"), reading);
        readings.extend(reading.map(|reading| reading.get().0.clone()));
    }
    let xy = places(&mut found, xy.as_slice()?);
    let lifts = lengths(&mut found, "lifts", lifts.as_slice()?);
    let names = Names::new(Some(&points));
    let limits = found.take(|| "limits".to_owned(), self::limits(&names, limits));
    let joints = self::joints(&mut found, joints)?;
    let rule = self::rule(&mut found, rule, risk);
    let read = (|| Some((limits?, joints?, rule?)))();
    let (limits, joints, rule) = found.finish(py, read)?;
    let claim = Claim { points, xy, lifts, limits, joints, rule };
    let next = py
        .detach(|| truebed::read_next(&survey.0, &readings, &claim))
        .map_err(|error| raised(py, &error))?;
    let reading = |it: &truebed::NextReading| (it.candidate, it.doubt, it.changes);
    let verdict = values(&next.verdict).into_pyobject(py)?;
    Ok((next.doubt, next.enough, verdict, next.readings.iter().map(reading).collect()))
}

type FloorValues<'py> = (Option<bool>, f64, f64, bool, Bound<'py, PyAny>);

/// The values of a `truebed.FloorVerdict`, in the order of its fields.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn assess_floor<'py>(
    py: Python<'py>,
    xy: PyReadonlyArray2<'py, f64>,
    z: PyReadonlyArray1<'py, f64>,
    covariance: PyReadonlyArray2<'py, f64>,
    floor_class: &Bound<'py, PyAny>,
    line_width: &Bound<'py, PyAny>,
    rule: Option<&Bound<'py, PyAny>>,
    risk: Option<&Bound<'py, PyAny>>,
) -> PyResult<FloorValues<'py>> {
    let mut found = Problems::default();
    let class = found.take(|| "floor_class".to_owned(), crate::floor::class(floor_class));
    let width = found.take(|| "line_width".to_owned(), length(line_width));
    let rule = self::rule(&mut found, rule, risk);
    let read = (|| Some((class?, width?, rule?)))();
    let (class, width, rule): (FloorClass, Length, DecisionRule) = found.finish(py, read)?;
    let (xy, z, covariance) = (xy.as_slice()?.as_chunks().0, z.as_slice()?, covariance.as_slice()?);
    let verdict = py
        .detach(|| truebed::assess_floor(xy, z, covariance, class, width.mm(), rule))
        .map_err(|error| raised(py, &error))?;
    let findings = crate::floor::values(verdict.findings).into_pyobject(py)?.into_any();
    let met = met(verdict.conformity);
    Ok((met, verdict.probability, verdict.probability_error, verdict.meets_limits, findings))
}

/// A prior by the name of its distribution and its two parameters.
fn prior(value: &Bound<'_, PyAny>) -> Result<Prior, Refused> {
    let expected = "(\"normal\", mean, sigma) or (\"gamma\", shape, scale)";
    let (name, a, b): (String, Bound<'_, PyAny>, Bound<'_, PyAny>) =
        value.extract().map_err(|_| Refused::wrong_type(value, expected))?;
    let (a, b) = (number(&a, "a number")?, number(&b, "a number")?);
    match name.as_str() {
        "normal" => Ok(Prior::Normal { mean: a, sigma: b }),
        "gamma" => Ok(Prior::Gamma { shape: a, scale: b }),
        _ => Err(Refused::value(shown(value), expected)),
    }
}

/// The values of a `truebed.GlobalRisks`, in the order of its fields.
#[pyfunction]
pub(crate) fn global_risks(
    py: Python<'_>,
    prior: &Bound<'_, PyAny>,
    sigma: f64,
    tolerance: f64,
    acceptance: f64,
) -> PyResult<(f64, f64, f64)> {
    let prior = one(py, "prior", self::prior(prior))?;
    let risks = truebed::global_risks(prior, sigma, tolerance, acceptance);
    let risks = risks.map_err(|error| raised(py, &error))?;
    Ok((risks.consumer, risks.producer, risks.nonconforming))
}

/// The guard band that a consumer's risk asks for.
#[pyfunction]
pub(crate) fn guard_band(
    py: Python<'_>,
    prior: &Bound<'_, PyAny>,
    sigma: f64,
    tolerance: f64,
    risk: f64,
) -> PyResult<f64> {
    let prior = one(py, "prior", self::prior(prior))?;
    truebed::guard_band(prior, sigma, tolerance, risk).map_err(|error| raised(py, &error))
}
