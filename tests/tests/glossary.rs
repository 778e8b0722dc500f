//! The glossary names things as they are named: every name in it is in the sources of its language.

use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The text of all files below a folder that end so.
fn sources(folder: &str, ends: &[&str]) -> String {
    let (mut text, mut open) = (String::new(), vec![root().join(folder)]);
    while let Some(path) = open.pop() {
        if path.is_dir() {
            open.extend(fs::read_dir(&path).unwrap().map(|entry| entry.unwrap().path()));
        } else if ends.iter().any(|end| path.extension().is_some_and(|it| it == *end)) {
            text.push_str(&fs::read_to_string(&path).unwrap());
            text.push('\n');
        }
    }
    text
}

/// The parts between backticks.
fn names(cell: &str) -> impl Iterator<Item = &str> {
    cell.split('`').skip(1).step_by(2)
}

/// The words of a name that must be there: `Shim(to=, step=)` is three of them.
fn words(name: &str) -> impl Iterator<Item = &str> {
    let word = |c: char| c.is_alphanumeric() || c == '_' || c == '-' || c == ' ';
    name.split(move |c| !word(c)).map(str::trim).filter(|word| !word.is_empty())
}

#[test]
fn every_name_is_in_the_sources_of_its_language() {
    let languages = [
        ("Rust", sources("core/src", &["rs"])),
        ("C", sources("ffi/include", &["h"])),
        ("Python", sources("python", &["py", "pyi", "rs"])),
        ("JSON", truebed::Job::json_schema()),
    ];
    let glossary = fs::read_to_string(root().join("core/GLOSSARY.md")).unwrap();
    let rows =
        glossary.lines().filter(|line| line.starts_with("| ") && !line.starts_with("| word "));
    let (mut missing, mut count) = (Vec::new(), 0);
    for row in rows {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        assert_eq!(cells.len(), 7, "seven columns: {row}");
        for ((language, text), cell) in languages.iter().zip(&cells[2..6]) {
            for name in names(cell) {
                count += 1;
                for word in words(name).filter(|word| !text.contains(word.trim_end_matches('_'))) {
                    missing.push(format!("{}: {language} has no {word:?}", cells[0]));
                }
            }
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
    assert!(count > 150, "{count} names");
}
