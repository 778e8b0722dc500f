//! Before the visit: floors that nobody has measured, what a job will take, and what must be in the
//! van.

mod draws;
mod floor_model;
mod forecast;
mod interval;
mod kit;
mod kit_options;
mod measured;
mod packs;
mod rates;
mod search;
mod training;
mod visit;

pub use floor_model::FloorModel;
pub use forecast::{Estimate, EstimateOptions, Figure, estimate, estimate_until};
pub use interval::share_interval;
pub use kit::{Kit, kit, kit_until};
pub use kit_options::KitOptions;
pub use measured::{FittedFloor, MeasuredFloor, RestOfFloor};
pub use packs::Addable;
pub use rates::Rates;
pub use visit::{Again, Reason};
