//! The Arrow C data and stream interfaces, as far as tables of problems and plans need them.
//!
//! Layouts: <https://arrow.apache.org/docs/format/CDataInterface.html>, `CStreamInterface.html` and
//! `Columnar.html` beside it. The names are those that the specification fixes.

use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::mem::MaybeUninit;
use std::ptr;
use std::slice;

use crate::status::{Failure, TRUEBED_BAD_SHAPE};

/// The type of a column.
#[repr(C)]
pub struct ArrowSchema {
    format: *const c_char,
    name: *const c_char,
    metadata: *const c_char,
    flags: i64,
    n_children: i64,
    children: *mut *mut ArrowSchema,
    dictionary: *mut ArrowSchema,
    release: Option<unsafe extern "C" fn(*mut ArrowSchema)>,
    private_data: *mut c_void,
}

/// The values of a column.
#[repr(C)]
pub struct ArrowArray {
    length: i64,
    null_count: i64,
    offset: i64,
    n_buffers: i64,
    n_children: i64,
    buffers: *mut *const c_void,
    children: *mut *mut ArrowArray,
    dictionary: *mut ArrowArray,
    release: Option<unsafe extern "C" fn(*mut ArrowArray)>,
    private_data: *mut c_void,
}

/// Batches of columns, one after the other.
#[repr(C)]
pub struct ArrowArrayStream {
    pub(crate) get_schema: Option<unsafe extern "C" fn(*mut Self, *mut ArrowSchema) -> c_int>,
    pub(crate) get_next: Option<unsafe extern "C" fn(*mut Self, *mut ArrowArray) -> c_int>,
    pub(crate) get_last_error: Option<unsafe extern "C" fn(*mut Self) -> *const c_char>,
    pub(crate) release: Option<unsafe extern "C" fn(*mut Self)>,
    pub(crate) private_data: *mut c_void,
}

impl Drop for ArrowSchema {
    fn drop(&mut self) {
        if let Some(release) = self.release {
            // SAFETY: the producer's promise: it may be called once, and marks itself as done.
            unsafe { release(self) };
        }
    }
}

impl Drop for ArrowArray {
    fn drop(&mut self) {
        if let Some(release) = self.release {
            // SAFETY: the producer's promise: it may be called once, and marks itself as done.
            unsafe { release(self) };
        }
    }
}

impl Drop for ArrowArrayStream {
    fn drop(&mut self) {
        if let Some(release) = self.release {
            // SAFETY: the producer's promise: it may be called once, and marks itself as done.
            unsafe { release(self) };
        }
    }
}

fn bad(field: &str, got: &str, expected: &str) -> Failure {
    Failure::new(TRUEBED_BAD_SHAPE, field, got, expected)
}

impl ArrowArrayStream {
    /// Moves a caller's stream here: the caller's is marked as released.
    pub(crate) unsafe fn take(stream: *mut Self) -> Self {
        // SAFETY: the caller's promise: valid, and given away with this call.
        unsafe {
            let taken = ptr::read(stream);
            (*stream).release = None;
            taken
        }
    }

    /// The type of its batches.
    pub(crate) fn schema(&mut self) -> Result<ArrowSchema, Failure> {
        let mut schema = MaybeUninit::zeroed();
        let get =
            self.get_schema.ok_or_else(|| bad("input", "a stream without get_schema", "one"))?;
        // SAFETY: the producer's promise; all zero is a released schema.
        unsafe {
            match get(self, schema.as_mut_ptr()) {
                0 => Ok(schema.assume_init()),
                code => Err(self.failure(code)),
            }
        }
    }

    /// The next batch; none at the end.
    pub(crate) fn next(&mut self) -> Result<Option<ArrowArray>, Failure> {
        let mut array = MaybeUninit::zeroed();
        let get = self.get_next.ok_or_else(|| bad("input", "a stream without get_next", "one"))?;
        // SAFETY: the producer's promise; all zero is a released array.
        unsafe {
            match get(self, array.as_mut_ptr()) {
                0 => {
                    let array: ArrowArray = array.assume_init();
                    Ok(array.release.is_some().then_some(array))
                }
                code => Err(self.failure(code)),
            }
        }
    }

    fn failure(&mut self, code: c_int) -> Failure {
        // SAFETY: the producer's promise: NULL or a text that is valid until the next call.
        let text = self.get_last_error.map(|get| unsafe {
            let text = get(self);
            if text.is_null() {
                String::new()
            } else {
                CStr::from_ptr(text).to_string_lossy().into()
            }
        });
        let got = format!("error {code}, {}", text.unwrap_or_default());
        bad("input", &got, "a stream that gives its batches")
    }
}

/// How texts, or the ends of lists, are laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Layout {
    Small,
    Large,
    View,
}

impl ArrowSchema {
    unsafe fn text<'a>(text: *const c_char) -> &'a str {
        if text.is_null() {
            return "";
        }
        // SAFETY: the producer's promise: ends with a NUL.
        unsafe { CStr::from_ptr(text) }.to_str().unwrap_or("")
    }

    fn children(&self) -> Vec<&ArrowSchema> {
        let count = usize::try_from(self.n_children).unwrap_or(0);
        if self.children.is_null() {
            return Vec::new();
        }
        // SAFETY: the producer's promise: so many children, each valid.
        let children = unsafe { slice::from_raw_parts(self.children, count) };
        // SAFETY: as above.
        children.iter().filter_map(|child| unsafe { child.as_ref() }).collect()
    }

    fn format(&self) -> &str {
        // SAFETY: the producer's promise.
        unsafe { Self::text(self.format) }
    }

    /// The place of a column of texts among the columns, and its layout.
    pub(crate) fn texts(&self, name: &str) -> Result<(usize, Layout), Failure> {
        let (at, column) = self.column(name)?;
        let layout = match column.format() {
            "u" => Layout::Small,
            "U" => Layout::Large,
            "vu" => Layout::View,
            other => {
                return Err(bad(
                    name,
                    &format!("format {other:?}"),
                    "texts: \"u\", \"U\" or \"vu\"",
                ));
            }
        };
        Ok((at, layout))
    }

    /// The place of a column of lists of numbers among the columns, and its layout.
    pub(crate) fn lists(&self, name: &str) -> Result<(usize, Layout), Failure> {
        let (at, column) = self.column(name)?;
        let layout = match column.format() {
            "+l" => Layout::Small,
            "+L" => Layout::Large,
            other => {
                let got = format!("format {other:?}");
                return Err(bad(name, &got, "lists: \"+l\" or \"+L\""));
            }
        };
        match column.children()[..] {
            [item] if item.format() == "g" && item.dictionary.is_null() => Ok((at, layout)),
            _ => Err(bad(name, "lists of something else", "lists of 64-bit floats, \"g\"")),
        }
    }

    fn column(&self, name: &str) -> Result<(usize, &ArrowSchema), Failure> {
        if self.format() != "+s" {
            let got = format!("format {:?}", self.format());
            return Err(bad("input", &got, "batches of columns: a struct, \"+s\""));
        }
        let found = self.children().into_iter().enumerate().find(|(_, child)| {
            // SAFETY: the producer's promise.
            unsafe { Self::text(child.name) == name }
        });
        match found {
            Some((_, column)) if !column.dictionary.is_null() => {
                Err(bad(name, "a dictionary", "plain values"))
            }
            Some(found) => Ok(found),
            None => Err(bad(name, "no such column", "columns id, x_mm, y_mm and height_mm")),
        }
    }
}

impl ArrowArray {
    /// The number of rows.
    pub(crate) fn rows(&self) -> usize {
        usize::try_from(self.length).unwrap_or(0)
    }

    fn start(&self) -> usize {
        usize::try_from(self.offset).unwrap_or(0)
    }

    /// A column, as far as it can be checked: it reaches over the rows and has so many buffers.
    pub(crate) fn column(&self, at: usize, buffers: i64) -> Result<&ArrowArray, Failure> {
        let inside =
            i64::try_from(at).is_ok_and(|at| at < self.n_children) && !self.children.is_null();
        let short = || bad("input", "a batch that is not of its schema", "one that is");
        if !inside {
            return Err(short());
        }
        // SAFETY: the producer's promise: so many children, each valid or NULL.
        let column = unsafe { (*self.children.add(at)).as_ref() }.ok_or_else(short)?;
        let reaches = column.rows() >= self.start() + self.rows();
        let whole = column.n_buffers >= buffers && !column.buffers.is_null();
        if reaches && whole { Ok(column) } else { Err(short()) }
    }

    unsafe fn buffer<T>(&self, at: usize) -> *const T {
        // SAFETY: the caller has counted the buffers.
        unsafe { (*self.buffers.add(at)).cast() }
    }

    unsafe fn is_null(&self, at: usize) -> bool {
        // SAFETY: the producer's promise: NULL, or a bit for each value.
        unsafe {
            let bits: *const u8 = self.buffer(0);
            !bits.is_null() && *bits.add(at / 8) >> (at % 8) & 1 == 0
        }
    }

    /// Where the values of a row lie, by the ends that stand in the second buffer.
    unsafe fn ends(&self, layout: Layout, at: usize) -> (usize, usize) {
        // SAFETY: the producer's promise: one more end than values.
        unsafe {
            let end = |at: usize| match layout {
                Layout::Large => usize::try_from(*self.buffer::<i64>(1).add(at)).unwrap_or(0),
                _ => usize::try_from(*self.buffer::<i32>(1).add(at)).unwrap_or(0),
            };
            (end(at), end(at + 1).max(end(at)))
        }
    }

    /// The text of a row of the batch `batch`, of which this is a column.
    pub(crate) unsafe fn text(
        &self,
        batch: &ArrowArray,
        layout: Layout,
        row: usize,
    ) -> Option<&[u8]> {
        let at = self.start() + batch.start() + row;
        // SAFETY: the producer's promise, and the row is one of the batch.
        unsafe {
            if self.is_null(at) {
                return None;
            }
            if layout == Layout::View {
                let view = self.buffer::<[i32; 4]>(1).add(at);
                let length = usize::try_from((*view)[0]).unwrap_or(0);
                // A short text stands in the view itself, a long one in a buffer of its own.
                let start = match length <= 12 {
                    true => view.cast::<u8>().add(4),
                    false => {
                        let data: *const u8 =
                            self.buffer(2 + usize::try_from((*view)[2]).unwrap_or(0));
                        data.add(usize::try_from((*view)[3]).unwrap_or(0))
                    }
                };
                return Some(slice::from_raw_parts(start, length));
            }
            let (start, end) = self.ends(layout, at);
            if start == end {
                return Some(&[]);
            }
            Some(slice::from_raw_parts(self.buffer::<u8>(2).add(start), end - start))
        }
    }

    /// The numbers of a row of the batch `batch`, of which this is a column; none where the row or one
    /// of its numbers is missing.
    pub(crate) unsafe fn list(
        &self,
        batch: &ArrowArray,
        layout: Layout,
        row: usize,
    ) -> Option<&[f64]> {
        let at = self.start() + batch.start() + row;
        // SAFETY: the producer's promise, and the row is one of the batch.
        unsafe {
            if self.is_null(at) || self.n_children < 1 || self.children.is_null() {
                return None;
            }
            let items = (*self.children).as_ref()?;
            let (start, end) = self.ends(layout, at);
            if start == end {
                return Some(&[]);
            }
            let (start, end) = (items.start() + start, items.start() + end);
            if items.n_buffers < 2 || (start..end).any(|at| items.is_null(at)) {
                return None;
            }
            Some(slice::from_raw_parts(items.buffer::<f64>(1).add(start), end - start))
        }
    }
}

/// What an array of ours holds.
struct Owned {
    _values: Vec<Values>,
    buffers: Vec<*const c_void>,
    children: Vec<*mut ArrowArray>,
}

enum Values {
    Bytes(Vec<u8>),
    Ends(Vec<i32>),
    Whole(Vec<i64>),
    Floats(Vec<f64>),
}

impl Values {
    fn pointer(&self) -> *const c_void {
        match self {
            Self::Bytes(values) => values.as_ptr().cast(),
            Self::Ends(values) => values.as_ptr().cast(),
            Self::Whole(values) => values.as_ptr().cast(),
            Self::Floats(values) => values.as_ptr().cast(),
        }
    }
}

unsafe extern "C" fn release_array(array: *mut ArrowArray) {
    // SAFETY: only arrays of ours are released by this, once.
    unsafe {
        drop(Box::from_raw((*array).private_data.cast::<Owned>()));
        (*array).release = None;
    }
}

impl Drop for Owned {
    fn drop(&mut self) {
        for child in &self.children {
            // SAFETY: made by `made`; one that the consumer has moved is marked as released.
            drop(unsafe { Box::from_raw(*child) });
        }
    }
}

/// An array of so many values, of which some are missing, with the buffers behind the bitmap.
fn made(missing: Vec<bool>, values: Vec<Values>, children: Vec<ArrowArray>) -> ArrowArray {
    let (length, null_count) = (missing.len(), missing.iter().filter(|it| **it).count());
    let mut bits = vec![0_u8; length.div_ceil(8)];
    for at in (0..length).filter(|at| !missing[*at]) {
        bits[at / 8] |= 1 << (at % 8);
    }
    let bits = Values::Bytes(bits);
    let mut buffers = vec![if null_count == 0 { ptr::null() } else { bits.pointer() }];
    buffers.extend(values.iter().map(Values::pointer));
    let children = children.into_iter().map(|child| Box::into_raw(Box::new(child))).collect();
    let mut all = values;
    all.push(bits);
    let mut owned = Box::new(Owned { _values: all, buffers, children });
    // A count of what is in memory always fits.
    let count = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    ArrowArray {
        length: count(length),
        null_count: count(null_count),
        offset: 0,
        n_buffers: count(owned.buffers.len()),
        n_children: count(owned.children.len()),
        buffers: owned.buffers.as_mut_ptr(),
        children: owned.children.as_mut_ptr(),
        dictionary: ptr::null_mut(),
        release: Some(release_array),
        private_data: Box::into_raw(owned).cast(),
    }
}

/// Columns of so many rows as a batch.
pub(crate) fn batch(rows: usize, columns: Vec<ArrowArray>) -> ArrowArray {
    made(vec![false; rows], Vec::new(), columns)
}

pub(crate) fn texts(rows: &[Option<Vec<u8>>]) -> Result<ArrowArray, Failure> {
    let (mut ends, mut bytes) = (vec![0], Vec::new());
    for row in rows {
        bytes.extend_from_slice(row.as_deref().unwrap_or_default());
        ends.push(end(bytes.len())?);
    }
    let missing = rows.iter().map(Option::is_none).collect();
    Ok(made(missing, vec![Values::Ends(ends), Values::Bytes(bytes)], Vec::new()))
}

pub(crate) fn whole(rows: &[Option<i64>]) -> ArrowArray {
    let values = rows.iter().map(|row| row.unwrap_or_default()).collect();
    made(rows.iter().map(Option::is_none).collect(), vec![Values::Whole(values)], Vec::new())
}

pub(crate) fn floats(rows: &[Option<f64>]) -> ArrowArray {
    let values = rows.iter().map(|row| row.unwrap_or_default()).collect();
    made(rows.iter().map(Option::is_none).collect(), vec![Values::Floats(values)], Vec::new())
}

/// Lists of lists of numbers.
pub(crate) fn nested(rows: &[Option<Vec<Vec<f64>>>]) -> Result<ArrowArray, Failure> {
    let (mut outer, mut inner, mut values) = (vec![0], vec![0], Vec::new());
    for row in rows {
        for list in row.iter().flatten() {
            values.extend(list);
            inner.push(end(values.len())?);
        }
        outer.push(end(inner.len() - 1)?);
    }
    let present = |count: usize| vec![false; count];
    let items = made(present(values.len()), vec![Values::Floats(values)], Vec::new());
    let lists = made(present(inner.len() - 1), vec![Values::Ends(inner)], vec![items]);
    let missing = rows.iter().map(Option::is_none).collect();
    Ok(made(missing, vec![Values::Ends(outer)], vec![lists]))
}

fn end(at: usize) -> Result<i32, Failure> {
    i32::try_from(at).map_err(|_| bad("output", "a batch of more than 2 GB", "smaller batches"))
}

/// What a schema of ours holds.
struct OwnedSchema {
    format: CString,
    name: CString,
    children: Vec<*mut ArrowSchema>,
}

unsafe extern "C" fn release_schema(schema: *mut ArrowSchema) {
    // SAFETY: only schemas of ours are released by this, once.
    unsafe {
        drop(Box::from_raw((*schema).private_data.cast::<OwnedSchema>()));
        (*schema).release = None;
    }
}

impl Drop for OwnedSchema {
    fn drop(&mut self) {
        for child in &self.children {
            // SAFETY: made by `field`; one that the consumer has moved is marked as released.
            drop(unsafe { Box::from_raw(*child) });
        }
    }
}

/// The type of a column or of a batch.
pub(crate) fn field(format: &CStr, name: &CStr, children: Vec<ArrowSchema>) -> ArrowSchema {
    const NULLABLE: i64 = 2;
    let children = children.into_iter().map(|child| Box::into_raw(Box::new(child))).collect();
    let mut owned = Box::new(OwnedSchema { format: format.into(), name: name.into(), children });
    ArrowSchema {
        format: owned.format.as_ptr(),
        name: owned.name.as_ptr(),
        metadata: ptr::null(),
        flags: NULLABLE,
        n_children: i64::try_from(owned.children.len()).unwrap_or(0),
        children: owned.children.as_mut_ptr(),
        dictionary: ptr::null_mut(),
        release: Some(release_schema),
        private_data: Box::into_raw(owned).cast(),
    }
}
