//! The examples in the help of each command. A test of the command line parses every one.

use couplet::trial::FORMS;

/// Of the program.
pub const MAIN: &str = "\
Examples:
  couplet new boat             write a project to start from
  couplet check boat           read the project and show what is wrong
  couplet plan boat            find the cheapest compatible set
  couplet order boat           show what to order

Exit status:
  0  done
  1  the input has errors (all are shown)
  2  the command line is wrong, or a result cannot be written
  3  no compatible set exists (why is shown)
  4  the time ran out, or Ctrl-C came, before any plan was found
  5  the program found its own answer wrong (nothing is written)
  6  a --check found that something would change, or a confirmation differs
  130  Ctrl-C came before the result was whole";

/// Of `check`.
pub const CHECK: &str = "\
Examples:
  couplet check boat
  couplet check boat --prices boat/prices-spring.csv
  couplet check boat --format json";

/// Of `plan`.
pub const PLAN: &str = "\
Examples:
  couplet plan boat
  couplet plan                 in the folder of the project
  couplet plan boat --time-limit 60 --gap 0.5
  couplet plan boat --progress json    tell other programs how the search goes
  couplet plan boat --prices boat/prices-spring.csv --as-of 2025-03-31
  couplet plan boat --out spring.json --format csv
  couplet plan boat --out -";

/// Of `order`.
pub const ORDER: &str = "\
Examples:
  couplet order boat
  couplet order boat --out-dir boat/orders
  couplet order boat --plan spring.json --format csv
  couplet order boat --place --on 2025-04-02
  couplet order boat --place --supplier 'Example North' --dry-run
  couplet order boat --xlsx boat/orders.xlsx
  couplet order boat --outstanding --as-of 2025-05-02
  couplet order boat --confirm confirmation.xlsx --supplier 'Example North'";

/// Of `take`.
pub const TAKE: &str = "\
Examples:
  couplet take boat 'Example North' spring.xlsx
  couplet take 'Example North' spring.xlsx                      of the project in this folder
  couplet take boat/catalog 'Example North' spring.csv --check
  couplet take boat 'Example North' spring.csv --out boat/prices-spring.csv
  couplet take boat 'Example North' spring.csv --new new-parts.csv --dated 2025-03-31";

/// Of `parts`.
pub const PARTS: &str = "\
Examples:
  couplet parts boat --kind ferrule --gauge '2/0 AWG'
  couplet parts boat --interface S10 --current 150
  couplet parts boat --used-by boat/plan.json
  couplet parts --catalog boat/catalog --format csv";

/// Of `new`.
pub const NEW: &str = "\
Examples:
  couplet new boat";

/// Of `completions`.
pub const COMPLETIONS: &str = "\
Examples:
  couplet completions bash
  couplet completions fish";

/// Of `man`.
pub const MAN: &str = "\
Examples:
  couplet man
  couplet man --out-dir man1";

/// Of `keys`.
pub const KEYS: &str = "\
Examples:
  couplet keys boat
  couplet keys boat --plan spring.json --format csv";

/// Of `why`.
pub const WHY: &str = "\
Examples:
  couplet why boat traction
  couplet why traction         in the folder of the project
  couplet why boat traction --net HV+ --end from --all
  couplet why boat traction --part P10-A-RA";
/// Of `compare`.
pub const COMPARE: &str = "\
Examples:
  couplet compare boat boat-with-thin-cables
  couplet compare boat/plan.json spring.json autumn.json
  couplet compare boat --before
  couplet compare boat tender --format html --out compared.html";

/// Of `trial`.
pub const TRIAL: &str = "\
Examples:
  couplet trial boat 'ambient 50'
  couplet trial boat 'circuit charger gauge \"25 mm2\"' 'without supplier \"Example North\"'
  couplet trial boat 'thin: circuit charger gauge \"25 mm2\"; at most 30 variants' --save
  couplet trial boat           run the trials of trials.toml again
  couplet trial boat --keep thin    write the changes of this trial into the files";

/// The examples of `trial`, and the forms of a change.
pub fn trial() -> String {
    let longest = FORMS
        .iter()
        .map(|(form, _)| form.len())
        .max()
        .unwrap_or_default();
    let lines = FORMS
        .iter()
        .map(|(form, what)| format!("\n  {form:longest$}  {what}"));
    let lines: String = lines.collect();
    format!("Changes:{lines}\n\n{TRIAL}")
}

/// Of `prices`.
pub const PRICES: &str = "\
Examples:
  couplet prices prices-spring.csv prices-autumn.csv
  couplet prices boat/catalog/prices.csv boat/prices-autumn.csv --plan boat --format csv
  couplet prices boat --history
  couplet prices boat/catalog --history --part C10 --svg c10.svg";

/// Of `reprice`.
pub const REPRICE: &str = "\
Examples:
  couplet reprice boat --prices boat/prices-autumn.csv
  couplet reprice boat --prices boat/prices-autumn.csv --check
  couplet reprice boat --prices boat/prices-autumn.csv --keep parts --format csv";

/// Of `receive`.
pub const RECEIVE: &str = "\
Examples:
  couplet receive boat --part P10-A --qty 4 --on 2025-04-09
  couplet receive boat --part P10-A --qty 4 --sku S-2001
  couplet receive boat delivery.csv
  couplet receive delivery.csv  in the folder of the project
  couplet receive boat delivery.csv --dry-run
  couplet receive boat --note note.xlsx --supplier 'Example North'
  couplet receive boat --note note.xlsx --supplier 'Example North' --check";
/// Of `consolidate`.
pub const CONSOLIDATE: &str = "\
Examples:
  couplet consolidate boat
  couplet consolidate boat --by suppliers --svg suppliers.svg
  couplet consolidate boat --to 12 --time-limit 300";

/// Of `budget`.
pub const BUDGET: &str = "\
Examples:
  couplet budget boat
  couplet budget boat --svg budget.svg
  couplet budget boat --rise 5
  couplet budget boat --rise 12.5 --supplier 'Example North'
  couplet budget boat --rise 8 --kind plug --format csv";

/// Of `breakeven`.
pub const BREAKEVEN: &str = "\
Examples:
  couplet breakeven boat
  couplet breakeven boat --part F10-50
  couplet breakeven boat --progress json --format json
  couplet breakeven boat --svg prices.svg --format csv";
/// Of `report`.
pub const REPORT: &str = "\
Examples:
  couplet report boat --out report.html
  couplet report boat --time-limit 120 --out report.html
  couplet report boat --plan spring.json --no-frontier --out spring.html";

/// Of `kit`.
pub const KIT: &str = "\
Examples:
  couplet kit boat
  couplet kit boat --format csv
  couplet kit boat --format html --out kits.html
  couplet kit series --machine ferry --copy 3";

/// Of `cards`.
pub const CARDS: &str = "\
Examples:
  couplet cards boat --out cards.html
  couplet cards series --machine ferry --out ferries.html";

/// Of `labels`.
pub const LABELS: &str = "\
Examples:
  couplet labels boat
  couplet labels boat --format html --out labels.html
  couplet labels series --machine ferry --copy 3";

/// Of `schema`.
pub const SCHEMA: &str = "\
Examples:
  couplet schema               list them
  couplet schema plan
  couplet schema breakeven";

/// Of `convert`.
pub const CONVERT: &str = "\
Examples:
  couplet convert boat/catalog boat/catalog.xlsx
  couplet convert boat/catalog.xlsx boat/catalog --force";
