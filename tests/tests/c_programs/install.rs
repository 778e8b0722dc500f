//! The installed library, as a project outside of this one meets it.

use super::*;

/// A folder of this name, empty.
fn fresh(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// Runs a command to its end and gives what it wrote.
fn done(command: &mut Command) -> String {
    let output = command.output().unwrap_or_else(|error| panic!("{command:?}: {error}"));
    let [stdout, stderr] = [output.stdout, output.stderr].map(|it| String::from_utf8(it).unwrap());
    assert!(output.status.success(), "{command:?}: {}\n{stdout}{stderr}", output.status);
    stdout
}

/// All files under a folder, by their place in it.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(next) = folders.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path.strip_prefix(folder).unwrap().to_owned());
            }
        }
    }
    found.sort();
    found
}

/// What `cargo cinstall` gives as well.
const FILES: [&str; 8] = [
    "include/truebed.h",
    "lib/libtruebed.a",
    "lib/libtruebed.so",
    "lib/libtruebed.so.0",
    "lib/libtruebed.so.0.1.0",
    "lib/pkgconfig/truebed.pc",
    "share/cmake/truebed/truebed-config-version.cmake",
    "share/cmake/truebed/truebed-config.cmake",
];

const FILES_BESIDE: [&str; 6] = [
    "lib/.debug/libtruebed.so.0.1.0.debug",
    "lib/pkgconfig/truebed-static.pc",
    "share/doc/truebed/LICENSE-APACHE",
    "share/doc/truebed/LICENSE-MIT",
    "share/doc/truebed/LICENSE-THIRD-PARTY",
    "share/truebed/valgrind.supp",
];

/// The program of an outside project, built in a copy of its own.
fn outside(name: &str) -> PathBuf {
    let folder = fresh(name);
    for file in ["program.c", "CMakeLists.txt"] {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("c/outside").join(file);
        fs::copy(from, folder.join(file)).unwrap();
    }
    folder
}

fn speaks(program: &Path, libraries: &Path) {
    let said = done(Command::new(program).env("LD_LIBRARY_PATH", libraries));
    assert_eq!(said, "0.1.0 6.35\n");
}

fn pkg_config(prefix: &Path, arguments: &[&str]) -> Vec<String> {
    let mut command = Command::new("pkg-config");
    command.env("PKG_CONFIG_PATH", prefix.join("lib/pkgconfig"));
    let said = done(command.args(arguments));
    said.split_whitespace().map(str::to_owned).collect()
}

/// Builds the outside program with these flags and nothing else, and gives what it needs to run.
fn built(folder: &Path, name: &str, flags: &[String], libraries: &Path) -> String {
    let program = folder.join(name);
    done(Command::new("cc").arg(folder.join("program.c")).args(flags).arg("-o").arg(&program));
    speaks(&program, libraries);
    done(Command::new("readelf").args(["--program-headers", "--dynamic"]).arg(&program))
}

/// Builds with what pkg-config says and nothing else.
fn builds_with_pkg_config(prefix: &Path) {
    if !is_installed("pkg-config") {
        return;
    }
    let folder = outside("c_outside_pkg_config");
    assert_eq!(pkg_config(prefix, &["--modversion", "truebed"]), ["0.1.0"]);
    let flags = pkg_config(prefix, &["--cflags", "--libs", "truebed"]);
    let needs = built(&folder, "shared", &flags, &prefix.join("lib"));
    assert!(needs.contains("[libtruebed.so.0]"), "{needs}");
}

/// A program that is really static: without a loader and without any shared library.
fn builds_a_static_program(prefix: &Path) {
    if !is_installed("pkg-config") {
        return;
    }
    let folder = outside("c_outside_static");
    let mut flags = pkg_config(prefix, &["--static", "--cflags", "--libs", "truebed"]);
    flags.push("-static".to_owned());
    let needs = built(&folder, "static", &flags, &folder);
    assert!(!needs.contains("(NEEDED)") && !needs.contains("INTERP"), "{needs}");
}

/// The archive in a program that is linked with shared system libraries as usual.
fn builds_with_the_archive_alone(prefix: &Path) {
    if !is_installed("pkg-config") {
        return;
    }
    let folder = outside("c_outside_archive");
    let flags = pkg_config(prefix, &["--cflags", "--libs", "truebed-static"]);
    let needs = built(&folder, "archive", &flags, &folder);
    assert!(needs.contains("INTERP") && !needs.contains("libtruebed"), "{needs}");
}

/// The installed libraries: small, with the header's names alone, and without a trace of this machine.
fn are_fit_to_hand_out(prefix: &Path) {
    let header = fs::read_to_string(prefix.join("include/truebed.h")).unwrap();
    let archive = prefix.join("lib/libtruebed.a");
    let defined = done(Command::new("nm").args(["--extern-only", "--defined-only"]).arg(&archive));
    let names: Vec<&str> = defined.lines().filter_map(|line| line.split(' ').nth(2)).collect();
    assert!(names.len() > 100);
    for name in names {
        assert!(header.contains(&format!("{name}(")), "{name} is global in the archive");
    }
    let library = prefix.join("lib/libtruebed.so.0.1.0");
    let sections = done(Command::new("readelf").args(["--sections", "--wide"]).arg(&library));
    assert!(sections.contains(".gnu_debuglink") && !sections.contains(".debug_"), "{sections}");
    let debug = prefix.join("lib/.debug/libtruebed.so.0.1.0.debug");
    let sections = done(Command::new("readelf").args(["--sections", "--wide"]).arg(&debug));
    assert!(sections.contains(".debug_line"), "{sections}");
    let home = std::env::home_dir().unwrap();
    for file in [&archive, &library, &debug] {
        let bytes = fs::read(file).unwrap();
        println!("{}: {} kB", file.display(), bytes.len() / 1000);
        for folder in [root().canonicalize().unwrap(), home.join(".cargo"), home.join(".rustup")] {
            let name = folder.into_os_string().into_encoded_bytes();
            let holds = bytes.windows(name.len()).any(|it| it == name);
            assert!(!holds, "{} names {}", file.display(), String::from_utf8_lossy(&name));
        }
    }
    let licences = prefix.join("share/doc/truebed/LICENSE-THIRD-PARTY");
    assert!(fs::read_to_string(licences).unwrap().contains("serde_json"));
}

/// Builds with what CMake finds and nothing else.
fn builds_with_cmake(prefix: &Path) {
    if !is_installed("cmake") {
        return;
    }
    let (folder, build) = (outside("c_outside_cmake"), fresh("c_outside_cmake_build"));
    let place = format!("-DCMAKE_PREFIX_PATH={}", prefix.display());
    done(Command::new("cmake").arg("-S").arg(folder).arg("-B").arg(&build).arg(place));
    done(Command::new("cmake").arg("--build").arg(&build));
    speaks(&build.join("with_shared"), &prefix.join("lib"));
    speaks(&build.join("with_static"), &build);
}

#[test]
fn installs_for_others() {
    // Moved, since a copy finds its own place; and installed twice, over itself.
    let (first, prefix) = (fresh("c_installed"), fresh("c_moved"));
    for _ in 0..2 {
        install(&first);
    }
    fs::remove_dir(&prefix).unwrap();
    fs::rename(&first, &prefix).unwrap();
    let mut expected: Vec<PathBuf> =
        FILES.into_iter().chain(FILES_BESIDE).map(PathBuf::from).collect();
    expected.sort();
    assert_eq!(files(&prefix), expected);
    are_fit_to_hand_out(&prefix);
    builds_with_pkg_config(&prefix);
    builds_a_static_program(&prefix);
    builds_with_the_archive_alone(&prefix);
    builds_with_cmake(&prefix);
}

/// The same sources in another folder, built into another one, give the same bytes.
#[test]
#[ignore = "builds the library and all below it twice"]
fn builds_the_same_anywhere() {
    let libraries = ["first", "second/deeper/down"].map(|place| {
        let folder = fresh("c_elsewhere").join(place);
        fs::create_dir_all(&folder).unwrap();
        let copy = r#"git -C "$0" archive HEAD | tar -x -C "$1""#;
        done(Command::new("bash").args(["-c", copy]).arg(root()).arg(&folder));
        let mut command = Command::new(env!("CARGO"));
        command.args(["run", "--quiet", "--locked", "-p", "truebed-ffi", "--", "--prefix"]);
        command.arg(folder.join("installed")).current_dir(&folder);
        done(command.env("CARGO_TARGET_DIR", folder.join("built")));
        ["lib/libtruebed.so.0.1.0", "lib/libtruebed.a"]
            .map(|name| fs::read(folder.join("installed").join(name)).unwrap())
    });
    assert!(libraries[0] == libraries[1], "two builds of one commit differ");
}

/// cargo-c takes long to install, so this is run by name, where it is.
#[test]
#[ignore = "needs cargo-c"]
fn cargo_c_installs_the_same() {
    let prefix = fresh("c_cinstalled");
    let libdir = format!("--libdir={}", prefix.join("lib").display());
    let mut command = Command::new(env!("CARGO"));
    command.args(["cinstall", "--release", "-p", "truebed-ffi", &libdir, "--prefix"]);
    done(command.arg(&prefix).current_dir(root()));
    assert_eq!(files(&prefix), FILES.map(PathBuf::from));
    builds_with_pkg_config(&prefix);
    builds_with_cmake(&prefix);
}
