//! The checked-in C header is the one that the sources of the C library make.

#[path = "c_header/sections.rs"]
mod sections;

use std::fs;
use std::path::Path;

/// With `TRUEBED_BLESS` set, writes the file; else compares it.
fn holds(file: &Path, made: &str) {
    if std::env::var_os("TRUEBED_BLESS").is_some() {
        fs::write(file, made).unwrap();
    }
    assert!(
        fs::read_to_string(file).ok().as_deref() == Some(made),
        "{} is not what ffi/src makes; make it anew with\n    \
         TRUEBED_BLESS=1 cargo test -p truebed-tests --test c_header",
        file.display()
    );
}

#[test]
fn the_header_is_up_to_date() {
    let ffi = Path::new(env!("CARGO_MANIFEST_DIR")).join("../ffi");
    holds(&ffi.join("include/truebed.h"), &sections::header(&ffi));
}

/// A number never changes its meaning and never goes: a line here may be added, not changed.
#[test]
fn the_numbers_stay() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    let header = fs::read_to_string(tests.join("../ffi/include/truebed.h")).unwrap();
    let numbers = declarations(&header).macros.into_iter().filter(|it| !it.contains("_VERSION_"));
    let numbers: Vec<&str> = numbers.collect();
    let kept = fs::read_to_string(tests.join("c/numbers.txt")).unwrap_or_default();
    for line in kept.lines() {
        assert!(numbers.contains(&line), "gone or changed: {line}");
    }
    holds(&tests.join("c/numbers.txt"), &format!("{}\n", numbers.join("\n")));
}

/// What a header says, without its comments.
struct Declarations<'a> {
    macros: Vec<&'a str>,
    /// With their fields.
    structs: Vec<(&'a str, Vec<&'a str>)>,
    functions: Vec<String>,
}

fn declarations(header: &str) -> Declarations<'_> {
    let code = header.lines().map(str::trim);
    let code: Vec<&str> = code.filter(|line| !line.starts_with(['*', '/'])).collect();
    let macros = code.iter().copied().filter(|line| line.starts_with("#define TRUEBED_")).collect();
    let (mut structs, mut functions) = (Vec::new(), Vec::new());
    let mut at = 0;
    while let Some(&line) = code.get(at) {
        let until = |end: &str| at + code[at..].iter().position(|it| it.contains(end)).unwrap();
        if line.starts_with("typedef struct") && line.ends_with('{') {
            structs.push((line, code[at + 1..until("}")].to_vec()));
            at = until("}");
        } else if line.contains("truebed_") && line.contains('(') {
            functions.push(code[at..=until(";")].join(" "));
            at = until(";");
        }
        at += 1;
    }
    Declarations { macros, structs, functions }
}

/// Programs built against the header as it was frozen run with today's library: every macro and
/// function is as it was, and every struct begins as it did.
#[test]
fn the_header_keeps_what_was_frozen() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &str| fs::read_to_string(tests.join(path)).unwrap();
    let (frozen, today) = (read("c/frozen/truebed.h"), read("../ffi/include/truebed.h"));
    let (frozen, today) = (declarations(&frozen), declarations(&today));
    assert!(frozen.macros.len() > 30 && frozen.structs.len() > 10 && frozen.functions.len() > 40);
    for it in frozen.macros.iter().filter(|it| !it.contains("_VERSION_")) {
        assert!(today.macros.contains(it), "gone or changed: {it}");
    }
    for (name, fields) in &frozen.structs {
        let (_, now) = today.structs.iter().find(|(other, _)| other == name).unwrap();
        let grows = fields[0] == "size_t struct_size;";
        assert!(now.starts_with(fields) && (grows || now == fields), "{name} {now:?}");
    }
    for it in &frozen.functions {
        assert!(today.functions.contains(it), "gone or changed: {it}");
    }
}
