//! A torque adapter in software: a GATT server over the HCI user channel of a Linux controller. It plays a
//! recording, or does what standard input says, and makes the faults that real adapters and links have.

use std::process::ExitCode;

#[cfg(target_os = "linux")]
mod linux;

#[cfg(target_os = "linux")]
fn main() -> ExitCode {
    linux::main()
}

#[cfg(not(target_os = "linux"))]
fn main() -> ExitCode {
    use std::io::Write;
    let mut err = std::io::stderr().lock();
    let _gone = writeln!(
        err,
        "clampbook-reference-adapter: expected Linux, whose HCI user channel it needs"
    );
    ExitCode::from(2)
}
