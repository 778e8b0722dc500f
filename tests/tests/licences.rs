//! The notices that go along with what is handed out: the wheel and the installed C library contain
//! code of other packages, and carry `LICENSE-THIRD-PARTY` for it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

const HEAD: &str = "\
The C library and the Python wheel of truebed contain code of the packages below, besides the
standard library of Rust (https://github.com/rust-lang/rust, MIT or Apache-2.0). Each package is
listed with its version and the licence that it declares; then follow the notices. Where a package
offers a choice with MIT, its MIT notice stands here; the text of Apache-2.0 is also in
LICENSE-APACHE. The list is that of x86-64 Linux.

This file is made by
    TRUEBED_BLESS=1 cargo test -p truebed-tests --test licences

";

/// For packages that come without a licence file.
const MIT: &str = "\
Permission is hereby granted, free of charge, to any person obtaining a copy of this software and
associated documentation files (the \"Software\"), to deal in the Software without restriction,
including without limitation the rights to use, copy, modify, merge, publish, distribute,
sublicense, and/or sell copies of the Software, and to permit persons to whom the Software is
furnished to do so, subject to the following conditions:

The above copyright notice and this permission notice shall be included in all copies or substantial
portions of the Software.

THE SOFTWARE IS PROVIDED \"AS IS\", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR IMPLIED, INCLUDING BUT NOT
LIMITED TO THE WARRANTIES OF MERCHANTABILITY, FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN
NO EVENT SHALL THE AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR ANY CLAIM, DAMAGES OR OTHER LIABILITY,
WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, ARISING FROM, OUT OF OR IN CONNECTION WITH THE
SOFTWARE OR THE USE OR OTHER DEALINGS IN THE SOFTWARE.
";

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_else(|| panic!("no {key}"))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().unwrap_or_else(|| panic!("no {key}"))
}

/// The packages that are linked into what is handed out, by name and version.
fn packages(metadata: &Value) -> BTreeMap<(&str, &str), &Value> {
    let all: BTreeMap<&str, &Value> =
        list(metadata, "packages").iter().map(|it| (text(it, "id"), it)).collect();
    let nodes: BTreeMap<&str, &Value> =
        list(&metadata["resolve"], "nodes").iter().map(|it| (text(it, "id"), it)).collect();
    let handed_out = ["truebed-ffi", "truebed-python"];
    let mut open: Vec<&str> = all
        .iter()
        .filter_map(|(id, it)| handed_out.contains(&text(it, "name")).then_some(*id))
        .collect();
    assert_eq!(open.len(), handed_out.len());
    let mut seen = BTreeSet::new();
    while let Some(id) = open.pop() {
        let is_macro = |it: &Value| list(it, "kind").iter().any(|kind| kind == "proc-macro");
        if list(all[id], "targets").iter().any(is_macro) || !seen.insert(id) {
            continue;
        }
        let linked = |it: &&Value| list(it, "dep_kinds").iter().any(|kind| kind["kind"].is_null());
        open.extend(list(nodes[id], "deps").iter().filter(linked).map(|it| text(it, "pkg")));
    }
    let others = seen.into_iter().map(|id| all[id]).filter(|it| !it["source"].is_null());
    others.map(|it| ((text(it, "name"), text(it, "version")), it)).collect()
}

/// The notices of a package; where it offers MIT, not those of the licences beside it.
fn notices(package: &Value) -> Vec<String> {
    let folder = Path::new(text(package, "manifest_path")).parent().unwrap();
    let entries = fs::read_dir(folder).unwrap().map(|it| it.unwrap().file_name());
    let mut names: Vec<String> = entries
        .map(|name| name.into_string().unwrap())
        .filter(|name| {
            let name = name.to_uppercase();
            ["LICENSE", "LICENCE", "COPYING", "NOTICE"].iter().any(|it| name.starts_with(it))
        })
        .collect();
    names.sort();
    if names.iter().any(|name| name.contains("MIT")) {
        names.retain(|name| name.contains("MIT") || !name.starts_with("LICEN"));
    }
    let read = |name: &String| fs::read_to_string(folder.join(name)).unwrap();
    let mut notices: Vec<String> = names.iter().map(read).collect();
    let has_own = names.iter().any(|name| name.starts_with("LICEN"));
    if !has_own && text(package, "license") == "MIT" {
        let authors = list(package, "authors").iter().filter_map(Value::as_str);
        let authors: Vec<&str> = authors.map(|it| it.split(" <").next().unwrap_or(it)).collect();
        let who = match authors.is_empty() {
            true => format!("the authors of {}", text(package, "name")),
            false => authors.join(", "),
        };
        notices.push(format!("Copyright (c) {who}\n\n{MIT}"));
    }
    notices
}

#[test]
fn notices_of_dependencies_go_along() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let asked = Command::new(env!("CARGO"))
        .args(["metadata", "--locked", "--format-version", "1"])
        .args(["--filter-platform", "x86_64-unknown-linux-gnu"])
        .current_dir(&root)
        .output()
        .unwrap();
    assert!(asked.status.success(), "{}", String::from_utf8_lossy(&asked.stderr));
    let metadata: Value = serde_json::from_slice(&asked.stdout).unwrap();
    let mut made = HEAD.to_owned();
    // A text that several packages share stands once.
    let mut texts: Vec<(String, String, Vec<String>)> = Vec::new();
    for ((name, version), package) in packages(&metadata) {
        made.push_str(&format!("{name} {version}: {}\n", text(package, "license")));
        let found = notices(package);
        assert!(!found.is_empty(), "{name} {version} comes without a licence");
        for notice in found {
            let words = notice.split_whitespace().collect::<Vec<_>>().join(" ");
            let of = format!("{name} {version}");
            match texts.iter_mut().find(|(other, ..)| *other == words) {
                Some((.., packages)) => packages.push(of),
                None => texts.push((words, notice, vec![of])),
            }
        }
    }
    for (_, notice, packages) in texts {
        let lines: Vec<&str> = notice.lines().map(str::trim_end).collect();
        let notice = lines.join("\n");
        let line = "-".repeat(72);
        made.push_str(&format!(
            "\n{line}\n{}\n\n{}\n",
            packages.join(", "),
            notice.trim_matches('\n')
        ));
    }
    let file = root.join("LICENSE-THIRD-PARTY");
    if std::env::var_os("TRUEBED_BLESS").is_some() {
        fs::write(&file, &made).unwrap();
    }
    assert!(
        fs::read_to_string(&file).ok().as_deref() == Some(&made),
        "LICENSE-THIRD-PARTY is not that of the dependencies; make it anew with\n    \
         TRUEBED_BLESS=1 cargo test -p truebed-tests --test licences"
    );
}
