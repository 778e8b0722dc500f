//! Supports that a span holds together, and what they weigh together at least.
//!
//! A support by itself may take its lightest stack; the members of a span may not, if those do not
//! come within its width of each other. Spans that share no support add up to a stronger bound.

use super::lists::Candidate;

/// The members of a span and the least that they weigh together.
#[derive(Debug)]
pub(super) struct Group {
    pub(super) members: Vec<usize>,
    pub(super) weight: i64,
}

impl Group {
    /// How much that is beyond the members' lightest weights one by one.
    pub(super) fn gain(&self, least: &[i64]) -> i64 {
        self.weight - self.members.iter().map(|&member| least[member]).sum::<i64>()
    }
}

/// Spans that share no support, those first that add most to the members' lightest weights; none
/// where the members of some span cannot come together.
pub(super) fn disjoint(
    spans: &[(Vec<usize>, i64)],
    lists: &[Vec<Candidate>],
    least: &[i64],
) -> Option<Vec<Group>> {
    let mut groups = Vec::with_capacity(spans.len());
    for (members, width) in spans {
        let weight = together(members, *width, lists)?;
        let group = Group { members: members.clone(), weight };
        let gain = group.gain(least);
        if gain > 0 {
            groups.push((gain, group));
        }
    }
    groups.sort_by_key(|(gain, _)| -gain);
    let mut taken = vec![false; lists.len()];
    groups.retain(|(_, group)| {
        let free = group.members.iter().all(|&member| !taken[member]);
        if free {
            group.members.iter().for_each(|&member| taken[member] = true);
        }
        free
    });
    Some(groups.into_iter().map(|(_, group)| group).collect())
}

/// The least weight of one candidate each whose tops lie within a width.
fn together(members: &[usize], width: i64, lists: &[Vec<Candidate>]) -> Option<i64> {
    let lows = members.iter().flat_map(|&member| lists[member].iter().map(|c| c.top));
    let weight = |low: i64| -> Option<i64> {
        let lightest = |&member: &usize| {
            let inside = lists[member].iter().filter(|c| (low..=low + width).contains(&c.top));
            inside.map(|c| c.weight).min()
        };
        members.iter().map(lightest).sum()
    };
    lows.filter_map(weight).min()
}
