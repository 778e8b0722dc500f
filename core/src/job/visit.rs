//! The visit around the levelling: whether the table fits and gets in, whether its frame is square, who
//! agreed to where it stands, and who does what in which order.

mod asked;
mod outcome;

pub use asked::{
    CarriedBox, Consent, DoorSwing, FrameTapes, Hardware, OwnStep, RoomPlan, RoomThing, Visit, Way,
};
pub use outcome::{
    BoxOutcome, CarriedOutcome, FloatOutcome, HoldOutcome, PlaceOutcome, RestingOutcome,
    RockOutcome, ShortOutcome, SquareOutcome, StepOutcome, VisitOutcome, ZoneOutcome,
};
