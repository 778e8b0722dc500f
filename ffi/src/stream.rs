//! Tables of problems and of floors: columns in and columns out, by the Arrow C stream interface.

use std::num::NonZero;

use arrow_array::ffi::FFI_ArrowSchema;
use arrow_array::ffi_stream::{FFI_ArrowArrayStream as ArrowArrayStream, RecordBatchStreamReader};
use arrow_array::{RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, Schema, SchemaRef};
use truebed_columns::{Answers, EstimateSettings, Estimates, Plans, ProblemSettings, Work};
use truebed_core::{Error, ProblemKind};

use crate::estimate::{read_estimate_options, truebed_estimate_options};
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
        // SAFETY: the caller's promise, for each of the pointers.
        let settings = unsafe { problem_settings(stock, stock_count, limits, options) }?;
        // SAFETY: the caller's promise: a stream, released or not.
        let schema = unsafe { schema(input.as_ptr()) }?;
        let plans = Plans::new(&schema, settings, NonZero::new(threads))?;
        // SAFETY: the caller's promise: streams, of which the second is valid for writes.
        unsafe { answer(input.as_ptr(), Box::new(plans), output.as_ptr()) }
    })
}

/// Estimates a table of floors batch by batch, as `truebed_estimate_jobs` does for one. `input` is a stream of
/// batches with the columns `x_mm` and `y_mm` (lists of numbers, one for each support); the floor of the row,
/// either its F-numbers `ff` and `fl` or the name of a class, `floor_class`; and `id`, if there is one, of
/// any type; other columns are passed over. `stock`, `limits` and `options` hold for all rows or stand in
/// columns, as `truebed_plan_stream` has them; so does `jobs`, where NULL is the defaults; second passes
/// are not counted. All rows draw their jobs from the same seed.
///
/// `*output` becomes a stream of batches with the columns `id`, as it came in; `served`, the share of the
/// jobs that the stock serves, and its interval from `served_least` to `served_most`; `pieces`, `lifts`,
/// `thickest_mm`, `cost` and `minutes`, each a list with a value for each of the `quantiles` over the jobs
/// served, from 0 to 1 each (missing where there are no prices or minutes, NaN where no job is served);
/// and `error`. A row that is bad has its problems in `error` and nothing in the other columns but `id`. Rows
/// keep their order. A batch of the input is worked out when it is asked for, in batches of at most 8192
/// rows, so that memory does not grow with the table.
///
/// A call that succeeds takes `*input` over and marks it as released. Release `*output` by its own
/// `release`. Use it from one thread at a time.
///
/// Errors: those of `truebed_plan_stream`; TRUEBED_BAD_VALUE for `jobs` and `quantiles` out of their range, and
/// for second passes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_estimate_stream(
    input: *mut ArrowArrayStream,
    stock: *const truebed_shim,
    stock_count: usize,
    limits: *const truebed_limits,
    options: *const truebed_plan_options,
    jobs: *const truebed_estimate_options,
    quantiles: *const f64,
    quantile_count: usize,
    output: *mut ArrowArrayStream,
) -> i32 {
    boundary(|| {
        let (input, output) = (pointer::out(input, "input")?, pointer::out(output, "output")?);
        // SAFETY: the caller's promise, for each of the pointers.
        let (problem, options, quantiles) = unsafe {
            let problem = problem_settings(stock, stock_count, limits, options)?;
            let quantiles = pointer::array(quantiles, quantile_count, "quantiles")?;
            (problem, read_estimate_options(jobs)?, quantiles.to_vec())
        };
        let settings = EstimateSettings { problem, options, quantiles };
        // SAFETY: the caller's promise: a stream, released or not.
        let schema = unsafe { schema(input.as_ptr()) }?;
        let estimates = Estimates::new(&schema, settings)?;
        // SAFETY: the caller's promise: streams, of which the second is valid for writes.
        unsafe { answer(input.as_ptr(), Box::new(estimates), output.as_ptr()) }
    })
}

/// What holds for all rows.
unsafe fn problem_settings(
    stock: *const truebed_shim,
    stock_count: usize,
    limits: *const truebed_limits,
    options: *const truebed_plan_options,
) -> Result<ProblemSettings, Failure> {
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
    Ok(ProblemSettings { stock, limits, options })
}

/// Takes a stream over, with which nothing can be wrong any more but its batches, and gives out what comes
/// of its rows.
unsafe fn answer(
    input: *mut ArrowArrayStream,
    work: Box<dyn Work>,
    output: *mut ArrowArrayStream,
) -> Result<(), Failure> {
    // SAFETY: the caller's promise: a stream.
    let reader = unsafe { RecordBatchStreamReader::from_raw(input) };
    let reader = reader.map_err(|error| {
        Failure::new(TRUEBED_BAD_SHAPE, "input", &error.to_string(), "Arrow columns")
    })?;
    let answers = Guarded(Answers::new(Box::new(reader), work, Box::new(|| false)));
    // SAFETY: the caller's promise: valid for writes. What stood there is no stream.
    unsafe { output.write(ArrowArrayStream::new(Box::new(answers))) };
    Ok(())
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
                    read = Some(Schema::try_from(&schema).map_err(|error| {
                        let got = error.to_string();
                        Failure::new(TRUEBED_BAD_SHAPE, "input", &got, "Arrow columns")
                    }));
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

/// Errors in the words of a problem, and what the input says of itself made safe to show.
fn shown(error: ArrowError) -> ArrowError {
    if matches!(&error, ArrowError::ExternalError(error) if error.is::<Error>()) {
        return error;
    }
    let text = error.to_string();
    let said = text.rsplit("Producer error: ").next().unwrap_or_default();
    unreadable(said)
}

fn unreadable(got: &str) -> ArrowError {
    let error = Error::new(ProblemKind::Value, "input", got, "batches that can be read");
    ArrowError::ExternalError(Box::new(error))
}

/// Answers of which no panic gets out.
struct Guarded(Answers);

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
