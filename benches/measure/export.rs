//! Projects and their plain programs as files, for other solvers.

use super::options::Options;
use crate::{generate, plain};
use couplet::fit::fit;
use couplet::input::{LoadOptions, load};
use couplet::solve::Program;
use serde_json::{Value, json};
use std::fs;
use std::path::Path;

/// Writes a project folder for each size and seed, with `plain.json` in it.
pub fn write(options: &Options, folder: &Path) -> Result<(), Box<dyn std::error::Error>> {
    for &size in &options.sizes {
        for seed in 1..=options.seeds {
            let project = folder.join(format!("{size}-{seed}"));
            generate::write_project(&project, seed, size as usize)?;
            let loaded = load(&project, &LoadOptions::default());
            let input = loaded.input.ok_or("the project has errors")?;
            let Ok(fit) = fit(&input) else {
                eprintln!("{}: an end has no set", project.display());
                continue;
            };
            let program = value(&plain::program(&input, &fit));
            let path = project.join("plain.json");
            fs::write(&path, serde_json::to_string(&program)?)?;
            println!("{}", path.display());
        }
    }
    Ok(())
}

/// `vars`: least, largest, whole, cost; `rows`: least, largest (null where there
/// is none), columns, factors. All of it is to be made least.
fn value(program: &Program) -> Value {
    let side = |value: f64| value.is_finite().then_some(value);
    let vars = program.vars.iter();
    let rows = program.rows.iter();
    json!({
        "vars": vars.map(|v| json!([v.lo, v.up, v.integer, v.cost])).collect::<Vec<_>>(),
        "rows": rows.map(|row| json!([
            side(row.lo),
            side(row.up),
            row.terms.iter().map(|(var, _)| var.0).collect::<Vec<_>>(),
            row.terms.iter().map(|(_, factor)| *factor).collect::<Vec<_>>(),
        ])).collect::<Vec<_>>(),
    })
}
