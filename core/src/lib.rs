//! Levelling and shim solving for heavy slate-bed tables: from readings to heights, to the
//! reference plane and the highest support, to a provably best shim plan from the stock in the
//! van, to the verdict and the sheet that a crew works from.
//!
//! # The problem
//! Supports *i* stand at heights *hᵢ*. Choose for each a stack of shims of thickness *tᵢ* from a
//! finite, shared stock, the highest support staying bare, so that with *zᵢ = hᵢ + tᵢ*
//!
//! - some level *T* has |*zᵢ* − *T*| ≤ φ for all *i*,
//! - along lines, across lines and joints keep their own limits |*zᵢ* − *zⱼ*| ≤ δ,
//!
//! with the fewest pieces, then the smallest worst deviation, then the fewest kinds. Lengths are
//! whole nanometres, so a deviation exactly on the limit passes; [`Status::Proven`] means that no
//! plan is better.
//!
//! ```
//! use truebed::{Length, Limits, Shim, ShimProblem, Support, plan_shims};
//! let mm = |mm: f64| Length::from_mm(mm);
//! let supports = vec![
//!     Support { x: mm(0.0)?, y: mm(0.0)?, height: mm(0.0)? },
//!     Support { x: mm(2000.0)?, y: mm(0.0)?, height: mm(-1.25)? },
//!     Support { x: mm(2000.0)?, y: mm(1000.0)?, height: mm(-0.5)? },
//!     Support { x: mm(0.0)?, y: mm(1000.0)?, height: mm(-0.75)? },
//! ];
//! let stock = vec![Shim::new(mm(0.5)?, Some(6)), Shim::new(mm(0.25)?, Some(6))];
//! let problem = ShimProblem::new(supports, stock, Limits::overall(mm(0.05)?));
//! let plan = plan_shims(&problem)?;
//! assert_eq!(plan.pieces, 6);
//! assert!(plan.stacks[0].is_empty()); // the highest stays on the floor
//! # Ok::<(), truebed::Error>(())
//! ```
#![forbid(unsafe_code)]

mod bed;
mod covariance;
mod deadline;
mod document;
mod error;
mod estimate;
mod job;
mod length;
mod limits;
mod normal;
mod plane;
mod points;
mod regression;
mod roll;
mod sheet;
mod shim;
mod shown;
mod simulation;
mod site;
mod stock;
mod survey;
mod tilt;
mod units;
mod verify;
mod words;
mod workers;

pub use bed::{
    BearSettings, Bearing, Bearings, BedPlan, BedProblem, LaidSlab, Load, LoadTest, NoBed, Slab,
    SlabSupport, Stress, Tipping, bear, plan_bed, plan_bed_until,
};
pub use error::{Error, Problem, ProblemKind, Problems};
pub use estimate::{
    Addable, Again, Distribution, Estimate, EstimateOptions, Figure, FittedFloor, FloorModel,
    FrontKit, Kit, KitOptions, LIFT_A_PERSON_KG, LegLoad, Mass, MeasuredFloor, Quantities, Rates,
    ReadingsNeeded, Reason, RestOfFloor, SlabOnFrame, SlateWeight, SlatesOnFrame, SurveyPattern,
    UpdatedFloor, estimate, estimate_until, kit, kit_front, kit_front_until, kit_until, leg_loads,
    people, quantile, readings_needed, share_interval,
};
pub use job::{
    ActualFigureOutcome, ActualOutcome, AddedShim, AdditionOutcome, BoxOutcome, CarriedBox,
    CarriedOutcome, CentreLines, ConflictLimitOutcome, Consent, DistributionOutcome, DoorSwing,
    EstimateBlock, EstimateOutcome, ExpectedHeights, FindingOutcome, FloatOutcome,
    FloorFindingOutcome, FloorOutcome, FrameTapes, Hardware, HeaviestLiftOutcome, HoldOutcome, Job,
    JobOutcome, JointStepOutcome, KnownFloor, LegLiftOutcome, LegLoadOutcome, LevelGrid, LevelLine,
    Material, MaterialOutcome, MeasuredHeights, NamedPoints, NextReadingsOutcome, OperationOutcome,
    OwnStep, PlaceOutcome, PlacedStack, PlanOutcome, Plate, PlateOutcome, PointHeight, RanOut,
    ReadingOutcome, ReadingsNeededOutcome, ReasonOutcome, RestingOutcome, RockOutcome, RollingBall,
    RoomPlan, RoomThing, SecondPass, ShimPoints, ShortOutcome, ShortfallOutcome, SlateOutcome,
    SlatePiece, SlateSupportOutcome, SlateWeightOutcome, SlopeOutcome, SquareOutcome, StackOutcome,
    Stage, StageOutcome, Step, StepOutcome, StockOutcome, Surface, SurveyAsked, SurveyOutcome,
    SuspectGroupOutcome, TestLoad, TestLoadOutcome, VerdictOutcome, Visit, VisitOutcome, Way,
    WeighedSlate, WeightsOutcome, ZoneOutcome, next_pass, next_pass_of_outcome, next_pass_until,
    run_job, run_job_until, run_jobs,
};
pub use length::Length;
pub use limits::{LimitKind, Limits, NamedLimit, Preset, Span};
pub use plane::{
    Contact, Direction, FloorClass, FloorFinding, FloorNumbers, FloorQuantity, Gap, Highest,
    LeastSquares, LocalSlope, LocalSlopes, MinimumZone, Plane, PlaneKind, Planes, Resting, Rock,
    Uncertainty, check_floor, fit_plane, fit_planes, fit_planes_on, floor_numbers, highest,
    least_squares, local_slopes, minimum_zone, resting, straightedge, straightedge_between,
};
pub use points::{Point, Role};
pub use roll::{BallRolls, BedSurface, Play, Roll, drift_mm, dying_speed, rolling_acceleration};
pub use sheet::{
    Picture, PictureLimit, PicturePoint, TradeoffMark, kit_front_picture, kit_front_picture_narrow,
    room_picture, room_picture_narrow, survey_picture, survey_picture_narrow, tradeoff_picture,
    tradeoff_picture_narrow,
};
pub use shim::{
    Addition, Budget, Conflict, OnlyUnder, Order, Placed, PlanOptions, RiskOf, ShimPlan,
    ShimProblem, Shortfall, Status, Support, plan_each, plan_many, plan_many_on, plan_many_until,
    plan_shims, plan_shims_until, shortfall, shortfall_until, tradeoff, tradeoff_until,
};
pub use site::{
    Carried, Carry, Obstacle, Passage, Piece, PlaceOptions, Position, Short, Side, Spare, Square,
    TablePlace, Tape, Tapes, Turn, WayIn, corner_bound, place, square, way_in,
};
pub use stock::{Adjusts, Shim, StockIs};
pub use survey::{
    BlunderTest, Cell, Closure, Divisions, Fixed, GlobalTest, Heights, Ids, Instrument, Level, Mm,
    Offset, Place, Reading, ReadingFields, ReadingKind, SelfCheck, Separability, Setup, Slope,
    SpiritLevel, Survey, SurveyDoubt, SurveySettings, Surveyed, SuspectGroup, Unchecked, UnionJack,
    UnionJackLines, adjust, adjust_until, level_grid, level_line, readings_from_csv,
    smallest_detectable, tau_critical, union_jack, w_critical,
};
pub use units::Units;
pub use verify::{
    Axis, Basis, Beforehand, Claim, CombinedHeights, Conformity, DecisionRule, Evidence, Finding,
    FloorVerdict, GlobalRisks, NextReading, NextReadings, NextStatus, Prediction, Prior,
    SlopeFinding, Trust, Verdict, VerdictReason, assess, assess_floor, assess_floor_until,
    assess_until, assess_with, check, check_until, global_risks, guard_band, read_next,
    read_next_until,
};
pub use words::CAUTIONS;

#[cfg(doctest)]
#[doc = include_str!("../../README.md")]
struct Readme;
