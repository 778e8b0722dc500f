//! The pictures: XML to the letter, with everything that a crew works by, and nothing in them that
//! a job could smuggle in.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use truebed::{
    CAUTIONS, Job, Length, Limits, Obstacle, Picture, PlaceOptions, Placed, Reading, Shim,
    ShimPlan, ShimProblem, Support, Survey, Units, adjust, place, plan_shims, room_picture,
    room_picture_narrow, survey_picture, survey_picture_narrow, tradeoff, tradeoff_picture,
    tradeoff_picture_narrow,
};
use truebed_tests::browser::{MEASURE, browse, browser, measured};

/// All texts of a picture, after it has been looked at.
fn texts(svg: &str) -> Vec<String> {
    const KNOWN: [&str; 10] =
        ["svg", "title", "desc", "style", "rect", "line", "circle", "polygon", "text", "g"];
    let document = roxmltree::Document::parse(svg).unwrap();
    let root = document.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    assert!(!root.attribute("aria-label").unwrap().is_empty());
    for name in ["title", "desc"] {
        let told =
            root.children().find(|child| child.has_tag_name(("http://www.w3.org/2000/svg", name)));
        assert!(!told.unwrap().text().unwrap().trim().is_empty(), "{name}");
    }
    let mut texts = Vec::new();
    for element in root.descendants().filter(roxmltree::Node::is_element) {
        assert!(KNOWN.contains(&element.tag_name().name()), "{:?}", element.tag_name());
        for attribute in element.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!name.starts_with("on") && !["href", "src", "id"].contains(&name), "{name}");
            assert!(
                name == "aria-label" || !value.contains("NaN") && !value.contains("inf"),
                "{name}={value}"
            );
        }
        if element.tag_name().name() == "text" {
            texts.push(element.text().unwrap_or_default().replace('\u{a0}', " "));
        }
    }
    texts
}

/// On the page, and in what is told to those who do not see it.
fn assert_cautions(svg: &str) {
    let texts = texts(svg);
    let told = svg.split("<desc>").nth(1).unwrap().split("</desc>").next().unwrap();
    assert!(CAUTIONS.iter().all(|caution| told.contains(caution)));
    let all = texts.join(" ");
    for caution in CAUTIONS {
        assert!(all.contains(caution), "{caution}");
    }
}

fn good(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good").join(name);
    Job::from_json(&fs::read_to_string(path).unwrap()).unwrap()
}

#[test]
fn every_good_job_has_a_picture_with_all_that_a_crew_works_by() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
    let mut seen = 0;
    for entry in fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if !name.ends_with(".job.json") {
            continue;
        }
        seen += 1;
        for units in [Units::Metric, Units::Inch, Units::Both] {
            let job = Job { units, ..good(&name) };
            let svg = job.picture().unwrap();
            assert_eq!(svg, job.picture().unwrap(), "{name}");
            let texts = texts(&svg);
            assert_cautions(&svg);
            let all = texts.join(" ");
            let outcome = job.clone().run().unwrap().outcome.unwrap();
            // Plates alone are not drawn: there is the page with its cautions and no list.
            let staged = outcome.legs.is_some() || outcome.slates.is_some();
            for stage in [outcome.legs, outcome.slates].into_iter().flatten() {
                for row in &stage.stacks {
                    assert!(all.contains(&row.id), "{name}: {}", row.id);
                    for shim in row.shims.iter().filter(|_| stage.met && units == Units::Metric) {
                        assert!(all.contains(&shim.to_string()), "{name}: {shim}");
                    }
                }
                assert_eq!(all.contains("NO PLAN"), !stage.met, "{name}");
            }
            let heads = ["mm", "in", "mm, in"].map(|head| texts.iter().any(|text| text == head));
            let expected =
                [Units::Metric, Units::Inch, Units::Both].map(|each| staged && each == units);
            assert_eq!(heads, expected, "{name}");
        }
    }
    assert!(seen > 10);
}

#[test]
fn a_plan_that_is_not_to_be_worked_by_shows_no_stacks() {
    let texts = texts(&good("stock-too-small.job.json").picture().unwrap());
    assert!(texts.iter().any(|text| text.contains("NO PLAN")));
    assert!(!texts.iter().any(|text| text == "lift" || text == "stays"), "{texts:?}");
}

#[test]
fn a_job_cannot_smuggle_markup_in() {
    let hostile = "</text><script>alert(1)</script> & \" ' ]]> &#0; \u{0}\u{7}\u{202e}\u{fffe}";
    let id = "<b onload='x'>&amp;\"\u{202e}";
    let text = serde_json::to_string(&good("demo.job.json")).unwrap();
    let text = text.replace("\"leg NW\"", &serde_json::to_string(id).unwrap());
    let mut job = Job::from_json(&text).unwrap();
    job.title = hostile.to_owned();
    let svg = job.picture().unwrap();
    let texts = texts(&svg);
    assert!(texts.iter().any(|text| text.contains("<script>")), "escaped and legible");
    assert!(texts.iter().any(|text| text.starts_with("<b onload")));
    assert!(!svg.contains("<script") && !svg.contains("<b ") && !svg.contains('\u{202e}'));
}

#[test]
fn a_picture_is_of_a_plan_for_its_problem() {
    let problem = |count: usize, stock: &[&str]| {
        let support = |at: usize| Support {
            x: Length::from_nm(at as i64 * 1_000_000_000),
            y: Length::ZERO,
            height: Length::from_nm(-2_000_000 * at as i64),
        };
        let stock = stock.iter().map(|it| Shim::new(it.parse().unwrap(), None)).collect();
        let limits = Limits::overall(Length::from_nm(100_000));
        ShimProblem::new((0..count).map(support).collect(), stock, limits)
    };
    let (three, four) = (problem(3, &["1 mm"]), problem(4, &["1 mm"]));
    let plan = plan_shims(&three).unwrap();
    assert!(Picture::new(&three, &plan).is_ok());
    assert_eq!(Picture::new(&four, &plan).unwrap_err().problems()[0].field, "plan");
    let two_kinds = problem(3, &["3 mm", "1 mm"]);
    let plan = plan_shims(&two_kinds).unwrap();
    assert!(Picture::new(&three, &plan).is_err());
    let mut placed = two_kinds.clone();
    placed.placed = Some(Placed { stacks: vec![vec![7]], settings: vec![] });
    assert!(Picture::new(&placed, &plan).is_err());
    let mut joints = two_kinds.clone();
    joints.joints = vec![[0, 9]];
    assert!(Picture::new(&joints, &plan).is_err());
}

fn some_plans() -> Vec<ShimPlan> {
    let job = good("demo.job.json");
    let support = |at: i64| Support {
        x: Length::from_nm(at * 700_000_000),
        y: Length::from_nm(at % 2 * 900_000_000),
        height: Length::from_nm(-at * at * 170_000),
    };
    let limits = Limits::overall(Length::from_nm(200_000));
    let problem = ShimProblem::new((0..4).map(support).collect(), job.stock, limits);
    tradeoff(&problem).unwrap()
}

#[test]
fn a_trade_off_has_a_picture() {
    let plans = some_plans();
    assert!(plans.len() > 2);
    for units in [Units::Metric, Units::Inch, Units::Both] {
        let svg = tradeoff_picture(&plans, units);
        assert_eq!(svg.matches("<circle").count(), plans.len());
        let texts = texts(&svg);
        for plan in &plans {
            assert!(texts.contains(&plan.pieces.to_string()), "{texts:?}");
        }
    }
    texts(&tradeoff_picture::<truebed::TradeoffMark>([], Units::Both));
    texts(&tradeoff_picture(&plans[..1], Units::Both));
}

#[test]
fn a_survey_has_a_picture_with_its_suspects() {
    let rise = |a: &str, b: &str, mm: f64| Reading::rise(a, b, mm, Some(0.01));
    let mut readings = vec![rise("A", "B", 1.0), rise("B", "C", 1.0), rise("A", "C", 2.0)];
    let drawn = |survey: &Survey| {
        let heights = adjust(survey).unwrap();
        texts(&survey_picture_narrow(&heights, Units::Inch));
        survey_picture(&heights, Units::Metric)
    };
    let clear = drawn(&Survey::new(readings.clone()));
    assert!(!texts(&clear).iter().any(|text| text.contains("SUSPECT")));
    readings.push(rise("A", "C", 2.5));
    let survey = Survey::new(readings.clone());
    let words = texts(&drawn(&survey)).join(" ");
    assert!(words.contains("The other readings speak against A→C, rise, 2.500 mm"), "{words}");
    assert!(words.contains(" A→B, rise, 1.000 mm "), "{words}");
    assert!(words.contains("SUSPECT") && words.contains("critical"));
    let without = drawn(&survey.without(3));
    assert!(texts(&without).iter().any(|text| text.contains("left out")));
    readings.extend((0..200).map(|at| rise("A", "D", f64::from(at) * 1e-4)));
    let many = drawn(&Survey::new(readings));
    assert!(texts(&many).join(" ").contains("60 of 204"));
}

/// Every kind of picture in both forms, by its name, with names that are hard to set.
fn every_kind() -> Vec<(String, String)> {
    const UNBROKEN: &str = "AnUnbrokenNameOfAPointThatGoesOnAndOnWithoutAnySpaceInIt";
    let text = serde_json::to_string(&good("visit.job.json")).unwrap();
    let long = text.replace("\"leg NW\"", "\"الزاوية الشمالية الغربية للطاولة\"");
    let long = long.replace("\"W2\"", &format!("{UNBROKEN:?}")).replace("hearth", UNBROKEN);
    let jobs = ["visit", "demo", "estimate", "slates-lie", "adjustable"]
        .map(|name| (name.to_owned(), good(&format!("{name}.job.json")).run().unwrap()));
    let long = Job::from_json(&long).unwrap().run().unwrap();
    let mut kinds = Vec::new();
    for (name, job) in jobs.into_iter().chain([("long".to_owned(), long)]) {
        kinds.push((name.clone(), job.picture_of_outcome()));
        kinds.push((format!("{name}, narrow"), job.picture_narrow_of_outcome()));
    }
    let rise = |a: &str, b: &str, mm: f64| Reading::rise(a, b, mm, Some(0.01));
    let readings =
        vec![rise(UNBROKEN, "B", 1.0), rise("B", "رأس", 1.0), rise(UNBROKEN, "رأس", 2.5)];
    let heights = adjust(&Survey::new(readings)).unwrap();
    kinds.push(("survey".to_owned(), survey_picture(&heights, Units::Both)));
    kinds.push(("survey, narrow".to_owned(), survey_picture_narrow(&heights, Units::Both)));
    let plans = some_plans();
    kinds.push(("trade-off".to_owned(), tradeoff_picture(&plans, Units::Both)));
    kinds.push(("trade-off, narrow".to_owned(), tradeoff_picture_narrow(&plans, Units::Both)));
    let room = [[0.0, 0.0], [7e3, 0.0], [7e3, 3.7e3], [4.8e3, 3.7e3], [4.8e3, 5.2e3], [0.0, 5.2e3]];
    let post = Obstacle {
        name: UNBROKEN.to_owned(),
        corners: vec![[0.0, 2e3], [300.0, 2e3], [0.0, 2.4e3]],
    };
    let options = PlaceOptions { obstacles: vec![post], ..PlaceOptions::default() };
    let place = place(&room, [2540.0, 1270.0], &options).unwrap();
    kinds.push(("room".to_owned(), room_picture("", &room, &options, &place, Units::Both)));
    let narrow = room_picture_narrow("", &room, &options, &place, Units::Both);
    kinds.push(("room, narrow".to_owned(), narrow));
    kinds
}

#[test]
fn every_kind_has_a_form_for_a_phone() {
    for (name, svg) in every_kind() {
        texts(&svg);
        let wide = if name.ends_with(", narrow") { "width=\"380\"" } else { "width=\"720\"" };
        assert!(svg.contains(wide), "{name}");
    }
}

/// In a browser no text reaches beyond its picture.
#[test]
fn a_browser_shows_all_of_every_picture() {
    let Some(browser) = browser() else { return };
    for (at, (name, svg)) in every_kind().into_iter().enumerate() {
        let page = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("picture-{at}.html"));
        let html =
            format!("<!DOCTYPE html><html><title></title><body>{svg}{MEASURE}</body></html>");
        fs::write(&page, html).unwrap();
        let shown = browse(browser, &page, &["--window-size=800,900", "--dump-dom"]);
        assert_eq!(measured(&shown), "all fits", "{name}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_in_it_a_picture_is_xml_and_legible(
        title in ".{0,80}",
        points in prop::collection::vec((-9e6_f64..9e6, -9e6_f64..9e6, "\\PC{1,64}", 0_usize..9), 0..40),
        joints in prop::collection::vec(any::<[usize; 2]>(), 0..4),
        met in any::<bool>(),
        wild in prop::sample::select(vec![0.0, 1e300, f64::NAN, f64::NEG_INFINITY, -0.3]),
    ) {
        let mm = |mm: f64| Length::from_mm(mm).unwrap();
        let points = points.into_iter().map(|(x, y, id, pieces)| truebed::PicturePoint {
            id,
            piece: (pieces % 2 == 0).then(|| title.clone()),
            x: mm(x),
            y: mm(y),
            shims: vec![mm(0.254); pieces],
            names: vec![],
            placed: None,
            placed_names: vec![],
            lift_mm: pieces as f64 * 0.254,
            before_mm: wild,
            after_mm: x / 1e8,
        });
        let picture = Picture {
            title: title.clone(),
            verdict: "1 piece.".to_owned(),
            met,
            points: points.collect(),
            joints,
            limits: vec![],
            slopes_mm_per_m: [0.0; 2],
            notes: vec![title.clone()],
            slates: Vec::new(),
            joint_steps: Vec::new(),
        };
        assert_cautions(&picture.svg(Units::Both));
    }
}
