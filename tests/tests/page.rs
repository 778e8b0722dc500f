//! The page that a crew works from, and the document of the next pass: well formed, nothing in it that
//! a job could smuggle in, and looked at by a real browser where there is one.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use truebed::{CAUTIONS, Job, Reading, next_pass};

fn good(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors/good").join(name);
    Job::from_json(&fs::read_to_string(path).unwrap()).unwrap()
}

/// All texts of a page, after it has been looked at as strictly as XML asks.
fn words(page: &str) -> String {
    const KNOWN: [&str; 27] = [
        "html", "head", "meta", "title", "style", "body", "h1", "h2", "ul", "li", "p", "div",
        "span", "table", "thead", "tbody", "tr", "th", "td", "svg", "desc", "rect", "line",
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
fn the_page_of_a_visit_has_all_of_it() {
    let words = words(&good("visit.job.json").page().unwrap());
    for part in [
        "Steps",
        "NEXT",
        "front door",
        "screws 5 × 60",
        "hearth",
        "The owner has agreed: A. Owner",
        "Push corner 2",
        "stands on",
        "What to do now",
        "Read again",
        "For the owner",
        "Zone of the legs",
        "centre slate: 82 kg, at least 4 people",
    ] {
        assert!(words.contains(part), "{part}");
    }
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

/// A browser, where there is one.
fn browser() -> Option<&'static str> {
    let there = |name: &&str| {
        Command::new(name).arg("--version").output().is_ok_and(|it| it.status.success())
    };
    ["chromium", "chromium-browser"].into_iter().find(|name| there(name))
}

/// Runs a browser on a page; what it writes to standard output.
fn browse(browser: &str, page: &Path, arguments: &[&str]) -> String {
    let output = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"])
        .args(arguments)
        .arg(format!("file://{}", page.display()))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn kept(name: &str, page: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::write(&path, page).unwrap();
    path
}

/// At 380 px nothing sticks out to the side, and the page prints.
#[test]
fn a_browser_shows_it_on_a_phone_and_prints_it() {
    let Some(browser) = browser() else {
        println!("skipped: there is no browser here");
        return;
    };
    let mut long = good("visit.job.json");
    let name = "وسط ".repeat(6) + &"Abcdefghijklmnopqrstuvwxyz".repeat(2)[..38];
    long.title = "A very long heading of a job that goes on and on ".repeat(4);
    long.visit.as_mut().unwrap().boxes[0].name = name;
    for (at, job) in [good("visit.job.json"), long].iter().enumerate() {
        let page = job.page().unwrap();
        // The page has no script: the test puts one in to measure it.
        let measure = "<script>document.title = innerWidth + ' ' + document.documentElement.scrollWidth</script></body>";
        let measured = kept(&format!("page-{at}-measured.html"), &page.replace("</body>", measure));
        let frame = format!(
            "<!DOCTYPE html><html><body><iframe id='f' style='width:380px;height:900px;border:0' src='page-{at}-measured.html'></iframe></body></html>"
        );
        kept(&format!("page-{at}-frame.html"), &frame);
        let shown = browse(browser, &measured, &["--window-size=380,900", "--dump-dom"]);
        let title = shown.split("<title>").nth(1).unwrap().split("</title>").next().unwrap();
        let sizes: Vec<f64> = title.split(' ').map(|it| it.parse().unwrap()).collect();
        assert!(sizes[1] <= sizes[0], "{sizes:?}");
        let plain = kept(&format!("page-{at}.html"), &page);
        let pdf = plain.with_extension("pdf");
        browse(
            browser,
            &plain,
            &["--no-pdf-header-footer", &format!("--print-to-pdf={}", pdf.display())],
        );
        assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF"));
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
