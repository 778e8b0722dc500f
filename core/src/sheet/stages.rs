//! What sheet and picture say alike of a job and its stages.

use crate::job::{
    FindingOutcome, Job, JointStepOutcome, PlanOutcome, RestingOutcome, SlateOutcome,
    SlateSupportOutcome, StackOutcome, Stage, StageOutcome, StockOutcome, VerdictOutcome,
};
use crate::limits::LimitKind;
use crate::shim::Status;
use crate::units::Units;
use crate::verify::{DecisionRule, Verdict};
use crate::words::stack::{Piece, pieces, with_name};
use crate::words::{self, met};

/// What a job is headed with.
pub(super) fn title(job: &Job) -> &str {
    if job.title.trim().is_empty() { "Levelling job" } else { &job.title }
}

/// How the search for the plan of a stage ended.
pub(super) fn ended(asked: &Stage, stage: &StageOutcome) -> String {
    let plan = &stage.plan;
    for slate in &stage.slates {
        if let Some(about) = &slate.tips_about {
            return words::bed::none_lies(&slate.piece, about);
        }
    }
    if plan.status == Status::Budget && stage.met && !stage.slates.is_empty() {
        return words::bed::not_proven(plan.pieces);
    }
    words::plan::ended(plan.status, stage.met, plan.pieces, asked.options.order)
}

/// What a plan puts under a point.
pub(super) fn stack_of(row: &StackOutcome) -> Vec<Piece<'_>> {
    pieces(&row.shims, &row.names)
}

/// What is in place under a point, where this is not the first pass.
pub(super) fn before_of(row: &StackOutcome) -> Option<Vec<Piece<'_>>> {
    row.before.as_ref().map(|shims| pieces(shims, &row.before_names))
}

/// What a kind of the stock is called.
pub(super) fn stock_name(kind: &StockOutcome, units: Units) -> String {
    let mut thickness = units.thickness(kind.thickness);
    if let Some(to) = kind.to {
        thickness = format!("{thickness} to {}", units.thickness(to));
    }
    with_name(thickness, &kind.name)
}

/// What a bare frame stands on, how far it floats and where it rocks.
pub(super) fn resting_words(resting: &RestingOutcome, units: Units) -> Vec<String> {
    let mut said = vec![words::site::stands_on(&resting.stands_on)];
    let floats = resting.floats.iter().filter(|it| it.mm > 0.0);
    let floats: Vec<(&str, f64)> = floats.map(|it| (it.id.as_str(), it.mm)).collect();
    if !floats.is_empty() {
        said.push(words::site::floats(&floats, units));
    }
    for rock in &resting.rocks {
        if let (Some(onto), Some(drop)) = (&rock.onto, rock.drop_mm) {
            said.push(words::site::rocks(&rock.about, onto, drop, units));
        }
    }
    said
}

/// A row of a table of limits: a ± limit as it was asked, a step as it was asked.
pub(super) struct LimitRow {
    pub(super) name: String,
    /// `±`, or nothing for a difference.
    pub(super) sign: &'static str,
    pub(super) found_mm: f64,
    pub(super) allowed_mm: f64,
    /// One of three words.
    pub(super) verdict: &'static str,
    pub(super) points: String,
}

impl LimitRow {
    pub(super) fn of(finding: &FindingOutcome) -> Self {
        let conformity = finding.conformity.unwrap_or_else(|| finding.met.into());
        let (sign, share) = sign_and_share(finding.limit);
        Self {
            name: limit_name(finding.limit, finding.name.as_deref()),
            sign,
            found_mm: finding.found_mm / share,
            allowed_mm: finding.allowed_mm / share,
            verdict: met(conformity),
            points: match finding.limit {
                LimitKind::Overall => "all points".to_owned(),
                _ => finding.points.join(", "),
            },
        }
    }
}

/// What a limit is called: by the name that the job gives it, else by its kind.
pub(super) fn limit_name(limit: LimitKind, name: Option<&str>) -> String {
    name.map_or_else(|| limit.to_string(), str::to_owned)
}

/// A ± limit is half of a difference, a step is all of it.
pub(super) fn sign_and_share(limit: LimitKind) -> (&'static str, f64) {
    match limit {
        LimitKind::JointStep | LimitKind::Named => ("", 1.0),
        _ => ("±", 2.0),
    }
}

/// How sure it is that the limits are met once the plan is carried out.
pub(super) fn sure(verdict: &VerdictOutcome) -> String {
    let &VerdictOutcome { conformity, basis, probability, decision, beforehand, .. } = verdict;
    let known = (beforehand, &verdict.reasons[..]);
    words::verdict::sure(conformity, basis, probability, decision, known)
}

/// The same of a verdict that was reached by the default rule.
pub(super) fn sure_of(verdict: &Verdict) -> String {
    let known = (verdict.beforehand, &verdict.reasons[..]);
    let (conformity, basis) = (verdict.conformity, verdict.basis);
    words::verdict::sure(conformity, basis, verdict.probability, DecisionRule::default(), known)
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

/// What a slate does as a whole on the stacks of the plan.
pub(super) fn slate(slate: &SlateOutcome, units: Units) -> Vec<String> {
    use words::bed;
    let mut lines = Vec::new();
    if let (Some(sag), Some(flatness)) = (slate.sag_mm, slate.flatness_mm) {
        lines.push(bed::sags(sag, flatness, units));
    }
    if let Some(accuracy) = slate.accuracy_mm {
        lines.push(bed::known_within(accuracy, units));
    }
    if let Some(mpa) = slate.stress_mpa {
        lines.push(bed::stress(mpa, slate.stress_ratio));
    }
    if let Some(test) = &slate.test_load
        && let Some(gives) = test.deflection_mm
    {
        lines.push(bed::test_load(test.newtons, gives, test.limit_mm, units));
    }
    lines
}

/// The steps along the joints of slates.
pub(super) fn joint_steps(
    steps: &[JointStepOutcome],
    units: Units,
) -> impl Iterator<Item = String> {
    steps.iter().map(move |it| words::bed::step(&it.pieces, it.step_mm, units))
}

/// What a point of a slate bears.
pub(super) fn bears(support: &SlateSupportOutcome, slate: &SlateOutcome, units: Units) -> String {
    let doubtful = slate.may_be_loose.contains(&support.id);
    let force = [support.force_n, support.force_sigma_n];
    words::bed::bears(force, support.gap_mm, [support.carries, doubtful], units)
}
