//! Levels a table: runs a job file and prints the work sheet.
//!
//! `cargo run --release --example level_a_table [--picture] [JOB.json]`; without a file it runs a
//! demo job of invented figures: legs and slates were read with a digital level on two visits, and its
//! limits are a choice. With `--picture` it prints the picture, as SVG, instead.
//!
//! Exit codes: 0; 1 the file cannot be read, or the job is refused; 3 the sheet cannot be written, as
//! to a full disk or a closed pipe. Standard error says why. (A standard output that was closed before
//! the start is no failure: Rust puts /dev/null in its place.)

use std::io::{self, Write};
use std::process::ExitCode;

use truebed::Job;

const DEMO: &str = include_str!("../data/level_a_table.json");

fn main() -> ExitCode {
    match sheet() {
        // `print!` panics where the disk is full or nobody reads.
        Ok(sheet) => match print(&sheet) {
            Ok(()) => ExitCode::SUCCESS,
            Err(error) => {
                eprintln!("standard output: {error}");
                ExitCode::from(3)
            }
        },
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn print(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
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
