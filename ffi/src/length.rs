//! Lengths: from a text with a unit to millimetres.

use std::ffi::c_char;

use truebed_core::Length;

use crate::pointer;
use crate::status::boundary;

/// Reads a length from a text that ends with a NUL: a number with a unit (nm, um, mm, cm, m, thou,
/// in, ft), as in `"0.010 in"`, `"1/64 in"` or `"0.25 mm"`. A bare number is refused. `*mm` is the
/// nearest nanometre to it, in millimetres.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_LENGTH.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_length_parse_mm(text: *const c_char, mm: *mut f64) -> i32 {
    boundary(|| {
        let mm = pointer::out(mm, "mm")?;
        // SAFETY: the caller's promise.
        let length: Length = unsafe { pointer::terminated(text, "text") }?.parse()?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { mm.write(length.mm()) };
        Ok(())
    })
}
