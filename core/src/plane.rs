//! Reference planes: z = offset + slope_x · x + slope_y · y, and what points do about them.

mod batch;
mod blocks;
mod check;
mod exchange;
mod fit;
mod fit_plane;
mod floor;
mod highest;
mod hull;
mod kind;
mod least_squares;
mod lines;
mod minimum_zone;
mod moments;
mod normal_zone;
mod orthogonal;
mod resting;
mod slopes;
mod straightedge;
mod zone;

pub use batch::{Planes, fit_planes, fit_planes_on};
pub use fit::Plane;
pub use fit_plane::fit_plane;
pub(crate) use floor::{Asks, DinRow, FLATNESS, LEVELNESS};
pub use floor::{
    FloorClass, FloorFinding, FloorNumbers, FloorQuantity, check_floor, floor_numbers,
};
pub use highest::{Highest, highest};
pub(crate) use hull::{from_edge, hull};
pub use kind::PlaneKind;
pub use least_squares::{LeastSquares, Uncertainty, least_squares};
pub use minimum_zone::{MinimumZone, minimum_zone};
pub use resting::{Resting, Rock, resting};
pub use slopes::{LocalSlope, LocalSlopes, local_slopes};
pub use straightedge::{Gap, straightedge, straightedge_between};
pub use zone::{Contact, Direction};
