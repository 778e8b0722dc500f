//! The answers of searches at a settled cost, kept so that nothing is searched twice.
//!
//! A plan that was found answers every question with a wider window, a wider range or more kinds.
//! That there is no plan answers every question with a narrower window, a narrower range or fewer
//! kinds.

use super::budget::{Budgeted, Meter};
use super::stacking::Stacking;

/// So many answers are looked through in the time of one node.
const ANSWERS_A_NODE: u64 = 16;

/// One question to the search: is there a plan from these kinds, with its tops in this window and
/// within this width of each other?
#[derive(Debug, Clone, Copy)]
pub(super) struct Question {
    pub(super) region: usize,
    pub(super) window: [i64; 2],
    pub(super) width: i64,
    pub(super) kinds: u128,
}

/// The answers so far.
#[derive(Debug)]
pub(super) struct Answers {
    plans: Vec<Stacking>,
    none: Vec<Question>,
}

impl Answers {
    /// Of a plan that is known.
    pub(super) fn of(plan: Stacking) -> Self {
        Self { plans: vec![plan], none: Vec::new() }
    }

    /// The answer, if it follows from earlier ones: a plan, or that there is none.
    pub(super) fn known(
        &self,
        asked: Question,
        meter: &mut Meter,
    ) -> Budgeted<Option<Option<&Stacking>>> {
        meter.spend((self.plans.len() + self.none.len()) as u64 / ANSWERS_A_NODE)?;
        let plan = self.plans.iter().find(|plan| asked.is_met(plan));
        let none = || self.none.iter().any(|none| none.covers(asked));
        Ok(plan.map(Some).or_else(|| none().then_some(None)))
    }

    /// Keeps what a search has told.
    pub(super) fn keep(&mut self, asked: Question, plan: Option<&Stacking>) {
        match plan {
            Some(plan) => self.plans.push(plan.clone()),
            None => self.none.push(asked),
        }
    }
}

impl Question {
    fn is_met(self, plan: &Stacking) -> bool {
        let [low, high] = self.window;
        plan.kinds & !self.kinds == 0
            && plan.range() <= self.width
            && plan.tops.iter().all(|top| (low..=high).contains(top))
    }

    /// Whether this question covers another: every plan that answers the other answers this one.
    fn covers(self, other: Self) -> bool {
        self.region == other.region
            && self.window[0] <= other.window[0]
            && other.window[1] <= self.window[1]
            && other.width <= self.width
            && other.kinds & !self.kinds == 0
    }
}
