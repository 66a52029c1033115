//! What goes into the core, what comes out, and the facts that are kept.

mod conclusion;
mod fact;
mod given;
mod input;
mod mark;
mod trace;

pub use conclusion::{
    Act, Basis, Conclusion, Effects, Ending, Summary, TorqueVerdict, Verdict, Warning, WarningCode,
};
pub use fact::{Draft, Entry, Event, JobId, PersonalField, ReadingKey};
pub use given::{Given, GivenPass, GivenStep};
pub use input::{
    AdapterInfo, Described, Gap, Input, LinkChange, LinkState, Motion, Moved, Reading, Reports,
    What,
};
pub use mark::{Mark, Origin, Say};
pub use trace::Trace;
