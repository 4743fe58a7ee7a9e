//! Bad input (checks F): every file is refused with file, line and field, never a panic.

mod files;
mod given_up;
mod joint_angles;
mod table_reader;
mod values;
