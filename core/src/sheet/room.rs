//! The plan of a room with the table in it.

use super::canvas::{BODY, Canvas, Held, width};
use super::places::Room;
use crate::site::{PlaceOptions, Short, TablePlace};
use crate::units::Units;
use crate::words::CAUTIONS;

const HIGH: f64 = 440.0;
const SMALL: f64 = 12.0;

/// What the sides of a table are called, seen in the direction of its length.
pub(super) const SIDES: [&str; 4] = ["right side", "end ahead", "left side", "end behind"];

/// Draws the plan of a room with a table in it, as SVG: clearances on every side, what is short and
/// where, the walls by their numbers and the obstacles by their names. `place` is what
/// [`place`](crate::place) made of the same room and options. See [`Picture::svg`](crate::Picture::svg).
pub fn room_picture(
    title: &str,
    room: &[[f64; 2]],
    options: &PlaceOptions,
    place: &TablePlace,
    units: Units,
) -> String {
    picture(Canvas::new(), title, room, options, place, units)
}

/// The same for the screen of a phone: see [`Picture::svg_narrow`](crate::Picture::svg_narrow).
pub fn room_picture_narrow(
    title: &str,
    room: &[[f64; 2]],
    options: &PlaceOptions,
    place: &TablePlace,
    units: Units,
) -> String {
    picture(Canvas::narrow(), title, room, options, place, units)
}

fn picture(
    mut canvas: Canvas,
    title: &str,
    room: &[[f64; 2]],
    options: &PlaceOptions,
    place: &TablePlace,
    units: Units,
) -> String {
    let title = if title.trim().is_empty() { "Where the table stands" } else { title };
    canvas.paragraph("strong", 18.0, title);
    let words = said(room, options, place, units);
    if let Some(first) = words.first() {
        canvas.paragraph("strong", 15.0, first);
    }
    draw(&mut canvas, room, options, place, units);
    for line in words.iter().skip(1) {
        canvas.paragraph("", BODY, line);
    }
    canvas.heading("Before anyone lifts");
    for caution in CAUTIONS {
        canvas.paragraph("", BODY, &format!("! {caution}"));
    }
    let told: Vec<String> = words.into_iter().chain(CAUTIONS.map(str::to_owned)).collect();
    canvas.page(title, &told.join(" "))
}

/// The plan alone, for a page that has the words beside it.
pub(super) fn plan_of(
    room: &[[f64; 2]],
    options: &PlaceOptions,
    place: &TablePlace,
    units: Units,
    narrow: bool,
) -> String {
    let mut canvas = if narrow { Canvas::narrow() } else { Canvas::new() };
    draw(&mut canvas, room, options, place, units);
    canvas.page("The room from above", &said(room, options, place, units).join(" "))
}

/// What a wall or an obstacle is called: walls by the corner they begin at, from 1.
pub(super) fn name(room: &[[f64; 2]], options: &PlaceOptions, of: usize) -> String {
    match options.obstacles.get(of.wrapping_sub(room.len())) {
        Some(obstacle) if of >= room.len() => obstacle.name.clone(),
        _ => format!("wall {}", of + 1),
    }
}

/// What a person needs to know of a position, the verdict first.
pub(super) fn said(
    room: &[[f64; 2]],
    options: &PlaceOptions,
    place: &TablePlace,
    units: Units,
) -> Vec<String> {
    let mm = |mm: f64| units.rough(mm);
    let of = |of: usize| name(room, options, of);
    let tightest = of(place.tightest);
    let mut words = vec![if place.fits {
        format!(
            "The table fits: {} to {tightest}, {} asked.",
            mm(place.least_mm),
            mm(options.clear_mm)
        )
    } else {
        format!("THE TABLE DOES NOT FIT as asked: short by {}.", mm(-place.slack_mm))
    }];
    if !place.fits {
        let (least, asked) = (mm(place.least_mm), mm(options.clear_mm));
        words.push(format!("Least clearance: {least} to {tightest}, {asked} asked."));
    }
    if options.frame_mm.is_some() {
        let (least, asked) = (mm(place.frame_least_mm), mm(options.frame_clear_mm));
        words.push(format!("Bare frame: {least}, {asked} asked."));
    }
    for (side, before) in SIDES.iter().zip(&place.sides) {
        words.push(match before.clearance_mm.is_finite() {
            true => format!("{side}: {} to {}.", mm(before.clearance_mm), of(before.of)),
            false => format!("{side}: nothing is before it."),
        });
    }
    for (at, part) in place.short.iter().enumerate() {
        words.push(short(at, part, &of(part.of), units));
    }
    if !place.short.is_empty() {
        let share = 100.0 * place.free_share;
        words.push(format!("{share:.0}\u{a0}% of the edge has its full stroke."));
    }
    words
}

fn short(at: usize, part: &Short, of: &str, units: Units) -> String {
    let [by, from, to] = [part.by_mm, part.from_mm, part.to_mm].map(|mm| units.rough(mm));
    let cue = match part.cue_mm > 0.0 {
        true => format!("a cue up to {} still has its stroke", units.rough(part.cue_mm)),
        false => "no cue has its stroke".to_owned(),
    };
    let letter = letter(at);
    let side = SIDES[part.side.min(3)];
    format!(
        "Tight part {letter}: {side}, from {from} to {to}, short by {by} because of {of}; {cue}."
    )
}

fn letter(at: usize) -> String {
    match u8::try_from(at) {
        Ok(at) if at < 26 => char::from(b'A' + at).to_string(),
        _ => format!("{}", at + 1),
    }
}

fn draw(
    canvas: &mut Canvas,
    room: &[[f64; 2]],
    options: &PlaceOptions,
    place: &TablePlace,
    units: Units,
) {
    let [low, high] = [f64::min, f64::max]
        .map(|pick| [0, 1].map(|axis| room.iter().map(|it| it[axis]).fold(room[0][axis], pick)));
    let span = [0, 1].map(|axis| (high[axis] - low[axis]).max(1.0));
    // Beside the walls there is room for their names.
    let beside = if canvas.is_narrow() { 16.0 } else { 60.0 };
    let scale = ((canvas.width - 2.0 * canvas.margin - beside) / span[0]).min(HIGH / span[1]);
    let left = (canvas.width - span[0] * scale) / 2.0;
    let top = canvas.y + 20.0;
    // y runs upwards.
    let on = |[x, y]: [f64; 2]| [left + (x - low[0]) * scale, top + (high[1] - y) * scale];
    canvas.polygon("wall", &room.iter().map(|&it| on(it)).collect::<Vec<_>>());
    for obstacle in &options.obstacles {
        let corners: Vec<[f64; 2]> = obstacle.corners.iter().map(|&it| on(it)).collect();
        canvas.polygon("block", &corners);
    }
    let table: Vec<[f64; 2]> = place.outline_mm.iter().map(|&it| on(it)).collect();
    canvas.polygon("shape", &table);
    let middle = on([place.position.x_mm, place.position.y_mm]);
    let mut taken = Room::new();
    // Clearances: a line straight out from the middle of each side, its figure beside it.
    let ends: Vec<([f64; 2], [f64; 2])> = (0..4)
        .map(|at| {
            let (a, b) = (table[at], table[(at + 1) % 4]);
            let from = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
            let out = [from[0] - middle[0], from[1] - middle[1]];
            let long = (out[0] * out[0] + out[1] * out[1]).sqrt().max(1e-9);
            let by = place.sides[at].clearance_mm.min(1e6) * scale / long;
            (from, [from[0] + by * out[0], from[1] + by * out[1]])
        })
        .collect();
    for (from, to) in &ends {
        canvas.line("dash", *from, *to);
    }
    for (at, part) in place.short.iter().enumerate() {
        let (a, b) = (table[part.side.min(3)], table[(part.side.min(3) + 1) % 4]);
        let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
        let long = (dx * dx + dy * dy).sqrt().max(1e-9);
        let spot = |mm: f64, out: f64| {
            let by = mm * scale / long;
            // Outwards is to the right of the side on paper, where y runs downwards.
            [a[0] + by * dx - out * dy / long, a[1] + by * dy + out * dx / long]
        };
        let (from, to) = (part.from_mm, part.to_mm);
        canvas.polygon("ink", &[spot(from, 0.0), spot(to, 0.0), spot(to, 5.0), spot(from, 5.0)]);
        let [x, y] = spot((from + to) / 2.0, -11.0);
        canvas.text("strong", SMALL, Held::Middle, [x, y + 4.0], &letter(at));
        taken.take([x - 6.0, y - 8.0, 12.0, 16.0]);
    }
    let margin = canvas.margin;
    let bounds = [margin, top - 18.0, canvas.width - 2.0 * margin, span[1] * scale + 36.0];
    let mut label = |canvas: &mut Canvas, class: &str, [x, y]: [f64; 2], text: &str| {
        let size = [width(text, SMALL), 15.0];
        if let Some([x, y, w, _]) = taken.centred([x, y], size, bounds) {
            canvas.rect("paper", [x, y + 1.0, w, 14.0]);
            canvas.text(class, SMALL, Held::Middle, [x + w / 2.0, y + 12.0], text);
        }
    };
    label(canvas, "strong", middle, "table");
    let unit = units.each()[0];
    for (at, (from, to)) in ends.iter().enumerate() {
        let clearance = place.sides[at].clearance_mm;
        if !clearance.is_finite() {
            continue;
        }
        let figure = match unit.name() {
            "in" => format!("{:.1} in", clearance / unit.mm()),
            _ => format!("{clearance:.0} mm"),
        };
        label(canvas, "", [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0], &figure);
    }
    for obstacle in &options.obstacles {
        let count = obstacle.corners.len().max(1) as f64;
        let middle =
            [0, 1].map(|axis| obstacle.corners.iter().map(|it| it[axis]).sum::<f64>() / count);
        label(canvas, "", on(middle), &obstacle.name);
    }
    for at in 0..room.len() {
        let (a, b) = (on(room[at]), on(room[(at + 1) % room.len()]));
        label(
            canvas,
            "soft",
            [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0],
            &format!("wall {}", at + 1),
        );
    }
    canvas.y = top + span[1] * scale + 20.0;
    let words = "Seen from above. A black bar along the table's edge is a tight part; its letter \
                 stands in the list.";
    if !place.short.is_empty() {
        canvas.paragraph("soft", BODY, words);
    }
}
