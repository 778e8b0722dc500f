//! What a picture of a bed shows, and how it is made of a plan or of a stage of a job.

use serde::{Deserialize, Serialize};

use super::stages;
use super::stages::{again, slopes, sure};
use crate::error::{Error, ProblemKind};
use crate::job::{JointStepOutcome, SlateOutcome, Stage, StageOutcome};
use crate::length::Length;
use crate::limits::{LimitKind, Limits};
use crate::points::Point;
use crate::shim::{ShimPlan, ShimProblem};
use crate::stock::{Shim, piece_names, thicknesses};
use crate::verify::{self, Conformity, DecisionRule, Finding, Verdict};
use crate::words::plan::{ended, lift_again, out_of_reach};

/// All that a picture of a bed shows: fill in titles and names of your own before it is drawn.
///
/// ```
/// use truebed::{Length, Limits, Picture, Shim, ShimProblem, Support, Units, plan_shims};
/// let mm = |mm: f64| Length::from_mm(mm);
/// let leg = |x, y, height| Ok::<_, truebed::Error>(Support { x: mm(x)?, y: mm(y)?, height: mm(height)? });
/// let legs = vec![leg(0.0, 0.0, 0.0)?, leg(2000.0, 0.0, -1.0)?, leg(1000.0, 900.0, -0.5)?];
/// let problem = ShimProblem::new(legs, vec![Shim::new(mm(0.5)?, Some(6))], Limits::overall(mm(0.1)?));
/// let mut picture = Picture::new(&problem, &plan_shims(&problem)?)?;
/// picture.points[0].id = "near the door".to_owned();
/// let svg = picture.svg(Units::Metric);
/// assert!(svg.contains("near the door") && svg.contains("2 × 0.5 mm"));
/// # Ok::<(), truebed::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Picture {
    /// The heading.
    pub title: String,
    /// How the search ended, in words.
    pub verdict: String,
    /// Whether the plan meets all limits. Stacks are shown only where it does, since nobody should
    /// carry out another plan.
    pub met: bool,
    /// The supports, in the order of work.
    pub points: Vec<PicturePoint>,
    /// Pairs of points, by index, on the two sides of a joint.
    pub joints: Vec<[usize; 2]>,
    /// The worst of each kind of limit.
    pub limits: Vec<PictureLimit>,
    /// The slopes of the target along and across, mm/m. They are 0 where the target is level.
    #[serde(default)]
    pub slopes_mm_per_m: [f64; 2],
    /// What a person should look at.
    pub notes: Vec<String>,
    /// What the slates do on the stacks, where they are computed as plates.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub slates: Vec<SlateOutcome>,
    /// The largest step along each joint of these.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub joint_steps: Vec<JointStepOutcome>,
}

/// A support in a picture.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PicturePoint {
    /// The name of the support.
    pub id: String,
    /// The slate piece that the support belongs to.
    pub piece: Option<String>,
    /// The position along the bed.
    pub x: Length,
    /// The position across the bed.
    pub y: Length,
    /// The thickness of each piece under the support.
    pub shims: Vec<Length>,
    /// The name of the kind of each of these pieces; empty where no kind of them has a name.
    #[serde(default)]
    pub names: Vec<String>,
    /// The thickness of each piece in place, where this is not the first pass.
    pub placed: Option<Vec<Length>>,
    /// The name of the kind of each piece in place; empty where no kind of them has a name.
    #[serde(default)]
    pub placed_names: Vec<String>,
    /// The lift by the stack, mm.
    pub lift_mm: f64,
    /// The height above the target before the plan is carried out, mm.
    pub before_mm: f64,
    /// The height above the target by the plan, mm.
    pub after_mm: f64,
}

/// The worst of one kind of limit by a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PictureLimit {
    /// The kind of limit.
    pub limit: LimitKind,
    /// The name of a limit of your own; none where it has no name.
    #[serde(default)]
    pub name: Option<String>,
    /// The names of the points where it comes closest; empty for all points.
    #[serde(default)]
    pub points: Vec<String>,
    /// Whether it is met there, as far as is known.
    pub conformity: Conformity,
    /// The difference found, mm, where it comes closest to the allowed difference or exceeds it
    /// most.
    pub found_mm: f64,
    /// The difference allowed there, mm.
    pub allowed_mm: f64,
}

impl Picture {
    /// The picture of a plan for a problem; its points are named by their numbers from 0 on.
    ///
    /// # Errors
    /// A plan that is not one for this problem.
    pub fn new(problem: &ShimProblem, plan: &ShimPlan) -> Result<Self, Error> {
        let numbers: Vec<_> = (0..problem.supports.len()).map(|at| at.to_string()).collect();
        Self::named(problem, plan, &numbers)
    }

    /// The same with a name for each support, which the notes call them by too.
    ///
    /// ```
    /// # use truebed::{Length, Limits, Picture, Shim, ShimProblem, Support, plan_shims};
    /// let leg = |x, height| Ok::<_, truebed::Error>(Support {
    ///     x: Length::from_mm(x)?,
    ///     y: Length::ZERO,
    ///     height: Length::from_mm(height)?,
    /// });
    /// let stock = vec![Shim::new(Length::from_mm(0.5)?, Some(6))];
    /// let limits = Limits::overall(Length::from_mm(0.1)?);
    /// let problem = ShimProblem::new(vec![leg(0.0, 0.0)?, leg(2000.0, -90.0)?], stock, limits);
    /// let names = ["door".to_owned(), "window".to_owned()];
    /// let picture = Picture::named(&problem, &plan_shims(&problem)?, &names)?;
    /// assert!(picture.notes[0].ends_with("window."));
    /// # Ok::<(), truebed::Error>(())
    /// ```
    ///
    /// # Errors
    /// A plan that is not one for this problem, or another number of names than of supports.
    pub fn named(problem: &ShimProblem, plan: &ShimPlan, names: &[String]) -> Result<Self, Error> {
        let count = problem.supports.len();
        plan.check_for(problem)?;
        if names.len() != count {
            let expected = format!("a name for each of {count} supports");
            return Err(Error::new(ProblemKind::Shape, "names", names.len().to_string(), expected));
        }
        let shims = |stack, setting| thicknesses(stack, setting, &problem.stock);
        let point = |at: usize| {
            let support = problem.supports[at];
            let placed = problem.placed.as_ref();
            let in_place = placed.map_or(Length::ZERO, |placed| placed.lift(at, &problem.stock));
            let (lift, after_mm) = (plan.lifts[at], plan.deviation_mm(at));
            PicturePoint {
                id: names[at].clone(),
                piece: None,
                x: support.x,
                y: support.y,
                shims: shims(&plan.stacks[at], plan.settings[at]),
                names: piece_names(&plan.stacks[at], &problem.stock),
                placed: placed.map(|placed| shims(&placed.stacks[at], placed.settings[at])),
                placed_names: placed
                    .map(|placed| piece_names(&placed.stacks[at], &problem.stock))
                    .unwrap_or_default(),
                lift_mm: lift.mm(),
                before_mm: after_mm - (lift - in_place).mm(),
                after_mm,
            }
        };
        let ended = ended(plan.status, plan.meets_limits, plan.pieces, problem.options.order);
        let predicted = predicted(problem, plan)?;
        Ok(Self {
            title: "Shim plan".to_owned(),
            verdict: match predicted.as_ref().filter(|_| plan.meets_limits) {
                Some(predicted) => {
                    format!("{ended} {}", stages::sure_of(predicted))
                }
                None => ended,
            },
            met: plan.meets_limits,
            points: (0..count).map(point).collect(),
            joints: problem.joints.clone(),
            limits: worst(limits(problem, plan, predicted.as_ref(), names)?),
            slopes_mm_per_m: plan.tilt_um_per_m.map(|slope| slope as f64 / 1e3),
            notes: notes(problem, plan, names),
            slates: Vec::new(),
            joint_steps: Vec::new(),
        })
    }

    /// The picture of a stage of a job that has been run.
    pub(super) fn of_stage(
        title: &str,
        points: &[Point],
        stage: &Stage,
        outcome: &StageOutcome,
    ) -> Self {
        let at = |id: &String| outcome.stacks.iter().position(|row| row.id == *id);
        let plan = &outcome.plan;
        let drawn = outcome.stacks.iter().filter_map(|row| {
            let point = points.iter().find(|point| point.id == row.id)?;
            let read = outcome.heights.iter().find(|height| height.id == row.id)?;
            Some(PicturePoint {
                id: row.id.clone(),
                piece: row.piece.clone(),
                x: point.x,
                y: point.y,
                shims: row.shims.clone(),
                names: row.names.clone(),
                placed: row.before.clone(),
                placed_names: row.before_names.clone(),
                lift_mm: row.lift_mm,
                before_mm: row.deviation_mm - (row.top_mm - read.height_mm),
                after_mm: row.deviation_mm,
            })
        });
        Self {
            title: title.to_owned(),
            verdict: {
                let ended = stages::ended(stage, outcome);
                match outcome.verdict.as_ref().filter(|_| outcome.met) {
                    Some(predicted) => format!("{ended} {}", sure(predicted)),
                    None => ended,
                }
            },
            met: outcome.met,
            points: drawn.collect(),
            joints: stage.joints.iter().filter_map(|[a, b]| Some([at(a)?, at(b)?])).collect(),
            limits: worst(outcome.limits.iter().map(|finding| PictureLimit {
                limit: finding.limit,
                name: finding.name.clone(),
                points: points_of(finding.limit, &finding.points),
                conformity: finding.conformity.unwrap_or_else(|| finding.met.into()),
                found_mm: finding.found_mm,
                allowed_mm: finding.allowed_mm,
            })),
            slopes_mm_per_m: slopes(plan),
            notes: again(outcome).into_iter().chain(outcome.notes.iter().cloned()).collect(),
            slates: (outcome.slates.iter())
                .filter(|slate| outcome.met || slate.tips_about.is_some())
                .cloned()
                .collect(),
            joint_steps: if outcome.met { outcome.joint_steps.clone() } else { Vec::new() },
        }
    }
}

/// The verdict that a plan leads one to expect; none where all counts as exact.
fn predicted(problem: &ShimProblem, plan: &ShimPlan) -> Result<Option<Verdict>, Error> {
    let of_pieces = |shim: &Shim| shim.sigma.max(shim.common_sigma) > Length::ZERO;
    let is_exact = !problem.covariance_mm2.iter().flatten().any(|&value| value != 0.0)
        && !problem.stock.iter().any(of_pieces);
    (!is_exact).then(|| plan.predict(problem, DecisionRule::default())).transpose()
}

/// Every limit over the points that it binds, above the slope of the target.
fn limits(
    problem: &ShimProblem,
    plan: &ShimPlan,
    predicted: Option<&Verdict>,
    names: &[String],
) -> Result<Vec<PictureLimit>, Error> {
    let level =
        Limits { slope_along_um_per_m: 0, slope_across_um_per_m: 0, ..problem.limits.clone() };
    let found = verify::check(&problem.places(), &plan.above, &level, &problem.joints)?;
    let limit = |(at, finding): (usize, &Finding)| {
        let sure = predicted.and_then(|predicted| predicted.findings.get(at));
        let points: Vec<String> = finding.points.iter().map(|&at| names[at].clone()).collect();
        PictureLimit {
            limit: finding.limit,
            name: None,
            points: points_of(finding.limit, &points),
            conformity: sure.map_or_else(|| finding.meets_limits.into(), |sure| sure.conformity),
            found_mm: finding.found.mm(),
            allowed_mm: finding.allowed.mm(),
        }
    };
    Ok(found.findings.iter().enumerate().map(limit).collect())
}

/// The points that a limit binds; none for all of them.
fn points_of(limit: LimitKind, points: &[String]) -> Vec<String> {
    if limit == LimitKind::Overall { Vec::new() } else { points.to_vec() }
}

fn notes(problem: &ShimProblem, plan: &ShimPlan, names: &[String]) -> Vec<String> {
    let names =
        |at: &[usize]| at.iter().filter_map(|&at| names.get(at).cloned()).collect::<Vec<_>>();
    let mut notes = Vec::new();
    if plan.meets_limits {
        let again = problem.placed.as_ref().map(|_| lift_again(&names(&plan.lifted), plan.moved));
        notes.extend(again);
    }
    if !plan.unreachable.is_empty() {
        let unreachable = names(&plan.unreachable);
        notes.push(out_of_reach(&unreachable.iter().map(String::as_str).collect::<Vec<_>>()));
    }
    notes
}

/// For each sort of limit, and for each limit with a name: the one over the points where it is met
/// least and, of those, the one with the least to spare.
fn worst(limits: impl IntoIterator<Item = PictureLimit>) -> Vec<PictureLimit> {
    let mut worst: Vec<PictureLimit> = Vec::new();
    let rank = |limit: &PictureLimit| {
        let met = match limit.conformity {
            Conformity::NotMet => 0,
            Conformity::CannotTell => 1,
            Conformity::Met => 2,
        };
        (met, limit.allowed_mm - limit.found_mm)
    };
    for limit in limits {
        let is_same = |other: &PictureLimit| other.limit == limit.limit && other.name == limit.name;
        match worst.iter_mut().find(|other| is_same(other)) {
            Some(other) if rank(&limit) < rank(other) => *other = limit,
            Some(_) => {}
            None => worst.push(limit),
        }
    }
    worst
}
