//! A run in one `.npz` file, taken apart so that each word is read by a worker like a file of its own.

use super::files::{Offered, Source};
use crate::control::Word;
use crate::npz::{self, NpzError, ReadAt};
use crate::run::Offer;
use js_sys::{Array, Uint8Array};
use std::ops::Range;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, File};

/// One word of the file: what is offered, its word, and where its bytes are.
pub type WordOffer = (Offer, Word, Source);

/// A file of the user's, read in pieces.
struct Pieces<'a>(&'a File);

impl ReadAt for Pieces<'_> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a size is a whole number")]
    fn bytes(&self) -> u64 {
        self.0.size() as u64
    }

    async fn read_at(&self, range: Range<u64>) -> Result<Vec<u8>, NpzError> {
        let unread =
            |_| NpzError::Unread("the browser refused it; it may have been moved or locked".to_owned());
        let piece = slice(self.0, &range).map_err(unread)?;
        let buffer = JsFuture::from(piece.array_buffer()).await.map_err(unread)?;
        Ok(Uint8Array::new(&buffer).to_vec())
    }
}

fn slice(file: &File, range: &Range<u64>) -> Result<Blob, wasm_bindgen::JsValue> {
    file.slice_with_f64_and_f64(range.start as f64, range.end as f64)
}

/// Whether a file is named like a run in one file.
pub fn is_run_file(offered: &Offered) -> bool {
    offered.path.to_ascii_lowercase().ends_with(".npz")
}

/// Looks the file through and offers its words.
pub async fn open(offered: &Offered) -> Result<Vec<WordOffer>, NpzError> {
    let run = npz::open(&Pieces(&offered.file)).await?;
    let head = Uint8Array::from(run.packed_head().as_slice());
    let refused = || NpzError::Unread("the browser could not take it apart".to_owned());
    let mut offers = Vec::with_capacity(run.words.len());
    for (index, (&word, path)) in run.words.iter().zip(&run.files).enumerate() {
        let range = run.word_bytes(index);
        let own = slice(&offered.file, &range).map_err(|_| refused())?;
        let packed = Blob::new_with_blob_sequence(&Array::of2(&head, &own)).map_err(|_| refused())?;
        let bytes = u64::from(head.length()) + (range.end - range.start);
        // A worker asks of a file nothing that a blob does not have too.
        let source = Source::File(packed.unchecked_into());
        offers.push((
            Offer { path: path.clone(), bytes: Some(bytes), is_s_parameter_file: true, contents: None },
            word,
            source,
        ));
    }
    Ok(offers)
}
