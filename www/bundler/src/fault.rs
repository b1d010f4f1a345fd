//! Why a page could not be folded.

use std::fmt;
use std::path::Path;

/// What stops the bundler; each displays as a sentence that says where to look.
#[derive(Debug, PartialEq, Eq)]
pub enum Fault {
    /// A file could not be read or written.
    File {
        /// The file or folder.
        path: String,
        /// The system's reason.
        reason: String,
    },
    /// The bindgen step refused the compiled module.
    Bindgen {
        /// Its message.
        reason: String,
    },
    /// A script, style or data block holds text that would end or change its element.
    Unsafe {
        /// Which block.
        block: &'static str,
        /// The text found in it.
        found: &'static str,
    },
    /// The template lacks a placeholder or repeats it.
    Placeholder {
        /// The placeholder, as it has to stand in the template.
        mark: &'static str,
        /// How often it stands there.
        count: usize,
    },
    /// The policy's placeholder stands after something that it has to govern.
    PolicyTooLate,
    /// The template holds something that the policy would block in silence.
    Blocked {
        /// The text found in it.
        found: &'static str,
    },
    /// Scripts or module name a way to other machines that no policy closes.
    WayOut {
        /// The browser's name for it.
        found: &'static str,
    },
}

impl Fault {
    /// A file that could not be read or written.
    pub fn file(path: &Path, error: &std::io::Error) -> Self {
        Self::File { path: path.display().to_string(), reason: error.to_string() }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File { path, reason } => write!(out, "{path}: {reason}"),
            Self::Bindgen { reason } => write!(out, "the compiled module was refused: {reason}"),
            Self::Unsafe { block, found } => {
                write!(out, "the {block} holds {found:?}, which would break the page it is put into")
            }
            Self::Placeholder { mark, count } => {
                write!(out, "index.html has to hold {mark} once, and holds it {count} times")
            }
            Self::PolicyTooLate => {
                write!(out, "in index.html {} has to stand before style and script", super::fold::POLICY)
            }
            Self::Blocked { found } => {
                write!(
                    out,
                    "index.html holds {found:?}, which the page's own policy blocks: use page.css or Rust"
                )
            }
            Self::WayOut { found } => {
                write!(
                    out,
                    "scripts or module name {found}, which no policy keeps from reaching other machines"
                )
            }
        }
    }
}
