//! Tables of problems: columns in and columns out, by the Arrow C stream interface.

use std::num::NonZero;

use arrow_array::ffi::FFI_ArrowSchema;
use arrow_array::ffi_stream::{FFI_ArrowArrayStream as ArrowArrayStream, RecordBatchStreamReader};
use arrow_array::{RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, Schema, SchemaRef};
use truebed_columns::{Plans, ProblemSettings};
use truebed_core::{Error, ProblemKind};

use crate::limits::{read_limits, truebed_limits};
use crate::pointer;
use crate::problem::{read_options, read_stock, truebed_plan_options, truebed_shim};
use crate::problems::Problems;
use crate::status::{Failure, TRUEBED_BAD_SHAPE, TRUEBED_OK, boundary};

/// Plans a table of problems batch by batch. `input` is a stream of batches with the columns `x_mm`,
/// `y_mm` and `height_mm` (lists of numbers, one for each support) and `id`, if there is one, of any
/// type; other columns are passed over. `stock`, `limits` and `options` hold for all rows; options of
/// NULL are the defaults. Where `stock` is NULL each row has its own in the columns `stock_mm` and `stock_count` (lists; a
/// missing count is as many as it takes), and where `limits` is NULL its overall limit in `limit_mm`.
/// Planning uses at most `threads` threads; 0 stands for one for each core.
///
/// `*output` becomes a stream of batches with the columns `id`, as it came in; `status` ("proven",
/// "budget" or "infeasible"); `pieces` (64-bit whole numbers); `worst_mm`; `stacks` (a list for each support
/// of the thickness of each piece in mm, thickest first; an adjustable piece as it is set); and `error`. A
/// row that is bad has its problems in `error` and nothing in the other columns but `id`; where a row is
/// good, `error` is missing. Rows keep their order, and the plans are those of `truebed_plan_shims`.
/// A batch of the input is planned when it is asked for, in batches of at most 8192 rows, so that
/// memory does not grow with the table.
///
/// A call that succeeds takes `*input` over and marks it as released. Release `*output` by its own
/// `release`. Use it from one thread at a time.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for a stream that is released and for columns that
/// are missing or of another type; TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for stock,
/// limits and options that cannot be read. What is wrong with stock, limits and options beyond that is
/// in `error` of each row.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_plan_stream(
    input: *mut ArrowArrayStream,
    stock: *const truebed_shim,
    stock_count: usize,
    limits: *const truebed_limits,
    options: *const truebed_plan_options,
    threads: usize,
    output: *mut ArrowArrayStream,
) -> i32 {
    boundary(|| {
        let (input, output) = (pointer::out(input, "input")?, pointer::out(output, "output")?);
        let mut problems = Problems::default();
        // SAFETY: the caller's promise, for each of the pointers.
        let (stock, limits, options) = unsafe {
            let limits = pointer::grown_or_null(limits, "limits")?;
            let options = pointer::grown_or_null(options, "options")?;
            let stock = match stock.is_null() && stock_count == 0 {
                true => None,
                false => Some(pointer::array(stock, stock_count, "stock")?),
            };
            (
                stock.map(|stock| read_stock(stock, "stock", &mut problems)),
                limits.map(|it| read_limits(&it, &mut problems)).transpose()?,
                options.map(|it| read_options(&it, &mut problems)).unwrap_or_default(),
            )
        };
        problems.finish()?;
        let settings = ProblemSettings { stock, limits, options };
        // SAFETY: the caller's promise: a stream, released or not. It is taken over once nothing can be
        // wrong with it any more.
        let reader = unsafe {
            Plans::check(&schema(input.as_ptr())?, &settings).map_err(refused)?;
            RecordBatchStreamReader::from_raw(input.as_ptr()).map_err(refused)?
        };
        let threads = NonZero::new(threads);
        let plans = Plans::new(Box::new(reader), settings, threads, Box::new(|| false));
        let plans = Box::new(Guarded(plans.map_err(refused)?));
        // SAFETY: the caller's promise: valid for writes. What stood there is no stream.
        unsafe { output.write(ArrowArrayStream::new(plans)) };
        Ok(())
    })
}

/// The type of the batches of a stream, which stays the caller's.
unsafe fn schema(stream: *mut ArrowArrayStream) -> Result<Schema, Failure> {
    // SAFETY: the caller's promise: a stream, released or not.
    unsafe {
        let get = (*stream).release().and((*stream).get_schema());
        let get = get.ok_or_else(|| {
            let (got, expected) = ("a stream that is released", "one that is not");
            Failure::new(TRUEBED_BAD_SHAPE, "input", got, expected)
        })?;
        let mut schema = FFI_ArrowSchema::empty();
        match get(stream, &raw mut schema) {
            0 => {
                // The crate that reads it panics where its parts contradict each other.
                let mut read = None;
                boundary(|| {
                    read = Some(Schema::try_from(&schema).map_err(refused));
                    Ok(())
                });
                read.unwrap_or_else(|| {
                    let got = "a schema whose parts contradict each other";
                    Err(Failure::new(TRUEBED_BAD_SHAPE, "input", got, "Arrow columns"))
                })
            }
            code => {
                let got = format!("error {code}");
                let expected = "a stream that gives its schema";
                Err(Failure::new(TRUEBED_BAD_SHAPE, "input", &got, expected))
            }
        }
    }
}

fn refused(error: ArrowError) -> Failure {
    let text = match error {
        ArrowError::SchemaError(text) => text,
        other => other.to_string(),
    };
    let told = text.split_once(": got ").and_then(|(field, rest)| {
        let (got, expected) = rest.rsplit_once(", expected ")?;
        Some(Failure::new(TRUEBED_BAD_SHAPE, field, got, expected))
    });
    told.unwrap_or_else(|| Failure::new(TRUEBED_BAD_SHAPE, "input", &text, "Arrow columns"))
}

/// Errors in the words of a problem, and what the input says of itself made safe to show.
fn shown(error: ArrowError) -> ArrowError {
    if matches!(error, ArrowError::SchemaError(_)) {
        return error;
    }
    let text = error.to_string();
    let said = text.rsplit("Producer error: ").next().unwrap_or_default();
    unreadable(said)
}

fn unreadable(got: &str) -> ArrowError {
    let error = Error::new(ProblemKind::Value, "input", got, "batches that can be read");
    ArrowError::ExternalError(error.to_string().into())
}

/// Plans of which no panic gets out.
struct Guarded(Plans);

impl Iterator for Guarded {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut next = None;
        let status = boundary(|| {
            next = self.0.next();
            Ok(())
        });
        match status {
            TRUEBED_OK => next.map(|batch| batch.map_err(shown)),
            // A batch whose parts contradict each other, or a fault of the library itself.
            _ => Some(Err(unreadable("a batch that cannot be taken in"))),
        }
    }
}

impl RecordBatchReader for Guarded {
    fn schema(&self) -> SchemaRef {
        self.0.schema()
    }
}
