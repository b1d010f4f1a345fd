//! Runs the package's WebAssembly tests in Node; `.cargo/config.toml` names it as the target's runner.
//!
//! It is the published runner built from its library, so that the tests need no program installed beforehand.

fn main() -> anyhow::Result<()> {
    wasm_bindgen_cli::wasm_bindgen_test_runner::run_cli_with_args(std::env::args_os())
}
