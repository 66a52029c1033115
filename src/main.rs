use std::process::ExitCode;

fn main() -> ExitCode {
    clampbook::cli::main(std::env::args_os())
}
