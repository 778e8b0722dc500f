//! Rows taken in piece by piece.

use std::sync::Arc;

use arrow_array::cast::AsArray;
use arrow_array::{Array, ArrayAccessor, ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use truebed::{Error, ProblemKind};

/// The most rows that are worked on at once.
pub const ROWS: usize = 8192;

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

/// Lists of a type.
pub(crate) fn list(of: DataType) -> DataType {
    DataType::List(Arc::new(Field::new_list_field(of, true)))
}

/// A column of the input, or the error that says which are there.
pub(crate) fn column(schema: &Schema, name: &str) -> Result<usize, Error> {
    schema.index_of(name).map_err(|_| {
        let names: Vec<_> = schema.fields().iter().map(|field| field.name().as_str()).collect();
        let got = format!("columns {}", names.join(", "));
        Error::new(ProblemKind::Shape, name, got, format!("a column {name}"))
    })
}

/// A column of a type that is not read.
pub(crate) fn of_another_type(name: &str, got: &DataType, expected: &str) -> Error {
    Error::new(ProblemKind::Shape, name, got, expected)
}

/// The texts of a column, row by row; none where one is null.
pub(crate) type Texts<'a> = Box<dyn Fn(usize) -> Option<&'a str> + 'a>;

/// Where a column of texts stands.
///
/// # Errors
/// A column that is missing or of another type.
pub(crate) fn text(schema: &Schema, name: &str, expected: &str) -> Result<usize, Error> {
    let at = column(schema, name)?;
    match schema.field(at).data_type() {
        DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View => Ok(at),
        of => Err(of_another_type(name, of, expected)),
    }
}

/// The texts of a column in any of their three layouts.
///
/// # Errors
/// A column of another type.
pub(crate) fn texts<'a>(
    name: &str,
    column: &'a ArrayRef,
    expected: &str,
) -> Result<Texts<'a>, Error> {
    fn of<'a>(array: impl ArrayAccessor<Item = &'a str> + 'a) -> Texts<'a> {
        Box::new(move |at| (!array.is_null(at)).then(|| array.value(at)))
    }
    let small = column.as_string_opt::<i32>().map(of);
    let large = || column.as_string_opt::<i64>().map(of);
    let view = || column.as_string_view_opt().map(of);
    small
        .or_else(large)
        .or_else(view)
        .ok_or_else(|| of_another_type(name, column.data_type(), expected))
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
        for error in [named, of_another_type("x_mm", &nested, "numbers")] {
            let text = error.to_string();
            assert!(text.starts_with("x_mm: got "), "{text:?}");
            assert!(!text.contains(['\n', '\u{1b}', '\u{202e}']), "{text:?}");
        }
    }
}
