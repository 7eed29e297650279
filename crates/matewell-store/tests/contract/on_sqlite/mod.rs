//! The promises on SQLite.

mod engine;

#[path = "../back_up.rs"]
mod back_up;
#[path = "../cases.rs"]
mod cases;
#[path = "../kept.rs"]
mod kept;
#[path = "../log.rs"]
mod log;
#[path = "../marks.rs"]
mod marks;
#[path = "../moved.rs"]
mod moved;
#[path = "../people.rs"]
mod people;
#[path = "../sent.rs"]
mod sent;
#[path = "../story.rs"]
mod story;
#[path = "../tamper.rs"]
mod tamper;
