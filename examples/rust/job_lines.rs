//! Runs a job on each line: `job_lines < jobs.jsonl > done.jsonl`.
//!
//! Each line of standard input is a job document. Standard output gets a line for each, in the same
//! order: the document with its outcome, or `{"error": …}`. Jobs run on all cores, a thousand lines at a
//! time, so memory does not grow with their number. Where standard output cannot be written, the program
//! says so in one line and ends with exit code 1.

use std::io::{self, BufRead, BufWriter, Write};
use std::process::ExitCode;

use truebed::{Budget, Job, run_jobs};

const LINES: usize = 1000;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // Where standard error is closed too, the exit code is all there is.
            let _ = writeln!(io::stderr(), "job_lines: {error}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> io::Result<()> {
    let mut input = io::stdin().lock();
    let mut output = BufWriter::new(io::stdout().lock());
    loop {
        let mut documents = Vec::new();
        while documents.len() < LINES {
            let mut line = Vec::new();
            if input.read_until(b'\n', &mut line)? == 0 {
                break;
            }
            documents.push(String::from_utf8_lossy(line.trim_ascii()).into_owned());
        }
        if documents.is_empty() {
            return output.flush();
        }
        for done in run_jobs(None, &documents, &Budget::UNLIMITED, &|_| false) {
            match done.and_then(|done| Job::from_json(&done)) {
                Ok(job) => serde_json::to_writer(&mut output, &job)?,
                Err(error) => {
                    let told = serde_json::json!({ "error": error.to_string() });
                    serde_json::to_writer(&mut output, &told)?;
                }
            }
            output.write_all(b"\n")?;
        }
        output.flush()?;
    }
}
