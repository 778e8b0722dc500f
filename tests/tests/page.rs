//! The page that a crew works from, and the document of the next pass: well formed, nothing in it that
//! a job could smuggle in, and looked at by a real browser where there is one.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use truebed::{CAUTIONS, Job, Reading, next_pass};
use truebed_tests::browser::{MEASURE, browse, browser, measured};

fn good(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good").join(name);
    Job::from_json(&fs::read_to_string(path).unwrap()).unwrap()
}

/// All texts of a page, after it has been looked at as strictly as XML asks.
fn words(page: &str) -> String {
    const KNOWN: [&str; 29] = [
        "html", "head", "meta", "title", "style", "body", "h1", "h2", "h3", "ul", "li", "p", "div",
        "span", "bdi", "table", "thead", "tbody", "tr", "th", "td", "svg", "desc", "rect", "line",
        "polygon", "text", "circle", "g",
    ];
    let body = page.strip_prefix("<!DOCTYPE html>").unwrap();
    let document = roxmltree::Document::parse(body).unwrap();
    for element in document.descendants().filter(roxmltree::Node::is_element) {
        assert!(KNOWN.contains(&element.tag_name().name()), "{:?}", element.tag_name());
        for attribute in element.attributes() {
            let name = attribute.name();
            assert!(!name.starts_with("on") && !["href", "src", "id", "style"].contains(&name));
        }
    }
    assert!(
        !page.contains("http:") || page.matches("http:").count() == page.matches("xmlns=").count()
    );
    let texts = document.descendants().filter_map(|node| node.text());
    texts.collect::<Vec<_>>().join(" ").replace('\u{a0}', " ")
}

#[test]
fn every_good_job_has_a_page_with_the_cautions_first() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good");
    for entry in fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".job.json") {
            let words = words(&good(&name).page().unwrap());
            for caution in CAUTIONS {
                assert!(words.contains(caution), "{name}: {caution}");
            }
            let first = words.find(CAUTIONS[0]).unwrap();
            assert!(words.find("What to do now").is_none_or(|at| at > first), "{name}");
        }
    }
}

#[test]
fn the_page_before_the_visit_has_the_estimate_and_nothing_to_hand_over() {
    let page = good("estimate.job.json").page().unwrap();
    let words = words(&page);
    for part in [
        "Estimate: a floor that nobody has measured",
        "of 200 jobs that were drawn",
        "need a lift again",
        "To prove the limits of the legs",
        "So much, or less, in so many jobs",
        "Pieces of each kind, and on hand",
        "Operations",
        "Slate centre: 49 kg, 3 people.",
        "Heaviest single lift",
        "The floor just has the overall F-numbers of its class.",
    ] {
        assert!(words.contains(part), "{part}");
    }
    assert!(page.contains("<svg") && !words.contains("For the owner"));
    let read = good("estimate-actual.job.json").page().unwrap();
    assert!(read.contains("This job beside its estimate") && read.contains("For the owner"));
}

#[test]
fn the_page_of_a_visit_has_all_of_it() {
    let words = words(&good("visit.job.json").page().unwrap());
    for part in [
        "Steps",
        "Do this next: Build the frame and make it square.",
        "NEXT: ",
        "With: 3 × 1/8 in (3.175 mm); ",
        "Before: the legs are shimmed — NO",
        "front door",
        "count it",
        "screws 5 × 60",
        "hearth",
        "The owner has agreed: A. Owner",
        "Push corner 2",
        "stands on",
        "What to do now",
        "Read again",
        "Are the slates together square",
        "For the owner",
        "Instruments: digital level no. 3 (invented), checked 2026-11-02; steel tape no. 1 (invented).",
        "The slates together are square within ±3.175 mm (±0.1250 in): met.",
        "Zone of the legs",
        "centre slate: 82 kg (181 lb), at least 4 people",
    ] {
        assert!(words.contains(part), "{part}");
    }
}

#[test]
fn the_page_has_what_slates_bear_and_what_is_asked_of_their_surface() {
    let job = good("slate-rocks.job.json").run().unwrap();
    let page = job.page_of_outcome().unwrap();
    let body = page.strip_prefix("<!DOCTYPE html>").unwrap();
    let document = roxmltree::Document::parse(body).unwrap();
    let rows: Vec<Vec<&str>> = (document.descendants())
        .filter(|it| it.has_tag_name("tr"))
        .map(|row| row.children().filter(|it| it.has_tag_name("td")).filter_map(|it| it.text()))
        .map(Iterator::collect)
        .collect();
    let slate = &job.outcome.as_ref().unwrap().slates.as_ref().unwrap().slates[0];
    for support in &slate.supports {
        let force = support.force_n.unwrap();
        // 1 lbf is 4.4482216152605 N.
        let [newtons, pounds] =
            [force, force / 4.448_221_615_260_5].map(|it| (it.round() + 0.0).to_string());
        let state = if support.carries { "carries" } else { "LOOSE" };
        let row = rows.iter().find(|row| {
            row.len() > 3 && row[0] == support.id && row[1] == newtons && row[2] == pounds
        });
        assert_eq!(row.unwrap_or_else(|| panic!("{rows:?}")).last(), Some(&state));
    }
    assert!(!slate.loose.is_empty());
    for part in ["bears, N", "bears, lbf", "worst off level", "flatness", "A mesh half as fine"] {
        assert!(page.replace('\u{a0}', " ").contains(part), "{part}");
    }
    let of_load = good("slate-lies.job.json").page().unwrap();
    assert!(self::words(&of_load).contains("slate slate under 889 N (200 lbf)"), "{of_load}");
}

#[test]
fn nothing_that_a_job_says_becomes_markup() {
    const SMUGGLED: &str = "<script>alert(1)</script>&\"' \u{202e}";
    let mut job = good("visit.job.json");
    job.title = SMUGGLED.to_owned();
    let visit = job.visit.as_mut().unwrap();
    visit.consent.as_mut().unwrap().by = SMUGGLED.to_owned();
    visit.boxes[0].name = SMUGGLED.to_owned();
    visit.hardware[0].name = SMUGGLED.to_owned();
    visit.room.as_mut().unwrap().obstacles[0].name = SMUGGLED.to_owned();
    let page = job.page().unwrap();
    assert!(!page.contains("<script") && !page.contains('\u{202e}'));
    assert!(words(&page).contains("<script>alert(1)</script>&\"'"));
}

fn kept(name: &str, page: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&path, page).unwrap();
    path
}

/// Jobs whose pages are hard to set: names that are long, unbroken or run from right to left, and 60
/// points.
fn hard() -> Vec<Job> {
    const UNBROKEN: &str = "AnUnbrokenNameOfAPointThatGoesOnAndOnWithoutAnySpaceInIt";
    let mut long = good("visit.job.json");
    long.title = "رأس السرير: a heading of a job that goes on and on ".repeat(4);
    let text = (long.to_json().replace("leg NW", "الزاوية الشمالية الغربية للطاولة الكبيرة"))
        .replace("\"W1\"", "\"رأس السرير الأيمن\"")
        .replace("\"W2\"", &format!("{UNBROKEN:?}"))
        .replace("hearth", "المدفأة القديمة")
        .replace("A. Owner", "السيدة صاحبة المنزل");
    let long = Job::from_json(&text).unwrap();
    let mut many: serde_json::Value =
        serde_json::from_str(&good("visit.job.json").to_json()).unwrap();
    let of_legs = |it: &serde_json::Value| it.to_string().contains("leg ");
    for list in ["points", "readings"] {
        many[list].as_array_mut().unwrap().retain(of_legs);
    }
    for at in 0..60 {
        let (id, slate) = (format!("S{}", at + 1), ["west", "centre", "east"][at / 20]);
        let x = format!("{} mm", 50 + at / 20 * 860 + at % 5 * 195);
        let y = format!("{} mm", 50 + at % 20 / 5 * 400);
        many["points"]
            .as_array_mut()
            .unwrap()
            .push(serde_json::json!({"id": id, "x": x, "y": y, "role": {"slate": slate}}));
        let value = format!("-{} mm", (at * 37 % 60) as f64 / 100.0);
        many["readings"].as_array_mut().unwrap().push(
            serde_json::json!({"kind": "height", "point": id, "value": value, "sigma": "0.01 mm"}),
        );
    }
    many["slates"] = serde_json::json!({"limits": {"overall": "0.06 mm"}});
    many["stock"] = serde_json::json!([
        {"thickness": "0.05 mm"}, {"thickness": "0.1 mm"}, {"thickness": "0.2 mm"},
        {"thickness": "0.5 mm"}, {"thickness": "1 mm"}
    ]);
    let many = Job::from_json(&many.to_string()).unwrap();
    vec![good("visit.job.json"), long, many]
}

/// At 380 px nothing sticks out to the side, in any picture of the page either.
#[test]
fn a_browser_shows_it_on_a_phone() {
    let Some(browser) = browser() else { return };
    for (at, job) in hard().iter().enumerate() {
        let page = job.page().unwrap();
        // The page has no script: the test puts one in to measure it.
        let with_script = page.replace("</body>", &format!("{MEASURE}</body>"));
        let page = kept(&format!("page-{at}-measured.html"), &with_script);
        let shown = browse(browser, &page, &["--window-size=380,900", "--dump-dom"]);
        assert_eq!(measured(&shown), "all fits", "{at}");
    }
}

/// Printed, nothing runs over the margin of either paper, and sheets are numbered.
#[test]
fn it_prints_on_both_papers() {
    let Some(browser) = browser() else { return };
    let boxes = |pdf: &Path| Command::new("pdftotext").arg("-bbox").arg(pdf).arg("-").output();
    if boxes(Path::new("")).is_err() {
        println!("skipped: there is no pdftotext here");
        return;
    }
    for (at, job) in hard().iter().enumerate() {
        let page = job.page().unwrap();
        assert!(page.contains("@page{size:auto;margin:14mm"), "the printer chooses the paper");
        for (paper, wide) in [("A4", 595.0), ("letter", 612.0)] {
            let on_paper = page.replace("@page{size:auto", &format!("@page{{size:{paper}"));
            let on_paper = kept(&format!("page-{at}-{paper}.html"), &on_paper);
            let pdf = on_paper.with_extension("pdf");
            let to = format!("--print-to-pdf={}", pdf.display());
            browse(browser, &on_paper, &["--no-pdf-header-footer", &to]);
            let text = String::from_utf8(boxes(&pdf).unwrap().stdout).unwrap();
            let figures = |name: &str| -> Vec<f64> {
                let start = format!("{name}=\"");
                let parts = text.split(&start).skip(1);
                parts.map(|it| it.split('"').next().unwrap().parse().unwrap()).collect()
            };
            assert!(figures("width").iter().all(|it| (it - wide).abs() < 1.0), "{paper}");
            // 14 mm, less what a letter leans over its box.
            let margin = 38.0;
            let (left, right) = (figures("xMin"), figures("xMax"));
            assert!(left.len() > 300 && left.iter().all(|&it| it >= margin), "{at} {paper}");
            let most = right.iter().copied().fold(0.0, f64::max);
            assert!(most <= wide - margin, "{at} {paper}: {most}");
            let (from, to) = (figures("yMin"), figures("yMax"));
            assert!(from.iter().chain(&to).all(|&it| (0.0..842.5).contains(&it)), "{at} {paper}");
            assert!(text.contains(">of</word>"), "{at} {paper}: no numbers of pages");
        }
    }
}

fn heights(job: &Job, off: &str) -> Vec<Reading> {
    let legs = job.outcome.as_ref().unwrap().legs.as_ref().unwrap();
    let each: Vec<String> = (legs.heights.iter())
        .map(|it| format!(r#"{{"kind":"height","point":{:?},"value":"{off}"}}"#, it.id))
        .collect();
    serde_json::from_str(&format!("[{}]", each.join(","))).unwrap()
}

#[test]
fn the_next_pass_starts_from_what_is_in_place() {
    let done = good("demo.job.json").run().unwrap();
    let legs = done.outcome.as_ref().unwrap().legs.as_ref().unwrap();
    let next = done.clone().next_pass(heights(&done, "0 mm")).unwrap();
    let placed = next.legs.as_ref().unwrap().placed.as_ref().unwrap();
    assert_eq!(placed.len(), legs.stacks.iter().filter(|it| !it.shims.is_empty()).count());
    assert!(next.slates.is_none() && next.outcome.is_none());
    let again = next.run().unwrap();
    let legs = again.outcome.unwrap().legs.unwrap();
    assert!(legs.met && legs.plan.moved == 0 && legs.plan.lifted.is_empty());
}

#[test]
fn readings_older_than_a_lift_are_refused_by_name() {
    let done = good("demo.job.json").run().unwrap();
    let stale = done.readings.clone();
    let text = done.clone().next_pass(stale).unwrap_err().to_string();
    assert!(text.contains("the reading that the plan was made from"), "{text}");
    let few = heights(&done, "0 mm").split_off(1);
    let text = done.clone().next_pass(few).unwrap_err().to_string();
    assert!(
        text.contains("no new reading of \"leg NW\", expected a reading taken since the last pass"),
        "{text}"
    );
    let text = next_pass(&done.to_json(), "7").unwrap_err().to_string();
    assert!(text.starts_with("readings: got"), "{text}");
}
