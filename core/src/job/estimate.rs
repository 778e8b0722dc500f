//! What a job says of its estimate: what is known of the floor, and what is to be estimated.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::slates::{Material, SlatePiece};
use crate::error::{Error, ProblemKind, Problems};
use crate::estimate::{
    Again, EstimateOptions, FloorModel, LIFT_A_PERSON_KG, Mass, MeasuredFloor, Rates, SlateWeight,
    SlatesOnFrame, SurveyPattern,
};
use crate::length::Length;
use crate::plane::FloorClass;

/// An estimate of the stage of the legs on a floor that nobody has measured, and of the stage of the slates
/// where `frame` is given.
///
/// It needs the points, the stock and the stages, and no readings. A job without
/// readings has its estimate alone: its stages are not run. A job with readings is run as ever, and the
/// estimate says how the plan compares with it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EstimateBlock {
    /// What is known of the floor.
    pub floor: KnownFloor,
    /// The most jobs to draw, at most 100 000. The default is 2000. Jobs times points are at most
    /// 4 000 000.
    #[serde(default = "EstimateBlock::usual_jobs")]
    pub jobs: usize,
    /// Which jobs are drawn: the same seed gives the same jobs. The default is 0.
    #[serde(default)]
    pub seed: u64,
    /// The standard error of the share of jobs served at which no more jobs are drawn. By default all
    /// are drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard_error: Option<f64>,
    /// The confidence of the interval of the share of jobs served. The default is 0.95.
    #[serde(default = "usual_confidence")]
    pub confidence: f64,
    /// What may go wrong after the shims are in, where second passes are to be counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub again: Option<SecondPass>,
    /// What each thing costs, where jobs are to be priced. The pieces cost what the stock says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prices: Option<Rates>,
    /// How many minutes each thing takes, where jobs are to be timed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<Rates>,
    /// How the heights of the bare frame under the slates may differ once its legs are level, as of a floor.
    /// Where it is given, the stage of the slates is planned too, from what the legs leave. Slates that the
    /// stage describes are plates, which lie on all their stacks; the others are planned as points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame: Option<KnownFloor>,
    /// The slates, where they are to be weighed. The default is the pieces of the stage of the slates.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = EstimateBlock::MOST_SLATES))]
    pub slates: Vec<WeighedSlate>,
    /// The mass of the frame with its legs and rails, kg. Its centre is taken to be that of the slates,
    /// or the middle of the legs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame_kg: Option<f64>,
    /// How much one person lifts at the most, kg. The default is 23, the load constant of the revised
    /// NIOSH lifting equation of 1994.
    #[serde(default = "usual_lift")]
    pub kg_a_person: f64,
    /// The survey that is to prove the limits of the legs, where its readings are to be counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings_needed: Option<SurveyAsked>,
}

/// What is known of a floor: exactly one of a class, two F-numbers, the standard deviation of single
/// heights, and floors like it that were measured.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct KnownFloor {
    /// The class of evenness that the floor just keeps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub class: Option<FloorClass>,
    /// The F-number of flatness, FF, of ASTM E1155. It needs `fl` beside it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ff: Option<f64>,
    /// The F-number of levelness, FL, of ASTM E1155. It needs `ff` beside it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fl: Option<f64>,
    /// The standard deviation of single heights that are independent of each other.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sigma: Option<Length>,
    /// Heights of floors like this one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = KnownFloor::MOST_FLOORS))]
    pub measured: Vec<MeasuredHeights>,
    /// The standard deviation of a mean slope along and of one across, mm/m, as where a floor falls
    /// towards a drain. The default is 0.
    #[serde(skip_serializing_if = "is_nothing")]
    pub fall_mm_per_m: f64,
    /// What all variances of the floor are multiplied by: what earlier jobs said of such floors. The
    /// default is 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub variance_factor: Option<f64>,
    /// How many differences of height the model is worth: the more, the less a floor that was read
    /// changes it. At most 1e9; the default is 30.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub worth: Option<f64>,
}

/// Heights that were read on one floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasuredHeights {
    /// Where they were read, x and y.
    #[schemars(length(max = KnownFloor::MOST_HEIGHTS))]
    pub places: Vec<[Length; 2]>,
    /// What was read, one height for each place.
    #[schemars(length(max = KnownFloor::MOST_HEIGHTS))]
    pub heights: Vec<Length>,
}

/// What may go wrong after the shims are in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SecondPass {
    /// The standard deviation of how far each support settles.
    pub settlement: Length,
    /// The standard uncertainty of each reading of the tops.
    pub reading: Length,
}

/// A survey that is to prove the limits of the legs, of at most 60 legs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SurveyAsked {
    /// The pattern that is gone through round by round: `heights` reads every leg once from one set-up,
    /// `loop` the rise from each leg to the next and from the last back to the first. The default is
    /// `heights`.
    #[serde(default)]
    pub pattern: SurveyPattern,
    /// The standard uncertainty of each reading.
    pub reading: Length,
    /// How far the plan leaves the legs from level at the worst (±), which is taken off every limit. The
    /// default is 0.
    #[serde(default)]
    pub left: Length,
    /// The doubt that may be left: the probability that legs that are brought level by these readings do
    /// not keep the limits. The default is 0.05.
    #[serde(default = "usual_doubt")]
    pub doubt: f64,
}

/// A slate to be weighed: a plate of one thickness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WeighedSlate {
    /// The name of the slate.
    pub name: String,
    /// The corners of its outline in their order, x and y.
    #[schemars(length(max = EstimateBlock::MOST_CORNERS))]
    pub outline: Vec<[Length; 2]>,
    /// The thickness of the slate.
    pub thickness: Length,
    /// The density of the slate, kg/m³. The default is 2793.6, a slate of Virginia.
    #[serde(default = "usual_density")]
    pub density_kg_per_m3: f64,
}

fn usual_confidence() -> f64 {
    0.95
}

fn usual_doubt() -> f64 {
    0.05
}

fn usual_lift() -> f64 {
    LIFT_A_PERSON_KG
}

fn usual_density() -> f64 {
    Material::default().density_kg_per_m3
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
fn is_nothing(value: &f64) -> bool {
    *value == 0.0
}

impl KnownFloor {
    /// The most floors that were measured.
    pub const MOST_FLOORS: usize = 100;
    /// The most heights of one of them.
    pub const MOST_HEIGHTS: usize = 200;
    /// What a model is worth by default (own choice).
    const WORTH: f64 = 30.0;

    /// The model of the floor.
    ///
    /// # Errors
    /// Nothing known or more than one thing; one F-number without the other; what [`FloorModel`] refuses.
    pub fn model(&self) -> Result<FloorModel, Error> {
        let known = [
            ("class", self.class.is_some()),
            ("ff", self.ff.is_some()),
            ("fl", self.fl.is_some()),
            ("sigma", self.sigma.is_some()),
            ("measured", !self.measured.is_empty()),
        ];
        let known: Vec<&str> = known.into_iter().filter(|it| it.1).map(|(name, _)| name).collect();
        let refuse = |got: String, expected: &str| {
            Err(Error::new(ProblemKind::Value, "floor", got, expected))
        };
        let model = match (known.as_slice(), self.class, self.ff.zip(self.fl), self.sigma) {
            (["class"], Some(class), _, _) => FloorModel::of(class),
            (["ff", "fl"], _, Some((ff, fl)), _) => FloorModel::from_f_numbers(ff, fl)?,
            (["sigma"], _, _, Some(sigma)) => FloorModel::from_sigma(sigma.mm())?,
            (["measured"], ..) => self.fitted()?,
            ([one @ ("ff" | "fl")], ..) => {
                let expected = "ff and fl: one F-number fixes the floor over one length only";
                return refuse(format!("{one} alone"), expected);
            }
            ([], ..) => {
                return refuse(
                    "nothing".to_owned(),
                    "a class, ff and fl, a sigma, or measured heights",
                );
            }
            (several, ..) => {
                let expected = "one of a class, ff and fl, a sigma, and measured heights";
                return refuse(several.join(", "), expected);
            }
        };
        let model = model.with_fall(self.fall_mm_per_m);
        let name = |field: &str| field.replace("fall", "fall_mm_per_m");
        let model = model.map_err(|error| error.renamed(name))?;
        self.variance_factor.map_or(Ok(model.clone()), |it| model.with_variance_factor(it))
    }

    fn fitted(&self) -> Result<FloorModel, Error> {
        let floors = ("measured".to_owned(), self.measured.len(), Self::MOST_FLOORS);
        let of_each = self.measured.iter().enumerate().map(|(at, it)| {
            (format!("measured[{at}].places"), it.places.len(), Self::MOST_HEIGHTS)
        });
        for (field, count, most) in [floors].into_iter().chain(of_each) {
            if count > most {
                let expected = format!("at most {most}");
                return Err(Error::new(ProblemKind::Shape, field, count, expected));
            }
        }
        let floor = |it: &MeasuredHeights| MeasuredFloor {
            xy: it.places.iter().map(|at| at.map(Length::mm)).collect(),
            heights_mm: it.heights.iter().map(|height| height.mm()).collect(),
            sigma_mm: 0.0,
        };
        let floors: Vec<_> = self.measured.iter().map(floor).collect();
        let fitted = FloorModel::fit(&floors);
        let name = |field: &str| field.replace("floors", "measured").replace(".xy", ".places");
        Ok(fitted.map_err(|error| error.renamed(name))?.model)
    }

    pub(super) fn worth(&self) -> f64 {
        self.worth.unwrap_or(Self::WORTH)
    }
}

impl EstimateBlock {
    /// The most jobs that a document draws.
    pub const MOST_JOBS: usize = 100_000;
    /// The most jobs times points.
    pub const MOST_LIFTS: usize = 4_000_000;
    /// The most slates.
    pub const MOST_SLATES: usize = 100;
    /// The most corners of a slate.
    pub const MOST_CORNERS: usize = 100;
    /// The most legs of a survey whose readings are counted.
    pub const MOST_LEGS_READ: usize = 60;

    fn usual_jobs() -> usize {
        2000
    }

    pub(super) fn options(
        &self,
        slates: usize,
        on_frame: Option<SlatesOnFrame>,
    ) -> EstimateOptions {
        let again = self.again.map(|it| Again {
            settlement_sigma_mm: it.settlement.mm(),
            reading_sigma_mm: it.reading.mm(),
        });
        EstimateOptions {
            jobs: self.jobs,
            seed: self.seed,
            standard_error: self.standard_error,
            confidence: self.confidence,
            again,
            prices: self.prices,
            minutes: self.minutes,
            slates,
            on_frame,
            threads: None,
        }
    }

    pub(super) fn check_counts(&self, legs: usize, slates: usize, found: &mut Problems) {
        let most = Self::MOST_JOBS.min(Self::MOST_LIFTS / (legs + slates).max(1));
        let read = self.readings_needed.map_or(0, |_| legs);
        let outlines = self.slates.iter().map(|slate| slate.outline.len()).enumerate();
        let outlines = outlines
            .map(|(at, count)| (format!("slates[{at}].outline"), count, Self::MOST_CORNERS));
        let lists = [
            ("jobs".to_owned(), self.jobs, most),
            ("readings_needed".to_owned(), read, Self::MOST_LEGS_READ),
            ("slates".to_owned(), self.slates.len(), Self::MOST_SLATES),
        ];
        for (field, count, most) in lists.into_iter().chain(outlines) {
            if count > most {
                let of = if field == "readings_needed" { " legs" } else { "" };
                let (got, expected) = (format!("{count}{of}"), format!("at most {most}"));
                found.add(ProblemKind::Shape, field, got, expected);
            }
        }
    }

    pub(super) fn check_numbers(&self, found: &mut Problems) {
        let frame_kg = self.frame_kg.unwrap_or(0.0);
        for (field, value, good, expected) in [
            ("frame_kg", frame_kg, frame_kg >= 0.0, "a finite number of kg, 0 or more"),
            (
                "kg_a_person",
                self.kg_a_person,
                self.kg_a_person > 0.0,
                "a finite number of kg above 0",
            ),
            (
                "floor.worth",
                self.floor.worth(),
                self.floor.worth() > 0.0 && self.floor.worth() <= FloorModel::MOST_WORTH,
                "a number above 0, at most 1e9",
            ),
        ] {
            if !(good && value.is_finite()) {
                found.add(ProblemKind::Value, field, value, expected);
            }
        }
    }

    /// The slates that the job lays, by name. What is wrong is said under its path in the job.
    pub(super) fn weigh(&self, pieces: &[SlatePiece]) -> Result<Vec<(String, Mass)>, Error> {
        let mut found = Problems::default();
        let own = self.slates.iter().map(|slate| {
            let outline = slate.outline.iter().map(|at| at.map(Length::mm)).collect();
            (&slate.name, outline, slate.thickness, slate.density_kg_per_m3)
        });
        let laid = pieces.iter().map(|piece| {
            let [[x0, x1], [y0, y1]] = [piece.x, piece.y].map(|ends| ends.map(Length::mm));
            let outline = vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]];
            (&piece.name, outline, piece.thickness, piece.material.density_kg_per_m3)
        });
        let all: Vec<_> = if self.slates.is_empty() { laid.collect() } else { own.collect() };
        let path = |at: usize, field: &str| match (self.slates.is_empty(), field) {
            (false, "density") => format!("estimate.slates[{at}].density_kg_per_m3"),
            (false, field) => format!("estimate.slates[{at}].{field}"),
            (true, "density") => format!("slates.pieces[{at}].material.density_kg_per_m3"),
            (true, "outline") => {
                let [from, to] = pieces[at].x;
                format!("slates.pieces[{at}].{}[1]", if from == to { "x" } else { "y" })
            }
            (true, field) => format!("slates.pieces[{at}].{field}"),
        };
        let weigh = |(at, (name, outline, thickness, density_kg_per_m3))| {
            let thickness_mm = Length::mm(thickness);
            let slate = SlateWeight { outline, thickness_mm, density_kg_per_m3 };
            let mass = slate.mass().map_err(|error| error.renamed(|field| path(at, field)));
            Some((String::clone(name), found.take(mass)?))
        };
        let masses = all.into_iter().enumerate().filter_map(weigh).collect();
        found.into_result()?;
        Ok(masses)
    }
}
