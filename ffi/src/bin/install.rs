//! Puts the C library under a prefix: header, shared and static library, their debug information, what
//! pkg-config and CMake look for, licences, and a file of suppressions for valgrind.
//!
//! ```sh
//! cargo run -p truebed-ffi -- --prefix DIR
//! ```
//!
//! - The libraries are built from `Cargo.lock` as it is (`--locked`), with the paths of this machine
//!   replaced, so that a build in another folder gives the same bytes.
//! - Debug information goes into `lib/.debug/libtruebed.so.VERSION.debug`, where debuggers find it by
//!   the link that the library keeps; the archive has none.
//! - The archive is one object whose only global symbols are those of the header, so that it goes
//!   together with any other archive, other Rust libraries included.
//!
//! The copy finds its own place, so that DIR may be moved. Distributions that package by cargo-c get
//! header, libraries and `truebed.pc` under the same names from `cargo cinstall`.

use std::env;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

const USAGE: &str = "usage: cargo run -p truebed-ffi -- --prefix DIR";
const VERSION: &str = env!("CARGO_PKG_VERSION");
const SOURCE: &str = env!("CARGO_MANIFEST_DIR");
/// What `rustc --print native-static-libs` lists, without gcc_s: C compilers add the unwinder by
/// themselves, the shared or the static one as it fits, and there is no static gcc_s.
const SYSTEM_LIBRARIES: &str = "-lutil -lrt -lpthread -lm -ldl";
/// The licences that go along: the project's own and those of what it is built from.
const LICENCES: [&str; 3] = ["LICENSE-MIT", "LICENSE-APACHE", "LICENSE-THIRD-PARTY"];

fn main() -> ExitCode {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let prefix = match &arguments[..] {
        [option, prefix] if option == "--prefix" => Path::new(prefix),
        [option] if option == "--help" => {
            println!("{USAGE}");
            return ExitCode::SUCCESS;
        }
        _ => {
            eprintln!("{USAGE}");
            return ExitCode::from(2);
        }
    };
    match install(prefix) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn install(prefix: &Path) -> Result<(), Box<dyn Error>> {
    if !cfg!(target_os = "linux") {
        return Err(
            "only Linux is known here; elsewhere `cargo cinstall` of cargo-c does it".into()
        );
    }
    let built = build()?;
    let (source, library) = (Path::new(SOURCE), prefix.join("lib"));
    put(&source.join("include/truebed.h"), &prefix.join("include/truebed.h"))?;
    for name in ["truebed-config.cmake", "truebed-config-version.cmake"] {
        let to = prefix.join("share/cmake/truebed").join(name);
        put(&source.join("cmake").join(name), &to)?;
    }
    let archive = library.join("libtruebed.a");
    make_room(&archive)?;
    one_object(&built.join("libtruebed.a"), &archive)?;
    let full = format!("libtruebed.so.{VERSION}");
    put(&built.join("libtruebed.so"), &library.join(&full))?;
    split_debug(&library, &full)?;
    link(&full, &library.join(concat!("libtruebed.so.", env!("CARGO_PKG_VERSION_MAJOR"))))?;
    link(&full, &library.join("libtruebed.so"))?;
    for name in LICENCES {
        put(&source.join("..").join(name), &prefix.join("share/doc/truebed").join(name))?;
    }
    put(&source.join("valgrind.supp"), &prefix.join("share/truebed/valgrind.supp"))?;
    for (name, libs) in [
        ("truebed.pc", format!("Libs: -L${{libdir}} -ltruebed\nLibs.private: {SYSTEM_LIBRARIES}")),
        // The archive in a program that is otherwise linked as usual.
        ("truebed-static.pc", format!("Libs: ${{libdir}}/libtruebed.a {SYSTEM_LIBRARIES}")),
    ] {
        let place = library.join("pkgconfig").join(name);
        make_room(&place)?;
        fs::write(&place, pkg_config(&libs)).map_err(at(&place))?;
    }
    Ok(())
}

/// Makes an archive of one object, in which only the names of the header are global.
fn one_object(from: &Path, to: &Path) -> Result<(), Box<dyn Error>> {
    let object = from.with_file_name("truebed.o");
    run(Command::new("ld").args(["-r", "--whole-archive"]).arg(from).arg("-o").arg(&object))?;
    let mut keep = Command::new("objcopy");
    keep.args(["--wildcard", "--keep-global-symbol=truebed_*", "--strip-debug"]);
    // The standard library's bitcode, of no use to other linkers.
    keep.args(["--remove-section=.llvmbc", "--remove-section=.llvmcmd"]);
    run(keep.arg(&object))?;
    // D: no times and owners, so that the same object gives the same archive.
    run(Command::new("ar").arg("rcsD").arg(to).arg(&object))?;
    fs::remove_file(&object).map_err(at(&object))
}

/// Moves the debug information of a shared library into a file of its own.
fn split_debug(library: &Path, name: &str) -> Result<(), Box<dyn Error>> {
    let (folder, debug) = (library.join(".debug"), format!("{name}.debug"));
    make_room(&folder.join(&debug))?;
    let mut only = Command::new("objcopy");
    run(only.arg("--only-keep-debug").arg(library.join(name)).arg(folder.join(&debug)))?;
    // The link is the name of the file and a checksum of it.
    let mut strip = Command::new("objcopy");
    strip.arg("--strip-debug").arg(format!("--add-gnu-debuglink={debug}"));
    run(strip.arg(fs::canonicalize(library.join(name))?).current_dir(folder))
}

fn run(command: &mut Command) -> Result<(), Box<dyn Error>> {
    let tool = command.get_program().display().to_string();
    let output = command.output().map_err(|error| format!("{tool} (of binutils): {error}"))?;
    match output.status.success() {
        true => Ok(()),
        false => Err(format!("{tool}: {}", String::from_utf8_lossy(&output.stderr)).into()),
    }
}

/// Builds the library, and tells where it lies. The build has a folder of its own, since its flags
/// differ from those of other builds.
fn build() -> Result<PathBuf, Box<dyn Error>> {
    // This program was built into a profile's folder of the target directory.
    let program = env::current_exe()?;
    let target = program.ancestors().nth(2).ok_or("this program has no target directory")?;
    let target = target.join("install");
    let mut flags = vec![];
    let project = fs::canonicalize(Path::new(SOURCE).join(".."))?;
    for (from, to) in
        [(cargo_home()?, "/cargo"), (target.clone(), "/target"), (project, "/truebed")]
    {
        flags.push(format!("--remap-path-prefix={}={to}", from.display()));
    }
    let status = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(["build", "--locked", "--profile", "dist", "--package", "truebed-ffi", "--lib"])
        .arg("--target-dir")
        .arg(&target)
        .env("CARGO_ENCODED_RUSTFLAGS", flags.join("\u{1f}"))
        .current_dir(SOURCE)
        .status()?;
    if !status.success() {
        return Err("the library does not build".into());
    }
    Ok(target.join("dist"))
}

/// Where Cargo keeps the sources of dependencies.
fn cargo_home() -> Result<PathBuf, Box<dyn Error>> {
    if let Some(home) = env::var_os("CARGO_HOME") {
        return Ok(home.into());
    }
    let home = env::home_dir().ok_or("neither CARGO_HOME nor a home directory is set")?;
    Ok(home.join(".cargo"))
}

/// What pkg-config reads; it tells the place of this file as `pcfiledir`.
fn pkg_config(libs: &str) -> String {
    let description = env!("CARGO_PKG_DESCRIPTION");
    format!(
        "prefix=${{pcfiledir}}/../..\n\
         exec_prefix=${{prefix}}\n\
         libdir=${{prefix}}/lib\n\
         includedir=${{prefix}}/include\n\
         \n\
         Name: truebed\n\
         Description: {description}\n\
         Version: {VERSION}\n\
         Cflags: -I${{includedir}}\n\
         {libs}\n"
    )
}

fn put(from: &Path, to: &Path) -> Result<(), Box<dyn Error>> {
    make_room(to)?;
    fs::copy(from, to)
        .map_err(|error| format!("{} to {}: {error}", from.display(), to.display()))?;
    Ok(())
}

#[cfg(unix)]
fn link(to: &str, place: &Path) -> Result<(), Box<dyn Error>> {
    make_room(place)?;
    std::os::unix::fs::symlink(to, place).map_err(at(place))
}

#[cfg(not(unix))]
fn link(_: &str, _: &Path) -> Result<(), Box<dyn Error>> {
    Ok(())
}

/// Makes the folder, and takes away what was there: a program that runs with it keeps it.
fn make_room(place: &Path) -> Result<(), Box<dyn Error>> {
    if let Some(folder) = place.parent() {
        fs::create_dir_all(folder).map_err(at(folder))?;
    }
    if place.symlink_metadata().is_ok() {
        fs::remove_file(place).map_err(at(place))?;
    }
    println!("{}", place.display());
    Ok(())
}

fn at(place: &Path) -> impl FnOnce(std::io::Error) -> Box<dyn Error> {
    move |error| format!("{}: {error}", place.display()).into()
}
