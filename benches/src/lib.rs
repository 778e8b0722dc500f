//! What the benchmarks share: families of shim problems, the same on every run.
//!
//! A [`Family`] makes one [`truebed::ShimProblem`] from a seed. A [`Floor`] is where the supports
//! stand and how deep; [`kinds`] are the thicknesses, and how many pieces a floor needs of each.

pub mod family;
pub mod floor;
pub mod kinds;

pub use family::{Asks, Family};
pub use floor::Floor;
