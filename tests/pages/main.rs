//! Documents: kits add up, hostile text stays text, pages hold in a browser.

#[path = "../../benches/generate/mod.rs"]
#[allow(dead_code)]
mod generate;
#[path = "../common/needs.rs"]
mod needs;
#[path = "../support/mod.rs"]
mod support;

mod any_plan;
mod bench;
mod browser;
mod documents;
mod drawn;
mod figures;
mod full;
mod hostile;
mod html;
mod keyed;
mod kits;
