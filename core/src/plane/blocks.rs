//! Passes over many points, block by block, on all cores.
//!
//! Blocks do not depend on the number of threads, and their results come back in order, so that sums
//! over blocks are the same on every run.

use std::num::NonZero;
use std::ops::Range;

use crate::workers;

/// Below this many points a thread costs more than it saves.
const WORTH_THREADS: usize = 1 << 16;

/// The result of `work` on each block of `size` points.
pub(super) fn over<T: Send>(
    count: usize,
    size: usize,
    work: impl Fn(Range<usize>) -> T + Sync,
) -> Vec<T> {
    // A slice of nothing takes no room.
    fill(&mut vec![(); count], size, |range, _| work(range))
}

/// The same, with the part of `out` that belongs to each block to write to.
pub(super) fn fill<S: Send, T: Send>(
    out: &mut [S],
    size: usize,
    work: impl Fn(Range<usize>, &mut [S]) -> T + Sync,
) -> Vec<T> {
    fill_on(None, out, size, work)
}

/// The same, on at most so many threads; the default is one for each core.
pub(super) fn fill_on<S: Send, T: Send>(
    threads: Option<NonZero<usize>>,
    out: &mut [S],
    size: usize,
    work: impl Fn(Range<usize>, &mut [S]) -> T + Sync,
) -> Vec<T> {
    let count = out.len();
    let run = |first: usize, part: &mut [S]| -> Vec<T> {
        part.chunks_mut(size)
            .enumerate()
            .map(|(at, block)| {
                let start = first + at * size;
                work(start..start + block.len(), block)
            })
            .collect()
    };
    // Asking how many cores there are takes longer than a plane of few points.
    if count < WORTH_THREADS {
        return run(0, out);
    }
    let threads = workers::threads(threads);
    let share = count.div_ceil(size).div_ceil(threads) * size;
    let parts = out.chunks_mut(share).enumerate();
    workers::shared(threads, parts, |(at, part)| run(at * share, part))
        .into_iter()
        .flatten()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_point_is_met_once_and_in_order() {
        for count in [0, 1, 999, 1000, 1001, 70_000, 200_001] {
            let ranges = over(count, 1000, |range| range);
            let all: Vec<usize> = ranges.into_iter().flatten().collect();
            assert!(all.iter().copied().eq(0..count));
            let mut out = vec![0; count];
            fill(&mut out, 1000, |range, out| {
                range.zip(out).for_each(|(at, out)| *out = at);
            });
            assert_eq!(out, all);
        }
    }
}
