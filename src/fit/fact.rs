//! What a rule finds when it refuses, and how the rule words it.

use super::end::End;
use rust_decimal::Decimal;
use std::fmt::Debug;

/// The part's fact that does not go with the end's. Modules above make sentences of
/// these phrases.
pub(crate) trait Fact: Debug {
    /// The part's side, after its code: `is rated 350 A`.
    fn has(&self, end: &End) -> String;

    /// What the end wants of the part, after `circuit pump`: `needs 400 A`.
    fn wants(&self, end: &End) -> String;

    /// Both sides at once, in short: `350 A is below 400 A`.
    fn reason(&self, end: &End) -> String;

    /// What equal refusals have in common, after `14 plugs: `.
    fn group(&self, end: &End) -> String;

    /// How near the part comes, where that can be measured.
    fn extreme(&self, _: &End) -> Option<Extreme> {
        None
    }
}

/// A fact of any rule.
pub(super) type Found<'a> = Box<dyn Fact + 'a>;

/// How near a part comes by a rule.
#[derive(Debug)]
pub(crate) struct Extreme {
    /// The value; the higher, the nearer.
    pub value: Decimal,
    /// What the nearest of several is: `highest`.
    pub word: &'static str,
    /// The part's amount: `350 A`.
    pub amount: String,
}

impl Extreme {
    /// `highest: P-1 at 350 A`.
    pub fn text(&self, code: &str) -> String {
        format!("{}: {code} at {}", self.word, self.amount)
    }
}
