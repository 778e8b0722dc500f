//! What a run does with a document besides its outcome: texts and `meta` stay, an outcome of a later
//! version does not stop this one, and a floor is judged as far as its points can tell.

use serde_json::{Value, json};
use truebed::{Job, ProblemKind, next_pass, run_job};

/// Four legs, of which two stand low.
fn job() -> Value {
    let legs = [
        ("A", "0 in", "0 mm"),
        ("B", "78 3/4 in", "0 mm"),
        ("C", "0 mm", "0.9 m"),
        ("D", "2 m", "900 mm"),
    ];
    let points = legs.map(|(id, x, y)| json!({"id": id, "x": x, "y": y, "role": "leg"}));
    let heights = [("A", "1/8 in"), ("B", "3.175 mm"), ("C", "2.675 mm"), ("D", "2675 um")];
    let readings =
        heights.map(|(id, value)| json!({"kind": "height", "point": id, "value": value}));
    json!({
        "version": 1,
        "stock": [{"thickness": "0.020 in", "count": 8}, {"thickness": "½ mm", "count": 8}],
        "points": points,
        "readings": readings,
        "legs": {"limits": {"overall": "5 thou"}},
    })
}

fn run(job: &Value) -> Value {
    serde_json::from_str(&run_job(&job.to_string()).unwrap()).unwrap()
}

#[test]
fn texts_stay_as_they_were_written() {
    let (job, done) = (job(), run(&job()));
    for place in [
        "/stock/0/thickness",
        "/stock/1/thickness",
        "/points/1/x",
        "/points/2/y",
        "/readings/0/value",
        "/readings/3/value",
        "/legs/limits/overall",
    ] {
        assert_eq!(done.pointer(place), job.pointer(place), "{place}");
    }
    let again = run_job(&done.to_string()).unwrap();
    assert_eq!(serde_json::from_str::<Value>(&again).unwrap(), done);
    // What the plan says is in millimetres.
    assert_eq!(done["outcome"]["legs"]["stacks"][3]["shims"], json!(["0.5 mm"]));
}

/// The next document keeps the texts of the stock, and those of the new readings are its own.
#[test]
fn the_next_pass_keeps_texts_too() {
    let again: Vec<Value> = ["A", "B", "C", "D"]
        .map(|id| json!({"kind": "height", "point": id, "value": "3.1 mm"}))
        .to_vec();
    let next = next_pass(&job().to_string(), &json!(again).to_string()).unwrap();
    let next: Value = serde_json::from_str(&next).unwrap();
    assert_eq!(next["stock"][1]["thickness"], "½ mm");
    assert_eq!(next["readings"][0]["value"], "3.1 mm");
    assert_eq!(next["legs"]["placed"][0], json!({"id": "C", "shims": ["0.5 mm"]}));
}

/// Numbers that no float holds, the order of fields and blanks: it is the user's own.
#[test]
fn meta_stays_to_the_byte() {
    let metas = [
        r#"{"z": 1, "a":   [12345678901234567890123, 1.50]}"#,
        r#""order \u0041""#,
        r#"[null, true, {}]"#,
    ];
    let text = job().to_string();
    let text = text.replacen("\"version\":1", &format!("\"version\":1,\"meta\":{}", metas[0]), 1);
    let text = text.replacen("\"id\":\"A\"", &format!("\"id\":\"A\",\"meta\":{}", metas[1]), 1);
    let text = text.replacen("\"count\":8", &format!("\"count\":8,\"meta\":{}", metas[2]), 1);
    let done = run_job(&text).unwrap();
    for meta in metas {
        assert!(done.contains(&format!("\"meta\": {meta}")), "{meta}\n{done}");
    }
    assert_eq!(run_job(&done).unwrap(), done);
    let read = Job::from_json(&text).unwrap();
    assert_eq!(read.points[0].meta, Some(json!("order A")));
    assert_eq!(read.stock[0].meta, Some(json!([null, true, {}])));
    assert_eq!(read.meta.unwrap()["a"][1], 1.5);
}

#[test]
fn an_outcome_of_a_later_version_does_not_stop_this_one() {
    let mut done = run(&job());
    let outcome = done["outcome"].clone();
    done["outcome"]["weather"] = json!("fine");
    done["outcome"]["legs"]["plan"]["mood"] = json!([1]);
    done["outcome"]["legs"]["stacks"][1]["colour"] = json!("red");
    done["outcome"]["legs"]["plan"]["status"] = json!("guessed");
    let read = Job::from_json(&done.to_string()).unwrap();
    let known = read.outcome.as_ref().unwrap();
    for path in ["outcome.weather", "outcome.legs.stacks[1].colour"] {
        assert!(known.unread.iter().any(|it| it == path), "{path}: {:?}", known.unread);
    }
    assert!(read.sheet_of_outcome().contains("A later version wrote parts"));
    let again = run(&done);
    assert_eq!(again["outcome"]["legs"], outcome["legs"]);
    assert_eq!(again["outcome"]["unread"], json!(known.unread));
    // What is no outcome at all is left out as a whole, and the document is still checked.
    done["outcome"] = json!("none of yours");
    assert_eq!(run(&done)["outcome"]["unread"], json!(["outcome"]));
    done["colour"] = json!("red");
    let error = run_job(&done.to_string()).unwrap_err();
    assert_eq!(error.problems().len(), 1);
    assert_eq!(error.problems()[0].field, "colour");
    // A later version of the document itself is another thing.
    done["version"] = json!(2);
    done["outcome"] = json!({"legs": 5});
    let error = run_job(&done.to_string()).unwrap_err();
    assert_eq!(error.problems()[0].kind, ProblemKind::Version);
    assert_eq!(error.problems().len(), 1);
}

/// An edge needs three points on a line: four legs tell nothing of the floor, and are levelled all the
/// same.
#[test]
fn a_floor_is_judged_as_far_as_it_can_be() {
    let mut job = job();
    job["legs"]["floor"] = json!("DIN 18202 row 3");
    let done = run(&job);
    let floor = &done["outcome"]["legs"]["floor"];
    assert_eq!(floor["conformity"], "cannot-tell");
    assert_eq!((&floor["findings"], &floor["met"]), (&json!([]), &json!(false)));
    assert_eq!(done["outcome"]["legs"]["met"], true);
    let sheet = Job::from_json(&done.to_string()).unwrap().sheet_of_outcome();
    assert!(sheet.contains("do not tell"), "{sheet}");
}

#[test]
fn small_things_are_refused() {
    let refused = |job: &Value| run_job(&job.to_string()).unwrap_err().to_string();
    let mut twice = job();
    twice["legs"]["placed"] =
        json!([{"id": "C", "shims": ["0.5 mm"]}, {"id": "C", "shims": ["0.5 mm"]}]);
    assert!(refused(&twice).starts_with("legs.placed[1].id: got \"C\""), "{}", refused(&twice));
    let mut nameless = job();
    nameless["points"][0]["role"] = json!({"slate": ""});
    assert!(
        refused(&nameless).contains("points[0].role.slate: got \"\""),
        "{}",
        refused(&nameless)
    );
}
