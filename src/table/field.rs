//! The bytes of fields in a text, as the reader tells them apart.

use std::borrow::Cow;
use std::ops::Range;

/// The bytes of each field of the record that begins at `start`, quotes included.
pub fn fields(text: &str, start: usize, separator: u8) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let mut fields = Vec::new();
    let mut at = start;
    loop {
        let end = end_of_field(bytes, at, separator);
        fields.push(at..end);
        if bytes.get(end) != Some(&separator) {
            return fields;
        }
        at = end + 1;
    }
}

/// Where the field ends that begins at `start`. Only a quote at the very beginning
/// opens a quoted field. After the closing quote the field goes on as without quotes.
fn end_of_field(bytes: &[u8], start: usize, separator: u8) -> usize {
    let mut quoted = bytes.get(start) == Some(&b'"');
    let mut at = start + usize::from(quoted);
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'"' if quoted && bytes.get(at + 1) == Some(&b'"') => at += 1,
            b'"' if quoted => quoted = false,
            _ if quoted => {}
            b'\r' | b'\n' => return at,
            byte if byte == separator => return at,
            _ => {}
        }
        at += 1;
    }
    at
}

/// What the bytes of a field stand for.
pub fn decoded(bytes: &str) -> Cow<'_, str> {
    let Some(mut rest) = bytes.strip_prefix('"') else {
        return Cow::Borrowed(bytes);
    };
    let mut field = String::new();
    while let Some((before, after)) = rest.split_once('"') {
        field.push_str(before);
        let Some(inside) = after.strip_prefix('"') else {
            return Cow::Owned(field + after);
        };
        field.push('"');
        rest = inside;
    }
    Cow::Owned(field + rest)
}

/// The field as bytes, in quotes where the field needs quotes.
pub fn with_quotes(field: &str, separator: u8, place: usize) -> String {
    // A row that starts with `#` would be a comment.
    let is_comment = place == 0 && field.starts_with('#');
    match is_comment || field.contains(['"', '\r', '\n', char::from(separator)]) {
        true => format!("\"{}\"", field.replace('"', "\"\"")),
        false => field.to_owned(),
    }
}

/// The spaces around a field that has no quotes.
pub fn padding(bytes: &str) -> (&str, &str) {
    if bytes.starts_with('"') {
        return ("", "");
    }
    let rest = bytes.trim_start();
    let before = bytes.len() - rest.len();
    let after = before + rest.trim_end().len();
    let part = |range: Range<usize>| bytes.get(range).unwrap_or("");
    (part(0..before), part(after..bytes.len()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_and_what_they_stand_for() {
        let text = "x\na;\"b;\"\"\r\n\";\"c\"d\"; e \"f\";\r\nz";
        let read = fields(text, 2, b';').into_iter();
        let read: Vec<_> = read.map(|bytes| decoded(&text[bytes])).collect();
        assert_eq!(read, ["a", "b;\"\r\n", "cd\"", " e \"f\"", ""]);
        assert_eq!(fields("a,", 0, b','), [0..1, 2..2]);
        assert_eq!(fields("", 0, b',').len(), 1);
    }

    #[test]
    fn spaces_around_a_field() {
        assert_eq!(padding("  a b\t"), ("  ", "\t"));
        assert_eq!(padding("   "), ("   ", ""));
        assert_eq!(padding("\" a \" "), ("", ""));
    }
}
