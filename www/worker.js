// Starts a worker; boot.js puts the bindings before this text and sends the compiled module as the first message.
//
// Both calls return before the next message is handed out, and `start_worker` has set the Rust side's own handler
// by then, so messages that were posted meanwhile wait in the queue and reach it.
self.onmessage = (event) => {
    self.onmessage = null;
    wasm_bindgen.initSync({ module: event.data.module });
    wasm_bindgen.start_worker();
};
