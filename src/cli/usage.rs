//! What is wrong with a command line, and the list of commands.

use super::args::Args;
use super::output::Terminal;
use super::values::Wrong;
use clap::builder::StyledStr;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{Command, CommandFactory};
use couplet::diag::{joined, quote};
use couplet::limit::Stop;
use couplet::report::diagnostics::Message;
use couplet::report::wording::wrapped;
use std::error::Error as _;
use std::fmt::Write as _;
use std::process::ExitCode;

/// The commands by the steps of the job, in their order.
const STEPS: [(&str, &[&str]); 7] = [
    ("Describe a machine", &["new", "check", "convert"]),
    ("Plan what to buy", &["plan", "parts", "keys", "why"]),
    (
        "Weigh the plan",
        &["consolidate", "budget", "breakeven", "trial", "compare"],
    ),
    ("When prices change", &["take", "prices", "reprice"]),
    ("Order", &["order", "receive"]),
    ("Build", &["report", "kit", "cards", "labels"]),
    (HELPERS, &["completions", "man", "schema"]),
];

const HELPERS: &str = "For shells and other programs";

/// The list of commands is as wide as this at most.
const WIDTH: usize = 100;

/// The command line, with its commands in the order of the job.
pub fn command() -> Command {
    let mut command = Args::command();
    for of in command.get_subcommands_mut() {
        *of = std::mem::take(of).mut_args(|arg| match arg.get_long() {
            // "-1" is a wrong number, not an option that is not there.
            Some(_) if arg.get_action().takes_values() => arg.allow_negative_numbers(true),
            _ => arg,
        });
    }
    let template = format!(
        "{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{}\nOptions:\n{{options}}{{after-help}}",
        list(&command)
    );
    command.help_template(StyledStr::from(template))
}

fn list(command: &Command) -> String {
    let names = STEPS.iter().flat_map(|(_, names)| names.iter());
    let longest = names.map(|name| name.len()).max().unwrap_or_default();
    let mut list = String::new();
    for (step, names) in STEPS {
        let _ = writeln!(list, "{step}:");
        for name in names {
            let about = command.find_subcommand(name).and_then(Command::get_about);
            let about = about.map(ToString::to_string).unwrap_or_default();
            let first = format!("  {name:longest$}  ");
            let other = " ".repeat(first.len());
            let _ = writeln!(list, "{}", wrapped(&about, WIDTH, &first, &other));
        }
        if step == HELPERS {
            let _ = writeln!(list, "  {:longest$}  Print the help of a command", "help");
        }
        list.push('\n');
    }
    list
}

/// Shows what is wrong with the command line, or the help that it asks for.
pub fn tell(error: &clap::Error) -> ExitCode {
    let is_help = matches!(
        error.kind(),
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand
    );
    if !error.use_stderr() || is_help {
        // A closed pipe is all that can go wrong here, and no error.
        let _ = error.print();
        return ExitCode::from(if error.use_stderr() { 2 } else { 0 });
    }
    Terminal::new(false, None, Stop::default()).error(&message(error));
    ExitCode::from(2)
}

fn message(error: &clap::Error) -> Message {
    let text = text(error).unwrap_or_else(|| first_paragraph(&error.render().to_string()));
    Message {
        text,
        help: Some(cure(error)),
        ..Message::default()
    }
}

/// The error in our own words; none for an error that is not known here.
fn text(error: &clap::Error) -> Option<String> {
    let value = value(error, ContextKind::InvalidValue);
    let arg = value_of(error, ContextKind::InvalidArg);
    Some(match error.kind() {
        ErrorKind::InvalidSubcommand => {
            let name = value_of(error, ContextKind::InvalidSubcommand)?;
            format!("there is no command {}", quote(&name))
        }
        ErrorKind::UnknownArgument => match arg? {
            option if option.starts_with('-') => format!("there is no option {option}"),
            word => format!("{} is one word too many", quote(&word)),
        },
        ErrorKind::InvalidValue if value.as_deref().is_none_or(str::is_empty) => {
            format!("{} has no value", arg?)
        }
        ErrorKind::InvalidValue => format!("{} is no value of {}", quote(&value?), arg?),
        ErrorKind::ValueValidation => {
            let why = error.source()?;
            format!("{} is no value of {}: {why}", quote(&value?), arg?)
        }
        ErrorKind::MissingRequiredArgument => missing(error)?,
        ErrorKind::TooManyValues => format!("{} takes no value", arg?),
        ErrorKind::InvalidUtf8 => "a word is not UTF-8".to_owned(),
        ErrorKind::ArgumentConflict => {
            let other = value_of(error, ContextKind::PriorArg)?;
            match arg? {
                one if one == other => format!("{one} stands there twice"),
                one => format!("{one} does not go with {other}"),
            }
        }
        _ => return None,
    })
}

/// What is missing: words, options, or one of several options.
fn missing(error: &clap::Error) -> Option<String> {
    let all = match error.get(ContextKind::InvalidArg)? {
        ContextValue::Strings(all) => all.clone(),
        _ => vec![value(error, ContextKind::InvalidArg)?],
    };
    let verb = if all.len() == 1 { "is" } else { "are" };
    let all: Vec<String> = all.iter().map(|one| either(one)).collect();
    Some(format!("{} {verb} missing", joined(&all, "and")))
}

/// One of several options, which are written as `<--one|--other <FILE>>`, in words.
fn either(word: &str) -> String {
    let options = word
        .strip_prefix('<')
        .and_then(|word| word.strip_suffix('>'));
    match options.filter(|options| options.starts_with("--")) {
        Some(options) => joined(&options.split('|').collect::<Vec<_>>(), "or"),
        None => word.to_owned(),
    }
}

/// The nearest word that is right; else what the value has to be, or what the command takes.
fn cure(error: &clap::Error) -> String {
    let wrong = error
        .source()
        .and_then(|source| source.downcast_ref::<Wrong>());
    if let Some(wrong) = wrong {
        return wrong.cure.clone();
    }
    let suggested = [
        ContextKind::SuggestedSubcommand,
        ContextKind::SuggestedArg,
        ContextKind::SuggestedValue,
    ];
    if let Some(word) = suggested.into_iter().find_map(|kind| value(error, kind)) {
        return format!("did you mean {word}?");
    }
    let valid = list_of(error, ContextKind::ValidValue);
    if !valid.is_empty() {
        return format!("write {}", joined(&valid, "or"));
    }
    let arg = value(error, ContextKind::InvalidArg);
    match value(error, ContextKind::Usage) {
        None if error.kind() == ErrorKind::InvalidValue => {
            format!("write a value after {}", arg.unwrap_or_default())
        }
        Some(usage) => format!("write {}", usage.trim_start_matches("Usage: ").trim()),
        None => "the command with --help shows what it takes".to_owned(),
    }
}

fn value(error: &clap::Error, kind: ContextKind) -> Option<String> {
    match error.get(kind)? {
        ContextValue::String(text) => Some(text.clone()),
        ContextValue::Strings(all) => all.first().cloned(),
        ContextValue::StyledStr(text) => Some(text.to_string()),
        ContextValue::Number(number) => Some(number.to_string()),
        _ => None,
    }
}

/// All that stands there, in words.
fn value_of(error: &clap::Error, kind: ContextKind) -> Option<String> {
    match error.get(kind)? {
        ContextValue::Strings(all) => Some(joined(all, "and")),
        _ => value(error, kind),
    }
}

fn list_of(error: &clap::Error, kind: ContextKind) -> Vec<String> {
    match error.get(kind) {
        Some(ContextValue::Strings(all)) => all.clone(),
        _ => Vec::new(),
    }
}

fn first_paragraph(text: &str) -> String {
    let text = text.strip_prefix("error: ").unwrap_or(text);
    text.split("\n\n").next().unwrap_or(text).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(words: &[&str]) -> (String, String) {
        let words = ["couplet"].iter().chain(words);
        let error = command().try_get_matches_from(words).unwrap_err();
        let message = message(&error);
        (message.text, message.help.unwrap())
    }

    fn is(words: &[&str], text: &str, cure: &str) {
        assert_eq!(said(words), (text.to_owned(), cure.to_owned()));
    }

    #[test]
    fn every_command_stands_in_one_step() {
        let mut listed: Vec<&str> = STEPS
            .iter()
            .flat_map(|(_, names)| *names)
            .copied()
            .collect();
        let command = command();
        let mut all: Vec<&str> = command.get_subcommands().map(Command::get_name).collect();
        listed.sort_unstable();
        all.sort_unstable();
        assert_eq!(listed, all);
    }

    #[test]
    fn what_is_wrong_has_our_own_words() {
        is(
            &["plam"],
            "there is no command \"plam\"",
            "did you mean plan?",
        );
        is(
            &["plan", "--formt", "csv"],
            "there is no option --formt",
            "did you mean --format?",
        );
        is(
            &["check", "a", "b"],
            "\"b\" is one word too many",
            "write couplet check [OPTIONS] [PROJECT]",
        );
        is(
            &["plan", "--format", "x"],
            "\"x\" is no value of --format <FORMAT>",
            "write table, csv or json",
        );
        is(
            &["plan", "--format", "tabel"],
            "\"tabel\" is no value of --format <FORMAT>",
            "did you mean table?",
        );
        is(
            &["why"],
            "<CIRCUIT> is missing",
            "write couplet why [PROJECT] <CIRCUIT>",
        );
        is(
            &["plan", "--threads", "2", "--threads", "3"],
            "--threads <N> stands there twice",
            "write couplet plan [OPTIONS] [PROJECT]",
        );
        is(
            &["plan", "--gap", "x"],
            "\"x\" is no value of --gap <PERCENT>: no number",
            "write a number from 0 to 100, such as 0.5",
        );
        is(
            &["plan", "--time-limit"],
            "--time-limit <SECONDS> has no value",
            "write a value after --time-limit <SECONDS>",
        );
        is(
            &["plan", "--quiet=3"],
            "--quiet takes no value",
            "write couplet plan --quiet [PROJECT]",
        );
        is(
            &["receive", "--part", "x", "--qty", "1.5"],
            "\"1.5\" is no value of --qty <N>: no whole number",
            "write a whole number from 1 to 1000000000",
        );
        is(
            &["consolidate", "--to", "-1"],
            "\"-1\" is no value of --to <N>: below zero",
            "write a whole number from 0 to 4294967295",
        );
        is(
            &["order", "--place", "--on", "2026-13-01"],
            "\"2026-13-01\" is no value of --on <DATE>: there is no such day",
            "write year, month and day, such as 2025-03-31",
        );
    }

    #[test]
    fn what_is_missing_is_one_or_several() {
        let (text, _) = said(&["convert"]);
        assert_eq!(text, "<FROM> and <TO> are missing");
        let (text, _) = said(&["convert", "a"]);
        assert_eq!(text, "<TO> is missing");
        let (text, _) = said(&["order", "--supplier", "x"]);
        assert_eq!(
            text,
            "--place, --outstanding or --confirm <FILE> is missing"
        );
    }

    /// Whatever option has a wrong value: the words are ours, and they say what to write.
    #[test]
    fn no_value_is_refused_in_the_words_of_a_parser() {
        let raw = ["digit", "pars", "..", "expected", "found", "range"];
        let mut seen = 0;
        for of in command().get_subcommands() {
            let options = of.get_arguments().filter(|a| a.get_action().takes_values());
            for long in options.filter_map(clap::Arg::get_long) {
                for value in ["x", "-1", "1.5", "0", "99999999999999999999", "2026-13-01"] {
                    let words = ["couplet", of.get_name(), &format!("--{long}"), value];
                    let Err(error) = command().try_get_matches_from(words) else {
                        continue;
                    };
                    let Message { text, help, .. } = message(&error);
                    let help = help.unwrap_or_default();
                    let is_raw = raw.iter().any(|raw| text.contains(raw));
                    assert!(!is_raw, "{words:?}: {text}");
                    assert!(!help.contains("--help"), "{words:?}: {help}");
                    seen += 1;
                }
            }
        }
        assert!(seen > 100, "{seen}");
    }

    /// The words of a line up to two spaces, which set a comment off; quotes
    /// keep words together.
    fn words(line: &str) -> Vec<String> {
        let line = line.trim().split("  ").next().unwrap_or_default();
        let mut words = vec![String::new()];
        let mut is_quoted = false;
        for c in line.chars() {
            match c {
                '\'' => is_quoted = !is_quoted,
                ' ' if !is_quoted => words.push(String::new()),
                c => words.last_mut().unwrap().push(c),
            }
        }
        words
    }

    fn check(of: &mut Command) -> usize {
        let help = of.render_long_help().to_string();
        let examples: Vec<&str> = help
            .lines()
            .filter(|l| l.starts_with("  couplet "))
            .collect();
        assert!(!examples.is_empty(), "{} has no example", of.get_name());
        for line in &examples {
            let parsed = command().try_get_matches_from(words(line));
            assert!(parsed.is_ok(), "{line}: {}", parsed.unwrap_err());
        }
        examples.len()
    }

    #[test]
    fn every_example_parses() {
        let mut main = command();
        main.build();
        let mut count = check(&mut main);
        for of in main
            .get_subcommands_mut()
            .filter(|c| c.get_name() != "help")
        {
            count += check(of);
        }
        assert!(count >= 20, "{count} examples found");
    }

    #[test]
    fn a_wrong_example_would_be_found() {
        let parsed = command().try_get_matches_from(words("  couplet plan boat --grap 1"));
        assert!(parsed.is_err());
    }
}
