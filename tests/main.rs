//! One test binary; files by kind of evidence.
#![allow(missing_docs)] // tests say what they show in their names
#![allow(clippy::print_stdout)]

mod closed_form;
mod commands;
mod common;
mod cross_code;
mod evidence;
mod golden;
mod plots;
mod published;
mod robustness;
mod trends;
