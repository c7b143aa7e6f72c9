//! One change of a project, and how it is written.

use super::words::{Word, joined};
use crate::catalog::Kind;
use crate::diag::{did_you_mean, joined as listed, quote};

/// A change as the user writes it, and what it means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The change as it was written.
    pub text: String,
    pub(super) what: What,
}

/// Why a text is no change, or a change can't be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{change}: {message}")]
pub struct ChangeError {
    /// The change as it was written.
    pub change: String,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// What is changed. Names are as they were written; whether there is such a thing is for the
/// project to say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum What {
    /// Cells of one circuit: its name, a column and a value, to be told apart by the project.
    Circuit(Vec<Word>),
    /// Cells of all circuits: a column and a value.
    EveryCircuit(Vec<Word>),
    /// A circuit is left out.
    WithoutCircuit(String),
    /// A location has another name, or is put together with another.
    Location { from: String, to: String },
    /// A supplier is bought from or not.
    Supplier { name: String, is_out: bool },
    /// A part is fitted or not.
    Part { code: String, is_out: bool },
    /// Cells of a supplier: name, column and value.
    SupplierCell(Vec<Word>),
    /// Prices of offers.
    Price {
        part: Option<String>,
        supplier: Option<String>,
        at: Option<String>,
        price: Price,
    },
    /// Pieces on hand.
    OnHand { part: String, qty: String },
    /// How often a machine is built.
    Count { machine: String, count: String },
    /// A setting of the purchase or the project.
    Setting {
        key: &'static [&'static str],
        value: Option<Value>,
    },
    /// The rate of a currency.
    Rate { currency: String, rate: String },
    /// A setting of one machine's project, or of each.
    OfMachine { machine: Option<String>, own: Own },
    /// A rule for spares.
    Spares { kind: String, rule: Option<Spare> },
}

/// A new price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Price {
    /// Of a piece, in the supplier's currency.
    To(String),
    /// By so many percent.
    By(String),
}

/// What is asked of the parts of a machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Own {
    /// A setting.
    Setting {
        key: &'static [&'static str],
        value: Option<Value>,
    },
    /// The keys of a net; any where there is none.
    NetKeys { net: String, keys: Vec<String> },
    /// A part is fitted or not.
    Part { code: String, is_out: bool },
}

/// A value in a settings file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Value {
    Number(String),
    Text(String),
}

/// What a rule for spares says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Spare {
    pub percent: Option<String>,
    pub minimum: Option<String>,
    pub per: Option<String>,
}

/// Each form of a change, with what it does.
pub const FORMS: [(&str, &str); 23] = [
    (
        "circuit NAME COLUMN VALUE",
        "a cell of circuits.csv; any for an empty one",
    ),
    ("every circuit COLUMN VALUE", "that cell of all circuits"),
    ("without circuit NAME", "the circuit is left out"),
    ("location NAME is NAME", "another name for a location"),
    ("without supplier NAME", "nothing is bought there"),
    ("with supplier NAME", "the supplier is no longer excluded"),
    ("without part CODE", "the part is not fitted"),
    ("with part CODE", "the part is no longer excluded"),
    ("supplier NAME COLUMN VALUE", "a cell of suppliers.csv"),
    (
        "price CODE [from SUPPLIER] [at QTY] PRICE",
        "a price of a piece",
    ),
    (
        "price CODE [from SUPPLIER] +N %",
        "all its prices by so many percent; -N % too",
    ),
    (
        "every price [from SUPPLIER] +N %",
        "all prices by so many percent",
    ),
    ("prices FILE", "another price list"),
    ("on hand CODE QTY", "so many pieces in stock"),
    ("at most N variants", "or suppliers; any number of variants"),
    ("within N days", "the longest delivery; within any time"),
    (
        "net NET keys KEY …",
        "the keys that a net may have; any for all",
    ),
    ("keying by-location", "or everywhere, or off"),
    (
        "ambient CELSIUS",
        "the ambient temperature; none without derating",
    ),
    ("protection strict", "or customary"),
    (
        "spares KIND N % [at least N] [per part]",
        "or per gauge; spares KIND none",
    ),
    (
        "rate CURRENCY N",
        "also: tax N, line cost N, budget N, name NAME",
    ),
    (
        "machine NAME count N",
        "of a purchase; machine NAME with ambient, net …",
    ),
];

impl Change {
    /// Reads a change from its words.
    ///
    /// # Errors
    /// [`ChangeError`] where the words are no change.
    pub(super) fn read(text: String, words: &[Word]) -> Result<Self, ChangeError> {
        match read(words) {
            Ok(what) => Ok(Change { text, what }),
            Err((message, help)) => Err(ChangeError {
                change: text,
                message,
                help,
            }),
        }
    }

    /// An error of this change.
    pub(super) fn error(&self, message: impl Into<String>, help: impl Into<String>) -> ChangeError {
        ChangeError {
            change: self.text.clone(),
            message: message.into(),
            help: help.into(),
        }
    }
}

/// What is wrong, and what to do.
type Wrong = (String, String);

/// The first words of all changes.
const FIRST: [&str; 21] = [
    "circuit",
    "every",
    "without",
    "with",
    "location",
    "supplier",
    "price",
    "prices",
    "on",
    "at",
    "any",
    "within",
    "net",
    "keying",
    "ambient",
    "protection",
    "spares",
    "rate",
    "tax",
    "budget",
    "machine",
];

fn read(words: &[Word]) -> Result<What, Wrong> {
    let Some((first, rest)) = words.split_first() else {
        return Err(form("circuit NAME COLUMN VALUE"));
    };
    let second = |word: &str| rest.first().is_some_and(|next| next.is(word));
    let after = |n: usize| words.get(n..).unwrap_or(&[]);
    let name = |form_of: &str, n: usize| match joined(after(n)) {
        name if name.is_empty() => Err(form(form_of)),
        name => Ok(name),
    };
    match first.text.to_ascii_lowercase().as_str() {
        _ if first.is_quoted => Err(unknown(first)),
        "circuit" => Ok(What::Circuit(rest.to_vec())),
        "every" if second("circuit") => Ok(What::EveryCircuit(after(2).to_vec())),
        "every" if second("price") => price(after(2), true),
        "without" if second("circuit") => name("without circuit NAME", 2).map(What::WithoutCircuit),
        "without" | "with" if second("supplier") => Ok(What::Supplier {
            name: name("without supplier NAME", 2)?,
            is_out: first.is("without"),
        }),
        "without" | "with" if second("part") => Ok(What::Part {
            code: name("without part CODE", 2)?,
            is_out: first.is("without"),
        }),
        "location" => location(rest),
        "supplier" => Ok(What::SupplierCell(rest.to_vec())),
        "price" => price(rest, false),
        "prices" => text_setting(&["prices"], name("prices FILE", 1)?),
        "on" if second("hand") => on_hand(after(2)),
        "at" if second("most") => at_most(after(2)),
        "any" if second("number") => any_number(after(2)),
        "within" => within(rest),
        "machine" => machine(rest),
        "spares" => spares(rest),
        "rate" => match rest {
            [currency, rate] => Ok(What::Rate {
                currency: currency.text.clone(),
                rate: number(rate)?,
            }),
            _ => Err(form("rate CURRENCY N")),
        },
        "tax" => one_number(&["tax_percent"], rest, "tax N"),
        "budget" => one_number(&["budget", "limit"], rest, "budget N"),
        "line" if second("cost") => one_number(&["line_cost"], after(2), "line cost N"),
        "name" => text_setting(&["name"], name("name NAME", 1)?),
        _ => match own(words)? {
            Some(own) => Ok(What::OfMachine { machine: None, own }),
            None => Err(unknown(first)),
        },
    }
}

/// What can be asked of the parts of one machine; none where the words are something else.
fn own(words: &[Word]) -> Result<Option<Own>, Wrong> {
    let Some((first, rest)) = words.split_first() else {
        return Ok(None);
    };
    if first.is_quoted {
        return Ok(None);
    }
    let one = |key, form_of: &str, words: &[&str]| match rest {
        [word] => known(&word.text, words).map(|word| {
            Some(Own::Setting {
                key,
                value: Some(Value::Text(word)),
            })
        }),
        _ => Err(form(form_of)),
    };
    match first.text.to_ascii_lowercase().as_str() {
        "ambient" => match rest {
            [word] if word.is("none") => Ok(Some(Own::Setting {
                key: &["ambient_c"],
                value: None,
            })),
            [word] => Ok(Some(Own::Setting {
                key: &["ambient_c"],
                value: Some(Value::Number(number(word)?)),
            })),
            _ => Err(form("ambient CELSIUS")),
        },
        "keying" => one(
            &["keying", "distinct"],
            "keying by-location",
            &["by-location", "everywhere", "off"],
        ),
        "protection" => one(
            &["protection"],
            "protection strict",
            &["strict", "customary"],
        ),
        "net" => net(rest).map(Some),
        "without" | "with" if rest.first().is_some_and(|word| word.is("part")) => {
            match joined(&rest[1..]) {
                code if code.is_empty() => Err(form("without part CODE")),
                code => Ok(Some(Own::Part {
                    code,
                    is_out: first.is("without"),
                })),
            }
        }
        _ => Ok(None),
    }
}

fn net(rest: &[Word]) -> Result<Own, Wrong> {
    let at = rest
        .iter()
        .rposition(|word| word.is("keys") || word.is("key"));
    let (net, keys) = match at {
        Some(at) => (joined(&rest[..at]), &rest[at + 1..]),
        None => return Err(form("net NET keys KEY …")),
    };
    if net.is_empty() || keys.is_empty() {
        return Err(form("net NET keys KEY …"));
    }
    let keys = match keys {
        [any] if any.is("any") => Vec::new(),
        keys => keys.iter().map(|key| key.text.clone()).collect(),
    };
    Ok(Own::NetKeys { net, keys })
}

fn machine(rest: &[Word]) -> Result<What, Wrong> {
    let begins = |word: &Word| {
        [
            "count",
            "ambient",
            "keying",
            "protection",
            "net",
            "without",
            "with",
        ]
        .iter()
        .any(|first| word.is(first))
    };
    let at = rest.iter().position(begins).filter(|at| *at > 0);
    let at = at.ok_or_else(|| form("machine NAME count N"))?;
    let machine = joined(&rest[..at]);
    match &rest[at..] {
        [word, count] if word.is("count") => Ok(What::Count {
            machine,
            count: number(count)?,
        }),
        words => match own(words)? {
            Some(own) => Ok(What::OfMachine {
                machine: Some(machine),
                own,
            }),
            None => Err(form("machine NAME count N")),
        },
    }
}

fn location(rest: &[Word]) -> Result<What, Wrong> {
    let at = rest.iter().position(|word| word.is("is"));
    let at = at.ok_or_else(|| form("location NAME is NAME"))?;
    match (joined(&rest[..at]), joined(&rest[at + 1..])) {
        (from, to) if !from.is_empty() && !to.is_empty() => Ok(What::Location { from, to }),
        _ => Err(form("location NAME is NAME")),
    }
}

fn price(words: &[Word], is_every: bool) -> Result<What, Wrong> {
    let form_of = match is_every {
        true => "every price [from SUPPLIER] +N %",
        false => "price CODE [from SUPPLIER] [at QTY] PRICE",
    };
    let (words, price) = match words {
        [most @ .., by, percent] if percent.is("%") || percent.is("percent") => {
            (most, Price::By(signed(by)?))
        }
        [most @ .., by] if !by.is_quoted && by.text.ends_with('%') => {
            let text = by.text.trim_end_matches('%').to_owned();
            (
                most,
                Price::By(signed(&Word {
                    text,
                    is_quoted: false,
                })?),
            )
        }
        [most @ .., to] if !is_every => (most, Price::To(number(to)?)),
        _ => return Err(form(form_of)),
    };
    let (words, at) = match words {
        [most @ .., word, qty] if word.is("at") => (most, Some(number(qty)?)),
        words => (words, None),
    };
    let from = words.iter().position(|word| word.is("from"));
    let (part, supplier) = words.split_at(from.unwrap_or(words.len()));
    let some = |words: &[Word]| Some(joined(words)).filter(|name| !name.is_empty());
    let supplier = match supplier {
        [] => None,
        [_, name @ ..] => Some(some(name).ok_or_else(|| form(form_of))?),
    };
    let part = some(part);
    if part.is_none() != is_every {
        return Err(form(form_of));
    }
    Ok(What::Price {
        part,
        supplier,
        at,
        price,
    })
}

fn on_hand(words: &[Word]) -> Result<What, Wrong> {
    match words {
        [part @ .., qty] if !part.is_empty() => Ok(What::OnHand {
            part: joined(part),
            qty: number(qty)?,
        }),
        _ => Err(form("on hand CODE QTY")),
    }
}

/// The key of a limit by what is counted.
fn counted(word: &Word) -> Result<&'static [&'static str], Wrong> {
    match word.text.trim_end_matches('s') {
        "variant" => Ok(&["max_variants"]),
        "supplier" => Ok(&["max_suppliers"]),
        _ => known(&word.text, &["variants", "suppliers"]).map(|_| -> &'static [_] { &[] }),
    }
}

fn at_most(words: &[Word]) -> Result<What, Wrong> {
    let [most, what] = words else {
        return Err(form("at most N variants"));
    };
    Ok(What::Setting {
        key: counted(what)?,
        value: Some(Value::Number(number(most)?)),
    })
}

fn any_number(words: &[Word]) -> Result<What, Wrong> {
    match words {
        [of, what] if of.is("of") => Ok(What::Setting {
            key: counted(what)?,
            value: None,
        }),
        _ => Err(form("any number of variants")),
    }
}

fn within(words: &[Word]) -> Result<What, Wrong> {
    let key = &["max_lead_days"];
    match words {
        [any, time] if any.is("any") && time.is("time") => Ok(What::Setting { key, value: None }),
        [days, word] if word.is("days") || word.is("day") => Ok(What::Setting {
            key,
            value: Some(Value::Number(number(days)?)),
        }),
        _ => Err(form("within N days")),
    }
}

fn spares(words: &[Word]) -> Result<What, Wrong> {
    let form_of = "spares KIND N % [at least N] [per part]";
    let Some((kind, mut rest)) = words.split_first() else {
        return Err(form(form_of));
    };
    let kinds = Kind::ALL.map(Kind::word);
    let kind = known(kind.text.trim_end_matches('s'), &kinds)?;
    if matches!(rest, [none] if none.is("none")) {
        return Ok(What::Spares { kind, rule: None });
    }
    let mut rule = Spare {
        percent: None,
        minimum: None,
        per: None,
    };
    while let Some((first, after)) = rest.split_first() {
        (rest, _) = match (first, after) {
            (per, [what, after @ ..]) if per.is("per") => {
                rule.per = Some(known(&what.text, &["part", "gauge"])?);
                (after, ())
            }
            (at, [least, n, after @ ..]) if at.is("at") && least.is("least") => {
                rule.minimum = Some(number(n)?);
                (after, ())
            }
            (n, [percent, after @ ..]) if percent.is("%") || percent.is("percent") => {
                rule.percent = Some(number(n)?);
                (after, ())
            }
            (n, after) if !n.is_quoted && n.text.ends_with('%') => {
                let text = n.text.trim_end_matches('%').to_owned();
                rule.percent = Some(number(&Word {
                    text,
                    is_quoted: false,
                })?);
                (after, ())
            }
            _ => return Err(form(form_of)),
        };
    }
    if rule.percent.is_none() && rule.minimum.is_none() && rule.per.is_none() {
        return Err(form(form_of));
    }
    Ok(What::Spares {
        kind,
        rule: Some(rule),
    })
}

fn one_number(key: &'static [&'static str], words: &[Word], form_of: &str) -> Result<What, Wrong> {
    match words {
        [word] => Ok(What::Setting {
            key,
            value: Some(Value::Number(number(word)?)),
        }),
        _ => Err(form(form_of)),
    }
}

fn text_setting(key: &'static [&'static str], text: String) -> Result<What, Wrong> {
    Ok(What::Setting {
        key,
        value: Some(Value::Text(text)),
    })
}

/// A number as it is written in a file: digits, perhaps a decimal point.
fn number(word: &Word) -> Result<String, Wrong> {
    let text = word.text.trim();
    let digits = text.strip_prefix('-').unwrap_or(text);
    let is_number = digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.chars().filter(|c| *c == '.').count() <= 1
        && digits.chars().any(|c| c.is_ascii_digit());
    match is_number {
        true => Ok(text.to_owned()),
        false => Err((
            format!("{} is not a number", quote(&word.text)),
            "write digits, with a decimal point where there is a fraction".to_owned(),
        )),
    }
}

/// A percentage with its sign.
fn signed(word: &Word) -> Result<String, Wrong> {
    let text = word.text.strip_prefix('+');
    let is_signed = text.is_some() || word.text.starts_with('-');
    if !is_signed {
        return Err((
            format!("{} has no sign", quote(&word.text)),
            "write +5 % for dearer, -5 % for cheaper".to_owned(),
        ));
    }
    let text = text.unwrap_or(&word.text).to_owned();
    number(&Word {
        text,
        is_quoted: word.is_quoted,
    })
}

/// One of the words that can stand there.
fn known(word: &str, words: &[&str]) -> Result<String, Wrong> {
    let found = words.iter().find(|known| word.eq_ignore_ascii_case(known));
    found.map(|known| (*known).to_owned()).ok_or_else(|| {
        let help = did_you_mean(word, words.iter().copied())
            .unwrap_or_else(|| format!("write {}", listed(words, "or")));
        (format!("unknown word {}", quote(word)), help)
    })
}

fn form(of: &str) -> Wrong {
    (
        "the change is not whole".to_owned(),
        format!("write it as: {of}"),
    )
}

fn unknown(first: &Word) -> Wrong {
    let own = |form: &&(&str, &str)| {
        !first.is_quoted && form.0.split(' ').next().is_some_and(|word| first.is(word))
    };
    let forms: Vec<&str> = FORMS.iter().filter(own).map(|(form, _)| *form).collect();
    if !forms.is_empty() {
        return form(&listed(&forms, "or"));
    }
    let help = did_you_mean(&first.text, FIRST).unwrap_or_else(|| {
        "couplet trial --help lists the changes, such as: circuit NAME gauge \"25 mm2\"".to_owned()
    });
    (
        format!("no change begins with {}", quote(&first.text)),
        help,
    )
}

#[cfg(test)]
mod tests {
    use super::super::words;
    use super::*;

    fn what(text: &str) -> What {
        read(&words::changes(text).unwrap()[0].1)
            .unwrap_or_else(|wrong| panic!("{text}: {wrong:?}"))
    }

    fn wrong(text: &str) -> String {
        let all = words::changes(text).unwrap();
        let words = all.first().map_or(&[][..], |(_, words)| words);
        let (message, help) = read(words).unwrap_err();
        format!("{message}; {help}")
    }

    #[test]
    fn each_form_is_read() {
        let number = |n: &str| Some(Value::Number(n.to_owned()));
        assert_eq!(
            what("At most 30 variants"),
            What::Setting {
                key: &["max_variants"],
                value: number("30")
            }
        );
        assert_eq!(
            what("any number of suppliers"),
            What::Setting {
                key: &["max_suppliers"],
                value: None
            }
        );
        assert_eq!(
            what("within any time"),
            What::Setting {
                key: &["max_lead_days"],
                value: None
            }
        );
        assert_eq!(
            what("net \"HV+ HV-\" keys 1 a"),
            What::OfMachine {
                machine: None,
                own: Own::NetKeys {
                    net: "HV+ HV-".into(),
                    keys: vec!["1".into(), "a".into()]
                }
            }
        );
        assert_eq!(
            what("net HV+ keys any"),
            what("machine x net HV+ keys any").all_machines()
        );
        assert_eq!(
            what("price F 7 from Nord Cable at 10 4.20"),
            What::Price {
                part: Some("F 7".into()),
                supplier: Some("Nord Cable".into()),
                at: Some("10".into()),
                price: Price::To("4.20".into())
            }
        );
        assert_eq!(
            what("every price from Nord -2.5 %"),
            What::Price {
                part: None,
                supplier: Some("Nord".into()),
                at: None,
                price: Price::By("-2.5".into())
            }
        );
        assert_eq!(what("price F-7 +5%"), what("price F-7 +5 percent"));
        assert_eq!(
            what("spares ferrules 10 % at least 2 per gauge"),
            What::Spares {
                kind: "ferrule".into(),
                rule: Some(Spare {
                    percent: Some("10".into()),
                    minimum: Some("2".into()),
                    per: Some("gauge".into())
                })
            }
        );
        assert_eq!(
            what("machine port ferry count 3"),
            What::Count {
                machine: "port ferry".into(),
                count: "3".into()
            }
        );
        assert_eq!(
            what("without supplier Nord Cable"),
            What::Supplier {
                name: "Nord Cable".into(),
                is_out: true
            }
        );
    }

    impl What {
        fn all_machines(self) -> Self {
            match self {
                What::OfMachine { own, .. } => What::OfMachine { machine: None, own },
                other => other,
            }
        }
    }

    #[test]
    fn what_is_no_change_says_what_would_be() {
        for (text, said) in [
            (
                "curcuit a gauge 5",
                "no change begins with \"curcuit\"; did you mean \"circuit\"?",
            ),
            (
                "at most 30",
                "the change is not whole; write it as: at most N variants",
            ),
            (
                "at most many variants",
                "\"many\" is not a number; write digits",
            ),
            ("at most 3 variant parts", "the change is not whole"),
            (
                "keying everwhere",
                "unknown word \"everwhere\"; did you mean \"everywhere\"?",
            ),
            ("spares plugg 10 %", "did you mean \"plug\"?"),
            ("every price from Nord 5", "the change is not whole"),
            (
                "every price from Nord 5 %",
                "\"5\" has no sign; write +5 % for dearer",
            ),
            ("\"ambient\" 5", "no change begins with \"ambient\""),
            ("net HV+", "write it as: net NET keys KEY …"),
            ("machine ferry", "write it as: machine NAME count N"),
            ("ambient", "write it as: ambient CELSIUS"),
            (
                "without",
                "write it as: without circuit NAME, without supplier NAME or without part CODE",
            ),
        ] {
            assert!(wrong(text).contains(said), "{text}: {}", wrong(text));
        }
    }

    #[test]
    fn every_form_begins_with_a_known_word() {
        for (form, _) in FORMS {
            let first = form.split(' ').next().unwrap();
            assert!(FIRST.contains(&first), "{form}");
        }
    }
}
