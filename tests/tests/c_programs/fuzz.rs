//! Every function with pointers that are valid or NULL, sizes and contents by chance.

use super::*;

fn source() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("c/fuzz.c")
}

pub(super) fn seeds() -> String {
    fs::read_to_string(source().with_file_name("fuzz/seeds.txt")).unwrap()
}

/// The numbers of all statuses that a caller can bring about.
const STATUSES: [usize; 15] = [0, 1, 2, 3, 4, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19];

#[test]
fn replays_the_seeds() {
    let seeds = seeds();
    for linkage in [Linkage::Static, Linkage::Shared] {
        let program = compile(&source(), linkage);
        let output = run(&program, &NONE, seeds.as_bytes());
        let tally = String::from_utf8(output.stdout.clone()).unwrap();
        passes(&program, output);
        let reached = tally.lines().map(|line| line.split(' ').next().unwrap().parse().unwrap());
        assert_eq!(reached.collect::<Vec<usize>>(), STATUSES);
        if linkage == Linkage::Shared && is_installed("valgrind") {
            let few: Vec<&str> = seeds.lines().take(80).collect();
            valgrind(&program, &NONE, few.join("\n").as_bytes());
        }
    }
}

#[test]
fn leaves_no_function_out() {
    let header = fs::read_to_string(root().join("ffi/include/truebed.h")).unwrap();
    let folder = source().with_extension("");
    let calls: String = [
        "bed.h",
        "chance.h",
        "estimates.h",
        "planes.h",
        "plans.h",
        "site.h",
        "streams.h",
        "surveys.h",
        "texts.h",
    ]
    .map(|name| fs::read_to_string(folder.join(name)).unwrap())
    .concat();
    let code = header.lines().filter(|line| !line.trim_start().starts_with(['*', '/']));
    let mut functions = 0;
    for word in code.flat_map(|line| line.split([' ', '*'])) {
        let Some((name, _)) = word.split_once('(').filter(|it| it.0.starts_with("truebed_")) else {
            continue;
        };
        functions += 1;
        // Some are called through a list of them.
        let called = ["(", ",", "}"].iter().any(|after| calls.contains(&format!("{name}{after}")));
        assert!(called, "tests/c/fuzz never calls {name}");
    }
    assert!(functions > 50);
}
