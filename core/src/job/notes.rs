//! What a person should look at before carrying a plan out.

use super::document::Job;
use super::outcome::{JointStepOutcome, SlateOutcome, Step, Surface, SurveyOutcome};
use crate::bed::Lain;
use crate::length::Length;
use crate::limits::{LimitKind, Limits};
use crate::shim::{ShimPlan, Shortfall, Status};
use crate::stock::Shim;
use crate::units::Units;
use crate::verify::{Conformity, Verdict};
use crate::words;

/// A good survey in twenty fails the global test.
const DISAGREE: f64 = 0.05;

/// A stack of more pieces than this, or a thicker one, is worth a second look (common practice:
/// few pieces, low stacks).
const MANY_PIECES: usize = 6;
const THICK: Length = Length::from_nm(25_400_000);

/// What the readings say against each other.
pub(super) fn of_survey(survey: &SurveyOutcome, job: &Job) -> Vec<String> {
    let named = |of: &[usize]| -> Vec<String> {
        let read = of.iter().filter_map(|&at| job.readings.get(at));
        read.map(|reading| words::survey::reading(reading, job.units)).collect()
    };
    let mut notes = Vec::new();
    if let [first, others @ ..] = &survey.suspect_groups[..] {
        let (names, blunder) = (named(&first.readings), first.blunder_mm);
        notes.push(words::survey::suspected(&names, blunder, job.units));
        if !others.is_empty() {
            notes.push(words::survey::MORE_SUSPECTS.to_owned());
        }
    } else if survey.p_value.is_some_and(|p| p < DISAGREE) {
        notes.push(words::survey::DISAGREE.to_owned());
    }
    if !survey.left_out.is_empty() {
        notes.push(words::survey::left_out(&named(&survey.left_out)));
    }
    notes.extend(survey.unchecked.iter().map(words::survey::unchecked));
    notes
}

/// What is left to say where no plan of the points meets the limits, with what would help from these kinds.
pub(super) fn of_shortfall(
    plan: &ShimPlan,
    shortfall: Option<&Shortfall>,
    stock: &[Shim],
    kinds: &[Shim],
    names: &[&str],
    units: Units,
) -> Vec<String> {
    let mut notes = Vec::new();
    if plan.status == Status::Infeasible {
        if !plan.unreachable.is_empty() {
            notes.push(words::plan::out_of_reach(&named(&plan.unreachable, names)));
        }
        notes.push(words::plan::flattest(plan.worst_mm(), plan.bound, units));
    }
    if let Some(Shortfall { conflict, addition, .. }) = shortfall {
        notes.push(words::shortfall::in_the_way(conflict, stock, names, units));
        notes.push(words::shortfall::what_helps(addition.as_ref(), kinds, units));
    }
    notes
}

/// What the limits do not hold: points on no line, or the bed as a whole.
pub(super) fn of_limits(
    limits: &Limits,
    verdict: &Verdict,
    names: &[&str],
    units: Units,
) -> Vec<String> {
    let mut notes = Vec::new();
    for (kind, limit) in [(LimitKind::Along, limits.along), (LimitKind::Across, limits.across)] {
        let binds = |at: &usize| {
            let mut findings = verdict.findings.iter();
            findings.any(|finding| finding.limit == kind && finding.points.contains(at))
        };
        let loose: Vec<usize> =
            (0..names.len()).filter(|at| limit.is_some() && !binds(at)).collect();
        let lines: Vec<String> = (verdict.findings.iter())
            .filter(|finding| finding.limit == kind)
            .map(|finding| named(&finding.points, names).join(", "))
            .collect();
        if !lines.is_empty() {
            notes.push(words::plan::lines(kind, limits.line_width, &lines, units));
        }
        if !loose.is_empty() {
            let names = named(&loose, names);
            notes.push(words::plan::on_no_line(kind, limits.line_width, &names, units));
        }
    }
    if limits.overall.is_none() {
        notes.push(words::plan::NO_OVERALL.to_owned());
    }
    notes
}

/// Stacks of a plan that are worth a second look.
pub(super) fn of_stacks(plan: &ShimPlan, names: &[&str], units: Units) -> Option<String> {
    let is_tall = |&at: &usize| plan.stacks[at].len() > MANY_PIECES || plan.lifts[at] > THICK;
    let tall: Vec<usize> = (0..names.len()).filter(is_tall).collect();
    (plan.meets_limits && !tall.is_empty())
        .then(|| words::plan::tall_stacks(MANY_PIECES, THICK, &named(&tall, names), units))
}

/// What was left out where a step was cut short.
pub(super) fn of_step(step: Step) -> Option<&'static str> {
    match step {
        // Without heights there is no stage to have notes.
        Step::Survey => None,
        Step::Floor => Some(words::budget::NO_FLOOR),
        Step::Shortfall => Some(words::budget::SHORTFALL),
        Step::Verdict => Some(words::budget::NO_VERDICT),
        Step::ReadNext => Some(words::budget::NO_READ_NEXT),
        Step::Bearing => Some(words::budget::NO_BEARING),
        Step::Ball => Some(words::budget::NO_BALL),
        // The visit has no notes.
        Step::Place | Step::WayIn => None,
        // The estimate says how many jobs it rests on.
        Step::Estimate => None,
    }
}

/// The limit that is met least surely, where all of them are met as read but not surely.
pub(super) fn of_doubt(
    plan: &ShimPlan,
    verdict: &Verdict,
    predicted: Option<&Verdict>,
    name: impl Fn(usize) -> Option<String>,
    names: &[&str],
    units: Units,
) -> Option<String> {
    let predicted = predicted?;
    if !plan.meets_limits || predicted.conformity == Conformity::Met {
        return None;
    }
    let pairs = verdict.findings.iter().zip(&predicted.findings).enumerate();
    let least = pairs.min_by(|(_, (_, a)), (_, (_, b))| a.probability.total_cmp(&b.probability));
    let (at, (found, sure)) = least?;
    Some(words::verdict::least_sure(found, sure, name(at).as_deref(), names, units))
}

fn named<'a>(points: &[usize], names: &[&'a str]) -> Vec<&'a str> {
    points.iter().map(|&at| names[at]).collect()
}

/// What the plan is beside the one for points alone.
pub(super) fn of_lain(lain: Option<Lain>, plan: &ShimPlan) -> Option<String> {
    use words::bed::Proof;
    Some(match lain? {
        Lain::Instead { pieces, searched } => {
            let proof = match (plan.status, searched) {
                (Status::Proven, _) => Proof::Best,
                (_, true) if plan.bound >= plan.pieces as f64 => Proof::Fewest,
                (_, true) => Proof::AtLeast(plan.bound),
                (_, false) => Proof::NotSearched,
            };
            words::bed::instead(pieces, plan.pieces, proof)
        }
        // The slate itself says so.
        Lain::Tips => return None,
        Lain::Loose { proven: true } => words::bed::NONE_CARRIES.to_owned(),
        Lain::Loose { proven: false } => words::bed::NONE_FOUND.to_owned(),
    })
}

/// What is amiss with slates on the stacks, and what is not in the computation.
pub(super) fn of_slates(
    slates: &[SlateOutcome],
    joint_steps: &[JointStepOutcome],
    surface: Option<&Surface>,
    limits: &Limits,
    units: Units,
) -> Vec<String> {
    use words::bed;
    let mut notes = Vec::new();
    for slate in slates {
        let piece = &slate.piece;
        let tips = slate.tips_about.as_ref();
        notes.extend(tips.map(|about| bed::tips(piece, about, slate.tips_moment_n_mm)));
        if !slate.loose.is_empty() {
            notes.push(bed::loose(piece, &slate.loose));
        }
        if !slate.may_be_loose.is_empty() {
            notes.push(bed::may_be_loose(piece, &slate.may_be_loose));
        }
        if slate.test_load.as_ref().is_some_and(|test| !test.met) {
            notes.push(bed::gives_too_far(piece));
        }
        if slate.stress_ratio.is_some_and(|ratio| ratio > 1.0) {
            notes.push(bed::overstressed(piece));
        }
    }
    if let Some(allowed) = limits.joint_step {
        let beyond = joint_steps.iter().filter(|step| step.step_mm > allowed.mm());
        notes.extend(
            beyond.map(|step| bed::step_beyond(&step.pieces, step.step_mm, allowed.mm(), units)),
        );
    }
    if let (Some(surface), Some(allowed)) = (surface, limits.overall)
        && surface.worst_mm > allowed.mm()
    {
        notes.push(bed::surface_beyond(surface.worst_mm, allowed.mm(), units));
    }
    if !slates.is_empty() {
        notes.push(bed::NOT_MODELLED.to_owned());
    }
    notes
}
