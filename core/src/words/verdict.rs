//! How sure it is that limits are met.

use super::{percent, percent_beside};
use crate::limits::LimitKind;
use crate::units::Units;
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
    let asks = match decision {
        DecisionRule::Iso14253 => 0.95,
        DecisionRule::GuardBand { risk } => 1.0 - risk,
        DecisionRule::SimpleAcceptance => 0.5,
    };
    let probability_is = percent_beside(probability, asks);
    let how = format!("a probability of {probability_is}{asked}{known}");
    match conformity {
        Conformity::Met => format!("{why}MET: by this plan all limits are met with {how}."),
        Conformity::NotMet => {
            format!("{why}NOT MET: expect a miss, by this plan all limits are met with {how} only.")
        }
        Conformity::CannotTell if probability < 1.0 - asks => format!(
            "CANNOT TELL: {why}Expect a miss: by this plan all limits are met with {how} only."
        ),
        Conformity::CannotTell => format!(
            "CANNOT TELL: {why}The readings do not tell whether all limits are met by this plan, which has {how}."
        ),
    }
}

/// The limit that is met least surely, as found and with how sure that is.
pub(crate) fn least_sure(
    found: &Finding,
    sure: &Finding,
    name: Option<&str>,
    names: &[&str],
    units: Units,
) -> String {
    let over = match found.limit {
        LimitKind::Overall => "all points".to_owned(),
        _ => found.points.iter().map(|&at| names[at]).collect::<Vec<_>>().join(", "),
    };
    let limit = name.map_or_else(|| found.limit.to_string(), |name| format!("{name:?}"));
    let [of, allowed] = units.against("", found.found.mm(), found.allowed.mm());
    let sigma = units.figure("", sure.sigma_mm);
    format!(
        "Least sure: the limit {limit} over {over}, {of} of {allowed} with a standard uncertainty of {sigma}. Finer or more readings there, or a risk in the options, make it safe."
    )
}
