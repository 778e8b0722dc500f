//! The picture of a bed: the plan with its stacks, a heat map before and after, and the list that a
//! crew works by.

use svg::node::Node;

use super::canvas::{BODY, Canvas, Held, MARGIN, WIDTH, width, wrapped};
use super::estimate_picture::draw_estimate;
use super::heat;
use super::picture::{Picture, PictureLimit, PicturePoint};
use super::places::{Frame, Room, spread};
use super::slates;
use super::stages::{bears, joint_steps, limit_name, sign_and_share, slate};
use crate::job::{EstimateOutcome, SlateOutcome, SlateSupportOutcome};
use crate::limits::LimitKind;
use crate::shown::{columns, shown};
use crate::units::{Unit, Units};
use crate::words::bed::force;
use crate::words::legend::{NOT_ALL_FIT, OF_MAPS, of_plan, of_surface, only_the_first};
use crate::words::plan::sloping;
use crate::words::stack::{pieces, stack, thicknesses};
use crate::words::{CAUTIONS, met};

/// More points than this are not drawn; the text sheet has them all.
const MOST: usize = 200;
const RADIUS: f64 = 12.0;
const SMALL: f64 = 12.0;

impl Picture {
    /// The picture as SVG, the same text on every run. It has no script, and a description says in
    /// words what it shows, for those who do not see it.
    pub fn svg(&self, units: Units) -> String {
        page(Canvas::new(), &self.title, &[self], None, units)
    }

    /// The same for the screen of a phone, 380 pixels wide: set anew and not shrunk, so that letters
    /// are as large as in the wide picture.
    pub fn svg_narrow(&self, units: Units) -> String {
        page(Canvas::narrow(), &self.title, &[self], None, units)
    }
}

/// A page with a title, with the cautions, with pictures one below the other, and with an estimate.
pub(super) fn page(
    mut canvas: Canvas,
    title: &str,
    pictures: &[&Picture],
    estimate: Option<&EstimateOutcome>,
    units: Units,
) -> String {
    let title = if title.trim().is_empty() { "Shim plan" } else { title };
    canvas.paragraph("strong", 18.0, title);
    canvas.heading("Before anyone lifts");
    for caution in CAUTIONS {
        canvas.paragraph("", BODY, &format!("! {caution}"));
    }
    canvas.y += 8.0;
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
    let told = pictures.iter().map(|picture| told(picture, units));
    // Whoever is read the description is not read the page.
    let cautions = CAUTIONS.map(str::to_owned).into_iter();
    let told: Vec<String> = cautions.chain(told).chain(estimated).collect();
    canvas.page(title, &told.join(" "))
}

/// The plan alone, for a page that has the list.
pub(super) fn plan_of(picture: &Picture, units: Units, narrow: bool) -> String {
    let mut picture = picture.clone();
    picture.points.truncate(MOST);
    picture.joints.retain(|sides| sides.iter().all(|&side| side < picture.points.len()));
    let mut canvas = if narrow { Canvas::narrow() } else { Canvas::new() };
    Plan::new(&picture).draw(&mut canvas, units);
    canvas.page(&picture.title, &told(&picture, units))
}

/// Whether the plan calls points by the numbers of the list, since names are too long for its marks.
pub(super) fn has_numbers(picture: &Picture) -> bool {
    !Plan::new(picture).named
}

fn draw(canvas: &mut Canvas, picture: &Picture, units: Units) {
    canvas.paragraph("strong", 15.0, &picture.verdict);
    limits(canvas, picture, units);
    for note in sloping(picture.slopes_mm_per_m, units).iter().chain(&picture.notes) {
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
    as_a_whole(canvas, picture, units);
}

/// A table of limits where there is room for one, else a line for each.
fn limits(canvas: &mut Canvas, picture: &Picture, units: Units) {
    const LINE: f64 = 16.0;
    const FOUND: f64 = 236.0;
    const ALLOWED: f64 = 330.0;
    const VERDICT: f64 = 346.0;
    const POINTS: f64 = 452.0;
    if canvas.is_narrow() {
        for limit in limits_in_words(picture, units) {
            canvas.paragraph("", BODY, &limit);
        }
        return;
    }
    if picture.limits.is_empty() {
        return;
    }
    canvas.y += 6.0;
    let (left, right) = (canvas.margin, canvas.width - canvas.margin);
    for (row, unit) in units.each().iter().enumerate() {
        canvas.y += LINE;
        let (y, unit) = (canvas.y, unit.name());
        if row == 0 {
            canvas.text("strong", SMALL, Held::Start, [left, y], "limit");
            canvas.text("strong", SMALL, Held::Start, [POINTS, y], "where it comes closest");
        }
        canvas.text("strong", SMALL, Held::End, [FOUND, y], &format!("found, {unit}"));
        canvas.text("strong", SMALL, Held::End, [ALLOWED, y], &format!("allowed, {unit}"));
    }
    canvas.y += 5.0;
    for limit in &picture.limits {
        canvas.line("faint", [left, canvas.y], [right, canvas.y]);
        let (sign, share) = sign_and_share(limit.limit);
        let name = limit_name(limit.limit, limit.name.as_deref());
        let names = wrapped(&name, 130.0, SMALL);
        let points = wrapped(&points_of(limit), right - POINTS, SMALL);
        let top = canvas.y + LINE - 1.0;
        let y = |row: usize| top + row as f64 * LINE;
        for (lines, x) in [(&names, left), (&points, POINTS)] {
            for (row, line) in lines.iter().enumerate() {
                canvas.text("", SMALL, Held::Start, [x, y(row)], line);
            }
        }
        for (row, unit) in units.each().iter().enumerate() {
            let figures = unit.against(limit.found_mm / share, limit.allowed_mm / share);
            for (figure, x) in figures.iter().zip([FOUND, ALLOWED]) {
                canvas.text("", SMALL, Held::End, [x, y(row)], &format!("{sign}{figure}"));
            }
        }
        canvas.text("strong", SMALL, Held::Start, [VERDICT, top], met(limit.conformity));
        let lines = names.len().max(points.len()).max(units.each().len());
        canvas.y = y(lines - 1) + 6.0;
    }
    canvas.line("faint", [left, canvas.y], [right, canvas.y]);
    canvas.y += 4.0;
}

/// The points where a limit comes closest.
fn points_of(limit: &PictureLimit) -> String {
    if limit.points.is_empty() { "all points".to_owned() } else { limit.points.join(", ") }
}

/// `overall: ±0.047 mm found, ±0.060 mm allowed, over all points: met`.
fn limits_in_words(picture: &Picture, units: Units) -> Vec<String> {
    let line = |limit: &PictureLimit| {
        let (sign, share) = sign_and_share(limit.limit);
        let [found, allowed] =
            units.against(sign, limit.found_mm / share, limit.allowed_mm / share);
        let name = limit_name(limit.limit, limit.name.as_deref());
        let (over, met) = (points_of(limit), met(limit.conformity));
        format!("{name}: {found} found, {allowed} allowed, over {over}: {met}")
    };
    picture.limits.iter().map(line).collect()
}

/// The points laid out on a rectangle, with room for labels around it.
struct Plan<'a> {
    picture: &'a Picture,
    /// Where the bed begins and ends along and across, mm.
    ends: [[f64; 2]; 2],
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
        let slabs = picture.slates.iter().flat_map(|slate| {
            let SlateOutcome { x_mm: [x0, x1], y_mm: [y0, y1], .. } = *slate;
            [[x0, y0], [x1, y1]]
        });
        let corners: Vec<[f64; 2]> = places.iter().copied().chain(slabs).collect();
        let ends = [0, 1].map(|axis| {
            corners.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], place| {
                [low.min(place[axis]), high.max(place[axis])]
            })
        });
        let extent = ends.map(|[low, high]| high - low);
        let longer = extent[0].max(extent[1]);
        let aspect = extent.map(|side| if longer > 0.0 { side / longer } else { 0.0 });
        let named = picture.points.iter().all(|point| width(&point.id, 1.0) < 2.0);
        let mut plan = Self { picture, ends, shares: Vec::new(), aspect, named };
        plan.shares = places.iter().map(|&place| plan.share(place)).collect();
        plan
    }

    /// Where a place is, from 0 to 1 along and across.
    fn share(&self, place: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|axis| {
            let [from, to] = self.ends[axis];
            if to > from { (place[axis] - from) / (to - from) } else { 0.5 }
        })
    }

    /// How far inside of a frame the bed begins: where it ends with the points, their marks need room.
    fn inset(&self, of_marks: f64) -> f64 {
        if self.picture.slates.is_empty() { of_marks } else { 0.0 }
    }

    /// What a point does under its slate, where that is computed.
    fn bears(&self, id: &str) -> Option<(&SlateSupportOutcome, &SlateOutcome)> {
        self.picture.slates.iter().find_map(|slate| {
            Some((slate.supports.iter().find(|support| support.id == id)?, slate))
        })
    }

    /// Whether a point bears nothing.
    fn is_loose(&self, point: &PicturePoint) -> bool {
        self.bears(&point.id)
            .is_some_and(|(support, slate)| !support.carries && slate.tips_about.is_none())
    }

    /// The lines over which slates tip: two points each.
    fn tipping(&self) -> impl Iterator<Item = [usize; 2]> {
        let about = self.picture.slates.iter().filter_map(|slate| slate.tips_about.as_ref());
        let place = |id: &String| self.picture.points.iter().position(|point| point.id == *id);
        about.filter_map(move |[a, b]| Some([place(a)?, place(b)?]))
    }

    /// How high the bed may be drawn, where one that is longer than wide is drawn so high: a bed that
    /// runs across the page has its length for its height.
    fn high(&self, lengthwise: f64) -> f64 {
        if self.aspect[1] > self.aspect[0] { 1.7 * lengthwise } else { lengthwise }
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
    fn places(&self, frame: Frame, inset: f64) -> Vec<[f64; 2]> {
        self.shares.iter().map(|&share| inside_of(frame, inset, share)).collect()
    }

    fn draw(&self, canvas: &mut Canvas, units: Units) {
        const ROOMY: usize = 8;
        let narrow = canvas.is_narrow();
        let few = self.picture.points.len() <= ROOMY && !narrow;
        let (side, ends) = match (few, narrow) {
            (true, _) => (170.0, 90.0),
            (_, true) => (60.0, 40.0),
            _ => (70.0, 40.0),
        };
        let (margin, wide) = (canvas.margin, canvas.width - 2.0 * canvas.margin);
        let high = self.high(330.0);
        let frame = self.frame([margin + side, 0.0], [wide - 2.0 * side, high]);
        let [x, y, w, h] = frame;
        let at = self.places(frame, self.inset(24.0));
        let marks = spread(&at, 2.0 * RADIUS + 4.0, [x + 12.0, y + 12.0, w - 24.0, h - 24.0]);
        let mut room = Room::new();
        for &[x, y] in &marks {
            room.take([x - RADIUS, y - RADIUS, 2.0 * RADIUS, 2.0 * RADIUS]);
        }
        let bounds = [margin, y - ends, wide, h + 2.0 * ends];
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
            canvas.line("joint", marks[a], marks[b]);
        }
        for [a, b] in self.tipping() {
            canvas.line("tips", marks[a], marks[b]);
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
        let tips = self.tipping().next().is_some();
        let loose = self.picture.points.iter().any(|point| self.is_loose(point));
        let legend = of_plan(self.named, !self.picture.joints.is_empty(), loose, tips);
        canvas.paragraph("soft", SMALL, &legend);
    }

    /// A point by its name, where all names are short, else by its number in the list.
    fn mark(&self, canvas: &mut Canvas, [x, y]: [f64; 2], at: usize) {
        let point = &self.picture.points[at];
        let classes: &[&str] = if self.is_loose(point) { &["paper", "dash"] } else { &["shape"] };
        for class in classes {
            if self.picture.met && point.shims.is_empty() {
                canvas.rect(class, [x - RADIUS, y - RADIUS, 2.0 * RADIUS, 2.0 * RADIUS]);
            } else {
                canvas.mark("circle", class, &[("cx", x), ("cy", y), ("r", RADIUS)]);
            }
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
            let stack = pieces(&point.shims, &point.names);
            let stack: Vec<(String, &str)> = thicknesses(&stack, units).collect();
            let shown = if stack.len() > 4 { 3 } else { stack.len() };
            for (thickness, name) in &stack[..shown] {
                lines.push(ellipsis(thickness, 26));
                lines.extend((!name.is_empty()).then(|| ellipsis(name, 26)));
            }
            if shown < stack.len() {
                lines.push(format!("and {} more kinds", stack.len() - shown));
            }
        } else {
            let figure = |unit: &Unit| format!("{} {}", unit.plain(point.lift_mm), unit.name());
            lines.extend(units.each().iter().map(figure));
        }
        if self.is_loose(point) {
            let bare = point.shims.is_empty();
            lines.push(if bare { "bears nothing" } else { "LOOSE" }.to_owned());
        } else if let Some((support, _)) = self.bears(&point.id).filter(|_| stacks) {
            lines.extend(support.force_n.map(force));
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

/// Where the points lie above or below the target, before and after, each on a scale of its own.
fn maps(canvas: &mut Canvas, picture: &Picture, plan: &Plan<'_>, units: Units) {
    const GAP: f64 = 32.0;
    type Of = fn(&PicturePoint) -> f64;
    let (before, after): (Of, Of) = (|point| point.before_mm, |point| point.after_mm);
    let highest = picture.points.iter().map(before).fold(f64::NEG_INFINITY, f64::max);
    // Without a plan there is no target: the highest is what the others are held against.
    let zero = if picture.met { 0.0 } else { highest };
    let shown: &[(&str, Of)] = match picture.met {
        true => &[("Off before", before), ("Off after, by the plan", after)],
        false => &[("As the points lie", before)],
    };
    canvas.heading(match picture.met {
        true => "Height above (+) or below (-) the target",
        false => "Height below the highest",
    });
    let limit = (picture.limits.iter())
        .find(|limit| limit.limit == LimitKind::Overall && picture.met)
        .map(|limit| limit.allowed_mm / 2.0);
    let narrow = canvas.is_narrow();
    let room = canvas.width - 2.0 * canvas.margin;
    let wide = if narrow { room } else { (room - GAP) / 2.0 };
    let (mut top, mut bottom) = (canvas.y, canvas.y);
    let mut left_out = false;
    for (column, (name, of)) in shown.iter().enumerate() {
        let left = match narrow {
            true => canvas.margin,
            false => canvas.margin + column as f64 * (wide + GAP),
        };
        if narrow && column > 0 {
            top = bottom + 16.0;
        }
        let values: Vec<f64> = picture.points.iter().map(|point| of(point) - zero).collect();
        // By the plan the slates show as they lie, between the points too.
        let lies = if column == 1 { &picture.slates[..] } else { &[] };
        let all: Vec<f64> = values.iter().copied().chain(slates::heights(lies)).collect();
        let size = all.iter().fold(0.0_f64, |size, mm| size.max(mm.abs()));
        let middle = left + wide / 2.0;
        canvas.text("strong", SMALL, Held::Middle, [middle, top + 14.0], name);
        let most = format!("at most {} off", units.figure("", size));
        canvas.text("", SMALL, Held::Middle, [middle, top + 30.0], &most);
        let scale = Scale::new(&all, limit);
        let frame = plan.frame([left, top + 40.0], [wide, plan.high(220.0)]);
        left_out |= map(canvas, frame, plan, lies, &values, &scale, units);
        canvas.y = frame[1] + frame[3] + 12.0;
        scale.draw(canvas, [left, wide], units);
        bottom = bottom.max(canvas.y);
    }
    canvas.y = bottom;
    canvas.paragraph("soft", SMALL, OF_MAPS);
    if let Some(step) = slates::contour_step(&picture.slates) {
        canvas.paragraph("soft", SMALL, &of_surface(step, units));
    }
    if left_out {
        canvas.paragraph("soft", SMALL, NOT_ALL_FIT);
    }
}

/// A place that is at shares of a frame, a little inside of it; y runs upwards.
fn inside_of([x, y, w, h]: Frame, inset: f64, [along, across]: [f64; 2]) -> [f64; 2] {
    [x + inset + along * (w - 2.0 * inset), y + h - inset - across * (h - 2.0 * inset)]
}

/// What the colours of a map mean.
struct Scale {
    low: f64,
    high: f64,
    /// How far a point may be off, mm.
    limit: Option<f64>,
}

impl Scale {
    fn new(values: &[f64], limit: Option<f64>) -> Self {
        let of_limit = limit.unwrap_or(0.0);
        let ends = values.iter().filter(|mm| mm.is_finite());
        let [low, high] =
            ends.fold([-of_limit, of_limit], |[low, high], &mm| [low.min(mm), high.max(mm)]);
        Self { low, high, limit }
    }

    /// Where a height stands on the scale, from 0 to 1.
    fn share(&self, mm: f64) -> f64 {
        match self.high > self.low {
            true => (mm - self.low) / (self.high - self.low),
            false => 0.5,
        }
    }

    /// The bar of colours, with marks at 0 and at the limits.
    fn draw(&self, canvas: &mut Canvas, [from, room]: [f64; 2], units: Units) {
        const STEPS: usize = 24;
        const SIDE: f64 = 88.0;
        let (left, wide) = (from + SIDE, room - 2.0 * SIDE);
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
            canvas.text("", SMALL, Held::End, [left - 6.0, y], &figure(self.low));
            canvas.text("", SMALL, Held::Start, [left + wide + 6.0, y], &figure(self.high));
        }
        let limits = self.limit.map_or([None, None], |limit| [Some(-limit), Some(limit)]);
        for mm in limits.into_iter().flatten().chain([0.0]) {
            if (self.low..=self.high).contains(&mm) {
                let x = left + wide * self.share(mm);
                let high = if mm == 0.0 { 19.0 } else { 24.0 };
                canvas.line("line", [x, top - 3.0], [x, top + high]);
            }
        }
        let words = match self.limit {
            Some(limit) => {
                let limit = units.figure("±", limit);
                format!("marks: 0 and the limit, {limit}")
            }
            None => "mark: 0".to_owned(),
        };
        let middle = from + room / 2.0;
        canvas.text("soft", 11.0, Held::Middle, [middle, top + 42.0], &words);
        canvas.y = top + 50.0;
    }
}

/// Draws a map; whether figures were left out because their patch has no room for them.
fn map(
    canvas: &mut Canvas,
    frame: Frame,
    plan: &Plan<'_>,
    lies: &[SlateOutcome],
    values: &[f64],
    scale: &Scale,
    units: Units,
) -> bool {
    const NAME: f64 = 10.0;
    let [x, y, w, h] = frame;
    let inset = plan.inset(16.0);
    let on_page = |place| inside_of(frame, inset, plan.share(place));
    slates::draw(canvas, lies, &on_page, &|mm| scale.share(mm));
    let at = plan.places(frame, inset);
    let marks = spread(&at, 13.0, [x + 8.0, y + 8.0, w - 16.0, h - 16.0]);
    let patches = heat::patches(&marks, frame);
    for (patch, &mm) in patches.iter().zip(values).filter(|_| lies.is_empty()) {
        canvas.polygon("patch", patch).assign("fill", heat::colour(scale.share(mm)).0);
    }
    let unit = units.each()[0];
    let mut left_out = false;
    let points = plan.picture.points.iter().zip(&marks).zip(&patches).zip(values);
    for (number, (((point, &[x, y]), patch), &mm)) in points.enumerate() {
        let ink = if heat::colour(scale.share(mm)).1 { "on-dark" } else { "on-light" };
        if mm.abs() < 0.0015 {
            canvas.mark("circle", ink, &[("cx", x), ("cy", y), ("r", 4.0)]);
        } else {
            let tip = if mm > 0.0 { -5.0 } else { 5.0 };
            canvas.polygon(ink, &[[x - 5.0, y - tip], [x + 5.0, y - tip], [x, y + tip]]);
        }
        // Figures and names only where the patch has room for them; the list has them all.
        let text = unit.signed(mm);
        let name = if plan.named { point.id.clone() } else { (number + 1).to_string() };
        let centre = [frame[0] + w, frame[1]];
        let (bounds, mut room) = (inside(patch), Room::new());
        room.take([x - 6.0, y - 6.0, 12.0, 12.0]);
        let mut spot = |size: [f64; 2]| {
            let middle = bounds[0] + bounds[2] / 2.0;
            let apart = 8.0 + size[1] / 2.0;
            room.beside([x, y], 4.0, size, centre, bounds)
                .or_else(|| room.centred([middle, y + apart], size, bounds))
                .or_else(|| room.centred([middle, y - apart], size, bounds))
        };
        match spot([width(&text, SMALL), 14.0]) {
            Some([x, y, w, _]) => {
                canvas.text(ink, SMALL, Held::Middle, [x + w / 2.0, y + 11.0], &text);
            }
            None => left_out = true,
        }
        if let Some([x, y, w, _]) = spot([width(&name, NAME), 12.0]) {
            canvas.text(ink, NAME, Held::Middle, [x + w / 2.0, y + 9.5], &name);
        }
    }
    canvas.rect("line", frame);
    left_out
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

/// Every point with its stack, in the order of work.
fn list(canvas: &mut Canvas, plan: &Plan<'_>, units: Units) {
    canvas.heading("The list");
    if canvas.is_narrow() {
        narrow_list(canvas, plan, units);
    } else {
        wide_list(canvas, plan, units);
    }
}

/// What a point is called in the list.
fn list_name(point: &PicturePoint) -> String {
    match &point.piece {
        Some(piece) => format!("{}, {piece}", point.id),
        None => point.id.clone(),
    }
}

/// The stack of a point in words.
fn stack_words(point: &PicturePoint, units: Units) -> String {
    let placed = point.placed.as_ref().map(|placed| pieces(placed, &point.placed_names));
    stack(&pieces(&point.shims, &point.names), placed.as_deref(), units)
}

fn highest(picture: &Picture) -> f64 {
    picture.points.iter().map(|it| it.before_mm).fold(f64::NEG_INFINITY, f64::max)
}

/// The list point below point, for a page that has no room for columns.
fn narrow_list(canvas: &mut Canvas, plan: &Plan<'_>, units: Units) {
    const LINE: f64 = 16.0;
    let picture = plan.picture;
    let (left, right) = (canvas.margin, canvas.width - canvas.margin);
    let (text, highest) = (left + 2.0 * RADIUS + 10.0, highest(picture));
    let signed = |mm: f64| units.signed(mm);
    for (at, point) in picture.points.iter().enumerate() {
        canvas.line("faint", [left, canvas.y], [right, canvas.y]);
        let top = canvas.y + LINE;
        plan.mark(canvas, [left + RADIUS, top + 0.5], at);
        let mut lines = vec![("strong", list_name(point))];
        if picture.met {
            lines.push(("", stack_words(point, units)));
            let bears = plan.bears(&point.id).map(|(support, slate)| bears(support, slate, units));
            lines.extend(bears.map(|words| ("", words)));
            lines.push(("soft", format!("lift {}", units.figure("", point.lift_mm))));
            lines.push(("soft", format!("off before {}", signed(point.before_mm))));
            lines.push(("soft", format!("off after {}", signed(point.after_mm))));
        } else {
            let below = units.figure("", highest - point.before_mm);
            lines.push(("", format!("{below} below the highest")));
        }
        let mut y = top + 4.0;
        for (class, words) in &lines {
            for line in wrapped(words, right - text, SMALL) {
                canvas.text(class, SMALL, Held::Start, [text, y], &line);
                y += LINE;
            }
        }
        canvas.y = y - 4.0;
    }
    canvas.line("faint", [left, canvas.y], [right, canvas.y]);
}

fn wide_list(canvas: &mut Canvas, plan: &Plan<'_>, units: Units) {
    let picture = plan.picture;
    const LINE: f64 = 16.0;
    const NAME: f64 = 56.0;
    const PILE: [f64; 2] = [178.0, 70.0];
    const SHIMS: [f64; 2] = [258.0, 214.0];
    const FIGURES: [f64; 3] = [542.0, 620.0, 696.0];
    let highest = highest(picture);
    let thickest = picture.points.iter().map(thickness).fold(0.0, f64::max);
    let names: Vec<&str> = units.each().iter().map(|unit| unit.name()).collect();
    canvas.y += LINE;
    let y = canvas.y;
    canvas.text("strong", SMALL, Held::Start, [NAME, y], "point");
    let heads: &[&str] = if picture.met {
        canvas.text("strong", SMALL, Held::Start, [PILE[0], y], "shims, thickest first");
        &["lift", "off before", "off after"]
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
        let wide = if picture.met { PILE[0] } else { FIGURES[1] } - NAME - 8.0;
        let names = wrapped(&list_name(point), wide, SMALL);
        let figures: &[f64] = match picture.met {
            true => &[point.lift_mm, point.before_mm, point.after_mm],
            false => &[highest - point.before_mm],
        };
        let shims =
            if picture.met { wrapped(&stack_words(point, units), SHIMS[1], SMALL) } else { vec![] };
        let bears = plan.bears(&point.id).map(|(support, slate)| bears(support, slate, units));
        let bears = bears.iter().flat_map(|words| wrapped(words, SHIMS[1], SMALL));
        let shims: Vec<String> = shims.into_iter().chain(bears).collect();
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

/// What the slates do as a whole.
fn as_a_whole(canvas: &mut Canvas, picture: &Picture, units: Units) {
    if picture.slates.is_empty() {
        return;
    }
    canvas.heading("The slates on these stacks");
    for of in &picture.slates {
        let words = format!("{}: {}", of.piece, slate(of, units).join(" "));
        canvas.paragraph("", BODY, &words);
    }
    for words in joint_steps(&picture.joint_steps, units) {
        canvas.paragraph("", BODY, &words);
    }
}

/// The picture in words.
fn told(picture: &Picture, units: Units) -> String {
    let mut told = vec![picture.verdict.clone()];
    told.extend(limits_in_words(picture, units).into_iter().map(|limit| format!("{limit}.")));
    if picture.met {
        for point in picture.points.iter().take(MOST) {
            told.push(format!("{}: {}.", point.id, stack_words(point, units)));
        }
        let points = picture.slates.iter().flat_map(|slate| {
            slate.supports.iter().map(move |it| format!("{} {}.", it.id, bears(it, slate, units)))
        });
        told.extend(points.take(MOST));
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
