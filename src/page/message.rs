//! Messages between the page and its workers: a number, an encoded body, and for reading the files themselves.

use super::files::Source;
use crate::control::Word;
use crate::pipeline::protocol::{Reply, Request, decode, encode};
use js_sys::{Array, Object, Reflect, Uint8Array};
use wasm_bindgen::{JsCast, JsValue};

/// A request as it arrives in a worker.
pub struct Envelope {
    /// The number to answer under.
    pub id: f64,
    /// What is asked.
    pub request: Request,
    /// Beside the tickets of a read request: where each file's bytes come from.
    pub sources: Vec<Source>,
}

/// A request on its way to a worker.
pub fn to_worker(id: u64, request: &Request, sources: &[Source]) -> Result<JsValue, String> {
    let files = Array::new();
    for source in sources {
        match source {
            Source::File(file) => files.push(file),
            Source::Demo(word) => files.push(&JsValue::from_f64(f64::from(word.0))),
        };
    }
    let message = envelope(id, &encode(request).map_err(|error| error.to_string())?);
    set(&message, "files", &files);
    Ok(message.into())
}

/// A request as posted by [`to_worker`]; `None` if the message is none of ours.
pub fn in_worker(message: &JsValue) -> Option<Envelope> {
    let (id, body) = open(message)?;
    let files: Array = Reflect::get(message, &"files".into()).ok()?.dyn_into().ok()?;
    let sources = files.iter().map(|item| match item.as_f64() {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "to_worker made it of a u32"
        )]
        Some(word) => Source::Demo(Word(word as u32)),
        None => Source::File(item.unchecked_into()),
    });
    Some(Envelope { id, request: decode(&body).ok()?, sources: sources.collect() })
}

/// A reply on its way to the page, and the buffer that is handed over with it rather than copied.
pub fn to_page(id: f64, reply: &Reply) -> Option<(JsValue, Array)> {
    let body = encode(reply).ok()?;
    let array = Uint8Array::from(body.as_slice());
    let message = Object::new();
    set(&message, "id", &JsValue::from_f64(id));
    set(&message, "body", &array);
    Some((message.into(), Array::of1(&array.buffer())))
}

/// A reply as posted by [`to_page`].
pub fn in_page(message: &JsValue) -> Option<(u64, Reply)> {
    let (id, body) = open(message)?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "numbers count up from 0")]
    let id = id as u64;
    Some((id, decode(&body).ok()?))
}

fn envelope(id: u64, body: &[u8]) -> Object {
    let message = Object::new();
    set(&message, "id", &JsValue::from_f64(id as f64));
    set(&message, "body", &Uint8Array::from(body));
    message
}

fn open(message: &JsValue) -> Option<(f64, Vec<u8>)> {
    let id = Reflect::get(message, &"id".into()).ok()?.as_f64()?;
    let body: Uint8Array = Reflect::get(message, &"body".into()).ok()?.dyn_into().ok()?;
    Some((id, body.to_vec()))
}

fn set(object: &Object, key: &str, value: &JsValue) {
    // Setting a property of a plain object that was just made cannot fail.
    let _ = Reflect::set(object, &key.into(), value);
}
