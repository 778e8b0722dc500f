//! The document that holds a whole job, as versioned JSON, and what a run makes of it.
//!
//! `document.rs` is what a job says, `outcome.rs` what came of it, `run.rs` the way from one to the
//! other.

mod check;
mod document;
mod expected;
mod floor;
mod lines;
mod many;
mod notes;
mod outcome;
mod passes;
mod plates;
mod play;
mod run;
mod schema;
mod slates;
mod stage;
mod steps;
mod survey;
mod visit;
mod visit_run;

pub use document::{Job, NamedPoints, PlacedStack, ShimPoints, Stage};
pub use expected::ExpectedHeights;
pub use lines::{LevelGrid, LevelLine};
pub use many::run_jobs;
pub use outcome::{
    AddedShim, AdditionOutcome, CentreLines, ConflictLimitOutcome, FindingOutcome,
    FloorFindingOutcome, FloorOutcome, JobOutcome, NextReadingsOutcome, PlanOutcome, PlateOutcome,
    PointHeight, RanOut, ReadingOutcome, ShortfallOutcome, SlateOutcome, SlateSupportOutcome,
    SlopeOutcome, StackOutcome, StageOutcome, Step, StockOutcome, Surface, SurveyOutcome,
    SuspectGroupOutcome, TestLoadOutcome, VerdictOutcome,
};
pub use passes::next_pass;
pub use plates::Plate;
pub use play::RollingBall;
pub use run::{run_job, run_job_until};
pub use slates::{Material, SlatePiece, TestLoad};
pub use visit::{
    BoxOutcome, CarriedBox, CarriedOutcome, Consent, FloatOutcome, FrameTapes, Hardware,
    HoldOutcome, OwnStep, PlaceOutcome, RestingOutcome, RockOutcome, RoomPlan, RoomThing,
    ShortOutcome, SquareOutcome, StepOutcome, Visit, VisitOutcome, Way, ZoneOutcome,
};
