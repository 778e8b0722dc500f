//! How well readings check each other. Readings are named by their places in the job.

/// Readings that the others speak against, worst first.
pub(crate) fn suspected(readings: &[usize]) -> String {
    format!(
        "The readings speak against these, worst first: {}. Before working by this plan, read the first again, or leave out the one that is mistaken.",
        named(readings)
    )
}

/// What a failed global test means where no reading is suspected.
pub(crate) const DISAGREE: &str = "The readings disagree by more than their uncertainties allow, though none stands out: the uncertainties are too small, or several readings are mistaken.";

/// Readings that are left out.
pub(crate) fn left_out(readings: &[usize]) -> String {
    format!("Left out of the heights: {}.", named(readings))
}

fn named(readings: &[usize]) -> String {
    let names: Vec<_> = readings.iter().map(|at| format!("readings[{at}]")).collect();
    names.join(", ")
}
