//! The Python package as a user gets it: the wheel is built, installed into a fresh virtual
//! environment, and tested there by `tests/python`.

use std::io::{Error, Result};
use std::path::Path;
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

#[test]
fn the_installed_wheel_passes_its_tests() -> Result<()> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let scratch = Path::new(env!("CARGO_TARGET_TMPDIR")).join("wheel");
    let venv = scratch.join("venv");
    let python = venv.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    let system = if cfg!(windows) { "python" } else { "python3" };
    run(Command::new(system).args(["-m", "venv", "--clear"]).arg(&venv))?;

    let pip = || {
        let mut pip = Command::new(&python);
        pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check"]);
        pip
    };
    run(pip().arg("--requirement").arg(root.join("tests/python/requirements.txt")))?;
    run(pip().arg("--no-deps").arg(root.join("python")))?;

    // From a directory of its own, where no source tree can stand in for what was installed.
    run(Command::new(&python)
        .args(["-m", "pytest", "-p", "no:cacheprovider", "--durations=5"])
        .arg(root.join("tests/python"))
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .env_remove("PYTHONPATH")
        .current_dir(&scratch))
}
