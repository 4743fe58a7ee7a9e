//! Studies: small cases by hand or by an independent calculation, and golden findings.

mod adjust;
mod advice;
mod align;
mod batched;
mod challenges;
mod compare;
mod example;
mod identify_bench;
mod identify_stride;
mod inputs;
mod lessons;
mod next;
mod recheck;
mod region;
mod rules;
mod sweep;
mod uncertainty;
mod window;
