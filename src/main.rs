//! The program: everything is in the library.

fn main() -> std::process::ExitCode {
    voltwright::run(std::env::args_os())
}
