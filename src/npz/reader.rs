//! Reads a run back: the small arrays at once, the words by their place in the file.

use super::npy::{Head, read_head};
use super::zip::{LOCAL_BYTES, Member, TAIL_BYTES, members};
use super::{BYTES_A_POINT, NpzError, pack_head};
use crate::control::Word;
use std::ops::Range;

/// Bytes read at a time while the checksum of `s` is taken.
const CHECKED_AT_A_TIME: u64 = 1 << 23;

/// The longest head of an array that is looked for.
const LONGEST_HEAD: u64 = 4096;

/// A file that is read in pieces.
pub trait ReadAt {
    /// The file's length in bytes.
    fn bytes(&self) -> u64;
    /// A piece of the file; fewer bytes only where the file ends.
    fn read_at(&self, range: Range<u64>) -> impl Future<Output = Result<Vec<u8>, NpzError>>;
}

/// What a file holds beside the words themselves.
#[derive(Clone, Debug, PartialEq)]
pub struct RunFile {
    /// Frequencies in hertz, ascending.
    pub frequency_hz: Vec<f64>,
    /// The words, in the order of the file, each once.
    pub words: Vec<Word>,
    /// A file name for each word.
    pub files: Vec<String>,
    /// Reference impedance of both ports.
    pub reference_ohm: f64,
    /// Where the first word begins.
    first_word: u64,
}

impl RunFile {
    /// Where a word's bytes lie in the file.
    pub fn word_bytes(&self, index: usize) -> Range<u64> {
        let bytes = (self.frequency_hz.len() * BYTES_A_POINT) as u64;
        let start = self.first_word + index as u64 * bytes;
        start..start + bytes
    }

    /// What stands before a word's bytes to make a packed state.
    pub fn packed_head(&self) -> Vec<u8> {
        pack_head(&self.frequency_hz, self.reference_ohm)
    }
}

/// Looks a file through: its directory, the small arrays, and the checksum of everything.
pub async fn open(source: &impl ReadAt) -> Result<RunFile, NpzError> {
    let length = source.bytes();
    let tail = source.read_at(length.saturating_sub(TAIL_BYTES)..length).await?;
    let members = members(&tail, length)?;

    let frequency =
        array(source, &members, "frequency_hz").await?.ok_or(NpzError::Missing("frequency_hz"))?;
    let frequency_hz = floats("frequency_hz", &frequency)?;
    let ascending = frequency_hz.windows(2).all(|pair| pair[0] < pair[1]);
    if !ascending || !frequency_hz.iter().all(|hz| hz.is_finite() && *hz >= 0.0) || frequency_hz.is_empty() {
        return Err(NpzError::Value { array: "frequency_hz", what: "frequencies ascend from 0 Hz or above" });
    }
    let words = array(source, &members, "word").await?.ok_or(NpzError::Missing("word"))?;
    let words = integers(&words)?;
    let mut sorted = words.clone();
    sorted.sort_unstable();
    if sorted.windows(2).any(|pair| pair[0] == pair[1]) {
        return Err(NpzError::Value { array: "word", what: "a word is there twice" });
    }
    let files = match array(source, &members, "file").await? {
        Some(files) => texts(&files)?,
        None => words.iter().map(|word| format!("word {}", word.0)).collect(),
    };
    if files.len() != words.len() {
        let (found, wanted) = (vec![files.len() as u64], vec![words.len() as u64]);
        return Err(NpzError::Shape { array: "file", found, wanted });
    }
    let reference_ohm = match array(source, &members, "reference_ohm").await? {
        Some(ohm) => floats("reference_ohm", &ohm)?.first().copied().unwrap_or(f64::NAN),
        None => 50.0,
    };
    if !(reference_ohm > 0.0 && reference_ohm.is_finite()) {
        return Err(NpzError::Value { array: "reference_ohm", what: "it must be a positive number" });
    }
    let wanted = [words.len() as u64, frequency_hz.len() as u64, 2, 2];
    let first_word = check_states(source, &members, wanted).await?;
    Ok(RunFile { frequency_hz, words, files, reference_ohm, first_word })
}

/// Checks the array `s` and says where its data begins.
async fn check_states(source: &impl ReadAt, members: &[Member], wanted: [u64; 4]) -> Result<u64, NpzError> {
    let member = find(members, "s")?.ok_or(NpzError::Missing("s"))?;
    let start = contents_start(source, member).await?;
    let end = start + u64::from(member.size);
    let head = source.read_at(start..end.min(start + LONGEST_HEAD)).await?;
    let head = read_head(&head).ok_or_else(|| NpzError::Head("s".to_owned()))?;
    if head.descr != "<c16" || !head.c_order {
        return Err(wrong_type("s", &head, "complex numbers of twice 8 bytes"));
    }
    let data = head.elements().and_then(|elements| elements.checked_mul(16));
    if head.shape != wanted || data != Some(u64::from(member.size) - head.bytes as u64) {
        return Err(NpzError::Shape { array: "s", found: head.shape, wanted: wanted.to_vec() });
    }
    let mut hasher = crc32fast::Hasher::new();
    let mut at = start;
    while at < end {
        let piece = source.read_at(at..end.min(at + CHECKED_AT_A_TIME)).await?;
        if piece.is_empty() {
            return Err(NpzError::Damaged("it is cut short"));
        }
        hasher.update(&piece);
        at += piece.len() as u64;
    }
    if hasher.finalize() != member.checksum {
        return Err(NpzError::Checksum("s".to_owned()));
    }
    Ok(start + head.bytes as u64)
}

fn find<'a>(members: &'a [Member], array: &str) -> Result<Option<&'a Member>, NpzError> {
    let found = members.iter().find(|member| member.name.strip_suffix(".npy") == Some(array));
    match found {
        Some(member) if !member.is_stored => Err(NpzError::Compressed(array.to_owned())),
        found => Ok(found),
    }
}

async fn contents_start(source: &impl ReadAt, member: &Member) -> Result<u64, NpzError> {
    let offset = u64::from(member.offset);
    let start = member.contents_start(&source.read_at(offset..offset + LOCAL_BYTES as u64).await?)?;
    if start + u64::from(member.size) > source.bytes() {
        return Err(NpzError::Damaged("a member reaches beyond the file's end"));
    }
    Ok(start)
}

/// A small array's head and data, its checksum compared.
async fn array(
    source: &impl ReadAt,
    members: &[Member],
    name: &'static str,
) -> Result<Option<(Head, Vec<u8>)>, NpzError> {
    let Some(member) = find(members, name)? else { return Ok(None) };
    let start = contents_start(source, member).await?;
    let mut bytes = source.read_at(start..start + u64::from(member.size)).await?;
    if crc32fast::hash(&bytes) != member.checksum {
        return Err(NpzError::Checksum(name.to_owned()));
    }
    let head = read_head(&bytes).ok_or_else(|| NpzError::Head(name.to_owned()))?;
    if head.shape.len() > 1 {
        let wanted = vec![head.elements().unwrap_or(0)];
        return Err(NpzError::Shape { array: name, found: head.shape, wanted });
    }
    bytes.drain(..head.bytes);
    Ok(Some((head, bytes)))
}

fn wrong_type(array: &'static str, head: &Head, wanted: &'static str) -> NpzError {
    let order = if head.c_order { "" } else { ", Fortran order" };
    NpzError::Type { array, found: format!("{}{order}", head.descr), wanted }
}

/// The elements of an array, each of as many bytes as its type says.
fn elements<'a>(
    array: &'static str,
    (head, data): &'a (Head, Vec<u8>),
    size: usize,
) -> Result<std::slice::ChunksExact<'a, u8>, NpzError> {
    let wanted = head.elements().and_then(|count| count.checked_mul(size as u64));
    if wanted == Some(data.len() as u64) && size > 0 {
        Ok(data.chunks_exact(size))
    } else {
        Err(NpzError::Head(array.to_owned()))
    }
}

fn floats(array: &'static str, read: &(Head, Vec<u8>)) -> Result<Vec<f64>, NpzError> {
    if read.0.descr != "<f8" {
        return Err(wrong_type(array, &read.0, "floating-point numbers of 8 bytes"));
    }
    let number = |bytes: &[u8]| bytes.try_into().map_or(f64::NAN, f64::from_le_bytes);
    Ok(elements(array, read, 8)?.map(number).collect())
}

/// Integers of any width, as `NumPy` makes them on different machines.
fn integers(read: &(Head, Vec<u8>)) -> Result<Vec<Word>, NpzError> {
    let (is_signed, size) = match read.0.descr.as_str() {
        "|u1" => (false, 1),
        "<u2" => (false, 2),
        "<u4" => (false, 4),
        "<u8" => (false, 8),
        "|i1" => (true, 1),
        "<i2" => (true, 2),
        "<i4" => (true, 4),
        "<i8" => (true, 8),
        _ => return Err(wrong_type("word", &read.0, "integers")),
    };
    let word = |bytes: &[u8]| {
        let negative = is_signed && bytes.last().is_some_and(|high| high >> 7 == 1);
        let value = bytes.iter().rev().fold(0_u64, |value, &byte| value << 8 | u64::from(byte));
        u32::try_from(value).ok().filter(|_| !negative).map(Word)
    };
    let words: Option<Vec<Word>> = elements("word", read, size)?.map(word).collect();
    words.ok_or(NpzError::Value { array: "word", what: "words are whole numbers from 0 to 4294967295" })
}

fn texts(read: &(Head, Vec<u8>)) -> Result<Vec<String>, NpzError> {
    let width = read.0.descr.strip_prefix("<U").and_then(|width| width.parse::<usize>().ok());
    let size = width.and_then(|width| width.checked_mul(4)).filter(|&size| size > 0);
    let size = size.ok_or_else(|| wrong_type("file", &read.0, "text"))?;
    let character = |bytes: &[u8]| bytes.try_into().ok().map(u32::from_le_bytes).and_then(char::from_u32);
    let text = |bytes: &[u8]| {
        let text: Option<String> = bytes.chunks_exact(4).map(character).collect();
        text.map(|text| text.trim_end_matches('\0').to_owned())
    };
    let texts: Option<Vec<String>> = elements("file", read, size)?.map(text).collect();
    texts.ok_or(NpzError::Value { array: "file", what: "a name is no text" })
}
