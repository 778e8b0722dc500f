//! A service that keeps jobs in SQLite from the first estimate to the last pass.
//!
//! Each step works its answer out first and then stores it with one statement, which is a transaction: a
//! service that dies in the middle of a step has not begun it, and takes it up again when it is back.

mod store;

pub use store::{Problem, Store};
