//! The picture of a survey: how far each reading lies from the value that the others give.

use super::canvas::{BODY, Canvas, Held, width, wrapped};
use crate::survey::Heights;
use crate::units::Units;
use crate::words::survey::{reading, suspected};

/// The most readings that are drawn: those that are furthest off.
const MOST: usize = 60;
const SMALL: f64 = 12.0;

/// What is said of the suspects.
fn told_of(heights: &Heights, units: Units) -> String {
    let groups = heights.suspect_groups();
    match groups.first() {
        None if heights.dof == 0 => {
            "Nothing checks these readings: there are no more of them than it takes.".to_owned()
        }
        None => "No reading is suspected.".to_owned(),
        Some(group) => {
            let names: Vec<String> =
                group.readings.iter().map(|&at| reading(&heights.readings()[at], units)).collect();
            suspected(&names, group.blunder_mm, units)
        }
    }
}

/// Draws how well the readings of a survey check each other, as SVG: a bar for each reading, its
/// residual in standard uncertainties (Baarda's w), beside the critical value. Suspects are marked.
/// Readings are named by what they read. See [`Picture::svg`](crate::Picture::svg).
pub fn survey_picture(heights: &Heights, units: Units) -> String {
    draw(Canvas::new(), heights, units)
}

/// The same for the screen of a phone: see [`Picture::svg_narrow`](crate::Picture::svg_narrow).
pub fn survey_picture_narrow(heights: &Heights, units: Units) -> String {
    draw(Canvas::narrow(), heights, units)
}

/// The readings to draw, in their order: no more than there is room for.
fn drawn(canvas: &mut Canvas, heights: &Heights) -> Vec<usize> {
    let size = |at: usize| heights.normalised[at].abs();
    let mut shown: Vec<usize> = (0..heights.normalised.len()).collect();
    if shown.len() > MOST {
        let all = shown.len();
        // What nothing checks comes last.
        shown.sort_by(|&a, &b| size(b).max(0.0).total_cmp(&size(a).max(0.0)).then(a.cmp(&b)));
        shown.truncate(MOST);
        shown.sort_unstable();
        let words = format!("! Shown are the {MOST} of {all} readings that are furthest off.");
        canvas.paragraph("", BODY, &words);
    }
    shown
}

fn draw(mut canvas: Canvas, heights: &Heights, units: Units) -> String {
    const LINE: f64 = 16.0;
    let title = "How well the readings check each other";
    canvas.paragraph("strong", 18.0, title);
    let told = told_of(heights, units);
    canvas.paragraph("strong", 15.0, &told);
    let shown = drawn(&mut canvas, heights);
    let size = |at: usize| heights.normalised[at].abs();
    let critical = heights.critical;
    let longest = shown.iter().map(|&at| size(at)).fold(critical.max(1.0), f64::max) * 1.05;
    // Names stand beside the bars, or above them where there is no room.
    let (narrow, margin) = (canvas.is_narrow(), canvas.margin);
    let (named, room) = if narrow { (canvas.width - 2.0 * margin, 0.0) } else { (250.0, 262.0) };
    let (left, right) = (margin + room, canvas.width - margin - 130.0);
    let x = |sizes: f64| left + sizes / longest * (right - left);
    let top = canvas.y + 34.0;
    canvas.y = top;
    for &at in &shown {
        let names = wrapped(&reading(&heights.readings()[at], units), named, SMALL);
        for (row, name) in names.iter().enumerate() {
            let y = canvas.y + 14.0 + row as f64 * LINE;
            canvas.text("", SMALL, Held::Start, [margin, y], name);
        }
        let below = names.len() as f64 * LINE;
        let y = canvas.y + if narrow { below } else { 0.0 };
        let left_out = heights.left_out.contains(&at);
        let class = if left_out { "shape" } else { "block" };
        let words = match (heights.suspects.contains(&at), left_out, heights.normalised[at]) {
            (_, _, w) if w.is_nan() => "nothing checks it".to_owned(),
            (true, _, w) => format!("{w:+.1}  SUSPECT"),
            (_, true, w) => format!("{w:+.1}  left out"),
            // Neither +0.0 nor -0.0.
            (_, _, w) if w.abs() < 0.05 => "0.0".to_owned(),
            (_, _, w) => format!("{w:+.1}"),
        };
        let end = if size(at).is_finite() { x(size(at)) } else { left };
        canvas.rect(class, [left, y + 3.0, end - left, 14.0]);
        canvas.text("", BODY, Held::Start, [end + 8.0, y + 15.0], &words);
        canvas.y = (y + 20.0).max(canvas.y + below + 4.0);
    }
    canvas.line("line", [left, top], [left, canvas.y]);
    if critical.is_finite() {
        canvas.line("line", [x(critical), top - 6.0], [x(critical), canvas.y]);
        let words = format!("critical: {critical:.2}");
        let middle = x(critical).max(margin + width(&words, BODY) / 2.0);
        canvas.text("strong", BODY, Held::Middle, [middle, top - 12.0], &words);
    }
    canvas.paragraph(
        "soft",
        BODY,
        "A bar is as long as the reading is off, in standard uncertainties of its residual; beyond \
         the line it is suspected.",
    );
    canvas.page(title, &told)
}
