//! What one more pack of each kind would bring to a kit.

use super::packs::Packs;
use super::trial::{Counts, Trial};
use crate::error::Error;

/// One more pack of a kind.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Addable {
    /// Index of the kind.
    pub kind: usize,
    /// Pieces of the pack.
    pub pieces: u32,
    /// The share of the training jobs that the kit serves with it.
    pub share: f64,
}

/// What one more pack of each kind would bring, the best first.
pub(super) fn additions(
    packs: &Packs,
    kit: &Counts,
    jobs: &mut dyn Trial,
    stop: &dyn Fn() -> bool,
) -> Result<Vec<Addable>, Error> {
    let mut additions = Vec::new();
    for (kind, &pieces) in packs.pieces.iter().enumerate() {
        let mut more = kit.to_vec();
        more[kind] += pieces;
        let Some(served) = jobs.served(&more, 0, stop)? else { break };
        let share = served as f64 / jobs.len() as f64;
        additions.push(Addable { kind, pieces, share });
    }
    additions.sort_by(|a, b| b.share.total_cmp(&a.share));
    Ok(additions)
}
