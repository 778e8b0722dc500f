//! `truebed-service FILE COMMAND`: what a service does with a job, step by step.
//!
//! | command | what it does |
//! |---|---|
//! | `add JOB` | stores the job of a file and prints its number |
//! | `estimate SECONDS` | estimates all jobs that wait, so long at most for each, and prints their numbers |
//! | `visit NUMBER READINGS` | plans the visit by the readings of a file and prints the sheet |
//! | `next NUMBER READINGS` | plans the next pass by the readings of a file; prints its number and sheet |
//! | `sheet NUMBER` | prints the sheet of what is stored |

use std::io::{self, Write};
use std::path::Path;
use std::process::ExitCode;

use truebed::Budget;
use truebed_service::{Problem, Store};

/// What a visit may take.
const VISIT: Budget = Budget { nodes: u64::MAX, time_ms: Some(10_000) };

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match run(&arguments, &mut io::stdout().lock()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(problem) => {
            eprintln!("{problem}");
            ExitCode::FAILURE
        }
    }
}

fn run(arguments: &[&str], out: &mut impl Write) -> Result<(), Problem> {
    let [file, command @ ..] = arguments else {
        return Err("usage: truebed-service FILE COMMAND ...".into());
    };
    let store = Store::open(Path::new(file))?;
    match command {
        ["add", job] => writeln!(out, "{}", store.add(&std::fs::read_to_string(job)?)?)?,
        ["estimate", seconds] => {
            let time_ms = Some(1000 * seconds.parse::<u64>()?);
            while let Some(id) = store.estimate_next(&Budget { nodes: u64::MAX, time_ms })? {
                writeln!(out, "{id}")?;
                out.flush()?;
            }
        }
        ["visit", id, readings] => {
            let id = id.parse()?;
            store.visit(id, &std::fs::read_to_string(readings)?, &VISIT)?;
            write!(out, "{}", store.job(id)?.sheet_of_outcome())?;
        }
        ["next", id, readings] => {
            let readings = std::fs::read_to_string(readings)?;
            let next = store.next_pass(id.parse()?, &readings, &VISIT)?;
            write!(out, "{next}\n{}", store.job(next)?.sheet_of_outcome())?;
        }
        ["sheet", id] => write!(out, "{}", store.job(id.parse()?)?.sheet_of_outcome())?,
        _ => return Err("expected add, estimate, visit, next or sheet, with what they take".into()),
    }
    Ok(())
}
