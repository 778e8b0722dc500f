//! What a verdict rests on besides the heights and their covariance.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::prediction::Prediction;
use super::rule::DecisionRule;
use crate::error::{Error, ProblemKind};
use crate::limits::LimitKind;
use crate::survey::{GlobalTest, Heights, SurveyDoubt, chi_square_quantile};

/// What a verdict rests on besides the heights and their covariance.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Evidence {
    /// How the verdict is reached.
    pub rule: DecisionRule,
    /// How well the readings agree with each other: [`Heights::global_test`]. None where there are
    /// no more readings than needed, or where nothing is known of them.
    ///
    /// [`Heights::global_test`]: crate::Heights::global_test
    pub global_test: Option<GlobalTest>,
    /// What else makes a verdict on the heights a guess: [`Heights::doubts`].
    pub doubts: Vec<SurveyDoubt>,
    /// How far readings that disagree are trusted.
    pub trust: Trust,
    /// What a plan led one to expect of the heights before they were read again.
    pub prediction: Option<Prediction>,
    /// Whether the heights were not read but computed by a plan.
    pub(super) foreseen: bool,
    /// Where the heights already rest on what a plan predicted: the probability of differences at least so
    /// large between that and the readings.
    pub(crate) combined: Option<f64>,
}

impl Evidence {
    /// The same, with what the survey that the heights come from says of itself.
    pub fn of_survey(mut self, heights: &Heights) -> Self {
        self.global_test = heights.global_test();
        self.doubts.clone_from(&heights.doubts);
        self
    }
}

impl From<DecisionRule> for Evidence {
    fn from(rule: DecisionRule) -> Self {
        Self { rule, ..Self::default() }
    }
}

/// How far readings that disagree with each other are trusted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Trust {
    /// The level of the global test. Where residuals as large as those of the readings have a
    /// probability below this, the readings contradict each other, and the verdict is "cannot tell".
    /// The default is 0.05.
    pub level: f64,
    /// Whether a verdict is given although the readings contradict each other, or contradict what
    /// the plan predicted. The contradiction is still reported.
    pub overrule: bool,
    /// Whether the stated uncertainties hold only up to a common factor. The covariance is then
    /// multiplied by the variance factor, and Student's t takes the place of the normal
    /// distribution, with the degrees of freedom of the survey. The global test then says nothing.
    pub scale: bool,
}

impl Default for Trust {
    fn default() -> Self {
        Self { level: 0.05, overrule: false, scale: false }
    }
}

impl Trust {
    /// Whether this is the default.
    pub fn is_default(&self) -> bool {
        *self == Self::default()
    }

    pub(crate) fn check_level(&self) -> Result<(), Error> {
        if self.level > 0.0 && self.level < 1.0 {
            return Ok(());
        }
        let expected = "a probability above 0 and below 1";
        Err(Error::new(ProblemKind::Value, "trust.level", self.level, expected))
    }
}

/// What is taken to be known of the heights before they were read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Beforehand {
    /// Nothing: every height is equally likely.
    #[default]
    Nothing,
    /// What the plan predicted, with its covariance and the stated settlement.
    Prediction,
}

impl Beforehand {
    /// Whether nothing was known.
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
    pub(crate) fn is_nothing(&self) -> bool {
        *self == Self::Nothing
    }
}

/// Why a verdict is "cannot tell", whatever the probability; or what the user overruled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "reason", rename_all = "kebab-case", deny_unknown_fields)]
#[non_exhaustive]
pub enum VerdictReason {
    /// A limit of the preset binds no two points, so nothing was held against it.
    NothingBound {
        /// The limit.
        limit: LimitKind,
    },
    /// The readings contradict each other by more than their stated uncertainties explain.
    ReadingsContradict {
        /// The probability of residuals at least so large if the stated uncertainties are right.
        p_value: f64,
        /// The level of the global test.
        level: f64,
    },
    /// The heights that were read contradict what the plan predicted.
    PredictionContradicted {
        /// The probability of differences at least so large if both are right.
        p_value: f64,
        /// The level of the test.
        level: f64,
    },
    /// The plane of a laser may lean, and the figures do not count it, since the places of its points are
    /// not known.
    LeanNotCounted {},
    /// A reading that the others speak against was left out, and no data can tell it from another that
    /// was not.
    LeftOutByChance {},
}

impl fmt::Display for VerdictReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let shown = |p_value: f64| match p_value {
            next_to_nothing if next_to_nothing < 1e-99 => "less than 1e-99".to_owned(),
            other => format!("{other:.2e}"),
        };
        match self {
            Self::NothingBound { limit: LimitKind::JointStep } => {
                f.write_str("The preset limits the step at a joint, and no joints are named.")
            }
            Self::NothingBound { limit } => {
                let way = if *limit == LimitKind::Along { "lengthwise" } else { "crosswise" };
                write!(f, "The preset limits {way} lines, and no two points lie on one.")
            }
            Self::ReadingsContradict { p_value, level } => write!(
                f,
                "The readings contradict each other: if their uncertainties are right, so large \
                 residuals have a probability of {} (level {level}). Look at the suspect readings.",
                shown(*p_value)
            ),
            Self::PredictionContradicted { p_value, level } => write!(
                f,
                "The readings contradict what the plan predicted: if both are right, so large \
                 differences have a probability of {} (level {level}).",
                shown(*p_value)
            ),
            Self::LeanNotCounted {} => f.write_str(
                "The plane of a laser may lean, and the figures do not count it: say where its points lie.",
            ),
            Self::LeftOutByChance {} => f.write_str(
                "A reading was left out, and no data can tell whether it or another is wrong: read both \
                 again.",
            ),
        }
    }
}

impl Evidence {
    /// What is wrong with it.
    pub(super) fn check_evidence(&self) -> Result<(), Error> {
        self.rule.check_risk()?;
        self.trust.check_level()
    }

    /// The contradiction among the readings, where the global test fails, and the doubts that their
    /// survey leaves.
    pub(super) fn contradictions(&self) -> Vec<VerdictReason> {
        let Trust { level, scale, .. } = self.trust;
        let contradict = self.global_test.filter(|test| test.p_value < level && !scale);
        let contradict = contradict
            .map(|GlobalTest { p_value, .. }| VerdictReason::ReadingsContradict { p_value, level });
        let doubts = self.doubts.iter().map(|doubt| match doubt {
            SurveyDoubt::LeanNotCounted => VerdictReason::LeanNotCounted {},
            SurveyDoubt::LeftOutByChance => VerdictReason::LeftOutByChance {},
        });
        contradict.into_iter().chain(doubts).collect()
    }

    /// By what the covariance is multiplied: the variance factor where it is scaled, else 1.
    pub(super) fn factor(&self) -> f64 {
        /// Residuals that are all but nothing are no proof that nothing is uncertain.
        const LEAST: f64 = 1e-6;
        self.scaled().map_or(1.0, |test| test.variance_factor.max(LEAST))
    }

    /// By what it is multiplied besides: 1, or parts of equal probability where it is scaled. The mean
    /// of a probability over them makes of the normal distribution Student's t, a scale mixture of it
    /// (Kotz & Nadarajah, Multivariate t Distributions, 2004; from memory).
    pub(super) fn parts(&self) -> Vec<f64> {
        const PARTS: usize = 20;
        let Some(GlobalTest { dof, .. }) = self.scaled() else { return vec![1.0] };
        let middle = |part: usize| (part as f64 + 0.5) / PARTS as f64;
        (0..PARTS).map(|part| dof as f64 / chi_square_quantile(middle(part), dof)).collect()
    }

    fn scaled(&self) -> Option<GlobalTest> {
        self.global_test.filter(|test| self.trust.scale && test.dof > 0)
    }
}
