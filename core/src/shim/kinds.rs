//! The kinds of shim that no plan in a window can do without.

use rustc_hash::FxHashMap;

use super::budget::{Budgeted, Meter};
use super::lists::Lists;

/// So many sets of kinds can be compared in the time of one node.
const COMPARED_A_NODE: u64 = 32;

/// What the supports need in one window: for each support the sets of kinds of its candidates, with
/// the lightest weight that each allows.
#[derive(Debug)]
pub(super) struct Needs {
    /// Alike supports as one, with how many they are; those with the fewest choices first.
    supports: Vec<(Vec<Choice>, i64)>,
    /// Sum of the lightest weights with all kinds.
    least: i64,
}

/// A set of kinds, and the weight beyond the support's lightest that it takes at least.
type Choice = (u128, i64);

/// What stands against a set of kinds.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Lack<'a> {
    /// Nothing, as far as the supports one by one can tell.
    Nothing,
    /// A support has no candidate from these kinds; one of its choices must be added.
    Choice(&'a [Choice]),
    /// Every support has one, but together they weigh too much.
    Weight,
}

impl Needs {
    /// The needs in the window [low, high].
    pub(super) fn new(lists: &Lists, [low, high]: [i64; 2], meter: &mut Meter) -> Budgeted<Self> {
        let mut least = 0;
        let mut alike: FxHashMap<Vec<Choice>, i64> = FxHashMap::default();
        for list in &lists.of {
            let inside = list.iter().filter(|c| (low..=high).contains(&c.top));
            let mut all: Vec<Choice> = inside.map(|c| (c.kinds, c.weight)).collect();
            let lightest = all.iter().map(|&(_, weight)| weight).min().unwrap_or(0);
            least += lightest;
            all.sort_unstable_by_key(|&(kinds, weight)| (weight, kinds.count_ones(), kinds));
            let mut choices: Vec<Choice> = Vec::new();
            for (kinds, weight) in all {
                meter.spend(choices.len() as u64 / COMPARED_A_NODE)?;
                if !choices.iter().any(|(less, _)| less & !kinds == 0) {
                    choices.push((kinds, weight - lightest));
                }
            }
            *alike.entry(choices).or_default() += 1;
        }
        let mut supports: Vec<(Vec<Choice>, i64)> = alike.into_iter().collect();
        supports.sort_unstable_by(|(a, _), (b, _)| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
        Ok(Self { supports, least })
    }

    /// What a set of kinds lacks where the candidates together may weigh `cap`.
    pub(super) fn lack(&self, kinds: u128, cap: i64, meter: &mut Meter) -> Budgeted<Lack<'_>> {
        let mut weight = self.least;
        let mut heavy = weight > cap;
        for (choices, count) in &self.supports {
            let at = choices.iter().position(|(needed, _)| needed & !kinds == 0);
            meter.spend(at.unwrap_or(choices.len()) as u64 / COMPARED_A_NODE)?;
            let Some(at) = at else { return Ok(Lack::Choice(choices)) };
            weight += choices[at].1 * count;
            heavy |= weight > cap;
        }
        Ok(if heavy { Lack::Weight } else { Lack::Nothing })
    }
}
