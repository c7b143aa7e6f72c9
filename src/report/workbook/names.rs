//! Names of sheets.

/// Names of sheets: at most 31 characters, no two equal in upper or lower case.
#[derive(Default)]
pub struct Names {
    taken: Vec<String>,
}

/// A sheet's name is at most so long, in UTF-16 units.
const LONGEST_NAME: usize = 31;

impl Names {
    /// A name like `wanted` that no sheet has yet.
    pub fn take(&mut self, wanted: &str) -> String {
        let mut stem = String::new();
        for c in wanted.chars() {
            let bad = c.is_control() || "[]:*?/\\'".contains(c);
            stem.push(if bad { '-' } else { c });
        }
        let stem = match stem.trim() {
            "" => "supplier".to_owned(),
            stem if stem.eq_ignore_ascii_case("history") => format!("{stem}-"),
            stem => stem.to_owned(),
        };
        let mut name = shortened(&stem, LONGEST_NAME);
        let mut count = 1;
        while self.taken.contains(&name.to_lowercase()) {
            count += 1;
            let ending = format!("-{count}");
            name = shortened(&stem, LONGEST_NAME - ending.len()) + &ending;
        }
        self.taken.push(name.to_lowercase());
        name
    }
}

fn shortened(text: &str, units: usize) -> String {
    let mut left = units;
    text.chars()
        .take_while(|c| {
            let fits = c.len_utf16() <= left;
            left = left.saturating_sub(c.len_utf16());
            fits
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use rust_xlsxwriter::Worksheet;

    #[test]
    fn sheet_names_are_valid_and_distinct() {
        let mut names = Names::default();
        let long = "x".repeat(40);
        let emoji = "🔌".repeat(20);
        assert_eq!(names.take("totals"), "totals");
        let wanted = ["A/B", "a:b", "", "History", &long, &long, &emoji, "Totals"];
        let got = wanted.map(|name| names.take(name));
        assert_eq!(got[..4], ["A-B", "a-b-2", "supplier", "History-"]);
        assert_eq!(got[4], "x".repeat(31));
        assert_eq!(got[5], format!("{}-2", "x".repeat(29)));
        assert_eq!(got[6], "🔌".repeat(15));
        assert_eq!(got[7], "Totals-2");
        for name in &got {
            assert!(Worksheet::new().set_name(name).is_ok(), "{name}");
        }
    }
}
