//! From a job to its outcome, stage by stage.

use std::collections::{BTreeSet, HashMap};

use super::floor::FloorOutcome;
use super::notes::{notes, of_survey};
use super::outcome::{
    AddedShim, AdditionOutcome, ConflictLimitOutcome, FindingOutcome, JobOutcome,
    NextReadingOutcome, NextReadingsOutcome, PlanOutcome, PointHeight, ShortfallOutcome,
    SlopeOutcome, StackOutcome, StageOutcome, StockOutcome, Surface, VerdictOutcome,
};
use super::survey::{self, Height, Surveyed};
use super::{Job, ShimPoints, Stage};
use super::{floor, plates};
use crate::error::{Error, ProblemKind, Problems};
use crate::length::{self, Length};
use crate::limits::{Limits, NamedLimit};
use crate::plane::{FloorClass, PlaneKind, fit_plane};
use crate::points::{self, Index, Point, Role};
use crate::sheet::CAUTIONS;
use crate::shim::{
    OnlyUnder, Placed, ShimPlan, ShimProblem, Shortfall, Status, Support, plan_shims, shortfall,
};
use crate::stock::{self, Shim};
use crate::survey::Reading;
use crate::verify::{self, Basis, Claim, NextReading, Verdict, read_next};

/// Runs both stages, the slates with the stock that the legs leave, and works the plates out.
pub(super) fn run<'a>(job: &'a Job) -> Result<JobOutcome, Error> {
    let mut found = Problems::default();
    let staged = job.legs.is_some() || job.slates.is_some();
    if !staged && job.plates.is_empty() {
        let (got, expected) = ("no legs, slates or plates", "at least one of them");
        found.add(ProblemKind::Value, "job", got, expected);
    }
    // What is there is checked; plates alone need neither shims nor readings.
    if staged || !job.stock.is_empty() {
        found.take(stock::check(&job.stock, "stock"));
    }
    if let Some(catalogue) = &job.catalogue {
        found.take(stock::check(catalogue, "catalogue"));
    }
    // What rests on names is only looked at once the names are right.
    let read = if staged || !job.readings.is_empty() { survey::check(job) } else { Ok(()) };
    let index = points::index(&job.points).and_then(|index| read.map(|()| index));
    let (mut legs, mut slates) = (None, None);
    if let Some(index) = found.take(index) {
        for (at, candidate) in job.candidates.iter().enumerate() {
            for id in candidate.points().filter(|id| !index.contains_key(id)) {
                let (field, got) = (format!("candidates[{at}]"), format!("{id:?}"));
                found.add(ProblemKind::Unknown, field, got, "ids of points of the job");
            }
        }
        let mut prepare = |stage: &'a Option<Stage>, name| {
            let stage = stage.as_ref()?;
            found.take(Prepared::new(job, stage, name, &index))
        };
        legs = prepare(&job.legs, "legs");
        slates = prepare(&job.slates, "slates");
    }
    let plates = found.take(plates::run(&job.plates)).unwrap_or_default();
    found.into_result()?;

    let mut stock = job.stock.clone();
    let mut legs = legs.map(|stage| stage.run(&mut stock)).transpose()?;
    // Slates laid on legs that could not be levelled would have to come off again.
    if let (Some(legs), Some(_)) = (legs.as_mut().filter(|legs| !legs.met), &slates) {
        legs.notes.push("The slates are not planned: the legs come first.".to_owned());
        slates = None;
    }
    let slates = slates.map(|stage| stage.run(&mut stock)).transpose()?;
    Ok(JobOutcome { legs, slates, plates, cautions: CAUTIONS.map(str::to_owned).to_vec() })
}

/// A stage whose names are resolved.
struct Prepared<'a> {
    name: &'static str,
    stage: &'a Stage,
    points: Vec<&'a Point>,
    surveyed: Surveyed,
    floor: Option<FloorOutcome>,
    /// Readings that could be taken next of these points, by their index in the job.
    candidates: Vec<(usize, &'a Reading)>,
    joints: Vec<[usize; 2]>,
    /// The stage's limits with those on named points.
    limits: Limits,
    only_under: Vec<OnlyUnder>,
    placed: Option<Placed>,
    catalogue: Option<&'a [Shim]>,
    /// Indices into `points` in the order of work.
    work: Vec<usize>,
}

impl<'a> Prepared<'a> {
    fn new(
        job: &'a Job,
        stage: &'a Stage,
        name: &'static str,
        index: &Index<'_>,
    ) -> Result<Self, Error> {
        let mut found = Problems::default();
        let (mut points, mut local) = (Vec::new(), HashMap::new());
        for (at, point) in job
            .points
            .iter()
            .enumerate()
            .filter(|(_, point)| (point.role == Role::Leg) == (name == "legs"))
        {
            local.insert(at, points.len());
            points.push(point);
        }
        let read =
            if points.is_empty() { None } else { found.take(survey::of_stage(job, name, &points)) };
        let mut limits = match stage.preset {
            Some(preset) => stage.limits.or_preset(preset),
            None => stage.limits.clone(),
        };
        let mut joints = Vec::new();
        for (at, ids) in stage.joints.iter().enumerate() {
            let side = |id: &String| index.get(id.as_str()).and_then(|at| local.get(at)).copied();
            match [side(&ids[0]), side(&ids[1])] {
                [Some(a), Some(b)] if points[a].role == points[b].role => found.add(
                    ProblemKind::Value,
                    format!("{name}.joints[{at}]"),
                    format!("{ids:?}, both on one piece"),
                    "points of two slate pieces that meet (legs have none)",
                ),
                [Some(a), Some(b)] => joints.push([a, b]),
                _ => found.add(
                    ProblemKind::Unknown,
                    format!("{name}.joints[{at}]"),
                    format!("{ids:?}"),
                    format!("ids of two points of the stage {name:?}"),
                ),
            }
        }
        if joints.is_empty() != limits.joint_step.is_none() && name == "slates" {
            let (got, expected) = match limits.joint_step {
                Some(step) => (
                    format!("none, with a joint_step of {step}"),
                    "the pairs of points that it binds",
                ),
                None => (
                    format!("{} joints, with no joint_step", joints.len()),
                    "limits.joint_step, by which to judge them",
                ),
            };
            found.add(ProblemKind::Value, format!("{name}.joints"), got, expected);
        }
        for (at, named) in stage.named_limits.iter().enumerate() {
            if named.points.iter().collect::<BTreeSet<_>>().len() < named.points.len().max(2) {
                let (field, got) =
                    (format!("{name}.named_limits[{at}].points"), format!("{:?}", named.points));
                found.add(ProblemKind::Value, field, got, "two or more different points");
            }
        }
        let mut resolve = |ids: &[String], field: &dyn Fn() -> String| -> Vec<usize> {
            let mut resolved = Vec::new();
            for id in ids {
                match index.get(id.as_str()).and_then(|at| local.get(at)) {
                    Some(&at) => resolved.push(at),
                    None => {
                        let expected = format!("the id of a point of the stage {name:?}");
                        found.add(ProblemKind::Unknown, field(), format!("{id:?}"), expected);
                    }
                }
            }
            resolved
        };
        for (at, named) in stage.named_limits.iter().enumerate() {
            let points = resolve(&named.points, &|| format!("{name}.named_limits[{at}].points"));
            limits.named.push(NamedLimit { points, within: named.within });
        }
        let only = |(at, only): (usize, &ShimPoints)| OnlyUnder {
            kind: only.shim,
            supports: resolve(&only.points, &|| format!("{name}.only_under[{at}].points")),
        };
        let only_under = stage.only_under.iter().enumerate().map(only).collect();
        let mut stacks = vec![Vec::new(); points.len()];
        for (at, stack) in stage.placed.iter().flatten().enumerate() {
            let id = std::slice::from_ref(&stack.id);
            for point in resolve(id, &|| format!("{name}.placed[{at}].id")) {
                stacks[point].extend_from_slice(&stack.shims);
            }
        }
        let placed = Placed::from_thicknesses(&stacks, &job.stock);
        let placed = found.take(placed.map_err(|error| error.within(name)));
        let placed = placed.filter(|_| stage.placed.is_some());
        let work = found.take(order_of_work(name, &stage.laying, &points)).unwrap_or_default();
        found.take(
            stage.decision.check_risk().map_err(|error| error.within("decision").within(name)),
        );
        if stage.floor.is_some() {
            floor::check(name, stage.placed.is_some(), &mut found);
        }
        if let Some(ball) = stage.play {
            ball.check(name, points.len(), &mut found);
        }
        found.into_result()?;
        let catalogue = job.catalogue.as_deref();
        let surveyed = read.unwrap_or_default();
        let hold = |class: FloorClass| {
            floor::outcome(class, &points, &surveyed, limits.line_width, stage.decision)
                .map_err(|error| error.within("floor").within(name))
        };
        let floor = stage.floor.map(hold).transpose()?;
        let of_stage = |id: &str| surveyed.survey.places.iter().any(|place| place.id == id);
        let candidates = job.candidates.iter().enumerate();
        let candidates = candidates.filter(|(_, reading)| reading.points().all(of_stage)).collect();
        Ok(Self {
            name,
            stage,
            points,
            surveyed,
            floor,
            candidates,
            joints,
            limits,
            only_under,
            placed,
            catalogue,
            work,
        })
    }

    /// Plans the stage and takes its pieces out of the stock.
    fn run(self, stock: &mut [Shim]) -> Result<StageOutcome, Error> {
        let support = |(point, height): (&&Point, &Height)| Support {
            x: point.x,
            y: point.y,
            height: height.height,
        };
        let problem = ShimProblem {
            supports: self.points.iter().zip(&self.surveyed.heights).map(support).collect(),
            stock: stock.to_vec(),
            limits: self.limits.clone(),
            joints: self.joints.clone(),
            only_under: self.only_under.clone(),
            placed: self.placed.clone(),
            covariance_mm2: self.surveyed.covariance_mm2.clone(),
            options: self.stage.options.clone(),
        };
        let mut plan = plan_shims(&problem).map_err(|error| error.within(self.name))?;
        let mut found = None;
        if plan.status == Status::Infeasible
            && let Some(shortfall) =
                shortfall(&problem, self.catalogue).map_err(|error| error.within(self.name))?
        {
            found = Some(self.shortfall(&shortfall, stock));
            plan = shortfall.flattest;
        }
        let mut in_place = vec![0; stock.len()];
        let placed = self.placed.iter().flat_map(|placed| placed.stacks.iter().flatten());
        placed.for_each(|&kind| in_place[kind] += 1);
        // A plan that will not be worked by leaves what is in place where it is.
        let used = if plan.meets_limits { &plan.used } else { &in_place };
        for ((shim, used), in_place) in stock.iter_mut().zip(used).zip(&in_place) {
            shim.count = shim.count.map(|count| count + in_place - used);
        }
        self.outcome(&problem, &plan, used, stock, found)
    }

    fn shortfall(&self, shortfall: &Shortfall, stock: &[Shim]) -> ShortfallOutcome {
        let Shortfall { conflict, addition, .. } = shortfall;
        let ids = |points: &[usize]| points.iter().map(|&at| self.points[at].id.clone()).collect();
        let kinds = self.catalogue.unwrap_or(stock);
        ShortfallOutcome {
            points: ids(&conflict.supports),
            limits: conflict
                .limits
                .iter()
                .map(|span| ConflictLimitOutcome {
                    limit: span.limit,
                    points: ids(&span.members),
                    allowed_mm: span.width.mm(),
                })
                .collect(),
            scarce: conflict.scarce.iter().map(|&kind| stock[kind].thickness).collect(),
            max_pieces: conflict.max_pieces,
            max_stack: conflict.max_stack,
            minimal: conflict.minimal,
            addition: addition.as_ref().map(|addition| AdditionOutcome {
                pieces: kinds
                    .iter()
                    .zip(&addition.pieces)
                    .filter(|&(_, &count)| count > 0)
                    .map(|(shim, &count)| AddedShim { thickness: shim.thickness, count })
                    .collect(),
                price: addition.price,
                proven: addition.plan.status == Status::Proven,
            }),
        }
    }

    fn outcome(
        &self,
        problem: &ShimProblem,
        plan: &ShimPlan,
        used: &[u32],
        left: &[Shim],
        shortfall: Option<ShortfallOutcome>,
    ) -> Result<StageOutcome, Error> {
        let xy: Vec<_> = self.points.iter().map(|point| [point.x, point.y]).collect();
        // Above the slope of the plan's target, which the limits were met with.
        let limits =
            Limits { slope_along_um_per_m: 0, slope_across_um_per_m: 0, ..self.limits.clone() };
        let verdict = verify::check(&xy, &plan.above, &limits, &self.joints)?;
        let predicted =
            plan.predict(problem, self.stage.decision).map_err(|error| error.within(self.name))?;
        let predicted = Some(predicted).filter(|predicted| predicted.basis != Basis::Estimates);
        let read_next = self.read_next(plan, predicted.is_some())?;
        let heights: Vec<Length> =
            self.surveyed.heights.iter().map(|height| height.height).collect();
        let sure = |at: usize| predicted.as_ref().map(|predicted| &predicted.findings[at]);
        let id = |at: &usize| self.points[*at].id.clone();
        let top = heights.iter().max();
        Ok(StageOutcome {
            heights: self
                .points
                .iter()
                .zip(&self.surveyed.heights)
                .map(|(point, height)| PointHeight {
                    id: point.id.clone(),
                    height_mm: height.height.mm(),
                    sigma_mm: height.sigma_mm,
                })
                .collect(),
            highest: (0..heights.len())
                .filter(|&at| Some(&heights[at]) == top)
                .map(|at| id(&at))
                .collect(),
            before: self.surface(&xy, &heights)?,
            after: self.surface(&xy, &plan.tops)?,
            floor: self.floor.clone(),
            play: (self.stage.play.map(|ball| ball.roll(&xy, &plan.tops)).transpose())
                .map_err(|error| error.within("play").within(self.name))?,
            plan: PlanOutcome {
                status: plan.status,
                pieces: plan.pieces,
                bound: plan.bound,
                target_mm: plan.target_mm(),
                lifted: plan.lifted.iter().map(id).collect(),
                moved: plan.moved,
                slope_along_mm_per_m: plan.tilt_um_per_m[0] as f64 / 1e3,
                slope_across_mm_per_m: plan.tilt_um_per_m[1] as f64 / 1e3,
                unreachable: plan.unreachable.iter().map(id).collect(),
                nodes: plan.nodes,
            },
            stacks: self.work.iter().map(|&at| self.stack(at, plan, left)).collect(),
            stock: left
                .iter()
                .zip(used)
                .map(|(shim, &used)| StockOutcome {
                    thickness: shim.thickness,
                    to: shim.adjusts.map(|adjusts| adjusts.to),
                    used,
                    left: shim.count,
                })
                .collect(),
            notes: self
                .surveyed
                .outcome
                .iter()
                .flat_map(of_survey)
                .chain(notes(
                    &self.points,
                    plan,
                    &verdict,
                    predicted.as_ref(),
                    &self.limits,
                    shortfall.as_ref(),
                ))
                .collect(),
            survey: self.surveyed.outcome.clone(),
            shortfall,
            met: plan.meets_limits,
            limits: verdict
                .findings
                .iter()
                .enumerate()
                .map(|(at, finding)| FindingOutcome {
                    limit: finding.limit,
                    points: finding.points.iter().map(id).collect(),
                    found_mm: finding.found.mm(),
                    allowed_mm: finding.allowed.mm(),
                    margin_mm: finding.margin().mm(),
                    met: finding.meets_limits,
                    sigma_mm: sure(at).map(|sure| sure.sigma_mm),
                    probability: sure(at).map(|sure| sure.probability),
                    conformity: sure(at).map(|sure| sure.conformity),
                })
                .collect(),
            verdict: predicted.as_ref().map(|verdict| self.verdict(verdict)),
            read_next,
        })
    }

    fn verdict(&self, verdict: &Verdict) -> VerdictOutcome {
        VerdictOutcome {
            conformity: verdict.conformity,
            probability: verdict.probability,
            probability_error: verdict.probability_error,
            basis: verdict.basis,
            decision: self.stage.decision,
            slopes: (verdict.slopes.iter())
                .map(|slope| SlopeOutcome {
                    axis: slope.axis,
                    found_mm_per_m: Some(slope.found_mm_per_m).filter(|found| found.is_finite()),
                    allowed_mm_per_m: slope.allowed_mm_per_m,
                    met: slope.meets_limits,
                    probability: slope.probability,
                    conformity: slope.conformity,
                })
                .collect(),
        }
    }

    /// What the candidates would do for the tops of a plan; nothing where there is no doubt.
    fn read_next(
        &self,
        plan: &ShimPlan,
        in_doubt: bool,
    ) -> Result<Option<NextReadingsOutcome>, Error> {
        if self.candidates.is_empty() || !in_doubt {
            return Ok(None);
        }
        let heights = self.surveyed.heights.iter().map(|height| height.height);
        let claim = Claim {
            points: self.points.iter().map(|point| point.id.clone()).collect(),
            xy: self.points.iter().map(|point| [point.x, point.y]).collect(),
            lifts: plan.tops.iter().zip(heights).map(|(&top, height)| top - height).collect(),
            limits: self.limits.clone(),
            joints: self.joints.clone(),
            rule: self.stage.decision,
        };
        let readings: Vec<Reading> =
            self.candidates.iter().map(|&(_, reading)| reading.clone()).collect();
        let next = read_next(&self.surveyed.survey, &readings, &claim)
            .map_err(|error| error.within(self.name))?;
        let outcome = |reading: &NextReading| NextReadingOutcome {
            candidate: self.candidates[reading.candidate].0,
            doubt: reading.doubt,
            changes: reading.changes,
        };
        Ok(Some(NextReadingsOutcome {
            doubt: next.doubt,
            enough: next.enough,
            readings: next.readings.iter().map(outcome).collect(),
        }))
    }

    fn stack(&self, at: usize, plan: &ShimPlan, stock: &[Shim]) -> StackOutcome {
        let point = self.points[at];
        StackOutcome {
            id: point.id.clone(),
            piece: match &point.role {
                Role::Leg => None,
                Role::Slate(piece) => Some(piece.clone()),
            },
            shims: thicknesses(&plan.stacks[at], plan.settings[at], stock),
            before: self
                .placed
                .as_ref()
                .map(|placed| thicknesses(&placed.stacks[at], placed.settings[at], stock)),
            lift_mm: plan.lifts[at].mm(),
            top_mm: plan.tops[at].mm(),
            deviation_mm: plan.deviation_mm(at),
        }
    }

    fn surface(&self, xy: &[[Length; 2]], heights: &[Length]) -> Result<Surface, Error> {
        let xy_mm: Vec<_> = xy.iter().map(|xy| xy.map(Length::mm)).collect();
        let z_mm: Vec<_> = heights.iter().copied().map(Length::mm).collect();
        let plane = fit_plane(&xy_mm, &z_mm, PlaneKind::LeastSquares, None)
            .map_err(|error| error.within(self.name))?;
        Ok(Surface {
            slope_along_mm_per_m: plane.slope_x * 1e3,
            slope_across_mm_per_m: plane.slope_y * 1e3,
            flatness_mm: plane.flatness_mm,
            worst_mm: length::range(heights.iter().copied()).nm() as f64 / 2e6,
        })
    }
}

/// Thickness of each piece, thickest first, an adjustable one last and as it is set.
pub(crate) fn thicknesses(stack: &[usize], setting: Option<Length>, stock: &[Shim]) -> Vec<Length> {
    let mut stack = stack.to_vec();
    stack.sort_by_key(|&kind| (stock[kind].adjusts.is_some(), -stock[kind].thickness, kind));
    let of = |kind: usize| stock[kind].adjusts.and(setting).unwrap_or(stock[kind].thickness);
    stack.into_iter().map(of).collect()
}

/// The points piece by piece as the slates are laid; legs as they are listed.
fn order_of_work(name: &str, laying: &[String], points: &[&Point]) -> Result<Vec<usize>, Error> {
    let mut pieces: Vec<(&str, Vec<usize>)> = Vec::new();
    for (at, point) in points.iter().enumerate() {
        let piece = match &point.role {
            Role::Leg => "",
            Role::Slate(piece) => piece,
        };
        match pieces.iter_mut().find(|(name, _)| *name == piece) {
            Some((_, members)) => members.push(at),
            None => pieces.push((piece, vec![at])),
        }
    }
    if laying.is_empty() {
        let middle = |members: &[usize]| -> f64 {
            members.iter().map(|&at| points[at].x.mm()).sum::<f64>() / members.len() as f64
        };
        let all: Vec<usize> = (0..points.len()).collect();
        let centre = middle(&all);
        pieces.sort_by(|(_, a), (_, b)| {
            (middle(a) - centre).abs().total_cmp(&(middle(b) - centre).abs())
        });
    } else {
        let named: Vec<&str> = pieces.iter().map(|(piece, _)| *piece).collect();
        let mut sorted: Vec<&str> = laying.iter().map(String::as_str).collect();
        sorted.sort_unstable();
        let mut expected = named.clone();
        expected.sort_unstable();
        if sorted != expected {
            let expected = format!("every slate piece once: {named:?}");
            return Err(Error::new(
                ProblemKind::Unknown,
                format!("{name}.laying"),
                format!("{laying:?}"),
                expected,
            ));
        }
        pieces.sort_by_key(|(piece, _)| laying.iter().position(|name| name == piece));
    }
    Ok(pieces.into_iter().flat_map(|(_, members)| members).collect())
}
