//! How sure it is that limits are met.

use super::percent;
use crate::limits::LimitKind;
use crate::verify::{Basis, Conformity, DecisionRule, Finding};

/// How sure it is that all limits are met once a plan is carried out.
pub(crate) fn sure(
    conformity: Conformity,
    basis: Basis,
    probability: f64,
    decision: DecisionRule,
) -> String {
    let asked = match decision {
        DecisionRule::Iso14253 => " (95 % asked, ISO 14253-1)".to_owned(),
        DecisionRule::GuardBand { risk } => format!(" ({} asked)", percent(1.0 - risk)),
        DecisionRule::SimpleAcceptance => String::new(),
    };
    if basis == Basis::Exact {
        return "All differences of height that count are known exactly.".to_owned();
    }
    let how = format!("a probability of {}{asked}", percent(probability));
    match conformity {
        Conformity::Met => format!("By this plan all limits are met with {how}."),
        Conformity::NotMet => format!("NOT SURE: by this plan all limits are met with {how}."),
        Conformity::CannotTell => format!(
            "NOT SURE: the readings do not tell whether all limits are met by this plan, which has {how}."
        ),
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
