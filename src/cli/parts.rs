//! `couplet parts`.

use super::args::{Format, Parts as Args};
use super::output::Terminal;
use super::record;
use couplet::catalog::{Catalog, Kind, PartId};
use couplet::input::load_catalog;
use couplet::report::diagnostics::Message;
use couplet::report::parts::{self, Asked, Condition, Filter};
use couplet::report::wording::list;
use couplet::source::Files;
use couplet::study::failure::Failure;
use std::collections::BTreeMap;

/// Shows the parts that are asked for.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let plan = match &args.used_by {
        Some(path) => Some(record::by_path(path, args.project.as_deref(), terminal)?),
        None => None,
    };
    let catalog = catalog(args, terminal)?;
    let uses = plan.as_ref().map(parts::uses);
    let asked = args
        .wheres
        .iter()
        .map(|condition| asked(&catalog, condition));
    let filter = Filter {
        kind: args.kind.as_deref().and_then(Kind::from_word),
        gauge: args.gauge,
        current: args.current,
        interface: args.interface.clone(),
        properties: asked.collect::<Result<_, _>>()?,
    };
    let mut wanted = parts::wanted(&catalog, &filter);
    if let Some(uses) = &uses {
        wanted.retain(|&id| uses.contains_key(&catalog.part(id).code));
        warn_of_unknown(uses, &catalog, terminal);
    }
    let text = text(
        args.format,
        &catalog,
        &wanted,
        uses.as_ref(),
        &filter,
        terminal,
    )?;
    terminal.print(&text)
}

/// What a condition asks of the parts of this catalog.
fn asked(catalog: &Catalog, condition: &Condition) -> Result<Asked, Failure> {
    Asked::new(catalog, condition).map_err(|error| {
        let help = error.help.clone();
        Failure::usage(error.to_string(), help)
    })
}

fn text(
    format: Format,
    catalog: &Catalog,
    wanted: &[PartId],
    uses: Option<&BTreeMap<String, Vec<String>>>,
    filter: &Filter,
    terminal: &Terminal,
) -> Result<String, Failure> {
    let table = || parts::table(catalog, wanted, uses, &filter.properties);
    Ok(match format {
        Format::Json => parts::json(catalog, wanted, uses).map_err(Failure::output)?,
        Format::Csv => table().csv().map_err(Failure::output)?,
        Format::Table => {
            let table = table().text(terminal.width);
            let summary = parts::summary(wanted.len(), catalog);
            if wanted.is_empty() {
                format!("{summary}\n")
            } else {
                format!("{table}\n{summary}\n")
            }
        }
    })
}

fn catalog(args: &Args, terminal: &Terminal) -> Result<Catalog, Failure> {
    let (catalog, findings) = match (&args.project, &args.catalog) {
        (Some(project), _) => {
            let desk = record::own(project);
            (
                desk.input().map(|i| i.catalog.clone()),
                desk.findings().clone(),
            )
        }
        (None, Some(folder)) => {
            let loaded = load_catalog(&Files::on_disk(), folder, None);
            (loaded.catalog, loaded.findings)
        }
        // The command line asks for a project or a catalog.
        (None, None) => (Some(Catalog::default()), Default::default()),
    };
    match catalog {
        Some(catalog) if !findings.has_errors() => {
            if !findings.is_empty() {
                let counts = couplet::report::diagnostics::summary(&findings);
                terminal.note(format!("{counts}: couplet check shows them"));
            }
            Ok(catalog)
        }
        _ => Err(Failure::Input(findings)),
    }
}

fn warn_of_unknown(uses: &BTreeMap<String, Vec<String>>, catalog: &Catalog, terminal: &Terminal) {
    let unknown: Vec<&String> = uses
        .keys()
        .filter(|code| catalog.find(code).is_none())
        .collect();
    if !unknown.is_empty() {
        terminal.warning(&Message {
            text: format!(
                "the plan fits {}, which the catalog does not have",
                list(&unknown)
            ),
            help: Some("run couplet plan again with this catalog".to_owned()),
            ..Message::default()
        });
    }
}
