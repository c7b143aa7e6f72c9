//! A recipe that is proposed.

use crate::desk::take::Draft;
use crate::lists::rows::Article;
use crate::report::table::{Column, Table};
use crate::report::wording::{counted, list, plain, wrapped};

/// So many articles show how a recipe reads a list.
const SAMPLE: usize = 10;

/// A proposed recipe: the first articles as it reads them, and what the list does not tell.
pub fn proposed(draft: &Draft, is_check: bool, width: usize) -> String {
    let path = plain(&draft.recipe.file);
    let wrote = if is_check {
        "would be written"
    } else {
        "is written"
    };
    let first = format!("there was no recipe for this supplier: {path} {wrote}");
    let second = format!(
        "by this recipe the list has {}, {} of ours; no price was taken",
        counted(articles(draft).count() as u64, "article"),
        draft.matched
    );
    let lines = [first, second].map(|line| wrapped(&line, width, "", "  "));
    let mut text = lines.join("\n") + "\n";
    let sample = sample(draft);
    if !sample.is_empty() {
        text.push_str(&format!(
            "\nThe first articles as the recipe reads them, prices of a piece\n{}",
            sample.text(width)
        ));
    }
    if !draft.remarks.is_empty() {
        text.push_str("\nLook these over in the recipe\n");
        for (key, remark) in &draft.remarks {
            text.push_str(&wrapped(
                &format!("- {key}: {}", plain(remark)),
                width,
                "",
                "  ",
            ));
            text.push('\n');
        }
    }
    text
}

/// The articles without titles.
fn articles(draft: &Draft) -> impl Iterator<Item = &Article> {
    draft.articles.iter().filter(|article| !article.is_title)
}

fn sample(draft: &Draft) -> Table {
    let mut table = Table::new(&[
        Column::number("row"),
        Column::text("article"),
        Column::text("description").detail(1),
        Column::text("prices"),
        Column::number("pack"),
        Column::number("stock"),
        Column::number("lead_days"),
        Column::text("not_understood"),
    ]);
    for one in articles(draft).take(SAMPLE) {
        let terms = &one.terms;
        let prices: Vec<String> = (terms.steps.iter())
            .map(|step| match step.min_qty {
                1 => step.price.to_string(),
                from => format!("{} from {from}", step.price),
            })
            .collect();
        let shown = |n: Option<u64>| n.map(|n| n.to_string()).unwrap_or_default();
        let number = if one.number.is_empty() {
            &one.own
        } else {
            &one.number
        };
        let troubles: Vec<String> = one.troubles.iter().map(|t| plain(&t.message)).collect();
        table.row(vec![
            one.row.to_string(),
            plain(number),
            plain(&one.description),
            prices.join(", "),
            shown(Some(terms.pack).filter(|pack| *pack > 1)),
            shown(terms.stock),
            shown(terms.lead_days.map(u64::from)),
            list(&troubles),
        ]);
    }
    table
}
