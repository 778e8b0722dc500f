//! The page that a crew works from: one HTML file without scripts and without a network, for print and
//! for a phone. The paper is that of the printer: the page names none, and fits A4 and Letter alike.

mod owner;
mod parts;
mod slates;
mod stage;
mod visit;

use super::estimate_page::estimated;
use super::html::Html;
use super::stages::title;
use crate::error::Error;
use crate::job::{Job, JobOutcome, Step};
use crate::words::budget::NO_HEIGHTS;

const STYLE: &str = include_str!("page.css");

impl Job {
    /// Runs the job and writes the page that a crew works from, as one HTML file: cautions first, then
    /// what to do next, the steps with boxes to tick, the room, what to do now at each leg and slate,
    /// readings to take, the verdict, the stock, the estimate, and a page for the owner. It needs no script
    /// and no network, and nothing that a job says can become markup. An outcome that the job already has is
    /// not trusted.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn page(&self) -> Result<String, Error> {
        self.clone().run()?.page_of_outcome()
    }

    /// Writes the page of the outcome that the job has, without running it again: for a job that
    /// [`run`](Job::run) or [`run_until`](Job::run_until) just returned. Text that came from elsewhere
    /// may hold an outcome that is not the job's: use [`page`](Job::page) there. Nothing but the title
    /// is written without an outcome.
    ///
    /// # Errors
    /// Those of [`place`](crate::place) for a room that has not been run.
    pub fn page_of_outcome(&self) -> Result<String, Error> {
        let mut page = Html::default();
        page.text("h1", "", title(self));
        if let Some(outcome) = &self.outcome {
            whole(&mut page, self, outcome)?;
        }
        Ok(page.document(title(self), STYLE))
    }
}

fn whole(page: &mut Html, job: &Job, outcome: &JobOutcome) -> Result<(), Error> {
    page.element("ul", "cautions", |list| {
        outcome.cautions.iter().for_each(|caution| list.text("li", "", caution));
    });
    if outcome.ran_out.iter().any(|it| it.step == Step::Survey) {
        page.text("p", "", NO_HEIGHTS);
    }
    if let Some(found) = &outcome.visit {
        visit::write(page, job, found)?;
    }
    stage::each(job, outcome).for_each(|it| it.write(page));
    if let Some(estimate) = &outcome.estimate {
        estimated(page, estimate, outcome, job.units);
    }
    // Before the visit there is nothing to hand over.
    if outcome.estimate.is_none() || outcome.legs.is_some() || outcome.slates.is_some() {
        owner::write(page, job, outcome);
    }
    Ok(())
}
