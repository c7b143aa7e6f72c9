//! Self-contained pages: one file each, without script framework or network.
//!
//! Every field goes through a template that escapes it; the only exceptions are
//! the style sheet and the script, which are the program's own. A page's
//! security policy lets nothing else run and nothing be fetched.

mod bench;
mod chart;
mod compare;
mod keying;
mod report;

pub use bench::{cards, kit, labels};
pub use chart::{Frontier, Point};
pub use compare::compare;
pub use report::{Report, report};

use super::table::Table;
use super::wording::plain;
use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use sha2::{Digest, Sha256};
use textwrap::core::display_width;

/// Why a page can't be made: the error of the template; in memory there is none.
pub type PageError = askama::Error;

/// Longer words are broken where a table is narrow: nine such columns fit on A4.
const LONGEST_WORD: usize = 12;

/// A word of at most so many characters is kept in one piece where there is room.
const LONGEST_CODE: usize = 24;

const STYLE: &str = include_str!("../../../templates/style.css");
const SCRIPT: &str = include_str!("../../../templates/script.js");

/// What every page has.
pub struct Frame {
    /// Title and first heading.
    pub title: String,
    /// Name of the project.
    pub project: String,
    /// The style sheet.
    pub style: &'static str,
    /// The script.
    pub script: &'static str,
    /// What the page may load and run: its own style and script.
    pub policy: String,
    /// Files that are not as when the plan was made; empty where all are.
    pub changed: String,
}

impl Frame {
    fn new(title: &str, project: &str, changed: &[String]) -> Self {
        Self {
            title: title.to_owned(),
            project: plain(project),
            style: STYLE,
            script: SCRIPT,
            policy: policy(),
            changed: super::wording::list(changed),
        }
    }
}

/// Nothing but the style and the script with these hashes (W3C, Content
/// Security Policy Level 3), and the empty icon.
fn policy() -> String {
    let hash = |text: &str| BASE64_STANDARD.encode(Sha256::digest(text));
    format!(
        "default-src 'none'; img-src data:; base-uri 'none'; form-action 'none'; \
         style-src 'sha256-{}'; script-src 'sha256-{}'",
        hash(STYLE),
        hash(SCRIPT)
    )
}

/// A table of a page.
pub struct Grid {
    /// The table's name in the page; no other table has this name.
    pub id: String,
    /// Its caption.
    pub caption: String,
    /// Its columns; the first column heads the rows.
    pub heads: Vec<Head>,
    /// Its cells, row by row.
    pub rows: Vec<Vec<Cell>>,
    /// Sums below the rows: what each is of, and the amount.
    pub sums: Vec<(String, String)>,
}

/// The head of a column.
#[derive(Clone)]
pub struct Head {
    /// Title.
    pub title: String,
    /// True for numbers.
    pub is_number: bool,
}

/// A cell with the head of its column.
pub struct Cell {
    /// The head of the cell's column.
    pub head: Head,
    /// What stands in it.
    pub text: String,
}

impl Cell {
    /// True for one word that is best read in one piece, such as a part code.
    pub fn is_code(&self) -> bool {
        !self.text.contains(char::is_whitespace) && display_width(&self.text) <= LONGEST_CODE
    }

    /// True where a word is so long that it may be broken; shorter ones, such
    /// as part codes, stay whole.
    pub fn is_long(&self) -> bool {
        let words = self.text.split(|c: char| c.is_whitespace() || c == '-');
        words
            .into_iter()
            .any(|word| display_width(word) > LONGEST_WORD)
    }
}

impl Grid {
    /// A table without columns that are empty throughout.
    fn new(id: impl Into<String>, caption: impl Into<String>, table: &Table) -> Self {
        let has_content = |at: usize| {
            let mut cells = table.rows().iter().filter_map(|row| row.get(at));
            at == 0 || cells.any(|cell| !cell.is_empty())
        };
        let shown: Vec<(usize, Head)> = (table.columns().iter().enumerate())
            .filter(|(at, _)| has_content(*at))
            .map(|(at, column)| {
                let head = Head {
                    title: column.title().into_owned(),
                    is_number: column.is_number(),
                };
                (at, head)
            })
            .collect();
        let cells = |row: &Vec<String>| {
            let cells = shown.iter().map(|(at, head)| Cell {
                head: head.clone(),
                text: row.get(*at).map(|cell| plain(cell)).unwrap_or_default(),
            });
            cells.collect()
        };
        Self {
            id: id.into(),
            caption: plain(&caption.into()),
            rows: table.rows().iter().map(cells).collect(),
            heads: shown.iter().map(|(_, head)| head.clone()).collect(),
            sums: Vec::new(),
        }
    }

    fn with_sums(mut self, sums: Vec<(String, String)>) -> Self {
        self.sums = sums;
        self
    }

    /// How many columns the name of a sum takes.
    pub fn before_last(&self) -> usize {
        self.heads.len().saturating_sub(1).max(1)
    }
}
