//! Puts the C library under a prefix: header, shared and static library, and what pkg-config and
//! CMake look for.
//!
//! ```sh
//! cargo run --release -p truebed-ffi -- --prefix DIR
//! ```
//!
//! The copy finds its own place, so that DIR may be moved. Distributions that package by cargo-c get
//! the same files from `cargo cinstall`.

use std::env;
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

const USAGE: &str = "usage: cargo run --release -p truebed-ffi -- --prefix DIR";
const VERSION: &str = env!("CARGO_PKG_VERSION");
const SOURCE: &str = env!("CARGO_MANIFEST_DIR");
/// What `rustc --print native-static-libs` lists.
const SYSTEM_LIBRARIES: &str = "-lgcc_s -lutil -lrt -lpthread -lm -ldl";

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
    put(&built.join("libtruebed.a"), &library.join("libtruebed.a"))?;
    let full = format!("libtruebed.so.{VERSION}");
    put(&built.join("libtruebed.so"), &library.join(&full))?;
    link(&full, &library.join(concat!("libtruebed.so.", env!("CARGO_PKG_VERSION_MAJOR"))))?;
    link(&full, &library.join("libtruebed.so"))?;
    let description = library.join("pkgconfig/truebed.pc");
    make_room(&description)?;
    fs::write(&description, pkg_config()).map_err(at(&description))
}

/// Builds the library, and tells where it lies.
fn build() -> Result<PathBuf, Box<dyn Error>> {
    // This program was built into a profile's folder of the target directory.
    let program = env::current_exe()?;
    let target = program.ancestors().nth(2).ok_or("this program has no target directory")?;
    let status = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(["build", "--release", "--package", "truebed-ffi", "--lib", "--target-dir"])
        .arg(target)
        .current_dir(SOURCE)
        .status()?;
    if !status.success() {
        return Err("the library does not build".into());
    }
    Ok(target.join("release"))
}

/// What pkg-config reads; it tells the place of this file as `pcfiledir`.
fn pkg_config() -> String {
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
         Libs: -L${{libdir}} -ltruebed\n\
         Cflags: -I${{includedir}}\n\
         Libs.private: {SYSTEM_LIBRARIES}\n"
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
