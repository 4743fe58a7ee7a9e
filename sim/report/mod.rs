//! Reports: Findings, traces and outcomes in each format. Knows no study.

pub mod drive_table;
