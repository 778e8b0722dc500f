//! The programs of `examples/rust` print what `examples/output` holds; so do those of
//! `examples/python`, which the package's tests run.
//!
//! `TRUEBED_BLESS=1 cargo test -p truebed-tests --test examples` writes the texts anew.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

const NOUNS: [&str; 13] = [
    "plane",
    "survey",
    "plan",
    "next_pass",
    "shortfall",
    "verdict",
    "read_next",
    "floor",
    "batch",
    "job",
    "bed",
    "room",
    "estimate",
];

#[test]
fn print_what_they_should() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    for noun in NOUNS {
        let output = Command::new(env!("CARGO"))
            .args(["run", "--quiet", "--package", "truebed-examples", "--example", noun])
            .current_dir(&root)
            .stderr(Stdio::inherit())
            .output()
            .unwrap();
        assert!(output.status.success(), "{noun}: {}", output.status);
        let path = root.join("examples/output").join(noun).with_extension("txt");
        let printed = String::from_utf8(output.stdout).unwrap();
        if std::env::var_os("TRUEBED_BLESS").is_some() {
            fs::write(path, printed).unwrap();
        } else {
            assert_eq!(printed, fs::read_to_string(path).unwrap(), "{noun}");
        }
    }
}

/// A program that cannot write what it found does not end as if it had, neither on a full disk nor where
/// nobody reads, and says why in one line.
#[cfg(target_os = "linux")]
#[test]
fn no_output_is_no_success() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let run = r#"cargo run --quiet --package truebed-examples --example "$0""#;
    for noun in NOUNS {
        let full = format!("{run} > /dev/full");
        let unread = format!("set -o pipefail; (sleep 0.5; exec {run}) | true");
        for script in [full, unread] {
            let mut command = Command::new("bash");
            let command = command.args(["-c", &script, noun]).current_dir(&root);
            let output = command.output().unwrap();
            let said = String::from_utf8(output.stderr).unwrap();
            assert!(!output.status.success(), "{noun}: {script}: {said}");
            let why = ["No space left", "Broken pipe"].iter().any(|why| said.contains(why));
            assert!(why && said.lines().count() == 1, "{noun}: {script}: {said}");
        }
    }
}

/// Each noun has a program in both languages, short enough to take in at once.
#[test]
fn are_short() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    for noun in NOUNS {
        for path in [format!("rust/{noun}.rs"), format!("python/{noun}.py")] {
            let text = fs::read_to_string(root.join(&path)).unwrap();
            let lines = text.lines().filter(|line| !line.trim().is_empty()).count();
            assert!((10..=36).contains(&lines), "{path}: {lines} lines");
        }
    }
}

/// What `job_lines` makes of a text.
fn job_lines(input: &str, output: Stdio) -> Output {
    let mut child = Command::new(env!("CARGO"))
        .args(["run", "--quiet", "--package", "truebed-examples", "--example", "job_lines"])
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(".."))
        .stdin(Stdio::piped())
        .stdout(output)
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that ended early takes no more.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}

#[test]
fn a_line_for_each_job_in_order() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let demo = fs::read_to_string(root.join("examples/data/level_a_table.json")).unwrap();
    let mut job: serde_json::Value = serde_json::from_str(&demo).unwrap();
    let mut lines = Vec::new();
    for at in 0..6 {
        job["title"] = format!("job {at}").into();
        lines.push(if at == 3 { "{\"version\": 1".to_owned() } else { job.to_string() });
    }
    let output = job_lines(&lines.join("\n"), Stdio::piped());
    assert!(output.status.success(), "{output:?}");
    let text = String::from_utf8(output.stdout).unwrap();
    let done: Vec<serde_json::Value> =
        text.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(done.len(), 6);
    for (at, job) in done.iter().enumerate() {
        if at == 3 {
            assert!(job["error"].as_str().unwrap().contains("expected"), "{job}");
        } else {
            assert_eq!(job["title"], format!("job {at}"));
            assert!(job["outcome"]["legs"].is_object());
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_one_line_and_an_exit_code() {
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let output = job_lines("{}\n", full.into());
    assert_eq!(output.status.code(), Some(1));
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(told.starts_with("job_lines: ") && told.lines().count() == 1, "{told}");
}
