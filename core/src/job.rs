//! The document that holds a whole job, as versioned JSON, and what a run makes of it.
//!
//! `document.rs` is what a job says, `outcome.rs` what came of it, `run.rs` the way from one to the
//! other.

mod ball;
mod check;
mod counts;
mod document;
mod estimate;
mod estimate_run;
mod expected;
mod fields;
mod floor;
mod lines;
mod lying;
mod many;
mod notes;
mod outcome;
mod passes;
mod paths;
mod plates;
mod read;
mod run;
mod schema;
mod slates;
mod stage;
mod steps;
mod stored;
mod survey;
mod visit;
mod visit_run;

pub use ball::RollingBall;
pub use document::{Job, NamedPoints, PlacedStack, ShimPoints, Stage};
pub use estimate::{
    EstimateBlock, KnownFloor, MeasuredHeights, SecondPass, SurveyAsked, WeighedSlate,
};
pub use expected::ExpectedHeights;
pub use lines::{LevelGrid, LevelLine};
pub use many::run_jobs;
pub use outcome::{
    ActualFigureOutcome, ActualOutcome, AddedShim, AdditionOutcome, CentreLines,
    ConflictLimitOutcome, DistributionOutcome, EstimateOutcome, FindingOutcome,
    FloorFindingOutcome, FloorOutcome, HeaviestLiftOutcome, JobOutcome, JointStepOutcome,
    LegLiftOutcome, LegLoadOutcome, MaterialOutcome, NextReadingsOutcome, OperationOutcome,
    PlanOutcome, PlateOutcome, PointHeight, RanOut, ReadingOutcome, ReadingsNeededOutcome,
    ReasonOutcome, ShortfallOutcome, SlateOutcome, SlateSupportOutcome, SlateWeightOutcome,
    SlopeOutcome, StackOutcome, StageOutcome, Step, StockOutcome, Surface, SurveyOutcome,
    SuspectGroupOutcome, TestLoadOutcome, VerdictOutcome, WeightsOutcome,
};
pub use passes::{next_pass, next_pass_of_outcome, next_pass_until};
pub use plates::Plate;
pub use run::{run_job, run_job_until};
pub use slates::{Material, SlatePiece, TestLoad};
pub use visit::{
    BoxOutcome, CarriedBox, CarriedOutcome, Consent, DoorSwing, FloatOutcome, FrameTapes, Hardware,
    HoldOutcome, OwnStep, PlaceOutcome, RestingOutcome, RockOutcome, RoomPlan, RoomThing,
    ShortOutcome, SquareOutcome, StepOutcome, Visit, VisitOutcome, Way, ZoneOutcome,
};
