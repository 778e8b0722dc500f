//! The picture that the README shows is the one that the library draws today.

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
