//! A whole job as one document: run it, read the outcome, print the sheet. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::Job;

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let job = Job::from_json(include_str!("../data/level_a_table.json"))?;
    let title = job.sheet()?.lines().next().unwrap_or_default().to_owned();
    let done = job.run()?;

    let Some(legs) = done.outcome.and_then(|outcome| outcome.legs) else { return Ok(()) };
    writeln!(out, "{} pieces", legs.plan.pieces)?;
    for stack in &legs.stacks {
        writeln!(out, "{}: {} pieces", stack.id, stack.shims.len())?;
    }
    writeln!(out, "{title}")?;
    Ok(())
}
