//! Takes requests to a worker, or answers them on the page in turn where workers are refused.

use super::files::Source;
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
        let on_error = Closure::<dyn FnMut(JsValue)>::new(move |_| deliver(Delivery::Died));
        worker.set_onmessage(Some(on_message.as_ref().unchecked_ref()));
        worker.set_onerror(Some(on_error.as_ref().unchecked_ref()));
        Self::Worker(WorkerHandle { worker, _on_message: on_message, _on_error: on_error })
    }

    /// Sends a request; `sources` run beside the tickets of a read request.
    pub fn send(&self, id: u64, request: Request, sources: Vec<Source>) -> Result<(), String> {
        match self {
            Self::Worker(handle) => {
                let message = message::to_worker(id, &request, &sources)?;
                handle
                    .worker
                    .post_message(&message)
                    .map_err(|_| "A file could not be handed to a worker.".to_owned())
            }
            Self::Page(desk, deliver) => {
                let (desk, deliver) = (desk.clone(), deliver.clone());
                spawn_local(async move {
                    super::dom::next_turn().await;
                    let reply = desk.answer(request, &sources).await;
                    deliver(Delivery::Reply(id, reply));
                });
                Ok(())
            }
        }
    }
}
