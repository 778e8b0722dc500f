//! A whole job as one document: run it, read the outcome, print the sheet. The figures are invented.

use truebed::{Error, Job};

fn main() -> Result<(), Error> {
    let job = Job::from_json(include_str!("../data/level_a_table.json"))?;
    let title = job.sheet()?.lines().next().unwrap_or_default().to_owned();
    let done = job.run()?;

    let Some(legs) = done.outcome.and_then(|outcome| outcome.legs) else { return Ok(()) };
    println!("{} pieces", legs.plan.pieces);
    for stack in &legs.stacks {
        println!("{}: {} pieces", stack.id, stack.shims.len());
    }
    println!("{title}");
    Ok(())
}
