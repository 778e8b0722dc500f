//! Before the visit: floors that nobody has measured, what a job will take, and what must be in the
//! van.

mod actual;
mod additions;
mod day;
mod distribution;
mod draws;
mod floor_model;
mod forecast;
mod front;
mod interval;
mod kit;
mod kit_options;
mod lattice;
mod lifting;
mod measured;
mod needed;
mod on_frame;
mod packs;
mod rates;
mod reason;
mod search;
mod training;
mod trial;
mod visit;

pub use actual::UpdatedFloor;
pub use additions::Addable;
pub use distribution::{Distribution, quantile};
pub use floor_model::FloorModel;
pub use forecast::{Estimate, EstimateOptions, Figure, estimate, estimate_until};
pub use front::{FrontKit, kit_front, kit_front_until};
pub use interval::share_interval;
pub use kit::{Kit, kit, kit_until};
pub use kit_options::KitOptions;
pub(crate) use lifting::together;
pub use lifting::{LIFT_A_PERSON_KG, LegLoad, Mass, SlateWeight, leg_loads, people};
pub use measured::{FittedFloor, MeasuredFloor, RestOfFloor};
pub use needed::{ReadingsNeeded, SurveyPattern, readings_needed};
pub use on_frame::{SlabOnFrame, SlatesOnFrame};
pub use rates::{Quantities, Rates};
pub use reason::Reason;
pub use visit::Again;
