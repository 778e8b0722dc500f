//! Status and errors: how a call went.

use std::any::Any;
use std::cell::{Cell, RefCell};
use std::ffi::{CString, c_char};
use std::panic::{self, AssertUnwindSafe};
use std::sync::Once;

use truebed_core::{Error, ProblemKind, Problems};

/// The call did what it says.
pub const TRUEBED_OK: i32 = 0;
/// A pointer is NULL that must not be.
pub const TRUEBED_NULL_POINTER: i32 = 1;
/// The buffer has less room than the answer takes.
pub const TRUEBED_BUFFER_TOO_SMALL: i32 = 2;
/// A text that is not UTF-8.
pub const TRUEBED_NOT_UTF8: i32 = 3;
/// A struct_size that this library does not know.
pub const TRUEBED_STRUCT_SIZE: i32 = 4;
/// The system does not have the memory that the call needs.
pub const TRUEBED_OUT_OF_MEMORY: i32 = 5;
/// A value that the field cannot take: not a number, negative, out of range.
pub const TRUEBED_BAD_VALUE: i32 = 10;
/// A length that cannot be read: no unit, an unknown unit, no number.
pub const TRUEBED_BAD_LENGTH: i32 = 11;
/// The same id, place or pair given twice.
pub const TRUEBED_DUPLICATE: i32 = 12;
/// An id or an index that names nothing.
pub const TRUEBED_UNKNOWN: i32 = 13;
/// Arrays whose sizes do not belong together, or an empty one.
pub const TRUEBED_BAD_SHAPE: i32 = 14;
/// Points that do not span what was asked for: too few, or all on one line.
pub const TRUEBED_BAD_GEOMETRY: i32 = 15;
/// A document that is not the JSON expected: syntax, missing fields, wrong types.
pub const TRUEBED_BAD_DOCUMENT: i32 = 16;
/// A document of a version that this library does not read.
pub const TRUEBED_BAD_VERSION: i32 = 17;
/// Points that the readings do not tie together.
pub const TRUEBED_UNTIED: i32 = 18;
/// Work that its budget or its caller stopped before there was an answer.
pub const TRUEBED_STOPPED: i32 = 19;
/// A fault of the library itself, never of the caller. Please report it with the text of
/// `truebed_last_error`.
pub const TRUEBED_INTERNAL: i32 = 99;

/// The meaning of a status number in a few words, also of a number that is not a status. The text is
/// never freed. The call cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_status_text(status: i32) -> *const c_char {
    let text = match status {
        TRUEBED_OK => c"no error",
        TRUEBED_NULL_POINTER => c"a pointer that must not be NULL is",
        TRUEBED_BUFFER_TOO_SMALL => c"the buffer is too small",
        TRUEBED_NOT_UTF8 => c"the text is not UTF-8",
        TRUEBED_STRUCT_SIZE => c"the struct_size is unknown to this library",
        TRUEBED_OUT_OF_MEMORY => c"the system does not have the memory that the call needs",
        TRUEBED_BAD_VALUE => c"a value that the field cannot take",
        TRUEBED_BAD_LENGTH => c"a length that cannot be read",
        TRUEBED_DUPLICATE => c"the same id, place or pair twice",
        TRUEBED_UNKNOWN => c"an id or an index that names nothing",
        TRUEBED_BAD_SHAPE => c"sizes that do not belong together, or an empty array",
        TRUEBED_BAD_GEOMETRY => c"too few points, or all on one line",
        TRUEBED_BAD_DOCUMENT => c"not the JSON document expected",
        TRUEBED_BAD_VERSION => c"a version of the document that this library does not read",
        TRUEBED_UNTIED => c"points that the readings do not tie together",
        TRUEBED_STOPPED => c"stopped before there was an answer",
        TRUEBED_INTERNAL => c"a fault of the library itself",
        _ => c"not a status of truebed",
    };
    text.as_ptr()
}

thread_local! {
    static LAST_ERROR: RefCell<CString> = RefCell::default();
    static AT_BOUNDARY: Cell<bool> = const { Cell::new(false) };
}

/// What was wrong in the last call of this thread that failed: a line for each problem, with the
/// field, what was got and what was expected; empty while none has failed.
///
/// The text belongs to the library and stays until the next call of this thread that fails, or
/// the thread's end. The call cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_last_error() -> *const c_char {
    LAST_ERROR.try_with(|last| last.borrow().as_ptr()).unwrap_or(c"".as_ptr())
}

/// Why a call failed.
#[derive(Debug, Clone)]
pub(crate) struct Failure {
    status: i32,
    text: String,
}

impl Failure {
    /// In the words of a problem, and as safe to show, for what the core never sees.
    pub(crate) fn new(status: i32, field: &str, got: &str, expected: &str) -> Self {
        let mut problems = Problems::default();
        problems.add(ProblemKind::Value, field, got, expected);
        let error = problems.into_result().err();
        Self { status, text: error.map_or_else(String::new, |error| error.to_string()) }
    }

    /// The same failure, seen from one level up: `within("problems[3]")` makes `stock`
    /// `problems[3].stock`.
    pub(crate) fn within(self, outer: &str) -> Self {
        let lines: Vec<_> = self.text.lines().map(|line| format!("{outer}.{line}")).collect();
        Self { text: lines.join("\n"), ..self }
    }

    /// Both failures as one, with the status of the first and no more lines than one may have.
    pub(crate) fn and(mut self, other: &Self) -> Self {
        let room = Problems::MOST.saturating_sub(self.text.lines().count());
        for line in other.text.lines().take(room) {
            self.text.push('\n');
            self.text.push_str(line);
        }
        self
    }

    fn panicked(payload: &(dyn Any + Send)) -> Self {
        let text = payload
            .downcast_ref::<String>()
            .map(String::as_str)
            .or_else(|| payload.downcast_ref::<&str>().copied())
            .unwrap_or("a panic without a message");
        Self { status: TRUEBED_INTERNAL, text: format!("internal error: {text}") }
    }
}

impl From<Error> for Failure {
    fn from(error: Error) -> Self {
        Self { status: error.code(), text: error.to_string() }
    }
}

/// Runs a call, notes why it failed, and lets no panic out or onto standard error.
pub(crate) fn boundary(call: impl FnOnce() -> Result<(), Failure>) -> i32 {
    static QUIET: Once = Once::new();
    QUIET.call_once(|| {
        let other = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            // A panic on its way to the boundary is reported there; all others, those of a host
            // that shares this standard library, go where they went.
            if !AT_BOUNDARY.get() {
                other(info);
            }
        }));
    });
    // A caller's function that is called back may call the library in turn.
    let around = AT_BOUNDARY.replace(true);
    // Unwind safety: a call changes nothing outside itself before it has succeeded.
    let result = panic::catch_unwind(AssertUnwindSafe(call));
    AT_BOUNDARY.set(around);
    let failure = match result {
        Ok(Ok(())) => return TRUEBED_OK,
        Ok(Err(failure)) => failure,
        Err(payload) => Failure::panicked(payload.as_ref()),
    };
    // A NUL in the text of a panic would cut it short.
    let text = CString::new(failure.text.replace('\0', "\u{2400}")).unwrap_or_default();
    // While a thread ends its last error may already be gone, and no one can ask for it.
    let _ = LAST_ERROR.try_with(|last| last.replace(text));
    failure.status
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::ffi::CStr;
    use std::sync::atomic::{AtomicU32, Ordering};

    fn last_error() -> String {
        // SAFETY: the text is valid until this thread's next failure.
        let text = unsafe { CStr::from_ptr(truebed_last_error()) };
        text.to_str().unwrap().to_owned()
    }

    #[test]
    fn core_and_header_number_problems_alike() {
        let numbers = [
            (TRUEBED_BAD_VALUE, ProblemKind::Value),
            (TRUEBED_BAD_LENGTH, ProblemKind::Length),
            (TRUEBED_DUPLICATE, ProblemKind::Duplicate),
            (TRUEBED_UNKNOWN, ProblemKind::Unknown),
            (TRUEBED_BAD_SHAPE, ProblemKind::Shape),
            (TRUEBED_BAD_GEOMETRY, ProblemKind::Geometry),
            (TRUEBED_BAD_DOCUMENT, ProblemKind::Document),
            (TRUEBED_BAD_VERSION, ProblemKind::Version),
            (TRUEBED_UNTIED, ProblemKind::Untied),
            (TRUEBED_STOPPED, ProblemKind::Stopped),
            (TRUEBED_INTERNAL, ProblemKind::Internal),
        ];
        for (number, kind) in numbers {
            assert_eq!(number, kind.code());
        }
    }

    /// One test, since the hook is one for the whole process.
    #[test]
    fn failures_and_panics_end_at_the_boundary() {
        static HEARD: AtomicU32 = AtomicU32::new(0);
        panic::set_hook(Box::new(|_| {
            HEARD.fetch_add(1, Ordering::Relaxed);
        }));
        assert_eq!(boundary(|| panic!("worn out after {} lifts", 7)), TRUEBED_INTERNAL);
        assert_eq!(last_error(), "internal error: worn out after 7 lifts");
        let calls_back = || {
            assert_eq!(boundary(|| Ok(())), TRUEBED_OK);
            panic!("worn out after 7 lifts")
        };
        assert_eq!(boundary(calls_back), TRUEBED_INTERNAL);
        assert_eq!(HEARD.load(Ordering::Relaxed), 0);

        assert!(panic::catch_unwind(|| panic!("of the host")).is_err());
        assert_eq!(HEARD.load(Ordering::Relaxed), 1);
        assert_eq!(boundary(|| Ok(())), TRUEBED_OK);
        assert_eq!(last_error(), "internal error: worn out after 7 lifts");

        let status = boundary(|| Err(Failure::new(TRUEBED_UNKNOWN, "a\0b", "c", "d")));
        assert_eq!(status, TRUEBED_UNKNOWN);
        assert_eq!(last_error(), "a\u{fffd}b: got c, expected d");
    }
}
