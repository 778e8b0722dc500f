//! The whole life of a job in the service, and a service that dies in the middle of a step.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::{Value, json};
use truebed_service::Store;

/// A folder of its own for a test, empty.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    fs::remove_dir_all(&folder).ok();
    assert!(fs::create_dir_all(&folder).is_ok());
    folder
}

fn service(file: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_truebed-service"));
    command.arg(file);
    command
}

fn said(output: Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

fn refused(output: Output) -> String {
    assert!(!output.status.success());
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A job before its visit, with legs in two rows. The figures are invented.
fn job(legs: usize, draws: usize) -> Value {
    let point = |at: usize| {
        let (x, y) = (700 * (at / 2), 1016 * (at % 2));
        json!({ "id": format!("leg {at}"), "x": format!("{x} mm"), "y": format!("{y} mm"), "role": "leg" })
    };
    json!({
        "version": 1,
        "title": "Demo: a job from the first estimate to the second pass (invented figures)",
        "stock": [{ "thickness": "1 mm", "count": 100 }, { "thickness": "0.1 mm", "count": 100 }],
        "points": (0..legs).map(point).collect::<Vec<_>>(),
        "legs": { "limits": { "overall": "0.1 mm" } },
        "estimate": { "floor": { "ff": 35, "fl": 25 }, "jobs": draws },
    })
}

fn readings(heights: &[f64]) -> String {
    let reading = |(at, height): (usize, &f64)| {
        let value = format!("{height} mm");
        json!({ "kind": "height", "point": format!("leg {at}"), "value": value, "sigma": "0.02 mm" })
    };
    Value::from(heights.iter().enumerate().map(reading).collect::<Vec<_>>()).to_string()
}

#[test]
fn a_job_lives_from_its_estimate_to_its_second_pass() {
    let folder = folder("life");
    let (file, text) = (folder.join("jobs.sqlite"), folder.join("text.json"));
    let call = |arguments: &[&str]| service(&file).args(arguments).output().unwrap();
    let path = text.to_str().unwrap();
    fs::write(&text, job(4, 50).to_string()).unwrap();
    assert_eq!(said(call(&["add", path])), "1\n");
    // Nothing was read yet, so there is nothing to work by.
    fs::write(&text, readings(&[0.0, -1.2, -2.3, -0.6])).unwrap();
    assert!(
        refused(call(&["visit", "1", path])).contains("there is no job 1 that is \"to visit\"")
    );
    assert_eq!(said(call(&["estimate", "60"])), "1\n");
    assert_eq!(said(call(&["estimate", "60"])), "");
    let sheet = said(call(&["sheet", "1"]));
    assert!(sheet.contains("50 jobs that were drawn") && sheet.contains("trained people"));

    let sheet = said(call(&["visit", "1", path]));
    assert!(sheet.contains("This job beside its estimate") && sheet.contains("trained people"));
    assert!(refused(call(&["visit", "1", path])).contains("there is no job 1"));
    let store = Store::open(&file).unwrap();
    let outcome = store.job(1).unwrap().outcome.unwrap();
    let legs = outcome.legs.unwrap();
    assert!(legs.met && outcome.estimate.unwrap().actual.is_some());

    // Two legs have settled. The pass after that takes what is left of the stock.
    fs::write(&text, readings(&[0.0, -0.25, 0.0, -0.3])).unwrap();
    let said_next = said(call(&["next", "1", path]));
    assert!(said_next.starts_with("2\n") && said_next.contains("trained people"));
    let next = store.job(2).unwrap();
    for (shim, kind) in next.stock.iter().zip(&legs.stock) {
        assert_eq!(shim.count, kind.left);
    }
    let again = next.outcome.unwrap().legs.unwrap();
    assert!(again.met);
    assert_eq!(again.plan.lifted, ["leg 1", "leg 3"]);
    // A job has one next pass.
    assert!(refused(call(&["next", "1", path])).contains("UNIQUE"));
    assert!(refused(call(&["sheet", "3"])).contains("there is no job 3"));
}

/// A service that is killed while it estimates has not begun that estimate, and goes on where it was.
#[test]
fn a_service_that_is_killed_goes_on_where_it_was() {
    let folder = folder("killed");
    let (file, text) = (folder.join("jobs.sqlite"), folder.join("text.json"));
    // The second job takes much longer than it takes to kill a process.
    for (legs, draws) in [(4, 50), (40, 100_000), (4, 60)] {
        fs::write(&text, job(legs, draws).to_string()).unwrap();
        said(service(&file).args(["add", text.to_str().unwrap()]).output().unwrap());
    }
    let mut estimating = service(&file);
    let mut child = estimating.args(["estimate", "600"]).stdout(Stdio::piped()).spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
    assert_eq!(line, "1\n");
    child.kill().unwrap();
    child.wait().unwrap();

    let store = Store::open(&file).unwrap();
    assert_eq!(store.waiting().unwrap(), 2);
    assert!(store.job(1).unwrap().outcome.is_some());
    for untouched in [2, 3] {
        assert!(store.job(untouched).unwrap().outcome.is_none());
    }
    // Less time for each: the second has fewer jobs than asked for, and its sheet says so.
    assert_eq!(said(service(&file).args(["estimate", "1"]).output().unwrap()), "2\n3\n");
    assert_eq!(store.waiting().unwrap(), 0);
    let cut_short = store.job(2).unwrap();
    assert!(cut_short.sheet_of_outcome().contains("The budget ran out"));
    let third = store.job(3).unwrap();
    assert_eq!(third, third.clone().run().unwrap());
}
