//! The site before anything is levelled: whether the table fits the room, whether its pieces get
//! there, whether the frame is square. Lengths are millimetres, angles degrees.

mod clearance;
mod largest;
mod place;
mod polygon;
mod square;
mod tape;
mod way_in;

pub use clearance::{Short, Side};
pub(crate) use place::{MOST_OBSTACLES, place_until};
pub use place::{Obstacle, PlaceOptions, Position, TablePlace, Turn, place};
pub(crate) use polygon::MOST_CORNERS;
pub(crate) use square::MOST_READINGS;
pub use square::{Square, square};
pub use tape::{Tape, Tapes};
pub(crate) use way_in::way_in_until;
pub use way_in::{Carried, Carry, Passage, Piece, Spare, WayIn, corner_bound, way_in};
