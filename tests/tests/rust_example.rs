//! The Rust program in `examples/rust`: what it prints, and where the output cannot be written an exit
//! code and one line.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The program, built by `cargo test --workspace` beside this test, or else built now.
fn program() -> PathBuf {
    let test = std::env::current_exe().unwrap();
    let program = test.ancestors().nth(2).unwrap().join("examples/level_a_table");
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let changed = |path: &Path| path.metadata().and_then(|it| it.modified()).ok();
    if changed(&program) < changed(&root.join("examples/rust/level_a_table.rs")) {
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
