//! What sheet and picture say alike of a job and its stages.

use crate::job::{Job, PlanOutcome, StageOutcome, VerdictOutcome};
use crate::words;

/// What a job is headed with.
pub(super) fn title(job: &Job) -> &str {
    if job.title.trim().is_empty() { "Levelling job" } else { &job.title }
}

/// How sure it is that the limits are met once the plan is carried out.
pub(super) fn sure(verdict: &VerdictOutcome) -> String {
    let &VerdictOutcome { conformity, basis, probability, decision, beforehand, .. } = verdict;
    let known = (beforehand, &verdict.reasons[..]);
    words::verdict::sure(conformity, basis, probability, decision, known)
}

/// What has to be lifted again, in a pass that is not the first.
pub(super) fn again(stage: &StageOutcome) -> Option<String> {
    let next_pass = stage.met && stage.stacks.iter().any(|row| row.before.is_some());
    next_pass.then(|| words::plan::lift_again(&stage.plan.lifted, stage.plan.moved))
}

/// The slopes of a plan's target, mm/m.
pub(super) fn slopes(plan: &PlanOutcome) -> [f64; 2] {
    [plan.slope_along_mm_per_m, plan.slope_across_mm_per_m]
}
