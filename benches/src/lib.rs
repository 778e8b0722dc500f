//! What the benchmarks share: the instances they run on.
