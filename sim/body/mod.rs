//! The person and the limb below the knee.

pub mod alignment;
pub mod anthropometry;
pub mod person;
pub mod prosthesis;

pub use alignment::Alignment;
pub use person::{Person, PreswingHabit};
pub use prosthesis::{Part, Prosthesis, Shank};
