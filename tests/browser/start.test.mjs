// The page starts, or says in one sentence why it could not.

import assert from "node:assert/strict";
import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { test } from "node:test";
import { setTimeout as pause } from "node:timers/promises";
import { builtPage, chooseFolder, dropFolder, openPage, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const bootError = (page) => page.$eval("#boot-error", (one) => ({ text: one.textContent, shown: one.checkVisibility() }));
const phase = (page) => page.$eval("main", (main) => main.dataset.phase);

/** Opens a copy of the page with one thing changed. */
async function withChangedPage(change, examine) {
    const folder = await mkdtemp(path.join(tmpdir(), "sweepfold-start-"));
    const source = await readFile(builtPage, "utf8");
    const changed = change(source);
    assert.notEqual(changed, source);
    const file = path.join(folder, "changed.html");
    await writeFile(file, changed);
    const opened = await openPage({ file });
    try {
        await pause(500);
        await examine(opened.page);
    } finally {
        await opened.close();
        await rm(folder, { recursive: true });
    }
}

test("a page that starts shows no error", async () => {
    const { page, close } = await openPage();
    try {
        await pause(500);
        assert.deepEqual(await bootError(page), { text: "", shown: false });
        assert.notEqual(await phase(page), "failed");
    } finally {
        await close();
    }
});

/** Lets the module compile only when the page's `go` is called. */
function waitToCompile() {
    const compile = WebAssembly.compile;
    WebAssembly.compile = async (bytes) => {
        await new Promise((resolve) => (globalThis.go = resolve));
        return compile(bytes);
    };
}

test("a folder that is chosen while the page starts is taken when it has started", async () => {
    await withFolder(idealRun(), async (folder) => {
        const { page, close } = await openPage({ prepare: waitToCompile });
        try {
            await page.waitForFunction(() => "go" in globalThis);
            await chooseFolder(page, "Choose a sweep folder", folder);
            await page.waitForFunction(() => document.querySelector("#folder").files.length === 32);
            await page.evaluate(() => go());
            await waitForPhase(page, "ready");
            assert.match(await page.$eval('[data-answer="came-in"]', (one) => one.textContent), /^32 words of 5 bits came in/);
        } finally {
            await close();
        }
    });
});

test("a folder that is dropped while the page starts does not take its place, and is asked for once more", async () => {
    await withFolder(idealRun(), async (folder) => {
        const { page, close } = await openPage({ prepare: waitToCompile });
        try {
            await page.waitForFunction(() => "go" in globalThis);
            await dropFolder(page, folder);
            await page.waitForFunction(() => document.querySelector("#boot-error").checkVisibility());
            assert.deepEqual(await bootError(page), { text: "The page was still starting: drop the folder once more.", shown: true });
            await page.evaluate(() => go());
            await page.waitForSelector("#caution-list li");
            await dropFolder(page, folder);
            await waitForPhase(page, "ready");
            assert.deepEqual(await bootError(page), { text: "", shown: false });
        } finally {
            await close();
        }
    });
});

test("a page that was only opened explains nothing before there is something to explain", async () => {
    await withPage({}, async (page) => {
        const seen = await page.$$eval("main > section", (all) => all.filter((one) => one.checkVisibility()).map((one) => one.id));
        assert.deepEqual(seen, ["intake"]);
        await page.click("#run-demo");
        await page.waitForFunction(() => ["cautions", "terms"].every((id) => document.getElementById(id).checkVisibility()));
    });
});

test("where WebAssembly is switched off, the page says so", async () => {
    // What a managed browser's policy against just-in-time compilation does.
    const { page, close } = await openPage({ flags: ["--js-flags=--jitless"] });
    try {
        await pause(500);
        const { text, shown } = await bootError(page);
        assert.match(text, /^The page could not start because WebAssembly is switched off in this browser; [^.]+\.$/);
        assert.ok(shown);
        assert.equal(await phase(page), "failed");
    } finally {
        await close();
    }
});

test("a damaged file is reported in the browser's words", async () => {
    // The magic number of a module, `\0asm`, becomes something else.
    await withChangedPage(
        (source) => source.replace('id="sweepfold-module">AGFzbQ', 'id="sweepfold-module">AAAAAA'),
        async (page) => {
            const { text, shown } = await bootError(page);
            assert.match(text, /^The page could not start because this browser reports "CompileError: .*; open it in/);
            assert.ok(shown);
            assert.equal(await phase(page), "failed");
        },
    );
});

test("bindings that a browser doesn't run are reported too", async () => {
    // One byte more, and they no longer match their hash.
    await withChangedPage(
        (source) => source.replace('<script id="sweepfold-glue">', '<script id="sweepfold-glue">;'),
        async (page) => {
            assert.match((await bootError(page)).text, /ReferenceError: wasm_bindgen is not defined/);
            assert.equal(await phase(page), "failed");
        },
    );
});
