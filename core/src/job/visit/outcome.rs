//! What came out of the visit: plain values for people and programs, in millimetres.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::asked::{CarriedBox, RoomPlan, Visit};
use crate::estimate::{LIFT_A_PERSON_KG, SlateWeight, people};
use crate::job::slates::SlatePiece;
use crate::plane::Resting;
use crate::site::{Carry, Spare, Square, TablePlace, WayIn};
use crate::verify::Conformity;

/// What came out of the visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct VisitOutcome {
    /// Where the table stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<PlaceOutcome>,
    /// How square the frame is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame: Option<SquareOutcome>,
    /// How square the slates are together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates_together: Option<SquareOutcome>,
    /// Each box at each way.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub carried: Vec<CarriedOutcome>,
    /// What the bare frame stands on before any shim.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub resting: Option<RestingOutcome>,
    /// The minimum zone of the legs' points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub legs_zone: Option<ZoneOutcome>,
    /// The minimum zone of the slates' points.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub slates_zone: Option<ZoneOutcome>,
    /// What the boxes weigh whose density is known, and the slates that the job describes as plates.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub boxes: Vec<BoxOutcome>,
    /// Who does what in which order.
    pub steps: Vec<StepOutcome>,
    /// Id of the next step: the first that is not done and whose conditions hold, as far as is known.
    pub next: Option<String>,
}

/// Where the table stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceOutcome {
    /// Whether everything is at least as far away as is asked for.
    pub fits: bool,
    /// The middle of the table, mm.
    pub x_mm: f64,
    /// The middle of the table, mm.
    pub y_mm: f64,
    /// The direction of its length, degrees anticlockwise from x.
    pub angle_deg: f64,
    /// The least distance from the playing surface to anything, mm.
    pub least_mm: f64,
    /// What is nearest.
    pub tightest: String,
    /// Straight out from the right side, the end ahead, the left side and the end behind, mm; null where
    /// nothing is before the side, as beyond the walls.
    pub sides_mm: [Option<f64>; 4],
    /// The parts of the edge with less before them than is asked for.
    pub short: Vec<ShortOutcome>,
    /// The share of the edge that has it, 0 to 1.
    pub free_share: f64,
    /// No position that is allowed has a greater least clearance beyond what is asked, mm; null for one
    /// that is judged as it stands.
    pub bound_mm: Option<f64>,
}

/// A part of the table's edge with less before it than is asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ShortOutcome {
    /// The side: 0 right, 1 ahead, 2 left, 3 behind.
    pub side: usize,
    /// Where the part begins: mm from the first corner of the side, going anticlockwise.
    pub from_mm: f64,
    /// Where the part ends: mm from the first corner of the side.
    pub to_mm: f64,
    /// What is missing, mm.
    pub by_mm: f64,
    /// What is nearest there.
    pub of: String,
    /// A cue no longer than this has its full stroke, mm.
    pub cue_mm: f64,
}

/// How square a frame is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SquareOutcome {
    /// Whether lengths, widths and diagonals differ by no more than is allowed.
    pub conformity: Conformity,
    /// The probability of that; null where the tape's uncertainty is not known.
    pub probability: Option<f64>,
    /// First less second of lengths, widths and diagonals, mm.
    pub differences_mm: [f64; 3],
    /// How far they may differ, mm.
    pub within_mm: f64,
    /// How far each corner is out of square, mm.
    pub off_mm: [f64; 4],
    /// Standard uncertainty of each, mm.
    pub off_sigma_mm: [Option<f64>; 4],
    /// The angle at each corner less 90°, degrees.
    pub off_deg: [f64; 4],
    /// The corner to push along the length; null where the diagonals agree.
    pub corner: Option<usize>,
    /// How far, mm; null where no push makes them agree.
    pub rack_mm: Option<f64>,
    /// The probability that the push goes the right way.
    pub rack_probability: Option<f64>,
    /// The readings that the others speak against most; several are equally suspect.
    pub suspects: Vec<String>,
}

/// Whether a box passes somewhere.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CarriedOutcome {
    /// The box.
    pub what: String,
    /// The way.
    pub through: String,
    /// Whether it passes.
    pub passes: bool,
    /// How the box is carried: `upright` on its long edge, or `flat`.
    pub carry: String,
    /// What is left, mm; what is missing where below 0; null where nothing bounds it.
    pub margin_mm: Option<f64>,
    /// Of what: `width`, `height` or `length`.
    pub spare: String,
    /// Whether this is the tightest way of the box.
    pub tightest: bool,
}

/// What the bare frame stands on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RestingOutcome {
    /// The three supports that it stands on.
    pub stands_on: Vec<String>,
    /// What each of the three bears of the frame's weight.
    pub shares: [f64; 3],
    /// How far it floats above each support, mm.
    pub floats: Vec<FloatOutcome>,
    /// What happens when it is pushed over an edge of what it stands on.
    pub rocks: Vec<RockOutcome>,
}

/// How far a frame floats above a support.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FloatOutcome {
    /// Id of the point.
    pub id: String,
    /// How far, mm.
    pub mm: f64,
}

/// A frame pushed over an edge of what it stands on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RockOutcome {
    /// The two supports that it turns about.
    pub about: [String; 2],
    /// The support that it comes down on; null where it would fall.
    pub onto: Option<String>,
    /// How far it comes down there, mm.
    pub drop_mm: Option<f64>,
}

/// How far apart the two closest planes are that hold all points between them, along the vertical.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ZoneOutcome {
    /// As read, mm.
    pub before_mm: f64,
    /// By the plan, mm.
    pub after_mm: f64,
}

/// What a box or a slate weighs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoxOutcome {
    /// The box, or the slate piece.
    pub what: String,
    /// The mass of the piece, kg.
    pub mass_kg: f64,
    /// How many people lift it, at 23 kg each and never one alone (common practice).
    pub people: u32,
}

/// A step of the visit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StepOutcome {
    /// By what `done` calls it.
    pub id: String,
    /// What to do.
    pub text: String,
    /// With what.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// How many people the heaviest lift takes; null where nothing heavy is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub people: Option<u32>,
    /// What must be so before it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub before: Vec<HoldOutcome>,
    /// What must be so after it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub after: Vec<HoldOutcome>,
    /// What to beware of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caution: Option<String>,
    /// Whether it is done.
    pub done: bool,
}

/// A condition before or after a step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldOutcome {
    /// What must be so.
    pub text: String,
    /// Whether it is; null where nothing in the job tells.
    pub holds: Option<bool>,
}

pub(crate) fn known(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

impl PlaceOutcome {
    pub(crate) fn new(place: &TablePlace, asked: &RoomPlan) -> Self {
        let walls = asked.room.len();
        let name = |of: usize| match asked.obstacles.get(of.wrapping_sub(walls)) {
            Some(thing) if of >= walls => thing.name.clone(),
            _ => format!("wall {}", of + 1),
        };
        let short = place.short.iter().map(|part| ShortOutcome {
            side: part.side,
            from_mm: part.from_mm,
            to_mm: part.to_mm,
            by_mm: part.by_mm,
            of: name(part.of),
            cue_mm: part.cue_mm,
        });
        Self {
            fits: place.fits,
            x_mm: place.position.x_mm,
            y_mm: place.position.y_mm,
            angle_deg: place.position.angle_deg,
            least_mm: place.least_mm,
            tightest: name(place.tightest),
            sides_mm: place.sides.map(|side| known(side.clearance_mm)),
            short: short.collect(),
            free_share: place.free_share,
            bound_mm: known(place.bound_mm),
        }
    }
}

impl SquareOutcome {
    pub(crate) fn new(square: &Square) -> Self {
        Self {
            conformity: square.conformity,
            probability: known(square.probability),
            differences_mm: square.differences_mm,
            within_mm: square.within_mm,
            off_mm: square.off_mm,
            off_sigma_mm: square.off_sigma_mm.map(known),
            off_deg: square.off_deg,
            corner: square.corner,
            rack_mm: known(square.rack_mm),
            rack_probability: known(square.rack_probability),
            suspects: square.suspects.iter().map(ToString::to_string).collect(),
        }
    }
}

impl CarriedOutcome {
    pub(crate) fn each(way: &WayIn, visit: &Visit) -> Vec<Self> {
        let each = way.carried.iter().map(|it| Self {
            what: visit.boxes[it.piece].name.clone(),
            through: visit.ways[it.passage].name().to_owned(),
            passes: it.passes,
            carry: if it.carry == Carry::Flat { "flat" } else { "upright" }.to_owned(),
            margin_mm: known(it.margin_mm),
            spare: match it.spare {
                Spare::Width => "width",
                Spare::Height => "height",
                Spare::Length => "length",
            }
            .to_owned(),
            tightest: way.tightest[it.piece] == it.passage,
        });
        each.collect()
    }
}

impl RestingOutcome {
    pub(crate) fn new(resting: &Resting, ids: &[&str]) -> Self {
        let name = |at: usize| ids[at].to_owned();
        let float = |(at, &mm): (usize, &f64)| FloatOutcome { id: name(at), mm };
        let rock = |it: &crate::plane::Rock| RockOutcome {
            about: it.edge.map(name),
            onto: it.onto.map(name),
            drop_mm: known(it.drop_mm),
        };
        Self {
            stands_on: resting.supports.iter().map(|&at| name(at)).collect(),
            shares: resting.shares,
            floats: resting.floats_mm.iter().enumerate().map(float).collect(),
            rocks: resting.rocks.iter().map(rock).collect(),
        }
    }
}

impl BoxOutcome {
    pub(crate) fn new(asked: &CarriedBox) -> Option<Self> {
        let density = asked.density?;
        let volume: f64 = asked.size.iter().map(|it| it.mm() / 1e3).product();
        Some(Self::of(asked.name.clone(), volume * density))
    }

    /// A slate of which outline, thickness and density are known.
    pub(crate) fn slate(piece: &SlatePiece) -> Option<Self> {
        let ([x0, x1], [y0, y1]) = (piece.x.map(|it| it.mm()), piece.y.map(|it| it.mm()));
        let slate = SlateWeight {
            outline: vec![[x0, y0], [x1, y0], [x1, y1], [x0, y1]],
            thickness_mm: piece.thickness.mm(),
            density_kg_per_m3: piece.material.density_kg_per_m3,
        };
        // What is wrong with a slate has been refused before.
        let mass = slate.mass().ok()?;
        Some(Self::of(format!("{} slate", piece.name), mass.kg))
    }

    fn of(what: String, mass_kg: f64) -> Self {
        let people = people(mass_kg, LIFT_A_PERSON_KG).unwrap_or(u32::MAX);
        Self { what, mass_kg, people: people.max(2) }
    }
}
