//! The code that ties a fitting to a body: its barrel or its rear.

use super::definition::At;
use super::end::End;
use super::fact::{Fact, Found};
use super::phrase::code_word;
use crate::catalog::{Fitting, Part, Spec};

/// Code of the part, where the body has another code.
#[derive(Debug)]
pub(super) struct OtherCode<'a>(Code<'a>);

/// Code of the part, which no body that fits takes.
#[derive(Debug)]
pub(super) struct Unused<'a>(pub Code<'a>);

/// A fitting's code.
#[derive(Debug, Clone, Copy)]
pub(super) struct Code<'a> {
    /// Kind of the fitting, which says what the code is called.
    pub fitting: Fitting,
    /// The code.
    pub code: &'a str,
}

impl<'a> OtherCode<'a> {
    /// What a fitting's code has against the place; none where no place is in question.
    pub fn against(fitting: Fitting, code: &'a str, at: &At<'_>) -> Option<Found<'a>> {
        let is_other = at.place.is_some_and(|place| place.code != code);
        is_other.then(|| Box::new(OtherCode(Code { fitting, code })) as Found<'a>)
    }
}

impl<'a> Code<'a> {
    /// The code of a fitting; none for a body.
    pub fn of(part: &'a Part) -> Option<Self> {
        let (fitting, code) = match &part.spec {
            Spec::Ferrule(ferrule) => (Fitting::Ferrule, &ferrule.barrel),
            Spec::Seal(seal) => (Fitting::Seal, &seal.rear),
            Spec::BackShell(shell) => (Fitting::BackShell, &shell.rear),
            Spec::Body(_) => return None,
        };
        Some(Code { fitting, code })
    }

    fn has(&self) -> String {
        format!("is for {} {}", code_word(self.fitting), self.code)
    }

    fn reason(&self) -> String {
        let word = code_word(self.fitting);
        format!("no body that fits here has {word} {}", self.code)
    }
}

impl Fact for OtherCode<'_> {
    fn has(&self, _: &End) -> String {
        self.0.has()
    }

    fn wants(&self, _: &End) -> String {
        "has a body of another code there".to_owned()
    }

    fn reason(&self, _: &End) -> String {
        self.0.reason()
    }

    fn group(&self, _: &End) -> String {
        self.0.reason()
    }
}

impl Fact for Unused<'_> {
    fn has(&self, _: &End) -> String {
        self.0.has()
    }

    fn wants(&self, _: &End) -> String {
        "has no body that fits and takes it".to_owned()
    }

    fn reason(&self, _: &End) -> String {
        self.0.reason()
    }

    fn group(&self, _: &End) -> String {
        self.0.reason()
    }
}
