//! What kits are tried on.

use super::lattice::Lattice;
use crate::error::Error;

/// Pieces of each kind.
pub(super) type Counts = [u32];

/// Whether a kit has at least these pieces of each kind.
pub(super) fn covers(kit: &Counts, pieces: &Counts) -> bool {
    kit.iter().zip(pieces).all(|(kit, pieces)| kit >= pieces)
}

/// Jobs, or days of several jobs, of which a kit serves some. More stock never serves fewer.
pub(super) trait Trial {
    /// How many there are.
    fn len(&self) -> usize;

    /// How many plans were solved for it, and how many followed from others and were spared.
    fn plans(&self) -> (usize, usize);

    /// Pieces that serve it, for each one that some kit served so far.
    fn needs(&self) -> Vec<Vec<u32>>;

    /// From now on only kits with at most so many pieces of each kind are tried.
    fn up_to(&mut self, most: &Counts);

    /// How many of them each of the kits serves that cost less than `end`; none where that takes too long.
    fn served_by(
        &mut self,
        kits: &Lattice,
        end: u64,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<Vec<u32>>, Error>;

    /// How many of them a kit serves. With `wanted` above 0 it is some number that is below `wanted` where the
    /// true one is, and not below it where the true one is not. None where it was stopped.
    fn served(
        &mut self,
        kit: &Counts,
        wanted: usize,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Error>;
}
