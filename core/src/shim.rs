//! The shim solver: which shims under which support.
//!
//! `solver` is the driver and reads top down: it settles the goals one after the other. First comes
//! the least cost (`levels`, over `region`s of the level priced by multipliers), then the narrowest
//! range of tops, the fewest kinds and the tie rule (`narrowing`), each by exact searches (`search`)
//! in `windows` of height over `lists` of reachable `stacks`. `tradeoff`, `many` and `shortfall` ask
//! the same driver more than once.
//! Where guard bands depend on the pieces of a plan, `guarded` asks it for parts of all plans.

mod ample;
mod answers;
mod asked;
mod budget;
mod candidate;
mod costs;
mod cover;
mod every;
mod goals;
mod greedy;
mod guard;
mod guarded;
mod kinds;
mod levels;
mod lists;
mod many;
mod model;
mod narrowing;
mod opening;
mod parting;
mod pieces;
mod placed;
mod plan;
mod problem;
mod region;
mod search;
mod shortfall;
mod solver;
mod split;
mod stacking;
mod stacks;
mod tied;
mod tilted;
mod tradeoff;
mod uses;
mod windows;

pub(crate) use costs::Costs;
pub use guard::RiskOf;
pub use many::{plan_each, plan_many, plan_many_on, plan_many_until};
pub use placed::Placed;
pub(crate) use placed::pieces as pieces_in_place;
pub use plan::{ShimPlan, Status};
pub use problem::{Budget, OnlyUnder, Order, PlanOptions, ShimProblem, Support};
pub use shortfall::{Addition, Conflict, Shortfall, shortfall, shortfall_until};
pub(crate) use solver::plan_if_possible;
pub use solver::{plan_shims, plan_shims_until};
pub use tradeoff::{tradeoff, tradeoff_until};
pub(crate) use uses::{Packed, Use, each_use, use_if_possible};
