//! The unknowns of a survey and what is known of them beforehand; everything that is wrong with it.

use std::fmt;

use foldhash::{HashMap, HashMapExt};

use super::instrument::{Instrument, PLANE_SIGMA};
use super::measured::Mm;
use super::network::{GROUND, Network, Row};
use super::settings::Surveyed;
use super::{Place, Survey};
use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;

struct LevelSeen<'a> {
    name: &'a str,
    /// The node of its zero error.
    node: usize,
    /// Default of its zero error's σ, mm/m.
    sigma: f64,
}

/// A set-up that readings name.
struct SetupSeen<'a> {
    name: &'a str,
    /// The node of its height.
    node: usize,
    instrument: Instrument,
    /// The nodes of the slopes of its plane, of a laser where places are known.
    slopes: Option<[usize; 2]>,
    /// σ of these slopes, mm/m.
    sigma: f64,
}

/// Where a height that counts as exact was stated.
#[derive(Clone, Copy)]
enum Told {
    Reading(usize),
    Fixed(usize),
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Reading(at) => write!(f, "readings[{at}].value"),
            Self::Fixed(at) => write!(f, "fixed[{at}].height"),
        }
    }
}

/// Reads a survey and collects what is wrong with it.
pub(super) struct Builder<'a> {
    survey: &'a Survey,
    found: Problems,
    ids: Vec<&'a str>,
    by_id: HashMap<&'a str, usize>,
    /// The node of each point.
    points: Vec<usize>,
    /// How many nodes there are, the ground among them.
    nodes: usize,
    setups: Vec<SetupSeen<'a>>,
    by_setup: HashMap<&'a str, usize>,
    /// The middle of the points, mm: planes of lasers tilt about it.
    middle: [f64; 2],
    /// The floor under each leg that floats.
    floors: HashMap<usize, usize>,
    levels: Vec<LevelSeen<'a>>,
    by_level: HashMap<&'a str, usize>,
    equations: Vec<Row>,
    left_out: Vec<(usize, Row)>,
    /// Heights that are known exactly, and where each was stated.
    exact: HashMap<usize, (f64, Told)>,
    typed: HashMap<usize, bool>,
    without: Vec<bool>,
}

impl<'a> Builder<'a> {
    pub(super) fn new(survey: &'a Survey) -> Self {
        let points = survey.places.len().max(survey.readings.len() / 2);
        let mut builder = Self {
            survey,
            found: Problems::default(),
            ids: Vec::with_capacity(points),
            by_id: HashMap::with_capacity(points),
            points: Vec::with_capacity(points),
            nodes: 1,
            setups: Vec::new(),
            by_setup: HashMap::new(),
            middle: middle(&survey.places),
            floors: HashMap::new(),
            levels: Vec::new(),
            by_level: HashMap::new(),
            equations: Vec::with_capacity(survey.readings.len()),
            left_out: Vec::new(),
            exact: HashMap::new(),
            typed: HashMap::new(),
            without: vec![false; survey.readings.len()],
        };
        let settings = &survey.settings;
        for (at, place) in survey.places.iter().enumerate() {
            if let Some(other) = builder.by_id.insert(&place.id, at) {
                let expected = format!("an id that points[{other}] does not have");
                let field = format!("points[{at}].id");
                builder.refuse(ProblemKind::Duplicate, field, format!("{:?}", place.id), expected);
            }
            builder.add_point(|| format!("points[{at}].id"), &place.id);
            for (name, length) in [("x", place.x), ("y", place.y)] {
                if length.abs() > Length::MAX {
                    let field = format!("points[{at}].{name}");
                    builder.refuse(ProblemKind::Value, field, length, "a length within ±1000 km");
                }
            }
        }
        for (name, value) in [("alpha", settings.alpha), ("power", settings.power)] {
            if !(value > 0.0 && value < 1.0) {
                builder.refuse(ProblemKind::Value, name, value, "a probability between 0 and 1");
            }
        }
        for (at, &reading) in settings.without.iter().enumerate() {
            match builder.without.get_mut(reading) {
                Some(without) => *without = true,
                None => {
                    let expected = format!("an index below {}", survey.readings.len());
                    let field = format!("without[{at}]");
                    builder.refuse(ProblemKind::Unknown, field, reading, expected);
                }
            }
        }
        for (at, level) in settings.levels.iter().enumerate() {
            let sigma = level.zero_sigma.mm_per_m;
            builder.check_sigma(|| format!("levels[{at}].zero_sigma"), sigma, "mm/m");
            if settings.levels[..at].iter().any(|other| other.name == level.name) {
                let got = format!("{:?}", level.name);
                let expected = "a level that has no entry yet";
                builder.refuse(ProblemKind::Duplicate, format!("levels[{at}].name"), got, expected);
            }
        }
        for (at, setup) in settings.setups.iter().enumerate() {
            let sigma = setup.slope_sigma.mm_per_m;
            builder.check_sigma(|| format!("setups[{at}].slope_sigma"), sigma, "mm/m");
            if settings.setups[..at].iter().any(|other| other.name == setup.name) {
                let got = format!("{:?}", setup.name);
                let expected = "a set-up that has no entry yet";
                builder.refuse(ProblemKind::Duplicate, format!("setups[{at}].name"), got, expected);
            }
        }
        builder
    }

    #[cold]
    pub(super) fn refuse(
        &mut self,
        kind: ProblemKind,
        field: impl Into<String>,
        got: impl std::fmt::Display,
        expected: impl Into<String>,
    ) {
        self.found.add(kind, field, got, expected);
    }

    /// Adds the equation of a reading.
    pub(super) fn add(&mut self, at: usize, mut row: Row) {
        self.finite(|| format!("readings[{at}].value"), row.value);
        if self.without[at] {
            self.left_out.push((at, row));
        } else {
            row.sigma = row.sigma.clamp(LEAST_SIGMA, Mm::MAX);
            row.reading = Some(at);
            self.equations.push(row);
        }
    }

    /// A height typed in: an equation where it has a σ, else the height that its point has.
    pub(super) fn typed(
        &mut self,
        at: usize,
        id: &str,
        point: usize,
        value: f64,
        sigma: Option<f64>,
    ) -> Option<Row> {
        let exact = sigma.is_none();
        if !self.without[at] {
            let twice = self.typed.insert(point, exact);
            if twice.is_some_and(|other| exact || other) {
                let expected = "one height, or a sigma with each";
                let got = format!("several heights of {id:?}, not all with a sigma");
                self.refuse(ProblemKind::Value, format!("readings[{at}]"), got, expected);
                return None;
            }
        }
        match sigma {
            Some(sigma) => Some(Row::rise(GROUND, point, value, sigma)),
            None if self.without[at] => Some(Row::rise(GROUND, point, value, 0.0)),
            None => {
                self.fix(point, value, Told::Reading(at));
                None
            }
        }
    }

    fn fix(&mut self, point: usize, value: f64, told: Told) {
        let &mut (other, by) = self.exact.entry(point).or_insert((value, told));
        if other != value {
            let expected = format!("{}, as {by} has it, or a sigma", Mm(other));
            self.refuse(ProblemKind::Value, told.to_string(), Mm(value), expected);
        }
    }

    /// The node of a point that a reading names; where no points are listed, this adds it to them.
    pub(super) fn point(&mut self, field: impl FnOnce() -> String, id: &'a str) -> Option<usize> {
        if !self.survey.places.is_empty() {
            return self.known_point(field, id).map(|at| self.points[at]);
        }
        let at = match self.by_id.get(id) {
            Some(&at) => at,
            None => {
                self.by_id.insert(id, self.ids.len());
                self.add_point(field, id);
                self.ids.len() - 1
            }
        };
        Some(self.points[at])
    }

    fn add_point(&mut self, field: impl FnOnce() -> String, id: &'a str) {
        if id.is_empty() {
            self.refuse(ProblemKind::Value, field(), "\"\"", "a name");
        }
        let node = self.node();
        self.ids.push(id);
        self.points.push(node);
    }

    /// The index of a point that is listed, or named by a reading.
    fn known_point(&mut self, field: impl FnOnce() -> String, id: &str) -> Option<usize> {
        let found = self.by_id.get(id).copied();
        if found.is_none() {
            self.refuse(ProblemKind::Unknown, field(), format!("{id:?}"), KNOWN);
        }
        found
    }

    pub(super) fn ends(&mut self, at: usize, a: &'a str, b: &'a str) -> Option<(usize, usize)> {
        let from = self.point(|| format!("readings[{at}].a"), a);
        let to = self.point(|| format!("readings[{at}].b"), b);
        let (from, to) = (from?, to?);
        if from == to {
            let field = format!("readings[{at}].b");
            self.refuse(ProblemKind::Value, field, format!("{b:?}, as a"), "another point than a");
            return None;
        }
        Some((from, to))
    }

    pub(super) fn finite(&mut self, field: impl FnOnce() -> String, value: f64) -> Option<f64> {
        let good = value.abs() <= Mm::MAX;
        if !good {
            self.refuse(ProblemKind::Value, field(), value, "a finite number, within ±1e9");
        }
        good.then_some(value)
    }

    /// A given σ in mm; none where none is given.
    pub(super) fn sigma(
        &mut self,
        field: impl FnOnce() -> String,
        sigma: Option<Mm>,
    ) -> Option<Option<f64>> {
        match sigma {
            None => Some(None),
            Some(Mm(sigma)) => self.check_sigma(field, sigma, "mm").then_some(Some(sigma)),
        }
    }

    pub(super) fn check_sigma(
        &mut self,
        field: impl FnOnce() -> String,
        sigma: f64,
        unit: &str,
    ) -> bool {
        let good = (LEAST_SIGMA..=Mm::MAX).contains(&sigma);
        if !good {
            let expected = match (sigma > 0.0, unit) {
                (false, "mm") => "a length above 0 mm".to_owned(),
                (false, _) => format!("a number of {unit} above 0"),
                _ => format!("from 1e-9 to 1e9 {unit}"),
            };
            self.refuse(ProblemKind::Value, field(), format!("{sigma} {unit}"), expected);
        }
        good
    }

    pub(super) fn span_of(&mut self, field: impl FnOnce() -> String, span: Mm) -> Option<f64> {
        let good = span.0 >= LEAST_SPAN && span.0 <= Mm::MAX;
        if !good {
            self.refuse(ProblemKind::Value, field(), span, SPAN);
        }
        good.then_some(span.0)
    }

    /// The horizontal distance that a slope is read over.
    pub(super) fn span(
        &mut self,
        at: usize,
        told: Option<Mm>,
        ends: Option<(usize, usize)>,
        stepped: Option<f64>,
    ) -> Option<f64> {
        let field = || format!("readings[{at}].span");
        if let Some(told) = told {
            return self.span_of(field, told);
        }
        let (a, b) = ends?;
        let [[ax, ay], [bx, by]] = match (self.place(a), self.place(b), stepped) {
            (Some(a), Some(b), _) => [a, b],
            (_, _, Some(stepped)) => return Some(stepped),
            _ => {
                let expected = "the distance from a to b, or the places of both";
                self.refuse(ProblemKind::Value, field(), "none", expected);
                return None;
            }
        };
        self.span_of(field, Mm((bx - ax).hypot(by - ay)))
    }

    fn place(&self, node: usize) -> Option<[f64; 2]> {
        self.survey.places.get(node - 1).map(xy)
    }

    /// How far a point lies from the middle of all, mm.
    pub(super) fn off_middle(&self, node: usize) -> Option<[f64; 2]> {
        let [x, y] = self.place(node)?;
        Some([x - self.middle[0], y - self.middle[1]])
    }

    /// The node of the floor under a leg that floats.
    pub(super) fn floor_under(&mut self, leg: usize) -> usize {
        if let Some(&floor) = self.floors.get(&leg) {
            return floor;
        }
        let floor = self.node();
        self.floors.insert(leg, floor);
        floor
    }

    /// Where a point lies on the way from `a` to `b`.
    pub(super) fn part(
        &mut self,
        at: usize,
        told: Option<f64>,
        p: usize,
        a: usize,
        b: usize,
    ) -> Option<f64> {
        let field = format!("readings[{at}].at");
        let places = [self.place(p), self.place(a), self.place(b)];
        let part = match (told, places) {
            (Some(told), _) => told,
            (None, [Some([px, py]), Some([ax, ay]), Some([bx, by])]) => {
                let (dx, dy, ex, ey) = (bx - ax, by - ay, px - ax, py - ay);
                let length = dx.hypot(dy);
                if (dx * ey - dy * ex).abs() > length * length * OFF_LINE {
                    let got = format!("{:?} beside the line", self.ids[p - 1]);
                    let expected =
                        "a point on the line between those that the straightedge rests on";
                    let field = format!("readings[{at}].point");
                    self.refuse(ProblemKind::Geometry, field, got, expected);
                    return None;
                }
                (dx * ex + dy * ey) / (length * length)
            }
            _ => {
                let expected = "a number between 0 (at a) and 1 (at b), or the places of all three";
                self.refuse(ProblemKind::Value, field, "none", expected);
                return None;
            }
        };
        if !(part > 0.0 && part < 1.0) {
            let expected = "a number between 0 (at a) and 1 (at b)";
            self.refuse(ProblemKind::Value, field, part, expected);
            return None;
        }
        Some(part)
    }

    fn node(&mut self) -> usize {
        self.nodes += 1;
        self.nodes - 1
    }

    /// The node of a set-up's height, and those of the slopes of its plane.
    pub(super) fn setup(
        &mut self,
        at: usize,
        name: &'a str,
        instrument: Instrument,
    ) -> (usize, Option<[usize; 2]>) {
        let seen = match self.by_setup.get(name) {
            Some(&seen) => seen,
            None => {
                let node = self.node();
                let tilts = instrument == Instrument::Laser && !self.survey.places.is_empty();
                let slopes = tilts.then(|| [self.node(), self.node()]);
                self.by_setup.insert(name, self.setups.len());
                let sigma = PLANE_SIGMA;
                self.setups.push(SetupSeen { name, node, instrument, slopes, sigma });
                self.setups.len() - 1
            }
        };
        let SetupSeen { node, slopes, instrument: with, .. } = self.setups[seen];
        if with != instrument {
            let field = format!("readings[{at}].instrument");
            let expected = format!("{with}, as in other readings of the set-up {name:?}");
            self.refuse(ProblemKind::Value, field, instrument, expected);
        }
        (node, slopes)
    }

    /// The node of a level's zero error, whose σ is at least the one given.
    pub(super) fn level(&mut self, name: &'a str, sigma: f64) -> usize {
        let level = match self.by_level.get(name) {
            Some(&level) => level,
            None => {
                let node = self.node();
                self.by_level.insert(name, self.levels.len());
                self.levels.push(LevelSeen { name, node, sigma: 0.0 });
                self.levels.len() - 1
            }
        };
        let seen = &mut self.levels[level];
        seen.sigma = seen.sigma.max(sigma);
        seen.node
    }

    /// Takes the heights that are known beforehand: exact ones as such, the others as equations.
    fn fixed_heights(&mut self) -> Vec<Row> {
        let mut beforehand = Vec::new();
        let mut seen = HashMap::new();
        for (at, fixed) in self.survey.settings.fixed.iter().enumerate() {
            let field = |name: &str| format!("fixed[{at}].{name}");
            let height = self.finite(|| field("height"), fixed.height.0);
            let sigma = self.sigma(|| field("sigma"), fixed.sigma);
            let point = self.known_point(|| field("point"), &fixed.point);
            let point = point.map(|at| self.points[at]);
            let (Some(height), Some(sigma), Some(point)) = (height, sigma, point) else { continue };
            if seen.insert(point, at).is_some() {
                let got = format!("{:?}", fixed.point);
                self.refuse(ProblemKind::Duplicate, field("point"), got, "a point fixed once");
                continue;
            }
            match sigma {
                Some(sigma) => beforehand.push(Row::rise(GROUND, point, height, sigma)),
                None => self.fix(point, height, Told::Fixed(at)),
            }
        }
        beforehand
    }

    /// The points of the datum, by index. It has none where heights are `tied` to the ground.
    fn datum(&mut self, tied: bool) -> Vec<usize> {
        let mut datum = Vec::new();
        for (at, id) in self.survey.settings.datum.iter().enumerate() {
            let field = || format!("datum[{at}]");
            if let Some(point) = self.known_point(field, id) {
                if datum.contains(&point) {
                    let got = format!("{id:?}");
                    self.refuse(ProblemKind::Duplicate, field(), got, "a point named once");
                }
                datum.push(point);
            }
        }
        if tied && !datum.is_empty() {
            let got = format!("{} points, where heights are fixed or typed in", datum.len());
            self.refuse(ProblemKind::Value, "datum", got, "none then");
        }
        datum
    }

    /// Takes the stated uncertainties of levels and lasers in place of the defaults.
    fn stated_uncertainties(&mut self) {
        let settings = &self.survey.settings;
        for (at, level) in settings.levels.iter().enumerate() {
            match self.by_level.get(level.name.as_str()) {
                Some(&name) => self.levels[name].sigma = level.zero_sigma.mm_per_m,
                None => {
                    let got = format!("{:?}", level.name);
                    let expected = "the name of a level that a reading names";
                    let field = format!("levels[{at}].name");
                    self.refuse(ProblemKind::Unknown, field, got, expected);
                }
            }
        }
        for (at, setup) in settings.setups.iter().enumerate() {
            let seen = self.by_setup.get(setup.name.as_str()).copied();
            match seen.filter(|&seen| self.setups[seen].instrument == Instrument::Laser) {
                Some(seen) => self.setups[seen].sigma = setup.slope_sigma.mm_per_m,
                None => {
                    let got = format!("{:?}", setup.name);
                    let expected = "the name of a set-up that a laser reads from";
                    let field = format!("setups[{at}].name");
                    self.refuse(ProblemKind::Unknown, field, got, expected);
                }
            }
        }
    }

    /// The network, if nothing is wrong.
    pub(super) fn finish(mut self) -> Result<Network<'a>, Error> {
        let settings = &self.survey.settings;
        let mut beforehand = self.fixed_heights();
        let grounded = |row: &Row| row.terms.iter().any(|&(node, by)| node == GROUND && by != 0.0);
        let tied =
            !self.exact.is_empty() || !beforehand.is_empty() || self.equations.iter().any(grounded);
        let mut datum = self.datum(tied);
        self.stated_uncertainties();
        if self.ids.is_empty() {
            self.refuse(ProblemKind::Shape, "readings", "none", "at least one");
        }
        self.found.into_result()?;

        let mut known = vec![None; self.nodes];
        known[GROUND] = Some(0.0);
        for (point, (height, _)) in &self.exact {
            known[*point] = Some(*height);
        }
        let mut reported = self.points;
        if settings.surface == Surveyed::Floor && !self.floors.is_empty() {
            for node in &mut reported {
                *node = self.floors.get(node).copied().unwrap_or(*node);
            }
        }
        self.equations.append(&mut beforehand);
        let zeros = self.levels.iter().map(|level| Row::of_zero(level.node, level.sigma));
        self.equations.extend(zeros);
        for SetupSeen { slopes, sigma, .. } in &self.setups {
            let slopes = slopes.iter().flatten();
            self.equations.extend(slopes.map(|&slope| Row::of_zero(slope, *sigma)));
        }
        let is_laser = |setup: &&SetupSeen<'_>| setup.instrument == Instrument::Laser;
        let lasers = self.setups.iter().filter(is_laser);
        if datum.is_empty() {
            datum = (0..self.ids.len()).collect();
        }
        Ok(Network {
            reported,
            planes: lasers.map(|setup| (setup.name, setup.slopes, setup.sigma)).collect(),
            setups: self.setups.iter().map(|setup| (setup.name, setup.node)).collect(),
            ids: self.ids,
            levels: (self.levels.iter())
                .map(|level| (level.name, level.node, level.sigma))
                .collect(),
            known,
            equations: self.equations,
            left_out: self.left_out,
            count: self.survey.readings.len(),
            datum,
            places: self.survey.places.iter().map(xy).collect(),
        })
    }
}

/// Weights are 1/σ²: beyond this they would not be numbers.
pub(super) const LEAST_SIGMA: f64 = 1e-9;

/// No level is shorter.
pub(super) const LEAST_SPAN: f64 = 1e-3;
pub(super) const SPAN: &str = "a length of at least 0.001 mm, at most 1000 km";

/// How far a straightedge's point may lie beside its line, as a part of the length between its
/// rests.
const OFF_LINE: f64 = 0.05;

const KNOWN: &str = "the id of a point";

fn xy(place: &Place) -> [f64; 2] {
    [place.x.mm(), place.y.mm()]
}

/// The mean place.
fn middle(places: &[Place]) -> [f64; 2] {
    let count = places.len().max(1) as f64;
    [0, 1].map(|axis| places.iter().map(|place| xy(place)[axis]).sum::<f64>() / count)
}
