//! Articles that match no part, as rows of the catalog that are to be filled in.

use super::change::{Taken, Unmatched};
use super::recipe::mapping;
use super::values::words::small;
use crate::catalog::read::table_of;
use crate::catalog::{Catalog, Kind};
use crate::table::guarded;

/// Words for each kind of part in English, German, French, Spanish, Norwegian, Italian and
/// Dutch: common practice, no published source. Fittings come first, since their names
/// often name the body as well.
const WORDS: [(Kind, &[&str]); 5] = [
    (
        Kind::Seal,
        &[
            "seal",
            "gasket",
            "grommet",
            "dichtung",
            "dichtring",
            "joint",
            "junta",
            "tetning",
            "guarnizione",
            "afdichting",
            "pakking",
        ],
    ),
    (
        Kind::Ferrule,
        &[
            "ferrule",
            "hülse",
            "embout",
            "puntera",
            "virola",
            "hylse",
            "puntale",
            "huls",
            "crimp sleeve",
            "sleeve",
        ],
    ),
    (
        Kind::BackShell,
        &[
            "back shell",
            "backshell",
            "endgehäuse",
            "tülle",
            "capot",
            "carcasa",
            "bakskall",
            "calotta",
            "achterkap",
        ],
    ),
    (
        Kind::Receptacle,
        &[
            "receptacle",
            "socket",
            "buchse",
            "dose",
            "embase",
            "prise",
            "hembra",
            "toma",
            "presa",
            "contactdoos",
            "kontakt",
        ],
    ),
    (
        Kind::Plug,
        &[
            "plug", "stecker", "fiche", "clavija", "enchufe", "plugg", "støpsel", "spina",
            "stekker",
        ],
    ),
];

/// What an article may be, by its description; none where nothing tells.
fn kind(article: &Unmatched) -> Option<Kind> {
    let text = small(&article.description);
    let has = |words: &[&str]| words.iter().any(|word| text.contains(word));
    WORDS
        .iter()
        .find(|(_, words)| has(words))
        .map(|(kind, _)| *kind)
}

/// The articles of a list that match no part, as rows for the tables of the catalog. What
/// is missing is left empty. Lines of comments say which rows go where.
///
/// # Errors
/// What keeps the rows from being written as CSV.
pub fn new_rows(taken: &Taken, catalog: &Catalog) -> Result<String, csv::Error> {
    let mut text = format!(
        "# Articles of {} that match no part: {}.\n\
         # Put each row into the file that stands above it, and fill in what is missing.\n",
        one_line(&taken.supplier),
        one_line(&taken.list)
    );
    let all: Vec<Row> = taken.unmatched.iter().map(|one| (kind(one), one)).collect();
    for first in [Kind::Plug, Kind::Ferrule, Kind::Seal, Kind::BackShell] {
        let (table, columns) = table_of(first);
        let is_here = |kind: Option<Kind>| kind.is_some_and(|kind| table_of(kind).0 == table);
        let rows: Vec<Row> = all
            .iter()
            .copied()
            .filter(|(kind, _)| is_here(*kind))
            .collect();
        if !rows.is_empty() {
            text.push_str(&format!("\n# {table}.csv\n"));
            text.push_str(&table_text(
                &rows,
                &with_attributes(columns, first, catalog),
            )?);
        }
    }
    let unclear: Vec<Row> = all
        .iter()
        .copied()
        .filter(|(kind, _)| kind.is_none())
        .collect();
    if !unclear.is_empty() {
        text.push_str("\n# What these are is not clear.\n");
        text.push_str(&table_text(&unclear, &["part", "description", "note"])?);
    }
    if !taken.unmatched.is_empty() {
        let recipe = one_line(&taken.recipe);
        text.push_str(&format!(
            "\n# Then put these lines under [parts] of {recipe}:\n"
        ));
        for one in &taken.unmatched {
            let line = mapping(&one.article, &one.article);
            text.push_str(&format!("# {}\n", one_line(&line)));
        }
    }
    Ok(text)
}

/// An article with what it may be.
type Row<'r> = (Option<Kind>, &'r Unmatched);

fn with_attributes<'c>(
    mut columns: Vec<&'c str>,
    kind: Kind,
    catalog: &'c Catalog,
) -> Vec<&'c str> {
    let own = catalog
        .attributes_on(kind)
        .map(|(_, attribute)| &*attribute.name);
    columns.extend(own);
    columns
}

fn table_text(rows: &[Row], columns: &[&str]) -> Result<String, csv::Error> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(columns)?;
    for (kind, one) in rows {
        let half = kind.map_or("", Kind::word);
        let cells = columns.iter().map(|&column| match column {
            "part" => guarded(&one_line(&one.article)),
            "description" => guarded(&one_line(&one.description)),
            "half" => half.to_owned(),
            "note" => guarded(&note(one)),
            _ => String::new(),
        });
        writer.write_record(cells)?;
    }
    let bytes = writer.into_inner().map_err(|error| error.into_error())?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// What else the list says, and what the article may be.
fn note(one: &Unmatched) -> String {
    let kind = match one.maker_type.as_str() {
        "" => None,
        kind => Some(format!("type {}", one_line(kind))),
    };
    let price = one.unit_price.map(|price| format!("price {price}"));
    let perhaps = one
        .proposals
        .first()
        .map(|best| format!("perhaps {}, {} % sure", best.part, best.sure));
    let all: Vec<String> = [kind, price, perhaps].into_iter().flatten().collect();
    all.join("; ")
}

fn one_line(text: &str) -> String {
    text.replace(char::is_control, " ")
}
