//! The picture of a survey: how far each reading lies from the value that the others give.

use super::canvas::{BODY, Canvas, Held, MARGIN, WIDTH};
use crate::survey::Heights;

/// The most readings that are drawn: those that are furthest off.
const MOST: usize = 60;

/// The readings to read again first.
fn suspected(heights: &Heights) -> String {
    let groups = heights.suspect_groups();
    let numbers: Vec<String> =
        groups.iter().take(1).flat_map(|group| &group.readings).map(usize::to_string).collect();
    let blunder = groups.first().map_or(f64::NAN, |group| group.blunder_mm);
    match &numbers[..] {
        [one] => format!(
            "Suspected first: reading {one}, wrong by about {blunder:.2} mm. Read it again, or leave it out."
        ),
        _ => format!(
            "One of readings {} is wrong by about {blunder:.2} mm, and no data can say which: read these again.",
            numbers.join(", ")
        ),
    }
}

/// Draws how well the readings of a survey check each other, as SVG: a bar for each reading, its
/// residual in standard uncertainties (Baarda's w), beside the critical value. Suspects are marked.
/// Readings are named by their numbers from 0 on. See [`Picture::svg`](crate::Picture::svg).
pub fn survey_picture(heights: &Heights) -> String {
    const LEFT: f64 = MARGIN + 92.0;
    const RIGHT: f64 = WIDTH - MARGIN - 190.0;
    let title = "How well the readings check each other";
    let mut canvas = Canvas::new();
    canvas.paragraph("strong", 18.0, title);
    let told = match heights.suspects.as_slice() {
        [] if heights.dof == 0 => {
            "Nothing checks these readings: there are no more of them than it takes.".to_owned()
        }
        [] => "No reading is suspected.".to_owned(),
        [..] => suspected(heights),
    };
    canvas.paragraph("strong", 15.0, &told);
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
    let critical = heights.critical;
    let longest = shown.iter().map(|&at| size(at)).fold(critical.max(1.0), f64::max) * 1.05;
    let x = |sizes: f64| LEFT + sizes / longest * (RIGHT - LEFT);
    let top = canvas.y + 34.0;
    canvas.y = top;
    for &at in &shown {
        let y = canvas.y;
        let left_out = heights.left_out.contains(&at);
        canvas.text("", BODY, Held::End, [LEFT - 8.0, y + 14.0], &format!("reading {at}"));
        let class = if left_out { "shape" } else { "block" };
        let words = match (heights.suspects.contains(&at), left_out, heights.normalised[at]) {
            (_, _, w) if w.is_nan() => "nothing checks it".to_owned(),
            (true, _, w) => format!("{w:+.1}  SUSPECT"),
            (_, true, w) => format!("{w:+.1}  left out"),
            // Neither +0.0 nor -0.0.
            (_, _, w) if w.abs() < 0.05 => "0.0".to_owned(),
            (_, _, w) => format!("{w:+.1}"),
        };
        let end = if size(at).is_finite() { x(size(at)) } else { LEFT };
        canvas.rect(class, [LEFT, y + 3.0, end - LEFT, 14.0]);
        canvas.text("", BODY, Held::Start, [end + 8.0, y + 15.0], &words);
        canvas.y += 20.0;
    }
    canvas.line("line", [LEFT, top], [LEFT, canvas.y]);
    if critical.is_finite() {
        canvas.line("line", [x(critical), top - 6.0], [x(critical), canvas.y]);
        let words = format!("critical: {critical:.2}");
        canvas.text("strong", BODY, Held::Middle, [x(critical), top - 12.0], &words);
    }
    canvas.paragraph(
        "soft",
        BODY,
        "A bar is as long as the reading is off, in standard uncertainties of its residual; beyond \
         the line it is suspected.",
    );
    canvas.page(title, &told)
}
