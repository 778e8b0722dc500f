//! Makes the header: what cbindgen makes of all sources, arranged in a section for each source, so
//! that the constants, structs and functions of a noun stand together.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// The sources in the order in which a reader meets them.
const SOURCES: [&str; 29] = [
    "job",
    "jobs",
    "status",
    "text",
    "length",
    "version",
    "survey",
    "heights",
    "limits",
    "preset",
    "problem",
    "plan",
    "plans",
    "shortfall",
    "rule",
    "verdict",
    "next",
    "risks",
    "plane",
    "floor",
    "bed",
    "bed_surface",
    "site",
    "estimate",
    "stream",
    "kit_front",
    "lifting",
    "picture",
    "former",
];

/// The Arrow C data and stream interfaces, as the specification fixes them
/// (<https://arrow.apache.org/docs/format/CDataInterface.html> and `CStreamInterface.html`): a program
/// may have them from elsewhere as well.
const ARROW: &str = "\
/* The structs of the Arrow C data and stream interfaces. Their specification explains the fields. */
/** @cond */
#ifndef ARROW_C_DATA_INTERFACE
#define ARROW_C_DATA_INTERFACE

#define ARROW_FLAG_DICTIONARY_ORDERED 1
#define ARROW_FLAG_NULLABLE 2
#define ARROW_FLAG_MAP_KEYS_SORTED 4

struct ArrowSchema {
  const char *format;
  const char *name;
  const char *metadata;
  int64_t flags;
  int64_t n_children;
  struct ArrowSchema **children;
  struct ArrowSchema *dictionary;
  void (*release)(struct ArrowSchema *);
  void *private_data;
};

struct ArrowArray {
  int64_t length;
  int64_t null_count;
  int64_t offset;
  int64_t n_buffers;
  int64_t n_children;
  const void **buffers;
  struct ArrowArray **children;
  struct ArrowArray *dictionary;
  void (*release)(struct ArrowArray *);
  void *private_data;
};

#endif /* ARROW_C_DATA_INTERFACE */

#ifndef ARROW_C_STREAM_INTERFACE
#define ARROW_C_STREAM_INTERFACE

struct ArrowArrayStream {
  int (*get_schema)(struct ArrowArrayStream *, struct ArrowSchema *out);
  int (*get_next)(struct ArrowArrayStream *, struct ArrowArray *out);
  const char *(*get_last_error)(struct ArrowArrayStream *);
  void (*release)(struct ArrowArrayStream *);
  void *private_data;
};

#endif /* ARROW_C_STREAM_INTERFACE */
/** @endcond */
";

/// The header, from the folder of the C library.
pub(crate) fn header(ffi: &Path) -> String {
    let texts = SOURCES.map(|source| {
        fs::read_to_string(ffi.join("src").join(source).with_extension("rs")).unwrap()
    });
    let mut builder = cbindgen::Builder::new()
        .with_config(cbindgen::Config::from_file(ffi.join("cbindgen.toml")).unwrap());
    for source in SOURCES {
        builder = builder.with_src(ffi.join("src").join(source).with_extension("rs"));
    }
    let mut made = Vec::new();
    builder.generate().unwrap().write(&mut made);
    arranged(&String::from_utf8(made).unwrap(), &texts)
}

fn arranged(made: &str, sources: &[String]) -> String {
    const HEAD_ENDS: &str = "#include <stdint.h>\n\n";
    let (head, rest) = made.split_at(made.find(HEAD_ENDS).unwrap() + HEAD_ENDS.len());
    let mut handles = Vec::new();
    let mut sections: BTreeMap<usize, Vec<&str>> = BTreeMap::new();
    // Declarations are apart by an empty line, and none has one inside.
    for block in rest.split("\n\n").map(str::trim).filter(|block| !block.is_empty()) {
        let code = block.lines().filter(|line| !line.trim_start().starts_with(['*', '/']));
        let code: Vec<&str> = code.collect();
        if code[0].starts_with("#ifdef __cplusplus") || code[0].starts_with("#endif") {
            continue;
        }
        if code[0].starts_with("typedef struct") && code[0].ends_with(';') {
            handles.push(block);
            continue;
        }
        let name = name(code[0]);
        let declared =
            [format!("const {name}:"), format!("struct {name} {{"), format!("fn {name}(")];
        let at = sources.iter().position(|source| declared.iter().any(|it| source.contains(it)));
        let at = at.unwrap_or_else(|| panic!("no source declares {name}"));
        sections.entry(at).or_default().push(block);
    }
    let titles: Vec<(&str, &str)> = sources.iter().map(|source| title(source)).collect();
    let contents = SOURCES.iter().zip(&titles).map(|(source, (title, about))| {
        format!(" * - @ref truebed_{source} \"{title}\": {about}\n")
    });
    let contents: String = contents.collect();
    let mut header = head.replace(" * @contents\n", &contents);
    header.push_str("#ifdef __cplusplus\nextern \"C\" {\n#endif\n\n");
    let mut section = |id: &str, title: &str, about: &str, blocks: &[&str]| {
        header.push_str(&format!(
            "/**\n * @defgroup truebed_{id} {title}\n * {about}\n * @{{\n */\n\n"
        ));
        if id == "stream" {
            header.push_str(ARROW);
            header.push('\n');
        }
        for block in blocks {
            header.push_str(block);
            header.push_str("\n\n");
        }
        header.push_str("/** @} */\n\n");
    };
    let about = "What the library makes and the caller frees.";
    section("handles", "Handles", about, &handles);
    for (at, blocks) in &sections {
        let (title, about) = titles[*at];
        section(SOURCES[*at], title, about, blocks);
    }
    header.push_str("#ifdef __cplusplus\n} /* extern \"C\" */\n#endif\n\n#endif /* TRUEBED_H */\n");
    header
}

/// Title and sentence of a section: the first line of the source, as in `//! Jobs: what they hold.`
fn title(source: &str) -> (&str, &str) {
    let line = source.lines().next().and_then(|line| line.strip_prefix("//! "));
    line.and_then(|line| line.split_once(": ")).unwrap_or_else(|| panic!("no title: {line:?}"))
}

/// What the first line of a declaration declares.
fn name(line: &str) -> &str {
    let words = line.split(|it: char| !(it.is_alphanumeric() || it == '_'));
    let mut words = words.filter(|it| it.starts_with("truebed_") || it.starts_with("TRUEBED_"));
    let named = match line.split_once('(') {
        // The name of a function stands before its arguments, behind what it returns.
        Some((before, _)) if !line.starts_with('#') => {
            before.rsplit([' ', '*']).next().filter(|it| it.starts_with("truebed_"))
        }
        _ => words.next(),
    };
    named.unwrap_or_else(|| panic!("no name in {line:?}"))
}
