//! Names the shared library as programs that link it will look for it.

fn main() {
    println!("cargo::rerun-if-changed=build.rs");
    let target = std::env::var("CARGO_CFG_TARGET_OS");
    if target.as_deref() == Ok("linux") {
        let major = env!("CARGO_PKG_VERSION_MAJOR");
        println!("cargo::rustc-cdylib-link-arg=-Wl,-soname,libtruebed.so.{major}");
    }
}
