//! C ABI of truebed.
