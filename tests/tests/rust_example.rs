//! The Rust programs in `examples/rust` that are more than an example: what they print, and where the output
//! cannot be written an exit code and one line.
#![cfg(unix)]

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::thread;

use truebed::Job;

fn program() -> PathBuf {
    built("level_a_table")
}

/// A program, built by `cargo test --workspace` beside this test, or else built now.
fn built(name: &str) -> PathBuf {
    let test = std::env::current_exe().unwrap();
    let program = test.ancestors().nth(2).unwrap().join("examples").join(name);
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let changed = |path: &Path| path.metadata().and_then(|it| it.modified()).ok();
    if changed(&program) < changed(&root.join("examples/rust").join(name).with_extension("rs")) {
        let arguments = ["build", "--quiet", "--locked", "-p", "truebed-examples", "--examples"];
        let built = Command::new(env!("CARGO")).args(arguments).current_dir(root).status().unwrap();
        assert!(built.success());
    }
    program
}

fn bash(script: &str, argument: &str) -> Output {
    Command::new("bash").args(["-c", script]).arg(program()).arg(argument).output().unwrap()
}

#[test]
fn prints_the_sheet() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/data/level_a_table.json");
    let job = fs::read_to_string(&path).unwrap();
    let sheet = truebed::Job::from_json(&job).unwrap().sheet().unwrap();
    for arguments in [vec![], vec![path.to_str().unwrap()]] {
        let output = Command::new(program()).args(arguments).output().unwrap();
        assert!(output.status.success() && output.stderr.is_empty());
        assert_eq!(String::from_utf8(output.stdout).unwrap(), sheet);
    }
    let output = Command::new(program()).arg("not there").output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), said.lines().count()), (Some(1), 1));
}

#[test]
fn outputs_that_fail() {
    for script in [r#""$0" "$@" > /dev/full"#, r#"(sleep 0.2; "$0" "$@"; echo "$?" >&2) | :"#] {
        let output = bash(script, "--picture");
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(said.starts_with("standard output: "), "{script}: {said}");
        let code = said.lines().nth(1).map_or(output.status.code(), |code| code.parse().ok());
        assert_eq!((code, said.contains("panicked")), (Some(3), false), "{script}: {said}");
    }
}

fn job(title: usize, drop: &str) -> String {
    format!(
        r#"{{"version": 1, "title": "{title}", "stock": [{{"thickness": "0.1 mm"}}], "points": [
        {{"id": "A", "x": "0 mm", "y": "0 mm", "role": "leg"}},
        {{"id": "B", "x": "2 m", "y": "0 mm", "role": "leg"}},
        {{"id": "C", "x": "0 mm", "y": "1 m", "role": "leg"}}], "readings": [
        {{"kind": "height", "point": "A", "value": "0 mm"}},
        {{"kind": "height", "point": "B", "value": "{drop}"}},
        {{"kind": "height", "point": "C", "value": "-0.5 mm"}}],
        "legs": {{"limits": {{"overall": "0.1 mm"}}}}}}"#
    )
    .replace('\n', " ")
}

/// More lines than the program takes at a time; every seventh is bad in one of several ways.
#[test]
fn jobs_line_by_line() {
    const LINES: usize = 1500;
    const BAD: [&[u8]; 5] = [b"", b"{}", b"\xff\xfe", b"[1, 2", b"{\"version\": 1, \"title\": 7}"];
    let line = |at: usize| match at % 7 {
        3 => BAD[at / 7 % BAD.len()].to_vec(),
        _ => job(at, &format!("-{}.{} mm", at % 3, at % 10)).into_bytes(),
    };
    // The last line has no end.
    let input = (0..LINES).map(line).collect::<Vec<_>>().join(&b"\n"[..]);
    let program = Command::new(built("job_lines"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut program = program.unwrap();
    let (mut stdin, tasks) =
        (program.stdin.take().unwrap(), format!("/proc/{}/task", program.id()));
    let feeder = thread::spawn(move || stdin.write_all(&input).unwrap());
    let reader = thread::spawn(move || program.wait_with_output().unwrap());
    let mut most = 0;
    while !reader.is_finished() {
        most = most.max(fs::read_dir(&tasks).map_or(0, Iterator::count));
        thread::yield_now();
    }
    let output = reader.join().unwrap();
    feeder.join().unwrap();
    assert!(output.status.success() && output.stderr.is_empty());
    let lines: Vec<&str> = std::str::from_utf8(&output.stdout).unwrap().lines().collect();
    assert_eq!(lines.len(), LINES);
    for (at, done) in lines.into_iter().enumerate() {
        if at % 7 == 3 {
            let told: serde_json::Value = serde_json::from_str(done).unwrap();
            assert!(told["error"].as_str().unwrap().contains(": got "), "{done}");
            assert_eq!(told.as_object().unwrap().len(), 1);
            continue;
        }
        let alone = Job::from_json(std::str::from_utf8(&line(at)).unwrap()).unwrap().run().unwrap();
        assert_eq!(Job::from_json(done).unwrap(), alone, "line {at}");
    }
    // One thread for each core beside the one that reads and writes.
    let cores = thread::available_parallelism().unwrap().get();
    if Path::new("/proc/self/task").exists() {
        assert!(most > cores, "{most} threads on {cores} cores");
    }
}

#[test]
fn lines_that_cannot_be_written() {
    let script = r#"echo '{}' | "$0" > /dev/full"#;
    let output =
        Command::new("bash").args(["-c", script]).arg(built("job_lines")).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), said.lines().count()), (Some(1), 1), "{said}");
    assert!(said.starts_with("job_lines: "));
}
