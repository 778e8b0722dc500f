//! What a C caller hands over, checked as far as a pointer can be.
//!
//! The functions are unsafe for what cannot be checked: a pointer that is not NULL must be
//! aligned and valid for what the header says of it, for as long as the call lasts.

use std::ffi::{CStr, c_char, c_void};
use std::mem::MaybeUninit;
use std::ptr::{self, NonNull};
use std::slice;

use crate::status::{
    Failure, TRUEBED_BAD_SHAPE, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_NOT_UTF8, TRUEBED_NULL_POINTER,
    TRUEBED_OUT_OF_MEMORY, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN,
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

/// A struct that begins with its size and may grow at its end: programs built when it was shorter
/// still give and take the shorter one.
///
/// # Safety
/// It is `repr(C)`, its first field is `struct_size: usize`, and all zero is a value of it.
pub(crate) unsafe trait Grows: Sized {
    /// The size of its first version: today's, until there is a field of a later version; from then
    /// on the offset of the first such field.
    const FIRST_SIZE: usize = size_of::<Self>();
}

/// The size of a struct, from its first version's to today's.
pub(crate) fn known_size<T: Grows>(size: usize, name: &str) -> Result<(), Failure> {
    let (first, last) = (T::FIRST_SIZE, size_of::<T>());
    if (first..=last).contains(&size) && size.is_multiple_of(align_of::<T>()) {
        return Ok(());
    }
    let expected = if first == last { last.to_string() } else { format!("{first} to {last}") };
    let field = format!("{name}.struct_size");
    Err(Failure::new(TRUEBED_STRUCT_SIZE, &field, &size.to_string(), &expected))
}

/// The size that a struct begins with, if it is known: nothing behind it is touched before that.
pub(crate) unsafe fn check_size<T: Grows>(pointer: *const T, name: &str) -> Result<usize, Failure> {
    // SAFETY: the caller's promise: every version of the struct begins with its size.
    let size = *unsafe { reference(pointer.cast(), name) }?;
    known_size::<T>(size, name)?;
    Ok(size)
}

/// Reads a struct that the caller has filled in; fields that it does not have yet are zero.
pub(crate) unsafe fn grown<T: Grows>(pointer: *const T, name: &str) -> Result<T, Failure> {
    // SAFETY: the caller's promise.
    let size = unsafe { check_size(pointer, name) }?;
    let mut whole = MaybeUninit::<T>::zeroed();
    // SAFETY: the caller's promise: valid for reads of its size, which is no more than that of `T`;
    // and zero is a value of what is behind it.
    unsafe {
        ptr::copy_nonoverlapping(pointer.cast::<u8>(), whole.as_mut_ptr().cast(), size);
        Ok(whole.assume_init())
    }
}

/// As [`grown`], where NULL stands for none.
pub(crate) unsafe fn grown_or_null<T: Grows>(
    pointer: *const T,
    name: &str,
) -> Result<Option<T>, Failure> {
    if pointer.is_null() {
        return Ok(None);
    }
    // SAFETY: the caller's promise.
    unsafe { grown(pointer, name) }.map(Some)
}

/// Checks the size of the caller's struct and writes an answer into it.
pub(crate) unsafe fn fill<T: Grows>(pointer: *mut T, answer: T, name: &str) -> Result<(), Failure> {
    // SAFETY: the caller's promise.
    unsafe {
        let size = check_size(pointer, name)?;
        put(pointer, size, answer);
    }
    Ok(())
}

/// Writes an answer into a struct of a size that is known, as far as that goes.
pub(crate) unsafe fn put<T: Grows>(pointer: *mut T, size: usize, answer: T) {
    let (from, head) = (ptr::from_ref(&answer).cast::<u8>(), size_of::<usize>());
    // SAFETY: the caller's promise: valid for writes of this size, which is no more than that of
    // `T`.
    unsafe {
        pointer.cast::<usize>().write(size);
        ptr::copy_nonoverlapping(from.add(head), pointer.cast::<u8>().add(head), size - head);
    }
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

/// As [`array`], where NULL stands for none.
pub(crate) unsafe fn array_or_null<'a, T>(
    pointer: *const T,
    count: usize,
    name: &str,
) -> Result<Option<&'a [T]>, Failure> {
    if pointer.is_null() {
        return Ok(None);
    }
    // SAFETY: the caller's promise.
    unsafe { array(pointer, count, name) }.map(Some)
}

/// Makes sure that the system has memory for so many numbers before work begins that would end the
/// process without it.
pub(crate) fn room(numbers: usize, name: &str) -> Result<(), Failure> {
    Vec::<f64>::new().try_reserve_exact(numbers).map_err(|_| {
        let (got, expected) = (format!("{numbers} numbers"), "what the system has memory for");
        Failure::new(TRUEBED_OUT_OF_MEMORY, name, &got, expected)
    })
}

/// A matrix to read, `count` × `count` row by row. What is done with it takes up to twice its room.
pub(crate) unsafe fn square<'a>(
    pointer: *const f64,
    count: usize,
    name: &str,
) -> Result<&'a [f64], Failure> {
    // SAFETY: the caller's promise; what overflows is more than any array has.
    let matrix = unsafe { array(pointer, count.saturating_mul(count), name) }?;
    room(2 * matrix.len(), name)?;
    Ok(matrix)
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

/// Copies an array that a handle holds into the caller's buffer, as [`copy_out`] does.
pub(crate) unsafe fn copy_of<H, T: Copy>(
    handle: *const H,
    name: &str,
    of: impl FnOnce(&H) -> &[T],
    buffer: *mut T,
    capacity: usize,
    count: *mut usize,
) -> Result<(), Failure> {
    // SAFETY: the caller's promise, for each of the pointers.
    unsafe { copy_out(of(reference(handle, name)?), buffer, capacity, count) }
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

#[cfg(test)]
mod tests {
    use std::mem::offset_of;

    use super::*;

    /// A struct that has grown by `c`.
    #[repr(C)]
    #[derive(Debug, Clone, Copy, PartialEq)]
    struct Tool {
        struct_size: usize,
        a: u32,
        b: u32,
        c: f64,
    }

    // SAFETY: as `Grows` wants it.
    unsafe impl Grows for Tool {
        const FIRST_SIZE: usize = offset_of!(Tool, c);
    }

    fn tool(struct_size: usize) -> Tool {
        Tool { struct_size, a: 1, b: 2, c: 3.0 }
    }

    #[test]
    fn a_shorter_struct_is_read_as_far_as_it_goes() {
        for (size, c) in [(size_of::<Tool>(), 3.0), (Tool::FIRST_SIZE, 0.0)] {
            // SAFETY: valid for more than its size.
            let read = unsafe { grown(&tool(size), "tool") }.unwrap();
            assert_eq!(read, Tool { c, ..tool(size) });
        }
    }

    #[test]
    fn a_shorter_struct_is_written_as_far_as_it_goes() {
        let answer = Tool { struct_size: size_of::<Tool>(), a: 10, b: 20, c: 30.0 };
        for (size, c) in [(size_of::<Tool>(), 30.0), (Tool::FIRST_SIZE, 3.0)] {
            let mut filled = tool(size);
            // SAFETY: valid for more than its size.
            unsafe { fill(&mut filled, answer, "tool") }.unwrap();
            assert_eq!(filled, Tool { struct_size: size, a: 10, b: 20, c });
        }
    }

    #[test]
    fn other_sizes_are_refused() {
        let (first, last) = (Tool::FIRST_SIZE, size_of::<Tool>());
        for size in [0, first - 1, last + 1, usize::MAX] {
            let mut other = tool(size);
            // SAFETY: valid for more than is read before the size is known.
            let (read, filled) =
                unsafe { (grown(&other, "tool"), fill(&mut other, tool(last), "tool")) };
            let words = format!("tool.struct_size: got {size}, expected {first} to {last}");
            for failure in [read.map(|_| ()), filled] {
                assert!(format!("{failure:?}").contains(&words), "{failure:?}");
            }
            assert_eq!(other, tool(size));
        }
    }
}
