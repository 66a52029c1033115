//! Who is let in: only callers that name a loopback host and know the token.
//!
//! The Host header is checked because a page from elsewhere can make a browser resolve its own name
//! to 127.0.0.1 (DNS rebinding); it cannot make the browser send a loopback name instead.

use crate::web::Shared;
use crate::web::problem::{Kind, Problem};
use axum::extract::{Request, State};
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::Response;

/// Lets a request through or says why not.
pub(super) async fn guard(
    State(shared): State<Shared>,
    request: Request,
    next: Next,
) -> Result<Response, Problem> {
    check_host(request.headers())?;
    let offered = request
        .headers()
        .get(header::AUTHORIZATION)
        .and_then(|value| value.to_str().ok())
        .and_then(|value| value.split_once(' '))
        .filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"))
        .map(|(_, token)| token.trim());
    match offered {
        Some(token) if shared.token.is(token) => Ok(next.run(request).await),
        Some(_) | None => Err(Problem::new(
            Kind::Token,
            "expected the header `Authorization: Bearer TOKEN` with this daemon's token",
        )),
    }
}

fn check_host(headers: &HeaderMap) -> Result<(), Problem> {
    let host = headers.get(header::HOST).and_then(|value| value.to_str().ok()).unwrap_or_default();
    if is_loopback(host) {
        return Ok(());
    }
    Err(Problem::new(
        Kind::Host,
        format!("expected a loopback name in the Host header, but found \"{host}\"; use 127.0.0.1"),
    ))
}

fn is_loopback(host: &str) -> bool {
    let name = match host.rsplit_once(':') {
        Some((name, port)) if port.parse::<u16>().is_ok() => name,
        Some(_) | None => host,
    };
    ["127.0.0.1", "localhost", "[::1]"].iter().any(|known| name.eq_ignore_ascii_case(known))
}

#[cfg(test)]
mod tests {
    use crate::web::guard::is_loopback;

    #[test]
    fn only_loopback_names_pass_with_or_without_a_port() {
        for host in ["127.0.0.1:80", "localhost", "LOCALHOST:9", "[::1]:8080", "[::1]"] {
            assert!(is_loopback(host), "{host}");
        }
        for host in [
            "",
            "example.org",
            "127.0.0.1.example.org",
            "localhost.evil:80",
            "10.0.0.1:80",
            "127.0.0.1:x",
        ] {
            assert!(!is_loopback(host), "{host}");
        }
    }
}
