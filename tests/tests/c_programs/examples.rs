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

/// Where the output cannot be written: an exit code and one line, and what was there before stays.
#[test]
fn outputs_that_fail() {
    let program = compile(&root().join("examples/c/level_a_table.c"), Linkage::Shared);
    let job = root().join("examples/data/level_a_table.json");
    let cpp = is_installed("c++")
        .then(|| compile(&root().join("examples/c/tradeoff.cpp"), Linkage::Shared));
    let mut calls = vec![(&program, job.to_str().unwrap())];
    calls.extend(cpp.as_ref().map(|program| (program, "0.2 mm")));
    for (program, argument) in calls {
        // A full disk, a closed output, and a pipe that nobody reads.
        let pipe = r#"(sleep 0.2; "$0" "$1"; echo "$?" >&2) | :"#;
        for (script, own) in [
            (r#""$0" "$1" > /dev/full; echo "$?" >&2"#, "standard output: "),
            (r#""$0" "$1" >&-; echo "$?" >&2"#, "standard output: "),
            (pipe, "standard output: "),
        ] {
            let mut shell = Command::new("bash");
            shell.args(["-c", script]).arg(program).arg(argument);
            let output = start(&mut shell, b"");
            let said = String::from_utf8(output.stderr).unwrap();
            let lines: Vec<&str> = said.lines().collect();
            let expected = lines.len() == 2 && lines[0].starts_with(own) && lines[1] == "3";
            assert!(expected, "{script}: {said}");
        }
    }
    // The finished job cannot be written; the old file stays, and no part of the new one.
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("c_kept");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let kept = folder.join("done.json");
    fs::write(&kept, "old").unwrap();
    // A file that may not grow beyond 4 kB stands for a full disk; the signal for it is ignored.
    let script = r#"trap '' XFSZ; ulimit -f 4; "$0" --json "$1" "$2" > /dev/null"#;
    let mut shell = Command::new("bash");
    let output = start(shell.args(["-c", script]).arg(&program).arg(&kept).arg(&job), b"");
    assert_eq!((code(&output), String::from_utf8(output.stderr).unwrap().lines().count()), (3, 1));
    assert_eq!(fs::read_to_string(&kept).unwrap(), "old");
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1);
}

/// Killed at any moment, the program leaves the old file or the new one.
#[test]
fn killed_while_it_writes() {
    let program = compile(&root().join("examples/c/level_a_table.c"), Linkage::Shared);
    let job = root().join("examples/data/level_a_table.json");
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("c_killed");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    let kept = folder.join("done.json");
    let new = format!("{}\n", truebed::run_job(&fs::read_to_string(&job).unwrap()).unwrap());
    let begin = || {
        fs::write(&kept, "old").unwrap();
        let mut command = Command::new(&program);
        command.env("LD_LIBRARY_PATH", &LIBRARY.runtime).arg("--json").arg(&kept).arg(&job);
        command.stdout(Stdio::null()).spawn().unwrap()
    };
    let started = std::time::Instant::now();
    begin().wait().unwrap();
    let whole = started.elapsed();
    assert_eq!(fs::read_to_string(&kept).unwrap(), new);
    for part in 0..40 {
        let mut child = begin();
        std::thread::sleep(whole * part / 32);
        // It may have ended by itself.
        let _ = child.kill();
        child.wait().unwrap();
        let left = fs::read_to_string(&kept).unwrap();
        assert!(left == "old" || left == new, "half a file of {} bytes", left.len());
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
