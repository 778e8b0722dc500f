//! What a person wrote stays as it was written: `"1/8 in"` and not `"3.175 mm"`.
//!
//! A document is written from what was read, in which a length is a number of nanometres. The texts
//! come from the document that was read, wherever it has one in the same place.

use std::collections::BTreeMap;

use serde_json::value::RawValue;

/// A document with the texts of the original in it: each text that stands in the same place of both
/// and means the `same`, and all `meta` to the byte. What a run writes, the `outcome`, stays.
pub(crate) fn keep_texts(written: &str, original: &str, same: fn(&str, &str) -> bool) -> String {
    let mut kept = Kept { same, parts: Vec::new() };
    if let (Some(written), Some(original)) = (fields(written), fields(original)) {
        let asked = written.into_iter().filter(|(name, _)| name != "outcome");
        kept.gather_fields(asked, &original);
    }
    let place = |part: &str| part.as_ptr() as usize - written.as_ptr() as usize;
    kept.parts.sort_unstable_by_key(|(part, _)| place(part));
    let (mut text, mut at) = (String::with_capacity(written.len()), 0);
    for (part, original) in kept.parts {
        text.push_str(&written[at..place(part)]);
        text.push_str(original);
        at = place(part) + part.len();
    }
    text.push_str(&written[at..]);
    text
}

type Fields<'a> = BTreeMap<String, &'a RawValue>;

fn fields(text: &str) -> Option<Fields<'_>> {
    serde_json::from_str(text).ok()
}

/// The parts of what was written that the original has in other words, with those words.
struct Kept<'a> {
    same: fn(&str, &str) -> bool,
    parts: Vec<(&'a str, &'a str)>,
}

impl<'a> Kept<'a> {
    fn gather_fields(
        &mut self,
        written: impl Iterator<Item = (String, &'a RawValue)>,
        original: &Fields<'a>,
    ) {
        for (name, written) in written {
            match original.get(&name) {
                Some(original) if name == "meta" => {
                    self.parts.push((written.get(), original.get()))
                }
                Some(original) => self.gather(written.get(), original.get()),
                None => {}
            }
        }
    }

    fn gather(&mut self, written: &'a str, original: &'a str) {
        let starts = [written, original].map(|text| text.as_bytes().first().copied());
        match starts {
            [Some(b'"'), Some(b'"')] => {
                let text = |text| serde_json::from_str::<String>(text).unwrap_or_default();
                let (said, meant) = (text(written), text(original));
                if said != meant && (self.same)(&said, &meant) {
                    self.parts.push((written, original));
                }
            }
            [Some(b'{'), Some(b'{')] => {
                if let (Some(written), Some(original)) = (fields(written), fields(original)) {
                    self.gather_fields(written.into_iter(), &original);
                }
            }
            [Some(b'['), Some(b'[')] => {
                let items = |text| serde_json::from_str::<Vec<&RawValue>>(text).unwrap_or_default();
                for (written, original) in items(written).into_iter().zip(items(original)) {
                    self.gather(written.get(), original.get());
                }
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_stay_and_all_else_is_as_written() {
        let original = r#"{"b": [{"x": "1/8 in"}, {"x": "9 mm"}], "a": "é", "n": 1.50,
            "meta": {"of":  [1.50, 12345678901234567890123]}, "outcome": {"x": "old"}, "gone": "g"}"#;
        let written = r#"{"a":"\u00e9","b":[{"x":"3.175 mm"},{"x":"1 mm"},{"x":"2 mm"}],"n":1.5,
"meta":{"of":[1.5,1.2e22]},"outcome":{"x":"new"}}"#;
        let kept = r#"{"a":"\u00e9","b":[{"x":"1/8 in"},{"x":"1 mm"},{"x":"2 mm"}],"n":1.5,
"meta":{"of":  [1.50, 12345678901234567890123]},"outcome":{"x":"new"}}"#;
        let same = |a: &str, b: &str| (a, b) == ("3.175 mm", "1/8 in");
        assert_eq!(keep_texts(written, original, same), kept);
        assert_eq!(keep_texts(kept, original, same), kept);
        assert_eq!(keep_texts("{}", "[]", same), "{}");
    }
}
