//! The HTTP interface: state, jobs, adapters, reports, a stream of states, and the live page.
//!
//! Guarantees: programs only with the token and over loopback, screens only with a session; every error is
//! a problem detail (RFC 9457); every answer is described at `/openapi.json`; a slow caller misses states
//! in between and never holds up the daemon. Commands go to the daemon over a channel; reads go to the
//! journal. The page fetches nothing from elsewhere.
//!
//! Deliberately absent: rules, and the clock.

mod adapters;
mod description;
mod door;
mod events;
mod guard;
mod identity;
mod jobs;
mod marks;
mod page;
mod patience;
mod photos;
mod private;
mod problem;
mod pulls;
mod reading;
mod reports;
mod request;
mod screens;
mod sessions;
mod state;
mod telling;
mod token;
mod typed;

pub use adapters::IdentifyRequest;
pub use door::Doors;
pub use identity::{Identity, IdentityError};
pub use jobs::{CloseRequest, MarkRequest, ResumeRequest, StartRequest, start_job};
pub use problem::{Kind, Problem};
pub use reading::{JobRow, JobState, LooseRow, job, jobs, jobs_page, loose, newest};
pub use reports::{report, report_as_of};
pub use screens::{NewKey, Screens, link};
pub use sessions::{KEY_LASTS_S, SessionRow, Sessions};
pub use token::Token;
pub use typed::{ClaimRequest, TypedRequest, read as read_typed};

use crate::core::command::{Command, Done, Refusal};
use crate::core::live::Live;
use crate::core::photo::LARGEST;
use crate::core::time::Stamp;
use crate::web::door::Ends;
use crate::web::events::{Hearing, LISTENERS};
use crate::web::patience::Patient;
use crate::web::request::LONGEST_BODY;
use axum::extract::DefaultBodyLimit;
use axum::middleware;
use axum::routing::{delete, get, post, put};
use axum::{Extension, Router};
use std::future::Future;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tokio::sync::{mpsc, oneshot, watch};

/// A command and where its answer goes.
#[derive(Debug)]
pub struct Asked {
    /// What is asked.
    pub command: Command,
    /// Name of the screen that it is asked on; none if it is none.
    pub by: Option<String>,
    /// Where the answer goes. A caller that has gone is no error.
    pub answer: oneshot::Sender<Result<Done, Refusal>>,
}

/// What the interface needs.
#[derive(Clone)]
pub struct Parts {
    /// The secret that programs must know.
    pub token: Token,
    /// The screens that are let in.
    pub sessions: Arc<Sessions>,
    /// Where callers are answered.
    pub doors: Doors,
    /// What links from the network are encrypted with, if they are.
    pub identity: Option<Identity>,
    /// Where commands go.
    pub commands: mpsc::Sender<Asked>,
    /// The daemon's state.
    pub live: watch::Receiver<Arc<Live>>,
    /// The journal, for reading.
    pub journal: PathBuf,
    /// Tells the present moment (microseconds since the Unix epoch).
    pub now: Arc<dyn Fn() -> Stamp + Send + Sync>,
    /// How long a caller may take nothing of what is sent to it before it is left.
    pub patience: Duration,
}

type Shared = Arc<Parts>;

/// Answers requests on `listener` until `shutdown` is done and the answers under way are given.
///
/// # Errors
/// What the system says if the listener fails.
pub async fn serve(
    parts: Parts,
    listener: TcpListener,
    shutdown: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let listener = Patient::new(listener, parts.patience, parts.identity.as_ref());
    let routes = router(parts).into_make_service_with_connect_info::<Ends>();
    axum::serve(listener, routes).with_graceful_shutdown(shutdown).await
}

/// Every route. One line a route; what it does is in the file named like it.
fn router(parts: Parts) -> Router {
    let shared: Shared = Arc::new(parts);
    Router::new()
        .route("/", get(page::page))
        .route(page::THRESHOLD, get(page::threshold))
        .route("/page/{part}", get(page::part))
        .route("/page/words/{language}", get(page::words))
        .route("/v1/state", get(state::state))
        .route("/v1/pulse", get(state::pulse))
        .route("/v1/events", get(events::events))
        .route("/v1/adapters", get(adapters::list))
        .route("/v1/adapters/{adapter}/zero", post(adapters::zero))
        .route("/v1/adapters/{adapter}/identify", post(adapters::identify))
        .route("/v1/jobs", get(jobs::list).post(jobs::start))
        .route("/v1/jobs/current/marks", post(jobs::mark))
        .route("/v1/jobs/current/close", post(jobs::close))
        .route("/v1/typed", post(typed::typed))
        .route("/v1/repeat", post(typed::repeat))
        .route("/v1/loose", get(typed::loose))
        .route("/v1/jobs/current/claim", post(typed::claim))
        .route("/v1/jobs/current/park", post(jobs::park))
        .route("/v1/jobs/resume", post(jobs::resume))
        .route("/v1/jobs/{job}", get(jobs::show))
        .route("/v1/jobs/{job}/recheck", post(jobs::recheck))
        .route("/v1/jobs/{job}/pulls", get(pulls::list))
        .route("/v1/jobs/{job}/marks", get(marks::list))
        .route(
            "/v1/jobs/current/photos",
            post(photos::attach).layer(DefaultBodyLimit::max(LARGEST)),
        )
        .route("/v1/jobs/{job}/photos", get(photos::list))
        .route("/v1/photos/{entry}", get(photos::show))
        .route("/v1/jobs/{job}/report.html", get(reports::page))
        .route("/v1/jobs/{job}/report.json", get(reports::document))
        .route("/v1/keys", post(screens::new_key))
        .route("/v1/sessions", get(screens::list).post(screens::enter))
        .route("/v1/sessions/{session}", delete(screens::shut_out))
        .route("/v1/sessions/{session}/name", put(screens::rename))
        .route("/openapi.json", get(description::description))
        .fallback(|| async {
            Problem::not_found("there is nothing at this address; see /openapi.json")
        })
        .method_not_allowed_fallback(|| async {
            let detail = "expected a method that the header `Allow` names; see /openapi.json";
            Problem::new(Kind::Method, detail)
        })
        .layer(Extension(Arc::new(Hearing::new(LISTENERS))))
        .layer(DefaultBodyLimit::max(LONGEST_BODY))
        .layer(middleware::from_fn_with_state(Arc::clone(&shared), guard::guard))
        .with_state(shared)
}
