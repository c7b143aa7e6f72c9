//! The chapter of the manual names every key of a recipe.

use couplet::lists::recipe::Field;
use std::path::Path;

#[test]
fn every_key_of_a_recipe_is_explained() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("manual/lists.md");
    let text = std::fs::read_to_string(path).unwrap();
    let columns = Field::ALL.map(|(_, key)| key);
    let others = [
        "supplier",
        "complete",
        "currency",
        "sheet",
        "encoding",
        "separator",
        "quotes",
        "decimal",
        "per",
        "words",
        "breaks",
        "least",
        "stock",
        "from",
        "from_column",
        "price",
        "discount",
        "unit",
        "from_stock",
        "after",
        "cell",
        "order",
        "column",
        "is",
        "begins",
        "has",
        "empty",
    ];
    for key in columns.iter().chain(&others) {
        assert!(text.contains(&format!("\n| `{key}` |")), "{key}");
    }
    for section in [
        "file", "columns", "price", "quantity", "lead", "stock", "date", "parts",
    ] {
        assert!(text.contains(&format!("[{section}]")), "{section}");
    }
}

/// The keys that are listed are those that the reader knows: an unknown key names them all.
#[test]
fn no_key_is_missing_in_that_test() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lists/recipe/read.rs");
    let text = std::fs::read_to_string(file).unwrap();
    let own = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(file!())).unwrap();
    for call in [
        "text(\"",
        "word(\"",
        "flag(\"",
        "count(\"",
        "currency(\"",
        "texts(\"",
    ] {
        for key in text
            .split(call)
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            assert!(own.contains(&format!("\"{key}\"")), "{key}");
        }
    }
}
