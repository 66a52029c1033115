//! What a request carries, read so that everything unreadable is answered with a problem.

use crate::web::problem::{Kind, Problem};
use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::request::Parts;
use serde::de::{DeserializeOwned, Error};
use serde::{Deserialize, Deserializer};
use serde_json::Number;

/// The longest body that is read, octets. A plan of a whole vehicle has a few ten thousand.
pub(super) const LONGEST_BODY: usize = 1 << 20;

/// A body in JSON.
#[derive(Debug)]
pub(super) struct Body<T>(pub(super) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Body<T> {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Self, Problem> {
        match Json::from_request(request, state).await {
            Ok(Json(body)) => Ok(Self(body)),
            Err(rejection) => Err(unreadable(&rejection)),
        }
    }
}

/// The one part of an address that is not fixed.
#[derive(Debug)]
pub(super) struct Named<T>(pub(super) T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Named<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        match Path::from_request_parts(parts, state).await {
            Ok(Path(name)) => Ok(Self(name)),
            Err(rejection) => Err(strange_address(&rejection.body_text())),
        }
    }
}

/// What stands behind the question mark of an address.
#[derive(Debug)]
pub(super) struct Queried<T>(pub(super) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequestParts<S> for Queried<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        match Query::from_request_parts(parts, state).await {
            Ok(Query(query)) => Ok(Self(query)),
            Err(rejection) => Err(strange_address(&rejection.body_text())),
        }
    }
}

fn strange_address(said: &str) -> Problem {
    let openings = ["Invalid URL: ", "Failed to deserialize query string: "];
    let found = openings.iter().find_map(|opening| said.strip_prefix(opening)).unwrap_or(said);
    let detail = format!("expected an address as /openapi.json describes it, but found: {found}");
    Problem::new(Kind::Address, detail)
}

/// A whole number, however it is written: to JSON Schema 5.0 is an integer too, and programs that know
/// one kind of number write it so.
///
/// # Errors
/// It is not whole, or does not fit.
pub(super) fn whole<'de, D, T>(deserializer: D) -> Result<T, D::Error>
where
    D: Deserializer<'de>,
    T: TryFrom<u64>,
{
    let number = Number::deserialize(deserializer)?;
    fit(&number).ok_or_else(|| unfit(&number))
}

/// Such a number, or none.
///
/// # Errors
/// It is not whole, or does not fit.
pub(super) fn whole_or_none<'de, D, T>(deserializer: D) -> Result<Option<T>, D::Error>
where
    D: Deserializer<'de>,
    T: TryFrom<u64>,
{
    match Option::<Number>::deserialize(deserializer)? {
        Some(number) => fit(&number).map(Some).ok_or_else(|| unfit(&number)),
        None => Ok(None),
    }
}

/// Such numbers.
///
/// # Errors
/// One of them is not whole, or does not fit.
pub(super) fn whole_list<'de, D, T>(deserializer: D) -> Result<Vec<T>, D::Error>
where
    D: Deserializer<'de>,
    T: TryFrom<u64>,
{
    let numbers = Vec::<Number>::deserialize(deserializer)?;
    numbers.iter().map(|number| fit(number).ok_or_else(|| unfit(number))).collect()
}

fn fit<T: TryFrom<u64>>(number: &Number) -> Option<T> {
    /// From here on not every whole number has a floating-point number of its own.
    const EXACT: f64 = 9_007_199_254_740_992.0;
    let from_point = || {
        let value = number.as_f64()?;
        (value.fract() == 0.0 && (0.0..=EXACT).contains(&value)).then_some(value as u64)
    };
    T::try_from(number.as_u64().or_else(from_point)?).ok()
}

fn unfit<E: Error>(number: &Number) -> E {
    E::custom(format_args!("{number}, expected a whole number within the described limits"))
}

fn unreadable(rejection: &JsonRejection) -> Problem {
    let said = rejection.body_text();
    // Behind the colon stands what is wrong, and where.
    let found = said.split_once(": ").map_or(said.as_str(), |(_, found)| found);
    match rejection {
        JsonRejection::JsonDataError(_) => Problem::new(
            Kind::Body,
            format!("expected a body as /openapi.json describes it, but found: {found}"),
        ),
        JsonRejection::JsonSyntaxError(_) => {
            Problem::new(Kind::Malformed, format!("expected a body in JSON, but found: {found}"))
        }
        JsonRejection::MissingJsonContentType(_) => Problem::new(
            Kind::NotJson,
            "expected the header `Content-Type: application/json`, but found none or another",
        ),
        _ if rejection.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE => Problem::new(
            Kind::TooLarge,
            format!("expected at most {LONGEST_BODY} octets, but found more; send less"),
        ),
        _ => Problem::new(Kind::Malformed, format!("expected a whole body, but found: {found}")),
    }
}

#[cfg(test)]
mod tests {
    use crate::web::request::fit;
    use serde_json::Number;

    fn number(text: &str) -> Number {
        serde_json::from_str(text).expect("a number")
    }

    #[test]
    fn a_whole_number_is_one_however_it_is_written() {
        for (text, expected) in [
            ("0", Some(0)),
            ("-0.0", Some(0)),
            ("255", Some(255)),
            ("255.0", Some(255)),
            ("2.55e2", Some(255)),
            ("256", None),
            ("256.0", None),
            ("1.5", None),
            ("-1", None),
            ("-1.0", None),
            ("1e300", None),
        ] {
            assert_eq!(fit::<u8>(&number(text)), expected, "{text}");
        }
        assert_eq!(fit::<u64>(&number("18446744073709551615")), Some(u64::MAX));
        assert_eq!(fit::<u64>(&number("18446744073709551616")), None);
    }
}
