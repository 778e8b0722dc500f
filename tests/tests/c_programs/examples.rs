//! The programs in `examples/c`, with every exit code they have.

use super::*;

fn code(output: &Output) -> i32 {
    output.status.code().unwrap()
}

#[test]
fn level_a_table() {
    let program = compile(&root().join("examples/c/level_a_table.c"), Linkage::Shared);
    let path = root().join("examples/data/level_a_table.json");
    let job = fs::read_to_string(&path).unwrap();
    let path = path.to_str().unwrap();

    let sheet = truebed::Job::from_json(&job).unwrap().run().unwrap().sheet().unwrap();
    for (arguments, input) in [(vec![path], ""), (vec![], job.as_str()), (vec!["-"], &job)] {
        let output = run(&program, &arguments, input.as_bytes());
        assert_eq!(code(&output), 0);
        assert_eq!(String::from_utf8(output.stdout).unwrap(), sheet);
    }
    let finished = Path::new(env!("CARGO_TARGET_TMPDIR")).join("c_finished.json");
    let kept = ["--json", finished.to_str().unwrap(), path];
    let output = run(&program, &kept, b"");
    assert_eq!((code(&output), output.stdout), (0, sheet.into_bytes()));
    let done = fs::read_to_string(&finished).unwrap();
    assert_eq!(done.trim_end(), truebed::run_job(&job).unwrap());

    // Without guard bands the slates are level on paper, and their readings do not make sure of it.
    let mut bold: serde_json::Value = serde_json::from_str(&job).unwrap();
    bold["slates"].as_object_mut().unwrap().remove("options");
    assert_eq!(code(&run(&program, &NONE, bold.to_string().as_bytes())), 5);
    // A rule that does not ask how sure it is.
    for stage in ["legs", "slates"] {
        bold[stage]["decision"] = serde_json::json!({ "rule": "simple-acceptance" });
    }
    let bold = bold.to_string();
    assert_eq!(code(&run(&program, &NONE, bold.as_bytes())), 0);

    // Limits that no stock keeps: the sheet says so.
    let mut strict: serde_json::Value = serde_json::from_str(&job).unwrap();
    strict["legs"]["limits"]["overall"] = "0.000001 mm".into();
    let strict = strict.to_string();
    let output = run(&program, &NONE, strict.as_bytes());
    let sheet = truebed::Job::from_json(&strict).unwrap().sheet().unwrap();
    assert_eq!((code(&output), String::from_utf8(output.stdout).unwrap()), (1, sheet));

    for wrong in [&["--sheet"][..], &[path, path], &[path, "--json"]] {
        let output = run(&program, wrong, b"");
        assert_eq!((code(&output), output.stdout.len()), (2, 0));
        assert!(String::from_utf8(output.stderr).unwrap().starts_with("usage: "));
    }
    assert_eq!(code(&run(&program, &["--help"], b"")), 0);
    for broken in [&["not there.json"][..], &["."], &["--json", "not there/x.json", path]] {
        let output = run(&program, broken, b"");
        assert_eq!(code(&output), 3);
        assert!(!output.stderr.is_empty());
    }
    let output = run(&program, &NONE, b"{}");
    assert_eq!((code(&output), output.stdout.len()), (4, 0));
    assert!(String::from_utf8(output.stderr).unwrap().contains("version: got none"));
    if is_installed("valgrind") {
        valgrind(&program, &kept[..2], bold.as_bytes());
    }
}

#[test]
fn tradeoff() {
    if !is_installed("c++") {
        return;
    }
    let program = compile(&root().join("examples/c/tradeoff.cpp"), Linkage::Shared);
    let output = run(&program, &["0.2 mm"], b"");
    assert_eq!(code(&output), 0);
    let list = String::from_utf8(output.stdout).unwrap();
    assert!(list.lines().count() > 5 && list.contains("work sheet"), "{list}");
    assert!(list.contains(" %, surely\n") && list.contains(" %\n"), "{list}");
    assert_eq!(code(&run(&program, &["0.0001 mm"], b"")), 1);
    assert_eq!(code(&run(&program, &NONE, b"")), 2);
    let output = run(&program, &["0.2"], b"");
    assert_eq!(code(&output), 4);
    assert!(String::from_utf8(output.stderr).unwrap().starts_with("length: got \"0.2\""));
    if is_installed("valgrind") {
        valgrind(&program, &["0.2 mm"], b"");
    }
}
