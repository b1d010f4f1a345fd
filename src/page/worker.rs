//! A worker: answers requests.

use super::files::Contents;
use super::message::{self, Envelope};
use crate::demo;
use crate::pipeline::Share;
use crate::pipeline::protocol::{Reply, Request, Ticket};
use crate::run::{FileFault, FileReport};
use js_sys::{ArrayBuffer, Function, Promise, Reflect, Uint8Array};
use sha2::{Digest, Sha256};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

/// A share with a demo part: what a worker is, and what stands on the page where workers are refused.
#[derive(Default)]
pub struct Desk {
    share: RefCell<Share>,
    demo: RefCell<Option<demo::Part>>,
}

/// More than this is no sweep of one word, and would not fit beside the rest in a page's memory.
const LARGEST_FILE_BYTES: u32 = 1_000_000_000;

/// Listens for the page's requests.
pub fn start() {
    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let desk = Rc::new(Desk::default());
    let port = scope.clone();
    let listen = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        let Some(Envelope { id, request, contents }) = message::in_worker(&event.data()) else { return };
        let (desk, port) = (desk.clone(), port.clone());
        spawn_local(async move {
            let reply = desk.answer(request, contents).await;
            if let Some((message, transfer)) = message::to_page(id, &reply) {
                // A page that has gone away cannot be told anything.
                let _ = port.post_message_with_transfer(&message, &transfer);
            }
        });
    });
    scope.set_onmessage(Some(listen.as_ref().unchecked_ref()));
    listen.forget();
}

impl Desk {
    /// Answers one request; `contents` run beside the tickets of a read request.
    pub async fn answer(&self, request: Request, contents: Vec<Contents>) -> Reply {
        let Request::Read(tickets) = request else { return self.share.borrow_mut().answer(request) };
        let digests: Vec<Digesting> = contents.iter().map(Digesting::begin).collect();
        let mut reports: Vec<FileReport> = tickets
            .iter()
            .zip(&contents)
            .map(|(ticket, contents)| match contents {
                Contents::Demo(word) => {
                    let bytes = self.demo.borrow_mut().get_or_insert_with(demo::part).file(*word);
                    self.read(ticket, &bytes, Sha256::digest(&bytes).into())
                }
                Contents::Buffer(buffer) if buffer.byte_length() > LARGEST_FILE_BYTES => {
                    let message = "This file is over 1 GB, too large for one word's sweep.";
                    unread(ticket, buffer.byte_length().into(), message)
                }
                Contents::Buffer(buffer) => self.read(ticket, &Uint8Array::new(buffer).to_vec(), NO_DIGEST),
                Contents::Unreadable => unread(
                    ticket,
                    0,
                    "The browser could not read this file; it may have been moved or locked.",
                ),
            })
            .collect();
        for ((report, digest), contents) in reports.iter_mut().zip(digests).zip(&contents) {
            report.digest = match (digest.end().await, contents) {
                (Some(digest), _) => digest,
                (None, Contents::Buffer(buffer)) => Sha256::digest(Uint8Array::new(buffer).to_vec()).into(),
                (None, _) => report.digest,
            };
        }
        Reply::Read(reports)
    }

    fn read(&self, ticket: &Ticket, bytes: &[u8], digest: [u8; 32]) -> FileReport {
        self.share.borrow_mut().read_file(ticket, bytes, digest)
    }
}

/// Stands where a digest is not known yet, and for files that were not read.
const NO_DIGEST: [u8; 32] = [0; 32];

/// A digest that the browser works out beside the reading, with the processor's own instructions: several times
/// faster than here.
struct Digesting(Option<JsFuture>);

impl Digesting {
    fn begin(contents: &Contents) -> Self {
        let Contents::Buffer(buffer) = contents else { return Self(None) };
        Self(browser_digest(buffer).map(JsFuture::from))
    }

    /// The digest; `None` where the browser gives none.
    async fn end(self) -> Option<[u8; 32]> {
        let digest = self.0?.await.ok()?;
        Uint8Array::new(&digest).to_vec().try_into().ok()
    }
}

/// Only what a browser holds for a secure place has the function; a local file is one in Chromium and Firefox.
fn browser_digest(buffer: &ArrayBuffer) -> Option<Promise> {
    let crypto = Reflect::get(&js_sys::global(), &"crypto".into()).ok()?;
    let subtle = Reflect::get(&crypto, &"subtle".into()).ok()?;
    let digest: Function = Reflect::get(&subtle, &"digest".into()).ok()?.dyn_into().ok()?;
    digest.call2(&subtle, &"SHA-256".into(), buffer).ok()?.dyn_into().ok()
}

fn unread(ticket: &Ticket, bytes: u64, message: &str) -> FileReport {
    let outcome = Err(FileFault { line: None, column: None, message: message.to_owned() });
    FileReport { file: ticket.file, bytes, digest: NO_DIGEST, outcome }
}
