//! Heights held against limits, and what to read next.

use numpy::{PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use pyo3::types::PyString;
use truebed::{
    Claim, Conformity, DecisionRule, Evidence, FloorClass, Length, Prediction, Prior, Trust,
};

use crate::error::{Problems, Refused, one, raised, shown};
use crate::limits::limits;
use crate::name::Names;
use crate::problem::joints;
use crate::reading::Reading;
use crate::result::result;
use crate::signal::interruptible;
use crate::survey::{Solution, Survey};
use crate::value::{job_name, length, number};

/// A `truebed.Verdict`.
pub(crate) fn made<'py>(
    py: Python<'py>,
    verdict: &truebed::Verdict,
) -> PyResult<Bound<'py, PyAny>> {
    let finding = |it: &truebed::Finding| {
        Ok(result!(
            py,
            "_verdict",
            Finding {
                limit: job_name(&it.limit),
                points: &it.points,
                found_mm: it.found.mm(),
                allowed_mm: it.allowed.mm(),
                margin_mm: it.margin().mm(),
                margin_in: it.margin().inches(),
                met: met(it.conformity),
                sigma_mm: it.sigma_mm,
                probability: it.probability,
                probability_error: it.probability_error,
            }
        ))
    };
    let slope = |it: &truebed::SlopeFinding| {
        Ok(result!(
            py,
            "_verdict",
            SlopeFinding {
                axis: job_name(&it.axis),
                found_mm_per_m: it.found_mm_per_m,
                allowed_mm_per_m: it.allowed_mm_per_m,
                met: met(it.conformity),
                probability: it.probability,
                probability_error: it.probability_error,
            }
        ))
    };
    Ok(result!(
        py,
        "_verdict",
        Verdict {
            met: met(verdict.conformity),
            probability: verdict.probability,
            probability_error: verdict.probability_error,
            basis: job_name(&verdict.basis),
            reasons: verdict.reasons.iter().map(ToString::to_string).collect::<Vec<_>>(),
            beforehand: job_name(&verdict.beforehand),
            excess_p: verdict.excess_p,
            meets_limits: verdict.meets_limits,
            slopes_mm_per_m: verdict.tilt_um_per_m.map(|slope| slope as f64 / 1e3).to_vec(),
            findings: verdict.findings.iter().map(finding).collect::<PyResult<Vec<_>>>()?,
            slopes: verdict.slopes.iter().map(slope).collect::<PyResult<Vec<_>>>()?,
            off_lines: verdict.off_lines.to_vec(),
        }
    ))
}

pub(crate) fn met(conformity: Conformity) -> Option<bool> {
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

/// A `truebed.Verdict`.
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
    survey: Option<&Bound<'py, Solution>>,
    level: &Bound<'py, PyAny>,
    overrule: bool,
    scale: bool,
    expected: Option<(PyReadonlyArray1<'py, f64>, PyReadonlyArray2<'py, f64>, Bound<'py, PyAny>)>,
) -> PyResult<Bound<'py, PyAny>> {
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
    let level = found.take(|| "level".to_owned(), number(level, "a probability"));
    let settlement = expected.as_ref().map(|(.., settlement)| length(settlement)).transpose();
    let settlement = found.take(|| "settlement".to_owned(), settlement);
    let read = (|| Some((limits?, joints?, rule?, level?, settlement?)))();
    let (limits, joints, rule, level, settlement) = found.finish(py, read)?;
    let mut evidence = Evidence::from(rule);
    if let Some(survey) = survey {
        evidence = evidence.of_survey(&survey.get().0);
    }
    evidence.trust = Trust { level, overrule, scale };
    if let Some((heights, covariance, _)) = &expected {
        let (heights, covariance) = (heights.as_slice()?.to_vec(), covariance.as_slice()?.to_vec());
        let settlement = settlement.unwrap_or_default().mm();
        let prediction = Prediction::new(heights, covariance, settlement);
        let prediction = prediction.map_err(|error| raised(py, &error))?;
        evidence.prediction = Some(prediction);
    }
    let covariance = covariance.as_ref().map(|covariance| covariance.as_slice()).transpose()?;
    let verdict = interruptible(py, |stop| match covariance {
        Some(covariance) => {
            truebed::assess_until(&places, &heights, covariance, &limits, &joints, &evidence, stop)
        }
        None => truebed::check_until(&places, &heights, &limits, &joints, stop),
    })?;
    made(py, &verdict.map_err(|error| raised(py, &error))?)
}

/// A `truebed.NextReadings`.
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
) -> PyResult<Bound<'py, PyAny>> {
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
    let next =
        interruptible(py, |stop| truebed::read_next_until(&survey.0, &readings, &claim, stop))?
            .map_err(|error| raised(py, &error))?;
    let reading = |it: &truebed::NextReading| {
        Ok(result!(
            py,
            "_next",
            NextReading { candidate: it.candidate, doubt: it.doubt, changes: it.changes }
        ))
    };
    Ok(result!(
        py,
        "_next",
        NextReadings {
            doubt: next.doubt,
            enough: next.enough(),
            status: job_name(&next.status),
            verdict: made(py, &next.verdict)?,
            readings: next.readings.iter().map(reading).collect::<PyResult<Vec<_>>>()?,
        }
    ))
}

/// A `truebed.FloorVerdict`.
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
) -> PyResult<Bound<'py, PyAny>> {
    let mut found = Problems::default();
    let class = found.take(|| "floor_class".to_owned(), crate::floor::class(floor_class));
    let width = found.take(|| "line_width".to_owned(), length(line_width));
    let rule = self::rule(&mut found, rule, risk);
    let read = (|| Some((class?, width?, rule?)))();
    let (class, width, rule): (FloorClass, Length, DecisionRule) = found.finish(py, read)?;
    let (xy, z, covariance) = (xy.as_slice()?.as_chunks().0, z.as_slice()?, covariance.as_slice()?);
    let verdict = interruptible(py, |stop| {
        truebed::assess_floor_until(xy, z, covariance, class, width.mm(), rule, stop)
    })?
    .map_err(|error| raised(py, &error))?;
    Ok(result!(
        py,
        "_floor",
        FloorVerdict {
            met: met(verdict.conformity),
            probability: verdict.probability,
            probability_error: verdict.probability_error,
            meets_class: verdict.meets_limits,
            findings: crate::floor::findings(py, &verdict.findings)?,
        }
    ))
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

/// A `truebed.GlobalRisks`.
#[pyfunction]
pub(crate) fn global_risks<'py>(
    py: Python<'py>,
    prior: &Bound<'py, PyAny>,
    sigma: f64,
    tolerance: f64,
    acceptance: f64,
) -> PyResult<Bound<'py, PyAny>> {
    let prior = one(py, "prior", self::prior(prior))?;
    let risks = truebed::global_risks(prior, sigma, tolerance, acceptance);
    let risks = risks.map_err(|error| raised(py, &error))?;
    Ok(result!(
        py,
        "_verdict",
        GlobalRisks {
            consumer: risks.consumer,
            producer: risks.producer,
            nonconforming: risks.nonconforming,
        }
    ))
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
