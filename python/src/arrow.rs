//! Columns in and out by the Arrow PyCapsule interface.

use std::num::NonZero;
use std::sync::Mutex;
use std::thread;

use arrow_array::ffi::{FFI_ArrowArray, FFI_ArrowSchema, from_ffi};
use arrow_array::ffi_stream::{FFI_ArrowArrayStream, RecordBatchStreamReader};
use arrow_array::{RecordBatch, RecordBatchIterator, RecordBatchReader, StructArray};
use arrow_schema::{ArrowError, DataType};
use pyo3::prelude::*;
use pyo3::types::{PyCapsule, PyTuple};
use truebed::{Budget, Error};
use truebed_columns::{
    self as columns, Answers, EstimateSettings, Estimates, Jobs, Plans, ProblemSettings, Stop,
};

use crate::error::{Problems, Refused, one, raised};
use crate::estimate::EstimateOptions;
use crate::limits::limits;
use crate::name::Names;
use crate::problem::{Given, options};
use crate::shim::stock;
use crate::value::unicode;

type Reader = Box<dyn RecordBatchReader + Send>;

/// What is done with the rows.
enum Work {
    Plans { settings: Box<ProblemSettings>, threads: Option<NonZero<usize>> },
    Estimates(Box<EstimateSettings>),
    Jobs { column: String, budget: Budget, threads: Option<NonZero<usize>> },
}

/// Columns that are computed batch by batch while they are read.
#[pyclass(frozen, module = "truebed._truebed")]
pub(crate) struct Columns {
    source: Py<PyAny>,
    work: Work,
    /// Opened when this was made, so that wrong columns are refused at once; the first reader gets it.
    first: Mutex<Option<Reader>>,
}

impl Columns {
    fn new(source: &Bound<'_, PyAny>, work: Work) -> PyResult<Self> {
        let first = Mutex::new(Some(open(source, &work)?));
        Ok(Self { source: source.clone().unbind(), work, first })
    }
}

#[pymethods]
impl Columns {
    /// The columns as an Arrow C stream.
    #[pyo3(signature = (requested_schema = None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyCapsule>> {
        // One of the protocol's choices: what cannot be met may be passed over.
        let _ = requested_schema;
        let first = self.first.lock().ok().and_then(|mut first| first.take());
        let reader = match first {
            Some(reader) => reader,
            None => open(self.source.bind(py), &self.work)?,
        };
        PyCapsule::new_with_value(py, FFI_ArrowArrayStream::new(reader), c"arrow_array_stream")
    }
}

fn open(source: &Bound<'_, PyAny>, work: &Work) -> PyResult<Reader> {
    let py = source.py();
    let input = input(source)?;
    let schema = input.schema();
    let made: Result<Box<dyn columns::Work>, Error> = match work {
        Work::Plans { settings, threads } => {
            Plans::new(&schema, ProblemSettings::clone(settings), *threads)
                .map(|it| Box::new(it) as _)
        }
        Work::Estimates(settings) => {
            Estimates::new(&schema, EstimateSettings::clone(settings)).map(|it| Box::new(it) as _)
        }
        Work::Jobs { column, budget, threads } => {
            Jobs::new(&schema, column, *budget, *threads).map(|it| Box::new(it) as _)
        }
    };
    let made = made.map_err(|error| raised(py, &error))?;
    Ok(Box::new(Answers::new(input, made, stop(py))))
}

/// The rows of what speaks the protocol.
fn input(source: &Bound<'_, PyAny>) -> PyResult<Reader> {
    let py = source.py();
    if source.hasattr("__arrow_c_stream__")? {
        let capsule = source.call_method0("__arrow_c_stream__")?.cast_into::<PyCapsule>()?;
        let stream = capsule.pointer_checked(Some(c"arrow_array_stream"))?.cast();
        // SAFETY: a capsule of that name holds a stream, which is moved out of it, as the protocol has
        // it: what is left is empty, so that it is released once.
        let stream = unsafe { FFI_ArrowArrayStream::from_raw(stream.as_ptr()) };
        let reader = RecordBatchStreamReader::try_new(stream);
        return one(py, "data", reader.map_err(unreadable)).map(|reader| Box::new(reader) as _);
    }
    if source.hasattr("__arrow_c_array__")? {
        let pair = source.call_method0("__arrow_c_array__")?.cast_into::<PyTuple>()?;
        let (schema, array) = pair.extract::<(Bound<'_, PyCapsule>, Bound<'_, PyCapsule>)>()?;
        let schema = schema.pointer_checked(Some(c"arrow_schema"))?.cast();
        let array = array.pointer_checked(Some(c"arrow_array"))?.cast();
        // SAFETY: capsules of these names hold a schema and an array that belong together, and are moved
        // out of them, as the protocol has it.
        let data = unsafe {
            let schema = FFI_ArrowSchema::from_raw(schema.as_ptr());
            from_ffi(FFI_ArrowArray::from_raw(array.as_ptr()), &schema)
        };
        let data = data.map_err(unreadable);
        let batch = data.and_then(|data| match data.data_type() {
            DataType::Struct(_) => Ok(RecordBatch::from(StructArray::from(data))),
            other => Err(Refused::value(other.to_string(), "columns")),
        });
        let batch = one(py, "data", batch)?;
        let schema = batch.schema();
        return Ok(Box::new(RecordBatchIterator::new([Ok(batch)], schema)));
    }
    let expected = "a table with __arrow_c_stream__ or __arrow_c_array__, as of pyarrow or polars";
    one(py, "data", Err(Refused::wrong_type(source, expected)))
}

/// Whether Ctrl-C came. Python's handlers run in one thread; in any other nobody is asked.
fn stop(py: Python<'_>) -> Stop {
    let here = thread::current().id();
    let main = py.import("threading").and_then(|threading| {
        threading.call_method0("main_thread")?.eq(threading.call_method0("current_thread")?)
    });
    let is_main = main.unwrap_or_default();
    Box::new(move || {
        is_main
            && thread::current().id() == here
            && Python::attach(|py| {
                let raised = py.check_signals().is_err();
                if raised {
                    // Whoever reads the stream turns its end into an error of its own; the handler then
                    // runs again, as soon as Python does.
                    // SAFETY: may be called at any time.
                    unsafe { pyo3::ffi::PyErr_SetInterrupt() };
                }
                raised
            })
    })
}

fn unreadable(error: ArrowError) -> Refused {
    Refused::value(error.to_string(), "Arrow columns")
}

/// A plan for each row.
#[pyfunction]
#[pyo3(signature = (data, *, stock, limits, order, keep_highest, max_pieces, max_stack, budget, threads))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn arrow_plan(
    py: Python<'_>,
    data: &Bound<'_, PyAny>,
    stock: Option<&Bound<'_, PyAny>>,
    limits: Option<&Bound<'_, PyAny>>,
    order: &Bound<'_, PyAny>,
    keep_highest: &Bound<'_, PyAny>,
    max_pieces: Option<&Bound<'_, PyAny>>,
    max_stack: Option<&Bound<'_, PyAny>>,
    budget: Option<&Bound<'_, PyAny>>,
    threads: Option<&Bound<'_, PyAny>>,
) -> PyResult<Columns> {
    let mut found = Problems::default();
    let order = Some(order);
    let keep_highest = Some(keep_highest);
    let given = Given { order, keep_highest, max_pieces, max_stack, budget, risk: None };
    let settings = problem_settings(&mut found, stock, limits, &given)?;
    let threads = found.take(|| "threads".to_owned(), crate::value::threads(threads));
    let (settings, threads) = found.finish(py, settings.zip(threads))?;
    Columns::new(data, Work::Plans { settings: Box::new(settings), threads })
}

/// What all rows have in common.
fn problem_settings(
    found: &mut Problems,
    stock: Option<&Bound<'_, PyAny>>,
    limits: Option<&Bound<'_, PyAny>>,
    given: &Given<'_, '_>,
) -> PyResult<Option<ProblemSettings>> {
    let names = Names::default();
    let stock = match stock {
        Some(stock) => self::stock(found, "stock", stock, &names)?.map(Some),
        None => Some(None),
    };
    if let Some(Some((_, only_under))) = &stock
        && !only_under.is_empty()
    {
        let refused = Refused::value("a kind for some supports", "kinds that may go under all");
        found.take(|| "stock".to_owned(), Err::<(), _>(refused));
    }
    let limits = limits.map(|value| self::limits(&names, value)).transpose();
    let limits = found.take(|| "limits".to_owned(), limits);
    let options = options(found, given);
    Ok((|| {
        let stock = stock?.map(|(stock, _)| stock);
        Some(ProblemSettings { stock, limits: limits?, options: options? })
    })())
}

/// An estimate for each row.
#[pyfunction]
#[pyo3(signature = (data, *, stock, limits, order, max_pieces, max_stack, options, quantiles))]
#[expect(clippy::too_many_arguments, reason = "the arguments of the Python call, one by one")]
pub(crate) fn arrow_estimate(
    py: Python<'_>,
    data: &Bound<'_, PyAny>,
    stock: Option<&Bound<'_, PyAny>>,
    limits: Option<&Bound<'_, PyAny>>,
    order: &Bound<'_, PyAny>,
    max_pieces: Option<&Bound<'_, PyAny>>,
    max_stack: Option<&Bound<'_, PyAny>>,
    options: &Bound<'_, EstimateOptions>,
    quantiles: Vec<f64>,
) -> PyResult<Columns> {
    let mut found = Problems::default();
    let (order, keep_highest, budget, risk) = (Some(order), None, None, None);
    let given = Given { order, keep_highest, max_pieces, max_stack, budget, risk };
    let problem = problem_settings(&mut found, stock, limits, &given)?;
    let problem = found.finish(py, problem)?;
    let options = options.get().0.clone();
    let settings = EstimateSettings { problem, options, quantiles };
    Columns::new(data, Work::Estimates(Box::new(settings)))
}

/// A job for each row.
#[pyfunction]
#[pyo3(signature = (data, *, column, budget, threads))]
pub(crate) fn arrow_run_jobs(
    py: Python<'_>,
    data: &Bound<'_, PyAny>,
    column: &Bound<'_, PyAny>,
    budget: Option<&Bound<'_, PyAny>>,
    threads: Option<&Bound<'_, PyAny>>,
) -> PyResult<Columns> {
    let mut found = Problems::default();
    let name = match column.cast() {
        Ok(name) => unicode(name),
        Err(_) => Err(Refused::wrong_type(column, "the name of a column")),
    };
    let name = found.take(|| "column".to_owned(), name);
    let threads = found.take(|| "threads".to_owned(), crate::value::threads(threads));
    let budget = found.take(|| "budget".to_owned(), crate::job::of_job(budget));
    let read = (|| Some((name?, budget?, threads?)))();
    let (column, budget, threads) = found.finish(py, read)?;
    Columns::new(data, Work::Jobs { column, budget, threads })
}
