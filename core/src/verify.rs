//! Limits against heights: whether a bed conforms, and how sure that is.
//!
//! - [`check`]: heights that count as exact.
//! - [`assess`]: heights with their covariance: a probability for every limit and for all together,
//!   and the verdict of a [`DecisionRule`] (JCGM 106:2012); [`assess_with`] also takes what else is
//!   known, such as how well the readings agree and what a plan predicted: [`Evidence`].
//! - [`read_next`]: what to read next; [`assess_floor`]: a floor against a class of evenness;
//!   [`global_risks`]: how often a rule goes wrong.
//!
//! See `README.md` in this folder for how a verdict is reached and why.

mod assess;
mod errors;
mod evidence;
mod excess;
mod floor;
mod next;
mod predict;
mod prediction;
mod risk;
mod rule;
mod slopes;
mod verdict;
mod within;

pub use assess::{assess, assess_until, assess_with, check, check_until};
pub use evidence::{Beforehand, Evidence, Trust, VerdictReason};
pub(crate) use floor::assess_floor_by;
pub use floor::{FloorVerdict, assess_floor, assess_floor_until};
pub use next::{Claim, NextReading, NextReadings, NextStatus, read_next, read_next_until};
pub(crate) use next::{check_setups, read_next_by};
pub(crate) use predict::OnTops;
pub use prediction::{CombinedHeights, Prediction};
pub use risk::{GlobalRisks, Prior, global_risks, guard_band};
pub use rule::{Conformity, DecisionRule};
pub use slopes::{Axis, SlopeFinding};
pub use verdict::{Basis, Finding, Verdict};
