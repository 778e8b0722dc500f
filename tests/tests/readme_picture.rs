//! The picture and the lines of a sheet that the README shows are those of today.

use std::fs;
use std::path::Path;

use truebed::Job;

/// With `TRUEBED_BLESS=1` the picture is written anew: look at it.
#[test]
fn the_picture_in_the_readme_is_the_one_drawn_today() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let demo = fs::read_to_string(examples.join("data/level_a_table.json")).unwrap();
    let drawn = Job::from_json(&demo).unwrap().picture().unwrap();
    let path = examples.join("level_a_table.svg");
    if std::env::var_os("TRUEBED_BLESS").is_some() {
        fs::write(&path, &drawn).unwrap();
    }
    let shown = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        shown == drawn,
        "examples/level_a_table.svg is not what is drawn today; to write it anew: \
         TRUEBED_BLESS=1 cargo test -p truebed-tests --test readme_picture"
    );
}

#[test]
fn the_lines_of_the_sheet_in_the_readme_are_those_of_today() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let demo = fs::read_to_string(root.join("examples/data/level_a_table.json")).unwrap();
    let sheet = Job::from_json(&demo).unwrap().sheet().unwrap();
    let readme = fs::read_to_string(root.join("README.md")).unwrap();
    let shown = readme.split("```text\n").nth(1).and_then(|rest| rest.split("```").next());
    assert!(sheet.contains(shown.unwrap()), "the README shows other lines than\n{sheet}");
}
