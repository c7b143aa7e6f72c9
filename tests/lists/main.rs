//! Suppliers' lists: a generator writes a known price table in many layouts, and taking the
//! list brings exactly that table back; what changes from list to list; every message.

mod bench;
mod cli;
mod examples;
mod history;
mod hostile;
mod known;
mod layout;
mod manual;
mod messages;
mod proposals;
mod recipes;
mod shop;
mod taken;
mod write;
