//! Talking to the daemon of a journal, if one runs.

use crate::cli::outcome::Failure;
use crate::daemon::rendezvous::{self, Contact};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::path::Path;
use std::time::Duration;
use ureq::Agent;
use ureq::http::Response;
use ureq::{Body, RequestBuilder};

/// A daemon that answers.
#[derive(Debug)]
pub struct Remote {
    agent: Agent,
    contact: Contact,
}

#[derive(Debug, serde::Deserialize)]
struct Reply {
    #[serde(rename = "type")]
    kind: String,
    detail: String,
    #[serde(default)]
    faults: Vec<String>,
}

impl Remote {
    /// The daemon of `journal`. None if there is no file that tells of one, or if nobody who knows its
    /// token answers there: then the file is left from a daemon that was killed.
    #[must_use]
    pub fn find(journal: &Path) -> Option<Self> {
        let contact = rendezvous::contact(journal)?;
        let agent = Agent::config_builder()
            .http_status_as_error(false)
            .proxy(None)
            .timeout_connect(Some(Duration::from_secs(2)))
            .timeout_global(Some(Duration::from_secs(30)))
            .build()
            .into();
        let remote = Self { agent, contact };
        let answer = remote.authorized(remote.agent.get(remote.url("/v1/state"))).call();
        answer.is_ok_and(|answer| answer.status().is_success()).then_some(remote)
    }

    /// What the daemon holds at `path`.
    ///
    /// # Errors
    /// The daemon refuses, or has gone.
    pub fn get<T: DeserializeOwned>(&self, path: &str) -> Result<T, Failure> {
        let request = self.authorized(self.agent.get(self.url(path)));
        read(request.call())
    }

    /// Asks the daemon to do something.
    ///
    /// # Errors
    /// The daemon refuses, or has gone.
    pub fn post<B: Serialize, T: DeserializeOwned>(
        &self,
        path: &str,
        body: &B,
    ) -> Result<T, Failure> {
        let request = self.authorized(self.agent.post(self.url(path)));
        read(request.send_json(body))
    }

    /// Has the daemon take something away.
    ///
    /// # Errors
    /// The daemon refuses, or has gone.
    pub fn delete(&self, path: &str) -> Result<(), Failure> {
        let request = self.authorized(self.agent.delete(self.url(path)));
        accepted(request.call()).map(drop)
    }

    fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.contact.address)
    }

    fn authorized<B>(&self, request: RequestBuilder<B>) -> RequestBuilder<B> {
        request.header("Authorization", format!("Bearer {}", self.contact.token))
    }
}

fn read<T: DeserializeOwned>(answer: Result<Response<Body>, ureq::Error>) -> Result<T, Failure> {
    accepted(answer)?.body_mut().read_json().map_err(gone)
}

fn accepted(answer: Result<Response<Body>, ureq::Error>) -> Result<Response<Body>, Failure> {
    let mut answer = answer.map_err(gone)?;
    if answer.status().is_success() {
        return Ok(answer);
    }
    let Reply { kind, detail, faults } = answer.body_mut().read_json().map_err(gone)?;
    let message = if faults.is_empty() { detail } else { faults.join("\n") };
    Err(match kind.as_str() {
        "/problems/still-open" => Failure::StillOpen(message),
        "/problems/unknown-name"
        | "/problems/no-job"
        | "/problems/job-under-way"
        | "/problems/not-parked"
        | "/problems/not-closed"
        | "/problems/nothing-to-recheck"
        | "/problems/not-loose"
        | "/problems/typed"
        | "/problems/plan"
        | "/problems/not-found"
        | "/problems/too-large"
        | "/problems/body" => Failure::Input(message),
        _ => Failure::Failed(message),
    })
}

fn gone(error: ureq::Error) -> Failure {
    Failure::failed("the daemon did not answer as expected", &error)
}
