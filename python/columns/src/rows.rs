//! Rows taken in piece by piece.

use std::sync::Arc;

use arrow_array::{ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, Field};

/// The most rows that are worked on at once.
pub const ROWS: usize = 8192;

/// What is asked, some fifty times a second, whether to stop.
pub type Stop = Box<dyn Fn() -> bool + Send>;

/// A reader whose batches are handed out in pieces.
pub(crate) struct Pieces {
    input: Box<dyn RecordBatchReader + Send>,
    /// What is left of the last batch.
    left: Option<RecordBatch>,
}

impl Pieces {
    pub(crate) fn new(input: Box<dyn RecordBatchReader + Send>) -> Self {
        Self { input, left: None }
    }

    pub(crate) fn next(&mut self) -> Option<Result<RecordBatch, ArrowError>> {
        let batch = match self.left.take() {
            Some(batch) => batch,
            None => match self.input.next()? {
                Ok(batch) => batch,
                Err(error) => return Some(Err(error)),
            },
        };
        let rows = batch.num_rows();
        if rows > ROWS {
            self.left = Some(batch.slice(ROWS, rows - ROWS));
        }
        Some(Ok(batch.slice(0, rows.min(ROWS))))
    }
}

/// The column `id` of the input, which goes out as it came in.
pub(crate) fn id(fields: &arrow_schema::Fields) -> Option<(usize, Arc<Field>)> {
    let at = fields.iter().position(|field| field.name() == "id")?;
    Some((at, Arc::clone(&fields[at])))
}

/// A column of the input, or the error that says which are there.
pub(crate) fn column(schema: &arrow_schema::Schema, name: &str) -> Result<usize, ArrowError> {
    schema.index_of(name).map_err(|_| {
        let names: Vec<_> = schema.fields().iter().map(|field| field.name().as_str()).collect();
        let names = names.join(", ");
        ArrowError::SchemaError(format!("{name}: got columns {names}, expected a column {name}"))
    })
}

/// Texts of any of the three layouts, row by row.
pub(crate) fn texts(column: &ArrayRef) -> Option<Box<dyn Fn(usize) -> Option<String> + '_>> {
    use arrow_array::Array;
    use arrow_array::cast::AsArray;
    macro_rules! of {
        ($array:expr) => {{
            let array = $array;
            Some(Box::new(move |at| (!array.is_null(at)).then(|| array.value(at).to_owned())))
        }};
    }
    if let Some(array) = column.as_string_opt::<i32>() {
        return of!(array);
    }
    if let Some(array) = column.as_string_opt::<i64>() {
        return of!(array);
    }
    of!(column.as_string_view_opt()?)
}
