//! Who is let in: programs of the account, which know the token, and screens that have a session.
//!
//! The Host header must name the very address that the caller talks to, or a loopback name if that is on
//! this machine: a page from elsewhere can make a browser resolve its own name to an address of ours (DNS
//! rebinding), and cannot make the browser send another name instead. The Origin header, which browsers
//! send with whatever changes something, must name the same.

use crate::web::Shared;
use crate::web::door::{Caller, Ends};
use crate::web::page;
use crate::web::problem::{Kind, Problem};
use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, HeaderName, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use std::net::IpAddr;

/// Where a screen is let in.
const SESSIONS: &str = "/v1/sessions";

/// Lets a request through or says why not.
pub(super) async fn guard(
    State(shared): State<Shared>,
    ConnectInfo(ends): ConnectInfo<Ends>,
    mut request: Request,
    next: Next,
) -> Result<Response, Problem> {
    check_host(request.headers(), ends)?;
    if shared.doors.encrypted && !ends.encrypted && !ends.are_here() {
        return Ok(to_encrypted(&request));
    }
    check_origin(request.headers(), ends)?;
    if is_open(request.method(), request.uri().path()) {
        return Ok(next.run(request).await);
    }
    match caller(&shared, request.headers(), ends) {
        Some(caller) => {
            request.extensions_mut().insert(caller);
            Ok(next.run(request).await)
        }
        // Somebody typed the address: they are told what to do in words.
        None if request.uri().path() == "/" && wants_page(request.headers()) => Ok(page::shut()),
        None => Err(Problem::new(
            Kind::Token,
            "expected the header `Authorization: Bearer TOKEN` with this daemon's token, or a screen that was let in; for a screen: `clampbook page`",
        )),
    }
}

/// The same address over an encrypted link: what was typed by hand lacks it.
fn to_encrypted(request: &Request) -> Response {
    let host = text(request.headers(), header::HOST);
    let path = request.uri().path_and_query().map_or("/", |path| path.as_str());
    Redirect::permanent(&format!("https://{host}{path}")).into_response()
}

/// What has to be there for those who are not in yet, and tells nothing.
fn is_open(method: &Method, path: &str) -> bool {
    match *method {
        Method::GET | Method::HEAD => page::is_threshold(path),
        Method::POST => path == SESSIONS,
        _ => false,
    }
}

fn caller(shared: &Shared, headers: &HeaderMap, ends: Ends) -> Option<Caller> {
    let offered = text(headers, header::AUTHORIZATION)
        .split_once(' ')
        .filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"))
        .map(|(_, token)| token.trim());
    // Over a network the token could be read on the way.
    if offered.is_some_and(|token| ends.are_here() && shared.token.is(token)) {
        return Some(Caller::Account);
    }
    let mut cookies = headers.get_all(header::COOKIE).iter().filter_map(|line| line.to_str().ok());
    let session = cookies.find_map(|line| shared.sessions.find((shared.now)(), line));
    session.map(Caller::Screen)
}

fn wants_page(headers: &HeaderMap) -> bool {
    text(headers, header::ACCEPT).contains("text/html")
}

fn check_host(headers: &HeaderMap, ends: Ends) -> Result<(), Problem> {
    let host = text(headers, header::HOST);
    let here = ends.here.map(|here| here.ip());
    let expected = match here {
        Some(here) if !here.is_loopback() => is_address(host, here),
        Some(_) | None => is_loopback(host),
    };
    if expected {
        return Ok(());
    }
    let wanted = match here {
        Some(here) if !here.is_loopback() => here.to_string(),
        Some(_) | None => "127.0.0.1".to_owned(),
    };
    Err(Problem::new(
        Kind::Host,
        format!(
            "expected the address that is talked to in the Host header, but found \"{host}\"; use {wanted}"
        ),
    ))
}

fn check_origin(headers: &HeaderMap, ends: Ends) -> Result<(), Problem> {
    let Some(origin) = headers.get(header::ORIGIN) else { return Ok(()) };
    let origin = origin.to_str().unwrap_or_default();
    let host = text(headers, header::HOST);
    let scheme = if ends.encrypted { "https://" } else { "http://" };
    if origin.strip_prefix(scheme).is_some_and(|named| named.eq_ignore_ascii_case(host)) {
        return Ok(());
    }
    Err(Problem::new(
        Kind::Origin,
        format!("expected a request of this server's own page, but found one of \"{origin}\""),
    ))
}

fn text(headers: &HeaderMap, name: HeaderName) -> &str {
    headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or_default()
}

/// `host` without its port.
fn name(host: &str) -> &str {
    match host.rsplit_once(':') {
        Some((name, port)) if port.parse::<u16>().is_ok() => name,
        Some(_) | None => host,
    }
}

fn is_loopback(host: &str) -> bool {
    let name = name(host);
    ["127.0.0.1", "localhost", "[::1]"].iter().any(|known| name.eq_ignore_ascii_case(known))
}

fn is_address(host: &str, here: IpAddr) -> bool {
    let name = name(host);
    let plain = name.strip_prefix('[').and_then(|name| name.strip_suffix(']')).unwrap_or(name);
    plain.parse::<IpAddr>().is_ok_and(|named| named == here)
}

#[cfg(test)]
mod tests {
    use crate::web::door::Ends;
    use crate::web::guard::{check_origin, is_address, is_loopback, is_open};
    use axum::http::{HeaderMap, Method, header};

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

    #[test]
    fn on_a_network_only_the_very_address_passes() {
        let here = "192.0.2.7".parse().unwrap();
        for host in ["192.0.2.7", "192.0.2.7:4711"] {
            assert!(is_address(host, here), "{host}");
        }
        for host in
            ["", "192.0.2.8", "127.0.0.1", "localhost", "192.0.2.7.example.org", "192.0.2.7:x"]
        {
            assert!(!is_address(host, here), "{host}");
        }
        assert!(is_address("[2001:db8::7]:4711", "2001:db8::7".parse().unwrap()));
    }

    #[test]
    fn a_page_may_only_talk_to_where_it_comes_from() {
        let there = "127.0.0.1:50000".parse().unwrap();
        let passes_over = |encrypted: bool, origin: Option<&str>| {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, "127.0.0.1:4711".parse().unwrap());
            if let Some(origin) = origin {
                headers.insert(header::ORIGIN, origin.parse().unwrap());
            }
            check_origin(&headers, Ends { here: None, there, encrypted }).is_ok()
        };
        let passes = |origin: Option<&str>| passes_over(false, origin);
        assert!(passes_over(true, Some("https://127.0.0.1:4711")));
        assert!(!passes_over(true, Some("http://127.0.0.1:4711")));
        assert!(passes(None));
        assert!(passes(Some("http://127.0.0.1:4711")));
        for origin in [
            "null",
            "",
            "http://127.0.0.1",
            "http://127.0.0.1:4712",
            "https://127.0.0.1:4711",
            "http://localhost:4711",
            "http://example.org",
        ] {
            assert!(!passes(Some(origin)), "{origin}");
        }
    }

    #[test]
    fn nothing_but_the_threshold_is_open() {
        assert!(is_open(&Method::GET, "/enter"));
        assert!(is_open(&Method::POST, "/v1/sessions"));
        for (method, path) in [
            (Method::GET, "/"),
            (Method::GET, "/v1/sessions"),
            (Method::GET, "/page/main.js"),
            (Method::POST, "/v1/keys"),
            (Method::DELETE, "/v1/sessions"),
            (Method::POST, "/enter"),
        ] {
            assert!(!is_open(&method, path), "{method} {path}");
        }
    }
}
