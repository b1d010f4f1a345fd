//! Writes a run word by word.

use super::zip::{Member, directory};
use super::{BYTES_A_POINT, NpzError, npy, push_point};
use crate::control::Word;
use num_complex::Complex64;

/// The first bytes of the file and the last; what [`RunWriter::push`] gave lies between, in that order. The first are
/// made last, since they hold the checksum of all between.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parts {
    /// Before the words.
    pub head: Vec<u8>,
    /// After the words.
    pub tail: Vec<u8>,
}

/// A run's file while it is written.
pub struct RunWriter {
    s: Member,
    s_head: Vec<u8>,
    points: usize,
    hasher: crc32fast::Hasher,
    /// Words still to come.
    awaited: usize,
    /// The small arrays, each with its name.
    others: Vec<(&'static str, Vec<u8>)>,
}

impl RunWriter {
    /// Begins a file for these words, one file name each. A run too large for a zip archive is refused.
    pub fn new(
        frequency_hz: &[f64],
        words: &[Word],
        files: &[&str],
        reference_ohm: f64,
    ) -> Result<Self, NpzError> {
        let (points, states) = (frequency_hz.len(), words.len());
        if files.len() != states {
            let (found, wanted) = (vec![files.len() as u64], vec![states as u64]);
            return Err(NpzError::Shape { array: "file", found, wanted });
        }
        let s_head = npy::write_head("<c16", &[states as u64, points as u64, 2, 2]);
        let data = states.checked_mul(points).and_then(|all| all.checked_mul(BYTES_A_POINT));
        let size = data.and_then(|data| u32::try_from(data.checked_add(s_head.len())?).ok());
        let others = vec![
            (
                "frequency_hz",
                array("<f8", &[points as u64], frequency_hz.iter().flat_map(|hz| hz.to_le_bytes())),
            ),
            ("word", array("<u4", &[states as u64], words.iter().flat_map(|word| word.0.to_le_bytes()))),
            ("file", texts(files)),
            ("reference_ohm", array("<f8", &[], reference_ohm.to_le_bytes())),
        ];
        let size = size.ok_or(NpzError::TooLarge)?;
        // The other arrays, and some room for the heads and the directory.
        let rest: usize = others.iter().map(|(_, bytes)| bytes.len()).sum::<usize>() + 4096;
        u32::try_from(rest).ok().and_then(|rest| size.checked_add(rest)).ok_or(NpzError::TooLarge)?;
        let mut hasher = crc32fast::Hasher::new();
        hasher.update(&s_head);
        let s = Member { name: "s.npy".to_owned(), size, checksum: 0, offset: 0, is_stored: true };
        Ok(Self { s, s_head, points, hasher, awaited: states, others })
    }

    /// The bytes of the next word: S11, S12, S21 and S22 at each frequency.
    pub fn push(&mut self, s: impl Iterator<Item = [Complex64; 4]>) -> Result<Vec<u8>, NpzError> {
        let mut bytes = Vec::with_capacity(self.points * BYTES_A_POINT);
        s.for_each(|point| push_point(&mut bytes, point));
        if bytes.len() != self.points * BYTES_A_POINT || self.awaited == 0 {
            return Err(NpzError::Damaged(
                "a word has another number of frequencies than the run, or is too many",
            ));
        }
        self.awaited -= 1;
        self.hasher.update(&bytes);
        Ok(bytes)
    }

    /// What stands before and after the words, once all have been pushed.
    pub fn finish(mut self) -> Result<Parts, NpzError> {
        if self.awaited > 0 {
            return Err(NpzError::Damaged("words are missing"));
        }
        self.s.checksum = self.hasher.finalize();
        let mut head = self.s.local_head();
        let data = self.s.size as usize - self.s_head.len();
        head.extend_from_slice(&self.s_head);
        let at = |tail: &[u8]| u32::try_from(head.len() + data + tail.len()).map_err(|_| NpzError::TooLarge);
        let (mut tail, mut members) = (Vec::new(), vec![self.s]);
        for (name, bytes) in self.others {
            let member = Member {
                name: format!("{name}.npy"),
                size: u32::try_from(bytes.len()).map_err(|_| NpzError::TooLarge)?,
                checksum: crc32fast::hash(&bytes),
                offset: at(&tail)?,
                is_stored: true,
            };
            tail.extend_from_slice(&member.local_head());
            tail.extend_from_slice(&bytes);
            members.push(member);
        }
        let start = at(&tail)?;
        tail.extend_from_slice(&directory(&members, start));
        Ok(Parts { head, tail })
    }
}

fn array(descr: &str, shape: &[u64], data: impl IntoIterator<Item = u8>) -> Vec<u8> {
    let mut bytes = npy::write_head(descr, shape);
    bytes.extend(data);
    bytes
}

/// Texts as `NumPy` keeps them: each in as many 4-byte characters as the longest has, zeros behind.
fn texts(texts: &[&str]) -> Vec<u8> {
    let width = texts.iter().map(|text| text.chars().count()).max().unwrap_or(0).max(1);
    let padded =
        texts.iter().flat_map(|text| text.chars().map(u32::from).chain(std::iter::repeat(0)).take(width));
    array(&format!("<U{width}"), &[texts.len() as u64], padded.flat_map(u32::to_le_bytes))
}
