//! Puts style, scripts and module into the template.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::fault::Fault;
use crate::inline::Inline;
use crate::policy::policy;

/// Where the template wants the policy; it governs only what comes after it.
pub const POLICY: &str = "<!-- sweepfold:policy -->";
const STYLE: &str = "<!-- sweepfold:style -->";
const SCRIPT: &str = "<!-- sweepfold:script -->";

/// What the template must leave to `page.css` and to the Rust code, in lower case.
const BLOCKED: [&str; 5] = ["<script", "<style", " style=", " onclick=", "javascript:"];

/// What goes into the page.
pub struct Parts<'a> {
    /// `index.html`, with its placeholders.
    pub template: &'a str,
    /// `page.css`.
    pub style: &'a str,
    /// The bindings, a classic script.
    pub glue: &'a str,
    /// What starts the page, a classic script that runs after the bindings.
    pub boot: &'a str,
    /// What starts a worker, to be run after the bindings there.
    pub worker: &'a str,
    /// The WebAssembly module.
    pub wasm: &'a [u8],
}

/// The whole page as one HTML file.
///
/// The ids of the blocks are a contract with `boot.js`, which finds module, bindings and worker by them.
pub fn fold(parts: &Parts) -> Result<String, Fault> {
    check_template(parts.template)?;
    let module = STANDARD.encode(parts.wasm);
    let style = Inline::style("style", parts.style)?.text();
    let module = Inline::script("module", &module)?.text();
    let worker = Inline::script("worker script", parts.worker)?.text();
    let glue = Inline::script("bindings", parts.glue)?.text();
    let boot = Inline::script("boot script", parts.boot)?.text();

    let policy = policy(&[glue, boot], style);
    let meta = format!("<meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">");
    let style = format!("<style>{style}</style>");
    // Boot is an element of its own: it can still speak where the bindings don't parse.
    let script = format!(
        "<script type=\"text/plain\" id=\"sweepfold-module\">{module}</script>\n\
         <script type=\"text/plain\" id=\"sweepfold-worker\">{worker}</script>\n\
         <script id=\"sweepfold-glue\">{glue}</script>\n\
         <script>{boot}</script>"
    );
    Ok(fill(parts.template, &[(POLICY, &meta), (STYLE, &style), (SCRIPT, &script)]))
}

fn check_template(template: &str) -> Result<(), Fault> {
    for mark in [POLICY, STYLE, SCRIPT] {
        let count = template.matches(mark).count();
        if count != 1 {
            return Err(Fault::Placeholder { mark, count });
        }
    }
    if template.find(POLICY) > template.find(STYLE) || template.find(POLICY) > template.find(SCRIPT) {
        return Err(Fault::PolicyTooLate);
    }
    let lower_case = template.to_ascii_lowercase();
    match BLOCKED.iter().find(|found| lower_case.contains(**found)) {
        Some(found) => Err(Fault::Blocked { found }),
        None => Ok(()),
    }
}

/// Replaces each placeholder, in one pass so that no filling is searched for the next.
fn fill(template: &str, fillings: &[(&str, &str)]) -> String {
    let mut page = String::new();
    let mut rest = template;
    while let Some((at, mark, filling)) = fillings
        .iter()
        .filter_map(|(mark, filling)| rest.find(mark).map(|at| (at, mark, filling)))
        .min_by_key(|(at, ..)| *at)
    {
        page.push_str(&rest[..at]);
        page.push_str(filling);
        rest = &rest[at + mark.len()..];
    }
    page.push_str(rest);
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEMPLATE: &str = "<!doctype html><head><!-- sweepfold:policy --><!-- sweepfold:style --></head>\
                            <body><main></main><!-- sweepfold:script --></body>";

    fn parts(template: &str) -> Parts<'_> {
        Parts { template, style: "p{}", glue: "let g;", boot: "g();", worker: "w();", wasm: b"\0asm" }
    }

    #[test]
    fn every_part_stands_in_its_place() {
        let page = fold(&parts(TEMPLATE)).expect("the template is sound");
        let policy = policy(&["let g;", "g();"], "p{}");
        assert_eq!(
            page,
            format!(
                "<!doctype html><head><meta http-equiv=\"Content-Security-Policy\" content=\"{policy}\">\
                 <style>p{{}}</style></head><body><main></main>\
                 <script type=\"text/plain\" id=\"sweepfold-module\">AGFzbQ==</script>\n\
                 <script type=\"text/plain\" id=\"sweepfold-worker\">w();</script>\n\
                 <script id=\"sweepfold-glue\">let g;</script>\n<script>g();</script></body>"
            )
        );
    }

    #[test]
    fn a_placeholder_inside_a_part_stays_what_it_is() {
        let mut parts = parts(TEMPLATE);
        let filled = fill(parts.template, &[(POLICY, STYLE), (STYLE, "second"), (SCRIPT, "third")]);
        assert!(filled.contains("<head><!-- sweepfold:style -->second</head>"), "{filled}");
        parts.boot = SCRIPT;
        assert!(matches!(fold(&parts), Err(Fault::Unsafe { block: "boot script", found: "<!--" })));
    }

    #[test]
    fn a_missing_or_doubled_placeholder_is_refused() {
        let missing = TEMPLATE.replace(STYLE, "");
        assert_eq!(fold(&parts(&missing)), Err(Fault::Placeholder { mark: STYLE, count: 0 }));
        let doubled = format!("{TEMPLATE}{SCRIPT}");
        assert_eq!(fold(&parts(&doubled)), Err(Fault::Placeholder { mark: SCRIPT, count: 2 }));
    }

    #[test]
    fn a_policy_after_the_style_is_refused() {
        let late = format!("{STYLE}{POLICY}{SCRIPT}");
        assert_eq!(fold(&parts(&late)), Err(Fault::PolicyTooLate));
    }

    #[test]
    fn what_the_policy_would_block_in_silence_is_refused() {
        for (text, found) in [
            ("<Script src=a.js></Script>", "<script"),
            ("<p STYLE=\"margin:0\">", " style="),
            ("<a href=\"javascript:void 0\">", "javascript:"),
        ] {
            let template = format!("{TEMPLATE}{text}");
            assert_eq!(fold(&parts(&template)), Err(Fault::Blocked { found }));
        }
    }

    #[test]
    fn unsafe_text_is_named_by_its_part() {
        let mut parts = parts(TEMPLATE);
        parts.worker = "'</script>'";
        assert_eq!(fold(&parts), Err(Fault::Unsafe { block: "worker script", found: "</script" }));
    }
}
