//! What kits are tried on.

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

    /// How many of them a kit serves. With `wanted` above 0 it is some number that is below `wanted` where the
    /// true one is, and not below it where the true one is not. None where it was stopped.
    fn served(
        &mut self,
        kit: &Counts,
        wanted: usize,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Error>;
}
