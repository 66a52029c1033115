//! Writing a recording line by line.

use super::fault::Fault;
use super::line::{Header, Item};
use super::raw;
use std::io::{self, Write};

/// A line could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// The line would not be readable again.
    #[error("expected a line that can be read back, but {0}")]
    Unreadable(Fault),
    /// The file could not be written.
    #[error(
        "expected to write the recording, but the system says: {0}; make room or choose another place"
    )]
    Output(#[from] io::Error),
}

/// Writes a recording; every line is whole and flushed before the next is begun.
#[derive(Debug)]
pub struct Writer<W: Write> {
    output: W,
}

impl<W: Write> Writer<W> {
    /// Begins a recording with its header.
    ///
    /// # Errors
    /// If the header cannot be written.
    pub fn begin(output: W, header: Header) -> Result<Self, WriteError> {
        let mut writer = Self { output };
        writer.write(&Item::Header(header))?;
        Ok(writer)
    }

    /// Adds one line.
    ///
    /// # Errors
    /// If the line would not be readable again (then nothing is written), or cannot be written.
    pub fn write(&mut self, item: &Item) -> Result<(), WriteError> {
        let mut text = raw::emit(item).map_err(WriteError::Unreadable)?;
        text.push('\n');
        self.output.write_all(text.as_bytes())?;
        self.output.flush()?;
        Ok(())
    }

    /// Gives the output back.
    pub fn into_inner(self) -> W {
        self.output
    }
}
