//! The heights of a stage from the job's readings.

use std::collections::HashSet;

use super::document::Job;
use super::expected::ExpectedHeights;
use super::fields;
use super::outcome::{PointHeight, SurveyOutcome};
use crate::deadline::Deadline;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::points::Point;
use crate::survey::{
    Fixed, GlobalTest, Heights, Level, Place, Reading, Setup, Survey, SurveyDoubt, SurveySettings,
    adjust_by,
};
use crate::verify::{Prediction, check_setups};

/// The heights of a stage's points.
#[derive(Default)]
pub(super) struct StageHeights {
    /// Height of each point.
    pub(super) heights: Vec<Length>,
    /// Standard uncertainty of each; `None` where a height counts as exact because no uncertainty
    /// is given.
    pub(super) sigmas_mm: Vec<Option<f64>>,
    /// Covariance of the heights; `None` where all count as exact.
    pub(super) covariance_mm2: Option<Vec<f64>>,
    /// How well the readings agree with each other.
    pub(super) global_test: Option<GlobalTest>,
    pub(super) doubts: Vec<SurveyDoubt>,
    /// The probability of differences from what was expected at least so large, where the heights were
    /// combined with a prediction,
    pub(super) unlikely: Option<f64>,
    /// and whether they were.
    pub(super) is_expected: bool,
    /// The readings that they come from.
    pub(super) survey: Survey,
    /// How well these check each other; `None` where they are just a height typed in for each
    /// point.
    pub(super) outcome: Option<SurveyOutcome>,
}

/// Finds what is wrong with the readings as such, those that no stage needs too.
pub(super) fn check_readings(job: &Job) -> Result<(), Error> {
    survey_of(job, |_| true).0.check_readings().map_err(fields::of_survey)
}

/// Finds what is wrong with the candidates, as readings behind those that there are.
pub(super) fn check_candidates(job: &Job) -> Result<(), Error> {
    let first = job.readings.len();
    let mut survey = survey_of(job, |_| true).0;
    survey.readings.extend(job.candidates.iter().cloned());
    survey.settings.without.extend(first..survey.readings.len());
    let named = |field: &str| {
        let rest = field.strip_prefix("readings[").and_then(|rest| rest.split_once(']'));
        let candidate = rest.and_then(|(at, rest)| Some((at.parse::<usize>().ok()?, rest)));
        match candidate.filter(|(at, _)| *at >= first) {
            Some((at, rest)) => format!("candidates[{}]{rest}", at - first),
            None => field.to_owned(),
        }
    };
    let mut found = Problems::default();
    found.take(survey.check_readings());
    found.take(check_setups(&survey, first));
    found.into_result().map_err(|error| error.renamed(named))
}

/// The heights of a stage's points from the readings that name them; none of no points.
///
/// # Errors
/// Points without a reading; what [`adjust`](crate::adjust) refuses; heights out of range.
pub(super) fn of_stage(
    job: &Job,
    name: &str,
    points: &[&Point],
    deadline: &Deadline<'_>,
) -> Result<StageHeights, Error> {
    if points.is_empty() {
        return Ok(StageHeights::default());
    }
    let ids: HashSet<&str> = points.iter().map(|point| point.id.as_str()).collect();
    let (survey, places_in_job) = survey_of(job, |id| ids.contains(id));
    check_all_read(name, points, &survey)?;
    let adjusted = adjust_by(&survey, deadline).map_err(fields::of_survey)?;
    // Every point of the stage has been found above.
    let place = |point: &&Point| adjusted.ids.position(&point.id);
    let places: Vec<usize> = points.iter().filter_map(place).collect();
    let exact = exact(&survey);
    let sigma = |(point, &at): (&&Point, &usize)| {
        (!exact.contains(point.id.as_str())).then_some(adjusted.sigma_mm[at])
    };
    let sigmas_mm: Vec<_> = points.iter().zip(&places).map(sigma).collect();
    let covariance_mm2 = (sigmas_mm.iter().any(Option::is_some))
        .then(|| covariance(&adjusted, &places, deadline))
        .transpose()?;
    let heights = places.iter().map(|&at| Length::from_mm(adjusted.mm[at]));
    Ok(StageHeights {
        heights: heights.collect::<Result<_, Error>>()?,
        covariance_mm2,
        sigmas_mm,
        outcome: (!is_typed(&survey, &adjusted))
            .then(|| SurveyOutcome::new(&adjusted, &survey, &places_in_job)),
        global_test: adjusted.global_test(),
        doubts: adjusted.doubts.clone(),
        unlikely: None,
        is_expected: false,
        survey,
    })
}

impl StageHeights {
    /// Combines the heights with what the plan of the visit before predicted of them.
    ///
    /// # Errors
    /// Points that are not those of the stage, each once; numbers that make no prediction.
    pub(super) fn expect(
        &mut self,
        expected: &ExpectedHeights,
        points: &[&Point],
        deadline: &Deadline<'_>,
    ) -> Result<(), Error> {
        let place = |point: &&Point| expected.points.iter().position(|id| *id == point.id);
        let places: Vec<usize> = points.iter().filter_map(place).collect();
        let count = points.len();
        expected.check(points, deadline)?;
        let of = |row: usize, column: usize| expected.covariance_mm2.get(row * count + column);
        let covariance: Vec<f64> = (places.iter())
            .flat_map(|&row| places.iter().filter_map(move |&column| of(row, column).copied()))
            .collect();
        let heights = places.iter().map(|&at| expected.heights_mm[at]).collect();
        let prediction =
            Prediction::new_by(heights, covariance, expected.settlement.mm(), deadline)?;
        let read = self.covariance_mm2.clone().unwrap_or_else(|| vec![0.0; count * count]);
        let combined = prediction.combined_by(&self.heights, &read, deadline)?;
        let variance = |at: usize| combined.covariance_mm2[at * count + at];
        self.sigmas_mm = (0..count).map(|at| Some(variance(at).max(0.0).sqrt())).collect();
        self.heights = combined.heights;
        self.covariance_mm2 = Some(combined.covariance_mm2);
        self.unlikely = Some(combined.p_value);
        self.is_expected = true;
        Ok(())
    }

    /// The heights as a document has them.
    pub(super) fn outcome(&self, points: &[&Point]) -> Vec<PointHeight> {
        let height = |((point, height), &sigma_mm): ((&&Point, &Length), &Option<f64>)| {
            PointHeight { id: point.id.clone(), height_mm: height.mm(), sigma_mm }
        };
        points.iter().zip(&self.heights).zip(&self.sigmas_mm).map(height).collect()
    }
}

/// Every point of a stage needs a reading.
fn check_all_read(name: &str, points: &[&Point], survey: &Survey) -> Result<(), Error> {
    let read: HashSet<&str> = survey.places.iter().map(|place| place.id.as_str()).collect();
    let mut found = Problems::default();
    for point in points.iter().filter(|point| !read.contains(point.id.as_str())) {
        let got = format!("none of point {:?}", point.id);
        let expected = format!("a height of every point of the stage {name:?}");
        found.add(ProblemKind::Unknown, "readings", got, expected);
    }
    found.into_result()
}

/// The rows and columns of the covariance that belong to some heights.
fn covariance(
    adjusted: &Heights,
    places: &[usize],
    deadline: &Deadline<'_>,
) -> Result<Vec<f64>, Error> {
    let (all, count) = (adjusted.covariance_by(deadline)?, adjusted.ids.len());
    let row = |&at: &usize| places.iter().map(move |to| at * count + to);
    Ok(places.iter().flat_map(row).map(|at| all[at]).collect())
}

/// Whether the readings are just a height typed in for each point, so that nothing checks them.
fn is_typed(survey: &Survey, adjusted: &Heights) -> bool {
    let typed = |reading: &Reading| matches!(reading, Reading::Height { setup: None, .. });
    survey.readings.iter().all(typed) && adjusted.dof == 0 && adjusted.left_out.is_empty()
}

/// The readings that name a point that is asked for, with all that is known of them; and where each
/// stands in the job.
fn survey_of(job: &Job, asked: impl Fn(&str) -> bool) -> (Survey, Vec<usize>) {
    let known = &job.survey;
    let of_stage = |(_, reading): &(usize, &Reading)| reading.points().any(&asked);
    let (places_in_job, readings): (Vec<usize>, Vec<&Reading>) =
        job.readings.iter().enumerate().filter(of_stage).unzip();
    // Where all readings are asked for, what none of them names is still there to be refused.
    let all = readings.len() == job.readings.len();
    let levels: HashSet<&str> = readings.iter().filter_map(|reading| reading.level()).collect();
    let setups: HashSet<&str> = readings.iter().filter_map(|reading| reading.setup()).collect();
    let mut named: HashSet<&str> = readings.iter().flat_map(|reading| reading.points()).collect();
    let of_fixed = |it: &&Fixed| all || asked(&it.point) || named.contains(&*it.point);
    let fixed: Vec<&Fixed> = known.fixed.iter().filter(of_fixed).collect();
    named.extend(fixed.iter().map(|it| it.point.as_str()));
    let of_datum = |id: &&String| all || named.contains(id.as_str());
    let of_level = |level: &&Level| all || levels.contains(level.name.as_str());
    let of_setup = |setup: &&Setup| all || setups.contains(setup.name.as_str());
    let without = places_in_job.iter().enumerate().filter(|(_, at)| known.without.contains(at));
    let settings = SurveySettings {
        datum: known.datum.iter().filter(of_datum).cloned().collect(),
        levels: known.levels.iter().filter(of_level).cloned().collect(),
        setups: known.setups.iter().filter(of_setup).cloned().collect(),
        without: if all { known.without.clone() } else { without.map(|(at, _)| at).collect() },
        fixed: fixed.into_iter().cloned().collect(),
        ..known.clone()
    };
    let place = |point: &Point| Place { id: point.id.clone(), x: point.x, y: point.y };
    let places = job.points.iter().filter(|point| named.contains(point.id.as_str())).map(place);
    let survey = Survey {
        places: places.collect(),
        readings: readings.into_iter().cloned().collect(),
        settings,
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
