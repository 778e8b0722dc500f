//! What an estimate gives.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::plan::{PlanOutcome, PointHeight, StackOutcome};
use crate::error::Error;
use crate::estimate::FloorModel;
use crate::estimate::{
    Distribution, Estimate, Figure, Mass, MeasuredFloor, Quantities, ReadingsNeeded, Reason,
    SlatesOnFrame, SurveyPattern, leg_loads, people, together,
};
use crate::job::estimate::{EstimateBlock, SurveyAsked};
use crate::length::Length;
use crate::points::Point;
use crate::shim::ShimProblem;
use crate::words::estimate::{SLATES_AS_PLATES, SLATES_AS_POINTS, of_the_frame};

/// What the legs of a job will take on a floor that nobody has measured, and its slates where they are planned
/// too.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EstimateOutcome {
    /// What is assumed of the floor, and of the frame, beyond what is known of it, in whole sentences.
    pub assumptions: Vec<String>,
    /// Whether the slates are in all figures but those of single legs.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub with_slates: bool,
    /// The number of jobs that were drawn.
    pub jobs: usize,
    /// The number of jobs that the stock serves.
    pub served_jobs: usize,
    /// The share of jobs that the stock serves. There is none where no job was drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub served: Option<f64>,
    /// The exact two-sided interval of that share by Clopper and Pearson.
    pub interval: [f64; 2],
    /// The confidence of the interval.
    pub confidence: f64,
    /// Why the other jobs are not served, and how many of them each.
    pub reasons: Vec<ReasonOutcome>,
    /// The share of the jobs served that need a lift again after settlement, where that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<f64>,
    /// The pieces of the first pass. There is none where no job is served; so it is with all
    /// distributions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pieces: Option<DistributionOutcome>,
    /// The legs lifted in the first pass, and the points of the slates where they are planned too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lifts: Option<DistributionOutcome>,
    /// The thickest stack, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thickest_mm: Option<DistributionOutcome>,
    /// The price of a job with its pieces, where prices were given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cost: Option<DistributionOutcome>,
    /// The minutes of a job, where minutes were given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<DistributionOutcome>,
    /// How far each leg is lifted.
    pub legs: Vec<LegLiftOutcome>,
    /// The bill of materials: pieces of each kind of the stock, in its order.
    pub materials: Vec<MaterialOutcome>,
    /// The bill of operations: how often each is done, a second pass included.
    pub operations: Vec<OperationOutcome>,
    /// What weighs how much, where slates or a frame are known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weights: Option<WeightsOutcome>,
    /// The smallest survey that proves the limits of the legs, where that was asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings_needed: Option<ReadingsNeededOutcome>,
    /// How the plan of the readings compares with the estimate. There is none without readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub actual: Option<ActualOutcome>,
}

/// Why jobs are not served.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReasonOutcome {
    /// The reason.
    pub reason: Reason,
    /// The number of jobs.
    pub jobs: usize,
}

/// How a figure is distributed over the jobs that are served.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DistributionOutcome {
    /// The mean.
    pub mean: f64,
    /// The smallest value that at least 5 % of the jobs do not exceed.
    pub p05: f64,
    /// The smallest value that at least half of the jobs do not exceed.
    pub p50: f64,
    /// The smallest value that at least 95 % of the jobs do not exceed.
    pub p95: f64,
    /// The largest value.
    pub most: f64,
    /// The width of each bar of the histogram.
    pub bar_width: f64,
    /// The histogram: where each bar begins, and how many jobs are in it.
    pub histogram: Vec<(f64, usize)>,
}

/// How far a leg is lifted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LegLiftOutcome {
    /// The id of the leg.
    pub id: String,
    /// The mean lift, mm.
    pub mean_mm: Option<f64>,
    /// The lift that at least 95 % of the jobs do not exceed, mm.
    pub p95_mm: Option<f64>,
}

/// Pieces of one kind that jobs use.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaterialOutcome {
    /// The kind, by its index in the stock, from 0.
    pub shim: usize,
    /// The thickness of a piece; of an adjustable piece, the least thickness.
    pub thickness: Length,
    /// The number of pieces in the stock. There is none where the kind does not run out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on_hand: Option<u32>,
    /// The price of one piece in the unit of the stock.
    pub price: u32,
    /// The mean number of pieces.
    pub mean: Option<f64>,
    /// The number of pieces that at least half of the jobs do not exceed.
    pub p50: Option<f64>,
    /// The number of pieces that at least 95 % of the jobs do not exceed.
    pub p95: Option<f64>,
    /// The largest number of pieces.
    pub most: Option<f64>,
}

/// How often jobs take an operation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OperationOutcome {
    /// The operation: `reading`, `lift`, `piece`, `slate`, `joint` or `repeat`.
    pub operation: String,
    /// The mean number.
    pub mean: Option<f64>,
    /// The number that at least half of the jobs do not exceed.
    pub p50: Option<f64>,
    /// The number that at least 95 % of the jobs do not exceed.
    pub p95: Option<f64>,
    /// The largest number.
    pub most: Option<f64>,
}

/// The smallest survey that leaves no more doubt than asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadingsNeededOutcome {
    /// The pattern of the survey.
    pub pattern: SurveyPattern,
    /// The standard uncertainty of each reading.
    pub reading: Length,
    /// How often the pattern is gone through.
    pub rounds: usize,
    /// The number of readings in all.
    pub readings: usize,
    /// The doubt that they leave.
    pub doubt: f64,
    /// The standard uncertainty of the largest difference of two heights that they leave, mm.
    pub sigma_mm: f64,
}

/// What weighs how much.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WeightsOutcome {
    /// The slates.
    pub slates: Vec<SlateWeightOutcome>,
    /// The mass of slates and frame together, kg.
    pub total_kg: f64,
    /// What each leg carries. It is empty where the job has no such legs that the load lies between.
    pub legs: Vec<LegLoadOutcome>,
    /// The heaviest single lift.
    pub heaviest: HeaviestLiftOutcome,
}

/// What a slate weighs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SlateWeightOutcome {
    /// The name of the slate.
    pub name: String,
    /// The mass, kg.
    pub kg: f64,
    /// The number of people that it takes to carry it, no one lifting more than was stated.
    pub people: u32,
}

/// What a leg carries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LegLoadOutcome {
    /// The id of the leg.
    pub id: String,
    /// What stands on the leg, kg: of a rigid table on equal springs, which is assumed.
    pub stands_kg: f64,
    /// The most that raising the leg takes, kg: the table then hangs on this leg and on what lies
    /// beyond its centre of mass. It is null where the centre of mass is not between the legs.
    pub raises_kg: Option<f64>,
}

/// The heaviest single lift of a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeaviestLiftOutcome {
    /// What is lifted: the name of a slate or the id of a leg.
    pub what: String,
    /// Whether it is a leg that is raised, not a slate that is carried.
    pub is_leg: bool,
    /// The mass that it takes to lift, kg.
    pub kg: f64,
    /// The number of people that it would take by hand, no one lifting more than `kg_a_person`.
    pub people: u32,
    /// How much one person lifts at the most, kg.
    pub kg_a_person: f64,
}

/// How a job that was read compares with its estimate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ActualOutcome {
    /// Where each figure of the plan falls in the estimate. It is empty where the plan does not meet the
    /// limits.
    pub figures: Vec<ActualFigureOutcome>,
    /// The part of all floors of the model that are evener than the one read: near 0, it was much evener
    /// than expected; near 1, much less even.
    pub floor_percentile: f64,
    /// By how much the readings change the variances of the floor model.
    pub factor: f64,
    /// Where that factor lies with a probability of 95 %.
    pub factor_interval: [f64; 2],
    /// The `variance_factor` of the next estimate of such a floor.
    pub variance_factor: f64,
    /// The `worth` of the floor in the next estimate.
    pub worth: f64,
}

/// Where a figure of a finished job falls in its estimate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ActualFigureOutcome {
    /// The figure: `pieces`, `lifts` or `thickest_mm`.
    pub figure: String,
    /// What it came to.
    pub actual: f64,
    /// The part of the jobs of the estimate that came to less.
    pub less: f64,
    /// The part of the jobs of the estimate that came to no more.
    pub no_more: f64,
}

/// An estimate that nothing is wrong with.
pub(in crate::job) struct ReadyEstimate<'a> {
    pub(in crate::job) asked: &'a EstimateBlock,
    pub(in crate::job) floor: FloorModel,
    pub(in crate::job) problem: ShimProblem,
    pub(in crate::job) legs: Vec<&'a Point>,
    /// The slates, where they are to be planned too,
    pub(in crate::job) on_frame: Option<SlatesOnFrame>,
    /// and what they weigh.
    pub(in crate::job) slates: Vec<(String, Mass)>,
    pub(in crate::job) survey: Option<ReadingsNeededOutcome>,
}

impl ReadyEstimate<'_> {
    /// Where the legs stand, mm.
    fn places(&self) -> Vec<[f64; 2]> {
        self.legs.iter().map(|leg| [leg.x.mm(), leg.y.mm()]).collect()
    }
}

/// What came of legs that were read.
pub(in crate::job) struct ActualLegs<'a> {
    /// Plans and stacks of the stages that the estimate is of, where all meet their limits; else none.
    pub(in crate::job) stages: Vec<(&'a PlanOutcome, &'a [StackOutcome])>,
    pub(in crate::job) heights: &'a [PointHeight],
}

/// Six places: what comes from functions of statistics is the same on every platform to that.
fn six(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

fn known(value: f64) -> Option<f64> {
    Some(value).filter(|value| value.is_finite())
}

impl DistributionOutcome {
    fn new(values: &[f64]) -> Option<Self> {
        let of = Distribution::new(values)?;
        let (histogram, bar_width) = of.histogram();
        let [p05, p50, p95, most] = [0.05, 0.5, 0.95, 1.0].map(|p| of.quantile(p));
        Some(Self { mean: of.mean(), p05, p50, p95, most, bar_width, histogram })
    }
}

/// Mean, median, 95 % and the largest of values.
fn four(values: &[f64]) -> [Option<f64>; 4] {
    match Distribution::new(values) {
        Some(of) => [
            Some(of.mean()),
            Some(of.quantile(0.5)),
            Some(of.quantile(0.95)),
            Some(of.quantile(1.0)),
        ],
        None => [None; 4],
    }
}

impl EstimateOutcome {
    /// Of an estimate that has been worked out, with the legs where they were planned by readings.
    pub(in crate::job) fn new(
        ready: &ReadyEstimate<'_>,
        found: &Estimate,
        legs: Option<ActualLegs<'_>>,
    ) -> Result<Self, Error> {
        let of = |figure| DistributionOutcome::new(found.figures(figure));
        let reason = |&(reason, jobs): &(Reason, usize)| ReasonOutcome { reason, jobs };
        let (kinds, count) = (ready.problem.stock.len(), ready.legs.len());
        let column = |rows: &[f64], width: usize, at: usize| -> Vec<f64> {
            rows.iter().skip(at).step_by(width).copied().collect()
        };
        let leg = |at: usize| {
            let [mean_mm, _, p95_mm, _] = four(&column(&found.lifts_mm, count, at));
            LegLiftOutcome { id: ready.legs[at].id.clone(), mean_mm, p95_mm }
        };
        let material = |at: usize| {
            let shim = &ready.problem.stock[at];
            let [mean, p50, p95, most] = four(&column(&found.used, kinds, at));
            let (thickness, on_hand, price) = (shim.thickness, shim.count, shim.price);
            MaterialOutcome { shim: at, thickness, on_hand, price, mean, p50, p95, most }
        };
        let operation = |(at, name): (usize, &&str)| {
            let [mean, p50, p95, most] = four(&found.operation(at));
            OperationOutcome { operation: (*name).to_owned(), mean, p50, p95, most }
        };
        let on_frame = ready.on_frame.iter();
        let of_frame = on_frame.flat_map(|slates| {
            let on_slabs: usize = slates.slabs.iter().map(|it| it.laid.supports().len()).sum();
            let own = match on_slabs < slates.problem.supports.len() {
                true => SLATES_AS_POINTS,
                false => SLATES_AS_PLATES,
            };
            [own.to_owned()]
                .into_iter()
                .chain(slates.frame.assumptions().iter().map(|it| of_the_frame(it)))
        });
        Ok(Self {
            assumptions: ready.floor.assumptions().iter().cloned().chain(of_frame).collect(),
            with_slates: ready.on_frame.is_some(),
            jobs: found.jobs,
            served_jobs: found.served_jobs,
            served: known(found.served),
            interval: found.interval.map(six),
            confidence: ready.asked.confidence,
            reasons: found.reasons.iter().map(reason).collect(),
            again: known(found.again),
            pieces: of(Figure::Pieces),
            lifts: of(Figure::Lifts),
            thickest_mm: of(Figure::ThickestMm),
            cost: of(Figure::Cost),
            minutes: of(Figure::Minutes),
            legs: (0..count).map(leg).collect(),
            materials: (0..kinds).map(material).collect(),
            operations: Quantities::NAMES.iter().enumerate().map(operation).collect(),
            weights: WeightsOutcome::new(ready)?,
            readings_needed: ready.survey.clone(),
            actual: legs.map(|legs| ActualOutcome::new(ready, found, legs)).transpose()?.flatten(),
        })
    }
}

impl ReadingsNeededOutcome {
    pub(in crate::job) fn new(asked: SurveyAsked, found: ReadingsNeeded) -> Self {
        Self {
            pattern: asked.pattern,
            reading: asked.reading,
            rounds: found.rounds,
            readings: found.readings,
            doubt: six(found.doubt),
            sigma_mm: six(found.sigma_mm),
        }
    }
}

impl WeightsOutcome {
    fn new(ready: &ReadyEstimate<'_>) -> Result<Option<Self>, Error> {
        let xy = ready.places();
        let kg_a_person = ready.asked.kg_a_person;
        let slates: Vec<Mass> = ready.slates.iter().map(|(_, mass)| *mass).collect();
        let middle = [0, 1].map(|axis| xy.iter().map(|at| at[axis]).sum::<f64>() / xy.len() as f64);
        let at = together(&slates).map_or(middle, |mass| mass.at);
        let frame = ready.asked.frame_kg.map(|kg| Mass { kg, at });
        let all: Vec<Mass> = slates.into_iter().chain(frame).collect();
        let Some(total) = together(&all) else { return Ok(None) };
        let lift = |(name, mass): &(String, Mass)| {
            let people = people(mass.kg, kg_a_person)?;
            Ok(SlateWeightOutcome { name: name.clone(), kg: mass.kg, people })
        };
        let slates = ready.slates.iter().map(lift).collect::<Result<Vec<_>, Error>>()?;
        let loads = leg_loads(&xy, total)?;
        let legs = ready.legs.iter().zip(loads).map(|(leg, load)| LegLoadOutcome {
            id: leg.id.clone(),
            stands_kg: load.stands_kg,
            raises_kg: known(load.raises_kg),
        });
        let legs: Vec<_> = legs.collect();
        let carried = slates.iter().map(|slate| (&slate.name, false, slate.kg));
        let raised = legs.iter().filter_map(|leg| Some((&leg.id, true, leg.raises_kg?)));
        // The first of those that are alike.
        let heavier = |a: (_, _, f64), b: (_, _, f64)| if b.2 > a.2 { b } else { a };
        let Some((what, is_leg, kg)) = carried.chain(raised).reduce(heavier) else {
            return Ok(None);
        };
        let people = people(kg, kg_a_person)?;
        let heaviest = HeaviestLiftOutcome { what: what.clone(), is_leg, kg, people, kg_a_person };
        Ok(Some(Self { slates, total_kg: total.kg, legs, heaviest }))
    }
}

impl ActualOutcome {
    /// None where fewer than two legs were read.
    fn new(
        ready: &ReadyEstimate<'_>,
        found: &Estimate,
        legs: ActualLegs<'_>,
    ) -> Result<Option<Self>, Error> {
        if ready.legs.len() < 2 {
            return Ok(None);
        }
        let place = |(name, figure, actual): (&str, Figure, f64)| {
            let [less, no_more] = Distribution::new(found.figures(figure))?.place(actual);
            Some(ActualFigureOutcome { figure: name.to_owned(), actual, less, no_more })
        };
        let sum = |of: &dyn Fn(&PlanOutcome) -> usize| -> f64 {
            legs.stages.iter().map(|(plan, _)| of(plan)).sum::<usize>() as f64
        };
        let stacks = || legs.stages.iter().flat_map(|(_, stacks)| *stacks);
        let figures = [
            ("pieces", Figure::Pieces, sum(&|plan| plan.pieces)),
            ("lifts", Figure::Lifts, sum(&|plan| plan.lifted.len())),
            ("thickest_mm", Figure::ThickestMm, stacks().map(|it| it.lift_mm).fold(0.0, f64::max)),
        ];
        let figures = figures.into_iter().filter(|_| !legs.stages.is_empty());
        let squares = legs.heights.iter().filter_map(|it| it.sigma_mm).map(|sigma| sigma * sigma);
        let read = MeasuredFloor {
            xy: ready.places(),
            heights_mm: legs.heights.iter().map(|height| height.height_mm).collect(),
            sigma_mm: (squares.sum::<f64>() / legs.heights.len() as f64).sqrt(),
        };
        let floor = &ready.asked.floor;
        let updated = ready.floor.updated(&read, floor.worth())?;
        Ok(Some(Self {
            figures: figures.filter_map(place).collect(),
            floor_percentile: six(updated.percentile),
            factor: updated.factor,
            factor_interval: updated.interval.map(six),
            variance_factor: floor.variance_factor.unwrap_or(1.0) * updated.factor,
            worth: updated.worth,
        }))
    }
}
