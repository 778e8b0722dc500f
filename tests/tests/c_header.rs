//! The checked-in C header is the one that the sources of the C library make.

use std::fs;
use std::path::Path;

/// With `TRUEBED_BLESS` set, writes the header; else compares it.
#[test]
fn the_header_is_up_to_date() {
    let ffi = Path::new(env!("CARGO_MANIFEST_DIR")).join("../ffi");
    // In the order in which a reader meets them.
    let sources = [
        "version",
        "status",
        "text",
        "length",
        "survey",
        "heights",
        "plane",
        "floor",
        "limits",
        "problem",
        "plan",
        "plans",
        "shortfall",
        "verdict",
        "job",
    ];
    let config = cbindgen::Config::from_file(ffi.join("cbindgen.toml")).unwrap();
    let mut builder = cbindgen::Builder::new().with_config(config);
    for source in sources {
        builder = builder.with_src(ffi.join("src").join(source).with_extension("rs"));
    }
    let mut made = Vec::new();
    builder.generate().unwrap().write(&mut made);
    let header = ffi.join("include/truebed.h");
    if std::env::var_os("TRUEBED_BLESS").is_some() {
        fs::write(&header, &made).unwrap();
    }
    assert!(
        fs::read(&header).ok().as_deref() == Some(made.as_slice()),
        "ffi/include/truebed.h is not what ffi/src makes; make it anew with\n    \
         TRUEBED_BLESS=1 cargo test -p truebed-tests --test c_header"
    );
}
