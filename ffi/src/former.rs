//! Former names: kept for programs that use them.

use crate::heights::{truebed_heights, truebed_heights_get_summary, truebed_heights_summary};

/// The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1.
pub const TRUEBED_FLOOR_DIN_18202_ROW_1: i32 = 1;
/// The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2.
pub const TRUEBED_FLOOR_DIN_18202_ROW_2: i32 = 2;
/// The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3.
pub const TRUEBED_FLOOR_DIN_18202_ROW_3: i32 = 3;
/// The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4.
pub const TRUEBED_FLOOR_DIN_18202_ROW_4: i32 = 4;
/// The former name of TRUEBED_FLOOR_CLASS_BS_8204_SR1.
pub const TRUEBED_FLOOR_BS_8204_SR1: i32 = 5;
/// The former name of TRUEBED_FLOOR_CLASS_BS_8204_SR2.
pub const TRUEBED_FLOOR_BS_8204_SR2: i32 = 6;
/// The former name of TRUEBED_FLOOR_CLASS_BS_8204_SR3.
pub const TRUEBED_FLOOR_BS_8204_SR3: i32 = 7;
/// The former name of TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL.
pub const TRUEBED_FLOOR_ACI_117_CONVENTIONAL: i32 = 8;
/// The former name of TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT.
pub const TRUEBED_FLOOR_ACI_117_MODERATELY_FLAT: i32 = 9;
/// The former name of TRUEBED_FLOOR_CLASS_ACI_117_FLAT.
pub const TRUEBED_FLOOR_ACI_117_FLAT: i32 = 10;
/// The former name of TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT.
pub const TRUEBED_FLOOR_ACI_117_VERY_FLAT: i32 = 11;
/// The former name of TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT.
pub const TRUEBED_FLOOR_ACI_117_SUPERFLAT: i32 = 12;
/// The former name of TRUEBED_FLOOR_FINDING_GAP.
pub const TRUEBED_FLOOR_GAP: i32 = 0;
/// The former name of TRUEBED_FLOOR_FINDING_FF.
pub const TRUEBED_FLOOR_FF: i32 = 1;
/// The former name of TRUEBED_FLOOR_FINDING_FL.
pub const TRUEBED_FLOOR_FL: i32 = 2;
/// The former name of TRUEBED_FLOOR_FINDING_LINE_FF.
pub const TRUEBED_FLOOR_LINE_FF: i32 = 3;
/// The former name of TRUEBED_FLOOR_FINDING_LINE_FL.
pub const TRUEBED_FLOOR_LINE_FL: i32 = 4;

/// The former name of `truebed_heights_get_summary`: it does the same.
///
/// Errors: those of `truebed_heights_get_summary`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_heights_summarise(
    heights: *const truebed_heights,
    summary: *mut truebed_heights_summary,
) -> i32 {
    // SAFETY: the caller's promise.
    unsafe { truebed_heights_get_summary(heights, summary) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::floor::*;

    #[test]
    fn former_names_have_the_numbers_of_the_new_ones() {
        let pairs = [
            (TRUEBED_FLOOR_DIN_18202_ROW_1, TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1),
            (TRUEBED_FLOOR_DIN_18202_ROW_2, TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2),
            (TRUEBED_FLOOR_DIN_18202_ROW_3, TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3),
            (TRUEBED_FLOOR_DIN_18202_ROW_4, TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4),
            (TRUEBED_FLOOR_BS_8204_SR1, TRUEBED_FLOOR_CLASS_BS_8204_SR1),
            (TRUEBED_FLOOR_BS_8204_SR2, TRUEBED_FLOOR_CLASS_BS_8204_SR2),
            (TRUEBED_FLOOR_BS_8204_SR3, TRUEBED_FLOOR_CLASS_BS_8204_SR3),
            (TRUEBED_FLOOR_ACI_117_CONVENTIONAL, TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL),
            (TRUEBED_FLOOR_ACI_117_MODERATELY_FLAT, TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT),
            (TRUEBED_FLOOR_ACI_117_FLAT, TRUEBED_FLOOR_CLASS_ACI_117_FLAT),
            (TRUEBED_FLOOR_ACI_117_VERY_FLAT, TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT),
            (TRUEBED_FLOOR_ACI_117_SUPERFLAT, TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT),
            (TRUEBED_FLOOR_GAP, TRUEBED_FLOOR_FINDING_GAP),
            (TRUEBED_FLOOR_FF, TRUEBED_FLOOR_FINDING_FF),
            (TRUEBED_FLOOR_FL, TRUEBED_FLOOR_FINDING_FL),
            (TRUEBED_FLOOR_LINE_FF, TRUEBED_FLOOR_FINDING_LINE_FF),
            (TRUEBED_FLOOR_LINE_FL, TRUEBED_FLOOR_FINDING_LINE_FL),
        ];
        for (former, new) in pairs {
            assert_eq!(former, new);
        }
    }
}
