//! Field paths of what is wrong with the problem that a stage sets the solver.

use super::document::{Job, Stage};
use super::fields::parts;
use crate::error::Error;

/// The problems of a stage's [`ShimProblem`](crate::ShimProblem), by the paths of the document.
pub(super) fn of_problem(job: &Job, asked: &Stage, name: &str, error: Error) -> Error {
    let points: Vec<usize> =
        (0..job.points.len()).filter(|&at| job.points[at].role.is_of(name)).collect();
    let of_points = OfPoints { job, points };
    error.each(|problem| {
        let (first, index, rest) = parts(&problem.field);
        let at = index.first().copied();
        let stage = |field: String| format!("{name}.{field}");
        match (first, at) {
            ("stock", _) => {}
            ("supports", None) => problem.field = "points".to_owned(),
            ("supports" | "placed", Some(at)) => {
                let Some(point) = of_points.points.get(at) else { return };
                let mut placed = asked.placed.iter().flatten();
                let stack = placed.position(|it| it.id == job.points[*point].id);
                problem.field = match (first, stack) {
                    ("placed", Some(stack)) => stage(format!("placed[{stack}].shims{rest}")),
                    _ => format!("points[{point}]{rest}"),
                };
                of_points.name(&mut problem.expected);
            }
            ("max_stack" | "max_pieces" | "risk" | "risk_of" | "budget", _) => {
                problem.field = stage(format!("options.{}", problem.field));
            }
            ("only_under", Some(at)) => {
                let rest = if rest == ".kind" { ".shim" } else { ".points" };
                problem.field = stage(format!("only_under[{at}]{rest}"));
            }
            ("limits", _) if rest.starts_with(".named[") => {
                let named = rest.replacen(".named", "named_limits", 1);
                problem.field = stage(named);
            }
            ("covariance", _) => {
                problem.field = "readings".to_owned();
                if let [a, b] = index[..] {
                    problem.got = format!("{} between {}", problem.got, of_points.pair(a, b));
                }
            }
            _ => problem.field = stage(problem.field.clone()),
        }
    })
}

/// The points of a stage, by their places in the job.
struct OfPoints<'a> {
    job: &'a Job,
    points: Vec<usize>,
}

impl OfPoints<'_> {
    fn pair(&self, a: usize, b: usize) -> String {
        let id = |at: usize| self.points.get(at).map_or("", |&at| self.job.points[at].id.as_str());
        format!("{:?} and {:?}", id(a), id(b))
    }

    /// Names a support that a text mentions as `supports[2]`.
    fn name(&self, text: &mut String) {
        let Some((before, rest)) = text.split_once("supports[") else { return };
        let Some((at, after)) = rest.split_once(']') else { return };
        let point = at.parse().ok().and_then(|at: usize| self.points.get(at));
        if let Some(point) = point {
            *text = format!("{before}points[{point}]{after}");
        }
    }
}
