//! Levels a table: runs a job file and prints the work sheet.
//!
//! `cargo run --release --example level_a_table [JOB.json]`; without a file it runs a demo job of
//! invented figures.

use std::process::ExitCode;

use truebed::Job;

const DEMO: &str = include_str!("../data/level_a_table.json");

fn main() -> ExitCode {
    match sheet() {
        Ok(sheet) => {
            print!("{sheet}");
            ExitCode::SUCCESS
        }
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn sheet() -> Result<String, String> {
    let text = match std::env::args_os().nth(1) {
        Some(path) => std::fs::read_to_string(&path)
            .map_err(|error| format!("{}: {error}", path.display()))?,
        None => DEMO.to_owned(),
    };
    Job::from_json(&text).and_then(|job| job.sheet()).map_err(|error| error.to_string())
}
