//! Which further reading does most for the verdict. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Claim, DecisionRule, Length, Limits, Reading, Survey, read_next};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let survey = Survey::new(vec![
        Reading::rise("A", "B", 0.01, Some(0.01)),
        Reading::rise("B", "C", 0.06, Some(0.04)),
    ]);
    // What they would show does not matter, only how well they are read.
    let candidates =
        [Reading::rise("A", "B", 0.0, Some(0.01)), Reading::rise("B", "C", 0.0, Some(0.01))];
    let at = |x| Ok::<_, truebed::Error>([Length::from_mm(x)?, Length::ZERO]);
    let claim = Claim {
        points: ["A", "B", "C"].map(String::from).to_vec(),
        xy: vec![at(0.0)?, at(1200.0)?, at(2400.0)?],
        lifts: Vec::new(),
        limits: Limits::overall(Length::from_mm(0.05)?),
        joints: Vec::new(),
        rule: DecisionRule::default(),
    };

    let found = read_next(&survey, &candidates, &claim)?;
    writeln!(out, "doubt now: {:.2}", found.doubt)?;
    for reading in &found.readings {
        writeln!(out, "candidate {}: {:.2}", reading.candidate, reading.doubt)?;
    }
    Ok(())
}
