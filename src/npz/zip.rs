//! Zip archives whose members are stored, not compressed (APPNOTE 6.3, sections 4.3.7, 4.3.12 and 4.3.16). No zip64.

use super::NpzError;

const LOCAL: u32 = 0x0403_4b50;
const CENTRAL: u32 = 0x0201_4b50;
const END: u32 = 0x0605_4b50;

/// Bytes of a local head before the name.
pub(super) const LOCAL_BYTES: usize = 30;
const CENTRAL_BYTES: usize = 46;
const END_BYTES: usize = 22;

/// A file's end of this many bytes holds the whole directory of an archive of a few members: the end record, the longest
/// comment that may follow it, and some directory.
pub(super) const TAIL_BYTES: u64 = 1 << 17;

/// 1 January 1980, the earliest date that the format has: a file says nothing of when it was made.
const DATE: u16 = 0x0021;

/// One member.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Member {
    pub name: String,
    /// Bytes of its contents.
    pub size: u32,
    /// CRC-32 of its contents.
    pub checksum: u32,
    /// Where its local head begins.
    pub offset: u32,
    /// Stored as it is.
    pub is_stored: bool,
}

impl Member {
    /// What stands before its contents.
    pub fn local_head(&self) -> Vec<u8> {
        let mut bytes = LOCAL.to_le_bytes().to_vec();
        self.push_common(&mut bytes);
        bytes.extend_from_slice(self.name.as_bytes());
        bytes
    }

    /// From the version needed to the length of the extra field, alike in both heads.
    fn push_common(&self, bytes: &mut Vec<u8>) {
        for half in [10, 0, 0, 0, DATE] {
            bytes.extend_from_slice(&u16::to_le_bytes(half));
        }
        for whole in [self.checksum, self.size, self.size] {
            bytes.extend_from_slice(&whole.to_le_bytes());
        }
        // Names are a few letters.
        bytes.extend_from_slice(&u16::try_from(self.name.len()).unwrap_or(u16::MAX).to_le_bytes());
        bytes.extend_from_slice(&[0, 0]);
    }

    fn push_central(&self, bytes: &mut Vec<u8>) {
        bytes.extend_from_slice(&CENTRAL.to_le_bytes());
        bytes.extend_from_slice(&20_u16.to_le_bytes());
        self.push_common(bytes);
        // Comment, disk, internal and external attributes: none.
        bytes.extend_from_slice(&[0; 10]);
        bytes.extend_from_slice(&self.offset.to_le_bytes());
        bytes.extend_from_slice(self.name.as_bytes());
    }

    /// Where its contents begin, from the bytes of its local head (at least [`LOCAL_BYTES`]).
    pub fn contents_start(&self, local_head: &[u8]) -> Result<u64, NpzError> {
        if u32_at(local_head, 0) != Some(LOCAL) {
            return Err(NpzError::Damaged("the directory points at something that is no member"));
        }
        let lengths = u16_at(local_head, 26).zip(u16_at(local_head, 28));
        let (name, extra) = lengths.ok_or(NpzError::Damaged("a member's head is cut short"))?;
        Ok(u64::from(self.offset) + LOCAL_BYTES as u64 + u64::from(name) + u64::from(extra))
    }
}

/// The directory and the end record of an archive whose members' contents end at `start`.
pub(super) fn directory(members: &[Member], start: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    for member in members {
        member.push_central(&mut bytes);
    }
    let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    let count = u16::try_from(members.len()).unwrap_or(u16::MAX);
    bytes.extend_from_slice(&END.to_le_bytes());
    bytes.extend_from_slice(&[0; 4]);
    bytes.extend_from_slice(&count.to_le_bytes());
    bytes.extend_from_slice(&count.to_le_bytes());
    bytes.extend_from_slice(&length.to_le_bytes());
    bytes.extend_from_slice(&start.to_le_bytes());
    bytes.extend_from_slice(&[0, 0]);
    bytes
}

/// The members of an archive of `file_bytes` bytes, from its last bytes.
pub(super) fn members(tail: &[u8], file_bytes: u64) -> Result<Vec<Member>, NpzError> {
    let cut = NpzError::Damaged("its directory is cut short");
    let last = tail.len().checked_sub(END_BYTES).ok_or(NpzError::NotZip)?;
    let is_end = |&at: &usize| {
        let comment = u16_at(tail, at + 20).map(usize::from);
        u32_at(tail, at) == Some(END) && comment.is_some_and(|length| at + END_BYTES + length == tail.len())
    };
    let end = (0..=last).rev().find(is_end).ok_or(NpzError::NotZip)?;
    let count = u16_at(tail, end + 10).ok_or_else(|| cut.clone())?;
    let start = u32_at(tail, end + 16).ok_or_else(|| cut.clone())?;
    if count == u16::MAX || start == u32::MAX {
        return Err(NpzError::TooLarge);
    }
    let tail_start = file_bytes - tail.len() as u64;
    let at = u64::from(start).checked_sub(tail_start).and_then(|at| usize::try_from(at).ok());
    let mut at = at.filter(|&at| at <= end).ok_or_else(|| cut.clone())?;
    let mut members = Vec::new();
    for _ in 0..count {
        let (member, bytes) = member(tail.get(at..end).unwrap_or_default()).ok_or_else(|| cut.clone())?;
        members.push(member);
        at += bytes;
    }
    Ok(members)
}

/// One entry of the directory and its length.
fn member(entry: &[u8]) -> Option<(Member, usize)> {
    if u32_at(entry, 0)? != CENTRAL {
        return None;
    }
    let name_bytes = usize::from(u16_at(entry, 28)?);
    let rest = usize::from(u16_at(entry, 30)?) + usize::from(u16_at(entry, 32)?);
    let name = entry.get(CENTRAL_BYTES..CENTRAL_BYTES + name_bytes)?;
    let (packed, size) = (u32_at(entry, 20)?, u32_at(entry, 24)?);
    let member = Member {
        name: String::from_utf8_lossy(name).into_owned(),
        size,
        checksum: u32_at(entry, 16)?,
        offset: u32_at(entry, 42)?,
        // Encrypted members have the lowest flag set.
        is_stored: u16_at(entry, 10)? == 0 && packed == size && u16_at(entry, 8)? & 1 == 0,
    };
    Some((member, CENTRAL_BYTES + name_bytes + rest))
}

fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn archive(comment: &[u8]) -> Vec<u8> {
        let member = Member { name: "a".into(), size: 3, checksum: 0x3524_41C2, offset: 0, is_stored: true };
        let mut bytes = member.local_head();
        bytes.extend_from_slice(b"abc");
        let start = u32::try_from(bytes.len()).expect("short");
        bytes.extend_from_slice(&directory(&[member], start));
        let length = bytes.len() - 2;
        bytes[length..].copy_from_slice(&u16::try_from(comment.len()).expect("short").to_le_bytes());
        bytes.extend_from_slice(comment);
        bytes
    }

    /// The lengths are those of APPNOTE 4.3: 30 + 1 bytes of local head, 46 + 1 of directory, 22 of end record. The
    /// CRC-32 of "abc" is 0x352441C2 (a published check value).
    #[test]
    fn a_member_is_found_again() {
        let bytes = archive(b"");
        assert_eq!(bytes.len(), 31 + 3 + 47 + 22);
        let found = members(&bytes, bytes.len() as u64).expect("a directory");
        assert_eq!((found.len(), found[0].name.as_str(), found[0].is_stored), (1, "a", true));
        assert_eq!(found[0].checksum, crc32fast::hash(b"abc"));
        assert_eq!(found[0].contents_start(&bytes[..LOCAL_BYTES]), Ok(31));
        let commented = archive(b"a comment");
        assert_eq!(members(&commented, commented.len() as u64), Ok(found));
    }

    #[test]
    fn damage_is_told_from_another_format() {
        let bytes = archive(b"");
        for cut in 1..bytes.len() {
            assert_eq!(members(&bytes[..cut], cut as u64), Err(NpzError::NotZip), "{cut} bytes");
        }
        let mut lost = bytes.clone();
        lost[34] = 0;
        assert!(matches!(members(&lost, lost.len() as u64), Err(NpzError::Damaged(_))));
        // The beginning of the file is missing: the directory would lie before it.
        assert!(matches!(members(&bytes[40..], bytes.len() as u64 - 10), Err(NpzError::Damaged(_))));
    }
}
