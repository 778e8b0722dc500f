//! What a job says of the visit.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::points::check_name;
use crate::site::{
    MOST_CORNERS, MOST_OBSTACLES, MOST_READINGS, Obstacle, Passage, Piece, PlaceOptions, Position,
    Tapes, Turn,
};

/// The visit around the levelling. Everything in it may be left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Visit {
    /// The room, and where the table is to stand in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub room: Option<RoomPlan>,
    /// The owner's consent to where the table stands: it is not moved once it is level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub consent: Option<Consent>,
    /// Tape readings of the frame.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frame: Option<FrameTapes>,
    /// Tape readings of the outline of all slates, butted together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slates_together: Option<FrameTapes>,
    /// The instruments by which the table is measured, as the page for the owner names them: make,
    /// serial number and last check.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Visit::MOST))]
    pub instruments: Vec<String>,
    /// What is carried in, as boxes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Visit::MOST))]
    pub boxes: Vec<CarriedBox>,
    /// What it is carried through, from the van to the room.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Visit::MOST))]
    pub ways: Vec<Way>,
    /// Hardware and tools, checked before the start.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Visit::MOST))]
    pub hardware: Vec<Hardware>,
    /// The steps of the visit in their order. The default is the order of common practice.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Visit::MOST))]
    pub steps: Vec<OwnStep>,
    /// Ids of the steps that are done.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = Visit::MOST))]
    pub done: Vec<String>,
}

/// A room and the table that is to stand in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RoomPlan {
    /// The corners of the walls in order, each x and y.
    #[schemars(length(max = RoomPlan::MOST_CORNERS))]
    pub room: Vec<[Length; 2]>,
    /// Length and width of the playing surface.
    pub surface: [Length; 2],
    /// Length and width of the bare frame.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bare_frame: Option<[Length; 2]>,
    /// From the playing surface to anything: 60 in by default, for a full stroke (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clear: Option<Length>,
    /// From the bare frame to anything: 62 in by default (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub frame_clear: Option<Length>,
    /// What the stroke needs beyond the length of the cue: 3 in by default (common practice).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stroke: Option<Length>,
    /// What stands in the room or swings into it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = RoomPlan::MOST_OBSTACLES))]
    pub obstacles: Vec<RoomThing>,
    /// Whether the table may stand in any direction; by default along or across a wall.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub free_turning: bool,
    /// The middle of the table where the owner wants it; it is then judged as it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<[Length; 2]>,
    /// The direction of its length there, degrees anticlockwise from x.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub angle_deg: f64,
}

/// Something that stands in a room or swings into it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RoomThing {
    /// What a person calls it.
    pub name: String,
    /// The corners of the thing in plan, in order, each as x and y. A door leaf has none.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schemars(length(max = RoomPlan::MOST_CORNERS))]
    pub corners: Vec<[Length; 2]>,
    /// The swing of a door leaf, in place of corners.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub swing: Option<DoorSwing>,
}

/// What a door leaf sweeps. The arc is taken a hair too wide, never too narrow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DoorSwing {
    /// Where the hinge is, as x and y.
    pub hinge: [Length; 2],
    /// The width of the leaf.
    pub leaf: Length,
    /// The direction of the leaf at one end of its swing, degrees anticlockwise from x.
    pub from_deg: f64,
    /// The direction at the other end: anticlockwise from the first, and at most 359° beyond it.
    pub to_deg: f64,
}

impl RoomThing {
    fn obstacle(&self) -> Result<Obstacle, Error> {
        let corners = spots(&self.corners);
        match self.swing {
            None => Ok(Obstacle { name: self.name.clone(), corners }),
            Some(_) if !corners.is_empty() => {
                let (got, expected) = ("corners and a swing", "one of them");
                Err(Error::new(ProblemKind::Value, "swing", got, expected))
            }
            Some(DoorSwing { hinge, leaf, from_deg, to_deg }) => {
                let hinge = hinge.map(|it| it.mm());
                Obstacle::door(&self.name, hinge, leaf.mm(), from_deg, to_deg)
                    .map_err(|error| error.within("swing"))
            }
        }
    }
}

/// The owner's consent to the position of the table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Consent {
    /// Who agreed, as you write it.
    pub by: String,
    /// When, as you write it.
    pub date: String,
}

/// Tape readings of a frame, or of slates laid together, with corners 0 to 3 in turn; each may have been read several times, or not
/// at all.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct FrameTapes {
    /// From corner 0 to 1, and from 3 to 2.
    #[schemars(inner(length(max = Visit::MOST_TAPES)))]
    pub lengths: [Vec<Length>; 2],
    /// From corner 0 to 3, and from 1 to 2.
    #[schemars(inner(length(max = Visit::MOST_TAPES)))]
    pub widths: [Vec<Length>; 2],
    /// From corner 0 to 2, and from 1 to 3.
    #[schemars(inner(length(max = Visit::MOST_TAPES)))]
    pub diagonals: [Vec<Length>; 2],
    /// Standard uncertainty of one reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sigma: Option<Length>,
    /// How far lengths, widths and diagonals may differ: 1/8 in by default (common practice).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within: Option<Length>,
}

/// A thing that is carried in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CarriedBox {
    /// What a person calls it.
    pub name: String,
    /// The three edges of the box, in any order.
    pub size: [Length; 3],
    /// The density of the box, kg/m³, from which its weight follows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
}

/// What things are carried through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub enum Way {
    /// A door or a straight corridor.
    Door {
        /// What a person calls it.
        name: String,
        /// Clear width.
        width: Length,
        /// Clear height.
        height: Length,
    },
    /// Where a corridor turns.
    Corner {
        /// What a person calls it.
        name: String,
        /// Clear widths before and after.
        widths: [Length; 2],
        /// Clear height.
        height: Length,
        /// By how much one turns, degrees.
        turn_deg: f64,
    },
    /// A landing on which things are turned on the spot.
    Landing {
        /// What a person calls it.
        name: String,
        /// Clear width and depth.
        size: [Length; 2],
        /// Clear height.
        height: Length,
    },
    /// A straight flight of stairs.
    Stairs {
        /// What a person calls it.
        name: String,
        /// Clear width.
        width: Length,
        /// Head room straight up from the edges of the steps.
        head_room: Length,
        /// How steep, degrees: 42 by default (common practice).
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pitch_deg: Option<f64>,
    },
}

/// Something that has to be in the van.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Hardware {
    /// What a person calls it.
    pub name: String,
    /// How many are needed.
    pub count: u32,
    /// How many are there, once counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub counted: Option<u32>,
    /// Id of the step that needs it; all of them, by default.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<String>,
}

/// A step that the user states.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnStep {
    /// By what `done` calls it; that of a step of common practice takes over what holds before and
    /// after it.
    pub id: String,
    /// What to do.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub text: String,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

fn spots(corners: &[[Length; 2]]) -> Vec<[f64; 2]> {
    corners.iter().map(|corner| corner.map(|it| it.mm())).collect()
}

impl RoomPlan {
    /// The most corners of a room, and of what stands in it.
    pub const MOST_CORNERS: usize = MOST_CORNERS;
    /// The most things that stand in a room.
    pub const MOST_OBSTACLES: usize = MOST_OBSTACLES;

    pub(crate) fn corners(&self) -> Vec<[f64; 2]> {
        spots(&self.room)
    }

    pub(crate) fn surface(&self) -> [f64; 2] {
        self.surface.map(|it| it.mm())
    }

    /// What is asked of the position of the table.
    ///
    /// # Errors
    /// A door leaf whose swing makes no sense, or that has corners as well.
    pub(crate) fn options(&self) -> Result<PlaceOptions, Error> {
        let plain = PlaceOptions::default();
        let or = |given: Option<Length>, plain: f64| given.map_or(plain, |it| it.mm());
        let mut found = Problems::default();
        let obstacle = |(at, thing): (usize, &RoomThing)| {
            let field = format!("obstacles[{at}]");
            found.take(thing.obstacle().map_err(|error| error.within(&field)))
        };
        let obstacles = self.obstacles.iter().enumerate().filter_map(obstacle).collect();
        found.into_result()?;
        Ok(PlaceOptions {
            frame_mm: self.bare_frame.map(|size| size.map(|it| it.mm())),
            clear_mm: or(self.clear, plain.clear_mm),
            frame_clear_mm: or(self.frame_clear, plain.frame_clear_mm),
            stroke_mm: or(self.stroke, plain.stroke_mm),
            obstacles,
            turn: match self.at {
                Some([x, y]) => {
                    Turn::At(Position { x_mm: x.mm(), y_mm: y.mm(), angle_deg: self.angle_deg })
                }
                None if self.free_turning => Turn::Free,
                None => Turn::Walls,
            },
        })
    }
}

impl FrameTapes {
    pub(crate) fn tapes(&self) -> Tapes {
        let mm = |sides: &[Vec<Length>; 2]| {
            [0, 1].map(|side| sides[side].iter().map(|it| it.mm()).collect())
        };
        Tapes {
            lengths: mm(&self.lengths),
            widths: mm(&self.widths),
            diagonals: mm(&self.diagonals),
        }
    }
}

impl CarriedBox {
    pub(crate) fn piece(&self) -> Piece {
        Piece { name: self.name.clone(), size_mm: self.size.map(|it| it.mm()) }
    }
}

impl Way {
    pub(crate) fn passage(&self) -> Passage {
        match self.clone() {
            Self::Door { name, width, height } => {
                Passage::Door { name, width_mm: width.mm(), height_mm: height.mm() }
            }
            Self::Corner { name, widths, height, turn_deg } => Passage::Corner {
                name,
                widths_mm: widths.map(|it| it.mm()),
                height_mm: height.mm(),
                turn_deg,
            },
            Self::Landing { name, size, height } => {
                Passage::Landing { name, size_mm: size.map(|it| it.mm()), height_mm: height.mm() }
            }
            Self::Stairs { name, width, head_room, pitch_deg } => Passage::Stairs {
                name,
                width_mm: width.mm(),
                head_room_mm: head_room.mm(),
                pitch_deg,
            },
        }
    }

    pub(crate) fn name(&self) -> &str {
        match self {
            Self::Door { name, .. }
            | Self::Corner { name, .. }
            | Self::Landing { name, .. }
            | Self::Stairs { name, .. } => name,
        }
    }
}

impl Visit {
    /// The most boxes, ways, instruments, kinds of hardware and steps of a visit.
    pub const MOST: usize = 100;
    /// The most tape readings of one side or diagonal.
    pub const MOST_TAPES: usize = MOST_READINGS;

    /// Notes names that cannot be written and densities that are none.
    pub(crate) fn check(&self, found: &mut Problems) {
        if let Some(consent) = &self.consent {
            check_name("visit.consent.by", &consent.by, found);
            check_name("visit.consent.date", &consent.date, found);
        }
        for (at, name) in self.instruments.iter().enumerate() {
            check_name(&format!("visit.instruments[{at}]"), name, found);
        }
        for (at, thing) in self.boxes.iter().enumerate() {
            check_name(&format!("visit.boxes[{at}].name"), &thing.name, found);
            if let Some(density) = thing.density.filter(|it| !(1.0..=30_000.0).contains(it)) {
                let field = format!("visit.boxes[{at}].density");
                let got = format!("{density} kg/m³");
                found.add(ProblemKind::Value, field, got, "from 1 to 30000 kg/m³");
            }
        }
        for (at, thing) in self.hardware.iter().enumerate() {
            check_name(&format!("visit.hardware[{at}].name"), &thing.name, found);
        }
        for (at, step) in self.steps.iter().enumerate() {
            let field = format!("visit.steps[{at}].id");
            check_name(&field, &step.id, found);
            if self.steps[..at].iter().any(|other| other.id == step.id) {
                let expected = "an id that no other step has";
                found.add(ProblemKind::Duplicate, field, format!("{:?}", step.id), expected);
            }
        }
    }
}
