//! The layers of the core: no file imports from a layer above its own, and no files import each
//! other in a circle.
//!
//! What a file imports is read from its text: its `use` lines, the paths that it writes out, and the
//! names that it hands on and uses itself. A name that an index file hands on counts as imported from
//! the file that defines it. Unit tests may import what they like.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

/// The rooms of `core/src`, layer by layer, the lowest first. A room may import from its own layer
/// and from those before it.
const LAYERS: [&[&str]; 10] = [
    // The ground: exact lengths, what is wrong with an input, numbers.
    &[
        "shown",
        "error",
        "length",
        "document",
        "regression",
        "covariance",
        "normal",
        "simulation",
        "deadline",
        "factor",
        "workers",
    ],
    // What is on site.
    &["points", "stock", "limits", "units", "tilt"],
    // Reference planes; from readings to heights.
    &["plane", "survey"],
    // The solver.
    &["shim"],
    // Slates as elastic plates.
    &["bed"],
    // Limits with how sure they are met; what a ball does.
    &["verify", "roll"],
    // Whether the room fits and the frame is square; floors nobody has measured.
    &["site", "estimate"],
    // Every sentence that a person reads.
    &["words"],
    // The document and its run.
    &["job"],
    // What a person reads.
    &["sheet"],
];

#[test]
fn no_file_imports_from_a_layer_above_its_own() {
    let house = House::read();
    let layer = |file: &str| {
        let room = room(file);
        let layer = LAYERS.iter().position(|rooms| rooms.contains(&room));
        layer.unwrap_or_else(|| panic!("{file}: give the room {room:?} a layer"))
    };
    let mut upwards = Vec::new();
    for (file, imports) in house.imports.iter().filter(|(file, _)| *file != "lib.rs") {
        for import in imports {
            if *import == "lib.rs" || layer(import) > layer(file) {
                upwards.push(format!("{file} imports from {import}"));
            }
        }
    }
    assert!(upwards.is_empty(), "imports from a layer above:\n{}", upwards.join("\n"));
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let circles = circles(&House::read().imports);
    assert!(circles.is_empty(), "circles between files: {circles:#?}");
}

/// The rules above on a small house of which the answer is known.
#[test]
fn a_planted_circle_and_a_planted_import_are_found() {
    let house = House::of([
        ("lib.rs", "mod low; mod high; pub use low::Thing;"),
        ("low.rs", "mod part;\npub use part::Thing;\nfn f(thing: Thing) {}"),
        ("low/part.rs", "use super::{self, f};\nuse crate::high::Roof; // crate::none::None"),
        (
            "high.rs",
            "pub struct Roof;\nconst TEXT: &str = \"crate::low::Thing '\";\n#[cfg(test)]\nmod tests { use crate::low; }",
        ),
    ]);
    let of = |file: &str| house.imports[file].iter().map(String::as_str).collect::<Vec<_>>();
    assert_eq!(of("low/part.rs"), ["high.rs", "low.rs"]);
    assert_eq!(of("low.rs"), ["low/part.rs"]);
    assert!(of("high.rs").is_empty());
    assert_eq!(circles(&house.imports), [["low.rs", "low/part.rs"]]);
}

/// The files of a crate, by their paths below its `src`, and what each imports.
struct House {
    imports: BTreeMap<String, BTreeSet<String>>,
}

/// A file taken apart.
struct Source {
    /// Paths of private `use` lines.
    uses: Vec<Vec<String>>,
    /// Names that are handed on, with where they come from.
    handed_on: BTreeMap<String, Vec<String>>,
    /// Names and paths in the rest of the text.
    written: Vec<Vec<String>>,
}

impl House {
    fn read() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/src");
        let mut files = Vec::new();
        collect(&root, &root, &mut files);
        assert!(files.len() > 50, "the files of the core were not found");
        Self::of(files.iter().map(|(name, text)| (name.as_str(), text.as_str())))
    }

    fn of<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let mut sources = BTreeMap::new();
        for (name, text) in files {
            sources.insert(module(name), (name.to_owned(), Source::of(text)));
        }
        let mut imports = BTreeMap::new();
        for (module, (name, source)) in &sources {
            let mut of_file = BTreeSet::new();
            for path in source.paths() {
                let path = absolute(&sources, module, path);
                let defined = path.and_then(|path| defined_in(&sources, &path, 0));
                of_file.extend(defined.filter(|file| file != name));
            }
            imports.insert(name.clone(), of_file);
        }
        Self { imports }
    }
}

type Sources = BTreeMap<Vec<String>, (String, Source)>;

/// A path from the root of the crate; none of another crate's.
fn absolute(sources: &Sources, module: &[String], path: &[String]) -> Option<Vec<String>> {
    let joined = |module: &[String], path: &[String]| [module, path].concat();
    let first = path.first()?.as_str();
    match first {
        "crate" => Some(path[1..].to_vec()),
        "self" => Some(joined(module, &path[1..])),
        "super" => {
            let up = path.iter().take_while(|part| *part == "super").count();
            Some(joined(&module[..module.len().checked_sub(up)?], &path[up..]))
        }
        _ => {
            let inside = joined(module, path);
            let child = &inside[..module.len() + 1];
            let is_handed_on = sources.get(module)?.1.handed_on.contains_key(first);
            (sources.contains_key(child) || is_handed_on).then_some(inside)
        }
    }
}

/// The file that defines what a path names, behind all that only hand it on.
fn defined_in(sources: &Sources, path: &[String], depth: usize) -> Option<String> {
    let known = (0..=path.len()).rev().find(|&parts| sources.contains_key(&path[..parts]))?;
    let (module, rest) = path.split_at(known);
    let (name, source) = &sources[module];
    if let Some(from) = rest.first().and_then(|first| source.handed_on.get(first))
        && depth < 10
        && let Some(from) = absolute(sources, module, from)
    {
        return defined_in(sources, &[&from, &rest[1..]].concat(), depth + 1);
    }
    Some(name.clone())
}

impl Source {
    fn of(text: &str) -> Self {
        let code = without_comments_and_strings(text);
        let code = code.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
        let (mut uses, mut handed_on) = (Vec::new(), BTreeMap::new());
        let mut rest = String::new();
        for statement in code.split_inclusive(';') {
            let start =
                statement.trim_start_matches(|c: char| c.is_whitespace() || "{}".contains(c));
            let visible = ["pub ", "pub(crate) ", "pub(super) "];
            let handed = visible.iter().find_map(|it| start.strip_prefix(it)?.strip_prefix("use "));
            // Attributes and items may stand before an import.
            let plain = start.strip_prefix("use ").or_else(|| Some(start.split_once("\nuse ")?.1));
            match (handed, plain) {
                (Some(tree), _) => {
                    for path in paths_of(tree) {
                        let name = path.last().cloned().unwrap_or_default();
                        handed_on.insert(name, path);
                    }
                }
                (None, Some(tree)) => uses.extend(paths_of(tree)),
                (None, None) => rest.push_str(statement),
            }
        }
        Self { uses, handed_on, written: written(&rest) }
    }

    /// All paths by which the file needs another.
    fn paths(&self) -> impl Iterator<Item = &[String]> {
        let written = self.written.iter().filter(|path| {
            let first = &path[0];
            path.len() > 1 || self.handed_on.contains_key(first)
        });
        self.uses.iter().chain(written).map(Vec::as_slice)
    }
}

/// The paths of a tree of imports, `a::{b, c::d}`; a name given by `as` is forgotten.
fn paths_of(tree: &str) -> Vec<Vec<String>> {
    fn walk(prefix: &str, tree: &str, paths: &mut Vec<Vec<String>>) {
        let tree = tree.trim().trim_end_matches(';').trim();
        let Some((before, inside)) = tree.split_once('{') else {
            let path = format!("{prefix}{}", tree.split(" as ").next().unwrap_or_default());
            let parts = path.split("::").map(|part| part.trim().to_owned());
            paths.push(parts.filter(|part| !part.is_empty() && part != "*").collect());
            return;
        };
        let inside = inside.rsplit_once('}').map_or(inside, |(inside, _)| inside);
        let (mut depth, mut from) = (0, 0);
        for (at, c) in inside.char_indices().chain([(inside.len(), ',')]) {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 0 => {
                    let part = &inside[from..at.max(from)];
                    if !part.trim().is_empty() {
                        walk(&format!("{prefix}{}", before.trim()), part, paths);
                    }
                    from = at + 1;
                }
                _ => {}
            }
        }
    }
    let mut paths = Vec::new();
    walk("", tree, &mut paths);
    // `{self, …}` names the module itself.
    for path in &mut paths {
        if path.len() > 1 && path.last().is_some_and(|last| last == "self") {
            path.pop();
        }
    }
    paths
}

/// The names in a text, and those joined by `::` together.
fn written(code: &str) -> Vec<Vec<String>> {
    let mut paths: Vec<Vec<String>> = Vec::new();
    let (mut joined, mut rest) = (false, code);
    while !rest.is_empty() {
        let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len());
        if end > 0 {
            let name = rest[..end].to_owned();
            match paths.last_mut() {
                Some(path) if joined => path.push(name),
                _ => paths.push(vec![name]),
            }
            joined = rest[end..].starts_with("::");
            rest = &rest[end..];
        } else if let Some(after) = rest.strip_prefix("::") {
            rest = after;
        } else {
            joined = false;
            rest = &rest[rest.chars().next().map_or(1, char::len_utf8)..];
        }
    }
    paths
}

fn without_comments_and_strings(text: &str) -> String {
    let mut code = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let skipped = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("r#\"") {
            rest.find("\"#").map_or(rest.len(), |end| end + 2)
        } else if c == '"' {
            string(rest)
        } else if c == '\'' {
            character(rest)
        } else {
            0
        };
        if skipped == 0 {
            code.push(c);
            rest = &rest[c.len_utf8()..];
        } else {
            rest = &rest[skipped..];
        }
    }
    code
}

/// How long the string at the start of a text is.
fn string(text: &str) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    text.len()
}

/// How long the character at the start of a text is; 0 for a lifetime.
fn character(text: &str) -> usize {
    let mut chars = text.char_indices().skip(1);
    match (chars.next(), chars.next()) {
        (Some((_, '\\')), Some((escaped, c))) => {
            let from = escaped + c.len_utf8();
            text[from..].find('\'').map_or(0, |end| from + end + 1)
        }
        (Some(_), Some((at, '\''))) => at + 1,
        _ => 0,
    }
}

/// Sets of files of which each imports each other one, directly or through others.
fn circles(imports: &BTreeMap<String, BTreeSet<String>>) -> Vec<Vec<String>> {
    let reaches = |from: &String| {
        let mut reached = BTreeSet::new();
        let mut open: Vec<&String> = imports[from].iter().collect();
        while let Some(file) = open.pop() {
            if reached.insert(file) {
                open.extend(imports.get(file).into_iter().flatten());
            }
        }
        reached
    };
    let reached: BTreeMap<&String, BTreeSet<&String>> =
        imports.keys().map(|file| (file, reaches(file))).collect();
    let mut circles: Vec<Vec<String>> = Vec::new();
    for file in imports.keys() {
        if reached[file].contains(file) && !circles.iter().flatten().any(|other| other == file) {
            let both_ways = |other: &&&String| reached[**other].contains(file);
            circles.push(reached[file].iter().filter(both_ways).map(|&it| it.clone()).collect());
        }
    }
    circles
}

/// `plane/fit.rs` is the module `plane::fit`; `lib.rs` is the root.
fn module(file: &str) -> Vec<String> {
    let parts = file.trim_end_matches(".rs").split('/').map(str::to_owned);
    parts.filter(|part| part != "lib").collect()
}

fn room(file: &str) -> &str {
    file.split('/').next().unwrap_or_default().trim_end_matches(".rs")
}

fn collect(root: &Path, folder: &Path, files: &mut Vec<(String, String)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(root, &path, files);
        } else if path.extension().is_some_and(|it| it == "rs") {
            let name = path.strip_prefix(root).unwrap().to_str().unwrap().replace('\\', "/");
            files.push((name, fs::read_to_string(&path).unwrap()));
        }
    }
}
