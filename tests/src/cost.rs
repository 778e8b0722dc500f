//! Documents that cost much: what the search for the worst one makes, and what a run of one costs.

use std::cell::Cell;
use std::time::Duration;

use serde_json::{Map, Value, json};
use truebed::{Budget, Job};

use crate::random::Random;

/// No document that a service takes is larger, bytes.
pub const MOST_BYTES: usize = 100_000;

/// What a document is made from: whole numbers, each in its own range, so that a search can change one
/// or two of them and see whether the document costs more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recipe(pub Vec<i64>);

/// The ingredients, with the least and the most of each.
const INGREDIENTS: [(&str, i64, i64); 38] = [
    ("seed", 0, 1_000_000),
    ("columns", 2, 30),
    ("rows", 2, 30),
    ("slates", 0, 1),
    ("kinds", 1, 128),
    ("thickness", 0, 4),
    ("finest um", 1, 400),
    ("count", 0, 40),
    ("overall um", 0, 400),
    ("along um", 0, 400),
    ("across um", 0, 400),
    ("step um", 0, 400),
    ("named", 0, 60),
    ("slope along", 0, 3000),
    ("slope across", 0, 3000),
    ("spread um", 1, 20_000),
    ("adjustable", 0, 4),
    ("step nm", 1, 100_000),
    ("sigma um", 0, 300),
    ("ties", 0, 600),
    ("candidates", 0, 40),
    ("rule", 0, 3),
    ("risk", 0, 3),
    ("order", 0, 3),
    ("placed", 0, 2),
    ("floor", 0, 2),
    ("play", 0, 1),
    ("pieces", 0, 1),
    ("stretch", 1, 40),
    ("most pieces", 0, 30),
    ("corners", 0, 300),
    ("obstacles", 0, 60),
    ("boxes", 0, 40),
    ("turning", 0, 1),
    ("lasers", 0, 12),
    ("prediction", 0, 1),
    ("sigma of kinds", 0, 2),
    ("jobs", 0, 100_000),
];

const MM: [&str; 4] = ["fewest-pieces", "flattest", "fewest-lifts", "cheapest"];

fn um(um: i64) -> Value {
    json!(format!("{} um", um))
}

impl Recipe {
    /// A recipe by chance, plain in most of what it has.
    pub fn new(random: &mut Random) -> Self {
        let mut recipe = Self(INGREDIENTS.iter().map(|&(_, least, _)| least).collect());
        recipe.put("columns", random.between(2, 5));
        recipe.put("rows", random.between(2, 4));
        recipe.put("kinds", random.between(2, 8));
        recipe.put("finest um", random.between(10, 100));
        recipe.put("overall um", random.between(20, 200));
        recipe.put("spread um", random.between(500, 6000));
        for _ in 0..random.between(2, 9) {
            recipe.change(random);
        }
        recipe
    }

    /// A recipe of these ingredients, the others as plain as can be.
    pub fn of_parts(parts: &[(&str, i64)]) -> Self {
        let mut recipe = Self(INGREDIENTS.iter().map(|&(_, least, _)| least).collect());
        parts.iter().for_each(|&(name, value)| recipe.put(name, value));
        recipe
    }

    fn of(&self, name: &str) -> i64 {
        let at = INGREDIENTS.iter().position(|&(it, ..)| it == name);
        at.map_or(0, |at| self.0[at])
    }

    fn put(&mut self, name: &str, value: i64) {
        if let Some(at) = INGREDIENTS.iter().position(|&(it, ..)| it == name) {
            self.0[at] = value.clamp(INGREDIENTS[at].1, INGREDIENTS[at].2);
        }
    }

    /// Changes one ingredient: a little, by a factor, or to anything.
    pub fn change(&mut self, random: &mut Random) {
        let at = random.between(0, INGREDIENTS.len() as i64 - 1) as usize;
        let (_, least, most) = INGREDIENTS[at];
        let now = self.0[at];
        let next = match random.between(0, 4) {
            0 => now + random.between(-2, 2),
            1 => now * 2 + 1,
            2 => now / 2,
            3 => now + now * random.between(-30, 30) / 100,
            _ => random.between(least, most),
        };
        self.0[at] = next.clamp(least, most);
    }

    /// The document.
    pub fn document(&self) -> Value {
        let mut random = Random(self.of("seed") as u64);
        let (columns, rows) = (self.of("columns"), self.of("rows"));
        let slates = self.of("slates") == 1;
        let ids: Vec<String> = (0..columns * rows).map(|at| format!("{at}")).collect();
        let spacing = 400 * self.of("stretch");
        let points: Vec<Value> = (0..columns * rows)
            .map(|at| {
                let (x, y) = (at % columns * spacing, at / columns * spacing);
                let role = if slates {
                    json!({ "slate": format!("s{}", at % columns * 3 / columns) })
                } else {
                    json!("leg")
                };
                json!({"id": ids[at as usize], "x": format!("{x} mm"), "y": format!("{y} mm"), "role": role})
            })
            .collect();
        let mut job = json!({"version": 1, "points": points, "stock": self.stock(&mut random)});
        job["readings"] = self.readings(&ids, &mut random);
        let candidates: Vec<Value> = (0..self.of("candidates"))
            .map(|at| {
                let point = &ids[(at as usize * 7) % ids.len()];
                json!({"kind": "height", "point": point, "value": "0 mm", "sigma": "10 um"})
            })
            .collect();
        if !candidates.is_empty() {
            job["candidates"] = json!(candidates);
        }
        let stage = self.stage(&ids, slates, &mut random);
        job[if slates { "slates" } else { "legs" }] = stage;
        if let Some(visit) = self.visit(&mut random) {
            job["visit"] = visit;
        }
        let jobs = self.of("jobs");
        if jobs > 0 && !slates {
            job["estimate"] = json!({"jobs": jobs, "floor": {"class": "DIN 18202 row 3"}});
            // Every other one before anything is read.
            if jobs % 2 == 0 {
                job["readings"] = json!([]);
            }
        }
        job
    }

    fn stock(&self, random: &mut Random) -> Value {
        let finest = self.of("finest um");
        let kinds = (0..self.of("kinds")).map(|at| {
            let thickness = match self.of("thickness") {
                0 => finest * (at + 1),
                1 => finest << at.min(12),
                2 => finest * 10 + at,
                3 => finest * 10 + 7 * at + random.between(0, 3),
                _ => random.between(finest, finest * 40),
            };
            let mut kind = json!({ "thickness": um(thickness + 1000 * (at / 100)) });
            let count = self.of("count");
            if count > 0 {
                kind["count"] = json!(random.between(0, count));
            }
            if self.of("sigma of kinds") > 0 {
                kind["sigma"] = json!("3 um");
            }
            if self.of("sigma of kinds") > 1 {
                kind["common_sigma"] = json!("2 um");
            }
            if self.of("order") == 3 {
                kind["price"] = json!(random.between(0, 50));
            }
            kind
        });
        let mut kinds: Vec<Value> = kinds.collect();
        let step = self.of("step nm").max(10);
        for kind in kinds.iter_mut().take(self.of("adjustable") as usize) {
            let from = random.between(100, 4000);
            kind["thickness"] = um(from);
            kind["adjusts"] = json!({"to": um(from + (step * 900_000 / 1000).min(20_000)), "step": format!("{step} nm")});
        }
        json!(kinds)
    }

    fn readings(&self, ids: &[String], random: &mut Random) -> Value {
        let spread = self.of("spread um");
        let sigma = self.of("sigma um");
        let heights: Vec<i64> = ids.iter().map(|_| -random.between(0, spread)).collect();
        let lasers = self.of("lasers");
        let mut readings: Vec<Value> = ids
            .iter()
            .zip(&heights)
            .enumerate()
            .map(|(at, (id, &height))| {
                let mut reading = json!({"kind": "height", "point": id, "value": um(height)});
                if sigma > 0 {
                    reading["sigma"] = um(sigma);
                }
                if sigma > 0 && lasers > 0 {
                    reading["setup"] = json!(format!("s{}", at as i64 % lasers));
                    reading["instrument"] = json!("laser");
                    reading["value"] = um(900_000 - height);
                }
                reading
            })
            .collect();
        let ties = if sigma > 0 { self.of("ties") } else { 0 };
        for _ in 0..ties {
            let a = random.between(0, ids.len() as i64 - 1) as usize;
            let b = random.between(0, ids.len() as i64 - 1) as usize;
            if a != b {
                let rise = heights[b] - heights[a] + random.between(-sigma, sigma);
                readings.push(json!({"kind": "rise", "a": ids[a], "b": ids[b], "value": um(rise), "sigma": um(sigma)}));
            }
        }
        json!(readings)
    }

    fn stage(&self, ids: &[String], slates: bool, random: &mut Random) -> Value {
        let mut limits = Map::new();
        for (field, name) in
            [("overall", "overall um"), ("along", "along um"), ("across", "across um")]
        {
            if self.of(name) > 0 {
                limits.insert(field.to_owned(), um(self.of(name)));
            }
        }
        for (field, name) in
            [("slope_along_um_per_m", "slope along"), ("slope_across_um_per_m", "slope across")]
        {
            if self.of(name) > 0 {
                limits.insert(field.to_owned(), json!(self.of(name)));
            }
        }
        let (columns, rows) = (self.of("columns"), self.of("rows"));
        let mut stage = json!({});
        if slates && self.of("step um") > 0 && columns > 3 {
            limits.insert("joint_step".to_owned(), um(self.of("step um")));
            let is_joint =
                |at: &i64| at % columns * 3 / columns != (at % columns - 1).max(0) * 3 / columns;
            let joints: Vec<Value> = (0..columns * rows)
                .filter(is_joint)
                .map(|at| json!([ids[at as usize - 1], ids[at as usize]]))
                .collect();
            stage["joints"] = json!(joints);
        }
        let named = (0..self.of("named")).map(|at| {
            let (a, b) = (at as usize % ids.len(), (at as usize * 5 + 1) % ids.len());
            json!({"points": [ids[a], ids[if a == b { (b + 1) % ids.len() } else { b }]], "within": um(20 + at)})
        });
        let named: Vec<Value> = named.collect();
        if !named.is_empty() {
            stage["named_limits"] = json!(named);
        }
        stage["limits"] = json!(limits);
        let mut options = json!({"order": MM[self.of("order") as usize]});
        if self.of("most pieces") > 0 {
            options["max_pieces"] = json!(self.of("most pieces"));
        }
        if self.of("risk") > 0 && self.of("sigma um") > 0 {
            options["risk"] = json!([0.4, 0.1, 0.01][self.of("risk") as usize - 1]);
            options["risk_of"] = json!(["each", "all"][self.of("risk") as usize % 2]);
        }
        stage["options"] = options;
        match self.of("rule") {
            1 => stage["decision"] = json!({"rule": "guard-band", "risk": 0.1}),
            2 => stage["decision"] = json!({"rule": "simple-acceptance"}),
            _ => {}
        }
        if self.of("placed") > 0 {
            let first = um(self.of("finest um"));
            let placed = ids.iter().step_by(self.of("placed") as usize);
            let stack = |id: &String| json!({"id": id, "shims": vec![first.clone(); random.between(0, 3) as usize]});
            stage["placed"] = placed.map(stack).collect();
        } else if !slates && self.of("floor") > 0 {
            stage["floor"] =
                json!(["DIN 18202 row 3", "ACI 117 flat"][self.of("floor") as usize - 1]);
        }
        if slates && self.of("play") == 1 {
            stage["play"] = json!({});
        }
        if slates && self.of("pieces") == 1 {
            let spacing = 400 * self.of("stretch");
            let pieces = (0..3).filter_map(|piece| {
                let of: Vec<i64> = (0..columns).filter(|x| x * 3 / columns == piece).collect();
                let (first, last) = (of.first()?, of.last()?);
                Some(json!({"name": format!("s{piece}"), "thickness": "25 mm",
                    "x": [format!("{} mm", first * spacing - 100), format!("{} mm", last * spacing + 100)],
                    "y": ["-100 mm", format!("{} mm", (rows - 1) * spacing + 100)]}))
            });
            stage["pieces"] = pieces.collect();
        }
        if self.of("prediction") == 1 {
            stage["write_prediction"] = json!(true);
        }
        stage
    }

    fn visit(&self, random: &mut Random) -> Option<Value> {
        let corners = self.of("corners");
        if corners < 4 && self.of("boxes") == 0 {
            return None;
        }
        let mut visit = json!({});
        if corners >= 4 {
            let around = (0..corners).map(|at| {
                let turn = std::f64::consts::TAU * at as f64 / corners as f64;
                let radius = 6000.0 + 1500.0 * random.unit();
                json!([
                    format!("{:.1} mm", radius * turn.cos()),
                    format!("{:.1} mm", radius * turn.sin())
                ])
            });
            let mut room = json!({"room": around.collect::<Vec<_>>(), "surface": ["2540 mm", "1270 mm"],
                "bare_frame": ["2440 mm", "1170 mm"]});
            let things = (0..self.of("obstacles")).map(|at| {
                let turn = at as f64 * 2.4;
                let (x, y) = (4000.0 * turn.cos(), 4000.0 * turn.sin());
                let corner = |dx: f64, dy: f64| json!([format!("{:.1} mm", x + dx), format!("{:.1} mm", y + dy)]);
                json!({"name": format!("t{at}"), "corners": [corner(0.0, 0.0), corner(60.0, 5.0), corner(30.0, 70.0)]})
            });
            room["obstacles"] = things.collect();
            room["free_turning"] = json!(self.of("turning") == 1);
            visit["room"] = room;
        }
        let boxes = self.of("boxes");
        if boxes > 0 {
            let of = |at: i64| json!({"name": format!("b{at}"), "size": [format!("{} mm", 900 + 13 * at), "600 mm", "300 mm"]});
            visit["boxes"] = (0..boxes).map(of).collect();
            visit["ways"] = (0..boxes)
                .map(|at| match at % 3 {
                    0 => json!({"kind": "corner", "name": format!("w{at}"), "widths": ["900 mm", "950 mm"], "height": "2 m", "turn_deg": 90.0}),
                    1 => json!({"kind": "landing", "name": format!("w{at}"), "size": ["1100 mm", "1200 mm"], "height": "2 m"}),
                    _ => json!({"kind": "stairs", "name": format!("w{at}"), "width": "850 mm", "head_room": "2 m"}),
                })
                .collect();
        }
        Some(visit)
    }
}

/// The time that this process has had processors, where the system says so; else the time by the clock.
pub fn processor_time() -> Duration {
    /// Of the system's clock for processes, a second.
    const TICKS: u64 = 100;
    let read = |path: &str| std::fs::read_to_string(path).ok();
    let of_thread = read("/proc/thread-self/schedstat");
    let of_thread = of_thread.and_then(|text| text.split(' ').next()?.parse::<u64>().ok());
    // Coarse, but with the time of threads that have ended: user time, then the system's.
    let of_all = read("/proc/self/stat").and_then(|text| {
        let mut fields = text.rsplit(") ").next()?.split(' ').skip(11);
        let mut next = || fields.next()?.parse::<u64>().ok();
        Some((next()? + next()?) * (1_000_000_000 / TICKS))
    });
    let nanoseconds = of_thread.max(of_all);
    nanoseconds.map_or_else(
        || {
            let clock = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
            clock.unwrap_or_default()
        },
        Duration::from_nanos,
    )
}

/// Whether the documents of [`Recipe`] have anything to say of an ingredient.
pub fn names() -> impl Iterator<Item = &'static str> {
    INGREDIENTS.iter().map(|&(name, ..)| name)
}

/// How often a whole run asks whether to stop, with so many nodes. The same on every machine.
///
/// # Errors
/// What the job is refused for.
pub fn asks(text: &str, nodes: u64) -> Result<u64, truebed::Error> {
    let asked = Cell::new(0);
    let ask = || {
        asked.set(asked.get() + 1);
        false
    };
    Job::from_json(text)?.run_until(&Budget { nodes, time_ms: None }, &ask)?;
    Ok(asked.get())
}
