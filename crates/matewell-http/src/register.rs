//! The register: import, one item, what is kept about an end, and the policy.

use crate::{
    AppState, answer,
    asked::{AsOf, Asked, Posted, SaidBody, as_of, bad, respond},
    writes::{Written, act, written},
};
use axum::{
    extract::{Path, State},
    http::StatusCode,
    response::Response,
};
use matewell_app::{AppError, ImportOrder, ImportReportJson, Said, Workshop, WrittenJson};
use matewell_wire::{EndKeptJson, ItemAsked, ItemKeptJson, ItemPageJson, PolicyJson};
use serde::Deserialize;
use utoipa::{IntoParams, ToSchema};
use utoipa_axum::{router::OpenApiRouter, routes};

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(import))
        .routes(routes!(register))
        .routes(routes!(item))
        .routes(routes!(amend))
        .routes(routes!(kept))
        .routes(routes!(item_kept))
        .routes(routes!(put_away))
        .routes(routes!(policy))
}

impl Written for ImportReportJson {
    fn status(&self) -> StatusCode {
        if self.written { StatusCode::CREATED } else { StatusCode::OK }
    }
}

/// How a spreadsheet is read. The bytes are the body.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct ImportAsked {
    /// What the file is called.
    file_name: Option<String>,
    /// What the rows are: `register`, `mates`, `gaugings`, `cleanings` or `inspections`; guessed when left out.
    kind: Option<String>,
    /// Sheet of a workbook; the first with a table when left out.
    sheet: Option<String>,
    /// A saved mapping (TOML); guessed when left out.
    mapping: Option<String>,
    /// What columns are, one a line: the header, `=`, and a word of `fields`, `field:end` or `none`.
    columns: Option<String>,
    /// Answers to questions, one a line: the topic, `=`, the answer.
    answers: Option<String>,
    /// `yes` to list everything and write nothing.
    dry_run: Option<String>,
    /// A name or a pseudonym.
    person: Option<String>,
}

fn lines(field: &'static str, text: Option<&str>) -> Result<Vec<(String, String)>, AppError> {
    text.unwrap_or_default()
        .lines()
        .filter(|line| !line.trim().is_empty())
        .map(|line| match line.rsplit_once('=') {
            Some((name, value)) => Ok((name.to_owned(), value.trim().to_owned())),
            None => {
                Err(bad(field, format!("expected a name, =, and a value on each line, found \"{line}\"")))
            }
        })
        .collect()
}

impl ImportAsked {
    fn order(&self, bytes: Vec<u8>) -> Result<ImportOrder, AppError> {
        let given = |text: &Option<String>| text.clone().filter(|t| !t.trim().is_empty());
        let dry_run = match self.dry_run.as_deref().map(str::trim) {
            Some("yes") => true,
            None | Some("" | "no") => false,
            Some(other) => return Err(bad("dry_run", format!("expected yes or no, found \"{other}\""))),
        };
        Ok(ImportOrder {
            bytes,
            file_name: given(&self.file_name).unwrap_or_else(|| "unnamed".to_owned()),
            kind: given(&self.kind),
            sheet: given(&self.sheet),
            mapping: given(&self.mapping),
            columns: lines("columns", self.columns.as_deref())?,
            answers: lines("answers", self.answers.as_deref())?
                .into_iter()
                .map(|(topic, answer)| (topic.trim().to_owned(), answer))
                .collect(),
            dry_run,
        })
    }
}

/// Imports a spreadsheet of the lab, or says everything that is in the way: all
/// or nothing. The body is the file, CSV or XLSX by its content, at most 32 MiB.
/// What was not written is answered with 200 and the same report.
#[utoipa::path(post, path = "/api/v1/import",
    params(ImportAsked, ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")),
    request_body(content = Vec<u8>, content_type = "application/octet-stream"), responses(
    (status = 200, body = ImportReportJson),
    (status = 201, body = ImportReportJson),
    (status = 413, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn import(
    State(state): State<AppState>,
    Asked(asked): Asked<ImportAsked>,
    posted: Posted,
) -> Response {
    let said = posted.said(SaidBody::beside_a_file(asked.person.as_deref(), None, None));
    let read = said.and_then(|said| Ok((said, asked.order(posted.bytes.to_vec())?)));
    match read {
        Ok((said, order)) => {
            let run = move |shop: &mut Workshop, said: &Said, now| shop.import(&order, said, now);
            written(state, said, run).await
        }
        Err(error) => answer::from_error(&error),
    }
}

/// An item to be written down.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct ItemBody {
    /// The item.
    #[serde(flatten)]
    asked: ItemAsked,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// A registration to be set right.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct AmendBody {
    /// The item as it should stand.
    #[serde(flatten)]
    asked: ItemAsked,
    /// Why.
    because: String,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// Writes down one item with its ends.
#[utoipa::path(post, path = "/api/v1/items", request_body = ItemBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn register(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut ItemBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.register_item(&b.asked, said, now),
    )
    .await
}

/// Sets the registration of an item right: a correction beside it.
#[utoipa::path(post, path = "/api/v1/items/{tag}/amendments", request_body = AmendBody, params(("tag" = String, Path, description = "Label of the item"), ("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn amend(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    posted: Posted,
) -> Response {
    act(
        state,
        posted,
        |b: &mut AmendBody| std::mem::take(&mut b.said),
        move |shop, b, said, now| shop.amend_item(&tag, &b.asked, &b.because, said, now),
    )
    .await
}

/// Everything about one item.
#[utoipa::path(get, path = "/api/v1/items/{tag}", params(("tag" = String, Path, description = "Label of the item or one of its ends"), AsOf), responses((status = 200, body = ItemPageJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn item(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.run(move |shop| shop.item(&tag, as_of(q.as_of.as_deref(), now)?)).await)
}

/// Cases and sweeps of an end.
#[utoipa::path(get, path = "/api/v1/ends/{tag}/kept", params(("tag" = String, Path, description = "Label of the end"), AsOf), responses((status = 200, body = EndKeptJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn kept(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.run(move |shop| shop.end_kept(&tag, as_of(q.as_of.as_deref(), now)?)).await)
}

/// Cases, sweeps and marked looks of all ends of an item.
#[utoipa::path(get, path = "/api/v1/items/{tag}/kept", params(("tag" = String, Path, description = "Label of the item or one of its ends"), AsOf), responses((status = 200, body = ItemKeptJson), (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn item_kept(
    State(state): State<AppState>,
    Path(tag): Path<String>,
    Asked(q): Asked<AsOf>,
) -> Response {
    let now = state.now();
    respond(
        StatusCode::OK,
        state.run(move |shop| shop.item_kept(&tag, as_of(q.as_of.as_deref(), now)?)).await,
    )
}

/// An item that is put away.
#[derive(Debug, Deserialize, ToSchema)]
pub(crate) struct PutAwayBody {
    /// Label of the item or one of its ends.
    tag: String,
    /// Where.
    place: String,
    /// Whether clean caps are on; left out when nobody looked.
    #[serde(default)]
    capped: Option<bool>,
    /// Who and when.
    #[serde(flatten)]
    said: SaidBody,
}

/// An item was put away.
#[utoipa::path(post, path = "/api/v1/put-aways", request_body = PutAwayBody, params(("idempotency-key" = Option<String>, Header, description = "Same key, same answer, written once")), responses((status = 201, body = WrittenJson), (status = 404, body = answer::Problem, content_type = "application/problem+json"), (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn put_away(State(state): State<AppState>, posted: Posted) -> Response {
    act(
        state,
        posted,
        |b: &mut PutAwayBody| std::mem::take(&mut b.said),
        |shop, b, said, now| shop.store_away(&b.tag, &b.place, b.capped, said, now),
    )
    .await
}

/// Every value of the lab's policy with its source.
#[utoipa::path(get, path = "/api/v1/policy", responses((status = 200, body = PolicyJson)))]
pub(crate) async fn policy(State(state): State<AppState>) -> Response {
    respond(StatusCode::OK, state.run(|shop| shop.policy()).await)
}
