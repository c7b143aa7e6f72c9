//! The arguments of every command; help, completions and man pages come from here.

use super::examples;
use super::glue::Instead;
use clap::builder::PossibleValuesParser;
use clap::{ArgGroup, Parser, Subcommand, ValueEnum, ValueHint};
use couplet::catalog::Kind;
use couplet::units::{Ampere, Gauge};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::path::PathBuf;
use std::time::Duration;

/// Plans what to buy for the cable ends of a high-voltage DC conversion.
///
/// From a list of circuits and a catalog that you keep, it picks the cheapest
/// compatible set of connector halves, ferrules, seals and back shells for all
/// circuits at once, proves that it is the cheapest, and writes the orders. It
/// opens no network connection.
#[derive(Debug, Parser)]
#[command(name = "couplet", version, max_term_width = 100, after_help = examples::MAIN)]
pub struct Args {
    #[command(subcommand)]
    pub command: Command,
    /// When to colour messages; NO_COLOR is respected
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    pub color: Color,
    /// Show neither warnings nor progress
    #[arg(long, short, global = true)]
    pub quiet: bool,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read and check a project and its catalog
    Check(Check),
    /// Find the cheapest compatible set for all circuits
    Plan(Plan),
    /// Show or write the orders of a plan, one a supplier
    Order(Order),
    /// Show the parts of a catalog with their prices
    Parts(Parts),
    /// Write a small project and catalog to start from
    New(New),
    /// Print shell completions
    Completions(Completions),
    /// Print the man page, or write one for each command
    Man(Man),
    /// Turn CSV files into a workbook, or a workbook into CSV files
    Convert(Convert),
}

/// Reads all files of a project and of its catalog and shows every error and
/// warning with file, line, column and what to change.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::CHECK)]
pub struct Check {
    /// Project folder
    #[arg(value_hint = ValueHint::DirPath)]
    pub project: PathBuf,
    /// How to show the findings
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    #[command(flatten)]
    pub read: Read,
}

/// Finds the cheapest compatible set for all circuits, checks it again, keeps
/// it as plan.json in the project folder and shows it.
///
/// The exit status is 0 for a plan, 1 if the input has errors, 2 for a wrong
/// command line, 3 if no compatible set exists, 4 if the time ran out before
/// any plan was found, 5 if the program found its own answer wrong.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::PLAN)]
pub struct Plan {
    /// Project folder
    #[arg(value_hint = ValueHint::DirPath)]
    pub project: PathBuf,
    /// Where to keep the record, in place of plan.json in the project folder;
    /// - prints the record alone and keeps nothing
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
    /// Stop after so many seconds with the best plan so far
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub time_limit: Option<Duration>,
    /// Stop when the plan is proven to be within so many percent of the cheapest
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    pub gap: Option<f64>,
    /// How many threads to use
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1024))]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub read: Read,
    /// How to show it: table, json (the record) or csv (the order lines)
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Shows the orders of a plan, one a supplier, or writes each as a CSV file.
///
/// In CSV, a text that a spreadsheet would run as a formula gets an apostrophe
/// before it.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::ORDER)]
pub struct Order {
    /// Project folder
    #[arg(value_hint = ValueHint::DirPath)]
    pub project: PathBuf,
    /// The record, in place of plan.json in the project folder
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub plan: Option<PathBuf>,
    /// Write one CSV file for each supplier into this folder
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath, conflicts_with = "format")]
    pub out_dir: Option<PathBuf>,
    /// How to show them
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// Write one workbook: a sheet for each supplier, one of the circuits, one of the totals
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath,
          conflicts_with_all = ["format", "out_dir"])]
    pub xlsx: Option<PathBuf>,
}

/// Shows the parts of a catalog: what each is, what it takes, who sells it.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::PARTS)]
#[command(group(ArgGroup::new("source").args(["project", "catalog"]).required(true)))]
pub struct Parts {
    /// Project folder, for its catalog and prices
    #[arg(value_hint = ValueHint::DirPath)]
    pub project: Option<PathBuf>,
    /// Catalog folder
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub catalog: Option<PathBuf>,
    /// Of this kind alone
    #[arg(long, value_parser = PossibleValuesParser::new(Kind::ALL.map(Kind::word)))]
    pub kind: Option<String>,
    /// What can go on a cable of this gauge, such as "70 mm2" or "2/0 AWG"
    #[arg(long, value_parser = gauge)]
    pub gauge: Option<Gauge>,
    /// Bodies rated for at least so many ampere, and what goes on them
    #[arg(long, value_name = "A", value_parser = current)]
    pub current: Option<Ampere>,
    /// Bodies of this mating face, and what goes on them
    #[arg(long)]
    pub interface: Option<String>,
    /// The parts of this plan record alone, with the ends where each goes
    #[arg(long, value_name = "PLAN", value_hint = ValueHint::FilePath)]
    pub used_by: Option<PathBuf>,
    /// How to show them
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Writes a small project with its catalog, with comments that say what each
/// column means. Its data is invented; it plans at once.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::NEW)]
pub struct New {
    /// A folder that is empty or does not exist yet
    #[arg(value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

/// Prints the completions for a shell.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::COMPLETIONS)]
pub struct Completions {
    /// Which shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// Prints the man page of the program, or writes one for each command.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::MAN)]
pub struct Man {
    /// Write the pages into this folder
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub out_dir: Option<PathBuf>,
}

/// Turns the CSV files of a folder into a workbook, a sheet for each, or the
/// sheets of a workbook (.xlsx or .ods) into CSV files.
///
/// No cell loses anything: numbers keep their decimals, comments and empty
/// lines their places. A text that a spreadsheet would run as a formula is
/// stored as text; in CSV it gets an apostrophe before it, which is no part of it.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::CONVERT)]
pub struct Convert {
    /// A folder with CSV files, or a workbook
    #[arg(value_hint = ValueHint::AnyPath)]
    pub from: PathBuf,
    /// A workbook (.xlsx) to write, or a folder for CSV files
    #[arg(value_hint = ValueHint::AnyPath)]
    pub to: PathBuf,
    /// Replace files that are there
    #[arg(long)]
    pub force: bool,
}

/// What is read in place of what the project says.
#[derive(Debug, clap::Args)]
pub struct Read {
    /// Price list in place of the project's
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub prices: Option<PathBuf>,
    /// The day of the plan, such as 2025-03-31, in place of that of the newest quote
    #[arg(long, value_name = "DATE")]
    pub as_of: Option<Date>,
}

impl From<&Read> for Instead {
    fn from(read: &Read) -> Self {
        Self {
            prices: read.prices.clone(),
            as_of: read.as_of,
        }
    }
}

/// How to show a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For reading
    Table,
    /// For a spreadsheet
    Csv,
    /// For a program
    Json,
}

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Color {
    /// Where the stream is a terminal
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

impl Color {
    /// For all streams from now on.
    pub fn apply(self) {
        match self {
            Color::Auto => anstream::ColorChoice::Auto,
            Color::Always => anstream::ColorChoice::Always,
            Color::Never => anstream::ColorChoice::Never,
        }
        .write_global();
    }
}

fn seconds(text: &str) -> Result<Duration, String> {
    let seconds: f64 = text.parse().map_err(|_| "no number of seconds")?;
    Duration::try_from_secs_f64(seconds)
        .ok()
        .filter(|limit| !limit.is_zero())
        .ok_or_else(|| "no time above zero".to_owned())
}

fn percent(text: &str) -> Result<f64, String> {
    let percent: f64 = text.parse().map_err(|_| "no number")?;
    (0.0..=100.0)
        .contains(&percent)
        .then_some(percent)
        .ok_or_else(|| "not between 0 and 100".to_owned())
}

fn gauge(text: &str) -> Result<Gauge, String> {
    text.parse()
        .map_err(|error| format!("{error}; write it as \"70 mm2\" or \"2/0 AWG\""))
}

fn current(text: &str) -> Result<Ampere, String> {
    let ampere = Decimal::from_str_exact(text.trim()).map_err(|_| "no number of ampere")?;
    (ampere >= Decimal::ZERO)
        .then_some(Ampere(ampere))
        .ok_or_else(|| "below zero".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definitions_hold() {
        use clap::CommandFactory;
        Args::command().debug_assert();
    }

    #[test]
    fn numbers_on_both_sides_of_their_edges() {
        assert!(seconds("0.001").is_ok());
        for bad in ["0", "-1", "NaN", "inf", "1e30", "x", ""] {
            assert!(seconds(bad).is_err(), "{bad}");
        }
        assert!(percent("0").is_ok() && percent("100").is_ok());
        for bad in ["-0.1", "100.1", "NaN", "x"] {
            assert!(percent(bad).is_err(), "{bad}");
        }
        assert!(current("0").is_ok() && current("12.5").is_ok());
        assert!(current("-1").is_err() && current("12 A").is_err());
        assert!(gauge("70 mm2").is_ok());
        assert!(gauge("70").unwrap_err().contains("could be mm² or AWG"));
    }
}
