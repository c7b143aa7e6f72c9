//! The file name of a recipe.

use super::Purpose;
use std::path::PathBuf;

/// The folder of the recipes, in the catalog folder.
pub const FOLDER: &str = "lists";

/// Longer names are cut: file systems take 255 bytes, and a letter may take four.
const LONGEST_NAME: usize = 50;

/// Names that some systems keep for devices.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com", "lpt"];

/// `lists/Example-North.toml`: the supplier's name with everything but letters, digits and
/// `_` replaced. The recipe of delivery notes is `lists/Example-North.delivery.toml`.
pub fn file_name(supplier: &str, purpose: Purpose) -> PathBuf {
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
        "" => "supplier".to_owned(),
        _ if DEVICES.contains(&device) => format!("{safe}-"),
        _ => safe.to_owned(),
    };
    PathBuf::from(FOLDER).join(format!("{name}{}.toml", purpose.mark()))
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
            let is = file_name(supplier, Purpose::Prices);
            assert_eq!(is, PathBuf::from(name), "{supplier}");
        }
        for (purpose, name) in [
            (Purpose::Delivery, "lists/con-.delivery.toml"),
            (Purpose::Confirmation, "lists/con-.confirmation.toml"),
        ] {
            assert_eq!(file_name("con", purpose), PathBuf::from(name));
        }
        let long = file_name(&"x".repeat(300), Purpose::Confirmation);
        assert!(long.as_os_str().len() < 80);
    }
}
