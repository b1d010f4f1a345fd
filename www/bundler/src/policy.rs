//! The content security policy that keeps measurements in the page.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

/// The policy of a page that runs these scripts and applies this style, and does nothing else.
///
/// Everything starts from nothing (`default-src 'none'`): no font, frame, media, object or manifest. Scripts and
/// style run by the SHA-256 of their text, so nothing put into the page later runs; WebAssembly may be compiled
/// from bytes that the page holds; workers come from its own blobs and inherit the policy; pictures from what
/// it drew itself. `connect-src`, `form-action` and `base-uri` are named because the first is the promise in
/// person and the other two don't fall back to `default-src`.
pub fn policy(scripts: &[&str], style: &str) -> String {
    let scripts: Vec<String> = scripts.iter().map(|script| hash_source(script)).collect();
    [
        "default-src 'none'".to_owned(),
        format!("script-src {} 'wasm-unsafe-eval'", scripts.join(" ")),
        format!("style-src-elem {}", hash_source(style)),
        "worker-src blob:".to_owned(),
        "img-src data: blob:".to_owned(),
        "connect-src 'none'".to_owned(),
        "base-uri 'none'".to_owned(),
        "form-action 'none'".to_owned(),
    ]
    .join("; ")
}

/// A hash source of CSP level 3: `'sha256-…'` over the UTF-8 text of the element.
fn hash_source(text: &str) -> String {
    format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The example of CSP level 2 and 3 (W3C, § "Usage of hashes"): `alert('Hello, world.');`.
    #[test]
    fn the_hash_is_that_of_the_standard() {
        assert_eq!(
            hash_source("alert('Hello, world.');"),
            "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"
        );
    }

    /// SHA-256 of no bytes (FIPS 180-4 example vectors), e3b0c442…b855, in base64.
    #[test]
    fn every_script_and_the_style_stand_by_their_hash() {
        let empty = "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='";
        let hello = "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='";
        let policy = policy(&["", "alert('Hello, world.');"], "");
        let directives: Vec<&str> = policy.split("; ").collect();
        assert_eq!(directives[0], "default-src 'none'");
        assert!(directives.contains(&format!("script-src {empty} {hello} 'wasm-unsafe-eval'").as_str()));
        assert!(directives.contains(&format!("style-src-elem {empty}").as_str()));
    }

    #[test]
    fn nothing_inline_by_name_and_no_host_is_allowed() {
        let policy = policy(&["a"], "b");
        for loose in ["'unsafe-inline'", "'unsafe-eval'", "'self'", "http", "*", "file:"] {
            assert!(!policy.contains(loose), "{loose}");
        }
    }
}
