//! What a C caller hands over, checked as far as a pointer can be.
//!
//! The functions are unsafe for what cannot be checked: a pointer that is not NULL must be
//! aligned and valid for what the header says of it, for as long as the call lasts.

use std::ffi::{CStr, c_char, c_void};
use std::ptr::{self, NonNull};
use std::slice;

use crate::status::{
    Failure, TRUEBED_BAD_SHAPE, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_NOT_UTF8, TRUEBED_NULL_POINTER,
    TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN,
};

/// A place to write an answer to.
pub(crate) fn out<T>(pointer: *mut T, name: &str) -> Result<NonNull<T>, Failure> {
    NonNull::new(pointer).ok_or_else(|| null(name))
}

/// One thing to read.
pub(crate) unsafe fn reference<'a, T>(pointer: *const T, name: &str) -> Result<&'a T, Failure> {
    // SAFETY: the caller's promise: not NULL means valid for reads.
    unsafe { pointer.as_ref() }.ok_or_else(|| null(name))
}

/// A struct that begins with its size, which must be `T`'s: nothing behind the size is touched
/// before that is known.
pub(crate) unsafe fn check_size<T>(pointer: *const T, name: &str) -> Result<(), Failure> {
    // SAFETY: the caller's promise: every version of the struct begins with its size.
    known_size::<T>(*unsafe { reference(pointer.cast(), name) }?, name)
}

/// The size of a struct, which must be `T`'s.
pub(crate) fn known_size<T>(size: usize, name: &str) -> Result<(), Failure> {
    if size == size_of::<T>() {
        return Ok(());
    }
    let (field, expected) = (format!("{name}.struct_size"), size_of::<T>().to_string());
    Err(Failure::new(TRUEBED_STRUCT_SIZE, &field, &size.to_string(), &expected))
}

/// An array to read; NULL is one of no elements.
pub(crate) unsafe fn array<'a, T>(
    pointer: *const T,
    count: usize,
    name: &str,
) -> Result<&'a [T], Failure> {
    if count == 0 {
        return Ok(&[]);
    }
    if pointer.is_null() {
        return Err(null(name));
    }
    // A slice must not be larger, and no object of C is.
    if count > isize::MAX as usize / size_of::<T>() {
        let got = format!("{count} elements");
        return Err(Failure::new(TRUEBED_BAD_SHAPE, name, &got, "no more than memory can hold"));
    }
    // SAFETY: the caller's promise: valid for reads of `count` elements.
    Ok(unsafe { slice::from_raw_parts(pointer, count) })
}

/// An element of what a handle holds, by the index that the caller asks for.
pub(crate) fn item<'a, T>(items: &'a [T], at: usize, name: &str) -> Result<&'a T, Failure> {
    items.get(at).ok_or_else(|| {
        let expected = format!("an index below {}", items.len());
        Failure::new(TRUEBED_UNKNOWN, name, &at.to_string(), &expected)
    })
}

/// A text of so many bytes.
pub(crate) unsafe fn text<'a>(
    pointer: *const c_char,
    length: usize,
    name: &str,
) -> Result<&'a str, Failure> {
    // SAFETY: the caller's promise: valid for reads of `length` bytes.
    utf8(unsafe { array(pointer.cast::<u8>(), length, name) }?, name)
}

/// A text that ends with a NUL.
pub(crate) unsafe fn terminated<'a>(
    pointer: *const c_char,
    name: &str,
) -> Result<&'a str, Failure> {
    if pointer.is_null() {
        return Err(null(name));
    }
    // SAFETY: the caller's promise: valid for reads up to a NUL.
    utf8(unsafe { CStr::from_ptr(pointer) }.to_bytes(), name)
}

/// What asks a caller's function whether to stop; NULL never does.
///
/// Its answers are for the call that it came with: it may be called with `context` that long.
pub(crate) unsafe fn asking(
    stop: Option<unsafe extern "C" fn(context: *mut c_void) -> i32>,
    context: *mut c_void,
) -> impl Fn() -> bool {
    // SAFETY: the caller's promise.
    move || stop.is_some_and(|stop| unsafe { stop(context) } != 0)
}

/// Copies an array into the caller's buffer and tells its size; NULL with no room only asks for
/// the size.
pub(crate) unsafe fn copy_out<T: Copy>(
    items: &[T],
    buffer: *mut T,
    capacity: usize,
    count: *mut usize,
) -> Result<(), Failure> {
    let count = out(count, "count")?;
    if !buffer.is_null() || capacity > 0 {
        let buffer = out(buffer, "buffer")?;
        if capacity < items.len() {
            let (got, expected) = (capacity.to_string(), format!("at least {}", items.len()));
            return Err(Failure::new(TRUEBED_BUFFER_TOO_SMALL, "capacity", &got, &expected));
        }
        // SAFETY: the caller's promise: valid for writes of `capacity` elements, and its own.
        unsafe { ptr::copy_nonoverlapping(items.as_ptr(), buffer.as_ptr(), items.len()) };
    }
    // SAFETY: the caller's promise: valid for writes.
    unsafe { count.write(items.len()) };
    Ok(())
}

fn null(name: &str) -> Failure {
    Failure::new(TRUEBED_NULL_POINTER, name, "NULL", "a pointer")
}

fn utf8<'a>(bytes: &'a [u8], name: &str) -> Result<&'a str, Failure> {
    str::from_utf8(bytes).map_err(|error| {
        let got = format!("byte 0x{:02x} at {}", bytes[error.valid_up_to()], error.valid_up_to());
        Failure::new(TRUEBED_NOT_UTF8, name, &got, "text in UTF-8")
    })
}
