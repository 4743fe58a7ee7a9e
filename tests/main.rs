//! One test binary; files by kind of evidence.
#![allow(missing_docs)] // tests say what they show in their names
#![allow(clippy::print_stdout)]

mod accuracy;
mod closed_form;
mod commands;
mod common;
mod cross_code;
mod documents;
mod evidence;
mod golden;
mod house;
mod page;
mod plots;
mod published;
mod robustness;
mod studies;
mod trends;
