//! What sheets, pictures and pages say: one word for one thing, three words for three states, and no
//! rounding that contradicts a verdict.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use serde_json::{Value, json};
use truebed::{CAUTIONS, Conformity, Job, Length, Limits, Picture, Shim, ShimProblem, Support};
use truebed::{Units, plan_shims};

fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good").join(name);
    fs::read_to_string(path).unwrap()
}

fn good(name: &str) -> Job {
    Job::from_json(&text(name)).unwrap()
}

/// Four legs at these heights, mm, with one kind of shim and an overall limit.
fn legs(heights: [f64; 4], limit_mm: f64, sigma: Option<&str>) -> Value {
    let at = [["0 mm", "0 mm"], ["2000 mm", "0 mm"], ["2000 mm", "1000 mm"], ["0 mm", "1000 mm"]];
    let points =
        (0..4).map(|n| json!({"id": format!("L{n}"), "x": at[n][0], "y": at[n][1], "role": "leg"}));
    let readings = (0..4).map(|n| {
        let mut reading =
            json!({"kind": "height", "point": format!("L{n}"), "value": format!("{} mm", heights[n])});
        if let Some(sigma) = sigma {
            reading["sigma"] = sigma.into();
        }
        reading
    });
    json!({
        "version": 1,
        "stock": [{"name": "steel leaf", "thickness": "1 mm"}],
        "points": points.collect::<Vec<_>>(),
        "readings": readings.collect::<Vec<_>>(),
        "legs": {"limits": {"overall": format!("{limit_mm} mm")}}
    })
}

fn job(document: &Value) -> Job {
    Job::from_json(&document.to_string()).unwrap()
}

fn with_hard_spaces_softened(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

/// Sheet, picture and page of a job.
fn shown(job: &Job) -> [(&'static str, String); 4] {
    [
        ("sheet", job.sheet().unwrap()),
        ("picture", job.picture().unwrap()),
        ("narrow picture", job.picture_narrow().unwrap()),
        ("page", job.page().unwrap()),
    ]
    .map(|(name, text)| (name, with_hard_spaces_softened(&text)))
}

/// The first figure of a text and the figure behind it in brackets, if there is one.
fn figures(text: &str) -> Vec<f64> {
    let numbers = text.split(|c: char| !c.is_ascii_digit() && c != '.' && c != '-');
    numbers.filter_map(|number| number.parse().ok()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// Differences a nanometre to a micrometre on either side of a limit: what is written of them is in
    /// the same order as they are, in every unit, wherever limits are shown.
    #[test]
    fn no_rounding_contradicts_a_verdict(
        limit_um in 30_i64..400,
        off_nm in prop_oneof![-1500_i64..1500, -3_i64..3],
        units in prop::sample::select(vec![Units::Metric, Units::Inch, Units::Both]),
    ) {
        let mm = |nm: i64| Length::from_nm(nm).mm();
        let range = 2 * limit_um * 1000 + off_nm;
        // Far less than a shim, so that only leaving all as it is can be within the limit.
        let mut document = legs([0.0, mm(-range), mm(-range / 2), 0.0], mm(limit_um * 1000), None);
        document["stock"][0]["thickness"] = "50 mm".into();
        let mut job = job(&document);
        job.units = units;
        let outcome = job.clone().run().unwrap().outcome.unwrap().legs.unwrap();
        prop_assert_eq!(outcome.met, off_nm <= 0);
        let svg = with_hard_spaces_softened(&job.picture().unwrap());
        let told = svg.split("<desc>").nth(1).unwrap().split("</desc>").next().unwrap();
        let row = told.split("overall: ").nth(1).unwrap();
        let (found, rest) = row.split_once(" found, ").unwrap();
        let (allowed, rest) = rest.split_once(" allowed, ").unwrap();
        let (found, allowed) = (figures(found), figures(allowed));
        prop_assert_eq!(found.len(), if units == Units::Both { 2 } else { 1 });
        for (found, allowed) in found.iter().zip(&allowed) {
            prop_assert_eq!(found <= allowed, off_nm <= 0, "{}", row);
        }
        let word = if off_nm <= 0 { "all points: met" } else { "all points: NOT MET" };
        prop_assert!(rest.contains(word), "{}", rest);
        if off_nm <= 0 {
            let sheet = job.sheet().unwrap();
            let line = sheet.lines().find(|line| line.starts_with("  overall")).unwrap();
            let [found, allowed] = figures(line)[..] else { panic!("{line}") };
            prop_assert!(found <= allowed && line.contains(" met "), "{}", line);
        }
    }
}

#[test]
fn three_states_have_three_words() {
    for (sigma, conformity, words) in [
        ("0.001 mm", Conformity::Met, "MET: by this plan"),
        ("0.05 mm", Conformity::CannotTell, "CANNOT TELL: "),
        ("10 mm", Conformity::NotMet, "NOT MET: expect a miss"),
    ] {
        let job = job(&legs([0.0, -1.0, -2.0, -0.95], 0.1, Some(sigma)));
        let legs = job.clone().run().unwrap().outcome.unwrap().legs.unwrap();
        let verdict = legs.verdict.unwrap();
        assert_eq!(verdict.conformity, conformity, "{verdict:?}");
        for (name, text) in shown(&job) {
            let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
            // Pictures break their lines by marks, but say it in one piece to those who do not see them.
            assert!(text.contains(words), "{name}: {text}");
        }
        let word = match legs.limits[0].conformity.unwrap() {
            Conformity::Met => "met",
            Conformity::NotMet => "NOT MET",
            _ => "CANNOT TELL",
        };
        let svg = job.picture().unwrap();
        assert!(svg.contains(&format!(">{word}</text>")), "{word}");
        assert_eq!(svg.contains(">met</text>"), word == "met");
    }
}

#[test]
fn a_verdict_that_cannot_tell_says_so_if_a_miss_is_to_be_expected() {
    let sheet = good("verdict-contradiction.job.json").sheet().unwrap();
    let words = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("CANNOT TELL: "), "{words}");
    assert!(!words.contains("NOT SURE"));
}

/// A plan that is not a job's shows what is uncertain as well.
#[test]
fn the_picture_of_a_plan_knows_of_uncertainty() {
    let support = |at: i64, nm: i64| Support {
        x: Length::from_nm(at * 700_000_000),
        y: Length::from_nm(at % 2 * 900_000_000),
        height: Length::from_nm(nm),
    };
    let supports = vec![support(0, 0), support(1, -1_000_000), support(2, -2_000_000)];
    let stock = vec![Shim::new(Length::from_nm(1_000_000), None)];
    let limits = Limits::overall(Length::from_nm(100_000));
    let mut problem = ShimProblem::new(supports, stock, limits);
    let picture =
        |problem: &ShimProblem| Picture::new(problem, &plan_shims(problem).unwrap()).unwrap();
    assert_eq!(picture(&problem).limits[0].conformity, Conformity::Met);
    let variance = 0.08 * 0.08;
    problem.covariance_mm2 =
        Some((0..9).map(|at| if at % 4 == 0 { variance } else { 0.0 }).collect());
    let unsure = picture(&problem);
    assert_eq!(unsure.limits[0].conformity, Conformity::CannotTell);
    assert!(unsure.verdict.contains("CANNOT TELL"), "{}", unsure.verdict);
}

#[test]
fn the_name_of_a_kind_is_wherever_its_piece_is() {
    let mut document = legs([0.0, -1.0, -2.0, -0.95], 0.1, None);
    document["legs"]["placed"] = json!([{"id": "L1", "shims": ["1 mm"]}]);
    let job = job(&document);
    for (name, text) in shown(&job) {
        // Once for each stack, and once in the stock where that is shown.
        assert!(text.matches("steel leaf").count() >= 3, "{name}: {text}");
    }
    let legs = job.run().unwrap().outcome.unwrap().legs.unwrap();
    assert_eq!(legs.stacks[2].names, ["steel leaf", "steel leaf"]);
    assert_eq!(legs.stacks[1].before_names, ["steel leaf"]);
    assert_eq!(legs.stock[0].name, "steel leaf");
    document["stock"][0]["name"] = "a\nb".into();
    let refused = truebed::run_job(&document.to_string()).unwrap_err();
    assert_eq!(refused.problems()[0].field, "stock[0].name");
}

#[test]
fn a_limit_of_your_own_is_shown_by_its_name() {
    let mut document = legs([0.0, -1.0, -2.0, -0.95], 0.1, Some("0.01 mm"));
    document["legs"]["named_limits"] = json!([
        {"points": ["L0", "L2"], "within": "0.2 mm"},
        {"name": "the seam by the window", "points": ["L1", "L2"], "within": "0.15 mm"}
    ]);
    let job = job(&document);
    for (name, text) in shown(&job) {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(text.contains("the seam by") && text.contains("named"), "{name}: {text}");
    }
    let limits = job.run().unwrap().outcome.unwrap().legs.unwrap().limits;
    let names: Vec<_> = limits.iter().map(|it| it.name.as_deref()).collect();
    assert_eq!(names, [None, None, Some("the seam by the window")]);
}

#[test]
fn points_where_nothing_is_done_have_no_box() {
    let sheet = good("demo.job.json").sheet().unwrap();
    let stage = good("demo.job.json").run().unwrap().outcome.unwrap().legs.unwrap();
    for row in &stage.stacks {
        let line = sheet.lines().find(|line| line[4.min(line.len())..].starts_with(&row.id));
        let line = line.unwrap_or_else(|| panic!("{}", row.id));
        assert_eq!(line.starts_with("[ ]"), !row.shims.is_empty(), "{line}");
    }
}

#[test]
fn no_line_ends_between_a_figure_and_its_unit() {
    for name in ["demo.job.json", "guarded.job.json", "surveyed.job.json", "visit.job.json"] {
        let sheet = good(name).sheet().unwrap();
        let lines: Vec<&str> = sheet.lines().collect();
        for pair in lines.windows(2) {
            let ends = pair[0].ends_with(|c: char| c.is_ascii_digit());
            let unit = pair[1].split_whitespace().next().unwrap_or_default();
            assert!(!ends || !["%", "mm", "in", "mm/m"].contains(&unit), "{name}: {pair:?}");
        }
    }
}

/// Inches only, slopes in in/ft, where the stock is in inches.
#[test]
fn an_inch_sheet_is_in_inches_throughout() {
    for name in ["demo.job.json", "sloping.job.json", "play-rolls-off.job.json"] {
        let mut job = good(name);
        job.units = Units::Inch;
        job.stock
            .retain(|shim| shim.thickness.nm() % 25_400 == 0 || shim.thickness.nm() % 396_875 == 0);
        if job.stock.is_empty() {
            job.stock = vec![
                Shim::new("1/32 in".parse().unwrap(), None),
                Shim::new("0.002 in".parse().unwrap(), None),
            ];
        }
        for stage in [&mut job.legs, &mut job.slates].into_iter().flatten() {
            stage.limits.line_width = "3/4 in".parse().unwrap();
        }
        for (of, text) in shown(&job) {
            let text = text.split("</style>").last().unwrap();
            let metric = text
                .split(|c: char| !c.is_alphanumeric() && c != '/')
                .find(|word| ["mm", "mm/m"].contains(word));
            assert_eq!(metric, None, "{name}, {of}: {text}");
        }
        assert!(job.sheet().unwrap().contains("in/ft"));
    }
}

#[test]
fn readings_are_called_by_what_they_read() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
    for entry in fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".done.json") {
            // The outcome is what comes after the document's own words.
            let sheet = Job::from_json(&text(&name)).unwrap().sheet_of_outcome();
            assert!(!sheet.contains("readings["), "{name}");
        }
    }
    let sheet = good("survey-blunder.job.json").sheet().unwrap();
    let words = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("L2→L3, rise, 2.200 mm (0.0866 in)"), "{words}");
}

#[test]
fn stacks_of_a_plan_that_misses_its_limits_are_marked() {
    for (name, marked) in [("stock-too-small.done.json", true), ("demo.done.json", false)] {
        let document: Value = serde_json::from_str(&text(name)).unwrap();
        let stacks = document["outcome"]["legs"]["stacks"].as_array().unwrap();
        let mark = |stack: &Value| stack.get("not_to_be_worked_by") == Some(&Value::Bool(true));
        assert!(stacks.iter().all(|stack| mark(stack) == marked), "{name}");
    }
}

#[test]
fn the_ball_is_read_by_its_older_name_too() {
    let old = text("play.job.json");
    assert!(old.contains("\"play\": {"));
    let new = old.replace("\"play\": {", "\"ball\": {");
    assert_eq!(truebed::run_job(&old), truebed::run_job(&new));
    let done: Value = serde_json::from_str(&truebed::run_job(&old).unwrap()).unwrap();
    assert!(done["slates"]["ball"].is_object() && done["outcome"]["slates"]["ball"].is_object());
    assert!(done["slates"].get("play").is_none());
    let both = old.replace("\"play\": {", "\"ball\": {}, \"play\": {");
    assert!(truebed::run_job(&both).is_err());
    let schema: Value = serde_json::from_str(&Job::json_schema()).unwrap();
    assert_eq!(schema["$defs"]["Stage"]["properties"]["play"]["deprecated"], true);
}

#[test]
fn cautions_come_before_stacks() {
    for svg in
        [good("demo.job.json").picture().unwrap(), good("demo.job.json").picture_narrow().unwrap()]
    {
        let drawn = svg.split("</style>").nth(1).unwrap();
        let stacks = drawn.find("Which shims under which point").unwrap();
        let first: String = CAUTIONS[4].split(' ').take(3).collect::<Vec<_>>().join(" ");
        assert!(drawn.find(&first).unwrap() < stacks);
    }
}

#[test]
fn a_narrow_picture_is_set_anew_and_not_shrunk() {
    let [wide, narrow] =
        [Job::picture, Job::picture_narrow].map(|draw| draw(&good("demo.job.json")).unwrap());
    let root = |svg: &str| -> (f64, f64) {
        let document = roxmltree::Document::parse(svg).unwrap();
        let size = |name| document.root_element().attribute(name).unwrap().parse().unwrap();
        (size("width"), size("height"))
    };
    assert_eq!((root(&wide).0, root(&narrow).0), (720.0, 380.0));
    assert!(root(&narrow).1 > root(&wide).1);
    for (svg, width) in [(&wide, 720.0), (&narrow, 380.0)] {
        let document = roxmltree::Document::parse(svg).unwrap();
        for text in document
            .descendants()
            .filter(|it| it.has_tag_name(("http://www.w3.org/2000/svg", "text")))
        {
            let number = |name: &str| text.attribute(name).unwrap().parse::<f64>().unwrap();
            // Letters are half as wide as they are high, near enough.
            let long = text.text().unwrap().chars().count() as f64 * number("font-size") * 0.5;
            let x = number("x");
            let [from, to] = match text.attribute("text-anchor") {
                Some("middle") => [x - long / 2.0, x + long / 2.0],
                Some("end") => [x - long, x],
                _ => [x, x + long],
            };
            assert!(from >= 0.0 && to <= width, "{:?} {from} {to}", text.text());
            assert!(number("font-size") >= 10.0);
        }
    }
}

/// A door leaf in a job's room is what its corners are.
#[test]
fn a_door_in_a_job_sweeps_what_its_corners_bound() {
    let with = |thing: Value| {
        let mut document: Value = serde_json::from_str(&text("visit.job.json")).unwrap();
        document["visit"]["room"]["obstacles"] = json!([thing]);
        truebed::run_job(&document.to_string())
    };
    let swing = |from: f64, to: f64| {
        json!({"name": "door", "swing": {
            "hinge": ["1000 mm", "0 mm"], "leaf": "800 mm", "from_deg": from, "to_deg": to}})
    };
    let door = truebed::Obstacle::swing("door", [1000.0, 0.0], 800.0, 0.0, 90.0);
    let corner = |mm: f64| format!("{:.6} mm", mm);
    let corners: Vec<_> = door.corners.iter().map(|it| it.map(corner)).collect();
    let place = |done: &str| {
        let done: Value = serde_json::from_str(done).unwrap();
        let place = &done["outcome"]["visit"]["place"];
        ["x_mm", "y_mm", "least_mm"].map(|field| place[field].as_f64().unwrap())
    };
    let by_swing = place(&with(swing(0.0, 90.0)).unwrap());
    let by_corners = place(&with(json!({"name": "door", "corners": corners})).unwrap());
    for (a, b) in by_swing.iter().zip(by_corners) {
        assert!((a - b).abs() < 1e-3, "{by_swing:?} {by_corners:?}");
    }
    for (thing, field) in [
        (swing(90.0, 90.0), "visit.room.obstacles[0].swing.to_deg"),
        (swing(0.0, 360.0), "visit.room.obstacles[0].swing.to_deg"),
        (
            json!({"name": "d", "corners": [["0 mm", "0 mm"], ["1 mm", "0 mm"], ["0 mm", "1 mm"]],
            "swing": swing(0.0, 90.0)["swing"]}),
            "visit.room.obstacles[0].swing",
        ),
    ] {
        let error = with(thing).unwrap_err();
        assert_eq!(error.problems()[0].field, field, "{error}");
    }
}

fn visit(change: impl FnOnce(&mut Value)) -> Result<Value, truebed::Error> {
    let mut document: Value = serde_json::from_str(&text("visit.job.json")).unwrap();
    change(&mut document);
    let done: Value = serde_json::from_str(&truebed::run_job(&document.to_string())?).unwrap();
    Ok(done["outcome"]["visit"].clone())
}

#[test]
fn the_next_step_waits_for_what_must_be_so() {
    let next = |change: &dyn Fn(&mut Value)| visit(|it| change(it)).unwrap()["next"].clone();
    assert_eq!(next(&|_| ()), "frame");
    // What is short in the van is known before anything begins.
    assert_eq!(next(&|it| it["visit"]["hardware"][0]["counted"] = 3.into()), "start");
    assert_eq!(next(&|it| it["visit"]["done"] = json!([])), "start");
    // Steps that were done go on as long as what must be so after them is.
    let done = json!(["start", "position", "frame", "legs", "legs-read"]);
    assert_eq!(next(&|it| it["visit"]["done"] = done.clone()), "centre");
    let passed = |off: &'static str| {
        let done = done.clone();
        move |it: &mut Value| {
            it["visit"]["done"] = done.clone();
            it["legs"]["placed"] = json!([]);
            for reading in it["readings"].as_array_mut().unwrap() {
                if reading["point"].as_str().is_some_and(|id| id.starts_with("leg")) {
                    let low = reading["point"] == "leg SW";
                    reading["value"] = if low { off } else { "0 mm" }.into();
                }
            }
        }
    };
    assert_eq!(next(&passed("0 mm")), "centre");
    // A leg that has sunk is shimmed again before a slate is laid on it.
    assert_eq!(next(&passed("-2 mm")), "legs");
}

#[test]
fn steps_that_do_not_exist_are_refused_all_at_once() {
    let refused = visit(|it| {
        it["visit"]["done"] = json!(["start", "paint", "varnish"]);
        it["visit"]["hardware"][0]["step"] = "polish".into();
    })
    .unwrap_err();
    let fields: Vec<_> = refused.problems().iter().map(|it| it.field.clone()).collect();
    assert_eq!(fields, ["visit.done[1]", "visit.done[2]", "visit.hardware[0].step"]);
}

#[test]
fn slates_that_a_job_describes_are_weighed() {
    let slate = |name: &str, x: [&str; 2]| json!({"name": name, "x": x, "y": ["0 mm", "1350 mm"], "thickness": "25 mm"});
    let found = visit(|it| {
        it["slates"]["pieces"] = json!([
            slate("west", ["0 mm", "860 mm"]),
            slate("centre", ["860 mm", "1740 mm"]),
            slate("east", ["1740 mm", "2600 mm"])
        ]);
        it["legs"]["limits"]["overall"] = "0.2 mm".into();
    })
    .unwrap();
    let boxes = found["boxes"].as_array().unwrap();
    let centre = boxes.iter().rfind(|it| it["what"] == "centre slate").unwrap();
    // 0.88 m × 1.35 m × 25 mm of 2793.6 kg/m³, by hand.
    assert!((centre["mass_kg"].as_f64().unwrap() - 82.969_92).abs() < 1e-6, "{centre}");
    assert_eq!(centre["people"], 4);
}

#[test]
fn sheet_and_page_tell_of_zone_rock_and_instruments() {
    let job = good("visit.job.json");
    for (name, text) in [("sheet", job.sheet().unwrap()), ("page", job.page().unwrap())] {
        let text = with_hard_spaces_softened(&text);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for words in ["the bare frame stands on", "Zone of the legs: "] {
            assert!(text.contains(words), "{name}: {words}");
        }
    }
    let page = with_hard_spaces_softened(&job.page().unwrap());
    assert!(page.contains("Read by, each with") && page.contains("in the van before"));
    let mut levelled = good("level-steps.job.json");
    levelled.units = Units::Metric;
    let page = with_hard_spaces_softened(&levelled.page().unwrap());
    assert!(page.contains("spirit level"), "{page}");
}
