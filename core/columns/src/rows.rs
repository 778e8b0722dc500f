//! Rows taken in piece by piece.

use std::sync::Arc;

use arrow_array::cast::AsArray;
use arrow_array::{Array, ArrayAccessor, ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, Field, Schema, SchemaRef};
use truebed::{Error, ProblemKind};

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
        // An empty batch is passed over.
        let mut next = || self.input.find(|it| it.as_ref().map_or(true, |it| it.num_rows() > 0));
        let batch = match self.left.take() {
            Some(batch) => batch,
            None => match next()? {
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

/// Where the column `id` stands, which goes out as it came in.
pub(crate) fn id(from: &Schema) -> Option<usize> {
    from.index_of("id").ok()
}

/// The columns that go out: `id`, if there is one; those of these names; and `error`.
pub(crate) fn schema<const N: usize>(from: &Schema, made: [(&str, DataType); N]) -> SchemaRef {
    let id = id(from).map(|at| Arc::clone(&from.fields()[at]));
    let made = made.into_iter().chain([("error", DataType::Utf8)]);
    let made = made.map(|(name, of)| Arc::new(Field::new(name, of, true)));
    Arc::new(Schema::new(id.into_iter().chain(made).collect::<Vec<_>>()))
}

/// Lists of a type.
pub(crate) fn list(of: DataType) -> DataType {
    DataType::List(Arc::new(Field::new_list_field(of, true)))
}

/// What a reader ends with that was stopped.
pub(crate) fn stopped() -> ArrowError {
    ArrowError::ExternalError("stopped".into())
}

/// What is wrong with the columns of the input, whose names are made safe to show.
pub(crate) fn refused(
    field: &str,
    got: impl std::fmt::Display,
    expected: impl Into<String>,
) -> ArrowError {
    ArrowError::SchemaError(Error::new(ProblemKind::Shape, field, got, expected).to_string())
}

/// A column of the input, or the error that says which are there.
pub(crate) fn column(schema: &Schema, name: &str) -> Result<usize, ArrowError> {
    schema.index_of(name).map_err(|_| {
        let names: Vec<_> = schema.fields().iter().map(|field| field.name().as_str()).collect();
        let names = names.join(", ");
        refused(name, format!("columns {names}"), format!("a column {name}"))
    })
}

/// The texts of a column, row by row; none where one is null.
pub(crate) type Texts<'a> = Box<dyn Fn(usize) -> Option<&'a str> + 'a>;

/// The texts of a column in any of their three layouts.
///
/// # Errors
/// A column of another type.
pub(crate) fn texts<'a>(
    name: &str,
    column: &'a ArrayRef,
    expected: &str,
) -> Result<Texts<'a>, ArrowError> {
    fn of<'a>(array: impl ArrayAccessor<Item = &'a str> + 'a) -> Texts<'a> {
        Box::new(move |at| (!array.is_null(at)).then(|| array.value(at)))
    }
    let small = column.as_string_opt::<i32>().map(of);
    let large = || column.as_string_opt::<i64>().map(of);
    let view = || column.as_string_view_opt().map(of);
    small.or_else(large).or_else(view).ok_or_else(|| refused(name, column.data_type(), expected))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Names of columns come from whoever made the file.
    #[test]
    fn names_of_columns_stay_text() {
        let forged = "a\u{1b}[31m\n\u{202e}height_mm: got 7, expected 8";
        let inner = Field::new(forged, DataType::Utf8, true);
        let nested = DataType::Struct(vec![inner.clone()].into());
        let named = column(&Schema::new(vec![inner]), "x_mm").unwrap_err();
        for error in [named, refused("x_mm", &nested, "numbers")] {
            let ArrowError::SchemaError(text) = error else { panic!("{error}") };
            assert!(text.starts_with("x_mm: got "), "{text:?}");
            assert!(!text.contains(['\n', '\u{1b}', '\u{202e}']), "{text:?}");
        }
    }
}
