//! The picture of a bed: the plan with its stacks, a heat map before and after, and the list that a
//! crew works by.

use svg::node::Node;

use super::canvas::{BODY, Canvas, Held, MARGIN, WIDTH, width, wrapped};
use super::estimate_picture::draw_estimate;
use super::heat;
use super::picture::{Picture, PictureLimit, PicturePoint};
use super::places::{Frame, Room, spread};
use crate::job::EstimateOutcome;
use crate::limits::LimitKind;
use crate::shown::{columns, shown};
use crate::units::{Unit, Units};
use crate::words::CAUTIONS;
use crate::words::legend::{OF_MAPS, of_plan, only_the_first};
use crate::words::stack::stack;

/// More points than this are not drawn; the text sheet has them all.
const MOST: usize = 200;
const RADIUS: f64 = 12.0;
const SMALL: f64 = 12.0;

impl Picture {
    /// The picture as SVG, the same text on every run. It has no script, and a description says in
    /// words what it shows, for those who do not see it.
    pub fn svg(&self, units: Units) -> String {
        page(&self.title, &[self], None, units)
    }
}

/// A page with a title, with pictures one below the other, with an estimate, and with the cautions.
pub(super) fn page(
    title: &str,
    pictures: &[&Picture],
    estimate: Option<&EstimateOutcome>,
    units: Units,
) -> String {
    let mut canvas = Canvas::new();
    let title = if title.trim().is_empty() { "Shim plan" } else { title };
    canvas.paragraph("strong", 18.0, title);
    for picture in pictures {
        let mut drawn = (*picture).clone();
        let all = drawn.points.len();
        drawn.points.truncate(MOST);
        drawn.joints.retain(|sides| sides.iter().all(|&side| side < drawn.points.len()));
        if all > MOST {
            drawn.notes.insert(0, only_the_first(MOST, all));
        }
        if drawn.title != title {
            canvas.y += 12.0;
            canvas.paragraph("strong", 16.0, &drawn.title);
        }
        draw(&mut canvas, &drawn, units);
    }
    let estimated = estimate.map(|estimate| draw_estimate(&mut canvas, estimate));
    canvas.heading("Before anyone lifts");
    for caution in CAUTIONS {
        canvas.paragraph("", BODY, &format!("! {caution}"));
    }
    let told = pictures.iter().map(|picture| told(picture, units));
    // Whoever is read the description is not read the page.
    let told: Vec<String> = told.chain(estimated).chain(CAUTIONS.map(str::to_owned)).collect();
    canvas.page(title, &told.join(" "))
}

fn draw(canvas: &mut Canvas, picture: &Picture, units: Units) {
    canvas.paragraph("strong", 15.0, &picture.verdict);
    for limit in limits(picture, units) {
        canvas.paragraph("", BODY, &limit);
    }
    for note in &picture.notes {
        canvas.paragraph("", BODY, &format!("! {note}"));
    }
    if picture.points.is_empty() {
        return;
    }
    let plan = Plan::new(picture);
    if picture.met {
        canvas.heading("Which shims under which point");
        plan.draw(canvas, units);
    }
    maps(canvas, picture, &plan, units);
    list(canvas, &plan, units);
    joints(canvas, picture, units);
}

/// `overall: ±0.047 mm of ±0.060 mm`.
fn limits(picture: &Picture, units: Units) -> Vec<String> {
    let line = |limit: &PictureLimit| {
        let difference = matches!(limit.limit, LimitKind::JointStep | LimitKind::Named);
        let (sign, share) = if difference { ("", 1.0) } else { ("±", 2.0) };
        let [found, allowed] =
            [limit.found_mm, limit.allowed_mm].map(|mm| units.figure(sign, mm / share));
        let met = if limit.found_mm <= limit.allowed_mm { "met" } else { "NOT MET" };
        format!("{}: {found}, allowed {allowed}: {met}", limit.limit)
    };
    picture.limits.iter().map(line).collect()
}

/// The points laid out on a rectangle, with room for labels around it.
struct Plan<'a> {
    picture: &'a Picture,
    /// Where the points are, from 0 to 1 along and across.
    shares: Vec<[f64; 2]>,
    /// How wide and how high the bed is, by its longer side.
    aspect: [f64; 2],
    /// Whether all names are so short that the marks can hold them.
    named: bool,
}

impl<'a> Plan<'a> {
    fn new(picture: &'a Picture) -> Self {
        let places: Vec<[f64; 2]> =
            picture.points.iter().map(|point| [point.x.mm(), point.y.mm()]).collect();
        let ends = [0, 1].map(|axis| {
            places.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], place| {
                [low.min(place[axis]), high.max(place[axis])]
            })
        });
        let extent = ends.map(|[low, high]| high - low);
        let share = |place: &[f64; 2]| {
            [0, 1].map(|axis| match extent[axis] > 0.0 {
                true => (place[axis] - ends[axis][0]) / extent[axis],
                false => 0.5,
            })
        };
        let longer = extent[0].max(extent[1]);
        let aspect = extent.map(|side| if longer > 0.0 { side / longer } else { 0.0 });
        let named = picture.points.iter().all(|point| width(&point.id, 1.0) < 2.0);
        Self { picture, shares: places.iter().map(share).collect(), aspect, named }
    }

    /// The frame of the bed, with its top left at a place, to fit a size.
    fn frame(&self, [x, y]: [f64; 2], [most_wide, most_high]: [f64; 2]) -> Frame {
        let [along, across] = self.aspect;
        let scale = (most_wide / along.max(0.01)).min(most_high / across.max(0.01));
        let size =
            [(along * scale).clamp(60.0, most_wide), (across * scale).clamp(60.0, most_high)];
        [x + (most_wide - size[0]) / 2.0, y, size[0], size[1]]
    }

    /// Where the points are in a frame, a little inside of it; y runs upwards.
    fn places(&self, [x, y, w, h]: Frame, inset: f64) -> Vec<[f64; 2]> {
        let place = |[along, across]: &[f64; 2]| {
            [x + inset + along * (w - 2.0 * inset), y + h - inset - across * (h - 2.0 * inset)]
        };
        self.shares.iter().map(place).collect()
    }

    fn draw(&self, canvas: &mut Canvas, units: Units) {
        const ROOMY: usize = 8;
        let few = self.picture.points.len() <= ROOMY;
        let (side, ends) = if few { (170.0, 90.0) } else { (70.0, 40.0) };
        let frame = self.frame([MARGIN + side, 0.0], [WIDTH - 2.0 * (MARGIN + side), 330.0]);
        let [x, y, w, h] = frame;
        let at = self.places(frame, 24.0);
        let marks = spread(&at, 2.0 * RADIUS + 4.0, [x + 12.0, y + 12.0, w - 24.0, h - 24.0]);
        let mut room = Room::new();
        for &[x, y] in &marks {
            room.take([x - RADIUS, y - RADIUS, 2.0 * RADIUS, 2.0 * RADIUS]);
        }
        let bounds = [MARGIN, y - ends, WIDTH - 2.0 * MARGIN, h + 2.0 * ends];
        let centre = [x + w / 2.0, y + h / 2.0];
        let place = |(point, &mark): (&PicturePoint, &[f64; 2])| {
            let full = self.label(point, units, few);
            let name = vec![ellipsis(&point.id, 14)];
            let shorter = (!self.named).then_some(name);
            let mut place = |lines: Vec<String>| {
                let wide = lines.iter().map(|line| width(line, SMALL)).fold(0.0, f64::max);
                let size = [wide, lines.len() as f64 * 15.0];
                Some((room.beside(mark, RADIUS, size, centre, bounds)?, lines))
            };
            place(full).or_else(|| place(shorter?))
        };
        let labels: Vec<_> = self.picture.points.iter().zip(&marks).map(place).collect();
        // Only as much room as the labels take.
        let frames = || labels.iter().flatten().map(|(frame, _)| frame);
        let up = frames().fold(y, |top, frame| top.min(frame[1]));
        let down = frames().fold(y + h, |bottom, frame| bottom.max(frame[1] + frame[3]));
        let shift = canvas.y + 4.0 - up;
        let marks: Vec<[f64; 2]> = marks.iter().map(|[x, y]| [*x, y + shift]).collect();

        canvas.rect("faint", [x, y + shift, w, h]);
        self.pieces(canvas, &marks);
        for &[a, b] in &self.picture.joints {
            canvas.line("line", marks[a], marks[b]);
        }
        for (at, (label, &mark)) in labels.iter().zip(&marks).enumerate() {
            if let Some(([x, y, w, h], lines)) = label {
                let frame = [*x, y + shift, *w, *h];
                canvas.rect("paper", frame);
                write(canvas, frame, mark[0], lines, !self.named);
            }
            self.mark(canvas, mark, at);
        }
        canvas.y = down + shift + 6.0;
        let legend = of_plan(self.named, !self.picture.joints.is_empty());
        canvas.paragraph("soft", SMALL, &legend);
    }

    /// A point by its name, where all names are short, else by its number in the list.
    fn mark(&self, canvas: &mut Canvas, [x, y]: [f64; 2], at: usize) {
        let point = &self.picture.points[at];
        if self.picture.met && point.shims.is_empty() {
            canvas.rect("shape", [x - RADIUS, y - RADIUS, 2.0 * RADIUS, 2.0 * RADIUS]);
        } else {
            canvas.mark("circle", "shape", &[("cx", x), ("cy", y), ("r", RADIUS)]);
        }
        let text = if self.named { point.id.clone() } else { (at + 1).to_string() };
        // So that two or three wide letters stay clear of the ring.
        let size = SMALL + 1.0 - columns(&shown(&text)).clamp(1, 3) as f64;
        canvas.text("", size, Held::Middle, [x, y + 4.0], &text);
    }

    /// The name of a point, unless its mark has it, and what is under it.
    fn label(&self, point: &PicturePoint, units: Units, stacks: bool) -> Vec<String> {
        let mut lines = Vec::new();
        if !self.named {
            lines.push(ellipsis(&point.id, 20));
        }
        if point.shims.is_empty() {
            lines.push("stays".to_owned());
        } else if stacks {
            let stack = units.stack(&point.shims);
            let shown = if stack.len() > 4 { 3 } else { stack.len() };
            lines.extend(stack[..shown].iter().map(|run| ellipsis(run, 26)));
            if shown < stack.len() {
                lines.push(format!("and {} more kinds", stack.len() - shown));
            }
        } else {
            let figure = |unit: &Unit| format!("{} {}", unit.plain(point.lift_mm), unit.name());
            lines.extend(units.each().iter().map(figure));
        }
        lines
    }

    /// A frame around the points of each slate piece.
    fn pieces(&self, canvas: &mut Canvas, marks: &[[f64; 2]]) {
        let mut pieces: Vec<(&str, Frame)> = Vec::new();
        for (point, &[x, y]) in self.picture.points.iter().zip(marks) {
            let Some(piece) = &point.piece else { continue };
            // Left, top, right, bottom.
            match pieces.iter_mut().find(|(name, _)| name == piece) {
                Some((_, [left, top, right, bottom])) => {
                    (*left, *top) = (left.min(x), top.min(y));
                    (*right, *bottom) = (right.max(x), bottom.max(y));
                }
                None => pieces.push((piece, [x, y, x, y])),
            }
        }
        for (name, [left, top, right, bottom]) in pieces {
            let frame = [left, top, right - left, bottom - top];
            canvas.rect("faint", frame);
            let middle = [(left + right) / 2.0, (top + bottom) / 2.0];
            canvas.text("soft", SMALL, Held::Middle, middle, &ellipsis(name, 14));
        }
    }
}

/// The lines of a label, held on the side of its mark.
fn write(canvas: &mut Canvas, [x, y, w, _]: Frame, mark: f64, lines: &[String], headed: bool) {
    let (held, x) = if x + w <= mark {
        (Held::End, x + w)
    } else if x >= mark {
        (Held::Start, x)
    } else {
        (Held::Middle, x + w / 2.0)
    };
    for (row, line) in lines.iter().enumerate() {
        let class = if headed && row == 0 { "strong" } else { "" };
        canvas.text(class, SMALL, held, [x, y + 12.0 + row as f64 * 15.0], line);
    }
}

/// Where the points lie above or below the target, as read and by the plan.
fn maps(canvas: &mut Canvas, picture: &Picture, plan: &Plan<'_>, units: Units) {
    const GAP: f64 = 32.0;
    const WIDE: f64 = (WIDTH - 2.0 * MARGIN - GAP) / 2.0;
    type Of = fn(&PicturePoint) -> f64;
    let (before, after): (Of, Of) = (|point| point.before_mm, |point| point.after_mm);
    let highest = picture.points.iter().map(before).fold(f64::NEG_INFINITY, f64::max);
    // Without a plan there is no target: the highest is what the others are held against.
    let zero = if picture.met { 0.0 } else { highest };
    let shown: &[(&str, Of)] = match picture.met {
        true => &[("As read", before), ("By the plan", after)],
        false => &[("As read", before)],
    };
    canvas.heading(match picture.met {
        true => "Height above (+) or below (-) the target",
        false => "Height below the highest",
    });
    let values =
        shown.iter().flat_map(|(_, of)| picture.points.iter().map(move |it| of(it) - zero));
    let [low, high] =
        values.fold([0.0_f64, 0.0_f64], |[low, high], mm| [low.min(mm), high.max(mm)]);
    let share = |mm: f64| if high > low { (mm - low) / (high - low) } else { 0.5 };
    let top = canvas.y + 18.0;
    let mut bottom = top;
    for (column, (name, of)) in shown.iter().enumerate() {
        let left = MARGIN + column as f64 * (WIDE + GAP);
        let frame = plan.frame([left, top + 6.0], [WIDE, 220.0]);
        let values: Vec<f64> = picture.points.iter().map(|point| of(point) - zero).collect();
        let size = values.iter().fold(0.0_f64, |size, mm| size.max(mm.abs()));
        let name = format!("{name}: at most {} off", units.figure("", size));
        canvas.text("strong", SMALL, Held::Middle, [left + WIDE / 2.0, top - 4.0], &name);
        map(canvas, frame, &plan.places(frame, 16.0), &values, &share, units);
        bottom = bottom.max(frame[1] + frame[3]);
    }
    canvas.y = bottom + 12.0;
    scale(canvas, low, high, units);
    canvas.paragraph("soft", SMALL, OF_MAPS);
}

fn map(
    canvas: &mut Canvas,
    frame: Frame,
    at: &[[f64; 2]],
    values: &[f64],
    share: &dyn Fn(f64) -> f64,
    units: Units,
) {
    let [x, y, w, h] = frame;
    let marks = spread(at, 13.0, [x + 8.0, y + 8.0, w - 16.0, h - 16.0]);
    let patches = heat::patches(&marks, frame);
    for (patch, &mm) in patches.iter().zip(values) {
        canvas.polygon("patch", patch).assign("fill", heat::colour(share(mm)).0);
    }
    let unit = units.each()[0];
    for ((&[x, y], &mm), patch) in marks.iter().zip(values).zip(&patches) {
        let ink = if heat::colour(share(mm)).1 { "on-dark" } else { "on-light" };
        if mm.abs() < 0.0015 {
            canvas.mark("circle", ink, &[("cx", x), ("cy", y), ("r", 4.0)]);
        } else {
            let tip = if mm > 0.0 { -5.0 } else { 5.0 };
            canvas.polygon(ink, &[[x - 5.0, y - tip], [x + 5.0, y - tip], [x, y + tip]]);
        }
        // A figure only where its patch has room for it; the list has them all.
        let text = unit.signed(mm);
        let size = [width(&text, SMALL), 14.0];
        let centre = [frame[0] + w, frame[1]];
        if let Some([x, y, w, _]) = Room::new().beside([x, y], 4.0, size, centre, inside(patch)) {
            canvas.text(ink, SMALL, Held::Middle, [x + w / 2.0, y + 11.0], &text);
        }
    }
    canvas.rect("line", frame);
}

/// The rectangle around a patch. Patches of points on a grid, as most are, fill it.
fn inside(patch: &[[f64; 2]]) -> Frame {
    let ends = |axis: usize| {
        patch.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], corner| {
            [low.min(corner[axis]), high.max(corner[axis])]
        })
    };
    let ([left, right], [top, bottom]) = (ends(0), ends(1));
    [left, top, right - left, bottom - top]
}

/// What the colours mean.
fn scale(canvas: &mut Canvas, low: f64, high: f64, units: Units) {
    const STEPS: usize = 24;
    let (left, wide) = (MARGIN + 110.0, WIDTH - 2.0 * MARGIN - 220.0);
    let step = wide / STEPS as f64;
    let top = canvas.y;
    for at in 0..STEPS {
        let share = (at as f64 + 0.5) / STEPS as f64;
        let frame = [left + at as f64 * step, top, step + 0.5, 14.0];
        canvas.rect("patch", frame).assign("fill", heat::colour(share).0);
    }
    canvas.rect("line", [left, top, wide, 14.0]);
    for (row, unit) in units.each().iter().enumerate() {
        let y = top + 12.0 + row as f64 * 15.0;
        let figure = |mm: f64| format!("{} {}", unit.signed(mm), unit.name());
        canvas.text("", SMALL, Held::End, [left - 8.0, y], &figure(low));
        canvas.text("", SMALL, Held::Start, [left + wide + 8.0, y], &figure(high));
    }
    if low < 0.0 && high > 0.0 {
        let zero = left + wide * -low / (high - low);
        canvas.line("line", [zero, top], [zero, top + 19.0]);
        canvas.text("", SMALL, Held::Middle, [zero, top + 31.0], "0");
    }
    canvas.y = top + 34.0;
}

/// Every point with its stack, in the order of work.
fn list(canvas: &mut Canvas, plan: &Plan<'_>, units: Units) {
    let picture = plan.picture;
    const LINE: f64 = 16.0;
    const NAME: f64 = 56.0;
    const PILE: [f64; 2] = [178.0, 70.0];
    const SHIMS: [f64; 2] = [258.0, 214.0];
    const FIGURES: [f64; 3] = [542.0, 620.0, 696.0];
    let highest = picture.points.iter().map(|it| it.before_mm).fold(f64::NEG_INFINITY, f64::max);
    let thickest = picture.points.iter().map(thickness).fold(0.0, f64::max);
    canvas.heading("The list");
    let names: Vec<&str> = units.each().iter().map(|unit| unit.name()).collect();
    canvas.y += LINE;
    let y = canvas.y;
    canvas.text("strong", SMALL, Held::Start, [NAME, y], "point");
    let heads: &[&str] = if picture.met {
        canvas.text("strong", SMALL, Held::Start, [PILE[0], y], "shims, thickest first");
        &["lift", "as read", "by plan"]
    } else {
        &["below highest"]
    };
    for (head, right) in heads.iter().rev().zip(FIGURES.iter().rev()) {
        canvas.text("strong", SMALL, Held::End, [*right, y], head);
    }
    canvas.y += LINE;
    let y = canvas.y;
    for (_, right) in heads.iter().zip(FIGURES.iter().rev()) {
        canvas.text("soft", SMALL, Held::End, [*right, y], &names.join(", "));
    }
    canvas.y += 6.0;
    for (at, point) in picture.points.iter().enumerate() {
        canvas.line("faint", [MARGIN, canvas.y], [WIDTH - MARGIN, canvas.y]);
        let top = canvas.y + LINE;
        let name = match &point.piece {
            Some(piece) => format!("{}, {piece}", point.id),
            None => point.id.clone(),
        };
        let wide = if picture.met { PILE[0] } else { FIGURES[1] } - NAME - 8.0;
        let names = wrapped(&name, wide, SMALL);
        let figures: &[f64] = match picture.met {
            true => &[point.lift_mm, point.before_mm, point.after_mm],
            false => &[highest - point.before_mm],
        };
        let shims = if picture.met {
            let words = stack(&point.shims, point.placed.as_deref(), units);
            // Three short words that belong together.
            wrapped(&words.replace("as it is", "as\u{a0}it\u{a0}is"), SHIMS[1], SMALL)
        } else {
            vec![]
        };
        let lines = names.len().max(shims.len()).max(units.each().len());
        plan.mark(canvas, [MARGIN + RADIUS, top + 0.5], at);
        for (lines, x) in [(&names, NAME), (&shims, SHIMS[0])] {
            for (row, line) in lines.iter().enumerate() {
                canvas.text("", SMALL, Held::Start, [x, top + 4.0 + row as f64 * LINE], line);
            }
        }
        if picture.met {
            pile(canvas, [PILE[0], top - 7.0], PILE[1] / thickest.max(f64::MIN_POSITIVE), point);
        }
        for (at, (mm, right)) in figures.iter().rev().zip(FIGURES.iter().rev()).enumerate() {
            // Counted from the right: a lift, and what is below the highest, have no sign.
            let lift = at == 2 || !picture.met;
            for (row, unit) in units.each().iter().enumerate() {
                let text = if lift { unit.plain(*mm) } else { unit.signed(*mm) };
                let class = if row == 0 { "" } else { "soft" };
                canvas.text(
                    class,
                    SMALL,
                    Held::End,
                    [*right, top + 4.0 + row as f64 * LINE],
                    &text,
                );
            }
        }
        canvas.y += (lines as f64 * LINE + 10.0).max(2.0 * RADIUS + 8.0);
    }
    canvas.line("faint", [MARGIN, canvas.y], [WIDTH - MARGIN, canvas.y]);
}

fn thickness(point: &PicturePoint) -> f64 {
    point.shims.iter().map(|shim| shim.mm()).sum()
}

/// The pieces end to end, by their thickness.
fn pile(canvas: &mut Canvas, [x, y]: [f64; 2], scale: f64, point: &PicturePoint) {
    let mut left = x;
    for shim in point.shims.iter().take(100) {
        let wide = shim.mm() * scale;
        canvas.rect("block", [left, y, wide, 14.0]);
        left += wide;
    }
}

fn joints(canvas: &mut Canvas, picture: &Picture, units: Units) {
    if !picture.met || picture.joints.is_empty() {
        return;
    }
    canvas.heading("Steps at the joints, by the plan");
    let step = |&[a, b]: &[usize; 2]| {
        let [a, b] = [&picture.points[a], &picture.points[b]];
        let step = units.figure("", (a.after_mm - b.after_mm).abs()).replace(' ', "\u{a0}");
        format!("{} \u{2013} {}: {step}", a.id, b.id)
    };
    let steps: Vec<String> = picture.joints.iter().map(step).collect();
    canvas.paragraph("", BODY, &steps.join("; "));
}

/// The picture in words.
fn told(picture: &Picture, units: Units) -> String {
    let mut told = vec![picture.verdict.clone()];
    told.extend(limits(picture, units).into_iter().map(|limit| format!("{limit}.")));
    if picture.met {
        for point in picture.points.iter().take(MOST) {
            told.push(format!(
                "{}: {}.",
                point.id,
                stack(&point.shims, point.placed.as_deref(), units)
            ));
        }
    }
    told.join(" ")
}

/// A text cut to so many columns.
fn ellipsis(text: &str, most: usize) -> String {
    let mut text = shown(text);
    if columns(&text) > most {
        while columns(&text) >= most {
            text.pop();
        }
        text.push('\u{2026}');
    }
    text
}
