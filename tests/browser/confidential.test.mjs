// Confidential by construction: the page asks for nothing, and its policy refuses what anything in it would ask.
//
// The attempts aim at a server of this test on the loopback address, so what counts is what arrives there, not what
// the browser says of itself. The control runs the same attempts in the same page without its policy: if they no
// longer arrived there, the first test would prove nothing.

import assert from "node:assert/strict";
import { createServer } from "node:http";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";
import { setTimeout as pause } from "node:timers/promises";
import { pathToFileURL } from "node:url";
import { builtPage, openPage } from "./browser.mjs";

/** Every way out that is tried, and the directive that has to stop it. */
const waysOut = {
    fetch: "connect-src",
    xhr: "connect-src",
    websocket: "connect-src",
    eventsource: "connect-src",
    beacon: "connect-src",
    image: "img-src",
    form: "form-action",
    frame: "frame-src",
    script: "script-src-elem",
    style: "style-src-elem",
    font: "font-src",
    media: "media-src",
    object: "object-src",
    worker: "worker-src",
    "worker-fetch": "connect-src",
};

const arrived = new Set();
const server = createServer((request, response) => {
    arrived.add(new URL(request.url, "http://localhost").pathname.slice(1));
    response.writeHead(200, { "access-control-allow-origin": "*" }).end();
});
server.on("upgrade", (request, socket) => {
    arrived.add(request.url.slice(1));
    socket.destroy();
});
let origin;
let folder;

before(async () => {
    await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
    origin = `http://127.0.0.1:${server.address().port}`;
    folder = await mkdtemp(path.join(tmpdir(), "sweepfold-confidential-"));
});
after(async () => {
    server.closeAllConnections();
    server.close();
    await rm(folder, { recursive: true });
});

/** Runs in the page: tries each way out, and waits until the browser had the time to take it. */
async function tryEveryWayOut(target) {
    const add = (tag, properties) => document.body.append(Object.assign(document.createElement(tag), properties));
    const attempts = {
        fetch: () => fetch(`${target}/fetch`, { mode: "no-cors" }),
        xhr: () => {
            const request = new XMLHttpRequest();
            request.open("GET", `${target}/xhr`);
            request.send();
        },
        websocket: () => new WebSocket(`${target.replace("http", "ws")}/websocket`),
        eventsource: () => new EventSource(`${target}/eventsource`),
        beacon: () => navigator.sendBeacon(`${target}/beacon`, "secret"),
        image: () => (new Image().src = `${target}/image`),
        form: () => {
            add("iframe", { name: "answer" });
            add("form", { action: `${target}/form`, method: "post", target: "answer" });
            document.body.lastChild.submit();
        },
        frame: () => add("iframe", { src: `${target}/frame` }),
        script: () => add("script", { src: `${target}/script` }),
        style: () => add("link", { rel: "stylesheet", href: `${target}/style` }),
        font: () => new FontFace("probe", `url(${target}/font)`).load(),
        media: () => add("video", { src: `${target}/media`, preload: "auto" }),
        object: () => add("object", { data: `${target}/object` }),
        worker: () => {
            const source = `importScripts("${target}/worker")`;
            new Worker(URL.createObjectURL(new Blob([source], { type: "text/javascript" })));
        },
        "worker-fetch": () => {
            const source = `fetch("${target}/worker-fetch", { mode: "no-cors" })`;
            new Worker(URL.createObjectURL(new Blob([source], { type: "text/javascript" })));
        },
    };
    for (const attempt of Object.values(attempts)) {
        try {
            await Promise.race([attempt(), new Promise((resolve) => setTimeout(resolve, 500))]);
        } catch {
            // A refusal may be thrown; whether it was one shows at the server.
        }
    }
    await new Promise((resolve) => setTimeout(resolve, 1000));
    return Object.keys(attempts);
}

test("the page starts without a request beyond its own file, and breaks no rule of its own", async () => {
    const { page, finishedRequests, consoleErrors, violations, close } = await openPage();
    try {
        await page.waitForNetworkIdle();
        await pause(500);
        const own = pathToFileURL(builtPage).href;
        const others = finishedRequests.filter((url) => url !== own && !/^(blob|data):/.test(url));
        assert.ok(finishedRequests.includes(own), "the file itself is seen, so others would be");
        assert.deepEqual(others, []);
        assert.deepEqual(await violations(), []);
        assert.deepEqual(consoleErrors, []);
        assert.notEqual(await page.$eval("main", (main) => main.dataset.phase), "failed");
    } finally {
        await close();
    }
});

test("no way out of the page reaches a server", async () => {
    arrived.clear();
    const { page, violations, close } = await openPage();
    try {
        assert.deepEqual(await page.evaluate(tryEveryWayOut, origin), Object.keys(waysOut));
        assert.deepEqual([...arrived], []);
        // Workers report to themselves, so only the page's own attempts are listed here.
        const directives = new Set((await violations()).map((one) => one.split(" ")[0]));
        for (const [way, directive] of Object.entries(waysOut)) {
            if (!way.startsWith("worker")) assert.ok(directives.has(directive), `${directive} stops ${way}`);
        }
    } finally {
        await close();
    }
});

test("control: without the policy every one of these ways is open", async () => {
    arrived.clear();
    const source = await readFile(builtPage, "utf8");
    const open = source.replace(/<meta http-equiv="Content-Security-Policy"[^>]*>/, "");
    assert.notEqual(open, source);
    const file = path.join(folder, "open.html");
    await writeFile(file, open);
    const { page, close } = await openPage({ file });
    try {
        await page.evaluate(tryEveryWayOut, origin);
        assert.deepEqual([...arrived].sort(), Object.keys(waysOut).sort());
    } finally {
        await close();
    }
});

test("script and style put into the page later don't run", async () => {
    const { page, violations, close } = await openPage();
    try {
        const ran = await page.evaluate(async () => {
            const script = document.createElement("script");
            script.textContent = "globalThis.intruderRan = true";
            const style = document.createElement("style");
            style.textContent = "main { position: fixed }";
            document.body.append(script, style);
            document.body.insertAdjacentHTML("beforeend", "<b onclick='globalThis.intruderRan = true'></b>");
            document.body.lastChild.click();
            // In a turn of its own: what a test calls directly may evaluate text, whatever the policy says.
            const evaluated = await new Promise((resolve) =>
                setTimeout(() => {
                    try {
                        resolve(new Function("return true")());
                    } catch {
                        resolve(false);
                    }
                }),
            );
            const position = getComputedStyle(document.querySelector("main")).position;
            return { script: globalThis.intruderRan === true, evaluated, styled: position === "fixed" };
        });
        assert.deepEqual(ran, { script: false, evaluated: false, styled: false });
        const directives = (await violations()).map((one) => one.split(" ")[0]);
        for (const directive of ["script-src-elem", "script-src-attr", "style-src-elem", "script-src"]) {
            assert.ok(directives.includes(directive), directive);
        }
    } finally {
        await close();
    }
});
