//! A program at work, and how it ended. Dropped, it is ended.

use std::io;
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::process::Stdio;
use std::time::Duration;
use tokio::io::{AsyncBufReadExt, BufReader};
use tokio::process::{Child, Command};
use tokio::task::JoinHandle;
use tokio::time::{Sleep, sleep, timeout};

/// How long a complaint of a program that has ended may take to get here.
const LAST_WORDS: Duration = Duration::from_millis(200);

/// A program at work.
pub(super) struct Work {
    program: PathBuf,
    child: Child,
    /// The last line that it complained with.
    complaint: JoinHandle<Option<String>>,
    /// Until it is not waited for any longer.
    limit: Option<Pin<Box<Sleep>>>,
}

/// How it ended.
#[derive(Debug)]
pub(super) enum End {
    Well,
    /// It ended as if all were right, but said something.
    Complained(String),
    Failed(String),
}

impl Work {
    /// Begins, and is ended after `limit`, if there is one.
    pub(super) fn begin(command: &mut Command, limit: Option<Duration>) -> io::Result<Self> {
        command.kill_on_drop(true);
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
        let program = PathBuf::from(command.as_std().get_program());
        let mut child = command.spawn()?;
        let told = child.stderr.take();
        let complaint = tokio::spawn(async move {
            let mut lines = BufReader::new(told?).lines();
            let mut last = None;
            while let Ok(Some(line)) = lines.next_line().await {
                last = Some(line).filter(|line| !line.trim().is_empty()).or(last);
            }
            last
        });
        Ok(Self { program, child, complaint, limit: limit.map(|limit| Box::pin(sleep(limit))) })
    }

    /// Which program it is.
    pub(super) fn program(&self) -> &Path {
        &self.program
    }
}

/// Waits for the end of what is at work, for ever if nothing is.
pub(super) async fn ended(work: &mut Option<Work>) -> End {
    let Some(Work { child, complaint, limit, .. }) = work else {
        return std::future::pending().await;
    };
    let status = match limit {
        Some(limit) => tokio::select! {
            status = child.wait() => status,
            () = limit => return End::Failed("it does not come to an end".to_owned()),
        },
        None => child.wait().await,
    };
    let status = match status {
        Ok(status) => status,
        Err(error) => return End::Failed(error.to_string()),
    };
    let told = timeout(LAST_WORDS, complaint).await.ok().and_then(Result::ok).flatten();
    match (status.success(), told) {
        (true, None) => End::Well,
        (true, Some(told)) => End::Complained(told),
        (false, told) => End::Failed(told.unwrap_or_else(|| status.to_string())),
    }
}
