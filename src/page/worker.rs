//! A worker: answers requests, reading files itself.

use super::files::Source;
use super::message::{self, Envelope};
use crate::demo;
use crate::pipeline::Share;
use crate::pipeline::protocol::{Reply, Request, Ticket};
use crate::run::{FileFault, FileReport};
use js_sys::Uint8Array;
use sha2::{Digest, Sha256};
use std::cell::RefCell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{DedicatedWorkerGlobalScope, MessageEvent};

/// A share that reads files: what a worker is, and what stands on the page where workers are refused.
#[derive(Default)]
pub struct Desk {
    share: RefCell<Share>,
    demo: RefCell<Option<demo::Part>>,
}

/// More than this is no sweep of one word, and would not fit beside the rest in a page's memory.
const LARGEST_FILE_BYTES: f64 = 1.0e9;

/// Listens for the page's requests.
pub fn start() {
    let scope: DedicatedWorkerGlobalScope = js_sys::global().unchecked_into();
    let desk = Rc::new(Desk::default());
    let port = scope.clone();
    let listen = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        let Some(Envelope { id, request, sources }) = message::in_worker(&event.data()) else { return };
        let (desk, port) = (desk.clone(), port.clone());
        spawn_local(async move {
            let reply = desk.answer(request, &sources).await;
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
    /// Answers one request; `sources` run beside the tickets of a read request.
    pub async fn answer(&self, request: Request, sources: &[Source]) -> Reply {
        let Request::Read(tickets) = request else { return self.share.borrow_mut().answer(request) };
        // All reads of a request are under way at once.
        let buffers: Vec<Option<JsFuture>> = sources
            .iter()
            .map(|source| match source {
                Source::File(file) if file.size() <= LARGEST_FILE_BYTES => {
                    Some(JsFuture::from(file.array_buffer()))
                }
                _ => None,
            })
            .collect();
        let mut reports = Vec::with_capacity(tickets.len());
        for ((ticket, source), buffer) in tickets.iter().zip(sources).zip(buffers) {
            reports.push(match (source, buffer) {
                (Source::Demo(word), _) => {
                    let bytes = self.demo.borrow_mut().get_or_insert_with(demo::part).file(*word);
                    self.read(ticket, &bytes)
                }
                (Source::File(_), Some(buffer)) => match buffer.await {
                    Ok(buffer) => self.read(ticket, &Uint8Array::new(&buffer).to_vec()),
                    Err(_) => unread(
                        ticket,
                        "The browser could not read this file; it may have been moved or locked.",
                    ),
                },
                (Source::File(_), None) => {
                    unread(ticket, "This file is over 1 GB, too large for one word's sweep.")
                }
            });
        }
        Reply::Read(reports)
    }

    fn read(&self, ticket: &Ticket, bytes: &[u8]) -> FileReport {
        let digest = Sha256::digest(bytes).into();
        self.share.borrow_mut().read_file(ticket.file, &ticket.name, bytes, digest)
    }
}

fn unread(ticket: &Ticket, message: &str) -> FileReport {
    let outcome = Err(FileFault { line: None, column: None, message: message.to_owned() });
    FileReport { file: ticket.file, bytes: ticket.bytes, digest: [0; 32], outcome }
}
