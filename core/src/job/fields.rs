//! From the field names of the calls below to the field paths of the document.
//!
//! A field of the document has one path, whichever call finds a problem with it: the names of the
//! fields and the indices of the items, `legs.options.max_stack`.

use super::visit::RoomThing;
use crate::error::{Error, ProblemKind};

/// The problems of the survey of some readings, by the paths of the document.
pub(super) fn of_survey(error: Error) -> Error {
    error.each(|problem| {
        const SETTINGS: [&str; 7] =
            ["alpha", "power", "without", "levels", "setups", "fixed", "datum"];
        if SETTINGS.contains(&parts(&problem.field).0) {
            problem.field = format!("survey.{}", problem.field);
        }
    })
}

/// The problems of a piece of slate, which stands on some points of the job.
pub(super) fn of_piece(error: Error, field: &str, points: &[usize]) -> Error {
    error.each(|problem| {
        let (first, index, rest) = parts(&problem.field);
        let point = index.first().and_then(|&at| points.get(at));
        problem.field = match (first, point, rest) {
            ("supports", Some(point), ".xy") => format!("points[{point}]"),
            ("supports", ..) => format!("{field}{}", if rest.is_empty() { ".name" } else { rest }),
            ("slab", _, ".thickness") => format!("{field}.thickness"),
            ("slab", _, ".density") => format!("{field}.material.density_kg_per_m3"),
            ("slab", _, rest) if rest.starts_with(".x") || rest.starts_with(".y") => {
                format!("{field}{rest}")
            }
            ("slab", _, rest) => format!("{field}.material{rest}"),
            _ => format!("{field}.{}", problem.field),
        };
    })
}

/// The problems of a visit. Some of its fields have other names in the calls that compute it.
pub(super) fn of_visit(error: Error, things: &[RoomThing]) -> Error {
    const NAMES: [(&str, &str); 10] = [
        ("pieces", "boxes"),
        ("passages", "ways"),
        ("frame", "room.bare_frame"),
        ("surface", "room.surface"),
        ("clear", "room.clear"),
        ("frame_clear", "room.frame_clear"),
        ("stroke", "room.stroke"),
        ("obstacles", "room.obstacles"),
        ("at", "room.at"),
        ("turn", "room.free_turning"),
    ];
    error.each(|problem| {
        let (first, index, rest) = parts(&problem.field);
        let name = NAMES.iter().find(|(name, _)| *name == first).map_or("room.room", |it| it.1);
        let tail = &problem.field[first.len()..];
        let tail = match (first, rest) {
            ("obstacles", "") if !index.is_empty() => {
                let swings = things.get(index[0]).is_some_and(|it| it.swing.is_some());
                format!("{tail}.{}", if swings { "swing" } else { "corners" })
            }
            ("passages", ".pitch" | ".turn") => format!("{tail}_deg"),
            // The angle is a field of its own beside the place.
            ("at", ".angle") => String::new(),
            _ => tail.split(" to ").next().unwrap_or_default().to_owned(),
        };
        let name = if (first, rest) == ("at", ".angle") { "room.angle_deg" } else { name };
        problem.field = format!("visit.{name}{tail}");
    })
}

/// The problems of a prediction of so many heights.
pub(super) fn of_expected(error: Error, count: usize) -> Error {
    error.each(|problem| {
        let (first, index, _) = parts(&problem.field);
        problem.field = match (first, &index[..]) {
            ("heights", [at]) => format!("heights_mm[{at}]"),
            ("heights", _) => "heights_mm".to_owned(),
            ("covariance", [row, column]) => format!("covariance_mm2[{}]", row * count + column),
            ("covariance", _) => "covariance_mm2".to_owned(),
            _ => problem.field.clone(),
        };
    })
}

/// The problems of a line of level steps, whose readings have its divisions in order.
pub(super) fn of_line(error: Error, field: &str) -> Error {
    error.each(|problem| {
        let (first, index, rest) = parts(&problem.field);
        problem.field = match (first, index.first(), rest) {
            ("readings", Some(at), ".divisions" | ".value") => format!("{field}.divisions[{at}]"),
            ("readings", Some(at), _) => format!("{field}.ids[{}]", at + 1),
            _ => format!("{field}.{}", problem.field),
        };
    })
}

/// The problems of a grid of level steps, whose readings go along all its rows and then across.
pub(super) fn of_grid(error: Error, field: &str, along: &[Vec<f64>], across: &[Vec<f64>]) -> Error {
    let rows = |name: &'static str, rows: &[Vec<f64>]| {
        let of_row = |(row, steps): (usize, &Vec<f64>)| {
            (0..steps.len()).map(|at| format!("{name}[{row}][{at}]")).collect::<Vec<_>>()
        };
        rows.iter().enumerate().flat_map(of_row).collect::<Vec<_>>()
    };
    let steps = [rows("along", along), rows("across", across)].concat();
    error.each(|problem| {
        let (first, index, rest) = parts(&problem.field);
        problem.field = match (first, index.first().and_then(|&at| steps.get(at)), rest) {
            ("readings", Some(step), ".divisions" | ".value") => format!("{field}.{step}"),
            ("readings", ..) => format!("{field}.ids"),
            _ => format!("{field}.{}", problem.field),
        };
    })
}

/// The problems of places and heights of a stage's points, by the paths of the document: which points
/// there are is a matter of `points`, whatever is computed from them.
pub(super) fn of_places(name: &str, error: Error) -> Error {
    error.each(|problem| {
        problem.field = match problem.kind {
            ProblemKind::Geometry => "points".to_owned(),
            _ => format!("{name}.{}", problem.field),
        };
        if problem.kind == ProblemKind::Geometry {
            problem.got = format!("{} (of the {name})", problem.got);
        }
    })
}

/// A field as its first name, its first indices and what follows.
pub(super) fn parts(field: &str) -> (&str, Vec<usize>, &str) {
    let end = field.find(['[', '.']).unwrap_or(field.len());
    let (first, rest) = field.split_at(end);
    match rest.strip_prefix('[').and_then(|it| it.split_once(']')) {
        Some((inside, rest)) => {
            let indices = inside.split(", ").filter_map(|it| it.parse().ok());
            (first, indices.collect(), rest)
        }
        None => (first, Vec::new(), rest),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_come_apart() {
        assert_eq!(parts("supports[2].x"), ("supports", vec![2], ".x"));
        assert_eq!(parts("covariance[0, 3]"), ("covariance", vec![0, 3], ""));
        assert_eq!(parts("limits.named[1].within"), ("limits", vec![], ".named[1].within"));
        assert_eq!(parts("max_stack"), ("max_stack", vec![], ""));
    }
}
