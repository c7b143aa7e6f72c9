//! The arguments of every command; help, completions and man pages come from here.

use super::examples;
use super::forms;
use super::values::{
    Until, condition, copy, current, date, gauge, most, name, percent, pieces, rise, seconds,
    threads, until,
};
use clap::builder::PossibleValuesParser;
use clap::{ArgGroup, Parser, Subcommand, ValueEnum, ValueHint};
use couplet::catalog::Kind;
use couplet::report::parts::Condition;
use couplet::units::{Ampere, Gauge};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::ffi::OsString;
use std::path::PathBuf;
use std::time::Duration;

/// The current folder, where no project is named.
pub const HERE: &str = ".";

/// How `couplet take` is written: of three words the first may be left out.
pub const TAKE_USAGE: &str = "couplet take [OPTIONS] [CATALOG|PROJECT] <SUPPLIER> <FILE>";

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
    /// Show neither warnings nor progress, whatever --progress says
    #[arg(long, short, global = true)]
    pub quiet: bool,
}

/// What the list of commands and the help of each say is the comment on its
/// arguments: the first paragraph in the list, all of it in the help.
#[derive(Debug, Subcommand)]
pub enum Command {
    New(New),
    Check(Check),
    Convert(Convert),
    Plan(Plan),
    Parts(Parts),
    Keys(Keys),
    Why(Why),
    Consolidate(Consolidate),
    Budget(Budget),
    Breakeven(Breakeven),
    Trial(Trial),
    Compare(Compare),
    Prices(Prices),
    Take(Take),
    Reprice(Reprice),
    Order(Order),
    Receive(Receive),
    Report(Report),
    Kit(Kit),
    Cards(Cards),
    Labels(Labels),
    Completions(Completions),
    Man(Man),
    Schema(Schema),
}

impl Command {
    /// How progress is to be told, where the command has any and it is said.
    pub fn progress(&self) -> Option<Progress> {
        match self {
            Command::Plan(args) => args.told.progress,
            Command::Why(args) => args.told.progress,
            Command::Reprice(args) => args.told.progress,
            Command::Consolidate(args) => args.work.told.progress,
            Command::Budget(args) => args.work.told.progress,
            Command::Breakeven(args) => args.work.told.progress,
            Command::Trial(args) => args.told.progress,
            Command::Report(args) => args.told.progress,
            _ => None,
        }
    }
}

/// Read and check a project and its catalog
///
/// Shows every error and warning of all files in one run, each with file, line,
/// column and what to change.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::CHECK)]
pub struct Check {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// How to show the findings
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    #[command(flatten)]
    pub read: Read,
}

/// Find the cheapest compatible set for all circuits
///
/// The command checks the plan again, keeps the plan as plan.json in the project
/// folder, and shows the plan. A record that was made from the same files stands:
/// then the command shows that record and searches nothing.
///
/// The search ends once the plan is proven cheapest, and by itself after 60 seconds.
/// Then the plan is kept, and the first line says how far the plan may be from the
/// cheapest. The same command again goes on from there.
///
/// Ctrl-C stops the search at once. The command shows and keeps the best plan so far,
/// unless --no-keep is given; the exit status is 130. A second Ctrl-C ends the command.
///
/// The exit status is 0 for a plan, 1 if the input has errors, 2 for a wrong
/// command line, 3 if no compatible set exists, 4 if the time ran out before
/// any plan was found, 5 if the program found its own answer wrong.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::PLAN)]
pub struct Plan {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// File for the record, in place of plan.json in the project folder; - prints the
    /// record alone and keeps nothing
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
    /// Stop after so many seconds with the best plan so far; none searches to the end
    #[arg(long, value_name = "SECONDS", value_parser = until)]
    pub time_limit: Option<Until>,
    /// Stop when the plan is proven to be within so many percent of the cheapest
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    pub gap: Option<f64>,
    /// How many threads to use; as many as there are cores unless said otherwise
    #[arg(long, value_name = "N", value_parser = threads)]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub told: Told,
    #[command(flatten)]
    pub read: Read,
    /// Search even if nothing changed since the record was made; use nothing of the record
    #[arg(long)]
    pub again: bool,
    /// When stopped by Ctrl-C, keep nothing
    #[arg(long)]
    pub no_keep: bool,
    /// Form of the plan: table, json (the record) or csv (the order lines)
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Show or write the orders of a plan, one for each supplier
///
/// In CSV, a text that a spreadsheet would run as a formula begins with an
/// apostrophe.
///
/// With --outstanding, the command shows what was ordered and has not come, and what of
/// it is late. With --confirm, the command holds a supplier's confirmation against what
/// is outstanding. Where nothing is outstanding, the confirmation is held against the order of the plan. The exit
/// status is 6 if something differs. Neither writes anything but a first recipe.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::ORDER)]
#[command(group(ArgGroup::new("step").args(["place", "outstanding", "confirm"])))]
pub struct Order {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// The record, in place of plan.json in the project folder
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub plan: Option<PathBuf>,
    /// Write one CSV file for each supplier into this folder
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath, conflicts_with = "format")]
    pub out_dir: Option<PathBuf>,
    /// How to show the orders
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// Write one workbook: a sheet for each supplier, one of the circuits, one of the totals;
    /// - sends the workbook on
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath,
          conflicts_with = "format")]
    pub xlsx: Option<PathBuf>,
    /// Add the order lines to ordered.csv, and the crimp dies to buy to
    /// dies_ordered.csv: from now on the lines and the dies count as ordered and paid
    #[arg(long, conflicts_with_all = ["out_dir", "format", "xlsx"])]
    pub place: bool,
    /// Show what was ordered and has not come, from all suppliers or those that are named;
    /// no plan is needed
    #[arg(long, conflicts_with_all = ["out_dir", "xlsx", "plan"])]
    pub outstanding: bool,
    /// Hold a supplier's confirmation against the order: our own order as a CSV file, or
    /// the supplier's file by the recipe lists/SUPPLIER.confirmation.toml in the catalog
    /// folder, which the first run writes
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath,
          conflicts_with_all = ["out_dir", "xlsx"])]
    pub confirm: Option<PathBuf>,
    /// Place the order to this supplier alone, or show what is outstanding from this
    /// supplier; may be given several times. Dies go with the first order that is placed.
    /// Of a confirmation: whom it is from
    #[arg(long, value_name = "NAME", requires = "step", value_parser = name)]
    pub supplier: Vec<String>,
    /// The day of the order, such as 2025-03-31, in place of today. Of a confirmation: the
    /// day of the order that it is about
    #[arg(
        long,
        value_name = "DATE",
        requires = "step",
        conflicts_with = "outstanding",
        value_parser = date
    )]
    pub on: Option<Date>,
    /// The day that decides what is late, such as 2025-03-31, in place of today
    #[arg(long, value_name = "DATE", requires = "outstanding", value_parser = date)]
    pub as_of: Option<Date>,
    /// Show what would be placed and write nothing
    #[arg(long, requires = "place")]
    pub dry_run: bool,
}

/// Compare two price lists, or show how prices changed over time
///
/// The comparison shows what costs more or less, what is new or gone, and where
/// price breaks, packs, stock or lead times moved. With a plan, the comparison also
/// shows what the changes cost for the quantities that the plan orders.
///
/// With --history, the command shows the prices that changed so far in the price list
/// of a catalog or a project. These prices stand in history.csv beside the price list, where
/// take notes them.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::PRICES)]
pub struct Prices {
    /// The old list, a CSV file or a workbook with a sheet prices; with --history a catalog
    /// or project folder, left out: the current folder, if project.toml is there
    #[arg(value_name = "OLD|PROJECT", required_unless_present = "history")]
    #[arg(value_hint = ValueHint::AnyPath)]
    pub old: Option<PathBuf>,
    /// The new list, likewise
    #[arg(value_hint = ValueHint::FilePath, required_unless_present = "history")]
    pub new: Option<PathBuf>,
    /// A plan record, or a project folder with its plan.json
    #[arg(long, value_name = "FILE|PROJECT", value_hint = ValueHint::AnyPath)]
    pub plan: Option<PathBuf>,
    /// Show how prices changed over time
    #[arg(long, conflicts_with_all = ["new", "plan"])]
    pub history: bool,
    /// The prices of this part alone
    #[arg(long, requires = "history", conflicts_with = "new", value_parser = name)]
    pub part: Option<String>,
    /// Write a picture of the prices of a part over time; - prints the picture alone
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    #[arg(requires_all = ["history", "part"], conflicts_with = "new")]
    pub svg: Option<PathBuf>,
    /// How to show the prices
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Take a supplier's price list into prices.csv
///
/// The list may be a CSV file in any encoding or a workbook, in the supplier's own
/// form. A recipe says which column is what: lists/SUPPLIER.toml in the catalog
/// folder. Where there is no recipe yet, the command writes one for you to look over,
/// and takes no price.
///
/// The command replaces the rows of this supplier in prices.csv and no others. If
/// project.toml names a price list, that list is changed. The command shows which
/// prices changed, which articles are new or gone, and what it could not match or
/// understand, each with its row. If a row of one of your parts is not understood,
/// nothing is written and the exit status is 1. The exit status is 6 if --check finds that
/// something would change.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::TAKE, override_usage = TAKE_USAGE)]
pub struct Take {
    /// Catalog folder, or project folder for the project's catalog and prices; left out: the
    /// current folder, if it has a project or a purchase
    #[arg(value_name = "CATALOG|PROJECT", value_hint = ValueHint::AnyPath)]
    pub place: Option<PathBuf>,
    /// The supplier, by the name in suppliers.csv
    pub supplier: Option<OsString>,
    /// The supplier's list: a text with commas, semicolons or tabs, or a workbook
    /// (.xlsx or .ods)
    #[arg(value_hint = ValueHint::FilePath)]
    pub file: Option<PathBuf>,
    /// Write nothing; the exit status is 6 if something would change
    #[arg(long)]
    pub check: bool,
    /// Write the changed price list to this file, and leave the old one as it is; - prints
    /// the list
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
    /// Write the articles that match no part to this file, as rows of the catalog to
    /// fill in; - prints the rows
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, conflicts_with = "check")]
    pub new: Option<PathBuf>,
    /// The day of the list, such as 2025-03-31, in place of what the list says
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub dated: Option<Date>,
    /// How to show what changes
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Work out what other prices change, and keep what pays
///
/// The command takes the plan record to other prices. The command shows four
/// totals: as recorded, with the same order lines at the new prices, with the same
/// parts bought anew, and with everything planned anew. The command also shows what
/// makes the difference, and which order lines change. Then the command keeps the
/// plan that pays in place of the record.
///
/// A plan with other parts pays only if the plan saves at least worth_changing of
/// [reprice] in project.toml over keeping the parts. The exit status is that of
/// plan, and 6 if --check finds that an order line would change.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::REPRICE)]
pub struct Reprice {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// The record, in place of plan.json in the project folder
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub plan: Option<PathBuf>,
    /// Keep the order lines of the plan, the parts of the plan, or nothing; left out:
    /// keep what pays
    #[arg(long, value_enum, value_name = "WHAT")]
    pub keep: Option<Keep>,
    /// Write nothing; the exit status is 6 if an order line would change
    #[arg(long)]
    pub check: bool,
    /// When stopped by Ctrl-C, keep what pays of the plans found so far
    #[arg(long, conflicts_with = "check")]
    pub keep_best: bool,
    /// Stop after so many seconds with the best plan so far
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub time_limit: Option<Duration>,
    /// How many threads to use; as many as there are cores unless said otherwise
    #[arg(long, value_name = "N", value_parser = threads)]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub told: Told,
    #[command(flatten)]
    pub read: Read,
    /// How to show the result: table, json, or csv (the changes of the order)
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// What is kept of a plan at other prices.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Keep {
    /// The order lines as they are
    Lines,
    /// The fitted parts, bought anew
    Parts,
    /// Nothing: everything is planned anew
    Nothing,
}

/// Book a delivery against what is ordered
///
/// A delivery is so many pieces of a part, or all rows of a CSV file with the
/// columns part and qty, and the columns supplier and sku if you like. The file may also
/// be our own order, as couplet order --format csv writes it, with the quantities that
/// came.
///
/// With --note, the delivery is what the supplier's delivery note says. A recipe says
/// which column is what: lists/SUPPLIER.delivery.toml in the catalog folder. Where there
/// is no recipe yet, the command writes one for you to look over, and books nothing. If a
/// line of what was ordered is not understood, or has more than is outstanding, the
/// command books nothing and the exit status is 1. Lines of what was never ordered are
/// shown.
///
/// The oldest orders of a part are filled first. A delivery with a sku fills the
/// orders with that sku, then the orders without any sku. If more came than was
/// ordered, the command books nothing. Received pieces stay in ordered.csv: do not enter the
/// same pieces into on_hand.csv.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::RECEIVE)]
#[command(group(ArgGroup::new("delivery").args(["part", "file", "note"])))]
#[command(group(ArgGroup::new("from").args(["part", "note"])))]
pub struct Receive {
    /// Project folder; left out: the current folder, if it has a project or a purchase. Then the
    /// only word is the file
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// What came, as a CSV file
    #[arg(value_hint = ValueHint::FilePath)]
    pub file: Option<PathBuf>,
    /// The part that came
    #[arg(long, requires = "qty", value_parser = name)]
    pub part: Option<String>,
    /// The supplier's delivery note: a CSV file in any encoding, or a workbook
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub note: Option<PathBuf>,
    /// How many pieces of the part came
    #[arg(long, value_name = "N", requires = "part",
          conflicts_with_all = ["file", "note"],
          value_parser = pieces)]
    pub qty: Option<u64>,
    /// Supplier; left out: any order of the part is filled, and a note is from the only
    /// supplier with something outstanding
    #[arg(long, value_name = "NAME", requires = "from", value_parser = name)]
    pub supplier: Option<String>,
    /// The supplier's code of what came; left out: any order of the part is filled
    #[arg(long, value_name = "CODE", requires = "part")]
    pub sku: Option<String>,
    /// The day of the delivery, such as 2025-03-31, in place of today; orders of a later
    /// day are left alone
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub on: Option<Date>,
    /// Show what would be booked and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// The same, with the exit status 6 if something would be booked
    #[arg(long, conflicts_with = "dry_run")]
    pub check: bool,
}

/// Show the parts of a catalog with their prices
///
/// For each part the table says what the part is, what the part takes, and who sells
/// the part. With --used-by the table also says where the plan fits the part.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::PARTS)]
#[command(group(ArgGroup::new("source").args(["project", "catalog"])))]
pub struct Parts {
    /// Project folder, for the project's catalog and prices; left out, and no --catalog:
    /// the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath)]
    pub project: Option<PathBuf>,
    /// Catalog folder
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub catalog: Option<PathBuf>,
    /// Of this kind alone
    #[arg(long, value_parser = PossibleValuesParser::new(Kind::ALL.map(Kind::word)))]
    pub kind: Option<String>,
    /// Parts that can go on a cable of this gauge, such as "70 mm2" or "2/0 AWG"
    #[arg(long, value_parser = gauge)]
    pub gauge: Option<Gauge>,
    /// Bodies rated for at least so many ampere, and the fittings for these bodies
    #[arg(long, value_name = "A", value_parser = current)]
    pub current: Option<Ampere>,
    /// Bodies of this mating face, and the fittings for these bodies
    #[arg(long, value_parser = name)]
    pub interface: Option<String>,
    /// Parts with this value of an attribute: NAME=VALUE, for numbers also NAME>=NUMBER and
    /// NAME<=NUMBER; NAME= for parts without a value; may be given several times
    #[arg(long = "where", value_name = "NAME=VALUE", value_parser = condition)]
    pub wheres: Vec<Condition>,
    /// The parts of this plan record alone, with the ends of each part
    #[arg(long, value_name = "PLAN", value_hint = ValueHint::FilePath)]
    pub used_by: Option<PathBuf>,
    /// How to show the parts
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Write a small project and catalog to start from
///
/// Comments in the files say what each column means. The data is invented. The
/// project can be planned at once.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::NEW)]
pub struct New {
    /// A folder that is empty or does not exist yet
    #[arg(value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

/// Print shell completions
#[derive(Debug, clap::Args)]
#[command(after_help = examples::COMPLETIONS)]
pub struct Completions {
    /// Which shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// Print the man page, or write one for each command
#[derive(Debug, clap::Args)]
#[command(after_help = examples::MAN)]
pub struct Man {
    /// Write the pages into this folder
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub out_dir: Option<PathBuf>,
}

/// Show which net has which key at each location, and which keys are left
///
/// Every plug is held against every other receptacle at the plug's location. Pairs
/// that can be mixed up are listed.
///
/// In CSV, a row without a net is a key that is left.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::KEYS)]
pub struct Keys {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// The record, in place of plan.json in the project folder
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub plan: Option<PathBuf>,
    /// Of a purchase only this machine; left out: every machine
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub machine: Option<String>,
    /// How to show the map
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Tell why an end has what it has, and what another part would add
///
/// The figure of an alternative is exact: the whole project is planned again with
/// the alternative in that place.
///
/// With --part, the command shows every rule that refuses the part at the end, with
/// both facts and their rows; or what the part would add. The command uses the plan
/// in plan.json. If the project has changed since, the command makes a new plan and
/// does not keep the new plan.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::WHY, allow_missing_positional = true)]
pub struct Why {
    /// Project folder; left out: the current folder, if it has a project or a purchase. Then the
    /// only word is the circuit
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// Circuit by name; of a purchase as machine/circuit, or by its own name where one machine
    /// alone has it
    #[arg(value_parser = name)]
    pub circuit: String,
    /// This net alone; for a multi-core cable all nets of the cable, joined by spaces
    #[arg(long, value_parser = name)]
    pub net: Option<String>,
    /// This end alone
    #[arg(long, value_parser = PossibleValuesParser::new(["from", "to"]))]
    pub end: Option<String>,
    /// This part alone, whatever speaks against it
    #[arg(long, value_parser = name)]
    pub part: Option<String>,
    /// All alternatives in each place, not only the three with the lowest unit prices
    #[arg(long, conflicts_with = "part")]
    pub all: bool,
    /// The record, in place of plan.json in the project folder
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub plan: Option<PathBuf>,
    /// Stop each search after so many seconds
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub time_limit: Option<Duration>,
    /// How many threads to use; as many as there are cores unless said otherwise
    #[arg(long, value_name = "N", value_parser = threads)]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub told: Told,
}

/// Show what fewer variants, suppliers or crimp dies cost
///
/// The command begins with the number that the cheapest plan takes, and ends with
/// the least number of any compatible plan. For each number between, the command
/// finds the cheapest plan with at most so many, the extra cost of that plan, and the
/// parts that leave and come in.
///
/// Ctrl-C stops the study. The command then shows the plans found so far.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::CONSOLIDATE)]
pub struct Consolidate {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// What there should be fewer of
    #[arg(long, value_enum, default_value_t = By::Variants)]
    pub by: By,
    /// Keep the plan with at most so many as plan.json in the project folder
    #[arg(long, value_name = "N", value_parser = most)]
    pub to: Option<u32>,
    /// File for the plan that is kept, in place of plan.json in the project folder; - prints
    /// the plan
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, requires = "to")]
    pub out: Option<PathBuf>,
    /// When stopped by Ctrl-C, keep the plan of what is found so far
    #[arg(long, requires = "to")]
    pub keep_best: bool,
    /// Write a picture of cost over number; - prints the picture alone
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub svg: Option<PathBuf>,
    #[command(flatten)]
    pub work: Work,
    #[command(flatten)]
    pub read: Read,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Show what the plan costs, by circuit, kind, supplier and gauge
///
/// The command holds the total against the limit in project.toml, and divides the
/// total: each table adds up to the cent. If the total is over the limit, the command
/// shows what would save most, with a plan for each saving.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::BUDGET)]
pub struct Budget {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// Show the total when prices rise by so many percent: all, or those named
    #[arg(long, value_name = "PERCENT", value_parser = rise)]
    pub rise: Option<Decimal>,
    /// Only the prices of this supplier rise
    #[arg(long, value_name = "NAME", requires = "rise", conflicts_with = "kind", value_parser = name)]
    pub supplier: Option<String>,
    /// Only the prices of this kind of part rise
    #[arg(long, requires = "rise", value_parser = PossibleValuesParser::new(Kind::ALL.map(Kind::word)))]
    pub kind: Option<String>,
    /// Show what the machines of a purchase would cost bought one by one
    #[arg(long)]
    pub apart: bool,
    /// Write a picture of the breakdown; - prints the picture alone
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub svg: Option<PathBuf>,
    #[command(flatten)]
    pub work: Work,
    #[command(flatten)]
    pub read: Read,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Show how far each price can move before another plan is cheapest
///
/// For every part that the cheapest plan buys, the command finds two prices: above
/// one price and below the other, another plan is the cheapest. All else is
/// unchanged. The command also shows that other plan. All prices of a part move
/// alike, from nothing up to three times.
///
/// Ctrl-C stops the study. The command then shows what is found so far.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::BREAKEVEN)]
pub struct Breakeven {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// This part alone
    #[arg(long, value_parser = name)]
    pub part: Option<String>,
    /// Write a picture of the price ranges; - prints the picture alone
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub svg: Option<PathBuf>,
    #[command(flatten)]
    pub work: Work,
    #[command(flatten)]
    pub read: Read,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Show what changes of the project would cost, without changing its files
///
/// A change is a short sentence, as listed below. Several changes with semicolons between
/// are tried together. Each further word is a trial of its own. The trials stand side by
/// side in one table, each with its total and the difference from the plan of the project
/// as it is. Below stands what each trial changes in the files.
///
/// A name with a colon before the changes names a trial. --save keeps named trials in
/// trials.toml. Without changes, the command runs the trials of trials.toml. --keep writes
/// the changes of one trial into the files: only the cells and settings that are shown.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::TRIAL, after_long_help = examples::trial())]
pub struct Trial {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// What to try: changes with semicolons between, perhaps with NAME: before them; left out:
    /// the trials of trials.toml
    #[arg(value_name = "CHANGE")]
    pub changes: Vec<String>,
    /// Of the trials in trials.toml this one alone; may be given several times
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub only: Vec<String>,
    /// Keep the named trials in trials.toml as well
    #[arg(long)]
    pub save: bool,
    /// Write the changes of this trial into the files, and plan nothing
    #[arg(long, value_name = "NAME", conflicts_with_all = ["only", "save"], value_parser = name)]
    pub keep: Option<String>,
    /// Stop the search for each plan after so many seconds, in place of 30; none for no end
    #[arg(long, value_name = "SECONDS", default_value = "30", hide_default_value = true,
          value_parser = until)]
    pub time_limit: Until,
    /// How many plans to solve side by side, in place of one on each core
    #[arg(long, value_name = "N", value_parser = threads)]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub told: Told,
    #[command(flatten)]
    pub read: Read,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// Show plans side by side, and what differs between them
///
/// The terms of the total stand in columns. Below stands what differs from the first plan to
/// each other: variants and suppliers, parts, order lines, ends. Each plan is checked first.
///
/// A plan that takes the place of another in plan.json leaves the other in plan.before.json.
/// --before compares these two.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::COMPARE)]
pub struct Compare {
    /// Two or more plans: folders of projects or purchases, or records
    #[arg(value_name = "PLAN", value_hint = ValueHint::AnyPath)]
    pub plans: Vec<PathBuf>,
    /// Compare the plan of one project with the plan before; without a name, of the current
    /// folder
    #[arg(long)]
    pub before: bool,
    /// How to show the result
    #[arg(long, value_enum, default_value_t = KitFormat::Table)]
    pub format: KitFormat,
    /// File for the result, in place of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
}

/// What a study of several plans may use.
#[derive(Debug, clap::Args)]
pub struct Work {
    /// Stop after so many seconds with what is found so far
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub time_limit: Option<Duration>,
    /// How many plans to solve side by side, in place of one on each core
    #[arg(long, value_name = "N", value_parser = threads)]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub told: Told,
}

/// Where a search tells how far it is.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct Told {
    /// How to tell on standard error how the search goes; left out: a moving line on a
    /// terminal, plain lines elsewhere
    #[arg(long, value_enum, value_name = "HOW")]
    pub progress: Option<Progress>,
}

/// How progress is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Progress {
    /// For a program: one object a line, with stage, elapsed (seconds), best, bound,
    /// gap_percent and at
    Json,
    /// A line now and then
    Plain,
    /// Nothing
    None,
}

/// What there should be fewer of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum By {
    /// Distinct parts that are fitted
    Variants,
    /// Suppliers with an order
    Suppliers,
    /// Crimp dies that are bought
    Dies,
}

/// Write the plan as one page, with a drawing of the machine
///
/// Verdict and total, orders, the drawing, circuits with each end's pair, key and
/// fittings, the keying map, spares and surplus with their reasons, inputs,
/// cautions. The page is one file and needs no network.
///
/// The command searches for what fewer variants would cost, for at most 30 seconds.
/// Ctrl-C ends the search, and the page shows what was found so far.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::REPORT)]
pub struct Report {
    #[command(flatten)]
    pub of: OfPlan,
    /// File for the page; - prints the page
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: PathBuf,
    /// Leave out what fewer variants would cost
    #[arg(long, conflicts_with_all = ["time_limit", "threads"])]
    pub no_frontier: bool,
    /// Search so many seconds for what fewer variants would cost, in place of 30
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub time_limit: Option<Duration>,
    /// How many plans to solve side by side, in place of one on each core
    #[arg(long, value_name = "N", value_parser = threads)]
    pub threads: Option<u32>,
    #[command(flatten)]
    pub told: Told,
}

/// Show what goes into the bag of each circuit
///
/// Spares have a bag, and surplus has a bag. All bags together hold exactly the
/// pieces that are taken from stock and ordered. Of a purchase every copy of every
/// machine has bags of its own.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::KIT)]
pub struct Kit {
    #[command(flatten)]
    pub of: OfPlan,
    #[command(flatten)]
    pub copies: OfCopies,
    /// How to show the kits
    #[arg(long, value_enum, default_value_t = KitFormat::Table)]
    pub format: KitFormat,
    /// File for the kits, in place of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
}

/// Write a build card for each end
///
/// A page to print: cable and parts, the crimp die, the order of work, and blanks
/// for what the maker's sheet says. Of a purchase every copy of every machine has cards
/// of its own.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::CARDS)]
pub struct Cards {
    #[command(flatten)]
    pub of: OfPlan,
    #[command(flatten)]
    pub copies: OfCopies,
    /// File for the page; - prints the page
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: PathBuf,
}

/// Write labels for both ends of every cable
///
/// A label has the number of the circuit in circuits.csv, the net and the end. The
/// drawing and the cards have the same names. Of a purchase every copy of every machine
/// has labels of its own.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::LABELS)]
pub struct Labels {
    #[command(flatten)]
    pub of: OfPlan,
    #[command(flatten)]
    pub copies: OfCopies,
    /// How to write the labels
    #[arg(long, value_enum, default_value_t = LabelFormat::Csv)]
    pub format: LabelFormat,
    /// File for the labels, in place of standard output
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: Option<PathBuf>,
}

/// A plan and its project.
#[derive(Debug, clap::Args)]
pub struct OfPlan {
    /// Project folder; left out: the current folder, if it has a project or a purchase
    #[arg(value_hint = ValueHint::DirPath, default_value = HERE, hide_default_value = true)]
    pub project: PathBuf,
    /// The record, in place of plan.json in the project folder
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub plan: Option<PathBuf>,
}

/// Which of the machines of a purchase.
#[derive(Debug, clap::Args)]
pub struct OfCopies {
    /// Of a purchase only this machine, all its copies; left out: every copy of every machine
    #[arg(long, value_name = "NAME", value_parser = name)]
    pub machine: Option<String>,
    /// Of that machine only this copy, 1 being the first
    #[arg(long, value_name = "N", requires = "machine", value_parser = copy)]
    pub copy: Option<u64>,
}

/// How to show what can be a page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum KitFormat {
    /// For reading
    Table,
    /// For a spreadsheet
    Csv,
    /// For a program
    Json,
    /// A page to print
    Html,
}

/// How to write labels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LabelFormat {
    /// For a label printer or a spreadsheet
    Csv,
    /// A page to print and cut
    Html,
}

/// Turn CSV files into a workbook, or a workbook into CSV files
///
/// Each CSV file of a folder becomes a sheet. A workbook is written as .xlsx, and
/// read as .xlsx or .ods.
///
/// No cell loses anything: numbers keep their decimals, comments and empty lines
/// keep their places. A text that a spreadsheet would run as a formula is stored as
/// text. In CSV such a text begins with an apostrophe, which is no part of the text.
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

/// Print the JSON Schema of what is written for other programs
///
/// There is a schema of the record, of each --format json, and of a line of
/// --progress json, in draft 2020-12. Without a name, the command lists the schemas.
#[derive(Debug, clap::Args)]
#[command(after_help = examples::SCHEMA)]
pub struct Schema {
    /// Which schema
    #[arg(value_parser = PossibleValuesParser::new(forms::names()))]
    pub name: Option<String>,
}

/// What is read in place of what the project says.
#[derive(Debug, Default, clap::Args)]
pub struct Read {
    /// Price list in place of the project's
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub prices: Option<PathBuf>,
    /// The day of the plan, such as 2025-03-31, in place of that of the newest quote
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub as_of: Option<Date>,
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definitions_hold() {
        use clap::CommandFactory;
        Args::command().debug_assert();
    }
}
