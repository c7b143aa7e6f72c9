//! `couplet check`.

use super::args::{Check, Format};
use super::output::Terminal;
use super::record;
use couplet::diag::Findings;
use couplet::report::{check, diagnostics};
use couplet::study::failure::Failure;

/// Shows all findings and what was read.
pub fn run(args: &Check, terminal: &Terminal) -> Result<(), Failure> {
    let desk = record::now(&args.project, &args.read);
    let findings = &desk.all_findings();
    let counts = diagnostics::summary(findings);
    let summary = match desk.input() {
        Some(input) => format!("{}: {counts}\n", check::summary(input)),
        None => format!("{counts}\n"),
    };
    match args.format {
        Format::Table => {
            terminal.findings(findings);
            terminal.print(&summary)?;
        }
        format => {
            terminal.print(&data(findings, format)?)?;
            if !terminal.is_quiet {
                terminal.say(&summary);
            }
        }
    }
    if findings.has_errors() {
        return Err(Failure::Shown);
    }
    Ok(())
}

fn data(findings: &Findings, format: Format) -> Result<String, Failure> {
    match format {
        Format::Json => diagnostics::json(findings).map_err(Failure::output),
        _ => diagnostics::table(findings).csv().map_err(Failure::output),
    }
}
