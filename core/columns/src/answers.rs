//! A reader around another reader: each row in is a row out.

use std::sync::Arc;

use arrow_array::{ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use truebed::{Error, ProblemKind};

use crate::rows::Pieces;

/// What is asked, some fifty times a second, whether to stop.
pub type Stop = Box<dyn Fn() -> bool + Send>;

/// What is done with rows: [`Plans`](crate::Plans), [`Estimates`](crate::Estimates) or
/// [`Jobs`](crate::Jobs).
pub trait Work: Send {
    /// The columns that come out, but for `id` and `error`.
    fn names(&self) -> Vec<(&'static str, DataType)>;

    /// These columns and `error`, for the rows of a batch. Once `stop` has said true, nobody looks at them.
    ///
    /// # Errors
    /// A batch that is not as the schema of its reader has it.
    fn columns(&self, batch: &RecordBatch, stop: &dyn Fn() -> bool)
    -> Result<Vec<ArrayRef>, Error>;
}

/// The answers to the rows of a reader, in batches of at most [`ROWS`](crate::ROWS) rows: `id`, if there is
/// one, as it came in; what the work makes; and `error`. A batch is worked out when it is asked for.
pub struct Answers {
    rows: Pieces,
    work: Box<dyn Work>,
    /// Where the column `id` stands.
    id: Option<usize>,
    schema: SchemaRef,
    stop: Stop,
}

impl Answers {
    /// The answers of work that was made for the columns of this reader.
    pub fn new(input: Box<dyn RecordBatchReader + Send>, work: Box<dyn Work>, stop: Stop) -> Self {
        let from = input.schema();
        let id = from.index_of("id").ok();
        let made = work.names().into_iter().chain([("error", DataType::Utf8)]);
        let made = made.map(|(name, of)| Arc::new(Field::new(name, of, true)));
        let fields = id.map(|at| Arc::clone(&from.fields()[at])).into_iter().chain(made);
        let schema = Arc::new(Schema::new(fields.collect::<Vec<_>>()));
        Self { rows: Pieces::new(input), work, id, schema, stop }
    }

    fn answer(&self, batch: &RecordBatch) -> Result<RecordBatch, ArrowError> {
        let made = self.work.columns(batch, &self.stop);
        if (self.stop)() {
            let got = "a request to stop";
            return Err(failed(Error::new(ProblemKind::Stopped, "rows", got, "all of them read")));
        }
        let id = self.id.map(|at| Arc::clone(batch.column(at)));
        let columns = id.into_iter().chain(made.map_err(failed)?).collect();
        RecordBatch::try_new(Arc::clone(&self.schema), columns)
    }
}

impl Iterator for Answers {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        let batch = self.rows.next()?;
        Some(batch.and_then(|batch| self.answer(&batch)))
    }
}

impl RecordBatchReader for Answers {
    fn schema(&self) -> SchemaRef {
        Arc::clone(&self.schema)
    }
}

/// An error of the library as a reader ends with it.
fn failed(error: Error) -> ArrowError {
    ArrowError::ExternalError(Box::new(error))
}
