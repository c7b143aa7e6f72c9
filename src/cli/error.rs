//! How the user is told that a command ends without its result.

use super::output::Terminal;
use couplet::report;
use couplet::report::diagnostics::{self, Message};
use couplet::study::failure::Failure;

/// Tells the failure on standard error.
pub fn tell(failure: &Failure, terminal: &Terminal) {
    match failure {
        Failure::Closed | Failure::Shown | Failure::WouldChange | Failure::Differs => {}
        Failure::Input(findings) => {
            terminal.findings(findings);
            terminal.say(&format!("{}\n", diagnostics::summary(findings)));
        }
        Failure::NoSet(none) => {
            for text in groups(&none.to_string()) {
                terminal.error(&Message {
                    text,
                    ..Message::default()
                });
                terminal.say("\n");
            }
        }
        failure => terminal.error(&message(failure)),
    }
}

fn message(failure: &Failure) -> Message {
    let mut text = failure.sentence();
    if let Failure::Limits(Some(blocked)) = failure {
        for line in report::conflict::lines(&blocked.input, &blocked.conflict) {
            text.push_str(&format!("\n  {line}"));
        }
    }
    Message {
        text,
        place: failure.place().map(str::to_owned),
        help: failure.cure().map(str::to_owned),
        notes: failure.notes(),
    }
}

/// The text in groups: each begins with a line that is not indented.
fn groups(text: &str) -> Vec<String> {
    let mut groups: Vec<String> = Vec::new();
    for line in text.lines() {
        match groups.last_mut() {
            Some(group) if line.starts_with(' ') => {
                group.push('\n');
                group.push_str(line);
            }
            _ => groups.push(line.to_owned()),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_without_a_set_are_told_group_by_group() {
        let text = "no set for 2 ends\n  circuit a\n    no plug\nno set for 1 end\n  circuit b";
        assert_eq!(
            groups(text),
            [
                "no set for 2 ends\n  circuit a\n    no plug",
                "no set for 1 end\n  circuit b"
            ]
        );
        assert!(groups("").is_empty());
    }
}
