//! Whether the table fits the room, whether it gets there, whether its frame is square.

use numpy::{IntoPyArray, PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1, PyReadonlyArray2};
use pyo3::prelude::*;
use truebed::{
    Carry, Obstacle, Passage, Piece, PlaceOptions, Position, Spare, TablePlace, Tapes, Turn,
};

use crate::error::{Refused, one, raised, shown};
use crate::picture::units;
use crate::result::result;
use crate::value::number;
use crate::verdict::met;

type Room = (Vec<[f64; 2]>, PlaceOptions, TablePlace);

/// A `truebed.Place`. `asked` is what is asked for about the surface, about the frame, and beyond the
/// cue, mm.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "each has its name on the other side")]
pub(crate) fn place<'py>(
    py: Python<'py>,
    room: PyReadonlyArray2<'py, f64>,
    surface: [f64; 2],
    frame: Option<[f64; 2]>,
    asked: [f64; 3],
    obstacles: Vec<(String, PyReadonlyArray2<'py, f64>)>,
    turn: &Bound<'py, PyAny>,
    at: Option<[f64; 3]>,
) -> PyResult<Bound<'py, PyAny>> {
    let (corners, options, found) = find(py, &room, surface, frame, asked, &obstacles, turn, at)?;
    let side = |it: &truebed::Side| {
        Ok(result!(py, "_site", Side { clearance_mm: it.clearance_mm, of: it.of }))
    };
    let short = |it: &truebed::Short| {
        Ok(result!(
            py,
            "_site",
            Short {
                side: it.side,
                from_mm: it.from_mm,
                to_mm: it.to_mm,
                least_mm: it.least_mm,
                by_mm: it.by_mm,
                of: it.of,
                cue_mm: it.cue_mm,
            }
        ))
    };
    let walls = (1..=corners.len()).map(|at| format!("wall {at}"));
    let names = walls.chain(options.obstacles.into_iter().map(|it| it.name));
    let outline = found.outline_mm.as_flattened().to_vec().into_pyarray(py).reshape([4, 2])?;
    Ok(result!(
        py,
        "_site",
        Place {
            fits: found.fits,
            x_mm: found.position.x_mm,
            y_mm: found.position.y_mm,
            angle_deg: found.position.angle_deg,
            least_mm: found.least_mm,
            frame_least_mm: found.frame_least_mm,
            tightest: found.tightest,
            clearances_mm: found.clearances_mm.into_pyarray(py),
            sides: found.sides.iter().map(side).collect::<PyResult<Vec<_>>>()?,
            short: found.short.iter().map(short).collect::<PyResult<Vec<_>>>()?,
            free_share: found.free_share,
            slack_mm: found.slack_mm,
            bound_mm: found.bound_mm,
            outline_mm: outline,
            names: names.collect::<Vec<_>>(),
        }
    ))
}

/// The corners of what a door leaf sweeps, shape (k, 2).
#[pyfunction]
pub(crate) fn door_swing(
    py: Python<'_>,
    hinge: [f64; 2],
    leaf: f64,
    from_deg: f64,
    to_deg: f64,
) -> PyResult<Bound<'_, PyArray2<f64>>> {
    let door = Obstacle::door("door", hinge, leaf, from_deg, to_deg);
    let corners = door.map_err(|error| raised(py, &error))?.corners;
    let count = corners.len();
    PyArray1::from_vec(py, corners.into_flattened()).reshape([count, 2])
}

/// The plan of a room as SVG.
#[pyfunction]
#[expect(clippy::too_many_arguments, reason = "each has its name on the other side")]
pub(crate) fn room_picture<'py>(
    py: Python<'py>,
    room: PyReadonlyArray2<'py, f64>,
    surface: [f64; 2],
    frame: Option<[f64; 2]>,
    asked: [f64; 3],
    obstacles: Vec<(String, PyReadonlyArray2<'py, f64>)>,
    turn: &Bound<'py, PyAny>,
    at: Option<[f64; 3]>,
    title: &str,
    units: &Bound<'py, PyAny>,
    narrow: bool,
) -> PyResult<String> {
    let units = one(py, "units", self::units(units))?;
    let (corners, options, found) = find(py, &room, surface, frame, asked, &obstacles, turn, at)?;
    let draw = if narrow { truebed::room_picture_narrow } else { truebed::room_picture };
    Ok(draw(title, &corners, &options, &found, units))
}

#[expect(clippy::too_many_arguments, reason = "each has its name on the other side")]
fn find<'py>(
    py: Python<'py>,
    room: &PyReadonlyArray2<'py, f64>,
    surface: [f64; 2],
    frame: Option<[f64; 2]>,
    asked: [f64; 3],
    obstacles: &[(String, PyReadonlyArray2<'py, f64>)],
    turn: &Bound<'py, PyAny>,
    at: Option<[f64; 3]>,
) -> PyResult<Room> {
    let corners = room.as_slice()?.as_chunks().0.to_vec();
    let [clear_mm, frame_clear_mm, stroke_mm] = asked;
    let mut options = PlaceOptions {
        frame_mm: frame,
        clear_mm,
        frame_clear_mm,
        stroke_mm,
        ..PlaceOptions::default()
    };
    for (name, outline) in obstacles {
        let corners = outline.as_slice()?.as_chunks().0.to_vec();
        options.obstacles.push(Obstacle { name: name.clone(), corners });
    }
    options.turn = match at {
        Some([x_mm, y_mm, angle_deg]) => Turn::At(Position { x_mm, y_mm, angle_deg }),
        None => one(py, "turn", self::turn(turn))?,
    };
    let found = py
        .detach(|| truebed::place(&corners, surface, &options))
        .map_err(|error| raised(py, &error))?;
    Ok((corners, options, found))
}

fn turn(turn: &Bound<'_, PyAny>) -> Result<Turn, Refused> {
    const EXPECTED: &str = "\"walls\", \"free\" or an angle in degrees";
    match turn.extract::<&str>() {
        Ok("walls") => Ok(Turn::Walls),
        Ok("free") => Ok(Turn::Free),
        Ok(_) => Err(Refused::value(shown(turn), EXPECTED)),
        Err(_) => number(turn, EXPECTED).map(Turn::Fixed),
    }
}

/// A `truebed.Square`, of the readings of the two lengths, widths and diagonals.
#[pyfunction]
pub(crate) fn square<'py>(
    py: Python<'py>,
    tapes: Vec<PyReadonlyArray1<'py, f64>>,
    sigma: Option<f64>,
    within: Option<f64>,
) -> PyResult<Bound<'py, PyAny>> {
    let mut read = tapes.iter().map(|it| it.as_slice().map(<[f64]>::to_vec));
    let mut two = || -> PyResult<[Vec<f64>; 2]> {
        Ok([
            read.next().transpose()?.unwrap_or_default(),
            read.next().transpose()?.unwrap_or_default(),
        ])
    };
    let tapes = Tapes { lengths: two()?, widths: two()?, diagonals: two()? };
    let found = truebed::square(&tapes, sigma, within).map_err(|error| raised(py, &error))?;
    let corners = found.corners_mm.as_flattened().to_vec().into_pyarray(py).reshape([4, 2])?;
    Ok(result!(
        py,
        "_site",
        Square {
            met: met(found.conformity),
            probability: found.probability,
            within_mm: found.within_mm,
            differences_mm: found.differences_mm.to_vec().into_pyarray(py),
            differences_sigma_mm: found.differences_sigma_mm.to_vec().into_pyarray(py),
            off_mm: found.off_mm.to_vec().into_pyarray(py),
            off_sigma_mm: found.off_sigma_mm.to_vec().into_pyarray(py),
            off_deg: found.off_deg.to_vec().into_pyarray(py),
            off_sigma_deg: found.off_sigma_deg.to_vec().into_pyarray(py),
            corner: found.corner,
            rack_mm: found.rack_mm,
            rack_sigma_mm: found.rack_sigma_mm,
            rack_probability: found.rack_probability,
            corners_mm: corners,
            residuals_mm: found.residuals_mm.into_pyarray(py),
            dof: found.dof,
            suspects: found.suspects.iter().map(ToString::to_string).collect::<Vec<_>>(),
        }
    ))
}

/// What a passage is: kind, name, width, other width or depth, height, angle.
type PassageValues = (String, String, f64, f64, f64, Option<f64>);

/// A `truebed.WayIn`.
#[pyfunction]
pub(crate) fn way_in<'py>(
    py: Python<'py>,
    pieces: Vec<(String, [f64; 3])>,
    passages: Vec<PassageValues>,
) -> PyResult<Bound<'py, PyAny>> {
    let pieces: Vec<Piece> =
        pieces.into_iter().map(|(name, size_mm)| Piece { name, size_mm }).collect();
    let passages: Vec<Passage> = passages.into_iter().map(passage).collect();
    let found = truebed::way_in(&pieces, &passages).map_err(|error| raised(py, &error))?;
    let carried = |it: &truebed::Carried| {
        Ok(result!(
            py,
            "_site",
            Carried {
                piece: &pieces[it.piece].name,
                passage: passages[it.passage].name(),
                passes: it.passes,
                carry: if it.carry == Carry::Flat { "flat" } else { "upright" },
                margin_mm: it.margin_mm,
                spare: match it.spare {
                    Spare::Height => "height",
                    Spare::Length => "length",
                    _ => "width",
                },
            }
        ))
    };
    let tightest = pieces.iter().zip(&found.tightest);
    let tightest: Vec<(&str, &str)> =
        tightest.map(|(piece, &at)| (piece.name.as_str(), passages[at].name())).collect();
    Ok(result!(
        py,
        "_site",
        WayIn {
            passes: found.passes,
            carried: found.carried.iter().map(carried).collect::<PyResult<Vec<_>>>()?,
            tightest: pyo3::types::IntoPyDict::into_py_dict(tightest, py)?,
        }
    ))
}

fn passage((kind, name, width_mm, other, height_mm, angle): PassageValues) -> Passage {
    match kind.as_str() {
        "corner" => Passage::Corner {
            name,
            widths_mm: [width_mm, other],
            height_mm,
            turn_deg: angle.unwrap_or(90.0),
        },
        "landing" => Passage::Landing { name, size_mm: [width_mm, other], height_mm },
        "stairs" => Passage::Stairs { name, width_mm, head_room_mm: height_mm, pitch_deg: angle },
        _ => Passage::Door { name, width_mm, height_mm },
    }
}
