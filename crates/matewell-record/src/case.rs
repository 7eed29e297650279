//! Facts of a case, to and from their payloads.

use crate::{
    RecordError,
    moment::{moment_from_text, moment_text},
    text,
};
use matewell_lab::{
    CaseChanged, CaseClosed, CaseOpened, CaseReach, CaseSource, CaseTool, EndDisposed, EndDisposition, EndId,
    FactId, ItemId, Moment, ResultDisposed, ResultDisposition, Subject, Taint,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// An end found bad, as a case takes it.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseSourceJson {
    /// The end.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub end: EndId,
    /// Last known good, RFC 3339.
    #[schema(format = DateTime)]
    pub last_known_good: String,
    /// First evidence that it is bad, RFC 3339.
    #[schema(format = DateTime)]
    pub first_evidence: String,
}

/// A tool that was off, as a case takes it.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseToolJson {
    /// The tool.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub tool: ItemId,
    /// Last known good, RFC 3339.
    #[schema(format = DateTime)]
    pub last_known_good: String,
    /// First evidence that it is off, RFC 3339.
    #[schema(format = DateTime)]
    pub first_evidence: String,
}

/// An exposed end or gauge that a case takes in, exactly one of `end` and
/// `item`. Exposed is not damaged.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseReachJson {
    /// The end.
    #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = "uuid")]
    pub end: Option<EndId>,
    /// The gauge.
    #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = "uuid")]
    pub item: Option<ItemId>,
    /// Earliest arrival counted from last known good, RFC 3339.
    #[schema(format = DateTime)]
    pub arrived_at: String,
    /// Earliest arrival counted from first evidence, RFC 3339; left out: only possible.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    pub definite_at: Option<String>,
    /// Fewest contacts from a source.
    pub hops: u32,
}

/// `case-opened`: the id of this fact names the case.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseOpenedJson {
    /// What people call it.
    pub name: String,
    /// Why.
    pub because: String,
    /// The ends found bad.
    pub sources: Vec<CaseSourceJson>,
    /// The tools that were off.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tools: Vec<CaseToolJson>,
    /// `deformation`, `particles`, `residue` or `unknown`.
    pub taint: String,
    /// The exposed ends it takes in.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reached: Vec<CaseReachJson>,
    /// The results it takes in, by the fact that noted them.
    #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub results: Vec<FactId>,
    /// The holds it set or took over.
    #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub holds: Vec<FactId>,
}

/// `case-changed`: a case takes in more, or sets ends aside.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseChangedJson {
    /// The case.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub case: FactId,
    /// Exposed ends it takes in as well, or anew.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub reached: Vec<CaseReachJson>,
    /// Results it takes in as well.
    #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub results: Vec<FactId>,
    /// Ends that are no longer its business.
    #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub set_aside: Vec<EndId>,
    /// Gauges that are no longer its business.
    #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub set_aside_items: Vec<ItemId>,
    /// The holds it set or took over with this.
    #[serde(default, with = "text::id_list", skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<String>)]
    pub holds: Vec<FactId>,
    /// Why.
    pub because: String,
}

/// What was decided about an end of a case.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum EndDispositionJson {
    /// Verified by this fact.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    Cleared(FactId),
    /// It is damaged.
    Damaged,
    /// Left as it is until then, RFC 3339.
    Waived(String),
}

/// `end-disposed`: exactly one of `end` and `item`, of a case, was decided about.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EndDisposedJson {
    /// The case.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub case: FactId,
    /// The end.
    #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = "uuid")]
    pub end: Option<EndId>,
    /// The gauge.
    #[serde(default, with = "text::id_option", skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = "uuid")]
    pub item: Option<ItemId>,
    /// The decision.
    pub disposition: EndDispositionJson,
    /// Why.
    pub because: String,
}

/// `result-disposed`: a result of a case was decided about.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ResultDisposedJson {
    /// The case.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub case: FactId,
    /// The fact that noted the result.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub result: FactId,
    /// `no-effect`, `re-measure` or `notify`.
    pub disposition: String,
    /// Why.
    pub because: String,
}

/// `case-closed`: work may go on; the person of the fact authorises it.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseClosedJson {
    /// The case.
    #[serde(with = "text::id")]
    #[schema(value_type = String, format = "uuid")]
    pub case: FactId,
    /// Why work may go on, and what keeps it from happening again.
    pub because: String,
}

fn both(on: Subject) -> (Option<EndId>, Option<ItemId>) {
    match on {
        Subject::End(end) => (Some(end), None),
        Subject::Item(item) => (None, Some(item)),
    }
}

pub(crate) fn one_subject(end: Option<EndId>, item: Option<ItemId>) -> Result<Subject, RecordError> {
    match (end, item) {
        (Some(end), None) => Ok(Subject::End(end)),
        (None, Some(item)) => Ok(Subject::Item(item)),
        (Some(_), Some(_)) => Err(RecordError::OneSubject { found: "both" }),
        (None, None) => Err(RecordError::OneSubject { found: "neither" }),
    }
}

fn moments(texts: Option<&str>) -> Result<Option<Moment>, RecordError> {
    texts.map(moment_from_text).transpose()
}

impl CaseReachJson {
    fn of(reach: &CaseReach) -> Result<Self, RecordError> {
        let (end, item) = both(reach.on);
        Ok(Self {
            end,
            item,
            arrived_at: moment_text(reach.arrived_at)?,
            definite_at: reach.definite_at.map(moment_text).transpose()?,
            hops: reach.hops,
        })
    }

    fn reach(self) -> Result<CaseReach, RecordError> {
        Ok(CaseReach {
            on: one_subject(self.end, self.item)?,
            arrived_at: moment_from_text(&self.arrived_at)?,
            definite_at: moments(self.definite_at.as_deref())?,
            hops: self.hops,
        })
    }
}

impl CaseOpenedJson {
    pub(crate) fn of(opened: &CaseOpened) -> Result<Self, RecordError> {
        let source = |s: &CaseSource| {
            Ok(CaseSourceJson {
                end: s.end,
                last_known_good: moment_text(s.last_known_good)?,
                first_evidence: moment_text(s.first_evidence)?,
            })
        };
        let tool = |t: &CaseTool| {
            Ok(CaseToolJson {
                tool: t.tool,
                last_known_good: moment_text(t.last_known_good)?,
                first_evidence: moment_text(t.first_evidence)?,
            })
        };
        Ok(Self {
            tools: opened.tools.iter().map(tool).collect::<Result<_, RecordError>>()?,
            name: opened.name.clone(),
            because: opened.because.clone(),
            sources: opened.sources.iter().map(source).collect::<Result<_, RecordError>>()?,
            taint: opened.taint.word().to_owned(),
            reached: opened.reached.iter().map(CaseReachJson::of).collect::<Result<_, _>>()?,
            results: opened.results.clone(),
            holds: opened.holds.clone(),
        })
    }

    pub(crate) fn opened(self) -> Result<CaseOpened, RecordError> {
        let source = |s: CaseSourceJson| {
            Ok(CaseSource {
                end: s.end,
                last_known_good: moment_from_text(&s.last_known_good)?,
                first_evidence: moment_from_text(&s.first_evidence)?,
            })
        };
        let tool = |t: CaseToolJson| {
            Ok(CaseTool {
                tool: t.tool,
                last_known_good: moment_from_text(&t.last_known_good)?,
                first_evidence: moment_from_text(&t.first_evidence)?,
            })
        };
        Ok(CaseOpened {
            tools: self.tools.into_iter().map(tool).collect::<Result<_, RecordError>>()?,
            name: self.name,
            because: self.because,
            sources: self.sources.into_iter().map(source).collect::<Result<_, RecordError>>()?,
            taint: Taint::from_word(&self.taint)?,
            reached: self.reached.into_iter().map(CaseReachJson::reach).collect::<Result<_, _>>()?,
            results: self.results,
            holds: self.holds,
        })
    }
}

impl CaseChangedJson {
    pub(crate) fn of(changed: &CaseChanged) -> Result<Self, RecordError> {
        Ok(Self {
            case: changed.case,
            reached: changed.reached.iter().map(CaseReachJson::of).collect::<Result<_, _>>()?,
            results: changed.results.clone(),
            set_aside: changed.set_aside.iter().filter_map(|on| both(*on).0).collect(),
            set_aside_items: changed.set_aside.iter().filter_map(|on| both(*on).1).collect(),
            holds: changed.holds.clone(),
            because: changed.because.clone(),
        })
    }

    pub(crate) fn changed(self) -> Result<CaseChanged, RecordError> {
        Ok(CaseChanged {
            case: self.case,
            reached: self.reached.into_iter().map(CaseReachJson::reach).collect::<Result<_, _>>()?,
            results: self.results,
            set_aside: (self.set_aside.into_iter().map(Subject::End))
                .chain(self.set_aside_items.into_iter().map(Subject::Item))
                .collect(),
            holds: self.holds,
            because: self.because,
        })
    }
}

impl EndDisposedJson {
    pub(crate) fn of(disposed: &EndDisposed) -> Result<Self, RecordError> {
        let (end, item) = both(disposed.on);
        Ok(Self {
            case: disposed.case,
            end,
            item,
            disposition: match disposed.disposition {
                EndDisposition::Cleared { evidence } => EndDispositionJson::Cleared(evidence),
                EndDisposition::Damaged => EndDispositionJson::Damaged,
                EndDisposition::Waived { until } => EndDispositionJson::Waived(moment_text(until)?),
            },
            because: disposed.because.clone(),
        })
    }

    pub(crate) fn disposed(self) -> Result<EndDisposed, RecordError> {
        Ok(EndDisposed {
            case: self.case,
            on: one_subject(self.end, self.item)?,
            disposition: match self.disposition {
                EndDispositionJson::Cleared(evidence) => EndDisposition::Cleared { evidence },
                EndDispositionJson::Damaged => EndDisposition::Damaged,
                EndDispositionJson::Waived(until) => {
                    EndDisposition::Waived { until: moment_from_text(&until)? }
                }
            },
            because: self.because,
        })
    }
}

impl ResultDisposedJson {
    pub(crate) fn of(disposed: &ResultDisposed) -> Self {
        Self {
            case: disposed.case,
            result: disposed.result,
            disposition: disposed.disposition.word().to_owned(),
            because: disposed.because.clone(),
        }
    }

    pub(crate) fn disposed(self) -> Result<ResultDisposed, RecordError> {
        Ok(ResultDisposed {
            case: self.case,
            result: self.result,
            disposition: ResultDisposition::from_word(&self.disposition)?,
            because: self.because,
        })
    }
}

impl CaseClosedJson {
    pub(crate) fn of(closed: &CaseClosed) -> Self {
        Self { case: closed.case, because: closed.because.clone() }
    }

    pub(crate) fn closed(self) -> CaseClosed {
        CaseClosed { case: self.case, because: self.because }
    }
}
