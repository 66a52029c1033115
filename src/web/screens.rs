//! `/v1/sessions`, `/v1/keys`: letting screens in, listing them, shutting them out.

use crate::web::Shared;
use crate::web::description::{GUESSED, NO_NAME};
use crate::web::door::{Caller, Ends};
use crate::web::problem::{Kind, Problem};
use crate::web::request::{Body, Named};
use crate::web::sessions::{KEY_LASTS_S, LONGEST_NAME, Refused, ScreenName, SessionRow, device};
use axum::extract::{ConnectInfo, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::{Extension, Json};
use serde::{Deserialize, Serialize};
use std::net::IpAddr;
use utoipa::ToSchema;

/// The longest key that is read, characters.
const LONGEST_KEY: usize = 100;

/// What lets a screen in.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnterRequest {
    /// A key that was made for it; strokes, spaces and small letters do not matter.
    pub key: String,
    /// What it shall be called: one to forty characters. Otherwise it is called after its device.
    #[serde(default)]
    pub name: Option<String>,
}

/// What a screen shall be called.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NameRequest {
    /// One to forty characters.
    #[schema(min_length = 1)]
    pub name: String,
}

/// A key that lets one screen in, once.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct NewKey {
    /// The key.
    pub key: String,
    /// For so long, seconds.
    pub seconds: u32,
    /// Where a screen on the same machine is let in with it.
    pub here: String,
    /// Where one on the same network is; none if callers are answered on this machine only.
    pub network: Option<String>,
    /// SHA-256 of the certificate that the latter is encrypted with, as a browser shows it; none if it is not
    /// encrypted, or somebody vouches for the certificate.
    #[serde(default)]
    pub fingerprint: Option<String>,
}

/// Makes a key.
///
/// Only for whoever knows the token: a screen that was let in lets in no other.
#[utoipa::path(post, path = "/v1/keys", operation_id = "new-key", tag = "screens",
    responses(
        (status = 201, description = "A key that lets one screen in, once", body = NewKey),
        (status = 403, description = "A screen may not let in another")
    ))]
pub(super) async fn new_key(
    State(shared): State<Shared>,
    Extension(caller): Extension<Caller>,
) -> Result<(StatusCode, Json<NewKey>), Problem> {
    if caller != Caller::Account {
        let detail = "expected the command line of the account, but found a screen; let another in with `clampbook page`";
        return Err(Problem::new(Kind::NotYours, detail));
    }
    let key = shared.sessions.new_key((shared.now)());
    let port = shared.doors.port;
    let encrypted = shared.doors.encrypted;
    let on_network = |address: IpAddr| link(&format!("{address}:{port}"), &key, encrypted);
    let network = shared.doors.network.map(on_network);
    let here = link(&format!("127.0.0.1:{port}"), &key, false);
    let fingerprint = shared.identity.as_ref().and_then(|identity| identity.to_compare());
    let fingerprint = fingerprint.map(str::to_owned);
    let seconds = KEY_LASTS_S as u32;
    Ok((StatusCode::CREATED, Json(NewKey { key, seconds, here, network, fingerprint })))
}

/// Where a screen is let in with `key`. Behind the `#`, where no server and no log sees it.
#[must_use]
pub fn link(authority: &str, key: &str, encrypted: bool) -> String {
    let scheme = if encrypted { "https" } else { "http" };
    format!("{scheme}://{authority}/enter#{key}")
}

/// Lets a screen in, which from then on sends the cookie that it is answered with.
#[utoipa::path(post, path = "/v1/sessions", operation_id = "enter", tag = "screens", security(()),
    request_body(content = EnterRequest, example = json!({"key": "ABCD-EFGH-JKLM-NPQR"})),
    responses(
        (status = 201, description = "The screen is let in", body = SessionRow,
            headers(("Set-Cookie" = String, description = "What it has to send"))),
        (status = 422, description = "The key is none, was used, or is too old; or the name cannot be taken"),
        (status = 429, description = GUESSED, headers(("Retry-After" = u32, description = "Seconds")))
    ))]
pub(super) async fn enter(
    State(shared): State<Shared>,
    ConnectInfo(ends): ConnectInfo<Ends>,
    headers: HeaderMap,
    Body(EnterRequest { key, name }): Body<EnterRequest>,
) -> Result<Response, Problem> {
    let name = name.as_deref().map(screen_name).transpose()?;
    let key = if key.len() > LONGEST_KEY { "" } else { key.as_str() };
    let agent = headers.get(header::USER_AGENT).and_then(|value| value.to_str().ok());
    let device = device(agent.unwrap_or_default());
    let now = (shared.now)();
    match shared.sessions.enter(now, key, name, &device, ends.there.ip()) {
        Ok((row, secret)) => {
            tracing::info!("{device} at {} was let in as screen {}", row.from, row.session);
            let cookie =
                [(header::SET_COOKIE, shared.sessions.set_cookie(&secret, ends.encrypted))];
            Ok((StatusCode::CREATED, cookie, Json(row)).into_response())
        }
        Err(Refused::Key) => Err(Problem::new(
            Kind::Key,
            "expected a key that was made within ten minutes and not used, but found another; make one with `clampbook page`",
        )),
        Err(Refused::Tries(seconds)) => {
            let detail = format!(
                "expected fewer wrong keys, but found too many; try again in {seconds} seconds"
            );
            let wait = [(header::RETRY_AFTER, seconds.to_string())];
            Ok((wait, Problem::new(Kind::Tries, detail)).into_response())
        }
    }
}

/// The screens that are let in.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
pub struct Screens {
    /// All of them, the first first.
    pub screens: Vec<SessionRow>,
    /// Number of the one that asks; none if it is a program.
    pub own: Option<u32>,
}

/// The screens that are let in.
#[utoipa::path(get, path = "/v1/sessions", operation_id = "sessions", tag = "screens",
    responses((status = 200, description = "Every screen", body = Screens)))]
pub(super) async fn list(
    State(shared): State<Shared>,
    Extension(caller): Extension<Caller>,
) -> Json<Screens> {
    let own = match caller {
        Caller::Account => None,
        Caller::Screen(number) => Some(number),
    };
    Json(Screens { screens: shared.sessions.rows(), own })
}

/// Calls a screen so from now on: what is said on it is kept with its name. A screen names itself only.
#[utoipa::path(put, path = "/v1/sessions/{session}/name", operation_id = "rename", tag = "screens",
    params(("session" = u32, Path, description = "Its number", maximum = 4_294_967_295_u64)),
    request_body(content = NameRequest, example = json!({"name": "Ada"})),
    responses(
        (status = 200, description = "It is called so", body = SessionRow),
        (status = 403, description = "A screen may not name another"),
        (status = 404, description = "No such screen"),
        (status = 422, description = NO_NAME)
    ))]
pub(super) async fn rename(
    State(shared): State<Shared>,
    Extension(caller): Extension<Caller>,
    Named(session): Named<u32>,
    Body(NameRequest { name }): Body<NameRequest>,
) -> Result<Json<SessionRow>, Problem> {
    if let Caller::Screen(own) = caller
        && own != session
    {
        let detail = format!("expected this screen's own number, {own}, but found {session}");
        return Err(Problem::new(Kind::NotYours, detail));
    }
    let name = screen_name(&name)?;
    shared.sessions.rename(session, name).map(Json).ok_or_else(|| no_screen(session))
}

fn screen_name(typed: &str) -> Result<ScreenName, Problem> {
    ScreenName::of(typed).ok_or_else(|| {
        let detail = format!(
            "expected a name of one to {LONGEST_NAME} characters on one line, but found {}; shorten it",
            typed.chars().count()
        );
        Problem::new(Kind::Body, detail)
    })
}

fn no_screen(session: u32) -> Problem {
    Problem::not_found(format!(
        "expected a screen that is let in, but found no {session}; see `clampbook page --list`"
    ))
}

/// Shuts a screen out.
#[utoipa::path(delete, path = "/v1/sessions/{session}", operation_id = "shut-out", tag = "screens",
    params(("session" = u32, Path, description = "Its number", maximum = 4_294_967_295_u64)),
    responses(
        (status = 204, description = "It is shut out"),
        (status = 404, description = "No such screen")
    ))]
pub(super) async fn shut_out(
    State(shared): State<Shared>,
    Named(session): Named<u32>,
) -> Result<StatusCode, Problem> {
    if shared.sessions.revoke(session) {
        tracing::info!("screen {session} was shut out");
        return Ok(StatusCode::NO_CONTENT);
    }
    Err(no_screen(session))
}
