//! The names in a stage, resolved: ids become places in the list of the stage's points.

use std::collections::{BTreeSet, HashMap};

use super::document::{Job, NamedPoints, ShimPoints, Stage};
use super::paths;
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::limits::{LimitKind, Limits, NamedLimit};
use crate::points::{Point, Role};
use crate::shim::{OnlyUnder, Placed, PlanOptions, ShimProblem};
use crate::stock::Shim;

/// What a stage says of its points, by their places in the list of them.
#[derive(Default)]
pub(super) struct Resolved {
    /// Pairs of points on the two sides of a joint.
    pub(super) joints: Vec<[usize; 2]>,
    /// The stage's limits with those of its preset and those on named points.
    pub(super) limits: Limits,
    /// Kinds that may go under some points only.
    pub(super) only_under: Vec<OnlyUnder>,
    /// The stacks in place, where this is not the first pass.
    pub(super) placed: Option<Placed>,
    /// The points in the order of work.
    pub(super) work: Vec<usize>,
}

impl Resolved {
    /// The problem of the stage, but for its supports.
    pub(super) fn problem(&self, stock: &[Shim], options: &PlanOptions) -> ShimProblem {
        ShimProblem {
            joints: self.joints.clone(),
            only_under: self.only_under.clone(),
            placed: self.placed.clone(),
            options: options.clone(),
            ..ShimProblem::new(Vec::new(), stock.to_vec(), self.limits.clone())
        }
    }
}

/// The points of a stage, in the job's order: its legs or its slate points.
pub(super) fn points<'a>(job: &'a Job, stage: &str) -> Vec<&'a Point> {
    job.points.iter().filter(|point| point.role.is_of(stage)).collect()
}

/// The points of a stage with their places in the job.
pub(super) fn numbered<'a>(job: &'a Job, stage: &str) -> Vec<(usize, &'a Point)> {
    job.points.iter().enumerate().filter(|(_, point)| point.role.is_of(stage)).collect()
}

/// Resolves what a stage says of its points.
///
/// # Errors
/// Names of no point of the stage; joints between points of one piece, or without a limit; stacks
/// that are not of the stock; an order of laying that does not name every piece once.
pub(super) fn resolve(
    job: &Job,
    stage: &Stage,
    name: &str,
    points: &[&Point],
) -> Result<Resolved, Error> {
    let mut found = Problems::default();
    let mut names = Names { stage: name, points, places: places(points), found: &mut found };
    let joints = names.joints(&stage.joints);
    let limits = names.limits(stage, joints.len());
    let only_under = names.only_under(&stage.only_under);
    let stacks = names.stacks(stage);
    let placed = Placed::from_thicknesses(&stacks, &job.stock);
    let placed = placed.map_err(|error| paths::of_problem(job, stage, name, error));
    let placed = found.take(placed);
    let work = found.take(order_of_work(name, &stage.laying, points));
    found.into_result()?;
    let placed = placed.filter(|_| stage.placed.is_some());
    Ok(Resolved { joints, limits, only_under, placed, work: work.unwrap_or_default() })
}

/// Where each point stands in the list of them.
fn places<'a>(points: &[&'a Point]) -> HashMap<&'a str, usize> {
    points.iter().enumerate().map(|(at, point)| (point.id.as_str(), at)).collect()
}

/// The names of a stage's points, and what is wrong with those that are used.
struct Names<'a> {
    stage: &'a str,
    points: &'a [&'a Point],
    places: HashMap<&'a str, usize>,
    found: &'a mut Problems,
}

impl Names<'_> {
    /// The places of points, of those that are points of the stage.
    fn resolve(&mut self, ids: &[String], field: impl Fn(usize) -> String) -> Vec<usize> {
        let mut resolved = Vec::new();
        for (item, id) in ids.iter().enumerate() {
            match self.places.get(id.as_str()) {
                Some(&at) => resolved.push(at),
                None => {
                    let expected = format!("the id of a point of the stage {:?}", self.stage);
                    self.found.add(ProblemKind::Unknown, field(item), format!("{id:?}"), expected);
                }
            }
        }
        resolved
    }

    fn joints(&mut self, asked: &[[String; 2]]) -> Vec<[usize; 2]> {
        let mut joints = Vec::new();
        for (at, ids) in asked.iter().enumerate() {
            let field = format!("{}.joints[{at}]", self.stage);
            let sides = self.resolve(ids, |item| format!("{field}[{item}]"));
            match sides[..] {
                [a, b] if self.points[a].role == self.points[b].role => {
                    let got = format!("{ids:?}, both on one piece");
                    let expected = "points of two slate pieces that meet (legs have none)";
                    self.found.add(ProblemKind::Value, field, got, expected);
                }
                [a, b] => joints.push([a, b]),
                _ => {}
            }
        }
        joints
    }

    /// The stage's limits, where there are so many joints.
    fn limits(&mut self, stage: &Stage, joints: usize) -> Limits {
        let mut limits = match stage.preset {
            Some(preset) => stage.limits.or_preset(preset),
            None => stage.limits.clone(),
        };
        let by_preset = limits.by_preset.contains(&LimitKind::JointStep);
        if self.stage == "slates" && !(by_preset && joints == 0) {
            self.check_joint_step(limits.joint_step, joints);
        }
        // Legs have no joints, so nothing that a preset says of them is for legs.
        if self.stage == "legs" && by_preset {
            limits.joint_step = None;
        }
        for (at, named) in stage.named_limits.iter().enumerate() {
            self.check_different(at, named);
        }
        let name = self.stage;
        for (at, named) in stage.named_limits.iter().enumerate() {
            let field = |item| format!("{name}.named_limits[{at}].points[{item}]");
            let points = self.resolve(&named.points, field);
            limits.named.push(NamedLimit { points, within: named.within });
        }
        limits
    }

    /// Joints and the limit on their steps come together.
    fn check_joint_step(&mut self, joint_step: Option<Length>, joints: usize) {
        let (got, expected) = match joint_step {
            Some(step) if joints == 0 => {
                (format!("none, with a joint_step of {step}"), "the pairs of points that it binds")
            }
            None if joints > 0 => (
                format!("{joints} joints, with no joint_step"),
                "limits.joint_step, by which to judge them",
            ),
            _ => return,
        };
        self.found.add(ProblemKind::Value, format!("{}.joints", self.stage), got, expected);
    }

    fn check_different(&mut self, at: usize, named: &NamedPoints) {
        let different: BTreeSet<_> = named.points.iter().collect();
        if different.len() < named.points.len().max(2) {
            let field = format!("{}.named_limits[{at}].points", self.stage);
            let got = format!("{:?}", named.points);
            self.found.add(ProblemKind::Value, field, got, "two or more different points");
        }
    }

    fn only_under(&mut self, asked: &[ShimPoints]) -> Vec<OnlyUnder> {
        let stage = self.stage;
        let mut only = |(at, only): (usize, &ShimPoints)| OnlyUnder {
            kind: only.shim,
            supports: self
                .resolve(&only.points, |item| format!("{stage}.only_under[{at}].points[{item}]")),
        };
        asked.iter().enumerate().map(&mut only).collect()
    }

    /// The thicknesses in place under each point.
    fn stacks(&mut self, stage: &Stage) -> Vec<Vec<Length>> {
        let mut stacks = vec![Vec::new(); self.points.len()];
        let mut named = HashMap::new();
        for (at, stack) in stage.placed.iter().flatten().enumerate() {
            let field = format!("{}.placed[{at}].id", self.stage);
            if let Some(other) = named.insert(&stack.id, at) {
                let expected = format!("a point that {}.placed[{other}] does not name", self.stage);
                self.found.add(ProblemKind::Duplicate, &field, format!("{:?}", stack.id), expected);
            }
            for point in self.resolve(std::slice::from_ref(&stack.id), |_| field.clone()) {
                stacks[point].extend_from_slice(&stack.shims);
            }
        }
        stacks
    }
}

/// The points piece by piece as the slates are laid; legs as they are listed.
fn order_of_work(name: &str, laying: &[String], points: &[&Point]) -> Result<Vec<usize>, Error> {
    let mut pieces = pieces(points);
    if laying.is_empty() {
        let all: Vec<usize> = (0..points.len()).collect();
        let centre = middle(&all, points);
        let off = |members: &[usize]| (middle(members, points) - centre).abs();
        pieces.sort_by(|(_, a), (_, b)| off(a).total_cmp(&off(b)));
    } else {
        check_laying(name, laying, &pieces)?;
        pieces.sort_by_key(|(piece, _)| laying.iter().position(|name| name == piece));
    }
    Ok(pieces.into_iter().flat_map(|(_, members)| members).collect())
}

/// The slate pieces with their points, in the order in which they are first named; legs are one.
fn pieces<'a>(points: &[&'a Point]) -> Vec<(&'a str, Vec<usize>)> {
    let mut pieces: Vec<(&str, Vec<usize>)> = Vec::new();
    for (at, point) in points.iter().enumerate() {
        let piece = match &point.role {
            Role::Leg => "",
            Role::Slate(piece) => piece,
        };
        match pieces.iter_mut().find(|(name, _)| *name == piece) {
            Some((_, members)) => members.push(at),
            None => pieces.push((piece, vec![at])),
        }
    }
    pieces
}

/// The mean of some points along the bed, mm.
fn middle(members: &[usize], points: &[&Point]) -> f64 {
    members.iter().map(|&at| points[at].x.mm()).sum::<f64>() / members.len() as f64
}

/// An order of laying names every piece once.
fn check_laying(name: &str, laying: &[String], pieces: &[(&str, Vec<usize>)]) -> Result<(), Error> {
    let named: Vec<&str> = pieces.iter().map(|(piece, _)| *piece).collect();
    let mut sorted: Vec<&str> = laying.iter().map(String::as_str).collect();
    sorted.sort_unstable();
    let mut expected = named.clone();
    expected.sort_unstable();
    if sorted == expected {
        return Ok(());
    }
    let expected = format!("every slate piece once: {named:?}");
    let is_wrong = |at: usize| !named.contains(&&*laying[at]) || laying[..at].contains(&laying[at]);
    let mut wrong = (0..laying.len()).filter(|&at| is_wrong(at)).peekable();
    if wrong.peek().is_some() {
        let mut found = Problems::default();
        for at in wrong {
            let (field, got) = (format!("{name}.laying[{at}]"), format!("{:?}", laying[at]));
            found.add(ProblemKind::Unknown, field, got, expected.clone());
        }
        return found.into_result();
    }
    let (field, got) = (format!("{name}.laying"), format!("{laying:?}"));
    Err(Error::new(ProblemKind::Unknown, field, got, expected))
}
