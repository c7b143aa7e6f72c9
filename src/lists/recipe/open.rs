//! Opens the recipe of a supplier, where there is one.

use super::{MAX_BYTES, Purpose, Recipe, read};
use crate::diag::{Diagnostic, Findings, quote};
use crate::source::Files;
use std::path::Path;

/// The recipe in a file, which has to be that of the supplier; none where there is no file.
///
/// # Errors
/// All that is wrong with the recipe.
pub fn open(
    files: &Files,
    path: &Path,
    supplier: &str,
    purpose: Purpose,
) -> Result<Option<Recipe>, Findings> {
    if !files.is_there(path) {
        return Ok(None);
    }
    let mut findings = Findings::default();
    let source = files.read_up_to(path, MAX_BYTES, &mut findings);
    let recipe = source.and_then(|source| read(&source, purpose, &mut findings));
    let recipe = recipe.ok_or(findings)?;
    match recipe.supplier == supplier {
        true => Ok(Some(recipe)),
        false => Err(of_other(&recipe, supplier)),
    }
}

/// Two suppliers can have names that make one file name.
fn of_other(recipe: &Recipe, supplier: &str) -> Findings {
    let message = format!(
        "the recipe is for {}, not for {}",
        quote(&recipe.supplier),
        quote(supplier)
    );
    let error = Diagnostic::error(&recipe.file, message)
        .line(recipe.supplier_line)
        .column("supplier");
    let mut findings = Findings::default();
    findings.push(error.help("correct the name in the recipe, or in suppliers.csv"));
    findings
}
