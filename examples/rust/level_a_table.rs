//! Levels a table: runs a job file and prints the work sheet.
//!
//! `cargo run --release --example level_a_table [--picture] [JOB.json]`; without a file it runs a
//! demo job of invented figures. With `--picture` it prints the picture, as SVG, instead.

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
    let mut arguments = std::env::args_os().skip(1).peekable();
    let picture = arguments.next_if(|argument| argument == "--picture").is_some();
    let text = match arguments.next() {
        Some(path) => std::fs::read_to_string(&path)
            .map_err(|error| format!("{}: {error}", path.display()))?,
        None => DEMO.to_owned(),
    };
    let draw = |job: Job| if picture { job.picture() } else { job.sheet() };
    Job::from_json(&text).and_then(draw).map_err(|error| error.to_string())
}
