//! The picture of a trade-off: pieces against worst deviation.

use super::canvas::{BODY, Canvas, Held, width};
use super::places::Room;
use crate::shim::{ShimPlan, Status};
use crate::units::Units;
use crate::words::percent;

/// The most plans that the description lists, before the flattest one.
const MOST_TOLD: usize = 50;

/// What a picture of a trade-off shows of a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TradeoffMark {
    /// How the search ended.
    pub status: Status,
    /// Whether the plan meets the limits.
    pub met: bool,
    /// Pieces in all.
    pub pieces: usize,
    /// The worst deviation, mm.
    pub worst_mm: f64,
    /// The probability that the plan meets all limits, where it is known.
    pub probability: Option<f64>,
}

impl From<&ShimPlan> for TradeoffMark {
    fn from(plan: &ShimPlan) -> Self {
        let (met, pieces) = (plan.meets_limits, plan.pieces);
        Self { status: plan.status, met, pieces, worst_mm: plan.worst_mm(), probability: None }
    }
}

/// Draws the plans of a [`tradeoff`](crate::tradeoff), as SVG: how flat the bed gets with each number
/// of pieces. See [`Picture::svg`](crate::Picture::svg).
pub fn tradeoff_picture<M: Into<TradeoffMark>>(
    plans: impl IntoIterator<Item = M>,
    units: Units,
) -> String {
    draw(Canvas::new(), &plans.into_iter().map(Into::into).collect::<Vec<_>>(), units)
}

/// The same for the screen of a phone: see [`Picture::svg_narrow`](crate::Picture::svg_narrow).
pub fn tradeoff_picture_narrow<M: Into<TradeoffMark>>(
    plans: impl IntoIterator<Item = M>,
    units: Units,
) -> String {
    draw(Canvas::narrow(), &plans.into_iter().map(Into::into).collect::<Vec<_>>(), units)
}

fn draw(mut canvas: Canvas, plans: &[TradeoffMark], units: Units) -> String {
    const HIGH: f64 = 300.0;
    let title = "Pieces against flatness";
    canvas.paragraph("strong", 18.0, title);
    let told = |plan: &TradeoffMark| {
        let how = if plan.met { "" } else { ", which does not meet the limits" };
        let sure = plan.probability.map(|p| format!(", meets all limits with {}", percent(p)));
        let sure = sure.unwrap_or_default();
        format!("{} pieces: {}{how}{sure}.", plan.pieces, units.figure("±", plan.worst_mm))
    };
    let mut words: Vec<String> = plans.iter().take(MOST_TOLD).map(told).collect();
    let (Some(first), Some(last)) = (plans.first(), plans.last()) else {
        canvas.paragraph("", BODY, "There is no plan to show.");
        return canvas.page(title, "There is no plan to show.");
    };
    if plans.len() > MOST_TOLD {
        words.push(format!("The flattest: {}", told(last)));
    }
    if !first.met {
        canvas.paragraph("strong", 15.0, "No plan was found that meets the limits.");
    } else if last.status != Status::Proven {
        canvas.paragraph("strong", 15.0, "The search was cut short: flatter plans may exist.");
    }
    let unit = units.each()[0];
    let (margin, most_ticks) = (canvas.margin, if canvas.is_narrow() { 6.0 } else { 12.0 });
    let left = margin + if canvas.is_narrow() { 52.0 } else { 76.0 };
    let [top, right] = [canvas.y + 36.0, canvas.width - margin - 24.0];
    let bottom = top + HIGH;
    let per_unit = unit.mm();
    let highest = plans.iter().map(|plan| plan.worst_mm).fold(0.0, f64::max);
    let most = plans.iter().map(|plan| plan.pieces).max().unwrap_or(0);
    let fewest = plans.iter().map(|plan| plan.pieces).min().unwrap_or(0);
    let (from, to) = (fewest.saturating_sub(1) as f64, most as f64 + 1.0);
    let x = |pieces: f64| left + (pieces - from) / (to - from) * (right - left);
    let y = |mm: f64| if highest > 0.0 { bottom - mm / highest * (HIGH - 10.0) } else { bottom };

    canvas.line("line", [left, bottom], [right, bottom]);
    canvas.line("line", [left, top - 6.0], [left, bottom]);
    let heading = format!("worst deviation, ± {}", unit.name());
    canvas.text("strong", BODY, Held::Start, [margin, top - 18.0], &heading);
    let step = round_step(highest / per_unit, 5.0) * per_unit;
    for mm in (0..6).map(|at| f64::from(at) * step).take_while(|&mm| mm <= highest) {
        canvas.line("faint", [left, y(mm)], [right, y(mm)]);
        canvas.text("", BODY, Held::End, [left - 8.0, y(mm) + 4.0], &unit.plain(mm));
    }
    let every = (((most - fewest) as f64 / most_ticks).ceil() as usize).max(1);
    for pieces in (fewest..=most).step_by(every) {
        let at = x(pieces as f64);
        canvas.line("line", [at, bottom], [at, bottom + 5.0]);
        canvas.text("", BODY, Held::Middle, [at, bottom + 20.0], &pieces.to_string());
    }
    canvas.text("strong", BODY, Held::Middle, [(left + right) / 2.0, bottom + 40.0], "pieces");

    // What so many pieces reach holds until the next plan.
    let at: Vec<[f64; 2]> =
        plans.iter().map(|plan| [x(plan.pieces as f64), y(plan.worst_mm)]).collect();
    for pair in at.windows(2) {
        canvas.line("line", pair[0], [pair[1][0], pair[0][1]]);
        canvas.line("line", [pair[1][0], pair[0][1]], pair[1]);
    }
    let bounds = [left, top - 26.0, canvas.width - margin - left, HIGH + 26.0];
    let mut room = Room::new();
    for &[x, y] in &at {
        room.take([x - 6.0, y - 6.0, 12.0, 12.0]);
    }
    for (plan, &[x, y]) in plans.iter().zip(&at) {
        // A diamond where a better plan may exist.
        if plan.status == Status::Proven {
            canvas.mark("circle", "shape", &[("cx", x), ("cy", y), ("r", 5.0)]);
        } else {
            let corners = [[x, y - 7.0], [x + 7.0, y], [x, y + 7.0], [x - 7.0, y]];
            canvas.polygon("shape", &corners);
        }
        let sure = plan.probability.map_or_else(String::new, |p| format!(", {}", percent(p)));
        let text = format!("{}{sure}", unit.plain(plan.worst_mm));
        // To the right and above, where the line to the next plan is not.
        let size = [width(&text, BODY), 15.0];
        let over = [x + size[0] / 2.0 + 7.0, y - 3.0 - size[1] / 2.0];
        if let Some([x, y, w, _]) = room.centred(over, size, bounds) {
            canvas.rect("paper", [x, y + 2.0, w, 12.0]);
            canvas.text("", BODY, Held::Middle, [x + w / 2.0, y + 12.0], &text);
        }
    }
    canvas.y = bottom + 48.0;
    canvas.paragraph(
        "soft",
        BODY,
        "Each mark is the flattest plan of so many pieces; a circle is proven, a diamond may be \
         beaten.",
    );
    if plans.iter().any(|plan| plan.probability.is_some()) {
        let words = "Beside each deviation stands the probability that the plan meets all limits.";
        canvas.paragraph("soft", BODY, words);
    }
    canvas.page(title, &words.join(" "))
}

/// The smallest step of 1, 2 or 5 times a power of ten that divides a figure into at most `most` parts.
fn round_step(figure: f64, most: f64) -> f64 {
    let mut ten = 1e-6;
    loop {
        for step in [ten, 2.0 * ten, 5.0 * ten] {
            if figure <= step * most {
                return step;
            }
        }
        ten *= 10.0;
    }
}
