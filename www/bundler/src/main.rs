//! Folds the compiled page into one HTML file: `bundler <www folder> <wasm> <output>`.
//!
//! Browsers refuse module scripts and fetches from `file://`, so the page carries everything inside itself:
//! style, scripts, worker and WebAssembly, under a policy that names each by its hash and lets nothing else
//! run, load or connect. The bundler compiles nothing; `www/build` does, and then calls it.

mod fault;
mod fold;
mod glue;
mod inline;
mod policy;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use fault::Fault;
use fold::Parts;

fn main() -> ExitCode {
    let arguments: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let [www, wasm, output] = arguments.as_slice() else {
        eprintln!("usage: bundler <www folder> <compiled wasm> <html file to write>");
        return ExitCode::from(2);
    };
    match bundle(www, wasm, output) {
        Ok(bytes) => {
            println!("{}: {bytes} bytes", output.display());
            ExitCode::SUCCESS
        }
        Err(fault) => {
            eprintln!("bundler: {fault}");
            ExitCode::FAILURE
        }
    }
}

/// Writes the page and returns its size in bytes.
fn bundle(www: &Path, wasm: &Path, output: &Path) -> Result<usize, Fault> {
    let glue = glue::generate(wasm)?;
    let page = fold::fold(&Parts {
        template: &read(&www.join("index.html"))?,
        style: &read(&www.join("page.css"))?,
        glue: &glue.script,
        boot: &read(&www.join("boot.js"))?,
        worker: &read(&www.join("worker.js"))?,
        wasm: &glue.wasm,
    })?;
    if let Some(folder) = output.parent() {
        std::fs::create_dir_all(folder).map_err(|error| Fault::file(folder, &error))?;
    }
    std::fs::write(output, &page).map_err(|error| Fault::file(output, &error))?;
    Ok(page.len())
}

fn read(path: &Path) -> Result<String, Fault> {
    std::fs::read_to_string(path).map_err(|error| Fault::file(path, &error))
}
