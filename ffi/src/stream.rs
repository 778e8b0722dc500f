//! Tables of problems: columns in and columns out, by the Arrow C stream interface.

use std::ffi::{CStr, CString, c_char, c_int};
use std::num::NonZero;
use std::ptr;

use truebed_core::{
    Limits, PlanOptions, Shim, ShimPlan, ShimProblem, Status, Support, plan_many_on,
};

use crate::arrow::{
    ArrowArray, ArrowArrayStream, ArrowSchema, Layout, batch, field, floats, nested, texts, whole,
};
use crate::limits::{read_limits, truebed_limits};
use crate::pointer;
use crate::problem::{read_options, read_stock, truebed_plan_options, truebed_shim};
use crate::problems::Problems;
use crate::status::{Failure, TRUEBED_BAD_SHAPE, TRUEBED_OK, boundary, truebed_last_error};

/// Plans a table of problems batch by batch. `input` is a stream of batches with the columns `id`
/// (texts), `x_mm`, `y_mm` and `height_mm` (lists of 64-bit floats, one number for each support); other
/// columns are passed over. `stock`, `limits` and `options`, NULL for the defaults, hold for all rows.
/// Planning uses at most `threads` threads; 0 stands for one for each core.
///
/// `*output` becomes a stream of batches with the columns `id`; `status` ("proven", "budget" or
/// "infeasible"); `pieces` (64-bit whole numbers); `worst_mm`; `stacks` (a list for each support of the
/// thickness of each piece in mm, thickest first; an adjustable piece as it is set); and `error`. A row
/// that is bad has its problems in `error` and nothing in the other columns but `id`; where a row is
/// good, `error` is missing. Rows keep their order, and the plans are those of `truebed_plan_shims`.
/// A batch of the input is planned when it is asked for, in batches of at most 16384 rows, so that
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
            let limits = pointer::grown(limits, "limits")?;
            let options = pointer::grown_or_null(options, "options")?;
            let stock = pointer::array(stock, stock_count, "stock")?;
            (
                read_stock(stock, "stock", &mut problems),
                read_limits(&limits, &mut problems)?,
                options.map(|it| read_options(&it, &mut problems)).unwrap_or_default(),
            )
        };
        problems.finish()?;
        // SAFETY: the caller's promise: a stream, released or not.
        let stream = unsafe { &mut *input.as_ptr() };
        if stream.release.is_none() {
            let (got, expected) = ("a stream that is released", "one that is not");
            return Err(Failure::new(TRUEBED_BAD_SHAPE, "input", got, expected));
        }
        let columns = Columns::new(&stream.schema()?)?;
        let table = Table {
            // SAFETY: the caller's promise: given away.
            input: unsafe { ArrowArrayStream::take(input.as_ptr()) },
            columns,
            stock,
            limits,
            options,
            threads,
            current: None,
            error: CString::default(),
        };
        let stream = ArrowArrayStream {
            get_schema: Some(get_schema),
            get_next: Some(get_next),
            get_last_error: Some(get_last_error),
            release: Some(release),
            private_data: Box::into_raw(Box::new(table)).cast(),
        };
        // SAFETY: the caller's promise: valid for writes. What stood there is no stream.
        unsafe { output.write(stream) };
        Ok(())
    })
}

/// The columns of the input, by their place and layout.
struct Columns {
    id: (usize, Layout),
    lists: [(usize, Layout); 3],
}

impl Columns {
    fn new(schema: &ArrowSchema) -> Result<Self, Failure> {
        let id = schema.texts("id")?;
        let [x, y, height] = ["x_mm", "y_mm", "height_mm"].map(|name| schema.lists(name));
        Ok(Self { id, lists: [x?, y?, height?] })
    }
}

/// What the output stream holds.
struct Table {
    input: ArrowArrayStream,
    columns: Columns,
    stock: Vec<Shim>,
    limits: Limits,
    options: PlanOptions,
    threads: usize,
    /// A batch that is not done, and its first row that is not.
    current: Option<(ArrowArray, usize)>,
    error: CString,
}

const MOST_ROWS: usize = 16384;

impl Table {
    /// The next batch; none at the end.
    fn next(&mut self) -> Result<Option<ArrowArray>, Failure> {
        loop {
            let (array, first) = match self.current.take() {
                Some(current) => current,
                None => match self.input.next()? {
                    Some(array) => (array, 0),
                    None => return Ok(None),
                },
            };
            let last = array.rows().min(first + MOST_ROWS);
            // An empty batch is passed over.
            if first < last {
                let made = self.batch(&array, first, last)?;
                self.current = (last < array.rows()).then_some((array, last));
                return Ok(Some(made));
            }
        }
    }

    /// Plans some rows of a batch.
    fn batch(&self, array: &ArrowArray, first: usize, last: usize) -> Result<ArrowArray, Failure> {
        let id = array.column(self.columns.id.0, 2)?;
        let [x, y, height] = self.columns.lists.map(|(at, _)| array.column(at, 2));
        let lists = [x?, y?, height?];
        let (mut ids, mut rows, mut problems) = (Vec::new(), Vec::new(), Vec::new());
        for row in first..last {
            // SAFETY: the producer's promise, and the row is one of the batch.
            let (text, [x, y, height]) = unsafe {
                let of = |at: usize| lists[at].list(array, self.columns.lists[at].1, row);
                (id.text(array, self.columns.id.1, row), [of(0), of(1), of(2)])
            };
            ids.push(text.map(<[u8]>::to_vec));
            match self.problem(x, y, height) {
                Ok(problem) => {
                    rows.push(None);
                    problems.push(problem);
                }
                Err(failure) => rows.push(Some(failure.text().to_owned())),
            }
        }
        let threads = NonZero::new(self.threads);
        let mut plans = plan_many_on(threads, &problems, &|_| false).into_iter();
        let mut out = Out::default();
        for error in rows {
            match error.map_or_else(
                || plans.next(),
                |text| {
                    out.refuse(text);
                    None
                },
            ) {
                Some(Ok(plan)) => out.take(&plan, &self.stock),
                Some(Err(error)) => out.refuse(error.to_string()),
                None => {}
            }
        }
        out.batch(&ids)
    }

    fn problem(
        &self,
        x: Option<&[f64]>,
        y: Option<&[f64]>,
        height: Option<&[f64]>,
    ) -> Result<ShimProblem, Failure> {
        let mut problems = Problems::default();
        let mut has = |name: &str, list: Option<&[f64]>| {
            if list.is_none() {
                problems.value(name, "nothing", "a list of numbers, none of them missing");
            }
        };
        has("x_mm", x);
        has("y_mm", y);
        has("height_mm", height);
        let (x, y, height) =
            (x.unwrap_or_default(), y.unwrap_or_default(), height.unwrap_or_default());
        if x.len() != height.len() || y.len() != height.len() {
            let got = format!("{} x, {} y and {} heights", x.len(), y.len(), height.len());
            problems.value("height_mm", got, "lists of one length");
        }
        let supports = x.iter().zip(y).zip(height).enumerate().map(|(at, ((&x, &y), &height))| {
            let mut length =
                |name: &str, mm| problems.length(mm, || format!("supports[{at}].{name}"));
            Support { x: length("x", x), y: length("y", y), height: length("height", height) }
        });
        let supports: Vec<Support> = supports.collect();
        problems.finish()?;
        let mut problem = ShimProblem::new(supports, self.stock.clone(), self.limits.clone());
        problem.options = self.options.clone();
        Ok(problem)
    }
}

/// The columns of the output.
#[derive(Default)]
struct Out {
    status: Vec<Option<Vec<u8>>>,
    pieces: Vec<Option<i64>>,
    worst: Vec<Option<f64>>,
    stacks: Vec<Option<Vec<Vec<f64>>>>,
    error: Vec<Option<Vec<u8>>>,
}

impl Out {
    fn take(&mut self, plan: &ShimPlan, stock: &[Shim]) {
        let status = match plan.status {
            Status::Proven => "proven",
            Status::Infeasible => "infeasible",
            // Whatever else there may be one day, it is no proof.
            _ => "budget",
        };
        let piece =
            |kind: usize, support: usize| match (stock[kind].adjusts, plan.settings[support]) {
                (Some(_), Some(setting)) => setting.mm(),
                _ => stock[kind].thickness.mm(),
            };
        let stacks = plan.stacks.iter().enumerate().map(|(support, stack)| {
            let mut stack: Vec<f64> = stack.iter().map(|&kind| piece(kind, support)).collect();
            stack.sort_by(|a, b| b.total_cmp(a));
            stack
        });
        self.status.push(Some(status.into()));
        self.pieces.push(i64::try_from(plan.pieces).ok());
        self.worst.push(Some(plan.worst_mm()));
        self.stacks.push(Some(stacks.collect()));
        self.error.push(None);
    }

    fn refuse(&mut self, text: String) {
        self.status.push(None);
        self.pieces.push(None);
        self.worst.push(None);
        self.stacks.push(None);
        self.error.push(Some(text.into_bytes()));
    }

    fn batch(self, ids: &[Option<Vec<u8>>]) -> Result<ArrowArray, Failure> {
        let columns = vec![
            texts(ids)?,
            texts(&self.status)?,
            whole(&self.pieces),
            floats(&self.worst),
            nested(&self.stacks)?,
            texts(&self.error)?,
        ];
        Ok(batch(ids.len(), columns))
    }
}

fn schema() -> ArrowSchema {
    let leaf = |format: &CStr, name: &CStr| field(format, name, Vec::new());
    let items = field(c"+l", c"item", vec![leaf(c"g", c"item")]);
    let columns = vec![
        leaf(c"u", c"id"),
        leaf(c"u", c"status"),
        leaf(c"l", c"pieces"),
        leaf(c"g", c"worst_mm"),
        field(c"+l", c"stacks", vec![items]),
        leaf(c"u", c"error"),
    ];
    field(c"+s", c"", columns)
}

/// What a stream answers where it fails: EINVAL, which is the same number everywhere.
const EINVAL: c_int = 22;

unsafe fn table<'a>(stream: *mut ArrowArrayStream) -> &'a mut Table {
    // SAFETY: only streams of ours have these functions.
    unsafe { &mut *(*stream).private_data.cast::<Table>() }
}

unsafe extern "C" fn get_schema(_: *mut ArrowArrayStream, out: *mut ArrowSchema) -> c_int {
    boundary(|| {
        // SAFETY: the consumer's promise: valid for writes.
        unsafe { ptr::write(out, schema()) };
        Ok(())
    })
}

unsafe extern "C" fn get_next(stream: *mut ArrowArrayStream, out: *mut ArrowArray) -> c_int {
    // SAFETY: the consumer's promise: a stream of ours that is not released.
    let table = unsafe { table(stream) };
    let status = boundary(|| {
        let next = table.next()?;
        // SAFETY: the consumer's promise: valid for writes. What stood there is no array; all zero is
        // one that is released, the end.
        unsafe {
            match next {
                Some(array) => ptr::write(out, array),
                None => ptr::write_bytes(out, 0, 1),
            }
        }
        Ok(())
    });
    if status == TRUEBED_OK {
        return 0;
    }
    // SAFETY: a text of this thread, valid until its next failure.
    table.error = unsafe { CStr::from_ptr(truebed_last_error()) }.into();
    EINVAL
}

unsafe extern "C" fn get_last_error(stream: *mut ArrowArrayStream) -> *const c_char {
    // SAFETY: the consumer's promise: a stream of ours that is not released.
    let error = &unsafe { table(stream) }.error;
    if error.is_empty() { ptr::null() } else { error.as_ptr() }
}

unsafe extern "C" fn release(stream: *mut ArrowArrayStream) {
    // SAFETY: the consumer's promise: a stream of ours that is not released.
    unsafe {
        drop(Box::from_raw((*stream).private_data.cast::<Table>()));
        (*stream).release = None;
    }
}
