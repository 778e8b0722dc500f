//! The picture of a front of kits: pieces in the van against the share of jobs that they serve.

use super::canvas::{BODY, Canvas, Held};
use crate::estimate::FrontKit;
use crate::words::CAUTIONS;
use crate::words::percent;

/// Draws the kits of a [`kit_front`](crate::kit_front) as SVG: how many pieces serve which share of the jobs,
/// each share with its interval. See [`Picture::svg`](crate::Picture::svg).
pub fn kit_front_picture(kits: &[FrontKit]) -> String {
    draw(Canvas::new(), kits)
}

/// The same for the screen of a phone: see [`Picture::svg_narrow`](crate::Picture::svg_narrow).
pub fn kit_front_picture_narrow(kits: &[FrontKit]) -> String {
    draw(Canvas::narrow(), kits)
}

fn draw(mut canvas: Canvas, kits: &[FrontKit]) -> String {
    const HIGH: f64 = 260.0;
    let title = "Pieces in the van against jobs served";
    canvas.paragraph("strong", 18.0, title);
    let (Some(first), Some(last)) = (kits.first(), kits.last()) else {
        let words = "No kit within what is allowed serves as many jobs as asked.";
        canvas.paragraph("", BODY, words);
        return canvas.page(title, words);
    };
    let told = |kit: &FrontKit| {
        let [least, most] = kit.interval.map(percent);
        format!("{} pieces serve {} ({least} to {most}).", kit.pieces, percent(kit.served))
    };
    let [top, bottom] = [canvas.y + 34.0, canvas.y + 34.0 + HIGH];
    let margin = canvas.margin;
    let [left, right] = [margin + 56.0, canvas.width - margin - 24.0];
    let spread = f64::from(last.pieces.saturating_sub(first.pieces).max(1));
    let x = |pieces: u32| {
        left + 20.0 + f64::from(pieces - first.pieces) / spread * (right - left - 40.0)
    };
    let y = |share: f64| bottom - share * HIGH;
    canvas.text("strong", BODY, Held::Start, [margin, top - 16.0], "jobs served");
    for tenth in 0..=5 {
        let share = f64::from(tenth) / 5.0;
        canvas.line("faint", [left, y(share)], [right, y(share)]);
        let label = format!("{:.0} %", 100.0 * share);
        canvas.text("", BODY, Held::End, [left - 8.0, y(share) + 4.0], &label);
    }
    canvas.line("line", [left, bottom], [right, bottom]);
    let mut free_from = f64::NEG_INFINITY;
    for kit in kits {
        let at = x(kit.pieces);
        let [least, most] = kit.interval;
        canvas.line("line", [at, y(least)], [at, y(most)]);
        // A diamond where a smaller kit may do.
        let height = y(kit.served);
        if kit.proven {
            canvas.mark("circle", "shape", &[("cx", at), ("cy", height), ("r", 5.0)]);
        } else {
            let corners =
                [[at, height - 7.0], [at + 7.0, height], [at, height + 7.0], [at - 7.0, height]];
            canvas.polygon("shape", &corners);
        }
        if at >= free_from {
            canvas.line("line", [at, bottom], [at, bottom + 5.0]);
            let pieces = kit.pieces.to_string();
            canvas.text("", BODY, Held::Middle, [at, bottom + 20.0], &pieces);
            free_from = at + 30.0;
        }
    }
    canvas.text("strong", BODY, Held::Middle, [(left + right) / 2.0, bottom + 40.0], "pieces");
    canvas.y = bottom + 46.0;
    let words = "Each mark is the smallest kit that serves so many of the jobs it was chosen on; its height is \
                 the share of fresh jobs, with a line for the interval of that kit. A circle is proven to \
                 be the smallest, a diamond may be beaten.";
    canvas.paragraph("soft", BODY, words);
    canvas.heading("Before anyone lifts");
    for caution in CAUTIONS {
        canvas.paragraph("", BODY, &format!("! {caution}"));
    }
    let told: Vec<String> = kits.iter().map(told).chain(CAUTIONS.map(str::to_owned)).collect();
    canvas.page(title, &told.join(" "))
}
