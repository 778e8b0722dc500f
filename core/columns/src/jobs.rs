//! A job for each row.

use std::num::NonZero;
use std::sync::Arc;

use arrow_array::builder::StringBuilder;
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{DataType, Schema};
use truebed::{Budget, Error, run_jobs};

use crate::answers::Work;
use crate::rows::{text, texts};

const DOCUMENTS: &str = "job documents as text";

/// The outcome of the job in each row.
///
/// In: a column of job documents, as JSON text. Out: `job` (the document with its outcome) and `error`,
/// which is null where the job ran.
pub struct Jobs {
    /// The name of the column of documents, and where it stands.
    documents: (String, usize),
    budget: Budget,
    threads: Option<NonZero<usize>>,
}

impl Jobs {
    /// Jobs of the column of that name, each with this budget.
    ///
    /// # Errors
    /// A column that is missing or of another type.
    pub fn new(
        from: &Schema,
        name: &str,
        budget: Budget,
        threads: Option<NonZero<usize>>,
    ) -> Result<Self, Error> {
        let documents = (name.to_owned(), text(from, name, DOCUMENTS)?);
        Ok(Self { documents, budget, threads })
    }
}

impl Work for Jobs {
    fn names(&self) -> Vec<(&'static str, DataType)> {
        vec![("job", DataType::Utf8)]
    }

    fn columns(
        &self,
        batch: &RecordBatch,
        stop: &dyn Fn() -> bool,
    ) -> Result<Vec<ArrayRef>, Error> {
        let (name, at) = &self.documents;
        let text = texts(name, batch.column(*at), DOCUMENTS)?;
        let documents: Vec<Option<&str>> = (0..batch.num_rows()).map(text).collect();
        let given: Vec<&str> = documents.iter().flatten().copied().collect();
        let done = run_jobs(self.threads, &given, &self.budget, &|_| stop());
        let (mut jobs, mut errors) = (StringBuilder::new(), StringBuilder::new());
        let mut done = done.into_iter();
        for document in &documents {
            let job = match document {
                Some(_) => done.next().map(|job| job.map_err(|error| error.to_string())),
                None => Some(Err("job: got null, expected the text of a job".to_owned())),
            };
            match job.transpose() {
                Ok(job) => {
                    jobs.append_option(job);
                    errors.append_null();
                }
                Err(told) => {
                    jobs.append_null();
                    errors.append_value(told);
                }
            }
        }
        Ok(vec![Arc::new(jobs.finish()), Arc::new(errors.finish())])
    }
}
