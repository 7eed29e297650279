//! What do JSON answers and exports look like?
//!
//! Shapes of version 1, shared by the command line (`--json`) and HTTP. Each
//! is converted by hand from what the core said; nothing is decided here.
//! Keys carry units. Times are RFC 3339 in UTC.

mod check;
mod common;
mod end;
mod gauging;
mod line;
mod line_asked;
mod time;
mod tool;

pub use check::{CautionJson, JointGapJson, MateCheckJson, TorqueAdviceJson, WrenchJson};
pub use common::{EndNameJson, FindingJson, Names, NumberJson, OriginJson, PinJson};
pub use end::{
    DueJson, DueListJson, EndJson, EndListJson, EndRowJson, EndStandingJson, EventJson, FollowUpJson,
    ItemJson,
};
pub use gauging::{
    BudgetLineJson, EntryQuestionJson, GaugingAsked, GaugingBudgetJson, GaugingPictureJson, PinHistoryJson,
    PinPointJson, PositionAsked, PositionJson,
};
pub use line::{
    ChainJson, ConvertJson, CostJson, CutoffJson, GapJson, ImpedanceJson, LineAnswerJson, LineFindingJson,
    LossJson, MismatchJson, OffCentreJson, ReflectionJson, ShiftJson, StepJson, SweepJson, UsableJson,
};
pub use line_asked::{
    ChainAsked, ConvertAsked, CostAsked, CutoffAsked, GapAsked, ImpedanceAsked, LineTexts, LossAsked,
    MismatchAsked, OffCentreAsked, RecessAsked, ShiftAsked, StepAsked, UsableAsked,
};
pub use time::{moment_text, parse_moment};
pub use tool::{
    JointInDoubtJson, MateMeanwhileJson, RecomputedJson, ToolCheckAsked, TorqueCheckJson, UntouchedJson,
    WasOffAsked, WasOffJson,
};
