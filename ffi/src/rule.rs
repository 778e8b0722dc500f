//! Rules of decision: how a verdict is reached from uncertain heights.

use truebed_core::{Basis, Conformity, DecisionRule};

use crate::problems::Problems;

/// Decision rule: ISO 14253-1, 2017 edition. Limits are met where the probability of that is at
/// least 95 %, not met where that of the contrary is; between the two the verdict is
/// TRUEBED_CANNOT_TELL.
pub const TRUEBED_RULE_ISO_14253_1: i32 = 0;
/// Decision rule: the same for a risk that the caller chooses, above 0 and below 0.5.
pub const TRUEBED_RULE_GUARD_BAND: i32 = 1;
/// Decision rule: simple acceptance (JCGM 106:2012, 8.2). The heights are held against the limits as
/// read, whatever their uncertainty.
pub const TRUEBED_RULE_SIMPLE_ACCEPTANCE: i32 = 2;

/// Conformity: the limits are not met.
pub const TRUEBED_NOT_MET: i32 = 0;
/// Conformity: the limits are met.
pub const TRUEBED_MET: i32 = 1;
/// Conformity: at the risk that is asked for, the readings do not decide.
pub const TRUEBED_CANNOT_TELL: i32 = -1;

/// What a verdict rests on: no uncertainties are given, and the heights are held against the limits
/// as read.
pub const TRUEBED_BASIS_ESTIMATES: i32 = 0;
/// What a verdict rests on: the differences of height that the limits bind are known exactly.
pub const TRUEBED_BASIS_EXACT: i32 = 1;
/// What a verdict rests on: the probability that the limits are met.
pub const TRUEBED_BASIS_PROBABILITY: i32 = 2;

/// A rule by its number; the core looks at the risk of a guard band.
pub(crate) fn read_rule(rule: i32, risk: f64, problems: &mut Problems) -> DecisionRule {
    let plain = match rule {
        TRUEBED_RULE_GUARD_BAND => return DecisionRule::GuardBand { risk },
        TRUEBED_RULE_ISO_14253_1 => DecisionRule::Iso14253,
        TRUEBED_RULE_SIMPLE_ACCEPTANCE => DecisionRule::SimpleAcceptance,
        other => {
            problems.value("rule", other, "a TRUEBED_RULE_ number, 0 to 2");
            DecisionRule::default()
        }
    };
    // A risk that the caller thinks to have asked for must not be dropped in silence.
    if risk != 0.0 {
        problems.value("risk", risk, "0, or the rule TRUEBED_RULE_GUARD_BAND");
    }
    plain
}

pub(crate) fn conformity(conformity: Conformity) -> i32 {
    match conformity {
        Conformity::Met => TRUEBED_MET,
        Conformity::NotMet => TRUEBED_NOT_MET,
        // Whatever else there may be one day, it is not sure.
        _ => TRUEBED_CANNOT_TELL,
    }
}

pub(crate) fn basis(basis: Basis) -> i32 {
    match basis {
        Basis::Exact => TRUEBED_BASIS_EXACT,
        Basis::Probability => TRUEBED_BASIS_PROBABILITY,
        _ => TRUEBED_BASIS_ESTIMATES,
    }
}
