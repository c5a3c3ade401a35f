//! The program as the offline page calls it: one instance answers command after command and keeps
//! the tables. The page's own sources are in `page/`.
#![cfg(target_family = "wasm")]

mod cli;

/// Runs the command of the WASI arguments and gives its exit code.
#[unsafe(no_mangle)]
pub extern "C" fn answer() -> u32 {
    cli::run().into()
}
