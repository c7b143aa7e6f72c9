//! No bytes in any file may cause a panic; and whatever is wrong has a place
//! and a cure.

use crate::support::{FILES, Project};
use couplet::diag::Level;
use proptest::prelude::*;

/// What commands write beside the project.
const PLACED: [(&str, &str); 2] = [
    (
        "ordered.csv",
        "part,supplier,qty,unit_price,ordered_on,received,charges,sku\nP-1,Nord,2,30,2026-04-01,,,N1\n",
    ),
    (
        "dies_ordered.csv",
        "die,cost,ordered_on\nD-1,120,2026-04-01\n",
    ),
];

/// Loads the project; every error has a cure, and it stays on one line.
fn survives(project: &Project) {
    for finding in project.load().findings.iter() {
        assert!(!finding.file.is_empty());
        assert!(
            finding.level == Level::Warning || finding.help.is_some(),
            "{finding:?}"
        );
        let shown = [
            finding.place(),
            finding.message.clone(),
            finding.help.clone().unwrap_or_default(),
        ];
        assert!(!shown.concat().contains(char::is_control), "{finding:?}");
        assert!(!finding.message.ends_with('.'), "{finding:?}");
    }
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        "[ -~]{0,12}",
        "[0-9]{1,30}",
        "-?[0-9]{1,12}[.,][0-9]{1,12}",
        "\\PC{0,8}",
        prop::sample::select(vec![
            "plug",
            "crimp",
            "P-1",
            "S-1",
            "Nord",
            "70 mm2",
            "IP67",
            "NaN",
            "1e400",
            "\"",
            "#",
            "\u{feff}",
            "9999-12-31",
            "-9999-01-01",
            "EUR",
            "none",
            "\0",
        ])
        .prop_map(str::to_owned),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn random_bytes(file in 0..FILES.len(), bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let project = Project::new();
        project.write(FILES[file].0, bytes);
        survives(&project);
    }

    #[test]
    fn random_bytes_after_the_sound_text(
        file in 0..FILES.len(),
        bytes in prop::collection::vec(any::<u8>(), 0..100),
    ) {
        let project = Project::new();
        let mut all = FILES[file].1.as_bytes().to_vec();
        all.extend(bytes);
        project.write(FILES[file].0, all);
        survives(&project);
    }

    #[test]
    fn one_byte_changed(file in 0..FILES.len(), at in any::<prop::sample::Index>(), byte in any::<u8>()) {
        let project = Project::new();
        let mut all = FILES[file].1.as_bytes().to_vec();
        let at = at.index(all.len());
        all[at] = byte;
        project.write(FILES[file].0, all);
        survives(&project);
    }

    #[test]
    fn random_cells(file in 1..FILES.len(), rows in prop::collection::vec(prop::collection::vec(cell(), 21), 0..6)) {
        let project = Project::new();
        let text = FILES[file].1;
        let header = text.lines().next().unwrap();
        let width = header.split(',').count();
        let mut all = text.to_owned();
        for row in rows {
            all.push_str(&row[..width].join(","));
            all.push('\n');
        }
        project.write(FILES[file].0, all);
        survives(&project);
    }

    #[test]
    fn random_placed(file in 0..PLACED.len(), rows in prop::collection::vec(prop::collection::vec(cell(), 8), 0..6)) {
        let project = Project::new();
        let (name, text) = PLACED[file];
        let width = text.lines().next().unwrap().split(',').count();
        let mut all = text.to_owned();
        for row in rows {
            all.push_str(&row[..width].join(","));
            all.push('\n');
        }
        project.write(name, all);
        survives(&project);
    }

    #[test]
    fn random_settings(keys in prop::collection::vec((prop::sample::select(vec![
        "name", "currency", "catalog", "prices", "ambient_c", "rates", "keying", "spares", "budget",
        "exclude_parts", "max_variants", "tax_percent", "[rates]\nUSD", "[rates]\n\"\\u001b[1m\"", "[[spares]]\nkind", "[budget]\nlimit",
    ]), prop_oneof![
        cell(), cell().prop_map(|c| format!("{c:?}")), cell().prop_map(|c| format!("[{c:?}]")),
        Just("{ a = 1 }".to_owned()), Just("[[1]]".to_owned()), Just("1e999".to_owned()),
    ]), 0..8)) {
        let project = Project::new();
        let lines: Vec<String> = keys.into_iter().map(|(k, v)| format!("{k} = {v}")).collect();
        project.write("project.toml", lines.join("\n"));
        survives(&project);
    }
}
