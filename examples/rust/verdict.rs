//! Whether a bed is level, and how sure that is. The figures are invented.

use std::error::Error;
use std::io::{Write, stdout};

use truebed::{Conformity, DecisionRule, Length, Limits, assess};

fn main() -> Result<(), Box<dyn Error>> {
    let mut out = stdout();
    let mm = Length::from_mm;
    let mut xy = Vec::new();
    for at in 0..6 {
        xy.push([mm(1200.0 * f64::from(at % 3))?, mm(1200.0 * f64::from(at / 3))?]);
    }
    let heights = [0.02, 0.0, -0.03, 0.01, -0.02, 0.0].map(mm).into_iter();
    let heights = heights.collect::<Result<Vec<_>, _>>()?;
    let (overall, line) = (Some(mm(0.1)?), Some(mm(0.05)?));
    let limits = Limits { overall, along: line, across: line, ..Limits::default() };
    let mut covariance = vec![0.0; 36];
    (0..6).for_each(|at| covariance[at * 7] = 0.01 * 0.01);

    let verdict = assess(&xy, &heights, &covariance, &limits, &[], DecisionRule::default())?;
    let words = |conformity| match conformity {
        Conformity::Met => "met",
        Conformity::NotMet => "not met",
        _ => "cannot tell",
    };
    writeln!(out, "all limits: {}", words(verdict.conformity))?;
    for finding in &verdict.findings {
        let (found, allowed) = (finding.found.mm(), finding.allowed.mm());
        let met = words(finding.conformity);
        writeln!(
            out,
            "{} {:?}: {met}, {found:.3} of {allowed:.3} mm",
            finding.limit, finding.points
        )?;
    }
    Ok(())
}
