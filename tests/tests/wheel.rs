//! The Python package as a user gets it: the wheel is built, installed into a fresh virtual
//! environment, and tested there by `tests/python`; so is one that is built from the source
//! distribution.

use std::fs;
use std::io::{Error, ErrorKind, Result};
use std::path::{Path, PathBuf};
use std::process::Command;

fn run(command: &mut Command) -> Result<()> {
    let output = command
        .output()
        .map_err(|error| Error::new(error.kind(), format!("{command:?}: {error}")))?;
    let [out, err] = [&output.stdout, &output.stderr].map(|text| String::from_utf8_lossy(text));
    assert!(output.status.success(), "{command:?}: {}\n{out}\n{err}", output.status);
    println!("{out}");
    Ok(())
}

/// A directory that is there and empty.
fn empty(directory: PathBuf) -> Result<PathBuf> {
    if let Err(error) = fs::remove_dir_all(&directory)
        && error.kind() != ErrorKind::NotFound
    {
        return Err(error);
    }
    fs::create_dir_all(&directory)?;
    Ok(directory)
}

/// What a directory holds: one entry.
fn only_entry(directory: &Path) -> Result<PathBuf> {
    let entries: Vec<_> = fs::read_dir(directory)?.collect::<Result<_>>()?;
    assert_eq!(entries.len(), 1, "{entries:?}");
    Ok(entries[0].path())
}

/// The workspace optimises the core in `dev` too.
const UNOPTIMISED: &str = "--profile dev --config profile.dev.package.truebed.opt-level=0";

/// Unpacks as if all had just been written: the archive's own dates are so old that Cargo would take
/// what it built the last time.
const UNPACK: &str = "
import pathlib, shutil, sys
archive, directory = sys.argv[1:]
shutil.unpack_archive(archive, directory)
for path in pathlib.Path(directory).rglob('*'):
    path.touch()
";

#[test]
fn the_installed_wheel_passes_its_tests() -> Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let scratch = Path::new(env!("CARGO_TARGET_TMPDIR")).join("wheel");
    let venv = scratch.join("venv");
    let python = venv.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    let system = if cfg!(windows) { "python" } else { "python3" };
    run(Command::new(system).args(["-m", "venv", "--clear"]).arg(&venv))?;

    let pip = |does: &str| {
        let mut pip = Command::new(&python);
        pip.args(["-m", "pip", does, "--quiet", "--disable-pip-version-check"]);
        pip
    };
    // From a directory of its own, where no source tree can stand in for what was installed.
    let pytest = |files: &[&str]| {
        let mut pytest = Command::new(&python);
        pytest
            .args(["-m", "pytest", "-p", "no:cacheprovider", "--durations=5"])
            .args(files.iter().map(|file| root.join("tests/python").join(file)))
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .env_remove("PYTHONPATH")
            .current_dir(&scratch);
        pytest
    };
    run(pip("install").arg("--requirement").arg(root.join("tests/python/requirements.txt")))?;
    run(pip("install").arg("--no-deps").arg(root.join("python")))?;
    run(&mut pytest(&[""]))?;

    let sources = empty(scratch.join("sdist"))?;
    run(Command::new(&python)
        .args(["-m", "build", "--sdist", "--outdir"])
        .args([&sources, &root.join("python")]))?;
    let unpacked = empty(scratch.join("unpacked"))?;
    run(Command::new(&python).args(["-c", UNPACK]).args([&only_entry(&sources)?, &unpacked]))?;
    let wheels = empty(scratch.join("wheels"))?;
    run(pip("wheel")
        .args(["--no-deps", "--wheel-dir"])
        .args([&wheels, &only_entry(&unpacked)?])
        // That it builds is the question, not how fast it is.
        .env("MATURIN_PEP517_ARGS", UNOPTIMISED)
        // Not that of the checkout, which Cargo cannot tell from this; kept, so that what the
        // package depends on is built once.
        .env("CARGO_TARGET_DIR", scratch.join("target")))?;
    run(pip("install").args(["--no-deps", "--force-reinstall"]).arg(only_entry(&wheels)?))?;
    run(&mut pytest(&["test_stub.py", "test_plan.py"]))
}
