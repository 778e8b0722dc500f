//! A column of lists of numbers.

use std::ops::Range;

use arrow_array::cast::AsArray;
use arrow_array::types::{
    ArrowPrimitiveType, Float32Type, Float64Type, Int32Type, Int64Type, UInt32Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef};
use arrow_schema::ArrowError;

/// Lists of numbers, in any of Arrow's layouts.
pub(crate) struct Lists {
    name: &'static str,
    rows: Vec<Option<Range<usize>>>,
    values: Vec<Option<f64>>,
}

impl Lists {
    pub(crate) fn new(name: &'static str, column: &ArrayRef) -> Result<Self, ArrowError> {
        let (ranges, values): (Vec<Range<usize>>, &ArrayRef) =
            if let Some(lists) = column.as_list_opt::<i32>() {
                let range = |at: &[i32]| at[0] as usize..at[1] as usize;
                (lists.value_offsets().windows(2).map(range).collect(), lists.values())
            } else if let Some(lists) = column.as_list_opt::<i64>() {
                let range = |at: &[i64]| at[0] as usize..at[1] as usize;
                (lists.value_offsets().windows(2).map(range).collect(), lists.values())
            } else if let Some(lists) = column.as_fixed_size_list_opt() {
                let size = lists.value_length() as usize;
                let range = |at| at * size..(at + 1) * size;
                ((0..lists.len()).map(range).collect(), lists.values())
            } else {
                return Err(refused(name, column));
            };
        let rows = ranges.into_iter().enumerate();
        let rows = rows.map(|(at, range)| (!column.is_null(at)).then_some(range)).collect();
        let values = numbers(values).ok_or_else(|| refused(name, column))?;
        Ok(Self { name, rows, values })
    }

    /// The numbers of a row.
    pub(crate) fn row(&self, at: usize) -> Result<&[Option<f64>], String> {
        let row = self.rows[at].clone();
        let row = row.ok_or_else(|| format!("{}: got null, expected a list", self.name))?;
        Ok(&self.values[row])
    }
}

fn refused(name: &str, column: &ArrayRef) -> ArrowError {
    let got = column.data_type();
    ArrowError::SchemaError(format!("{name}: got {got}, expected lists of numbers"))
}

/// A column of numbers as floats.
pub(crate) fn numbers(values: &ArrayRef) -> Option<Vec<Option<f64>>> {
    fn of<T: ArrowPrimitiveType>(
        values: &ArrayRef,
        float: impl Fn(T::Native) -> f64,
    ) -> Option<Vec<Option<f64>>> {
        let values = values.as_primitive_opt::<T>()?;
        Some(values.iter().map(|value| value.map(&float)).collect())
    }
    of::<Float64Type>(values, |value| value)
        .or_else(|| of::<Float32Type>(values, f64::from))
        .or_else(|| of::<Int64Type>(values, |value| value as f64))
        .or_else(|| of::<Int32Type>(values, f64::from))
        .or_else(|| of::<UInt32Type>(values, f64::from))
        .or_else(|| of::<UInt64Type>(values, |value| value as f64))
}
