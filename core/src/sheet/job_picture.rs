//! The picture of a job: its stages one below the other.

use super::bed::page;
use super::canvas::Canvas;
use super::picture::Picture;
use super::stages::title;
use crate::error::Error;
use crate::job::Job;

impl Job {
    /// Runs the job and draws its stages and its estimate, not its plates, as SVG: see [`Picture::svg`]. An outcome that
    /// the job already has is not trusted: the job may have changed since.
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn picture(&self) -> Result<String, Error> {
        Ok(self.clone().run()?.picture_of_outcome())
    }

    /// The same for the screen of a phone: see [`Picture::svg_narrow`].
    ///
    /// # Errors
    /// Those of [`Job::run`].
    pub fn picture_narrow(&self) -> Result<String, Error> {
        Ok(self.clone().run()?.picture_narrow_of_outcome())
    }

    /// Draws the outcome that the job has, without running it again: for a job that
    /// [`run`](Job::run) or [`run_until`](Job::run_until) just returned. Text that came from elsewhere
    /// may hold an outcome that is not the job's: use [`picture`](Job::picture) there. Nothing but
    /// the cautions is drawn without an outcome.
    pub fn picture_of_outcome(&self) -> String {
        self.drawn(Canvas::new())
    }

    /// The same of [`picture_of_outcome`](Self::picture_of_outcome) for the screen of a phone.
    pub fn picture_narrow_of_outcome(&self) -> String {
        self.drawn(Canvas::narrow())
    }

    fn drawn(&self, canvas: Canvas) -> String {
        let outcome = self.outcome.as_ref();
        let stages = [
            ("Legs on the floor", &self.legs, outcome.and_then(|outcome| outcome.legs.as_ref())),
            ("Slates on the frame", &self.slates, outcome.and_then(|it| it.slates.as_ref())),
        ];
        let pictures: Vec<Picture> = stages
            .into_iter()
            .filter_map(|(title, stage, outcome)| {
                Some(Picture::of_stage(title, &self.points, stage.as_ref()?, outcome?))
            })
            .collect();
        let estimate = outcome.and_then(|outcome| outcome.estimate.as_ref());
        let pictures = pictures.iter().collect::<Vec<_>>();
        page(canvas, title(self), &pictures, estimate, self.units)
    }
}
