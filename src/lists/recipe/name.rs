//! The file name of a recipe.

use std::path::PathBuf;

/// The folder of the recipes, in the catalog folder.
pub const FOLDER: &str = "lists";

/// Longer names are cut: file systems take 255 bytes, and a letter may take four.
const LONGEST_NAME: usize = 50;

/// Names that some systems keep for devices.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com", "lpt"];

/// `lists/Example-North.toml`: the supplier's name with everything but letters, digits and
/// `_` replaced.
pub fn file_name(supplier: &str) -> PathBuf {
    let mut safe = String::new();
    for c in supplier.chars().take(LONGEST_NAME) {
        match c.is_alphanumeric() || c == '_' {
            true => safe.push(c),
            false if safe.is_empty() || safe.ends_with('-') => {}
            false => safe.push('-'),
        }
    }
    let safe = safe.trim_end_matches('-');
    let small = safe.to_lowercase();
    let device = small.trim_end_matches(|c: char| c.is_ascii_digit());
    let name = match safe {
        "" => "supplier.toml".to_owned(),
        _ if DEVICES.contains(&device) => format!("{safe}-.toml"),
        _ => format!("{safe}.toml"),
    };
    PathBuf::from(FOLDER).join(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_safe() {
        for (supplier, name) in [
            ("Example North", "lists/Example-North.toml"),
            ("../etc/x", "lists/etc-x.toml"),
            ("Öl & Söhne", "lists/Öl-Söhne.toml"),
            ("::", "lists/supplier.toml"),
            ("con", "lists/con-.toml"),
            ("COM1", "lists/COM1-.toml"),
            ("a/b\\c", "lists/a-b-c.toml"),
        ] {
            assert_eq!(file_name(supplier), PathBuf::from(name), "{supplier}");
        }
        let long = file_name(&"x".repeat(300));
        assert!(long.as_os_str().len() < 80);
    }
}
