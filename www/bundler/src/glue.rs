//! The compiled module made ready for a browser: its bindings, and the module that they expect.

use std::path::Path;

use wasm_bindgen_cli_support::Bindgen;

use crate::fault::Fault;

/// What the bindgen step gives.
pub struct Glue {
    /// A classic script that defines the global `wasm_bindgen`; it fits the page and a worker alike.
    pub script: String,
    /// The module, without names and producers, which would be a quarter of its size.
    pub wasm: Vec<u8>,
}

/// Runs the bindgen step on the module at `wasm`, as the compiler wrote it.
pub fn generate(wasm: &Path) -> Result<Glue, Fault> {
    let refused = |error: &dyn std::fmt::Display| Fault::Bindgen { reason: format!("{error:#}") };
    let mut bindgen = Bindgen::new();
    bindgen
        .input_path(wasm)
        .no_modules(true)
        .map_err(|error| refused(&error))?
        .typescript(false)
        .omit_default_module_path(true)
        .remove_name_section(true)
        .remove_producers_section(true);
    let mut output = bindgen.generate_output().map_err(|error| refused(&error))?;
    // Such files stand beside the glue, where a page opened from a file can't load them.
    if output.snippets().values().any(|inline| !inline.is_empty()) || !output.local_modules().is_empty() {
        return Err(Fault::Bindgen { reason: "it brings JavaScript files of its own".to_owned() });
    }
    Ok(Glue { script: output.js().to_owned(), wasm: output.wasm_mut().emit_wasm() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_is_no_module_is_refused() {
        let path = std::env::temp_dir().join(format!("bundler-no-module-{}.wasm", std::process::id()));
        std::fs::write(&path, b"not a module").expect("the folder for temporary files can be written");
        let outcome = generate(&path);
        std::fs::remove_file(&path).expect("the file was just written");
        assert!(matches!(outcome, Err(Fault::Bindgen { .. })));
    }
}
