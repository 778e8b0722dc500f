//! Presets: limits that a published specification asks for.

use std::ffi::{CString, c_char};
use std::ptr;
use std::sync::LazyLock;

use truebed_core::{Length, Preset};

use crate::limits::{
    TRUEBED_LIMIT_ACROSS, TRUEBED_LIMIT_ALONG, TRUEBED_LIMIT_JOINT_STEP, TRUEBED_LIMIT_OVERALL,
    truebed_limits,
};
use crate::pointer;
use crate::status::{Failure, TRUEBED_BAD_VALUE, boundary};

/// Preset: the World Pool-Billiard Association's specifications of tables, effective November 2001,
/// §2-5: ± 0.020 in along, ± 0.010 in across, joints within 0.005 in. The document limits flatness and
/// gives no figure for level; these limits ask the same figures of the heights, line by line. Ask for
/// an overall limit of your own where the bed must be level.
pub const TRUEBED_PRESET_WPA_2001: i32 = 1;

/// Adds to `*limits` those that a preset, by its TRUEBED_PRESET_ number, asks for and that are not
/// asked for yet.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BAD_VALUE for an unknown preset.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_limits_add_preset(
    limits: *mut truebed_limits,
    preset: i32,
) -> i32 {
    boundary(|| {
        // SAFETY: the caller's promise.
        let (size, mut asked) =
            unsafe { (pointer::check_size(limits, "limits")?, pointer::grown(limits, "limits")?) };
        let Some(preset) = known(preset) else {
            let (got, expected) = (preset.to_string(), "a TRUEBED_PRESET_ number");
            return Err(Failure::new(TRUEBED_BAD_VALUE, "preset", &got, expected));
        };
        let preset = preset.limits();
        let mut by_preset = 0;
        let mut add = |bit: u32, mm: &mut f64, limit: Option<Length>| {
            if let Some(limit) = limit.filter(|_| asked.asked & bit == 0) {
                asked.asked |= bit;
                by_preset |= bit;
                *mm = limit.mm();
            }
        };
        add(TRUEBED_LIMIT_OVERALL, &mut asked.overall_mm, preset.overall);
        add(TRUEBED_LIMIT_ALONG, &mut asked.along_mm, preset.along);
        add(TRUEBED_LIMIT_ACROSS, &mut asked.across_mm, preset.across);
        add(TRUEBED_LIMIT_JOINT_STEP, &mut asked.joint_step_mm, preset.joint_step);
        asked.by_preset |= by_preset;
        // SAFETY: the caller's promise: valid for writes of its size, which is known.
        unsafe { pointer::put(limits, size, asked) };
        Ok(())
    })
}

/// The document that a preset is taken from: a text that is never freed. NULL for a number that is no
/// preset; the call cannot fail.
#[unsafe(no_mangle)]
pub extern "C" fn truebed_preset_document(preset: i32) -> *const c_char {
    static WPA_2001: LazyLock<CString> = LazyLock::new(|| document(Preset::Wpa2001));
    match preset {
        TRUEBED_PRESET_WPA_2001 => WPA_2001.as_ptr(),
        _ => ptr::null(),
    }
}

/// The document of a preset as a text of C.
fn document(preset: Preset) -> CString {
    let found = Preset::ALL.iter().find(|(other, ..)| *other == preset);
    found.and_then(|(.., document)| CString::new(*document).ok()).unwrap_or_default()
}

fn known(number: i32) -> Option<Preset> {
    match number {
        TRUEBED_PRESET_WPA_2001 => Some(Preset::Wpa2001),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stay() {
        assert_eq!((TRUEBED_PRESET_WPA_2001, known(1)), (1, Some(Preset::Wpa2001)));
        assert_eq!((known(0), known(-1), known(2)), (None, None, None));
        // A preset of the core that has no number here cannot be asked for.
        assert_eq!(Preset::ALL.len(), 1);
        assert!(!document(Preset::Wpa2001).is_empty());
    }
}
