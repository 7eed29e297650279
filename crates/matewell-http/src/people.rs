//! Signing in, people and their rights.

use crate::{
    AppState,
    access::{Address, Alone, COOKIE},
    answer,
    asked::{Posted, bad, respond},
};
use axum::{
    extract::{Extension, Path, State},
    http::{HeaderValue, StatusCode, header},
    response::Response,
};
use matewell_app::{
    Access, Act, AppError, Authorised, Right, Role, Workshop, hash_password, password_matches,
};
use matewell_lab::Moment;
use matewell_wire::{NewTokenJson, PeopleJson, PersonJson, RightChangesJson, SessionJson};
use serde::Deserialize;
use utoipa::ToSchema;
use utoipa_axum::{router::OpenApiRouter, routes};

/// How long a browser keeps the cookie, in seconds.
const KEPT: u32 = 12 * 3600;

/// The routes.
pub(crate) fn routes() -> OpenApiRouter<AppState> {
    OpenApiRouter::new()
        .routes(routes!(session, sign_in))
        .routes(routes!(first))
        .routes(routes!(sign_out))
        .routes(routes!(own_password))
        .routes(routes!(own_calendar))
        .routes(routes!(list, add))
        .routes(routes!(changes))
        .routes(routes!(require))
        .routes(routes!(roles))
        .routes(routes!(password))
        .routes(routes!(left))
        .routes(routes!(authorise))
        .routes(routes!(token))
        .routes(routes!(end_token))
}

fn with_cookie(state: &AppState, mut response: Response, secret: &str, seconds: u32) -> Response {
    let secure = if state.served().secure_cookie { "; Secure" } else { "" };
    let text = format!("{COOKIE}={secret}; Path=/; HttpOnly; SameSite=Strict; Max-Age={seconds}{secure}");
    if let Ok(value) = HeaderValue::from_str(&text) {
        response.headers_mut().insert(header::SET_COOKIE, value);
    }
    response
}

/// Counts a try of this address; nothing else is done when it is one too many.
fn counted(state: &AppState, from: &Address) -> Result<(), AppError> {
    state.tries().count(&from.0, state.now()).map_err(|seconds| AppError::TooMany { seconds })
}

fn refused(error: &AppError) -> Response {
    let mut response = answer::from_error(error);
    if let AppError::TooMany { seconds } = error {
        response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(*seconds));
    }
    response
}

/// Whether somebody has to sign in, and who is.
#[utoipa::path(get, path = "/api/v1/session", responses((status = 200, body = SessionJson)))]
pub(crate) async fn session(
    Extension(access): Extension<Access>,
    Extension(alone): Extension<Alone>,
) -> Response {
    answer::json(StatusCode::OK, &access.json(alone.0))
}

/// A name and its password.
#[derive(Deserialize, ToSchema)]
pub(crate) struct SignInBody {
    /// The name.
    name: String,
    /// The password.
    #[schema(format = "password")]
    password: String,
}

/// Signs in: the answer sets a cookie for this browser.
#[utoipa::path(post, path = "/api/v1/session", request_body = SignInBody, responses(
    (status = 200, body = SessionJson),
    (status = 401, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json"),
    (status = 429, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn sign_in(
    State(state): State<AppState>,
    Extension(from): Extension<Address>,
    posted: Posted,
) -> Response {
    let body = match counted(&state, &from).and_then(|()| posted.read::<SignInBody>()) {
        Ok(body) => body,
        Err(error) => return refused(&error),
    };
    let now = state.now();
    let name = body.name.clone();
    let result = async {
        let tried = state.run(move |shop| shop.begin_sign_in(&name, now)).await?;
        // Slow on purpose, so not while holding the lab.
        let hash = tried.hash.clone();
        let matches = state.hash(move || Ok(password_matches(&body.password, &hash))).await?;
        let name = body.name;
        state.run(move |shop| shop.end_sign_in(&name, &tried, matches, now)).await
    };
    let result = result.await;
    welcome(&state, result, now).await
}

async fn welcome(state: &AppState, result: Result<String, AppError>, now: Moment) -> Response {
    let told = match result {
        Ok(secret) => {
            let held = secret.clone();
            let access =
                state.run(move |shop| shop.access(Some((&held, matewell_app::Way::Session)), now)).await;
            access.map(|access| (secret, access))
        }
        Err(error) => Err(error),
    };
    match told {
        Ok((secret, access)) => {
            with_cookie(state, answer::json(StatusCode::OK, &access.json(false)), &secret, KEPT)
        }
        Err(error) => refused(&error),
    }
}

/// The first administrator.
#[derive(Deserialize, ToSchema)]
pub(crate) struct FirstBody {
    /// The code printed where the server was started; none where one person works alone.
    #[serde(default)]
    code: String,
    /// The name.
    name: String,
    /// The password, 12 characters or more.
    #[schema(format = "password")]
    password: String,
}

/// Makes the first administrator and signs them in.
#[utoipa::path(post, path = "/api/v1/session/first", request_body = FirstBody, responses(
    (status = 200, body = SessionJson),
    (status = 401, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json"),
    (status = 429, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn first(
    State(state): State<AppState>,
    Extension(from): Extension<Address>,
    Extension(alone): Extension<Alone>,
    posted: Posted,
) -> Response {
    let body = match counted(&state, &from).and_then(|()| posted.read::<FirstBody>()) {
        Ok(body) => body,
        Err(error) => return refused(&error),
    };
    let now = state.now();
    let result = async {
        let hash = state.hash(move || hash_password(&body.password)).await?;
        state.run(move |shop| shop.first_administrator(&body.code, alone.0, &body.name, hash, now)).await
    };
    let result = result.await;
    welcome(&state, result, now).await
}

/// Signs out here.
#[utoipa::path(post, path = "/api/v1/session/end", responses(
    (status = 200, body = SessionJson),
    (status = 401, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn sign_out(
    State(state): State<AppState>,
    Extension(access): Extension<Access>,
) -> Response {
    let now = state.now();
    let result = state
        .run(move |shop| match access.who {
            Some(who) => shop.sign_out(&who, now),
            None => Ok(()),
        })
        .await;
    match result {
        Ok(()) => {
            let out = SessionJson { people: true, alone: false, who: None };
            with_cookie(&state, answer::json(StatusCode::OK, &out), "", 0)
        }
        Err(error) => answer::from_error(&error),
    }
}

/// One's own new password.
#[derive(Deserialize, ToSchema)]
pub(crate) struct OwnPasswordBody {
    /// The password until now.
    #[schema(format = "password")]
    before: String,
    /// The new one, 12 characters or more.
    #[schema(format = "password")]
    password: String,
}

/// Changes one's own password and signs in anew.
#[utoipa::path(post, path = "/api/v1/session/password", request_body = OwnPasswordBody, responses(
    (status = 200, body = SessionJson),
    (status = 401, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json"),
    (status = 429, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn own_password(
    State(state): State<AppState>,
    Extension(from): Extension<Address>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    let read = counted(&state, &from)
        .and_then(|()| posted.read::<OwnPasswordBody>())
        .and_then(|body| Ok((body, access.who.ok_or(AppError::SignIn("sign in first"))?.name)));
    let (body, name) = match read {
        Ok(read) => read,
        Err(error) => return refused(&error),
    };
    let now = state.now();
    let result = async {
        let who = name.clone();
        let tried = state.run(move |shop| shop.begin_sign_in(&who, now)).await?;
        let held = tried.hash.clone();
        let (matches, hash) = state
            .hash(move || {
                let matches = password_matches(&body.before, &held);
                Ok((matches, hash_password(&body.password)?))
            })
            .await?;
        state
            .run(move |shop| {
                // The old password has to be right before anything changes.
                shop.end_sign_in(&name, &tried, matches, now)?;
                shop.set_password(&name, hash.clone(), &name, now)?;
                let anew = shop.begin_sign_in(&name, now)?;
                shop.end_sign_in(&name, &anew, true, now)
            })
            .await
    };
    let result = result.await;
    welcome(&state, result, now).await
}

/// How long a calendar may read.
#[derive(Deserialize, ToSchema)]
pub(crate) struct CalendarBody {
    /// Days, at most 366.
    days: u32,
}

/// Makes a secret address, `/api/v1/calendar/SECRET`, under which a calendar
/// reads what is due (RFC 5545). Whoever has the address can read it.
#[utoipa::path(post, path = "/api/v1/session/calendars", request_body = CalendarBody, responses(
    (status = 201, body = NewTokenJson),
    (status = 401, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn own_calendar(
    State(state): State<AppState>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    let by = name(&access);
    administer(&state, &posted, access, move |shop, body: CalendarBody, _, now| {
        shop.new_calendar(&by, body.days, &by, now)
    })
    .await
}

fn name(access: &Access) -> String {
    access.who.as_ref().map_or_else(|| "one person alone".to_owned(), |who| who.name.clone())
}

/// The common way of a change: read the body, run the use case.
async fn administer<B: serde::de::DeserializeOwned + Send + 'static, A: serde::Serialize + Send + 'static>(
    state: &AppState,
    posted: &Posted,
    access: Access,
    run: impl FnOnce(&mut Workshop, B, &str, Moment) -> Result<A, AppError> + Send + 'static,
) -> Response {
    let now = state.now();
    let by = name(&access);
    let result = match posted.read::<B>() {
        Ok(body) => state.run(move |shop| run(shop, body, &by, now)).await,
        Err(error) => Err(error),
    };
    respond(StatusCode::CREATED, result)
}

/// Everybody, and what the lab wants an authorisation for.
#[utoipa::path(get, path = "/api/v1/people", responses((status = 200, body = PeopleJson)))]
pub(crate) async fn list(State(state): State<AppState>) -> Response {
    let now = state.now();
    respond(StatusCode::OK, state.run(move |shop| shop.people(now)).await)
}

/// Who changed which right of whom, newest first.
#[utoipa::path(get, path = "/api/v1/people/changes", responses((status = 200, body = RightChangesJson)))]
pub(crate) async fn changes(State(state): State<AppState>) -> Response {
    respond(StatusCode::OK, state.run(|shop| shop.right_changes()).await)
}

fn roles_of(words: &[String]) -> Result<Vec<Role>, AppError> {
    words.iter().map(|word| Role::from_word(word)).collect()
}

/// A new person or rig.
#[derive(Deserialize, ToSchema)]
pub(crate) struct PersonBody {
    /// The name that is written beside what they do.
    name: String,
    /// `reader`, `technician`, `lead`, `administrator`.
    roles: Vec<String>,
    /// The first password, 12 characters or more; none for a rig, which comes in by tokens.
    #[serde(default)]
    #[schema(format = "password")]
    password: Option<String>,
}

/// Adds a person or a rig.
#[utoipa::path(post, path = "/api/v1/people", request_body = PersonBody, responses(
    (status = 201, body = PersonJson),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn add(
    State(state): State<AppState>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    let mut body = match posted.read::<PersonBody>() {
        Ok(body) => body,
        Err(error) => return answer::from_error(&error),
    };
    let password = body.password.take().filter(|p| !p.is_empty());
    let by = name(&access);
    let now = state.now();
    let result = async {
        let roles = roles_of(&body.roles)?;
        let hash = match password {
            Some(password) => Some(state.hash(move || hash_password(&password)).await?),
            None => None,
        };
        state
            .run(move |shop| {
                shop.add_person(&body.name, &roles, hash, &by, now)?;
                shop.person(&body.name, now)
            })
            .await
    };
    respond(StatusCode::CREATED, result.await)
}

/// An authorisation to be given, taken or required.
#[derive(Deserialize, ToSchema)]
pub(crate) struct AuthorisationBody {
    /// `gauge` or `mate-instrument-port`.
    act: String,
    /// The interface; every one when left out.
    #[serde(default)]
    interface: Option<String>,
    /// Whether it holds from now on.
    holds: bool,
}

impl AuthorisationBody {
    fn read(&self) -> Result<Authorised<'_>, AppError> {
        Ok(Authorised { act: Act::from_word(&self.act)?, interface: self.interface.as_deref() })
    }
}

/// Says what the lab wants an authorisation for.
#[utoipa::path(post, path = "/api/v1/people/authorisations-required", request_body = AuthorisationBody, responses(
    (status = 201, body = PeopleJson),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn require(
    State(state): State<AppState>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    administer(&state, &posted, access, |shop, body: AuthorisationBody, by, now| {
        shop.require_authorisation(body.read()?, body.holds, by, now)?;
        shop.people(now)
    })
    .await
}

/// The roles of a person.
#[derive(Deserialize, ToSchema)]
pub(crate) struct RolesBody {
    /// `reader`, `technician`, `lead`, `administrator`: these and no others.
    roles: Vec<String>,
}

/// Gives a person these roles instead of those they had.
#[utoipa::path(post, path = "/api/v1/people/{name}/roles", request_body = RolesBody, params(("name" = String, Path, description = "Name of the person")), responses(
    (status = 201, body = PersonJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn roles(
    State(state): State<AppState>,
    Path(person): Path<String>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    administer(&state, &posted, access, move |shop, body: RolesBody, by, now| {
        shop.set_roles(&person, &roles_of(&body.roles)?, by, now)?;
        shop.person(&person, now)
    })
    .await
}

/// A new password of somebody.
#[derive(Deserialize, ToSchema)]
pub(crate) struct PasswordBody {
    /// The new password, 12 characters or more.
    #[schema(format = "password")]
    password: String,
}

/// Sets the password of a person, who is signed out everywhere.
#[utoipa::path(post, path = "/api/v1/people/{name}/password", request_body = PasswordBody, params(("name" = String, Path, description = "Name of the person")), responses(
    (status = 201, body = PersonJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn password(
    State(state): State<AppState>,
    Path(person): Path<String>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    let now = state.now();
    let by = name(&access);
    let result = async {
        let body = posted.read::<PasswordBody>()?;
        let hash = state.hash(move || hash_password(&body.password)).await?;
        state
            .run(move |shop| {
                shop.set_password(&person, hash, &by, now)?;
                shop.person(&person, now)
            })
            .await
    };
    respond(StatusCode::CREATED, result.await)
}

/// Somebody leaves or comes back.
#[derive(Deserialize, ToSchema)]
pub(crate) struct LeftBody {
    /// Whether the person may not come in any more.
    has_left: bool,
    /// Why.
    because: String,
}

/// A person may not come in any more, or may again.
#[utoipa::path(post, path = "/api/v1/people/{name}/left", request_body = LeftBody, params(("name" = String, Path, description = "Name of the person")), responses(
    (status = 201, body = PersonJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 409, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn left(
    State(state): State<AppState>,
    Path(person): Path<String>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    administer(&state, &posted, access, move |shop, body: LeftBody, by, now| {
        shop.set_left(&person, body.has_left, &body.because, by, now)?;
        shop.person(&person, now)
    })
    .await
}

/// Gives an authorisation to a person, or takes it.
#[utoipa::path(post, path = "/api/v1/people/{name}/authorisations", request_body = AuthorisationBody, params(("name" = String, Path, description = "Name of the person")), responses(
    (status = 201, body = PersonJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn authorise(
    State(state): State<AppState>,
    Path(person): Path<String>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    administer(&state, &posted, access, move |shop, body: AuthorisationBody, by, now| {
        shop.authorise(&person, body.read()?, body.holds, by, now)?;
        shop.person(&person, now)
    })
    .await
}

/// A token for a program.
#[derive(Deserialize, ToSchema)]
pub(crate) struct TokenBody {
    /// What it is for, in the lab's words.
    label: String,
    /// `read`, `work`, `decide`.
    scope: Vec<String>,
    /// Days until it expires, at most 366.
    days: u32,
}

/// Makes a token for a program that acts under this name. The secret is shown
/// once.
#[utoipa::path(post, path = "/api/v1/people/{name}/tokens", request_body = TokenBody, params(("name" = String, Path, description = "Name of the person or rig")), responses(
    (status = 201, body = NewTokenJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json"),
    (status = 422, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn token(
    State(state): State<AppState>,
    Path(person): Path<String>,
    Extension(access): Extension<Access>,
    posted: Posted,
) -> Response {
    administer(&state, &posted, access, move |shop, body: TokenBody, by, now| {
        let scope = body.scope.iter().map(|w| Right::from_word(w)).collect::<Result<Vec<_>, _>>()?;
        if body.label.trim().is_empty() {
            return Err(bad("label", "expected what the token is for, found nothing"));
        }
        shop.new_token(&person, &body.label, &scope, body.days, by, now)
    })
    .await
}

/// Ends a token or the secret address of a calendar.
#[utoipa::path(post, path = "/api/v1/people/{name}/tokens/{token}/end", params(("name" = String, Path, description = "Name of the person or rig"), ("token" = String, Path, description = "Short name of the token")), responses(
    (status = 201, body = PersonJson),
    (status = 404, body = answer::Problem, content_type = "application/problem+json")))]
pub(crate) async fn end_token(
    State(state): State<AppState>,
    Path((person, token)): Path<(String, String)>,
    Extension(access): Extension<Access>,
) -> Response {
    let now = state.now();
    let by = name(&access);
    let result = state
        .run(move |shop| {
            shop.end_token(&person, &token, &by, now)?;
            shop.person(&person, now)
        })
        .await;
    respond(StatusCode::CREATED, result)
}
