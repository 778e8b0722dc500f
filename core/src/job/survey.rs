//! The heights of a stage from the job's readings.

use std::collections::HashSet;

use super::Job;
use super::outcome::{LoopOutcome, OffsetOutcome, ReadingOutcome, SurveyOutcome};
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::points::Point;
use crate::survey::{Closure, Heights, Place, Reading, Survey, SurveySettings, adjust};

/// The height of a point and its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Height {
    /// Height, positive upwards.
    pub(super) height: Length,
    /// Standard uncertainty in millimetres; `None` where a height counts as exact because no
    /// uncertainty is given.
    pub(super) sigma_mm: Option<f64>,
}

/// What the readings of a stage say.
#[derive(Debug, Default)]
pub(super) struct Surveyed {
    /// The heights of the points, in their order.
    pub(super) heights: Vec<Height>,
    /// Covariance of the heights; none where all count as exact.
    pub(super) covariance_mm2: Option<Vec<f64>>,
    /// The readings.
    pub(super) survey: Survey,
    /// What came of the survey where it was more than heights typed in.
    pub(super) outcome: Option<SurveyOutcome>,
}

/// Finds what is wrong with the readings as such, those that no stage needs too.
pub(super) fn check(job: &Job) -> Result<(), Error> {
    survey_of(job, |_| true).0.check_readings()
}

/// What the readings say of the points of a stage.
pub(super) fn of_stage(job: &Job, name: &str, points: &[&Point]) -> Result<Surveyed, Error> {
    let ids: HashSet<&str> = points.iter().map(|point| point.id.as_str()).collect();
    let (survey, places_in_job) = survey_of(job, |id| ids.contains(id));
    let read: HashSet<&str> = survey.places.iter().map(|place| place.id.as_str()).collect();
    let mut found = Problems::default();
    for point in points.iter().filter(|point| !read.contains(point.id.as_str())) {
        let got = format!("none of point {:?}", point.id);
        let expected = format!("a height of every point of the stage {name:?}");
        found.add(ProblemKind::Unknown, "readings", got, expected);
    }
    found.into_result()?;
    let heights = adjust(&survey)?;
    let exact = exact(&survey);
    // Every point of the stage has been found above.
    let place = |point: &&Point| heights.ids.position(&point.id);
    let places: Vec<usize> = points.iter().filter_map(place).collect();
    let of_point = |(point, &at): (&&Point, &usize)| {
        let sigma_mm = (!exact.contains(point.id.as_str())).then_some(heights.sigma_mm[at]);
        Ok(Height { height: Length::from_mm(heights.mm[at])?, sigma_mm })
    };
    let of_points = points.iter().zip(&places).map(of_point);
    let of_points: Vec<Height> = of_points.collect::<Result<_, Error>>()?;
    let covariance_mm2 = of_points.iter().any(|height| height.sigma_mm.is_some()).then(|| {
        let (all, count) = (heights.covariance_mm2(), heights.ids.len());
        let row = |&at: &usize| places.iter().map(move |to| at * count + to);
        places.iter().flat_map(row).map(|at| all[at]).collect()
    });
    let typed = |reading: &Reading| matches!(reading, Reading::Height { setup: None, .. });
    let plain =
        survey.readings.iter().all(typed) && heights.dof == 0 && heights.left_out.is_empty();
    let outcome = (!plain).then(|| outcome(&heights, &places_in_job));
    Ok(Surveyed { heights: of_points, covariance_mm2, survey, outcome })
}

/// The readings that name a point that is asked for, with all that is known of them; and where each
/// stands in the job.
fn survey_of(job: &Job, asked: impl Fn(&str) -> bool) -> (Survey, Vec<usize>) {
    let told = &job.survey;
    let (mut readings, mut places_in_job, mut without) = (Vec::new(), Vec::new(), Vec::new());
    let mut named: HashSet<&str> = HashSet::new();
    let mut levels: HashSet<&str> = HashSet::new();
    for (at, reading) in job.readings.iter().enumerate() {
        if !reading.points().any(&asked) {
            continue;
        }
        if told.without.contains(&at) {
            without.push(readings.len());
        }
        named.extend(reading.points());
        levels.extend(reading.level());
        readings.push(reading.clone());
        places_in_job.push(at);
    }
    // What no reading of the job names is still to be told.
    let all = readings.len() == job.readings.len();
    let fixed: Vec<_> = told
        .fixed
        .iter()
        .filter(|it| all || asked(&it.point) || named.contains(&*it.point))
        .collect();
    named.extend(fixed.iter().map(|fixed| fixed.point.as_str()));
    let place = |point: &Point| Place { id: point.id.clone(), x: point.x, y: point.y };
    let survey = Survey {
        readings,
        places: job
            .points
            .iter()
            .filter(|point| named.contains(point.id.as_str()))
            .map(place)
            .collect(),
        settings: SurveySettings {
            fixed: fixed.into_iter().cloned().collect(),
            datum: told
                .datum
                .iter()
                .filter(|id| all || named.contains(id.as_str()))
                .cloned()
                .collect(),
            levels: told
                .levels
                .iter()
                .filter(|level| all || levels.contains(level.name.as_str()))
                .cloned()
                .collect(),
            without: if all { told.without.clone() } else { without },
            ..told.clone()
        },
    };
    (survey, places_in_job)
}

/// Ids of the points whose heights count as exact.
fn exact(survey: &Survey) -> HashSet<&str> {
    let left_out: HashSet<usize> = survey.settings.without.iter().copied().collect();
    let typed = survey.readings.iter().enumerate().filter_map(|(at, reading)| match reading {
        Reading::Height { point, sigma: None, setup: None, .. } if !left_out.contains(&at) => {
            Some(point.as_str())
        }
        _ => None,
    });
    let fixed = survey.settings.fixed.iter().filter(|fixed| fixed.sigma.is_none());
    typed.chain(fixed.map(|fixed| fixed.point.as_str())).collect()
}

/// As many loops as a person looks at.
const LOOPS: usize = 20;

fn outcome(heights: &Heights, in_job: &[usize]) -> SurveyOutcome {
    let mut closures = heights.closures();
    let badly = |closure: &Closure| closure.mm.abs() / closure.sigma_mm;
    closures.sort_by(|a, b| badly(b).total_cmp(&badly(a)));
    closures.truncate(LOOPS);
    let known = |value: f64| value.is_finite().then_some(value);
    let places = |of: &[usize]| of.iter().map(|&at| in_job[at]).collect::<Vec<_>>();
    let offset = |offset: &crate::survey::Offset| OffsetOutcome {
        name: offset.name.clone(),
        value: offset.value,
        sigma: offset.sigma,
    };
    SurveyOutcome {
        dof: heights.dof,
        variance_factor: known(heights.variance_factor),
        p_value: known(heights.p_value),
        critical: known(heights.critical),
        suspects: places(&heights.suspects),
        left_out: places(&heights.left_out),
        readings: in_job
            .iter()
            .enumerate()
            .map(|(at, &reading)| ReadingOutcome {
                reading,
                residual_mm: heights.residuals_mm[at],
                redundancy: heights.redundancy[at],
                normalised: known(heights.normalised[at]),
                tau: known(heights.tau[at]),
                detectable_mm: known(heights.detectable_mm[at]),
            })
            .collect(),
        closures: closures
            .into_iter()
            .map(|closure| LoopOutcome {
                readings: places(&closure.readings),
                mm: closure.mm,
                sigma_mm: closure.sigma_mm,
            })
            .collect(),
        setups: heights.setups.iter().map(offset).collect(),
        zero_errors: heights.zero_errors.iter().map(offset).collect(),
    }
}
