//! A recipe that is proposed for a delivery note or a confirmation.

use crate::desk::letter::Draft;
use crate::lists::recipe::Purpose;
use crate::report::table::{Column, Table};
use crate::report::wording::{counted, list, plain, wrapped};

/// So many lines show how a recipe reads a file.
const SAMPLE: usize = 10;

/// A proposed recipe: the first lines as it reads them, and what the file does not tell.
pub fn proposed(draft: &Draft, is_check: bool, width: usize) -> String {
    let path = plain(&draft.recipe.file);
    let (wrote, done) = match (is_check, draft.recipe.purpose) {
        (true, _) => ("would be written", ""),
        (false, Purpose::Confirmation) => ("is written", "; nothing was compared"),
        (false, _) => ("is written", "; nothing was booked"),
    };
    let papers = draft.recipe.purpose.papers();
    let first = format!("there was no recipe for {papers} of this supplier: {path} {wrote}");
    let second = format!(
        "by this recipe the file has {}, {} of ours{done}",
        counted(draft.lines.len() as u64, "line"),
        draft.matched
    );
    let lines = [first, second].map(|line| wrapped(&line, width, "", "  "));
    let mut text = lines.join("\n") + "\n";
    let sample = sample(draft);
    if !sample.is_empty() {
        let shown = sample.text(width);
        text.push_str(&format!(
            "\nThe first lines as the recipe reads them, in pieces\n{shown}"
        ));
    }
    if !draft.remarks.is_empty() {
        text.push_str("\nLook these over in the recipe\n");
        for (key, remark) in &draft.remarks {
            let remark = format!("- {key}: {}", plain(remark));
            text.push_str(&wrapped(&remark, width, "", "  "));
            text.push('\n');
        }
    }
    text
}

fn sample(draft: &Draft) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("description").detail(1),
        Column::number("pieces"),
        Column::number("price"),
        Column::text("day"),
        Column::text("not_understood"),
    ]);
    for line in draft.lines.iter().take(SAMPLE) {
        let troubles: Vec<String> = line.troubles.iter().map(|t| plain(&t.message)).collect();
        let day = line.day.map(|day| day.to_string());
        let lead = line
            .lead_days
            .map(|days| format!("after {}", counted(days.into(), "day")));
        table.row(vec![
            line.row.to_string(),
            plain(line.article()),
            plain(&line.description),
            line.pieces.map(|n| n.to_string()).unwrap_or_default(),
            line.price
                .map(|price| price.to_string())
                .unwrap_or_default(),
            day.or(lead).unwrap_or_default(),
            list(&troubles),
        ]);
    }
    table
}
