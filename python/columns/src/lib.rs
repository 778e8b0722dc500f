//! Shim plans and jobs over Arrow columns: record batches in, record batches out, one row for each row,
//! in the same order. A row with something wrong gets a text in the column `error`; the others are done
//! all the same.
//!
//! [`Plans`] and [`Jobs`] are readers around another reader. They take in one piece of at most
//! [`ROWS`] rows at a time, so memory does not grow with the number of rows.
#![forbid(unsafe_code)]

mod jobs;
mod lists;
mod plans;
mod rows;

pub use jobs::Jobs;
pub use plans::{PlanSettings, Plans};
pub use rows::{ROWS, Stop};
