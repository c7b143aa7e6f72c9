//! Plans side by side, as a page.

use super::{Frame, Grid, PageError};
use crate::report::compare::tables;
use crate::report::difference::SAME;
use crate::report::wording::{list, plain};
use crate::study::compare::Compared;
use askama::Template;

#[derive(Template)]
#[template(path = "compare.html")]
struct ComparePage {
    frame: Frame,
    summary: String,
    grids: Vec<Grid>,
}

/// A page with what differs between plans.
///
/// # Errors
/// The error of the template; in memory there is none.
pub fn compare(compared: &Compared) -> Result<String, PageError> {
    let project = compared.plans.first().map_or("", |(_, plan)| &plan.project);
    let names: Vec<String> = compared.plans.iter().map(|(name, _)| plain(name)).collect();
    let (same, others): (Vec<_>, Vec<_>) = { names.iter().skip(1) }
        .zip(&compared.differences)
        .partition(|(_, one)| one.is_nothing());
    let same: Vec<String> = same.into_iter().map(|(name, _)| name.clone()).collect();
    let mut summary = format!("{}: what differs from the first", list(&names));
    if others.is_empty() && same.len() == 1 {
        summary = SAME.to_owned();
    } else if !same.is_empty() {
        summary.push_str(&format!("; nothing differs in {}", list(&same)));
    }
    let tables = tables(compared).into_iter().enumerate();
    let page = ComparePage {
        frame: Frame::new("Plans side by side", project, &[]),
        summary,
        grids: tables
            .filter(|(_, (_, table))| !table.is_empty())
            .map(|(at, (caption, table))| Grid::new(format!("table-{at}"), caption, &table))
            .collect(),
    };
    page.render()
}
