//! A column of lists of numbers.

use arrow_array::cast::AsArray;
use arrow_array::types::{
    ArrowPrimitiveType, Float32Type, Float64Type, Int8Type, Int16Type, Int32Type, Int64Type,
    UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef};
use arrow_buffer::{NullBuffer, ScalarBuffer};
use arrow_schema::DataType;
use truebed::{Error, ProblemKind};

use crate::rows::of_another_type;

/// Lists of numbers, in any of Arrow's layouts.
pub(crate) struct Lists {
    name: &'static str,
    /// Where each row begins, and where the last ends.
    ends: Vec<usize>,
    missing: Option<NullBuffer>,
    numbers: Numbers,
}

impl Lists {
    /// # Errors
    /// A column of another type.
    pub(crate) fn new(name: &'static str, column: &ArrayRef) -> Result<Self, Error> {
        let (ends, values): (Vec<usize>, &ArrayRef) =
            if let Some(lists) = column.as_list_opt::<i32>() {
                (lists.value_offsets().iter().map(|&end| end as usize).collect(), lists.values())
            } else if let Some(lists) = column.as_list_opt::<i64>() {
                (lists.value_offsets().iter().map(|&end| end as usize).collect(), lists.values())
            } else if let Some(lists) = column.as_fixed_size_list_opt() {
                let size = lists.value_length() as usize;
                ((0..=lists.len()).map(|at| at * size).collect(), lists.values())
            } else {
                return Err(refused(name, column.data_type()));
            };
        // Of a long column this may be a short piece.
        let [first, last] = [ends.first(), ends.last()].map(|end| end.copied().unwrap_or(0));
        let numbers = Numbers::new(&values.slice(first, last - first));
        let numbers = numbers.ok_or_else(|| refused(name, column.data_type()))?;
        let ends = ends.into_iter().map(|end| end - first).collect();
        Ok(Self { name, ends, missing: column.nulls().cloned(), numbers })
    }

    /// The numbers of a row.
    ///
    /// # Errors
    /// A row that is null.
    pub(crate) fn row(&self, at: usize) -> Result<Row<'_>, Error> {
        if self.missing.as_ref().is_some_and(|missing| missing.is_null(at)) {
            return Err(Error::new(ProblemKind::Value, self.name, "null", "a list"));
        }
        Ok(Row {
            name: self.name,
            numbers: &self.numbers,
            from: self.ends[at],
            to: self.ends[at + 1],
        })
    }
}

/// The numbers of a row.
#[derive(Clone, Copy)]
pub(crate) struct Row<'a> {
    pub(crate) name: &'static str,
    numbers: &'a Numbers,
    from: usize,
    to: usize,
}

impl Row<'_> {
    pub(crate) fn len(&self) -> usize {
        self.to - self.from
    }

    /// A number; none where it is null.
    pub(crate) fn get(&self, at: usize) -> Option<f64> {
        self.numbers.get(self.from + at)
    }
}

/// # Errors
/// A type that is none of lists of numbers.
pub(crate) fn check(name: &str, of: &DataType) -> Result<(), Error> {
    let item = match of {
        DataType::List(item) | DataType::LargeList(item) | DataType::FixedSizeList(item, _) => item,
        _ => return Err(refused(name, of)),
    };
    if is_number(item.data_type()) { Ok(()) } else { Err(refused(name, of)) }
}

/// Whether numbers of a type are read.
pub(crate) fn is_number(of: &DataType) -> bool {
    of.is_integer() || matches!(of, DataType::Float64 | DataType::Float32)
}

fn refused(name: &str, of: &DataType) -> Error {
    of_another_type(name, of, "lists of numbers")
}

/// A column of numbers as floats.
pub(crate) struct Numbers {
    values: ScalarBuffer<f64>,
    missing: Option<NullBuffer>,
}

impl Numbers {
    /// None where the column has no numbers.
    pub(crate) fn new(column: &ArrayRef) -> Option<Self> {
        fn of<T: ArrowPrimitiveType>(
            column: &ArrayRef,
            float: impl Fn(T::Native) -> f64,
        ) -> Option<ScalarBuffer<f64>> {
            let column = column.as_primitive_opt::<T>()?;
            Some(column.values().iter().map(|&value| float(value)).collect())
        }
        let floats = column.as_primitive_opt::<Float64Type>().map(|it| it.values().clone());
        let values = floats
            .or_else(|| of::<Float32Type>(column, f64::from))
            .or_else(|| of::<Int64Type>(column, |value| value as f64))
            .or_else(|| of::<Int32Type>(column, f64::from))
            .or_else(|| of::<Int16Type>(column, f64::from))
            .or_else(|| of::<Int8Type>(column, f64::from))
            .or_else(|| of::<UInt32Type>(column, f64::from))
            .or_else(|| of::<UInt16Type>(column, f64::from))
            .or_else(|| of::<UInt8Type>(column, f64::from))
            .or_else(|| of::<UInt64Type>(column, |value| value as f64))?;
        Some(Self { values, missing: column.nulls().cloned() })
    }

    /// A number; none where it is null.
    pub(crate) fn get(&self, at: usize) -> Option<f64> {
        let is_missing = self.missing.as_ref().is_some_and(|missing| missing.is_null(at));
        (!is_missing).then(|| self.values[at])
    }
}
