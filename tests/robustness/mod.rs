//! Bad input (checks F): every file is refused with file, line and field, never a panic.

mod at_rest;
mod drives;
mod files;
mod fuzz;
mod given_up;
mod joint_angles;
mod one_line;
mod random_inputs;
mod table_reader;
mod texts;
mod values;
