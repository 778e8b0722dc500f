//! What kits are tried on.

use crate::error::Error;

/// Pieces of each kind.
pub(super) type Counts = [u32];

/// Jobs, or days of several jobs, of which a kit serves some. More stock never serves fewer.
pub(super) trait Trial {
    /// How many there are.
    fn len(&self) -> usize;

    /// How many plans were solved for it, and how many followed from others and were spared.
    fn plans(&self) -> (usize, usize);

    /// How many of them a kit serves. Where it serves fewer than `wanted`, some number below
    /// `wanted`. None where it was stopped.
    fn served(
        &mut self,
        kit: &Counts,
        wanted: usize,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Error>;
}
