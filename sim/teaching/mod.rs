//! Teaching: lessons, the printable sheet, animations, and the models that a page can run.

pub mod animation;
pub mod challenge_session;
pub mod challenges;
pub mod gait;
pub mod lesson_answers;
pub mod lesson_grid;
pub mod lesson_runs;
pub mod lessons;
#[cfg(feature = "page")]
mod model_files;
pub mod model_set;
pub mod sheet;
pub mod sound_leg;
pub mod worst;

pub use lessons::{LESSONS, Lesson, lesson};
pub use model_set::ModelSet;
