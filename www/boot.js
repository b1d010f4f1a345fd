// Starts the page; this and worker.js are all the script that is written by hand.
//
// It is a script element of its own, after the bindings, so that it can still say what is wrong where the bindings
// or WebAssembly don't run. The Rust side exports `start_page(newWorker)` and takes over from there.
(() => {
    "use strict";

    const textOf = (id) => document.getElementById(id).textContent;

    const bytesOf = (base64) =>
        Uint8Array.fromBase64
            ? Uint8Array.fromBase64(base64)
            : Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));

    // Returns a function that gives a new worker each time, already told the compiled module, or null where the
    // browser refuses workers: the page then computes by itself. A worker that dies is replaced through it too,
    // so the URL stays valid as long as the page.
    const workerMaker = (module) => {
        const source = new Blob([textOf("sweepfold-glue"), "\n", textOf("sweepfold-worker")], {
            type: "text/javascript",
        });
        const url = URL.createObjectURL(source);
        return () => {
            let worker = null;
            try {
                worker = new Worker(url);
                worker.postMessage({ module });
                return worker;
            } catch {
                worker?.terminate();
                return null;
            }
        };
    };

    const sentence = document.getElementById("boot-error");
    const tell = (text) => {
        sentence.textContent = text;
        sentence.hidden = text === "";
    };

    // Without this the browser would open what is dropped in the page's place, before anybody listens.
    let listens = false;
    document.addEventListener("dragover", (event) => event.preventDefault());
    document.addEventListener("drop", (event) => {
        event.preventDefault();
        if (!listens) tell("The page was still starting: drop the folder once more.");
    });

    const start = async () => {
        // Compiled away from the page's own thread, and once: workers are sent the module, not the bytes.
        const module = await WebAssembly.compile(bytesOf(textOf("sweepfold-module")));
        wasm_bindgen.initSync({ module });
        wasm_bindgen.start_page(workerMaker(module));
        listens = true;
        document.addEventListener("drop", () => tell(""), { once: true });
    };

    start().catch((error) => {
        const reason =
            typeof WebAssembly === "undefined"
                ? "WebAssembly is switched off in this browser"
                : `this browser reports "${error}"`;
        tell(`The page could not start because ${reason}; open it in a current browser with WebAssembly switched on.`);
        document.querySelector("main").dataset.phase = "failed";
    });
})();
