//! Reading and checking: what is read, and the exact words of every message.

mod catalog;
mod cross;
mod edit;
mod facts;
mod files;
mod garbage;
mod limits;
mod project;
mod settings;
mod support;
mod warnings;
