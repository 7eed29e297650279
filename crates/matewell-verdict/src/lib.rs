//! May it be used, with what, why, and what next?
//!
//! Standing of an end at a moment, and the mate check of two ends. Same facts,
//! same data sheets, same policy, same moment: same answer, for ever. Nothing
//! here knows the time, a file or a database.

mod answer;
mod book;
mod check;
mod digits;
mod due;
mod gauging;
mod pin;
mod session;
mod standing;
mod was_off;

pub use answer::{
    Answer, Caution, EndJudgement, Finding, JointGap, MateCheck, Number, Origin, PinDecision, PinKnowledge,
    Standing, TorqueAdvice, Weight,
};
pub use book::{Book, GaugeLine, Policy};
pub use check::{MateQuestion, Partner, Tool, mate_check};
pub use due::{
    Due, DueTask, KitStanding, ToolStanding, due_of_end, due_of_kit, due_of_tool, kit_standing, tool_standing,
};
pub use gauging::{GaugingJudged, coarse_method, decide, evaluate_gauging, judge_gauging};
pub use pin::pin_knowledge;
pub use session::{order_of_work, session_findings, tool_in_date};
pub use standing::{Exposure, Known, judge_end};
pub use was_off::{JointInDoubt, rank_joints, recomputed, with_offset};
