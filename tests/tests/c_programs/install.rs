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

fn cargo(arguments: &[&str], prefix: &Path) {
    done(Command::new(env!("CARGO")).args(arguments).arg(prefix).current_dir(root()));
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

/// Builds with what pkg-config says and nothing else.
fn builds_with_pkg_config(prefix: &Path) {
    if !is_installed("pkg-config") {
        return;
    }
    let folder = outside("c_outside_pkg_config");
    let says = |options: &[&str]| -> Vec<String> {
        let mut command = Command::new("pkg-config");
        command.env("PKG_CONFIG_PATH", prefix.join("lib/pkgconfig"));
        let said = done(command.args(options).arg("truebed"));
        said.split_whitespace().map(str::to_owned).collect()
    };
    assert_eq!(says(&["--modversion"]), ["0.1.0"]);
    // The name of the archive itself makes the linker take it in place of the shared library.
    let by_name = |it: String| if it == "-ltruebed" { "-l:libtruebed.a".to_owned() } else { it };
    let shared = says(&["--cflags", "--libs"]);
    let with_static = says(&["--static", "--cflags", "--libs"]).into_iter().map(by_name).collect();
    for (name, flags, libraries) in
        [("shared", shared, prefix.join("lib")), ("static", with_static, folder.clone())]
    {
        let flags: Vec<String> = flags;
        let program = folder.join(name);
        done(Command::new("cc").arg(folder.join("program.c")).args(flags).arg("-o").arg(&program));
        speaks(&program, &libraries);
    }
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
        cargo(&["run", "--quiet", "--release", "-p", "truebed-ffi", "--", "--prefix"], &first);
    }
    fs::remove_dir(&prefix).unwrap();
    fs::rename(&first, &prefix).unwrap();
    assert_eq!(files(&prefix), FILES.map(PathBuf::from));
    builds_with_pkg_config(&prefix);
    builds_with_cmake(&prefix);
}

/// cargo-c takes long to install, so this is run by name, where it is.
#[test]
#[ignore = "needs cargo-c"]
fn cargo_c_installs_the_same() {
    let prefix = fresh("c_cinstalled");
    let libdir = format!("--libdir={}", prefix.join("lib").display());
    cargo(&["cinstall", "--release", "-p", "truebed-ffi", &libdir, "--prefix"], &prefix);
    assert_eq!(files(&prefix), FILES.map(PathBuf::from));
    builds_with_pkg_config(&prefix);
    builds_with_cmake(&prefix);
}
