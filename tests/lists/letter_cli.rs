//! Whole runs of what comes after an order: files, exit statuses, output.

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, words: &str) -> Output {
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    let words = words.split(' ').map(|word| word.replace('_', " "));
    couplet.current_dir(folder).args(words).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn err(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// A planned project whose order is written to `ours.csv` and not placed yet.
fn planned() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    run(folder.path(), "new boat");
    assert_eq!(run(folder.path(), "plan boat").status.code(), Some(0));
    let ours = run(folder.path(), "order boat --format csv");
    fs::write(folder.path().join("ours.csv"), out(&ours)).unwrap();
    folder
}

/// The same, placed, with a note and a confirmation of one of its suppliers.
fn placed() -> tempfile::TempDir {
    let folder = planned();
    let at = folder.path();
    assert_eq!(
        run(at, "order boat --place --on 2026-01-02").status.code(),
        Some(0)
    );
    let note = "Example North, delivery note 77;;;\r\n\r\n\
                Pos;Art.-Nr.;Bezeichnung;Bestellmenge;Liefermenge\r\n\
                1;N-1026;back shell;5;3\r\n2;N-9999;washer;10;10\r\n";
    fs::write(at.join("note.csv"), note).unwrap();
    let confirmation = "Item no.;Qty;Unit price per piece;Delivery date\r\n\
                        N-1026;5;4,20;07.01.2026\r\nN-1027;4;3,15;14.01.2026\r\n";
    fs::write(at.join("confirmation.csv"), confirmation).unwrap();
    folder
}

const NOTE: &str = "receive boat --note note.csv --supplier Example_North --on 2026-01-09";

#[test]
fn the_first_note_writes_a_recipe_alone() {
    let folder = placed();
    let at = folder.path();
    let recipe = at.join("boat/catalog/lists/Example-North.delivery.toml");
    let ordered = || fs::read_to_string(at.join("boat/ordered.csv")).unwrap();
    let before = ordered();
    for (more, code) in [(" --check", 6), (" --dry-run", 0)] {
        let asked = run(at, &format!("{NOTE}{more}"));
        assert_eq!(
            (asked.status.code(), recipe.exists()),
            (Some(code), false),
            "{more}"
        );
        assert!(out(&asked).contains("would be written"), "{}", out(&asked));
    }
    let first = run(at, NOTE);
    assert_eq!((first.status.code(), recipe.exists()), (Some(0), true));
    assert!(
        out(&first).contains("2 lines, 1 of ours; nothing was booked"),
        "{}",
        out(&first)
    );
    let text = fs::read_to_string(&recipe).unwrap();
    for line in [
        "article = \"Art.-Nr.\"",
        "quantity = \"Liefermenge\"",
        "separator = \"semicolon\"",
    ] {
        assert!(text.contains(&format!("\n{line}\n")), "{line}: {text}");
    }
    assert_eq!(ordered(), before);
    // Now it is booked, after a look.
    let check = run(at, &format!("{NOTE} --check"));
    assert_eq!((check.status.code(), ordered()), (Some(6), before.clone()));
    assert!(
        out(&check).starts_with("3 pieces would be booked as received\n"),
        "{}",
        out(&check)
    );
    let booked = run(at, NOTE);
    assert_eq!(booked.status.code(), Some(0), "{}", err(&booked));
    let told = "1 line not booked, since nothing of the kind is on order";
    assert!(out(&booked).contains(told), "{}", out(&booked));
    let by_hand = before.replace(
        "C10,Example North,5,4.20,2026-01-02,,",
        "C10,Example North,5,4.20,2026-01-02,3,",
    );
    assert_eq!(ordered(), by_hand);
    // Two are left, so the same note does not fit again.
    let again = run(at, NOTE);
    assert_eq!((again.status.code(), ordered()), (Some(1), by_hand));
    assert!(err(&again).contains("note.csv:4: 3 of part C10 came, but only 2 are outstanding"));
    // Nothing of a note that is all strange is booked.
    fs::write(
        at.join("note.csv"),
        "Art.-Nr.;Bezeichnung;Liefermenge\nX;y;1\n",
    )
    .unwrap();
    for more in ["", " --check"] {
        let none = run(at, &format!("{NOTE}{more}"));
        assert_eq!(none.status.code(), Some(0), "{}", err(&none));
        assert!(
            out(&none)
                .starts_with("nothing that is on order came, so nothing was booked\n\n1 line")
        );
    }
}

#[test]
fn our_own_order_comes_back_whole() {
    let folder = placed();
    let at = folder.path();
    let ours = fs::read_to_string(at.join("ours.csv")).unwrap();
    // Of the first line two come, and nothing of the second.
    let mut lines: Vec<String> = ours.lines().map(str::to_owned).collect();
    lines[1] = lines[1].replace(",5,5,4.20,", ",2,5,4.20,");
    lines[2] = lines[2].replace(",4,4,3.10,", ",0,4,3.10,");
    fs::write(at.join("part.csv"), lines.join("\n")).unwrap();
    let part = run(at, "receive boat part.csv --on 2026-01-20");
    assert_eq!(part.status.code(), Some(0), "{}", err(&part));
    let open = out(&run(
        at,
        "order boat --outstanding --as-of 2026-01-20 --format csv",
    ));
    let rows: Vec<&str> = open.lines().collect();
    assert_eq!(
        rows,
        [
            "supplier,part,sku,ordered,received,outstanding,ordered_on,due,days_late,note",
            "Example North,C10,N-1026,5,2,3,2026-01-02,2026-01-07,13,",
            "Example North,C10-RA,N-1027,4,0,4,2026-01-02,2026-01-07,13,",
        ]
    );
    // The rest, as a note this time.
    lines[1] = lines[1].replace(",2,5,4.20,", ",3,5,4.20,");
    lines[2] = lines[2].replace(",0,4,3.10,", ",4,4,3.10,");
    fs::write(at.join("rest.csv"), lines[..3].join("\n")).unwrap();
    let rest = run(at, "receive boat --note rest.csv --on 2026-01-21");
    assert_eq!(rest.status.code(), Some(0), "{}", err(&rest));
    let open = run(at, "order boat --outstanding");
    assert_eq!(
        (open.status.code(), out(&open).as_str()),
        (Some(0), "nothing is outstanding\n")
    );
    let of = "order boat --outstanding --supplier Example_North";
    let north = "nothing is outstanding from Example North\n";
    assert_eq!(out(&run(at, of)), north);
    let both = run(at, &format!("{of} --supplier Example_South"));
    let said = "nothing is outstanding from Example North or Example South\n";
    assert_eq!(out(&both), said);
    let json = run(
        at,
        "order boat --outstanding --as-of 2026-01-20 --format json",
    );
    assert!(out(&json).contains("\"suppliers\": []"), "{}", out(&json));
}

#[test]
fn outstanding_needs_no_plan() {
    let folder = placed();
    let at = folder.path();
    fs::remove_file(at.join("boat/plan.json")).unwrap();
    let open = run(
        at,
        "order boat --outstanding --as-of 2026-01-08 --supplier Example_North",
    );
    assert_eq!(open.status.code(), Some(0), "{}", err(&open));
    let text = out(&open);
    let begins = "As of 2026-01-08: 15 lines outstanding, 15 late\n\n\
                  Outstanding from Example North\n";
    assert!(text.starts_with(begins), "{text}");
    assert!(text.contains("2026-01-07  1 day"), "{text}");
    let day = out(&run(at, "order boat --outstanding --as-of 2026-01-07"));
    assert!(
        day.starts_with("As of 2026-01-07: 29 lines outstanding, none is known to be late\n"),
        "{day}"
    );
    for words in [
        "order boat --outstanding --place",
        "order boat --outstanding --on 2026-01-02",
        "order boat --outstanding --xlsx x.xlsx",
        "order boat --as-of 2026-01-02",
        "order boat --supplier Example_North",
        "order boat --confirm ours.csv --supplier Example_North --supplier Example_South",
        "receive boat --note note.csv --part C10 --qty 1",
        "receive boat --note note.csv --qty 1",
        "receive boat note.csv --check --dry-run",
    ] {
        assert_eq!(run(at, words).status.code(), Some(2), "{words}");
    }
}

#[test]
fn a_confirmation_is_held_against_the_order() {
    let folder = planned();
    let at = folder.path();
    // Nothing is placed yet: the plan tells.
    let plan = run(at, "order boat --confirm ours.csv --on 2026-01-02");
    assert_eq!(plan.status.code(), Some(0), "{}", err(&plan));
    assert_eq!(
        out(&plan),
        "Example North: nothing is placed, so held against the order of the plan as if it were placed on\n  \
         2026-01-02\n\
         Example South: nothing is placed, so held against the order of the plan as if it were placed on\n  \
         2026-01-02\n\
         29 of 29 lines confirmed: all of it agrees\n\
         days are not compared: the file has none\n"
    );
    let folder = placed();
    let at = folder.path();
    let recipe = at.join("boat/catalog/lists/Example-North.confirmation.toml");
    let confirm = "order boat --confirm confirmation.csv --supplier Example_North";
    let first = run(at, confirm);
    assert_eq!(
        (first.status.code(), recipe.exists()),
        (Some(0), true),
        "{}",
        err(&first)
    );
    assert!(
        out(&first).contains("2 lines, 2 of ours; nothing was compared"),
        "{}",
        out(&first)
    );
    let held = run(at, confirm);
    assert_eq!(held.status.code(), Some(6), "{}", err(&held));
    let text = out(&held);
    let begins = "Example North: held against what is outstanding of the order of 2026-01-02\n\
                  2 of 15 lines confirmed: not all of it agrees\n\n\
                  2 things differ from the order\n\
                  part    sku     what   ordered     confirmed   change        row\n\
                  ------- ------- ------ ----------- ----------- ------------- ---\n\
                  C10-RA  N-1027  price  3.10        3.15        +0.05           3\n\
                  C10-RA  N-1027  day    2026-01-07  2026-01-14  7 days later    3\n\n\
                  13 lines of the order not confirmed\n";
    assert!(text.starts_with(begins), "{text}");
    let csv = out(&run(at, &format!("{confirm} --format csv")));
    let price = "price,Example North,C10-RA,N-1027,3.10,3.15,+0.05,3,";
    assert!(csv.lines().any(|line| line == price), "{csv}");
    assert!(
        csv.lines()
            .any(|line| line == "missing,Example North,C4,N-1029,2,,,,"),
        "{csv}"
    );
}

#[test]
fn what_is_only_alike_is_proposed_with_the_line_that_says_yes() {
    let folder = placed();
    let at = folder.path();
    let note = "Art.-Nr.;Bezeichnung;Liefermenge\nn 1026;back shell;3\n1 027;shell;1\n";
    fs::write(at.join("note.csv"), note).unwrap();
    run(at, NOTE);
    let recipe = at.join("boat/catalog/lists/Example-North.delivery.toml");
    let text = fs::read_to_string(&recipe).unwrap();
    let line = "\"n 1026\" = [\"C10\"]";
    let proposed = format!("\n# {line}  # 95 % sure: the article number, but for case");
    assert!(text.contains(&proposed), "{text}");
    let none = run(at, NOTE);
    for said in [
        "C10, 95 % sure",
        "the article number, but for case, spaces and",
        "say yes by a line under [parts]",
        line,
    ] {
        let shown = out(&none).replace("\n  ", " ");
        assert!(shown.contains(said), "{said}: {}", out(&none));
    }
    fs::write(&recipe, format!("{text}{line}\n")).unwrap();
    let booked = run(at, NOTE);
    let first = "3 pieces booked as received\n";
    assert!(out(&booked).starts_with(first), "{}", out(&booked));
    // The same in a confirmation.
    let confirmation = "Item no.;Qty;Unit price per piece\nn1027;4;3,10\n";
    fs::write(at.join("confirmation.csv"), confirmation).unwrap();
    let words = "order boat --confirm confirmation.csv --supplier Example_North";
    run(at, words);
    let differs = run(at, words);
    assert_eq!(differs.status.code(), Some(6), "{}", err(&differs));
    let shown = out(&differs);
    assert!(shown.contains("C10-RA, 95 % sure"), "{shown}");
    let yes = "\"n1027\" = [\"C10-RA\"]";
    assert!(shown.replace("\n  ", " ").contains(yes), "{shown}");
    let csv = out(&run(at, &format!("{words} --format csv")));
    let notes = "no part of ours has this article number; perhaps C10-RA, 95 % sure";
    assert!(csv.contains(notes), "{csv}");
}
