//! Documents: kits add up, hostile text stays text, pages hold in a browser.

#[path = "../../benches/generate/mod.rs"]
#[allow(dead_code)]
mod generate;
#[path = "../support/mod.rs"]
mod support;

mod any_plan;
mod browser;
mod documents;
mod drawn;
mod hostile;
mod kits;
