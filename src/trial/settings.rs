//! A settings file changed in place: what no change names stays as it is, comments and
//! blank lines too.

use super::change::{Spare, Value};
use crate::table::one_spelling;
use rust_decimal::Decimal;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, value};

/// What a setting was and what it is, as they stand in the file; empty for nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Was {
    /// The whole key: `keying.distinct`.
    pub key: String,
    pub before: String,
    pub after: String,
}

/// Why a settings file can't be changed as asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(super) enum SettingError {
    #[error("{0} is not a table there")]
    NoTable(String),
    #[error("{0} is not a number that the file can have")]
    Number(String),
    #[error("there is no machine {0} there")]
    NoMachine(String),
}

/// Sets a key, or takes it out.
pub(super) fn set(
    doc: &mut DocumentMut,
    key: &[&str],
    new: Option<&Value>,
) -> Result<Was, SettingError> {
    let [tables @ .., last] = key else {
        return Err(SettingError::NoTable(String::new()));
    };
    let new = new.map(toml_value).transpose()?;
    let table = match (table(doc, tables, new.is_some())?, &new) {
        (Some(table), _) => table,
        (None, _) => return Ok(was(key, String::new(), String::new())),
    };
    let before = shown(table.get(last));
    replace(table, last, new);
    let after = shown(table.get(last));
    Ok(was(key, before, after))
}

/// Sets the keys of a net, or takes the net out.
pub(super) fn net_keys(
    doc: &mut DocumentMut,
    net: &str,
    keys: &[String],
) -> Result<Was, SettingError> {
    let path = ["keying", "keys"];
    let key = format!("keying.keys.{net}");
    let Some(table) = table(doc, &path, !keys.is_empty())? else {
        return Ok(Was {
            key,
            before: String::new(),
            after: String::new(),
        });
    };
    let known = table.iter().map(|(name, _)| name.to_owned());
    let known = { known }.find(|name| one_spelling(name) == net);
    let name = known.unwrap_or_else(|| net.to_owned());
    let before = shown(table.get(&name));
    let new = (!keys.is_empty()).then(|| keys.iter().map(String::as_str).collect::<Array>().into());
    replace(table, &name, new);
    let after = shown(table.get(&name));
    Ok(Was { key, before, after })
}

/// Adds a name to a list of names, or takes it out.
pub(super) fn listed(
    doc: &mut DocumentMut,
    key: &str,
    name: &str,
    is_in: bool,
) -> Result<Was, SettingError> {
    let before = shown(doc.get(key));
    if doc.get(key).is_none() {
        doc.insert(key, value(Array::new()));
    }
    let list = doc.get_mut(key).and_then(Item::as_array_mut);
    let list = list.ok_or_else(|| SettingError::NoTable(key.to_owned()))?;
    let is_it = |item: &toml_edit::Value| item.as_str().is_some_and(|it| one_spelling(it) == name);
    match is_in {
        true if list.iter().any(is_it) => {}
        true => list.push(name),
        false => list.retain(|item| !is_it(item)),
    }
    Ok(was(&[key], before, shown(doc.get(key))))
}

/// Puts a name into the place of another in a list of names, where it is in there.
pub(super) fn renamed(doc: &mut DocumentMut, key: &[&str], from: &str, to: &str) -> Option<Was> {
    let [tables @ .., last] = key else {
        return None;
    };
    let table = table(doc, tables, false).ok()??;
    let before = shown(table.get(last));
    let list = table.get_mut(last)?.as_array_mut()?;
    let at = list
        .iter()
        .position(|it| it.as_str().is_some_and(|it| one_spelling(it) == from))?;
    list.replace(at, to);
    Some(was(key, before, shown(table.get(last))))
}

/// Sets how often a machine is built.
pub(super) fn count(
    doc: &mut DocumentMut,
    machine: &str,
    count: &str,
) -> Result<Was, SettingError> {
    let none = || SettingError::NoMachine(machine.to_owned());
    let list = doc
        .get_mut("machine")
        .and_then(Item::as_array_of_tables_mut);
    let mut list = list.ok_or_else(none)?.iter_mut();
    let is_it = |of: &Table| {
        let name = of.get("name").and_then(Item::as_str);
        name.is_some_and(|name| one_spelling(name) == machine)
    };
    let of = list.find(|of| is_it(of)).ok_or_else(none)?;
    let before = shown(of.get("count"));
    let new = toml_value(&Value::Number(count.to_owned()))?;
    replace(of, "count", Some(new));
    Ok(Was {
        key: format!("count of machine {machine}"),
        before,
        after: shown(of.get("count")),
    })
}

/// Sets what a rule for spares says, makes the rule, or takes it out.
pub(super) fn spares(
    doc: &mut DocumentMut,
    kind: &str,
    rule: Option<&Spare>,
) -> Result<Vec<Was>, SettingError> {
    let key = |part: &str| format!("spares of {kind}: {part}");
    if doc.get("spares").is_none() {
        doc.insert("spares", Item::ArrayOfTables(ArrayOfTables::new()));
    }
    let list = doc.get_mut("spares").and_then(Item::as_array_of_tables_mut);
    let list = list.ok_or_else(|| SettingError::NoTable("spares".to_owned()))?;
    let is_it = |of: &Table| of.get("kind").and_then(Item::as_str) == Some(kind);
    let at = list.iter().position(is_it);
    let Some(rule) = rule else {
        let gone = at.map(|at| {
            list.remove(at);
            Was {
                key: key("the rule"),
                before: "there".to_owned(),
                after: String::new(),
            }
        });
        return Ok(gone.into_iter().collect());
    };
    let at = at.unwrap_or_else(|| {
        let mut new = Table::new();
        new.insert("kind", value(kind));
        new.insert("per", value("part"));
        list.push(new);
        list.len() - 1
    });
    let of = list
        .get_mut(at)
        .ok_or_else(|| SettingError::NoTable("spares".to_owned()))?;
    let number = |text: &Option<String>| text.clone().map(Value::Number);
    let word = |text: &Option<String>| text.clone().map(Value::Text);
    let parts = [
        ("per", word(&rule.per)),
        ("percent", number(&rule.percent)),
        ("minimum", number(&rule.minimum)),
    ];
    let mut all = Vec::new();
    for (part, new) in parts {
        if let Some(new) = new {
            let before = shown(of.get(part));
            replace(of, part, Some(toml_value(&new)?));
            all.push(Was {
                key: key(part),
                before,
                after: shown(of.get(part)),
            });
        }
    }
    Ok(all)
}

/// The table at the end of a path; none where it is not there and is not to be made.
fn table<'d>(
    doc: &'d mut DocumentMut,
    path: &[&str],
    make: bool,
) -> Result<Option<&'d mut dyn TableLike>, SettingError> {
    let mut at: &mut dyn TableLike = doc.as_table_mut();
    for key in path {
        if at.get(key).is_none() {
            if !make {
                return Ok(None);
            }
            at.insert(key, Item::Table(Table::new()));
        }
        let next = at.get_mut(key).and_then(Item::as_table_like_mut);
        at = next.ok_or_else(|| SettingError::NoTable((*key).to_owned()))?;
    }
    Ok(Some(at))
}

/// Puts a value in place of another, with the spaces and remarks around it.
fn replace(table: &mut dyn TableLike, key: &str, new: Option<toml_edit::Value>) {
    let Some(mut new) = new else {
        table.remove(key);
        return;
    };
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *new.decor_mut() = old.decor().clone();
    }
    match table.get_mut(key) {
        Some(item) => *item = Item::Value(new),
        None => {
            table.insert(key, Item::Value(new));
        }
    }
}

fn toml_value(new: &Value) -> Result<toml_edit::Value, SettingError> {
    match new {
        Value::Text(text) => Ok(text.as_str().into()),
        Value::Number(text) => {
            let wrong = || SettingError::Number(text.clone());
            let number: Decimal = text.parse().map_err(|_| wrong())?;
            number.to_string().parse().map_err(|_| wrong())
        }
    }
}

fn shown(item: Option<&Item>) -> String {
    let bare = |value: &toml_edit::Value| value.clone().decorated("", "").to_string();
    let text = item.and_then(Item::as_value).map(bare);
    let text = text.unwrap_or_default();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn was(key: &[&str], before: String, after: String) -> Was {
    Was {
        key: key.join("."),
        before,
        after,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# A ferry.\nname = \"Ferry\"   # its name\nexclude_parts = [\n  \"P-1\", # too dear\n]\n\n[keying] # rule\ndistinct = \"by-location\"\n\n[[spares]]\nkind = \"seal\"\nper = \"part\"\npercent = 5\n";

    fn after(edit: impl FnOnce(&mut DocumentMut)) -> String {
        let mut doc: DocumentMut = TEXT.parse().unwrap();
        edit(&mut doc);
        doc.to_string()
    }

    fn number(text: &str) -> Option<Value> {
        Some(Value::Number(text.to_owned()))
    }

    #[test]
    fn only_what_is_named_changes() {
        let text = after(|doc| {
            let new = Value::Text("Tug".to_owned());
            let was = set(doc, &["name"], Some(&new)).unwrap();
            assert_eq!(
                (was.before.as_str(), was.after.as_str()),
                ("\"Ferry\"", "\"Tug\"")
            );
        });
        assert_eq!(text, TEXT.replace("\"Ferry\"", "\"Tug\""));
        let text = after(|doc| {
            let new = Value::Text("off".to_owned());
            set(doc, &["keying", "distinct"], Some(&new)).unwrap();
        });
        assert_eq!(text, TEXT.replace("\"by-location\"", "\"off\""));
        assert_eq!(
            after(|doc| drop(set(doc, &["ambient_c"], None).unwrap())),
            TEXT
        );
    }

    #[test]
    fn what_is_not_there_is_added_where_it_belongs() {
        let text = after(|doc| drop(set(doc, &["ambient_c"], number("50.5").as_ref()).unwrap()));
        let parsed: toml::Table = text.parse().unwrap();
        assert_eq!(parsed["ambient_c"].as_float(), Some(50.5));
        let text = after(|doc| drop(set(doc, &["rates", "USD"], number("0.90").as_ref()).unwrap()));
        assert!(text.starts_with(TEXT.trim_end()), "{text}");
        assert!(text.ends_with("[rates]\nUSD = 0.90\n"), "{text}");
        let text = after(|doc| drop(net_keys(doc, "HV+", &["1".to_owned()]).unwrap()));
        let parsed: toml::Table = text.parse().unwrap();
        assert_eq!(parsed["keying"]["keys"]["HV+"][0].as_str(), Some("1"));
        assert_eq!(parsed["keying"]["distinct"].as_str(), Some("by-location"));
    }

    #[test]
    fn names_come_and_go() {
        let text = after(|doc| drop(listed(doc, "exclude_parts", "P-2", true).unwrap()));
        let parsed: toml::Table = text.parse().unwrap();
        assert_eq!(parsed["exclude_parts"].as_array().unwrap().len(), 2);
        assert!(text.contains("# too dear"), "{text}");
        let text = after(|doc| drop(listed(doc, "exclude_parts", "P-1", false).unwrap()));
        let parsed: toml::Table = text.parse().unwrap();
        assert!(parsed["exclude_parts"].as_array().unwrap().is_empty());
    }

    #[test]
    fn a_rule_for_spares_is_changed_made_or_taken_out() {
        let rule = |percent: &str| Spare {
            percent: Some(percent.to_owned()),
            minimum: None,
            per: None,
        };
        let text = after(|doc| drop(spares(doc, "seal", Some(&rule("10"))).unwrap()));
        assert_eq!(text, TEXT.replace("percent = 5", "percent = 10"));
        let text = after(|doc| drop(spares(doc, "plug", Some(&rule("10"))).unwrap()));
        assert!(text.starts_with(TEXT), "{text}");
        let parsed: toml::Table = text.parse().unwrap();
        assert_eq!(parsed["spares"][1]["per"].as_str(), Some("part"));
        let text = after(|doc| drop(spares(doc, "seal", None).unwrap()));
        assert!(!text.contains("seal"), "{text}");
    }
}
