//! Takes requests to a worker, or answers them on the page in turn where workers are refused.

use super::files::{self, Contents, Source};
use super::message;
use super::worker::Desk;
use crate::pipeline::protocol::{Reply, Request};
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{MessageEvent, Worker};

/// What came back from a carrier.
pub enum Delivery {
    /// The reply to a request.
    Reply(u64, Reply),
    /// The worker stopped; what it held is lost.
    Died,
}

/// One worker, or the page itself in a worker's place.
pub enum Carrier {
    /// A worker; it is stopped when this is dropped.
    Worker(WorkerHandle),
    /// The page itself.
    Page(Rc<Desk>, Rc<dyn Fn(Delivery)>),
}

/// A worker and the closures that listen to it.
pub struct WorkerHandle {
    worker: Worker,
    deliver: Rc<dyn Fn(Delivery)>,
    _on_message: Closure<dyn FnMut(MessageEvent)>,
    _on_error: Closure<dyn FnMut(JsValue)>,
}

impl Drop for WorkerHandle {
    fn drop(&mut self) {
        self.worker.set_onmessage(None);
        self.worker.set_onerror(None);
        self.worker.terminate();
    }
}

impl Carrier {
    /// Starts a worker, or falls back to the page.
    pub fn new(new_worker: &js_sys::Function, deliver: Rc<dyn Fn(Delivery)>) -> Self {
        let made = new_worker.call0(&JsValue::NULL).ok().and_then(|worker| worker.dyn_into::<Worker>().ok());
        let Some(worker) = made else { return Self::Page(Rc::new(Desk::default()), deliver) };
        let on_reply = deliver.clone();
        let on_message = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
            if let Some((id, reply)) = message::in_page(&event.data()) {
                on_reply(Delivery::Reply(id, reply));
            }
        });
        let on_death = deliver.clone();
        let on_error = Closure::<dyn FnMut(JsValue)>::new(move |_| on_death(Delivery::Died));
        worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
        worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
        Self::Worker(WorkerHandle { worker, deliver, _on_message: on_message, _on_error: on_error })
    }

    /// Sends a request; `sources` run beside the tickets of a read request and are read first.
    pub fn send(&self, id: u64, request: Request, sources: Vec<Source>) {
        match self {
            Self::Worker(handle) if sources.is_empty() => {
                post(&handle.worker, &handle.deliver, id, &request, &[]);
            }
            Self::Worker(handle) => {
                let (worker, deliver) = (handle.worker.clone(), handle.deliver.clone());
                spawn_local(async move {
                    post(&worker, &deliver, id, &request, &files::read(&sources).await);
                });
            }
            Self::Page(desk, deliver) => {
                let (desk, deliver) = (desk.clone(), deliver.clone());
                spawn_local(async move {
                    super::dom::next_turn().await;
                    let reply = desk.answer(request, files::read(&sources).await).await;
                    deliver(Delivery::Reply(id, reply));
                });
            }
        }
    }
}

/// Posts a request. One that cannot be posted is answered in the worker's place, so that nobody waits for it.
fn post(worker: &Worker, deliver: &Rc<dyn Fn(Delivery)>, id: u64, request: &Request, contents: &[Contents]) {
    let posted = message::to_worker(id, request, contents).and_then(|(message, transfer)| {
        let refused = |_| "A request could not be handed to a worker.".to_owned();
        worker.post_message_with_transfer(&message, &transfer).map_err(refused)
    });
    if let Err(reason) = posted {
        let deliver = deliver.clone();
        // Not at once: whoever sends is still busy with its own books.
        spawn_local(async move { deliver(Delivery::Reply(id, Reply::Refused(reason))) });
    }
}
