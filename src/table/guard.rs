//! What keeps a spreadsheet from running a text in a CSV file: an apostrophe
//! before the text (OWASP, "CSV Injection"). Reading takes the apostrophe off again.

/// What a spreadsheet takes for the beginning of a formula.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// The text with an apostrophe before it, if a spreadsheet would run the text, or if
/// the text could be taken for a text that has got an apostrophe.
///
/// ```
/// use couplet::table::{guarded, unguarded};
/// assert_eq!(guarded("=1+1"), "'=1+1");
/// assert_eq!(guarded("-40"), "'-40");
/// assert_eq!(unguarded(&guarded("'@x")), "'@x");
/// ```
pub fn guarded(text: &str) -> String {
    if text.trim_start_matches('\'').starts_with(FORMULA) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The text that [`guarded`] was given.
pub fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if rest.trim_start_matches('\'').starts_with(FORMULA) => rest,
        _ => text,
    }
}

/// What a field of a text file says.
pub(super) fn plain(field: &str) -> &str {
    unguarded(field).trim()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_guarded_comes_back() {
        let texts = [
            "=1", "+1", "-1", "-1.5", "-a", "@a", "\ta", "\ra", "'=1", "''=1", "'-1", "'a", "a=1",
            "", "'", "=", " =1", "#=1",
        ];
        for text in texts {
            let guarded = guarded(text);
            assert!(!guarded.starts_with(FORMULA), "{text:?}");
            assert_eq!(unguarded(&guarded), text);
        }
        assert_eq!(unguarded("'=1"), "=1");
        assert_eq!(unguarded("'a"), "'a");
    }
}
