// Changes of settings are taken back and made again.

import assert from "node:assert/strict";
import { test } from "node:test";
import { dropFolder, saveExport, waitForPhase } from "./browser.mjs";
import { idealRun, withFolder } from "./runs.mjs";
import { withPage } from "./with_page.mjs";

test("every change of settings can be taken back and made again, by button and by key", async () => {
    await withFolder(idealRun(), (folder) => withPage({}, async (page) => {
        await dropFolder(page, folder);
        await waitForPhase(page, "ready");
        const isShown = (id) => page.$eval(id, (one) => one.closest("[hidden]") === null);
        const saved = async () => JSON.parse((await saveExport(page, "settings.json")).toString("utf8"));
        assert.equal(await isShown("#undoing"), false);
        // What is looked at and names are no corrections.
        await page.type("#part-name", "Unit 3");
        await page.$eval("#frequency", (one) => { one.value = "9"; one.dispatchEvent(new Event("change", { bubbles: true })); });
        assert.equal(await isShown("#undoing"), false);
        await page.select("#reference", await page.$$eval("#reference option", (all) => all.find((one) => one.text.startsWith("full ring")).value));
        await page.waitForFunction(() => document.querySelector("#undo").textContent === "Take back: the reference");
        await page.click("#specification-add");
        await page.type('#specification-rows input[aria-label="At most"]', "7");
        await page.keyboard.press("Tab");
        await page.waitForFunction(() => document.querySelector("#undo").textContent === "Take back: the specification");
        assert.equal((await saved()).specification.length, 1);
        await page.$eval("#undo", (one) => one.click());
        await page.waitForFunction(() => document.querySelector("#undo").textContent === "Take back: the reference");
        assert.equal(await page.$eval("#redo", (one) => one.textContent), "Make again: the specification");
        const before = await saved();
        assert.deepEqual([before.specification.length, before.reference, before.part_name, before.frequency_hz], [0, "full_ring", "Unit 3", 9e9]);
        await page.focus("#strip-canvas");
        await page.keyboard.down("Control");
        await page.keyboard.press("z");
        await page.keyboard.up("Control");
        await page.waitForFunction(() => document.querySelector("#undo").hidden);
        assert.equal((await saved()).reference, "zero_word");
        await page.keyboard.down("Control");
        await page.keyboard.press("y");
        await page.keyboard.up("Control");
        await page.waitForFunction(() => document.querySelector("#undo").textContent === "Take back: the reference");
        assert.equal((await saved()).reference, "full_ring");
        // A field of text takes its own changes back.
        await page.focus("#part-name");
        await page.keyboard.down("Control");
        await page.keyboard.press("z");
        await page.keyboard.up("Control");
        assert.equal((await saved()).reference, "full_ring");
    }));
});
