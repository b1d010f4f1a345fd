// Firefox ESR, from file:// too: the same answers as in Chromium, by choosing a folder and by the demo.

import assert from "node:assert/strict";
import { readdir } from "node:fs/promises";
import path from "node:path";
import { test } from "node:test";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";
import { answer, builtPage, chooseFolder, waitForChecks, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

const keys = ["came-in", "plane", "words", "reach"];
const answers = (page) => Promise.all(keys.map((key) => answer(page, key)));

async function inFirefox(fragment, use) {
    const executablePath = process.env.FIREFOX ?? "/usr/bin/firefox-esr";
    const browser = await puppeteer.launch({ browser: "firefox", executablePath, headless: true, protocolTimeout: 600_000 });
    try {
        const page = await browser.newPage();
        const address = pathToFileURL(builtPage);
        address.hash = fragment;
        await page.goto(address.href);
        await page.waitForSelector("#caution-list li");
        return await use(page);
    } finally {
        await browser.close();
    }
}

test("Firefox gives Chromium's answers to a chosen folder", async () => {
    await withFolder(idealRun(), async (folder) => {
        const inChromium = await withPage({}, async (page) => {
            await chooseFolder(page, "Choose a sweep folder", folder);
            await waitForPhase(page, "ready");
            await waitForChecks(page);
            return answers(page);
        });
        const there = await inFirefox("", async (page) => {
            // The driver hands Firefox files, not a folder: the page sees the same files without their folder's name.
            const input = await page.$("input[type=file]");
            await input.uploadFile(...(await readdir(folder)).map((file) => path.join(folder, file)));
            await waitForPhase(page, "ready");
            await waitForChecks(page);
            return answers(page);
        });
        assert.deepEqual(there, inChromium);
    });
});

test("Firefox gives Chromium's answers to the demo, with its workers", async () => {
    const ready = async (page) => {
        await waitForPhase(page, "ready", 240_000);
        await waitForChecks(page, 240_000);
        return answers(page);
    };
    const inChromium = await withPage({ fragment: "demo" }, ready);
    assert.deepEqual(await inFirefox("demo", ready), inChromium);
});
