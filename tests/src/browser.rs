//! A headless browser, where there is one.

use std::path::Path;
use std::process::Command;

/// The name of a browser; where there is none it is said that the test is skipped.
pub fn browser() -> Option<&'static str> {
    let there = |name: &&str| {
        Command::new(name).arg("--version").output().is_ok_and(|it| it.status.success())
    };
    let found = ["chromium", "chromium-browser"].into_iter().find(|name| there(name));
    if found.is_none() {
        println!("skipped: there is no browser here");
    }
    found
}

/// Runs a browser on a page; what it writes to standard output.
pub fn browse(browser: &str, page: &Path, arguments: &[&str]) -> String {
    let output = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"])
        .args(arguments)
        .arg(format!("file://{}", page.display()))
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A script that writes into the title of a page whether it fits a window, and every text of its
/// pictures that is seen and reaches beyond its picture.
pub const MEASURE: &str = "<script>onload = () => {
    const out = [];
    const wide = document.documentElement.scrollWidth;
    if (wide > innerWidth) out.push(`page ${wide} of ${innerWidth}`);
    for (const text of document.querySelectorAll('svg text')) {
        if (!text.getClientRects().length) continue;
        const [at, room] = [text.getBBox(), text.ownerSVGElement.viewBox.baseVal];
        if (at.x < 0 || at.y < 0 || at.x + at.width > room.width || at.y + at.height > room.height)
            out.push(text.textContent);
    }
    document.title = out.join('; ') || 'all fits';
}</script>";

/// What [`MEASURE`] found.
pub fn measured(shown: &str) -> &str {
    shown.split("<title>").nth(1).unwrap().split("</title>").next().unwrap()
}
