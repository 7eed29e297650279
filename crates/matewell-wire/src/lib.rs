//! What do JSON answers and exports look like?
//!
//! Shapes of version 1, shared by the command line (`--json`) and HTTP. Each
//! is converted by hand from what the core said; nothing is decided here.
//! Keys carry units. Times are RFC 3339 in UTC.

mod case;
mod check;
mod clean;
mod common;
mod dossier;
mod drift;
mod end;
mod gauging;
mod interfaces;
mod kit;
mod line;
mod line_asked;
mod look;
mod merge;
mod people;
mod policy;
mod register;
mod rig;
mod sent;
mod signed;
mod study;
mod study_asked;
mod surroundings;
mod sweep;
mod sweep_asked;
mod time;
mod tool;
mod trace;
mod webhook;

pub use case::{
    CaseAlarmJson, CaseChangesJson, CaseDecisionJson, CaseEndJson, CaseEvidenceJson, CaseJson, CaseListJson,
    CaseMissingJson, CaseReachedJson, CaseRecordLineJson, CaseResultJson, CaseRowJson, CaseStartJson,
    CaseToolStartJson, CaseTouchedJson, CaseWrittenJson,
};
pub use check::{CautionJson, JointGapJson, MateCheckJson, TorqueAdviceJson, WrenchJson};
pub use clean::CleanGuideJson;
pub use common::{EndNameJson, FindingJson, Names, NumberJson, OriginJson, PinJson};
pub use dossier::{CaseDossierJson, DossierGaugingJson, DossierResultJson, EndDossierJson, LogHeadJson};
pub use drift::{DriftBandJson, DriftForecastJson, DriftJson, DriftPhaseJson, DriftPointJson};
pub use end::{
    DueJson, DueListJson, EndJson, EndListJson, EndRowJson, EndStandingJson, EventJson, FollowUpJson,
    ItemJson,
};
pub use gauging::{
    BudgetLineJson, EntryQuestionJson, GaugingAsked, GaugingBudgetJson, GaugingPictureJson, PinHistoryJson,
    PinPointJson, PositionAsked, PositionJson,
};
pub use interfaces::{InterfaceJson, InterfaceListJson};
pub use kit::{
    KitJson, KitListJson, KitPieceJson, KitRowJson, LaidJson, PieceAsked, ReservationJson, StorageJson,
    WaitJson,
};
pub use line::{
    ChainJson, ConvertJson, CostJson, CutoffJson, GapJson, ImpedanceJson, LineAnswerJson, LineFindingJson,
    LossJson, MismatchJson, OffCentreJson, ReflectionJson, ShiftJson, StepJson, SweepJson, UsableJson,
};
pub use line_asked::{
    AirAsked, ChainAsked, ConvertAsked, CostAsked, CutoffAsked, GapAsked, ImpedanceAsked, LineTexts,
    LossAsked, MismatchAsked, OffCentreAsked, RecessAsked, ShiftAsked, SlotsAsked, StepAsked, ThermalAsked,
    UsableAsked,
};
pub use look::{
    EndLookJson, FacePlaceJson, FaceZoneJson, LookAsked, LookCautionJson, LookGuideJson, LookWordsJson,
    SheetNumberJson,
};
pub use merge::{MergeJson, MergeMachineJson, MergeQuestionJson};
pub use people::{
    AuthorisationJson, NewTokenJson, PeopleJson, PersonJson, RightChangeJson, RightChangesJson, SessionJson,
    TokenJson, WhoJson,
};
pub use policy::{
    OwnFileJson, OwnValueJson, PolicyChangeJson, PolicyJson, PolicyRowJson, PolicyTakenUpOnRecordJson,
};
pub use register::{
    EndAsked, EndCaseJson, EndKeptJson, EndSweepJson, ItemAsked, ItemEndJson, ItemKeptJson, ItemLookJson,
    ItemPageJson, PutAwayJson,
};
pub use rig::{RigCheckJson, RigMateJson, RigReasonJson};
pub use sent::{ChainEndJson, FactsAsked, SENT_FORMAT, SentFactJson, SentHeadJson, SentLastJson};
pub use signed::{DossierFactJson, DossierSignatureJson, DossierVerdictJson, SignedDossierJson};
pub use study::{
    AnovaRowJson, AverageAndRangeJson, ChartJson, ChartPhaseJson, ChartPointJson, CompareJson, ComparedJson,
    ComponentJson, GaugeStudyJson, NestedDayJson, NestedStudyJson, OneDayJson, SpreadJson, StudyAnswerJson,
    StudyCellJson, StudyFindingJson, TorqueStudyJson, TorqueTypeJson, WindowRowJson, WindowsJson,
};
pub use study_asked::{
    ChartAsked, CompareAsked, DriftAsked, GaugeStudyAsked, NestedStudyAsked, TableTexts, TorqueStudyAsked,
    WindowAsked,
};
pub use surroundings::{AirJson, SlotsJson, ThermalJson};
pub use sweep::{
    ColumnsJson, EllipseJson, GapIfCauseJson, JointJson, PassivityJson, QualityMetricsJson, ReachJson,
    ReciprocityJson, ReconnectGroupJson, ReconnectJson, ReconnectTestJson, SectionJson, SweepCableJson,
    SweepCheckJson, SweepCompareJson, SweepFileJson, SweepGridJson, SweepListJson, SweepMaskJson,
    SweepReadJson, SweepRefJson, SweepRowJson, SweepTimeJson, SweepTraceJson, SweepTrendJson,
    SweepWarningJson, TrendPointJson,
};
pub use sweep_asked::{
    SweepAddAsked, SweepCableAsked, SweepCheckAsked, SweepCompareAsked, SweepMaskAsked, SweepReadAsked,
    SweepReconnectAsked, SweepTimeAsked, SweepTraceAsked, SweepTrendAsked,
};
pub use time::{moment_text, parse_moment};
pub use tool::{
    CertificateInForceJson, JointInDoubtJson, LastCheckJson, MateMeanwhileJson, RecomputedJson,
    ToolCheckAsked, ToolJson, ToolListJson, ToolRowJson, TorqueCheckJson, UntouchedJson, WasOffAsked,
    WasOffJson,
};
pub use trace::{
    BackStretchJson, BackTraceJson, CandidateJson, CarrierJson, CommonJson, CommonTraceJson, CostOfItemJson,
    ExposedJson, KnownMomentJson, ProbabilityJson, ResultInDoubtJson, StretchJson, ThroughJson,
    ToolTraceJson, ToolUseJson, TraceJson, TraceModelJson, TraceSourceJson, TraceStepJson, WhatIfChangedJson,
    WhatIfJson,
};
pub use webhook::{NewWebhookJson, WebhookJson, WebhooksJson};
