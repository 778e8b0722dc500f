//! How sure it is that limits are met.

use super::percent;
use crate::limits::LimitKind;
use crate::verify::{Basis, Beforehand, Conformity, DecisionRule, Finding, VerdictReason};

/// How sure it is that all limits are met once a plan is carried out.
pub(crate) fn sure(
    conformity: Conformity,
    basis: Basis,
    probability: f64,
    decision: DecisionRule,
    (beforehand, reasons): (Beforehand, &[VerdictReason]),
) -> String {
    let why: String = reasons.iter().map(|reason| format!("{reason} ")).collect();
    let known = match beforehand {
        Beforehand::Prediction => {
            ", by the readings and what the plan of the visit before predicted"
        }
        _ => "",
    };
    let asked = match decision {
        DecisionRule::Iso14253 => " (95 % asked, ISO 14253-1)".to_owned(),
        DecisionRule::GuardBand { risk } => format!(" ({} asked)", percent(1.0 - risk)),
        DecisionRule::SimpleAcceptance => String::new(),
    };
    if basis == Basis::Exact {
        return format!("{why}All differences of height that count are known exactly.");
    }
    let how = format!("a probability of {}{asked}{known}", percent(probability));
    let sure = match conformity {
        Conformity::Met => format!("By this plan all limits are met with {how}."),
        Conformity::NotMet => {
            format!("EXPECT A MISS: by this plan all limits are met with {how} only.")
        }
        Conformity::CannotTell => format!(
            "NOT SURE: the readings do not tell whether all limits are met by this plan, which has {how}."
        ),
    };
    match reasons.is_empty() || sure.starts_with("NOT SURE") {
        true => sure.replacen("NOT SURE: ", &format!("NOT SURE: {why}"), 1),
        false => format!("{why}{sure}"),
    }
}

/// The limit that is met least surely, as found and with how sure that is.
pub(crate) fn least_sure(found: &Finding, sure: &Finding, names: &[&str]) -> String {
    let over = match found.limit {
        LimitKind::Overall => "all points".to_owned(),
        _ => found.points.iter().map(|&at| names[at]).collect::<Vec<_>>().join(", "),
    };
    format!(
        "Least sure: the limit {} over {over}, {:.3} mm of {:.3} mm with a standard uncertainty of {:.3} mm. Finer or more readings there, or a risk in the options, make it safe.",
        found.limit,
        found.found.mm(),
        found.allowed.mm(),
        sure.sigma_mm
    )
}
