//! Messages between the page and its workers: a number, an encoded body, and for reading the files themselves.

use super::files::Contents;
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
    /// Beside the tickets of a read request: what each file holds.
    pub contents: Vec<Contents>,
}

/// A request on its way to a worker, and the buffers that are handed over with it rather than copied.
pub fn to_worker(id: u64, request: &Request, contents: &[Contents]) -> Result<(JsValue, Array), String> {
    let (files, transfer) = (Array::new(), Array::new());
    for contents in contents {
        match contents {
            Contents::Buffer(buffer) => {
                transfer.push(buffer);
                files.push(buffer)
            }
            Contents::Unreadable => files.push(&JsValue::NULL),
            Contents::Demo(word) => files.push(&JsValue::from_f64(f64::from(word.0))),
        };
    }
    let message = envelope(id, &encode(request).map_err(|error| error.to_string())?);
    set(&message, "files", &files);
    Ok((message.into(), transfer))
}

/// A request as posted by [`to_worker`]; `None` if the message is none of ours.
pub fn in_worker(message: &JsValue) -> Option<Envelope> {
    let (id, body) = open(message)?;
    let files: Array = Reflect::get(message, &"files".into()).ok()?.dyn_into().ok()?;
    let contents = files.iter().map(|item| match (item.as_f64(), item.dyn_into()) {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "to_worker made it of a u32"
        )]
        (Some(word), _) => Contents::Demo(Word(word as u32)),
        (None, Ok(buffer)) => Contents::Buffer(buffer),
        (None, Err(_)) => Contents::Unreadable,
    });
    Some(Envelope { id, request: decode(&body).ok()?, contents: contents.collect() })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pipeline::protocol::Ticket;
    use crate::run::PortPath;
    use num_complex::Complex64;
    use wasm_bindgen_test::wasm_bindgen_test;

    #[wasm_bindgen_test]
    fn a_request_arrives_as_it_was_sent_with_its_files() {
        let tickets = vec![Ticket { file: 7, name: "état_0x1F.s2p".to_owned(), path: PortPath::default() }];
        let request = Request::Read(tickets);
        let bytes = Uint8Array::from(&[35_u8, 32, 0, 255][..]);
        let contents = [Contents::Demo(Word(4095)), Contents::Unreadable, Contents::Buffer(bytes.buffer())];
        let (message, transfer) = to_worker(41, &request, &contents).expect("encodes");
        assert_eq!(transfer.length(), 1);
        let arrived = in_worker(&message).expect("decodes");
        assert_eq!(arrived.id, 41.0);
        assert_eq!(arrived.request, request);
        let [Contents::Demo(Word(4095)), Contents::Unreadable, Contents::Buffer(buffer)] =
            arrived.contents.as_slice()
        else {
            panic!("other contents")
        };
        assert_eq!(Uint8Array::new(buffer).to_vec(), [35, 32, 0, 255]);
    }

    #[wasm_bindgen_test]
    fn a_reply_arrives_to_the_bit_and_its_buffer_is_handed_over() {
        // What a decimal or a single-precision detour would lose, and a number above 2^32.
        let states = vec![Complex64::new(0.1 + 0.2, -f64::MIN_POSITIVE), Complex64::new(1e300, -0.0)];
        let reply = Reply::States(states.clone());
        let (message, transfer) = to_page(4_294_967_299.0, &reply).expect("encodes");
        assert_eq!(transfer.length(), 1);
        let (id, Reply::States(arrived)) = in_page(&message).expect("decodes") else {
            panic!("another reply")
        };
        assert_eq!(id, 4_294_967_299);
        for (sent, got) in states.iter().zip(&arrived) {
            assert_eq!((sent.re.to_bits(), sent.im.to_bits()), (got.re.to_bits(), got.im.to_bits()));
        }
    }

    #[wasm_bindgen_test]
    fn what_is_no_message_is_no_message() {
        for stray in [JsValue::NULL, JsValue::from_str("hello"), Object::new().into()] {
            assert!(in_worker(&stray).is_none());
            assert!(in_page(&stray).is_none());
        }
        let cut = Object::new();
        set(&cut, "id", &JsValue::from_f64(1.0));
        set(&cut, "body", &Uint8Array::from([200_u8, 1].as_slice()));
        set(&cut, "files", &Array::new());
        assert!(in_worker(&cut).is_none());
        assert!(in_page(&cut).is_none());
    }
}
