//! A deadline of our own on every call: the stack's may be long, or missing; and another attempt at what failed in
//! passing.

use super::fault::{LinkClass, LinkError};
use std::future::Future;
use std::time::Duration;

/// For connecting and discovering: twice the stack's own 30 s, and a little.
pub(super) const CONNECT: Duration = Duration::from_secs(70);
/// For everything else.
pub(super) const CALL: Duration = Duration::from_secs(10);
/// For what the session itself gives up before, once nothing else comes: the attribute protocol's own (Core
/// Specification, Vol 3, Part F, 3.3.3).
pub(super) const TRANSACTION: Duration = Duration::from_secs(30);
/// For a status: the next one is due soon anyway.
pub(super) const STATUS: Duration = Duration::from_secs(5);

/// Does `call` in time, or says that it could not be done.
pub(super) async fn within<T>(
    deadline: Duration,
    doing: &str,
    call: impl Future<Output = btleplug::Result<T>>,
) -> Result<T, LinkError> {
    match tokio::time::timeout(deadline, call).await {
        Ok(Ok(value)) => Ok(value),
        Ok(Err(error)) => Err(LinkError::stack(doing, &error)),
        Err(_) => {
            Err(LinkError::passing(format!("could not {doing} within {} s", deadline.as_secs())))
        }
    }
}

/// Makes an attempt as often as `attempts` says of its failures, with a pause before each further one.
pub(super) async fn patiently<T>(
    attempts: impl Fn(LinkClass) -> u32,
    pause: Duration,
    mut attempt: impl AsyncFnMut() -> Result<T, LinkError>,
) -> Result<T, LinkError> {
    let mut made = 1;
    loop {
        match attempt().await {
            Err(error) if made < attempts(error.class) => made += 1,
            outcome => return outcome,
        }
        tokio::time::sleep(pause).await;
    }
}

/// So many attempts at what another one may put right, and one at anything else.
pub(super) fn if_passing(attempts: u32) -> impl Fn(LinkClass) -> u32 {
    move |class| if class == LinkClass::Retryable { attempts } else { 1 }
}
