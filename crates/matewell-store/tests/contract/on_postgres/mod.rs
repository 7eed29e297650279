//! The promises on PostgreSQL.

mod engine;

#[path = "../cases.rs"]
mod cases;
#[path = "../cut.rs"]
mod cut;
#[path = "../kept.rs"]
mod kept;
#[path = "../log.rs"]
mod log;
#[path = "../marks.rs"]
mod marks;
#[path = "../moved.rs"]
mod moved;
#[path = "../replica.rs"]
mod replica;
#[path = "../story.rs"]
mod story;
#[path = "../tamper.rs"]
mod tamper;
