//! A job for each row.

use std::num::NonZero;
use std::sync::Arc;

use arrow_array::builder::StringBuilder;
use arrow_array::{ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, SchemaRef};
use truebed::{Budget, run_jobs};

use crate::rows::{Pieces, Stop, column, id, schema, stopped, texts};

/// Jobs over the rows of a reader.
///
/// In: a column of job documents, as JSON text; `id`, which goes out as it came in. Out: `id`, `job`
/// (the document with its outcome) and `error`, which is null where the job ran.
pub struct Jobs {
    input: Pieces,
    id: Option<usize>,
    documents: usize,
    budget: Budget,
    threads: Option<NonZero<usize>>,
    schema: SchemaRef,
    stop: Stop,
}

impl Jobs {
    /// Jobs of the column of that name, each with this budget.
    ///
    /// # Errors
    /// A column that is missing.
    pub fn new(
        input: Box<dyn RecordBatchReader + Send>,
        name: &str,
        budget: Budget,
        threads: Option<NonZero<usize>>,
        stop: Stop,
    ) -> Result<Self, ArrowError> {
        let from = input.schema();
        let documents = column(&from, name)?;
        let schema = schema(&from, [("job", DataType::Utf8)]);
        let id = id(&from);
        Ok(Self { input: Pieces::new(input), id, documents, budget, threads, schema, stop })
    }

    fn run(&self, batch: &RecordBatch) -> Result<RecordBatch, ArrowError> {
        let column = batch.column(self.documents);
        let text = texts("job", column, "job documents as text")?;
        let documents: Vec<Option<&str>> = (0..batch.num_rows()).map(text).collect();
        let given: Vec<&str> = documents.iter().flatten().copied().collect();
        let done = run_jobs(self.threads, &given, &self.budget, &|_| (self.stop)());
        if (self.stop)() {
            return Err(stopped());
        }
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
        let id = self.id.map(|at| Arc::clone(batch.column(at)));
        let made: [ArrayRef; 2] = [Arc::new(jobs.finish()), Arc::new(errors.finish())];
        RecordBatch::try_new(Arc::clone(&self.schema), id.into_iter().chain(made).collect())
    }
}

impl Iterator for Jobs {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        let batch = self.input.next()?;
        Some(batch.and_then(|batch| self.run(&batch)))
    }
}

impl RecordBatchReader for Jobs {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }
}
