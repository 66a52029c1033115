//! A deadline of our own on every call: the stack's may be long, or missing.

use super::fault::LinkError;
use std::future::Future;
use std::time::Duration;

/// For connecting and discovering: twice the stack's own 30 s, and a little.
pub(super) const CONNECT: Duration = Duration::from_secs(70);
/// For everything else.
pub(super) const CALL: Duration = Duration::from_secs(10);
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
