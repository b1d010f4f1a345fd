//! Which files are S-parameter files, by the ends of their names.

/// What a name's ending says of the number of ports.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PortsHint {
    /// `.s2p` and its like: the number between the letters.
    Named(u16),
    /// `.ts`: the file itself has to say it.
    InFile,
}

/// Whether the path ends as Touchstone files do: `.s1p`, `.s2p` … or `.ts`, in any case.
///
/// A name that begins with `._` is a file manager's shadow of another file, not an S-parameter file, whatever its
/// ending.
pub fn is_s_parameter_name(path: &str) -> Option<PortsHint> {
    split(path).map(|name| name.ports)
}

/// A path taken apart.
pub(super) struct SplitPath<'a> {
    /// The folders, with the last slash; empty where there are none.
    pub(super) folder: &'a str,
    /// The file's name without its ending.
    pub(super) stem: &'a str,
    /// The whole path without the file's ending.
    pub(super) whole: &'a str,
    ports: PortsHint,
}

/// Takes the path of an S-parameter file apart; `None` where the name does not end like one.
pub(super) fn split(path: &str) -> Option<SplitPath<'_>> {
    let (folder, name) = path.split_at(path.rfind('/').map_or(0, |slash| slash + 1));
    let (stem, ending) = name.rsplit_once('.')?;
    let whole = &path[..folder.len() + stem.len()];
    if name.starts_with("._") {
        return None;
    }
    if ending.eq_ignore_ascii_case("ts") {
        return Some(SplitPath { folder, stem, whole, ports: PortsHint::InFile });
    }
    let digits = ending.strip_prefix(['s', 'S'])?.strip_suffix(['p', 'P'])?;
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let ports = digits.parse().ok().filter(|&ports| ports > 0)?;
    Some(SplitPath { folder, stem, whole, ports: PortsHint::Named(ports) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn endings_of_the_standard_are_known_in_any_case() {
        for (path, ports) in [
            ("x.s1p", PortsHint::Named(1)),
            ("a/b.c/x_003.S2P", PortsHint::Named(2)),
            ("x.s16p", PortsHint::Named(16)),
            ("V0.5.s2p", PortsHint::Named(2)),
            ("x.TS", PortsHint::InFile),
        ] {
            assert_eq!(is_s_parameter_name(path), Some(ports), "{path}");
        }
    }

    #[test]
    fn other_files_are_not() {
        for path in [
            "notes.txt",
            "s2p",
            "x.sp",
            "x.s0p",
            "x.s+2p",
            "x.s2p.bak",
            "x.s2p/readme",
            "d/._x_003.s2p",
            "x.h2p",
            "",
        ] {
            assert_eq!(is_s_parameter_name(path), None, "{path}");
        }
    }
}
