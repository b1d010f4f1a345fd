//! The only code that knows a browser: files, workers, the document, canvases.
#![allow(missing_docs, clippy::needless_pass_by_value)]
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
extern "C" {
    type Node;
    #[wasm_bindgen(js_namespace = document, js_name = querySelector)]
    fn query(selector: &str) -> Node;
    #[wasm_bindgen(method, js_name = setAttribute)]
    fn set_attribute(this: &Node, name: &str, value: &str);
    #[wasm_bindgen(method, setter, js_name = textContent)]
    fn set_text(this: &Node, value: &str);
    type Port;
    #[wasm_bindgen(method, js_name = postMessage)]
    fn post(this: &Port, value: &JsValue);
    #[wasm_bindgen(method, setter)]
    fn set_onmessage(this: &Port, handler: &js_sys::Function);
    #[wasm_bindgen(thread_local_v2, js_name = self)]
    static SELF: Port;
    type Message;
    #[wasm_bindgen(method, getter)]
    fn data(this: &Message) -> JsValue;
}

#[wasm_bindgen]
pub fn start_page(new_worker: js_sys::Function) {
    let worker: Port = new_worker.call0(&JsValue::NULL).unwrap_throw().unchecked_into();
    let answered = Closure::<dyn FnMut(Message)>::new(|message: Message| {
        query("[data-answer=came-in]").set_text(&message.data().as_string().unwrap_or_default());
        query("main").set_attribute("data-phase", "ready");
    });
    worker.set_onmessage(answered.as_ref().unchecked_ref());
    answered.forget();
    worker.post(&"the worker answers".into());
}

#[wasm_bindgen]
pub fn start_worker() {
    let echo =
        Closure::<dyn FnMut(Message)>::new(|message: Message| SELF.with(|port| port.post(&message.data())));
    SELF.with(|port| port.set_onmessage(echo.as_ref().unchecked_ref()));
    echo.forget();
}
