//! How what is open is parted where a search takes long.
//!
//! The bound prices the stock, so what it leaves open is which supports get the pieces of a scarce kind:
//! one support's candidates are parted by how many they have of it. Each part is told apart from the
//! other in what it leaves of the stock, so that the multipliers of each can be tuned for it.

use super::lists::Lists;
use super::split::{Room, Split};

/// One support's candidates in two parts.
pub(super) struct Parting {
    support: usize,
    kind: usize,
    /// One part has fewer pieces of the kind than this, the other no fewer.
    count: u32,
}

impl Parting {
    /// By the kind with the greatest multiplier, where neither part weighs much beyond the bound, and of
    /// those where the smaller part is the largest; none where no kind parts the candidates of any
    /// support.
    pub(super) fn of(lists: &Lists, split: &Split, multipliers: &[i64]) -> Option<Self> {
        let (mut best, mut room) = (None, Room::default());
        for (support, list) in lists.of.iter().enumerate().filter(|(_, list)| list.len() > 1) {
            let beyond = split.beyond_each(support, list, &mut room);
            for (kind, multiplier) in multipliers.iter().enumerate() {
                let of_kind = list.iter().map(|candidate| lists.counts(candidate)[kind]);
                let mut each: Vec<(u32, i64)> = of_kind.zip(beyond.iter().copied()).collect();
                each.sort_unstable();
                let mut fewer = i64::MAX;
                for at in 1..each.len() {
                    fewer = fewer.min(each[at - 1].1);
                    if each[at - 1].0 == each[at].0 {
                        continue;
                    }
                    let more = each[at..].iter().map(|&(_, beyond)| beyond).min().unwrap_or(0);
                    let score = (multiplier - fewer - more, at.min(each.len() - at));
                    if best.as_ref().is_none_or(|&(most, _)| score > most) {
                        best = Some((score, Self { support, kind, count: each[at].0 }));
                    }
                }
            }
        }
        best.map(|(_, parting)| parting)
    }

    /// Leaves one part in the lists.
    pub(super) fn take(&self, more: bool, lists: &mut Lists) {
        let mut list = std::mem::take(&mut lists.of[self.support]);
        list.retain(|candidate| (lists.counts(candidate)[self.kind] >= self.count) == more);
        lists.of[self.support] = list;
    }
}
