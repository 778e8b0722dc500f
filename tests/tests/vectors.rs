//! The shared vectors: jobs with the exact text that a run must give, and bad ones with the exact
//! error. Python and C run the same files.
//!
//! `TRUEBED_BLESS=1 cargo test -p truebed-tests --test vectors` writes the expected texts anew; look
//! at the difference before you commit it.

use std::fs;
use std::path::{Path, PathBuf};

use truebed::{Job, ProblemKind, run_job};

/// The files of a folder of vectors that end so, sorted.
fn files(folder: &str, ending: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("vectors").join(folder);
    let mut files: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.to_str().unwrap().ends_with(ending))
        .collect();
    files.sort();
    assert!(files.len() > 5, "vectors are missing");
    files
}

fn compare(path: &Path, got: &str) {
    if std::env::var_os("TRUEBED_BLESS").is_some() {
        fs::write(path, got).unwrap();
    }
    let expected = fs::read_to_string(path).unwrap_or_default();
    assert_eq!(got, expected, "{} differs; see the head of this test", path.display());
}

#[test]
fn good_jobs_give_their_exact_outcome() {
    for path in files("good", ".job.json") {
        let done = run_job(&fs::read_to_string(&path).unwrap()).unwrap();
        compare(Path::new(&path.to_str().unwrap().replace(".job.json", ".done.json")), &done);
    }
}

#[test]
fn a_job_that_has_been_run_gives_the_same_again() {
    for path in files("good", ".done.json") {
        let done = fs::read_to_string(&path).unwrap();
        assert_eq!(run_job(&done).unwrap(), done, "{}", path.display());
    }
}

#[test]
fn every_outcome_has_a_sheet_with_the_cautions() {
    for path in files("good", ".done.json") {
        let sheet = Job::from_json(&fs::read_to_string(&path).unwrap()).unwrap().sheet().unwrap();
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        for caution in truebed::CAUTIONS {
            assert!(words(&sheet).contains(&words(caution)), "{}", path.display());
        }
    }
}

#[test]
fn bad_jobs_give_their_exact_error() {
    for path in files("bad", ".job") {
        let error = run_job(&fs::read_to_string(&path).unwrap()).unwrap_err();
        compare(&path.with_extension("error"), &format!("{}\n{error}\n", error.code()));
    }
}

/// The published schema takes every good job and every outcome, and refuses what it can see of
/// the bad ones.
#[test]
fn the_schema_and_the_reader_agree() {
    let schema: serde_json::Value = serde_json::from_str(&Job::json_schema()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for path in files("good", ".json") {
        let document = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
        let errors: Vec<_> =
            validator.iter_errors(&document).map(|error| error.to_string()).collect();
        assert!(errors.is_empty(), "{}: {errors:?}", path.display());
    }
    for path in files("bad", ".job") {
        let text = fs::read_to_string(&path).unwrap();
        let Ok(document) = serde_json::from_str(&text) else { continue };
        if validator.is_valid(&document) {
            // What a schema cannot see: ids, places, geometry; a field given twice, a length or a whole
            // number out of range.
            let unseen = ["budget-beyond.job", "field-twice.job", "thickness-beyond-range.job"];
            let error = run_job(&text).unwrap_err();
            let by_value = error.code() != ProblemKind::Document.code();
            assert!(
                by_value || unseen.iter().any(|name| path.ends_with(name)),
                "{}",
                path.display()
            );
        }
    }
}
