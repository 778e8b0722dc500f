//! The C programs under AddressSanitizer, with its search for leaks, and UBSan, where the compiler
//! has them. They see the C side, and the library where it calls what they stand in for: memory that
//! it takes and frees, and what it copies.

use super::*;

const FLAGS: [&str; 2] = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all"];

fn sanitized(source: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("c");
    compile_with(&folder.join(source), Linkage::Static, &root().join("ffi/include"), &FLAGS)
}

/// Whether the compiler has the sanitizers, and programs built with them run here.
fn are_there() -> bool {
    let program = Path::new(env!("CARGO_TARGET_TMPDIR")).join("c_sanitized");
    let mut compiler = Command::new("cc");
    compiler.args(FLAGS).args(["-x", "c", "-", "-o"]).arg(&program);
    let there = start(&mut compiler, b"int main(void) { return 0; }").status.success()
        && start(&mut Command::new(program), b"").status.success();
    if !there {
        println!("skipped: the C compiler has no AddressSanitizer and UBSan here");
    }
    there
}

#[test]
fn find_nothing() {
    if !are_there() {
        return;
    }
    // Those that are handed something, or built otherwise, have tests of their own.
    let others = ["planted.c", "vectors.c", "frozen.c", "fuzz.c"];
    let mut programs = 0;
    for entry in fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("c")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".c") && !others.contains(&name.as_str()) {
            let program = sanitized(&name);
            passes(&program, run(&program, &NONE, b""));
            programs += 1;
        }
    }
    assert!(programs >= 10);
    let program = sanitized("fuzz.c");
    passes(&program, run(&program, &NONE, fuzz::seeds().as_bytes()));
}

#[test]
fn find_planted_faults() {
    if !are_there() {
        return;
    }
    let program = sanitized("planted.c");
    passes(&program, run(&program, &["none"], b""));
    let faults = [
        ("overflow", "AddressSanitizer: heap-buffer-overflow"),
        ("leak", "LeakSanitizer: detected memory leaks"),
        ("overrun", "runtime error: signed integer overflow"),
    ];
    for (fault, report) in faults {
        let output = run(&program, &[fault], b"");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(!output.status.success() && said.contains(report), "{fault}: {said}");
    }
}
