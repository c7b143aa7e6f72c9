//! The words of a change: quotes keep a name or a value together, semicolons part changes.

use crate::table::one_spelling;

/// A word as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Word {
    /// The word, without its quotes.
    pub text: String,
    /// True if any of it stood in quotes: then the word is a name or a value, never a word of
    /// the change itself.
    pub is_quoted: bool,
}

/// A quote that is not closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a quote is not closed")]
pub struct OpenQuote;

impl Word {
    /// True if this is the given word of a change, in any case.
    pub fn is(&self, word: &str) -> bool {
        !self.is_quoted && self.text.eq_ignore_ascii_case(word)
    }
}

/// The changes of a text, each as its words and as it was written. Changes without a word
/// are left out.
///
/// # Errors
/// [`OpenQuote`].
pub fn changes(text: &str) -> Result<Vec<(String, Vec<Word>)>, OpenQuote> {
    let mut all = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let (one, end) = change(rest)?;
        let written = rest.get(..end).unwrap_or(rest).trim().to_owned();
        if !one.is_empty() {
            all.push((written, one));
        }
        rest = rest.get(end + 1..).unwrap_or("");
    }
    Ok(all)
}

/// The name that stands before a text, with a colon after it: `thin: ambient 50` is the
/// name `thin` and the text `ambient 50`.
///
/// # Errors
/// [`OpenQuote`].
pub fn named(text: &str) -> Result<(Option<&str>, &str), OpenQuote> {
    let mut quote = None;
    for (at, c) in text.char_indices() {
        match (quote, c) {
            (None, '"' | '\'') => quote = Some(c),
            (Some(open), c) if c == open => quote = None,
            (None, ';') => return Ok((None, text)),
            (None, ':') if text[at + 1..].starts_with(char::is_whitespace) => {
                let name = text[..at].trim();
                let bare = |mark| name.strip_prefix(mark)?.strip_suffix(mark);
                let name = bare('"').or(bare('\'')).unwrap_or(name);
                return Ok((Some(name), text[at + 1..].trim_start()));
            }
            _ => {}
        }
    }
    match quote {
        Some(_) => Err(OpenQuote),
        None => Ok((None, text)),
    }
}

/// The words up to the first semicolon, and the byte that it stands at, or the length.
fn change(text: &str) -> Result<(Vec<Word>, usize), OpenQuote> {
    let mut words = Vec::new();
    let mut word: Option<Word> = None;
    let mut quote = None;
    let mut end = text.len();
    for (at, c) in text.char_indices() {
        let now = || Word {
            text: String::new(),
            is_quoted: false,
        };
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            (None, '"' | '\'') => {
                quote = Some(c);
                word.get_or_insert_with(now).is_quoted = true;
            }
            (None, ';') => {
                end = at;
                break;
            }
            (None, c) if c.is_whitespace() => words.extend(word.take()),
            (_, c) => word.get_or_insert_with(now).text.push(c),
        }
    }
    words.extend(word);
    match quote {
        Some(_) => Err(OpenQuote),
        None => Ok((words, end)),
    }
}

/// Words as one name or value in its one spelling, with a space between each two.
pub fn joined(words: &[Word]) -> String {
    let texts: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    one_spelling(&texts.join(" ")).into_owned()
}

/// A name as it has to be written in a change: in quotes where it has a space or a mark of
/// the changes in it.
pub fn quoted(name: &str) -> String {
    let is_plain = |c: char| !c.is_whitespace() && !matches!(c, '"' | '\'' | ';' | ':');
    match (
        !name.is_empty() && name.chars().all(is_plain),
        name.contains('"'),
    ) {
        (true, _) => name.to_owned(),
        (false, false) => format!("\"{name}\""),
        (false, true) => format!("'{name}'"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(text: &str) -> Vec<Vec<String>> {
        let all = changes(text).unwrap().into_iter();
        all.map(|(_, words)| words.into_iter().map(|word| word.text).collect())
            .collect()
    }

    #[test]
    fn quotes_keep_words_together_and_semicolons_part_changes() {
        assert_eq!(
            texts("circuit 'main pump' gauge \"25 mm2\"; ambient 50;"),
            [
                vec!["circuit", "main pump", "gauge", "25 mm2"],
                vec!["ambient", "50"]
            ]
        );
        assert_eq!(texts("net HV+ keys 'a;b'"), [["net", "HV+", "keys", "a;b"]]);
        assert_eq!(texts("branch \"\""), [["branch", ""]]);
        assert_eq!(texts(" ; ;"), Vec::<Vec<String>>::new());
        assert_eq!(changes("ambient '50"), Err(OpenQuote));
        let written = changes(" ambient  50 ;tax 5").unwrap();
        assert_eq!(written[0].0, "ambient  50");
        assert_eq!(written[1].0, "tax 5");
    }

    #[test]
    fn a_quoted_word_is_no_word_of_the_change() {
        let words = &changes("'At' at AT").unwrap()[0].1;
        assert_eq!(
            words.iter().map(|w| w.is("at")).collect::<Vec<_>>(),
            [false, true, true]
        );
    }

    #[test]
    fn a_name_stands_before_a_colon() {
        let name = |text| named(text).unwrap();
        assert_eq!(name("thin: ambient 50"), (Some("thin"), "ambient 50"));
        assert_eq!(name("'a b': ambient 50"), (Some("a b"), "ambient 50"));
        assert_eq!(name("ambient 50"), (None, "ambient 50"));
        assert_eq!(name("net a:b keys 1"), (None, "net a:b keys 1"));
        assert_eq!(
            name("circuit 'a: b' gauge 25"),
            (None, "circuit 'a: b' gauge 25")
        );
        assert_eq!(name("ambient 50; x: tax 5"), (None, "ambient 50; x: tax 5"));
        assert_eq!(named("'thin: ambient 50"), Err(OpenQuote));
    }

    #[test]
    fn a_name_is_written_so_that_it_reads_the_same() {
        for name in [
            "hub", "main hub", "HV+", "a;b", "don't", "2\" hose", "", "x: y",
        ] {
            let written = format!("without circuit {}", quoted(name));
            assert_eq!(texts(&written), [["without", "circuit", name]], "{written}");
        }
    }
}
