//! Shim plans, estimates and jobs over Arrow columns: record batches in, record batches out, one row for
//! each row, in the same order. A row with something wrong gets a text in the column `error`; the others are
//! done all the same.
//!
//! [`Answers`] are a reader around another reader: what [`Plans`], [`Estimates`] or [`Jobs`] make of its
//! rows. They take in one piece of at most [`ROWS`] rows at a time, so memory does not grow with the number of
//! rows. The C library and the Python package both hand columns through here.
#![forbid(unsafe_code)]

mod answers;
mod estimates;
mod jobs;
mod lists;
mod plans;
mod problems;
mod rows;

pub use answers::{Answers, Stop, Work};
pub use estimates::{EstimateSettings, Estimates};
pub use jobs::Jobs;
pub use plans::Plans;
pub use problems::ProblemSettings;
pub use rows::ROWS;
