//! What a document says that this version does not know.

/// Parts of a stored outcome that were left out, by path.
pub(crate) fn of_later_version(unread: &[String]) -> String {
    const MOST: usize = 5;
    let more = if unread.len() > MOST { " and more" } else { "" };
    let shown: Vec<&str> = unread.iter().take(MOST).map(String::as_str).collect();
    format!(
        "A later version wrote parts of the outcome, which are left out: {}{more}.",
        shown.join(", ")
    )
}
