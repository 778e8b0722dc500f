//! The picture of a job: its stages one below the other.

use super::bed::page;
use super::picture::Picture;
use super::stages::title;
use crate::error::Error;
use crate::job::Job;

impl Job {
    /// Runs the job and draws its stages, not its plates, as SVG: see [`Picture::svg`]. An outcome that
    /// the job already has is not trusted: the job may have changed since.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn picture(&self) -> Result<String, Error> {
        let job = self.clone().run()?;
        let outcome = job.outcome.as_ref();
        let stages = [
            ("Legs on the floor", &job.legs, outcome.and_then(|outcome| outcome.legs.as_ref())),
            ("Slates on the frame", &job.slates, outcome.and_then(|it| it.slates.as_ref())),
        ];
        let pictures: Vec<Picture> = stages
            .into_iter()
            .filter_map(|(title, stage, outcome)| {
                Some(Picture::of_stage(title, &job.points, stage.as_ref()?, outcome?))
            })
            .collect();
        Ok(page(title(&job), &pictures.iter().collect::<Vec<_>>(), job.units))
    }
}
