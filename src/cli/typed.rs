//! What is shown to be typed.

use std::path::Path;

/// A path as a shell takes it, so that what is shown can be typed. A path that looks like an
/// option is led by the folder.
pub fn typed(path: &Path) -> String {
    let text = path.display().to_string();
    let text = match text.starts_with('-') {
        true => format!("./{text}"),
        false => text,
    };
    let is_plain = |c: char| c.is_alphanumeric() || "_-./:@%+,=\\".contains(c);
    let is_plain = |c: char| is_plain(c) && (cfg!(windows) || c != '\\');
    match (
        !text.is_empty() && text.chars().all(is_plain),
        cfg!(windows),
    ) {
        (true, _) => text,
        (false, true) => format!("\"{text}\""),
        (false, false) => format!("'{}'", text.replace('\'', r"'\''")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn a_path_can_be_typed_as_it_is_shown() {
        for (path, shown) in [
            ("boat", "boat"),
            ("my/boat-2_a.b", "my/boat-2_a.b"),
            ("größe", "größe"),
            ("my boats/a b", "'my boats/a b'"),
            ("it's", r"'it'\''s'"),
            ("a$b", "'a$b'"),
            ("~x", "'~x'"),
            ("-x", "./-x"),
            ("", "''"),
        ] {
            assert_eq!(typed(Path::new(path)), shown);
        }
    }
}
