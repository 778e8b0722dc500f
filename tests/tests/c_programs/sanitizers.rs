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
    let others = ["planted.c", "vectors.c", "frozen.c", "fuzz.c", "scarce.c", "stack.c"];
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

/// The library with AddressSanitizer in its Rust, and the runtime of the toolchain that goes with it.
fn instrumented() -> Option<(PathBuf, PathBuf)> {
    let asked = Command::new("rustc").args(["--print", "sysroot"]).output().unwrap();
    let sysroot = PathBuf::from(String::from_utf8(asked.stdout).unwrap().trim());
    let libraries = sysroot.join("lib/rustlib").join(TARGET).join("lib");
    let runtime = fs::read_dir(libraries).ok()?.find_map(|entry| {
        let path = entry.unwrap().path();
        path.to_str().unwrap().ends_with("_rt.asan.a").then_some(path)
    });
    let Some(runtime) = runtime else {
        println!("skipped: the toolchain has no AddressSanitizer for {TARGET}");
        return None;
    };
    // A switch for unstable features on the stable toolchain; only tests are built so.
    let folder = root().join("target/asan");
    let built = Command::new(env!("CARGO"))
        .args(["build", "--package", "truebed-ffi", "--lib", "--target", TARGET, "--target-dir"])
        .arg(&folder)
        .env("RUSTC_BOOTSTRAP", "1")
        .env("RUSTFLAGS", "-Zsanitizer=address")
        .current_dir(root())
        .status()
        .unwrap();
    assert!(built.success(), "the C library does not build with AddressSanitizer");
    Some((folder.join(TARGET).join("debug/libtruebed.a"), runtime))
}

const TARGET: &str = "x86_64-unknown-linux-gnu";

/// The Rust side: what the library reads by itself. The C side is ordinary here, since the two
/// compilers' runtimes do not go together; its blocks are watched all the same.
#[test]
#[ignore = "builds the library and all below it anew"]
fn rust_side() {
    let Some((archive, runtime)) = instrumented() else { return };
    let compiled = |source: &str| {
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("c").join(source);
        let name = format!("{}.rust_sanitized", source.file_name().unwrap().display());
        let program = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let mut command = Command::new("cc");
        command.arg("-std=c99").args(STRICT).args(["-g", "-O1", "-pthread", "-I"]);
        command.arg(root().join("ffi/include")).arg(source).arg("-o").arg(&program);
        command.arg("-Wl,--whole-archive").arg(&runtime).arg("-Wl,--no-whole-archive");
        let output = command.arg(&archive).args(SYSTEM_LIBRARIES).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        program
    };
    let planted = compiled("planted.c");
    passes(&planted, run(&planted, &["none"], b""));
    let faults = [
        ("beyond", "AddressSanitizer: heap-buffer-overflow"),
        ("freed", "AddressSanitizer: heap-use-after-free"),
        ("stale", "AddressSanitizer: heap-use-after-free"),
        ("leak", "LeakSanitizer: detected memory leaks"),
    ];
    for (fault, report) in faults {
        let output = run(&planted, &[fault], b"");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(!output.status.success() && said.contains(report), "{fault}: {said}");
    }
    for source in ["verdict.c", "assess.c", "next.c", "shim.c", "survey.c", "picture.c"] {
        let program = compiled(source);
        passes(&program, run(&program, &NONE, b""));
    }
    let fuzz = compiled("fuzz.c");
    passes(&fuzz, run(&fuzz, &NONE, fuzz::seeds().as_bytes()));
}
