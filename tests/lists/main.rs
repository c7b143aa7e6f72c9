//! Suppliers' lists: a generator writes a known price table in many layouts, and taking the
//! list brings exactly that table back; what changes from list to list; delivery notes and
//! confirmations in the same layouts; every message.

mod bench;
mod cli;
mod confirmed;
mod delivered;
mod doubts;
mod edges;
mod examples;
mod history;
mod hostile;
mod known;
mod layout;
mod letter;
mod letter_cli;
mod manual;
mod messages;
mod proposals;
mod recipes;
mod renamed;
mod shop;
mod taken;
mod write;
mod yard;
