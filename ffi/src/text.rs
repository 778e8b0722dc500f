//! Texts: what the library writes, such as documents, sheets and pictures.

use std::ffi::c_char;
use std::ptr;

/// A text that the library has made: UTF-8, of a known length, and ended by a NUL as well. It
/// never changes, so any number of threads may read it at once.
pub struct truebed_text {
    /// With the NUL.
    bytes: Vec<u8>,
}

impl truebed_text {
    pub(crate) fn new(text: String) -> Self {
        let mut bytes = text.into_bytes();
        bytes.push(0);
        Self { bytes }
    }

    /// Hands a text to the caller.
    pub(crate) fn give(text: String) -> *mut Self {
        Box::into_raw(Box::new(Self::new(text)))
    }
}

/// The first byte of a text, which ends with a NUL. It belongs to the text; do not free it.
/// NULL for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_text_data(text: *const truebed_text) -> *const c_char {
    // SAFETY: the caller's promise: NULL or a text that is not freed yet.
    unsafe { text.as_ref() }.map_or(ptr::null(), |text| text.bytes.as_ptr().cast())
}

/// The number of bytes of a text, without the NUL at its end. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_text_length(text: *const truebed_text) -> usize {
    // SAFETY: the caller's promise: NULL or a text that is not freed yet.
    unsafe { text.as_ref() }.map_or(0, |text| text.bytes.len() - 1)
}

/// Frees a text. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_text_free(text: *mut truebed_text) {
    if !text.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(text) });
    }
}
