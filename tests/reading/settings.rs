//! What is wrong with project.toml, in exact words.

use crate::support::{Project, each_finds, spoilt};

#[test]
fn keys_and_types() {
    each_finds(
        "project.toml",
        &[
            (
                "name = \"Cart\"",
                "",
                "error at cart/project.toml:1, key name: the key is missing | add name = \"Orchard tractor\"",
            ),
            (
                "currency = \"EUR\"",
                "",
                "error at cart/project.toml:1, key currency: the key is missing | add currency = \"EUR\"",
            ),
            (
                "catalog = \"../catalog\"",
                "",
                "error at cart/project.toml:1, key catalog: the key is missing | add catalog = \"../catalog\", the folder with bodies.csv",
            ),
            (
                "ambient_c",
                "ambiant_c",
                "error at cart/project.toml:4: unknown key \"ambiant_c\" | did you mean \"ambient_c\"?",
            ),
            (
                "ignore_at",
                "ignore",
                "error at cart/project.toml:19: unknown key \"ignore\" | leave it out; the keys are distinct, ignore_at, keys",
            ),
            (
                "minimum = 1",
                "minimun = 1",
                "error at cart/project.toml:25: unknown key \"minimun\" | did you mean \"minimum\"?",
            ),
            (
                "\"Cart\"",
                "7",
                "error at cart/project.toml:1, key name: the value is a number, but text is wanted | write it in quotes",
            ),
            (
                "\"Cart\"",
                "\" \"",
                "error at cart/project.toml:1, key name: the text is empty | give a value, or leave the key out",
            ),
            (
                "\"Cart\"",
                "\"a\\u001bb\"",
                "error at cart/project.toml:1, key name: \"a\\u{1b}b\" contains a line break or control character | write it on one line",
            ),
            (
                "= 40\nmax_lead",
                "= \"40\"\nmax_lead",
                "error at cart/project.toml:4, key ambient_c: the value is text, but a number is wanted | write it in digits, without quotes",
            ),
            (
                "= 40\nmax_lead",
                "= true\nmax_lead",
                "error at cart/project.toml:4, key ambient_c: the value is true or false, but a number is wanted | write it in digits, without quotes",
            ),
            (
                "= 40\nmax_lead",
                "= 2026-03-31\nmax_lead",
                "error at cart/project.toml:4, key ambient_c: the value is a date, but a number is wanted | write it in digits, without quotes",
            ),
            (
                "= 40\nmax_lead",
                "= 0x28\nmax_lead",
                "error at cart/project.toml:4, key ambient_c: the number is not decimal | write it with the digits 0 to 9",
            ),
            (
                "= 40\nmax_lead",
                "= nan\nmax_lead",
                "error at cart/project.toml:4, key ambient_c: \"nan\" is not a number | give a temperature in digits, such as 12.5",
            ),
            (
                "= 40\nmax_lead",
                "= 1e5\nmax_lead",
                "error at cart/project.toml:4, key ambient_c: \"1e5\" is not a number | write all its digits, without an exponent",
            ),
            (
                "[\"S-9\"]",
                "\"S-9\"",
                "error at cart/project.toml:11, key exclude_parts: the value is text, but a list is wanted | write it as [\"one\", \"another\"]",
            ),
            (
                "[\"S-9\"]",
                "[9]",
                "error at cart/project.toml:11, key exclude_parts: the value is a number, but text is wanted | write it in quotes",
            ),
            (
                "\"strict\"",
                "\"strikt\"",
                "error at cart/project.toml:6, key protection: unknown word \"strikt\" | did you mean \"strict\"?",
            ),
            (
                "\"by-location\"",
                "\"always\"",
                "error at cart/project.toml:18, key keying.distinct: unknown word \"always\" | write by-location, everywhere or off",
            ),
            (
                "\"EUR\"",
                "\"eur\"",
                "error at cart/project.toml:2, key currency: \"eur\" is not a currency code | write the three capital letters of the currency, such as EUR",
            ),
        ],
    );
}

#[test]
fn numbers() {
    each_finds(
        "project.toml",
        &[
            (
                "tax_percent = 20",
                "tax_percent = 1000.5",
                "error at cart/project.toml:7, key tax_percent: \"1000.5\" is above 1000 | give a percentage from 0 up to 1000 %",
            ),
            (
                "line_cost = 1.5",
                "line_cost = -1",
                "error at cart/project.toml:8, key line_cost: \"-1\" is below 0 | give an amount of money from 0 up to 1000000000",
            ),
            (
                "max_variants = 40",
                "max_variants = 0",
                "error at cart/project.toml:9, key max_variants: \"0\" is below 1 | give a number from 1 up to 1000000, a whole number",
            ),
            (
                "max_suppliers = 4",
                "max_suppliers = 1.5",
                "error at cart/project.toml:10, key max_suppliers: \"1.5\" is not a whole number | give a number from 1 up to 1000000, a whole number",
            ),
            (
                "max_lead_days = 30",
                "max_lead_days = 3651",
                "error at cart/project.toml:5, key max_lead_days: \"3651\" is above 3650 | give a number of days from 0 up to 3650, a whole number",
            ),
            (
                "limit = 2500",
                "limit = -1",
                "error at cart/project.toml:32, key budget.limit: \"-1\" is below 0 | give an amount of money from 0 up to 1000000000",
            ),
            (
                "limit = 2500",
                "",
                "error at cart/project.toml:31, key budget.limit: the key is missing | add limit = 2500",
            ),
            (
                "USD = 0.92",
                "USD = 0",
                "error at cart/project.toml:15, key rates.USD: \"0\" is not above 0 | give a rate above 0 up to 1000000",
            ),
            (
                "USD = 0.92",
                "USD = 0.92\nUsd = 1",
                "error at cart/project.toml:16, key rates.Usd: \"Usd\" is not a currency code | write the three capital letters of the currency, such as USD",
            ),
            (
                "USD = 0.92",
                "USD = 0.92\nEUR = 1.1",
                "error at cart/project.toml:16, key rates.EUR: one EUR is one EUR | leave the rate of the project's own currency out",
            ),
        ],
    );
    assert!(spoilt("project.toml", "USD = 0.92", "USD = 0.92\nEUR = 1").is_empty());
    assert!(spoilt("project.toml", "limit = 2500", "limit = 0").is_empty());
}

#[test]
fn spares_and_tables() {
    each_finds(
        "project.toml",
        &[
            (
                "kind = \"seal\"",
                "kind = \"ferrule\"",
                "error at cart/project.toml:28, key spares.kind: there is a rule for ferrule already | keep one rule for each kind",
            ),
            (
                "kind = \"seal\"",
                "",
                "error at cart/project.toml:27, key spares.kind: the key is missing | add kind = \"ferrule\", or another kind of part",
            ),
            (
                "kind = \"seal\"",
                "kind = \"backshell\"",
                "error at cart/project.toml:28, key spares.kind: unknown word \"backshell\" | did you mean \"back-shell\"?",
            ),
            (
                "per = \"part\"",
                "",
                "error at cart/project.toml:27, key spares.per: the key is missing | add per = \"part\" or per = \"gauge\"",
            ),
            (
                "[[spares]]\nkind = \"seal\"\nper = \"part\"\n\n[budget]\nlimit = 2500\ncontingency_percent = 10",
                "[[budget]]\nlimit = 1",
                "error at cart/project.toml:27, key budget: the value is a list, but a table is wanted | write [budget] on a line of its own",
            ),
        ],
    );
    let project = Project::new();
    project.write("project.toml", "name = \"x\"\ncurrency = \"EUR\"\ncatalog = \"../catalog\"\nspares = [1]\nrates = { USD = 1 }\n");
    assert_eq!(
        project.found(),
        [
            "error at cart/project.toml:4, key spares: the value is a number, but a table is wanted | write [[spares]] on a line of its own"
        ]
    );
    project.write("project.toml", "name = \"x\"\ncurrency = \"EUR\"\ncatalog = \"../catalog\"\nspares = 1\nrates = { USD = 1 }\n");
    assert_eq!(
        project.found(),
        [
            "error at cart/project.toml:4, key spares: the value is a number, but a list of tables is wanted | write [[spares]] on a line of its own"
        ]
    );
}

#[test]
fn several_errors_at_once_and_by_line() {
    let project = Project::new();
    project.edit("project.toml", "\"EUR\"", "\"E\"");
    project.edit("project.toml", "tax_percent = 20", "tax_percent = \"x\"");
    project.edit("project.toml", "USD = 0.92", "USD = -1");
    let found = project.found();
    let places: Vec<&str> = found
        .iter()
        .map(|f| f.split(": ").next().unwrap())
        .collect();
    assert_eq!(
        places,
        [
            "error at cart/project.toml:2, key currency",
            "error at cart/project.toml:7, key tax_percent",
            "error at cart/project.toml:15, key rates.USD"
        ]
    );
}

#[test]
fn broken_syntax_does_not_hide_the_other_files() {
    let project = Project::new();
    project.edit("project.toml", "\"Cart\"", "\"Cart");
    project.edit("circuits.csv", "200", "abc");
    project.edit("../catalog/seals.csv", "14,17", "x,17");
    let found = project.found();
    assert_eq!(found.len(), 3, "{found:#?}");
    assert!(
        found[0].starts_with("error at cart/project.toml:1: the file is not TOML: "),
        "{}",
        found[0]
    );
    assert!(
        found[0]
            .ends_with(" | write key = value, put text in quotes, and begin a table with [name]")
    );
}

#[test]
fn a_number_in_settings_begins_with_a_digit() {
    let half = |value: &str| {
        let found = spoilt(
            "project.toml",
            "line_cost = 1.5",
            &format!("line_cost = {value}"),
        );
        found.first().cloned().unwrap_or_default()
    };
    assert_eq!(half("0.5"), "");
    for value in [".5", "-.5", " .5 # half"] {
        let cure = " | write a digit before the decimal point, such as 0.5";
        assert!(half(value).ends_with(cure), "{value}: {}", half(value));
    }
    assert!(half(".").ends_with("a table with [name]"), "{}", half("."));
}

#[test]
fn size_and_depth() {
    let project = Project::new();
    let text = std::fs::read_to_string(project.folder().join("project.toml")).unwrap();
    let fill = 262_144 - text.len();
    project.write("project.toml", format!("{}{text}", "\n".repeat(fill)));
    assert!(project.found().is_empty());
    project.write("project.toml", format!("{}{text}", "\n".repeat(fill + 1)));
    assert_eq!(
        project.found(),
        [
            "error at cart/project.toml: the file is larger than 262144 bytes \
          | leave out what no circuit needs"
        ]
    );
    project.write("project.toml", format!("a = {}", "[".repeat(200_000)));
    assert!(project.load().findings.has_errors());
    project.write("project.toml", format!("a = {}", "{a=".repeat(60_000)));
    assert!(project.load().findings.has_errors());
}

#[test]
fn what_a_broken_file_still_says_causes_no_second_message() {
    for (old, new) in [
        ("\"../catalog\"", "\"../catalog"),
        ("ambient_c = 40", "prices = \"spring"),
        ("[\"S-9\"]", "[\"S-9"),
        ("[keying]", "[keying"),
        ("\"Cart\"", ""),
    ] {
        let found = spoilt("project.toml", old, new);
        assert!(!found.is_empty());
        for finding in found {
            assert!(
                finding.contains(": the file is not TOML: "),
                "{new}: {finding}"
            );
        }
    }
}
