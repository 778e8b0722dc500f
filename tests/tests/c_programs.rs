//! C programs against the C library: compiled with every warning an error, linked with the static
//! and the shared library, run bare and, where it is installed, under valgrind.
#![cfg(target_os = "linux")]

#[path = "c_programs/examples.rs"]
mod examples;
#[path = "c_programs/fuzz.rs"]
mod fuzz;
#[path = "c_programs/install.rs"]
mod install;
#[path = "c_programs/sanitizers.rs"]
mod sanitizers;

use std::collections::BTreeSet;
use std::ffi::OsStr;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{LazyLock, Mutex, PoisonError};

const STRICT: [&str; 4] = ["-Wall", "-Wextra", "-Wpedantic", "-Werror"];
/// What `pkg-config --static --libs truebed` lists beside the library.
const SYSTEM_LIBRARIES: [&str; 5] = ["-lutil", "-lrt", "-lpthread", "-lm", "-ldl"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_owned()
}

/// The library as programs meet it: an installed copy.
struct Library {
    archive: PathBuf,
    /// Where the linker looks: holds `libtruebed.so` only.
    development: PathBuf,
    /// Where the loader looks: holds `libtruebed.so.0` only, so that a wrong soname is not found.
    runtime: PathBuf,
}

/// Installs the library under a folder by the command that the guide gives.
fn install(prefix: &Path) {
    let mut command = Command::new(env!("CARGO"));
    command.args(["run", "--quiet", "--locked", "-p", "truebed-ffi", "--", "--prefix"]);
    let output = command.arg(prefix).current_dir(root()).output().unwrap();
    let [stdout, stderr] = [&output.stdout, &output.stderr].map(|it| String::from_utf8_lossy(it));
    assert!(output.status.success(), "the C library does not install\n{stdout}{stderr}");
}

static LIBRARY: LazyLock<Library> = LazyLock::new(|| {
    let folder = |name: &str| {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        let _ = fs::remove_dir_all(&folder);
        fs::create_dir_all(&folder).unwrap();
        folder
    };
    let lib = folder("c_library").join("lib");
    install(lib.parent().unwrap());
    let link = |name: &str, library: &str| {
        let folder = folder(name);
        let full = fs::canonicalize(lib.join("libtruebed.so")).unwrap();
        std::os::unix::fs::symlink(full, folder.join(library)).unwrap();
        folder
    };
    Library {
        archive: lib.join("libtruebed.a"),
        development: link("c_development", "libtruebed.so"),
        runtime: link("c_runtime", "libtruebed.so.0"),
    }
});

#[derive(Clone, Copy, PartialEq)]
enum Linkage {
    Static,
    Shared,
}

/// Compiles a program of one source file.
fn compile(source: &Path, linkage: Linkage) -> PathBuf {
    compile_with(source, linkage, &root().join("ffi/include"), &[])
}

/// Compiles it against the header in a folder, and with flags besides.
fn compile_with(source: &Path, linkage: Linkage, include: &Path, flags: &[&str]) -> PathBuf {
    let is_c = source.extension() == Some(OsStr::new("c"));
    let (compiler, standard) = if is_c { ("cc", "-std=c99") } else { ("c++", "-std=c++17") };
    let mut name = source.file_name().unwrap().to_owned();
    name.push(if linkage == Linkage::Static { ".static" } else { ".shared" });
    if !flags.is_empty() {
        name.push(".sanitized");
    }
    let program = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    // Several tests run some of the programs: none may be written while it runs.
    static COMPILED: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());
    let mut compiled = COMPILED.lock().unwrap_or_else(PoisonError::into_inner);
    if compiled.contains(&program) {
        return program;
    }
    let mut command = Command::new(compiler);
    command.arg(standard).args(flags).args(STRICT).args(["-g", "-O1", "-pthread", "-I"]);
    command.arg(include).arg(source).arg("-o").arg(&program);
    match linkage {
        Linkage::Static => command.arg(&LIBRARY.archive).args(SYSTEM_LIBRARIES),
        Linkage::Shared => command.arg("-L").arg(&LIBRARY.development).args(["-ltruebed", "-lm"]),
    };
    let output = command.output().unwrap_or_else(|error| panic!("{compiler}: {error}"));
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    compiled.insert(program.clone());
    program
}

fn is_installed(tool: &str) -> bool {
    let found = Command::new(tool).arg("--version").output().is_ok();
    if !found {
        println!("skipped: there is no {tool} here");
    }
    found
}

fn run<I: AsRef<OsStr>>(program: &Path, arguments: &[I], input: &[u8]) -> Output {
    start(Command::new(program).args(arguments), input)
}

fn start(command: &mut Command, input: &[u8]) -> Output {
    let mut child = command
        .env("LD_LIBRARY_PATH", &LIBRARY.runtime)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that wants no input may be gone before it is written.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn valgrind<I: AsRef<OsStr>>(program: &Path, arguments: &[I], input: &[u8]) {
    let mut command = Command::new("valgrind");
    command.args(["--quiet", "--error-exitcode=1", "--leak-check=full"]);
    let known = root().join("ffi/valgrind.supp");
    command.arg(format!("--suppressions={}", known.display()));
    passes(program, start(command.arg(program).args(arguments), input));
}

/// The program succeeded and was silent on standard error.
fn passes(program: &Path, output: Output) {
    let [stdout, stderr] = [&output.stdout, &output.stderr].map(|it| String::from_utf8_lossy(it));
    assert!(output.status.success(), "{}: {}\n{stdout}{stderr}", program.display(), output.status);
    assert_eq!(stderr, "", "{}", program.display());
}

/// Compiles and runs one of the programs in `c`.
fn check<I: AsRef<OsStr>>(source: &str, arguments: &[I]) {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("c").join(source);
    for linkage in [Linkage::Static, Linkage::Shared] {
        let program = compile(&source, linkage);
        passes(&program, run(&program, arguments, b""));
        if linkage == Linkage::Shared && is_installed("valgrind") {
            valgrind(&program, arguments, b"");
        }
    }
}

const NONE: [&str; 0] = [];

/// A program that was built against the header of before runs with today's library.
#[test]
fn frozen() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("c");
    for linkage in [Linkage::Static, Linkage::Shared] {
        let program = compile_with(&folder.join("frozen.c"), linkage, &folder.join("frozen"), &[]);
        passes(&program, run(&program, &NONE, b""));
    }
}

#[test]
fn status() {
    check("status.c", &NONE);
}

#[test]
fn length() {
    check("length.c", &NONE);
}

#[test]
fn plane() {
    check("plane.c", &NONE);
}

#[test]
fn floor() {
    check("floor.c", &NONE);
}

#[test]
fn shim() {
    check("shim.c", &NONE);
}

#[test]
fn stop() {
    check("stop.c", &NONE);
}

#[test]
fn stop_verdict() {
    check("stop_verdict.c", &NONE);
}

#[test]
fn plans() {
    check("plans.c", &NONE);
}

#[test]
fn stream() {
    check("stream.c", &NONE);
}

#[test]
fn pass() {
    check("pass.c", &NONE);
}

#[test]
fn verdict() {
    check("verdict.c", &NONE);
}

#[test]
fn assess() {
    check("assess.c", &NONE);
}

#[test]
fn next() {
    check("next.c", &NONE);
}

#[test]
fn risks() {
    check("risks.c", &NONE);
}

#[test]
fn estimate() {
    check("estimate.c", &NONE);
}

#[test]
fn site() {
    check("site.c", &NONE);
}

#[test]
fn bed() {
    check("bed.c", &NONE);
}

#[test]
fn bed_surface() {
    check("bed_surface.c", &NONE);
}

#[test]
fn survey() {
    check("survey.c", &NONE);
}

#[test]
fn pictures() {
    check("picture.c", &NONE);
}

#[test]
fn job() {
    check("job.c", &NONE);
}

#[test]
fn threads() {
    check("threads.c", &NONE);
}

/// Without valgrind, which needs room of its own.
#[test]
fn scarce() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("c/scarce.c");
    for linkage in [Linkage::Static, Linkage::Shared] {
        let program = compile(&source, linkage);
        passes(&program, run(&program, &NONE, b""));
    }
}

/// Every job runs on the stack that the header asks for, and no nesting of a document is too much.
#[test]
fn stack() {
    let mut arguments = vec![PathBuf::from("256")];
    arguments.extend(pairs("good", ".job.json", ".done.json").into_iter().step_by(2));
    arguments.extend(pairs("bad", ".job", ".error").into_iter().step_by(2));
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("c/stack.c");
    let program = compile(&source, Linkage::Shared);
    passes(&program, run(&program, &arguments, b""));
}

/// The header and the programs, by every compiler that is here and in every standard that they keep.
#[test]
fn compilers_and_standards() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("c");
    let programs = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path());
    // What was frozen is built against its own header.
    let programs: Vec<PathBuf> = programs
        .filter(|path| path.extension() == Some(OsStr::new("c")) && !path.ends_with("frozen.c"))
        .chain([root().join("examples/c/level_a_table.c")])
        .collect();
    for compiler in ["gcc", "clang"] {
        if !is_installed(compiler) {
            continue;
        }
        let understands = |standard: &str, language: &str, sources: &[PathBuf]| {
            let mut command = Command::new(compiler);
            command.arg(format!("-std={standard}")).args(STRICT).args(["-fsyntax-only", "-I"]);
            command.arg(root().join("ffi/include")).args(sources).args(["-x", language, "-"]);
            passes(Path::new(compiler), start(&mut command, b"#include \"truebed.h\"\n"));
        };
        understands("c99", "c", &programs);
        understands("c11", "c", &programs);
        if is_installed("c++") {
            understands("c++17", "c++", &[root().join("examples/c/tradeoff.cpp")]);
        }
    }
}

#[test]
fn header_in_cpp() {
    if is_installed("c++") {
        check("header.cpp", &NONE);
    }
}

/// Files of a folder of vectors as pairs; none where the folder is not there.
fn pairs(folder: &str, job: &str, expected: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors").join(folder);
    let mut jobs: Vec<PathBuf> = fs::read_dir(folder)
        .map(|entries| entries.map(|entry| entry.unwrap().path()).collect())
        .unwrap_or_default();
    jobs.retain(|path| path.to_str().unwrap().ends_with(job));
    jobs.sort();
    let beside = |path: &PathBuf| {
        PathBuf::from(format!("{}{expected}", path.to_str().unwrap().strip_suffix(job).unwrap()))
    };
    jobs.iter().flat_map(|path| [path.clone(), beside(path)]).collect()
}

#[test]
fn vectors() {
    for (mode, job, expected) in [("good", ".job.json", ".done.json"), ("bad", ".job", ".error")] {
        let mut arguments = vec![PathBuf::from(mode)];
        arguments.extend(pairs(mode, job, expected));
        check("vectors.c", &arguments);
    }
}
