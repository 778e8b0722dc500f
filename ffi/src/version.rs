//! Version: of this header and of the library.

use std::ffi::{CStr, CString, c_char};
use std::sync::OnceLock;

use truebed_core::CAUTIONS;

/// First number of the version of this header.
pub const TRUEBED_VERSION_MAJOR: u32 = 0;
/// Second number of the version of this header.
pub const TRUEBED_VERSION_MINOR: u32 = 1;
/// Third number of the version of this header.
pub const TRUEBED_VERSION_PATCH: u32 = 0;
/// The version of this header as one number that grows with it: 1.2.3 is 10203.
pub const TRUEBED_VERSION_NUMBER: u32 =
    TRUEBED_VERSION_MAJOR * 10000 + TRUEBED_VERSION_MINOR * 100 + TRUEBED_VERSION_PATCH;

/// The version of the library that is linked, as `"0.1.0"`. A text that is never freed; the call
/// cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_version() -> *const c_char {
    const VERSION: &CStr =
        match CStr::from_bytes_with_nul(concat!(env!("CARGO_PKG_VERSION"), "\0").as_bytes()) {
            Ok(version) => version,
            Err(_) => c"",
        };
    VERSION.as_ptr()
}

/// The version of the library that is linked, as one number: compare it with
/// `TRUEBED_VERSION_NUMBER`. The call cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_version_number() -> u32 {
    TRUEBED_VERSION_NUMBER
}

/// The cautions that everything shows by which people lift, a line for each. Show them wherever you show a
/// plan of your own. A text that is never freed; the call cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_cautions() -> *const c_char {
    static LINES: OnceLock<CString> = OnceLock::new();
    LINES.get_or_init(|| CString::new(CAUTIONS.join("\n")).unwrap_or_default()).as_ptr()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Neither the header nor the file for CMake can take its numbers from the manifest, so they are
    /// held against it.
    #[test]
    fn header_and_manifest_agree() {
        let numbers = [TRUEBED_VERSION_MAJOR, TRUEBED_VERSION_MINOR, TRUEBED_VERSION_PATCH];
        assert_eq!(numbers.map(|number| number.to_string()).join("."), env!("CARGO_PKG_VERSION"));
        let cmake = include_str!("../cmake/truebed-config-version.cmake");
        let version = concat!("set(PACKAGE_VERSION \"", env!("CARGO_PKG_VERSION"), "\")");
        let major = concat!("MAJOR STREQUAL \"", env!("CARGO_PKG_VERSION_MAJOR"), "\")");
        assert!(cmake.contains(version) && cmake.contains(major));
        const { assert!(TRUEBED_VERSION_MINOR < 100 && TRUEBED_VERSION_PATCH < 100) };
    }
}
