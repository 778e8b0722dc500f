//! What a person should look at before working by a plan.

use super::outcome::{ShortfallOutcome, SurveyOutcome};
use crate::length::Length;
use crate::limits::{LimitKind, Limits};
use crate::points::Point;
use crate::shim::{ShimPlan, Status};
use crate::verify::{Conformity, Verdict};

/// A good survey in twenty fails the global test.
const DISAGREE: f64 = 0.05;

/// What the readings say against each other.
pub(super) fn of_survey(survey: &SurveyOutcome) -> Vec<String> {
    let named = |of: &[usize]| {
        let names: Vec<_> = of.iter().map(|at| format!("readings[{at}]")).collect();
        names.join(", ")
    };
    let mut notes = Vec::new();
    if !survey.suspects.is_empty() {
        notes.push(format!(
            "The readings speak against these, worst first: {}. Before working by this plan, read the first again, or leave out the one that is mistaken.",
            named(&survey.suspects)
        ));
    } else if survey.p_value.is_some_and(|p| p < DISAGREE) {
        notes.push(
            "The readings disagree by more than their uncertainties allow, though none stands out: the uncertainties are too small, or several readings are mistaken."
                .to_owned(),
        );
    }
    if !survey.left_out.is_empty() {
        notes.push(format!("Left out of the heights: {}.", named(&survey.left_out)));
    }
    notes
}

/// A stack of more pieces than this, or a thicker one, is worth a second look (common practice:
/// few pieces, low stacks).
const MANY_PIECES: usize = 6;
const THICK: Length = Length::from_nm(25_400_000);

pub(super) fn notes(
    points: &[&Point],
    plan: &ShimPlan,
    verdict: &Verdict,
    predicted: Option<&Verdict>,
    limits: &Limits,
    shortfall: Option<&ShortfallOutcome>,
) -> Vec<String> {
    let ids =
        |at: &[usize]| at.iter().map(|&at| points[at].id.as_str()).collect::<Vec<_>>().join(", ");
    let all = || 0..points.len();
    let mut notes = Vec::new();
    if plan.status == Status::Infeasible && !plan.unreachable.is_empty() {
        notes.push(format!(
            "Out of reach of every stack from this stock: {}.",
            ids(&plan.unreachable)
        ));
    }
    if plan.status == Status::Infeasible {
        let (worst, bound) = (plan.worst_mm(), plan.bound);
        let proven = if worst > bound {
            format!("; it is proven that ±{bound:.3} mm is not beaten")
        } else {
            String::new()
        };
        let found = if worst > bound { "found for" } else { "possible with" };
        notes.push(format!("The flattest {found} this stock is ±{worst:.3} mm overall{proven}."));
    }
    notes.extend(shortfall.map(in_the_way));
    notes.extend(shortfall.map(what_helps));
    for (kind, limit, way) in [
        (LimitKind::Along, limits.along, "lengthwise"),
        (LimitKind::Across, limits.across, "crosswise"),
    ] {
        let bound =
            |at: &usize| verdict.findings.iter().any(|f| f.limit == kind && f.points.contains(at));
        let loose: Vec<usize> = all().filter(|at| limit.is_some() && !bound(at)).collect();
        if !loose.is_empty() {
            let width = limits.line_width;
            notes.push(format!(
                "On no {way} line with another point (within {width}), so not held to that limit: {}.",
                ids(&loose)
            ));
        }
    }
    if limits.overall.is_none() {
        notes.push(
            "No overall limit is asked for: the bed may tilt as far as its lines and joints allow."
                .to_owned(),
        );
    }
    let tall: Vec<usize> =
        all().filter(|&at| plan.stacks[at].len() > MANY_PIECES || plan.lifts[at] > THICK).collect();
    if plan.meets_limits && !tall.is_empty() {
        notes.push(format!(
            "Tall stacks, of more than {MANY_PIECES} pieces or {THICK}: {}. Thicker pieces, or max_pieces and max_stack in the options, make them safer.",
            ids(&tall)
        ));
    }
    if let Some(predicted) = predicted {
        notes.extend(doubtful(points, plan, verdict, predicted));
    }
    notes
}

/// The limit that is met least surely, where all of them are on paper but not surely.
fn doubtful(
    points: &[&Point],
    plan: &ShimPlan,
    verdict: &Verdict,
    predicted: &Verdict,
) -> Option<String> {
    if !plan.meets_limits || predicted.conformity == Conformity::Met {
        return None;
    }
    let pairs = verdict.findings.iter().zip(&predicted.findings);
    let (least, sure) = pairs.min_by(|(_, a), (_, b)| a.probability.total_cmp(&b.probability))?;
    let over = match least.limit {
        LimitKind::Overall => "all points".to_owned(),
        _ => least.points.iter().map(|&at| points[at].id.as_str()).collect::<Vec<_>>().join(", "),
    };
    Some(format!(
        "Least sure: the limit {} over {over}, {:.3} mm of {:.3} mm with a standard uncertainty of {:.3} mm. Finer or more readings there, or a risk in the options, make it safe.",
        least.limit,
        least.found.mm(),
        least.allowed.mm(),
        sure.sigma_mm
    ))
}

/// What cannot go together.
fn in_the_way(shortfall: &ShortfallOutcome) -> String {
    let mut parts = vec![format!("the points {}", shortfall.points.join(", "))];
    for limit in &shortfall.limits {
        let (name, within) = (limit.limit, limit.allowed_mm);
        parts.push(match limit.limit {
            LimitKind::Overall => format!("the overall limit ({within:.3} mm)"),
            _ => format!("the limit {name} ({within:.3} mm) over {}", limit.points.join(", ")),
        });
    }
    if !shortfall.scarce.is_empty() {
        let kinds: Vec<_> = shortfall.scarce.iter().map(Length::to_string).collect();
        parts.push(format!("so few pieces of {}", kinds.join(", ")));
    }
    if shortfall.max_pieces {
        parts.push("so few pieces under one point".to_owned());
    }
    if shortfall.max_stack {
        parts.push("such low stacks".to_owned());
    }
    let all = if shortfall.minimal { "" } else { " (or some of these)" };
    format!("These do not go together{all}: {}.", parts.join("; "))
}

fn what_helps(shortfall: &ShortfallOutcome) -> String {
    let Some(addition) = &shortfall.addition else {
        return "No number of these pieces was found to help: it may take other thicknesses."
            .to_owned();
    };
    let pieces: Vec<_> =
        addition.pieces.iter().map(|it| format!("{} of {}", it.count, it.thickness)).collect();
    let proven = if addition.proven { "; nothing cheaper does" } else { "" };
    format!("With more pieces there is a plan: {}{proven}.", pieces.join(", "))
}
