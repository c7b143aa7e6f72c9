//! The command line: reads arguments, runs one command, prints, gives the exit status.

mod args;
mod booking;
mod cards;
mod check;
mod compare;
mod convert;
mod error;
mod examples;
mod files;
mod forms;
mod glue;
mod here;
mod history;
mod journal;
mod keys;
mod kit;
mod labels;
mod letter;
mod new;
mod order;
mod output;
mod paper;
mod parts;
mod plan;
mod prices;
mod progress;
mod record;
mod report;
mod reprice;
mod schema;
mod shell;
mod take;
mod today;
mod trial;
mod typed;
mod usage;
mod values;
mod why;

mod breakeven;
mod budget;
mod consolidate;
mod interrupt;
mod study;

use args::Command;
use couplet::limit::Stop;
use couplet::study::failure::Failure;
use here::Words;
use output::Terminal;
use std::process::ExitCode;

/// Runs the program.
pub fn main() -> ExitCode {
    let words = match Words::parse(std::env::args_os()) {
        Ok(words) => words,
        Err(error) => return usage::tell(&error),
    };
    words.args.color.apply();
    let progress = words.args.command.progress();
    let terminal = Terminal::new(words.args.quiet, progress, Stop::default());
    let result = (words.command()).and_then(|command| {
        terminal.progress.reading();
        run(command, &terminal)
    });
    ExitCode::from(match result {
        Ok(()) => 0,
        Err(error) => {
            error::tell(&error, &terminal);
            error.status()
        }
    })
}

fn run(command: Command, terminal: &Terminal) -> Result<(), Failure> {
    match command {
        Command::Check(args) => check::run(&args, terminal),
        Command::Plan(args) => plan::run(&args, terminal),
        Command::Order(args) => order::run(&args, terminal),
        Command::Parts(args) => parts::run(&args, terminal),
        Command::New(args) => new::run(&args, terminal),
        Command::Completions(args) => shell::completions(&args, terminal),
        Command::Man(args) => shell::man(&args, terminal),
        Command::Keys(args) => keys::run(&args, terminal),
        Command::Why(args) => why::run(&args, terminal),
        Command::Compare(args) => compare::run(&args, terminal),
        Command::Trial(args) => trial::run(&args, terminal),
        Command::Prices(args) => prices::run(&args, terminal),
        Command::Take(args) => take::run(&args, terminal),
        Command::Reprice(args) => reprice::run(&args, terminal),
        Command::Receive(args) => booking::receive(&args, terminal),
        Command::Consolidate(args) => consolidate::run(&args, terminal),
        Command::Budget(args) => budget::run(&args, terminal),
        Command::Breakeven(args) => breakeven::run(&args, terminal),
        Command::Report(args) => report::run(&args, terminal),
        Command::Kit(args) => kit::run(&args, terminal),
        Command::Cards(args) => cards::run(&args, terminal),
        Command::Labels(args) => labels::run(&args, terminal),
        Command::Convert(args) => convert::run(&args, terminal),
        Command::Schema(args) => schema::run(&args, terminal),
    }
}
