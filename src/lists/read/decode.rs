//! The text in the bytes of a file, in any encoding.

use crate::diag::Diagnostic;
use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use std::borrow::Cow;
use std::sync::Arc;

/// How the encoding of a file is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// By the mark at the beginning of the file, or because all of it is sound UTF-8.
    ByFile,
    /// By the recipe.
    ByRecipe,
    /// Guessed from which letters are frequent.
    Guessed,
}

/// A file as text.
#[derive(Debug)]
pub struct Decoded<'b> {
    pub text: Cow<'b, str>,
    /// Its encoding, by the name of the WHATWG Encoding Standard.
    pub encoding: &'static str,
    pub told: Told,
}

/// The encoding of this name; `UTF-8`, `windows-1252`, `latin1`: the labels of the
/// WHATWG Encoding Standard.
pub fn named_encoding(label: &str) -> Option<&'static Encoding> {
    Encoding::for_label_no_replacement(label.as_bytes())
}

/// Beginnings of files that are no text.
const NO_TEXT: [(&[u8], &str, &str); 4] = [
    (
        b"PK\x03\x04",
        "the file is an archive, perhaps a workbook, and no text",
        "if it is a workbook, let its name end with .xlsx or .ods",
    ),
    (
        &[0xd0, 0xcf, 0x11, 0xe0],
        "the file is an old workbook (.xls), or one with a password",
        "open it and save it as .xlsx, without a password",
    ),
    (
        b"%PDF",
        "the file is a PDF",
        "ask the supplier for a table: a workbook or a CSV file",
    ),
    (
        b"<!DOCTYPE",
        "the file is a page for a browser",
        "ask the supplier for a table: a workbook or a CSV file",
    ),
];

/// The text of a file. `named` is the encoding that the recipe names.
///
/// # Errors
/// A finding where the file is no text, or not in that encoding.
pub fn text<'b>(
    file: &Arc<str>,
    bytes: &'b [u8],
    named: Option<&'static Encoding>,
) -> Result<Decoded<'b>, Box<Diagnostic>> {
    for (begin, what, cure) in NO_TEXT {
        if bytes.starts_with(begin) {
            return Err(Box::new(Diagnostic::error(file, what).help(cure)));
        }
    }
    if let Some(told) = named.and_then(|named| told_otherwise(bytes, named)) {
        return Err(Box::new(other(file, told.1, told.0)));
    }
    let (encoding, told, body) = encoding_of(bytes, named);
    let decoded = encoding.decode_without_bom_handling_and_without_replacement(body);
    let name = encoding.name();
    match decoded {
        Some(text) => Ok(Decoded {
            text,
            encoding: name,
            told,
        }),
        None => Err(Box::new(broken(file, name, told))),
    }
}

/// The encoding that a file without a mark shows, where the recipe names another: the file
/// would be read without an error, and wrongly.
fn told_otherwise(
    bytes: &[u8],
    named: &'static Encoding,
) -> Option<(&'static Encoding, &'static Encoding)> {
    if Encoding::for_bom(bytes).is_some() {
        return None;
    }
    // Letters beyond ASCII are sound UTF-8 by chance only in the shortest of files.
    let is_utf8 = || !bytes.is_ascii() && std::str::from_utf8(bytes).is_ok();
    let shown = sixteen_bits(bytes).or_else(|| is_utf8().then_some(UTF_8))?;
    (shown != named).then_some((shown, named))
}

fn other(file: &Arc<str>, named: &'static Encoding, shown: &'static Encoding) -> Diagnostic {
    let (shown, named) = (shown.name(), named.name());
    let message = format!("the file is in {shown}, but the recipe says {named}");
    Diagnostic::error(file, message)
        .help("take encoding out of the recipe: then the file tells it, or it is guessed")
}

fn broken(file: &Arc<str>, name: &str, told: Told) -> Diagnostic {
    let message = format!("the file is not in {name}: some of its bytes stand for no letter there");
    let help = match told {
        Told::ByFile => "ask the supplier for the file once more; it may have been cut or changed",
        Told::ByRecipe => {
            "take encoding out of the recipe: then the file tells it, or it is guessed"
        }
        Told::Guessed => "name the encoding in the recipe, such as encoding = \"windows-1252\"",
    };
    Diagnostic::error(file, message).help(help)
}

/// The encoding, how it is known, and the bytes without a mark.
fn encoding_of<'b>(
    bytes: &'b [u8],
    named: Option<&'static Encoding>,
) -> (&'static Encoding, Told, &'b [u8]) {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        return (
            encoding,
            Told::ByFile,
            bytes.get(mark..).unwrap_or_default(),
        );
    }
    if let Some(named) = named {
        return (named, Told::ByRecipe, bytes);
    }
    if let Some(wide) = sixteen_bits(bytes) {
        return (wide, Told::ByFile, bytes);
    }
    if std::str::from_utf8(bytes).is_ok() {
        return (UTF_8, Told::ByFile, bytes);
    }
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    let guess = detector.guess(None, Utf8Detection::Deny);
    (guess, Told::Guessed, bytes)
}

/// UTF-16 without a mark: nearly every second byte is nothing.
fn sixteen_bits(bytes: &[u8]) -> Option<&'static Encoding> {
    const LOOKED_AT: usize = 4_096;
    let head = bytes.get(..LOOKED_AT).unwrap_or(bytes);
    let nothing = |from: usize| {
        head.iter()
            .skip(from)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (first, second) = (nothing(0), nothing(1));
    let most = head.len() / 2;
    if most < 2 || bytes.len() % 2 == 1 {
        return None;
    }
    if second * 4 > most * 3 && first * 8 < most {
        return Some(UTF_16LE);
    }
    (first * 4 > most * 3 && second * 8 < most).then_some(UTF_16BE)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(bytes: &[u8], named: Option<&str>) -> Result<(String, &'static str, Told), String> {
        let named = named.and_then(named_encoding);
        match text(&"list.csv".into(), bytes, named) {
            Ok(d) => Ok((d.text.into_owned(), d.encoding, d.told)),
            Err(error) => Err(error.message),
        }
    }

    fn wide(text: &str) -> Vec<u8> {
        text.encode_utf16().flat_map(u16::to_le_bytes).collect()
    }

    #[test]
    fn marks_and_sound_utf8_tell_the_encoding() {
        let is = |bytes: &[u8], encoding: &str| {
            let (text, name, told) = read(bytes, None).unwrap();
            assert_eq!(
                (text.as_str(), name, told),
                ("für;1", encoding, Told::ByFile)
            );
        };
        is("für;1".as_bytes(), "UTF-8");
        is(b"\xef\xbb\xbff\xc3\xbcr;1", "UTF-8");
        is(&[&[0xff, 0xfe][..], &wide("für;1")].concat(), "UTF-16LE");
        is(&wide("für;1"), "UTF-16LE");
        let big: Vec<u8> = "für;1".encode_utf16().flat_map(u16::to_be_bytes).collect();
        is(&[&[0xfe, 0xff][..], &big].concat(), "UTF-16BE");
        is(&big, "UTF-16BE");
    }

    #[test]
    fn other_encodings_are_named_or_guessed() {
        let bytes = "Stückpreis für Stecker; Größe\n".repeat(3);
        let (old, _, _) = encoding_rs::WINDOWS_1252.encode(&bytes);
        let guessed = read(&old, None).unwrap();
        assert_eq!(guessed, (bytes.clone(), "windows-1252", Told::Guessed));
        let named = read(&old, Some("latin1")).unwrap();
        assert_eq!(named, (bytes, "windows-1252", Told::ByRecipe));
        // A mark is surer than the recipe.
        let marked = read(b"\xef\xbb\xbf\xc3\xbc", Some("latin1")).unwrap();
        assert_eq!(marked.0, "ü");
    }

    #[test]
    fn another_encoding_than_the_recipe_names_is_told() {
        let told = |bytes: &[u8], named| read(bytes, Some(named)).map(|(text, ..)| text);
        let error = |shown: &str, named: &str| {
            let message = format!("the file is in {shown}, but the recipe says {named}");
            Err(message)
        };
        let sound = "für;1".as_bytes();
        assert_eq!(told(sound, "latin1"), error("UTF-8", "windows-1252"));
        assert_eq!(told(sound, "utf-8"), Ok("für;1".to_owned()));
        assert_eq!(
            told(&wide("für;1"), "latin1"),
            error("UTF-16LE", "windows-1252")
        );
        assert_eq!(told(&wide("für;1"), "utf-16le"), Ok("für;1".to_owned()));
        // In ASCII alone, both are the same; the other way round bytes are broken.
        assert_eq!(told(b"fur;1", "latin1"), Ok("fur;1".to_owned()));
        assert_eq!(told(b"f\xfcr;1", "latin1"), Ok("für;1".to_owned()));
        assert!(
            told(b"f\xfcr;1", "utf-8")
                .unwrap_err()
                .contains("not in UTF-8")
        );
    }

    #[test]
    fn broken_bytes_and_other_files_are_told() {
        assert!(
            read(b"\xef\xbb\xbf\xff", None)
                .unwrap_err()
                .contains("not in UTF-8")
        );
        assert!(
            read(&[0xff, 0xfe, 0x00, 0xd8], None)
                .unwrap_err()
                .contains("not in UTF-16LE")
        );
        assert!(
            read(b"a\xff", Some("utf-8"))
                .unwrap_err()
                .contains("not in UTF-8")
        );
        assert!(
            read(b"PK\x03\x04...", None)
                .unwrap_err()
                .contains("archive")
        );
        assert!(read(b"%PDF-1.7", None).unwrap_err().contains("PDF"));
        assert_eq!(named_encoding("nonsense"), None);
    }
}
