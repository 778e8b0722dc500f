//! From a probability to a verdict.

use schemars::JsonSchema;
use serde::{Deserialize, Deserializer, Serialize};

use crate::error::Error;
use crate::normal::check_risk;
use crate::simulation::Chance;

/// The rule by which a verdict is reached.
///
/// With normal errors and one limit on one side, a rule with a risk is a guard band: the value
/// found must keep g = Φ⁻¹(1 − risk) · u from the limit, where u is its standard uncertainty (1.645
/// u for 5 %). Applied to the probability, the rule also holds for limits on both sides and for
/// many limits at once.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, JsonSchema)]
#[serde(tag = "rule", rename_all = "kebab-case", deny_unknown_fields)]
#[non_exhaustive]
pub enum DecisionRule {
    /// ISO 14253-1 (2017 edition; no source read, and older editions take two standard uncertainties).
    /// The limits are met where the probability that they are is at least 95 %, and not met where heights
    /// that meet them would be read so far beyond with a probability of at most 5 %. Between the two there
    /// is no verdict.
    #[default]
    #[serde(rename = "iso-14253-1")]
    Iso14253,
    /// The rule of ISO 14253-1 with a risk of your own choice.
    GuardBand {
        /// The greatest probability of being wrong: above 0 and below ½. Saying that limits are met that
        /// are not is the risk of whoever plays on the bed (the consumer's specific risk of JCGM 106).
        risk: f64,
    },
    /// Simple acceptance (JCGM 106:2012, 8.2): the value found is held against the limits as it is, and
    /// both sides share the risk. There is always a verdict; it is right half of the time where the
    /// value is just on the limit.
    SimpleAcceptance,
}

/// As it is written; rules without fields would otherwise take any.
impl<'de> Deserialize<'de> for DecisionRule {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(tag = "rule", rename_all = "kebab-case", deny_unknown_fields)]
        enum Written {
            #[serde(rename = "iso-14253-1")]
            Iso14253 {},
            GuardBand {
                risk: f64,
            },
            SimpleAcceptance {},
        }
        Ok(match Written::deserialize(deserializer)? {
            Written::Iso14253 {} => Self::Iso14253,
            Written::GuardBand { risk } => Self::GuardBand { risk },
            Written::SimpleAcceptance {} => Self::SimpleAcceptance,
        })
    }
}

impl DecisionRule {
    /// The greatest probability of being wrong; none where that is not looked at.
    pub fn risk(self) -> Option<f64> {
        match self {
            Self::Iso14253 => Some(0.05),
            Self::GuardBand { risk } => Some(risk),
            Self::SimpleAcceptance => None,
        }
    }

    pub(crate) fn check_risk(self) -> Result<(), Error> {
        match self {
            Self::GuardBand { risk } => check_risk(risk, "risk"),
            _ => Ok(()),
        }
    }

    /// Whether a simulation says enough: it is precise, or precise enough for the verdict.
    pub(crate) fn is_settled(self, chance: Chance) -> bool {
        /// A standard error that is small enough in any case,
        const FINE: f64 = 2.5e-4;
        /// and one where the verdict is not in doubt.
        const FAIR: f64 = 1e-3;
        let clear = |at: f64| (chance.probability - at).abs() > SURE * chance.error;
        let is_clear = self.risk().is_none_or(|risk| clear(risk) && clear(1.0 - risk));
        chance.error <= FINE || chance.error <= FAIR && is_clear
    }

    /// The verdict: by the probability that the limits are met, and by that of reading heights so far
    /// beyond them although they are met. Without the second, by the first alone.
    pub(crate) fn conformity(
        self,
        meets: bool,
        chance: Chance,
        excess: Option<Chance>,
    ) -> Conformity {
        let Some(risk) = self.risk() else { return meets.into() };
        let against = excess.unwrap_or(chance);
        if chance.probability - SURE * chance.error >= 1.0 - risk {
            Conformity::Met
        } else if against.probability + SURE * against.error <= risk {
            Conformity::NotMet
        } else {
            Conformity::CannotTell
        }
    }
}

/// So many standard errors are taken off a simulated probability before it counts.
const SURE: f64 = 3.0;

/// A verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Conformity {
    /// The limits are met.
    Met,
    /// The limits are not met.
    NotMet,
    /// The readings do not tell, at the risk that is asked for.
    CannotTell,
}

impl From<bool> for Conformity {
    fn from(met: bool) -> Self {
        if met { Self::Met } else { Self::NotMet }
    }
}
